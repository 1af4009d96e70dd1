package standard

import (
	"fmt"
	"math"
	"slices"

	"chargewright/quantity"
)

// RodPattern is how several rods stand together.
type RodPattern string

// Patterns of rods. The number of rods in a hollow square is the number along
// each side.
const (
	InLine       RodPattern = "in line"
	HollowSquare RodPattern = "hollow square"
)

// groundRow is a kind of soil and the range of its electrical resistivity.
type groundRow struct {
	Kind      string
	Low, High quantity.OhmMetres
	cite      *row
}

func (t *tables) readEarth(l *loader) {
	t.rods = map[RodPattern]column[float64]{}
	l.each("rods.csv", "pattern,rods,lambda", func(r *record) {
		k := RodPattern(r.text("pattern"))
		c := t.rods[k]
		c.add(r, r.filled("rods"), r.filled("lambda"))
		t.rods[k] = c
	})
	l.each("ground.csv", "kind,low_ohm_m,high_ohm_m", func(r *record) {
		t.grounds = append(t.grounds, groundRow{r.text("kind"), quantity.OhmMetres(r.filled("low_ohm_m")), quantity.OhmMetres(r.filled("high_ohm_m")), r.row})
	})
}

// Grounds returns the kinds of soil and the ranges of their resistivity, which
// are wide: a measurement goes before them.
func (b *Rulebook) Grounds() []groundRow { return slices.Clone(b.grounds) }

// GroundCitation returns where a kind of soil stands.
func (b *Rulebook) GroundCitation(g groundRow) Citation {
	if g.cite == nil {
		return Citation{}
	}
	return b.cite(g.cite)
}

// electrode checks the measures of an electrode and finds the formula's clause.
func (b *Rulebook) electrode(key string, r float64, measures ...float64) (quantity.Ohms, Citation, error) {
	for _, m := range measures {
		if !(m > 0) || math.IsInf(m, 0) {
			return 0, Citation{}, fmt.Errorf("electrode resistance: every measure must be above zero, and one is %v", m)
		}
	}
	if !(r > 0) || math.IsInf(r, 0) {
		return 0, Citation{}, fmt.Errorf("electrode resistance: the formula does not hold for these measures, which give %v Ω", r)
	}
	return quantity.Ohms(r), b.Clause(key), nil
}

// rod is the resistance of a vertical rod, in Ω.
func rod(rho, l, d float64) float64 { return rho / (2 * math.Pi * l) * (math.Log(8*l/d) - 1) }

// Rod returns the resistance to earth of a vertical rod in uniform soil.
//
//	symbol   R, in Ω
//	formula  R = ρ/(2πL) × (ln(8L/d) − 1)
//	rho      resistivity of the soil, in Ω·m
//	length   L, in the ground
//	diameter d
//	source   BS 7430:2011+A1:2015 9.5.3
//
// It is an estimate. The electrode is measured, and may rise in a dry season.
func (b *Rulebook) Rod(rho quantity.OhmMetres, length, diameter quantity.Metres) (quantity.Ohms, Citation, error) {
	r := rod(float64(rho), float64(length), float64(diameter))
	return b.electrode("electrode rod", r, float64(rho), float64(length), float64(diameter))
}

// ParallelRods returns the resistance of n equal rods at equal spacing.
//
//	formula  Rn = R × (1 + λa)/n, a = ρ/(2πRs)
//	spacing  s, at least the length of a rod
//	n        rods in line, or along each side of a hollow square
//	λ        by pattern and number
//	source   BS 7430:2011+A1:2015 9.5.4
func (b *Rulebook) ParallelRods(rho quantity.OhmMetres, length, diameter, spacing quantity.Metres, n int, p RodPattern) (quantity.Ohms, Citation, error) {
	r := rod(float64(rho), float64(length), float64(diameter))
	if n == 1 {
		return b.electrode("electrode rod", r, float64(rho), float64(length), float64(diameter))
	}
	lambda, ok := b.rods[p].exact(float64(n))
	if !ok {
		e := &notTabulated{Wanted: fmt.Sprintf("%d rods %s", n, p)}
		for _, c := range b.rods[p] {
			e.Known = append(e.Known, fmt.Sprint(c.at))
		}
		return 0, Citation{}, e
	}
	if spacing < length {
		return 0, Citation{}, fmt.Errorf("rods in parallel: the spacing of %v is less than their length of %v, and the formula does not hold", spacing, length)
	}
	a := float64(rho) / (2 * math.Pi * r * float64(spacing))
	count := float64(n)
	if p == HollowSquare {
		count = 4 * (float64(n) - 1)
	}
	rn, _, err := b.electrode("electrode rods", r*(1+lambda.value*a)/count, float64(rho), float64(length), float64(diameter), float64(spacing))
	if err != nil {
		return 0, Citation{}, err
	}
	return rn, b.cite(lambda.row), nil
}

// RodTriangle returns the resistance of three rods at the corners of an
// equilateral triangle.
//
//	formula  R = ρ/(6πL) × (ln(8L/d) − 1 + 2L/s)
//	side     s
//	source   BS 7430:2011+A1:2015 9.5.5
func (b *Rulebook) RodTriangle(rho quantity.OhmMetres, length, diameter, side quantity.Metres) (quantity.Ohms, Citation, error) {
	l := float64(length)
	r := float64(rho) / (6 * math.Pi * l) * (math.Log(8*l/float64(diameter)) - 1 + 2*l/float64(side))
	return b.electrode("electrode triangle", r, float64(rho), l, float64(diameter), float64(side))
}

