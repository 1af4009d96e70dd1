package standard

import (
	"fmt"
	"strconv"

	"chargewright/quantity"
)

type conductorKey struct {
	material Material
	class    ConductorClass
}

type cableKey struct {
	construction Construction
	insulation   Insulation
	method       Method
}

// loadedKey is a column of a rating or volt-drop table.
type loadedKey struct {
	material Material
	cableKey
	loaded int // loaded conductors of a rating, phases of a volt drop
}

// armour is the steel-wire armour of a cable.
type armour struct {
	Resistance quantity.OhmsPerMetreAt20
	Area       quantity.SquareMillimetres
}

// VoltDrop is a volt drop at the conductor's full operating temperature, in
// mV/A/m: resistive, reactive and total. Small sizes are printed as one
// figure; then R equals Z and X is zero.
type VoltDrop struct{ R, X, Z float64 }

// flexibles is what a class 5 conductor changes: the factor on the rating and
// the factor on the volt drop of the same size in class 2.
type flexibles struct{ Rating, VoltDrop float64 }

func (t *tables) readCables(l *loader) {
	t.conductors = map[conductorKey]column[quantity.OhmsPerMetreAt20]{}
	l.each("conductors.csv", "material,class,mm2,mohm_per_m", func(r *record) {
		k := conductorKey{Material(r.text("material")), ConductorClass(r.whole("class"))}
		c := t.conductors[k]
		c.add(r, r.filled("mm2"), quantity.OhmsPerMetreAt20(r.filled("mohm_per_m")/1000))
		t.conductors[k] = c
	})
	t.reactances = map[cableKey]column[quantity.OhmsPerMetre]{}
	l.each("reactances.csv", "construction,insulation,methods,mm2,mohm_per_m", func(r *record) {
		for _, m := range r.listed("methods") {
			k := cableKey{Construction(r.text("construction")), Insulation(r.text("insulation")), Method(m)}
			c := t.reactances[k]
			c.add(r, r.filled("mm2"), quantity.OhmsPerMetre(r.filled("mohm_per_m")/1000))
			t.reactances[k] = c
		}
	})
	t.armours = map[int]column[armour]{}
	l.each("armour.csv", "cores,mm2,mohm_per_m,area_mm2", func(r *record) {
		n := r.whole("cores")
		c := t.armours[n]
		c.add(r, r.filled("mm2"), armour{quantity.OhmsPerMetreAt20(r.filled("mohm_per_m") / 1000), quantity.SquareMillimetres(r.filled("area_mm2"))})
		t.armours[n] = c
	})
	l.each("flat-twin.csv", "mm2,cpc_mm2", func(r *record) {
		t.flatTwins.add(r, r.filled("mm2"), quantity.SquareMillimetres(r.filled("cpc_mm2")))
	})
	l.each("flexible.csv", "from_mm2,rating_factor,volt_drop_factor", func(r *record) {
		t.flexibles.add(r, r.filled("from_mm2"), flexibles{r.filled("rating_factor"), r.filled("volt_drop_factor")})
	})
	t.ratings, t.voltDrops = map[loadedKey]column[quantity.Amperes]{}, map[loadedKey]column[VoltDrop]{}
	t.readLoaded(l, Copper, "ratings.csv", "volt-drops.csv")
	t.readLoaded(l, Aluminium, "ratings-aluminium.csv", "volt-drops-aluminium.csv")
}

// readLoaded reads what cables of one conductor material carry and drop.
func (t *tables) readLoaded(l *loader, m Material, ratings, voltDrops string) {
	l.each(ratings, "construction,insulation,methods,loaded,mm2,amperes", func(r *record) {
		for _, method := range r.listed("methods") {
			for _, n := range r.listed("loaded") {
				k := loadedKey{m, cableKey{Construction(r.text("construction")), Insulation(r.text("insulation")), Method(method)}, count(r, n)}
				c := t.ratings[k]
				c.add(r, r.filled("mm2"), quantity.Amperes(r.filled("amperes")))
				t.ratings[k] = c
			}
		}
	})
	l.each(voltDrops, "construction,insulation,methods,phases,mm2,r_mv_per_a_m,x_mv_per_a_m,z_mv_per_a_m", func(r *record) {
		d := VoltDrop{R: r.number("r_mv_per_a_m"), X: r.number("x_mv_per_a_m"), Z: r.filled("z_mv_per_a_m")}
		if d.R != d.R { // one figure is printed
			d.R, d.X = d.Z, 0
		}
		for _, method := range r.listed("methods") {
			k := loadedKey{m, cableKey{Construction(r.text("construction")), Insulation(r.text("insulation")), Method(method)}, r.whole("phases")}
			c := t.voltDrops[k]
			c.add(r, r.filled("mm2"), d)
			t.voltDrops[k] = c
		}
	})
}

