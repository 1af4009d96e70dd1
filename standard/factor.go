package standard

import (
	"fmt"
	"math"

	"chargewright/quantity"
)

// grouped is a way for circuits to lie together, by one method of installation.
type grouped struct {
	arrangement Arrangement
	method      Method
}

type ambientKey struct {
	insulation Insulation
	buried     bool
}

// grouping is one arrangement's factors by number of circuits.
type grouping struct {
	column[float64]
	open bool // more circuits than the last row need no further reduction
}

// How a row is used when the question falls between rows; static, so that a
// citation costs nothing.
const (
	nextHotter   = "between rows: the next hotter row"
	belowFirst   = "below the first row: no greater factor than its own is given"
	nextGroup    = "between rows: the next larger group"
	beyondLast   = "above the last row: no further reduction"
	oneAlone     = "one circuit alone: no reduction"
	nextLonger   = "between rows: the next longer length"
	nextDrier    = "between rows: the next higher resistivity"
	nextDeeper   = "between rows: the next deeper row"
	nothingAlong = "not surrounded: no reduction"
)

func (t *tables) readFactors(l *loader) {
	t.ambients = map[ambientKey]column[float64]{}
	l.each("ambient.csv", "insulation,buried,celsius,factor", func(r *record) {
		k := ambientKey{Insulation(r.text("insulation")), r.yes("buried")}
		c := t.ambients[k]
		c.add(r, r.filled("celsius"), r.filled("factor"))
		t.ambients[k] = c
	})
	t.groups = map[grouped]grouping{}
	l.each("grouping.csv", "arrangement,methods,circuits,and_more,factor", func(r *record) {
		for _, m := range r.listed("methods") {
			k := grouped{Arrangement(r.text("arrangement")), Method(m)}
			g := t.groups[k]
			g.add(r, r.filled("circuits"), r.filled("factor"))
			g.open = r.yes("and_more")
			t.groups[k] = g
		}
	})
	l.each("surrounded.csv", "metres,factor", func(r *record) { t.surrounds.add(r, r.filled("metres"), r.filled("factor")) })
	l.each("soil.csv", "duct,km_per_w,factor", func(r *record) {
		t.soils[index(r.yes("duct"))].add(r, r.filled("km_per_w"), r.filled("factor"))
	})
	l.each("depth.csv", "duct,metres,factor", func(r *record) {
		t.depths[index(r.yes("duct"))].add(r, r.filled("metres"), r.filled("factor"))
	})
	l.each("overload.csv", "semi_enclosed_fuse,buried,factor", func(r *record) {
		t.overloads[index(r.yes("semi_enclosed_fuse"))][index(r.yes("buried"))] = cell[float64]{value: r.filled("factor"), row: r.row}
	})
}

func index(yes bool) int {
	if yes {
		return 1
	}
	return 0
}

// AmbientFactor returns the factor for the temperature around a cable.
//
//	symbol  Ca
//	valid   30 °C air, or 20 °C ground where buried, is 1
//	source  BS 7671 Appendix 4, Tables 4B1 and 4B2
//
// Between rows the next hotter row is taken. Below the first row its value is
// the greatest allowed. Above the last row there is no factor, and an error.
func (b *Rulebook) AmbientFactor(ins Insulation, buried bool, ambient quantity.Celsius) (float64, Citation, error) {
	col := b.ambients[ambientKey{ins, buried}]
	c, ok := col.upward(float64(ambient))
	if !ok {
		where := "air"
		if buried {
			where = "the ground"
		}
		return 0, Citation{}, &notTabulated{Wanted: fmt.Sprintf("factor for %v in %s at %v", ins, where, ambient), Known: names(keys[quantity.Celsius](col))}
	}
	return c.value, b.between(c.row, float64(ambient), c.at, col[0].at, nextHotter), nil
}

// between returns the citation of a row used for a question at asked, when the
// row stands at used and the table's first row at first.
func (b *Rulebook) between(r *row, asked, used, first float64, note string) Citation {
	switch {
	case asked == used:
		return b.cite(r)
	case asked < first:
		return b.cite(r).with(belowFirst)
	}
	return b.cite(r).with(note)
}