// horizontal is the resistance of a horizontal conductor, in Ω.
func horizontal(rho, l, w, h, k float64) float64 {
	return rho / (2 * math.Pi * l) * math.Log(l*l/(k*h*w))
}

// Tape returns the resistance of a horizontal strip.
//
//	formula  R = ρ/(2πL) × ln(L²/(1.36 h w))
//	width    w
//	depth    h
//	source   BS 7430:2011+A1:2015 9.5.6
func (b *Rulebook) Tape(rho quantity.OhmMetres, length, width, depth quantity.Metres) (quantity.Ohms, Citation, error) {
	r := horizontal(float64(rho), float64(length), float64(width), float64(depth), 1.36)
	return b.electrode("electrode tape", r, float64(rho), float64(length), float64(width), float64(depth))
}

// RoundTape returns the resistance of a horizontal round conductor.
//
//	formula  R = ρ/(2πL) × ln(L²/(1.83 h d))
//	source   BS 7430:2011+A1:2015 9.5.6
func (b *Rulebook) RoundTape(rho quantity.OhmMetres, length, diameter, depth quantity.Metres) (quantity.Ohms, Citation, error) {
	r := horizontal(float64(rho), float64(length), float64(diameter), float64(depth), 1.83)
	return b.electrode("electrode tape", r, float64(rho), float64(length), float64(diameter), float64(depth))
}

// Plate returns the resistance of a plate laid in the ground.
//
//	formula  R = ρ/4 × √(π/A)
//	area     A of one face, in m²
//	source   BS 7430:2011+A1:2015 9.5.2
func (b *Rulebook) Plate(rho quantity.OhmMetres, squareMetres float64) (quantity.Ohms, Citation, error) {
	r := float64(rho) / 4 * math.Sqrt(math.Pi/squareMetres)
	return b.electrode("electrode plate", r, float64(rho), squareMetres)
}

// RodInBackfill returns the resistance of a rod in a column of better soil.
//
//	formula  R = ((ρ − ρc)(ln(8L/D) − 1) + ρc(ln(8L/d) − 1)) / (2πL)
//	fill     ρc, resistivity of the backfill
//	hole     D, diameter of the column
//	source   BS 7430:2011+A1:2015
func (b *Rulebook) RodInBackfill(rho, fill quantity.OhmMetres, length, diameter, hole quantity.Metres) (quantity.Ohms, Citation, error) {
	r := rod(float64(rho-fill), float64(length), float64(hole)) + rod(float64(fill), float64(length), float64(diameter))
	return b.electrode("electrode backfill", r, float64(rho), float64(fill), float64(length), float64(diameter), float64(hole))
}

// Wenner returns the resistivity of the soil from a reading with four pins in
// a line.
//
//	formula  ρ = 2πaR
//	spacing  a, between neighbouring pins
//	source   BS 7430:2011+A1:2015 10.2
//
// It is the mean down to a depth of about the spacing.
func (b *Rulebook) Wenner(spacing quantity.Metres, r quantity.Ohms) (quantity.OhmMetres, Citation, error) {
	rho, cite, err := b.electrode("soil survey", 2*math.Pi*float64(spacing)*float64(r), float64(spacing), float64(r))
	return quantity.OhmMetres(rho), cite, err
}

// MutualShare returns the share of a rod's voltage to true earth that the
// ground has at a distance, which is what a second electrode there picks up.
//
//	formula  asinh(L/d) ÷ (ln(8L/d_rod) − 1)
//	distance d, from the rod's axis along the surface
//	source   uniform soil, from first principles; BS 7430 for the rod
func (b *Rulebook) MutualShare(length, diameter, distance quantity.Metres) (float64, Citation, error) {
	l := float64(length)
	share, cite, err := b.electrode("electrode influence", math.Asinh(l/float64(distance))/(math.Log(8*l/float64(diameter))-1), l, float64(diameter),
		float64(distance))
	return float64(share), cite, err
}

// FallOfPotential returns what a test by two spikes in a line reads of a rod, as
// a share of its resistance.
//
//	formula    1 − m(P) − m(C) + L ÷ ((C − P) (ln(8L/d) − 1)), m the share of MutualShare
//	current    C, from the rod to the current spike
//	potential  P, from the rod to the potential spike, nearer than that
//	source     BS 7430: true at P = 0.618 C, far from the rod
//
// The current that returns to its own spike lowers the ground under the other.
func (b *Rulebook) FallOfPotential(length, diameter, current, potential quantity.Metres) (float64, Citation, error) {
	l, d, c, p := float64(length), float64(diameter), float64(current), float64(potential)
	g := math.Log(8*l/d) - 1
	share := 1 - math.Asinh(l/p)/g - math.Asinh(l/c)/g + l/((c-p)*g)
	if share <= 0 { // within the field of the rod itself
		return 0, Citation{}, fmt.Errorf("electrode test: a spike %v from the rod stands in its own field", min(potential, current))
	}
	out, cite, err := b.electrode("electrode influence", share, l, d, c, p, c-p)
	return float64(out), cite, err
}