// count reads a number of conductors.
func count(r *record, s string) int {
	n, err := strconv.Atoi(s)
	if err != nil || n < 1 || n > 3 {
		r.l.fault("%s:%d: %q is not 1, 2 or 3", r.file, r.line, s)
	}
	return n
}

// Resistance returns the greatest d.c. resistance of a conductor at 20 °C.
//
//	symbol  r20, in Ω/m
//	source  IEC 60228 (BS EN 60228) Tables 1 to 3
//
// A solid conductor has the resistance of class 2. There is no value between
// sizes; the error lists the sizes there are.
func (b *Rulebook) Resistance(m Material, class ConductorClass, csa quantity.SquareMillimetres) (quantity.OhmsPerMetreAt20, Citation, error) {
	col := b.conductors[conductorKey{m, class}]
	if c, ok := col.exact(float64(csa)); ok {
		return c.value, b.cite(c.row), nil
	}
	return 0, Citation{}, &notTabulated{Wanted: fmt.Sprintf("resistance of %v %v, class %d", csa, m, class), Known: sizes(col)}
}

// TemperatureCoefficient returns the share of its resistance at 20 °C by which a
// conductor's rises for each degree.
//
//	symbol  α20, per K
//	source  BS EN 60228 for copper and aluminium alike; IEC 60287-1-1 for steel
func (b *Rulebook) TemperatureCoefficient(m Material) (float64, Citation, error) {
	if m == Steel {
		return b.Limit("temperature coefficient steel")
	}
	return b.Limit("temperature coefficient")
}

// Reactance returns the reactance per conductor at 50 Hz.
//
//	symbol   x, in Ω/m
//	formula  x = (mV/A/m)x ÷ √3 of the three-phase column
//
// At the limit "reactance neglected to" and below the rules print one figure
// and reactance is neglected: Reactance returns 0 and cites that.
func (b *Rulebook) Reactance(c Construction, ins Insulation, m Method, csa quantity.SquareMillimetres) (quantity.OhmsPerMetre, Citation, error) {
	if small, ok := b.limits["reactance neglected to"]; ok && float64(csa) <= small.value && csa > 0 {
		return 0, b.cite(small.row), nil
	}
	col := b.reactances[cableKey{c, ins, m}]
	if x, ok := col.exact(float64(csa)); ok {
		return x.value, b.cite(x.row), nil
	}
	return 0, Citation{}, &notTabulated{Wanted: fmt.Sprintf("reactance of %v %v cable, %v, method %v", csa, c, ins, m), Known: sizes(col)}
}

// armour returns the resistance per metre at 20 °C and the total area of a
// cable's steel-wire armour.
//
//	cores   number of cores of the cable, any cpc core included
//	valid   90 °C cables with copper cores: another core or insulation makes
//	        another diameter, and so another armour
//	source  BS 5467
//
// The citation is as good as the weaker of the two figures.
func (b *Rulebook) Armour(m Material, ins Insulation, cores int, csa quantity.SquareMillimetres) (armour, Citation, error) {
	if m != Copper || ins != Thermosetting90 {
		return armour{}, Citation{}, &notTabulated{Wanted: fmt.Sprintf("armour of a %d-core %v cable, %v, %v", cores, csa, m, ins),
			Why: "the table is of 90 °C thermosetting cables with copper cores; ask the cable's maker"}
	}
	col := b.armours[cores]
	if c, ok := col.exact(float64(csa)); ok {
		return c.value, b.cite(c.row), nil
	}
	return armour{}, Citation{}, &notTabulated{Wanted: fmt.Sprintf("armour of a %d-core %v cable", cores, csa), Known: sizes(col)}
}

// FlatTwinCPC returns the size of the protective conductor in a flat twin
// cable of the given line size.
//
//	source  BS 6004
func (b *Rulebook) FlatTwinCPC(csa quantity.SquareMillimetres) (quantity.SquareMillimetres, Citation, error) {
	if c, ok := b.flatTwins.exact(float64(csa)); ok {
		return c.value, b.cite(c.row), nil
	}
	return 0, Citation{}, &notTabulated{Wanted: fmt.Sprintf("flat twin and cpc of %v", csa), Known: sizes(b.flatTwins)}
}