// GroupingFactor returns the factor for circuits that run together.
//
//	symbol    Cg
//	m, a      method of installation, and how they lie
//	circuits  how many run together, this one included
//	source    BS 7671 Appendix 4, Tables 4C1 to 4C3
//
// Between rows the next larger group is taken. One circuit alone has no
// reduction. Above the last row there is an error, except where the table says
// that no further reduction is needed.
func (b *Rulebook) GroupingFactor(m Method, a Arrangement, circuits int) (float64, Citation, error) {
	g, ok := b.groups[grouped{a, m}]
	if !ok {
		return 0, Citation{}, &notTabulated{Wanted: fmt.Sprintf("grouping of circuits %s by method %v", string(a), m), Known: texts(b.Arrangements(m))}
	}
	if circuits < 1 {
		return 0, Citation{}, fmt.Errorf("grouping factor: %d circuits run together: at least one does", circuits)
	}
	if circuits == 1 {
		if g.column[0].at == 1 {
			return g.column[0].value, b.cite(g.column[0].row), nil
		}
		return 1, b.cite(g.column[0].row).with(oneAlone), nil
	}
	c, ok := g.upward(float64(circuits))
	switch {
	case ok && c.at == float64(circuits):
		return c.value, b.cite(c.row), nil
	case ok:
		return c.value, b.cite(c.row).with(nextGroup), nil
	case g.open:
		last := g.column[len(g.column)-1]
		return last.value, b.cite(last.row).with(beyondLast), nil
	}
	return 0, Citation{}, &notTabulated{Wanted: fmt.Sprintf("grouping of %d circuits, %s", circuits, string(a)),
		Why: fmt.Sprintf("the table ends at %v circuits", g.column[len(g.column)-1].at)}
}

// Arrangements returns how circuits may lie together by a method of
// installation, as far as their grouping is tabulated.
func (b *Rulebook) Arrangements(m Method) []Arrangement {
	var out []Arrangement
	for _, a := range arrangements {
		if _, ok := b.groups[grouped{a, m}]; ok {
			out = append(out, a)
		}
	}
	return out
}

// InsulationFactor returns the factor for a cable wholly surrounded by thermal
// insulation over a length.
//
//	symbol  Ci
//	source  BS 7671 523.9, Table 52.2
//
// Between rows the next longer length is taken; beyond the last row its value
// holds for any length. Methods that already include insulation take no such
// factor.
func (b *Rulebook) InsulationFactor(surrounded quantity.Metres) (float64, Citation, error) {
	if len(b.surrounds) == 0 || !(surrounded >= 0) {
		return 0, Citation{}, &notTabulated{Wanted: fmt.Sprintf("factor for %v in thermal insulation", surrounded)}
	}
	if surrounded == 0 {
		return 1, b.cite(b.surrounds[0].row).with(nothingAlong), nil
	}
	c, ok := b.surrounds.upward(float64(surrounded))
	if !ok {
		c = b.surrounds[len(b.surrounds)-1] // "or more"
		return c.value, b.cite(c.row), nil
	}
	if c.at == float64(surrounded) {
		return c.value, b.cite(c.row), nil
	}
	return c.value, b.cite(c.row).with(nextLonger), nil
}

// SoilFactor returns the factor for the thermal resistivity of the soil.
//
//	symbol  Cs
//	valid   2.5 K·m/W is 1
//	source  BS 7671 Appendix 4, Table 4B3
//
// Between rows the next higher resistivity is taken; below the first row its
// value is the greatest allowed; above the last row there is an error.
func (b *Rulebook) SoilFactor(duct bool, rho quantity.KelvinMetresPerWatt) (float64, Citation, error) {
	col := b.soils[index(duct)]
	c, ok := col.upward(float64(rho))
	if !ok || !(rho > 0) {
		return 0, Citation{}, &notTabulated{Wanted: fmt.Sprintf("factor for soil of %v", rho), Known: names(keys[quantity.KelvinMetresPerWatt](col))}
	}
	return c.value, b.between(c.row, float64(rho), c.at, col[0].at, nextDrier), nil
}

// DepthFactor returns the factor for the depth of laying.
//
//	symbol  Cd
//	valid   0.7 m is 1
//	source  BS 7671 Appendix 4, Table 4B4
//
// Between rows the next deeper row is taken. Shallower than the first row or
// deeper than the last there is an error: near the surface a cable is warmed by
// the sun and dries the soil, and a spade finds it.
func (b *Rulebook) DepthFactor(duct bool, depth quantity.Metres) (float64, Citation, error) {
	col := b.depths[index(duct)]
	c, ok := col.upward(float64(depth))
	if !ok || !(float64(depth) >= col[0].at) {
		return 0, Citation{}, &notTabulated{Wanted: fmt.Sprintf("factor for a depth of %v", depth), Known: names(keys[quantity.Metres](col))}
	}
	return c.value, b.between(c.row, float64(depth), c.at, col[0].at, nextDeeper), nil
}

// OverloadFactor returns the factor for the device that protects against
// overload: a semi-enclosed fuse, a cable in the ground, both or neither.
//
//	symbol  Cc
//	source  BS 7671 433.1.202, 433.1.203
func (b *Rulebook) OverloadFactor(semiEnclosedFuse, buried bool) (float64, Citation) {
	c := b.overloads[index(semiEnclosedFuse)][index(buried)]
	if c.row == nil { // a rulebook without the table: not a number, so nothing passes by it
		return math.NaN(), Citation{}
	}
	return c.value, b.cite(c.row)
}
