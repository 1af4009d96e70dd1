package standard

import (
	"fmt"
	"math"

	"chargewright/quantity"
)

type kKey struct {
	material   Material
	insulation Insulation
	role       Role
}

// thermal is a k value and the temperatures it is for.
type thermal struct {
	k              float64
	initial, final quantity.Celsius
}

// protectiveRule is a row of the table that selects a protective conductor.
type protectiveRule struct{ times, fixed float64 }

func (t *tables) readThermal(l *loader) {
	t.ks = map[kKey]column[thermal]{}
	l.each("k.csv", "material,insulation,role,up_to_mm2,initial_celsius,final_celsius,k", func(r *record) {
		v := thermal{r.filled("k"), quantity.Celsius(r.filled("initial_celsius")), quantity.Celsius(r.filled("final_celsius"))}
		for _, ins := range r.listed("insulation") {
			k := kKey{Material(r.text("material")), Insulation(ins), Role(r.text("role"))}
			c := t.ks[k]
			c.add(r, upTo(r, "up_to_mm2"), v)
			t.ks[k] = c
		}
	})
	l.each("protective-conductor.csv", "line_up_to_mm2,times_line,fixed_mm2", func(r *record) {
		t.protectives.add(r, upTo(r, "line_up_to_mm2"), protectiveRule{r.number("times_line"), r.number("fixed_mm2")})
	})
	l.each("bonding.csv", "neutral_up_to_mm2,mm2", func(r *record) {
		t.bondings.add(r, upTo(r, "neutral_up_to_mm2"), quantity.SquareMillimetres(r.filled("mm2")))
	})
}

func (b *Rulebook) thermal(mat Material, ins Insulation, role Role) (cell[thermal], error) {
	col := b.ks[kKey{mat, ins, role}]
	if role == BareInSight || role == Bare || role == BareAtFireRisk {
		col = b.ks[kKey{mat, "", role}]
	}
	if len(col) == 0 {
		return cell[thermal]{}, &notTabulated{Wanted: fmt.Sprintf("k of a %v %v, %v", mat, role, ins)}
	}
	return col[0], nil
}

// K returns the factor that resistivity, temperature coefficient and heat
// capacity put on a conductor heated by a fault of up to 5 s.
//
//	symbol   k, in A·√s/mm²
//	formula  S ≥ √(I²t) ÷ k
//	valid    line conductors up to 300 mm²
//	source   BS 7671 Tables 43.1 and 54.2 to 54.6
func (b *Rulebook) K(mat Material, ins Insulation, role Role) (float64, Citation, error) {
	c, err := b.thermal(mat, ins, role)
	if err != nil {
		return 0, Citation{}, err
	}
	return c.value.k, b.cite(c.row), nil
}

// PrincipalTemperatures returns the temperatures a conductor has before and
// after the fault that k is for.
func (b *Rulebook) PrincipalTemperatures(ins Insulation, role Role) (initial, final quantity.Celsius, cite Citation, err error) {
	mat := Copper
	if role == ArmourAsCPC || role == ContainmentAsCPC {
		mat = Steel
	}
	c, err := b.thermal(mat, ins, role)
	if err != nil {
		return 0, 0, Citation{}, err
	}
	return c.value.initial, c.value.final, b.cite(c.row), nil
}

// ProtectiveConductorBySelection returns the least size of a protective
// conductor of the same material as the line conductor, without calculation.
//
//	formula  S up to 16 mm²: S; up to 35 mm²: 16 mm²; above: S/2
//	source   BS 7671 543.1.4, Table 54.7
//
// The size is the rule's own, not rounded up to one that is made.
func (b *Rulebook) ProtectiveConductorBySelection(line quantity.SquareMillimetres) (quantity.SquareMillimetres, Citation) {
	c, ok := b.protectives.upward(float64(line))
	if !ok || !(line > 0) {
		return quantity.SquareMillimetres(math.NaN()), Citation{}
	}
	if !math.IsNaN(c.value.fixed) {
		return quantity.SquareMillimetres(c.value.fixed), b.cite(c.row)
	}
	return quantity.SquareMillimetres(c.value.times * float64(line)), b.cite(c.row)
}

// MainBonding returns the least copper size of a main protective bonding
// conductor.
//
//	pme      whether the supply is earthed by protective multiple earthing
//	csa      copper equivalent of the supply neutral where pme, else of the
//	         earthing conductor that is required
//	formula  not PME: half the earthing conductor, at least 6 and at most 25 mm²
//	source   BS 7671 544.1.1, Table 54.8
//
// The network operator may ask for more.
func (b *Rulebook) MainBonding(pme bool, csa quantity.SquareMillimetres) (quantity.SquareMillimetres, Citation) {
	none := quantity.SquareMillimetres(math.NaN())
	if !(csa > 0) {
		return none, Citation{}
	}
	if pme {
		c, ok := b.bondings.upward(float64(csa))
		if !ok {
			return none, Citation{}
		}
		return c.value, b.cite(c.row)
	}
	least, okLeast := b.limits["bonding least"]
	most, okMost := b.limits["bonding greatest needed"]
	share, okShare := b.limits["bonding share of earthing conductor"]
	if !okLeast || !okMost || !okShare {
		return none, Citation{}
	}
	size := min(max(share.value*float64(csa), least.value), most.value)
	return quantity.SquareMillimetres(size), b.cite(share.row)
}