// Flexible returns the factors that a class 5 conductor puts on the tabulated
// rating and on the tabulated volt drop of the same size.
func (b *Rulebook) Flexible(csa quantity.SquareMillimetres) (flexibles, Citation, error) {
	if c, ok := b.flexibles.downward(float64(csa)); ok {
		return c.value, b.cite(c.row), nil
	}
	return flexibles{}, Citation{}, &notTabulated{Wanted: fmt.Sprintf("factor for a flexible conductor of %v", csa)}
}

// Sizes returns the sizes whose rating is tabulated for a cable, a method and
// a number of loaded conductors, smallest first; nothing when none is.
func (b *Rulebook) Sizes(mat Material, c Construction, ins Insulation, m Method, loaded int) []quantity.SquareMillimetres {
	return keys[quantity.SquareMillimetres](b.ratings[loadedKey{mat, cableKey{c, ins, m}, loaded}])
}

// Rating returns a cable's tabulated current-carrying capacity.
//
//	symbol  It, in A
//	loaded  2 for single-phase and d.c., 3 for three-phase
//	valid   one circuit, 30 °C air or 20 °C ground, soil 2.5 K·m/W, depth 0.7 m
//	source  copper: BS 7671 Appendix 4, Tables 4D1A to 4E4A; aluminium: IEC
//	        60364-5-52 Annex B, and for armoured cables an estimate from it
//
// There is no rating between sizes, and none is made up: the error lists the
// sizes, or the methods, that are tabulated. Terminals rated for 70 °C ask for
// the 70 °C rating of a 90 °C cable; that is for the caller to ask.
func (b *Rulebook) Rating(mat Material, c Construction, ins Insulation, m Method, loaded int, csa quantity.SquareMillimetres) (
	quantity.Amperes, Citation, error) {
	k := loadedKey{mat, cableKey{c, ins, m}, loaded}
	col := b.ratings[k]
	if it, ok := col.exact(float64(csa)); ok {
		return it.value, b.cite(it.row), nil
	}
	return 0, Citation{}, missing("rating", b.ratings, k, csa, fmt.Sprintf("%d loaded conductors", loaded))
}

// VoltDrop returns a cable's tabulated volt drop per ampere and metre at full
// operating temperature.
//
//	symbol  mV/A/m
//	phases  1, or 3 for the volt drop between lines
//	source  copper: BS 7671 Appendix 4, Tables 4D1B to 4E4B and 4D5;
//	        aluminium: from the resistances of IEC 60228
//
// For single-core cables clipped direct on three phases the flat column is
// used, whose reactance is the greater.
func (b *Rulebook) VoltDrop(mat Material, c Construction, ins Insulation, m Method, phases int, csa quantity.SquareMillimetres) (
	VoltDrop, Citation, error) {
	k := loadedKey{mat, cableKey{c, ins, m}, phases}
	col := b.voltDrops[k]
	if d, ok := col.exact(float64(csa)); ok {
		return d.value, b.cite(d.row), nil
	}
	return VoltDrop{}, Citation{}, missing("volt drop", b.voltDrops, k, csa, fmt.Sprintf("%d phase", phases))
}

// missing says what is tabulated near a cell that is not: sizes of the column
// if there is one, else the methods of the cable.
func missing[V any](what string, in map[loadedKey]column[V], k loadedKey, csa quantity.SquareMillimetres, loaded string) error {
	of := string(k.construction)
	if k.material != Copper {
		of = string(k.material) + " " + of
	}
	e := &notTabulated{Wanted: fmt.Sprintf("%s of %v %v cable, %v, method %v, %s", what, csa, of, k.insulation, k.method, loaded)}
	if col := in[k]; len(col) > 0 {
		e.Known = sizes(col)
		return e
	}
	others := map[string]bool{}
	for o := range in {
		if o.material == k.material && o.construction == k.construction && o.insulation == k.insulation && o.loaded == k.loaded {
			others["method "+string(o.method)] = true
		}
	}
	e.Known = sorted(others)
	if len(others) == 0 {
		e.Why = "there is no table for this cable, insulation and number of conductors"
	}
	return e
}

func sizes[V any](c column[V]) []string { return names(keys[quantity.SquareMillimetres](c)) }
