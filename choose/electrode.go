package choose

// Electrodes: which one reaches a resistance in the soil at hand, what it
// costs, and what layers in the soil do to a rod.

import (
	"fmt"
	"math"

	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/trade"
)

// Electrode is an electrode that was worked out.
type Electrode struct {
	Row        *electrodeRow       `json:"-"`
	Kind       trade.ElectrodeKind `json:"kind"`
	Length     float64             `json:"length"`
	Number     int                 `json:"number"`
	Resistance float64             `json:"resistance"`
	Cost       float64             `json:"cost"`
	Citation   standard.Citation   `json:"-"`
}

// String says what it is.
func (e Electrode) String() string {
	switch {
	case e.Kind == trade.Plate:
		return fmt.Sprintf("plate %v square", quantity.Metres(e.Length))
	case e.Number > 1:
		return fmt.Sprintf("%d rods of %v, %v apart", e.Number, quantity.Metres(e.Length), quantity.Metres(e.Row.Spacing))
	}
	return fmt.Sprintf("%s of %v", e.Kind, quantity.Metres(e.Length))
}

// Reaching returns, for every kind in the catalogue, the cheapest electrode
// whose resistance is at most target in soil of resistivity rho; a kind that
// cannot reach it is returned with the lowest resistance it has.
//
//	source  BS 7430 9.5, by package standard
func (c *Catalogue) Reaching(rules *standard.Rulebook, rho quantity.OhmMetres, target quantity.Ohms) []Electrode {
	var out []Electrode
	for _, e := range c.all(rules, rho) {
		last := len(out) - 1
		switch {
		case last < 0 || out[last].Row != e.Row:
			out = append(out, e)
		case out[last].Resistance > float64(target):
			out[last] = e
		}
	}
	return out
}

// all returns every electrode of the catalogue, each number of rods its own.
func (c *Catalogue) all(rules *standard.Rulebook, rho quantity.OhmMetres) []Electrode {
	var out []Electrode
	for i := range c.Electrodes {
		row := &c.Electrodes[i]
		for n := 1; n <= row.Greatest; n++ {
			r, cite, err := row.resistance(rules, rho, n)
			if err != nil {
				break
			}
			out = append(out, Electrode{Row: row, Kind: row.Kind, Length: row.Length, Number: n, Resistance: float64(r), Citation: cite,
				Cost: c.Cost(row.Once) + float64(n)*c.Cost(row.Each)})
		}
	}
	return out
}

// resistance returns RA of n of the row's electrodes.
func (r *electrodeRow) resistance(rules *standard.Rulebook, rho quantity.OhmMetres, n int) (quantity.Ohms, standard.Citation, error) {
	length, wide := quantity.Metres(r.Length), quantity.Metres(r.Wide)
	switch {
	case r.Kind == trade.Rod && n > 1:
		return rules.ParallelRods(rho, length, wide, quantity.Metres(r.Spacing), n, standard.InLine)
	case r.Kind == trade.Rod:
		return rules.Rod(rho, length, wide)
	case r.Kind == trade.Tape:
		return rules.Tape(rho, length, wide, quantity.Metres(r.Depth))
	}
	return rules.Plate(rho, r.Length*r.Length)
}

// cheapest returns the cheapest electrode of those that reach the target.
func cheapest(all []Electrode, target quantity.Ohms) (Electrode, bool) {
	best, found := Electrode{}, false
	for _, e := range all {
		if e.Resistance <= float64(target) && (!found || e.Cost < best.Cost) {
			best, found = e, true
		}
	}
	return best, found
}

// rodInLayers returns the resistance of a rod that passes from an upper layer
// of soil into a lower one.
//
//	formula  R = ρa/(2πL) × (ln(8L/d) − 1), ρa = L / (h/ρ1 + (L − h)/ρ2)
//	upper    resistivity ρ1 of the layer of thickness h at the surface
//	lower    resistivity ρ2 of the soil below it
//	source   parallel conductances of the two lengths of rod, from first
//	         principles: an estimate that leaves out how the layers bend the field
//
// A rod that stays in the upper layer has ρa = ρ1.
func rodInLayers(rules *standard.Rulebook, upper, lower quantity.OhmMetres, h, length, diameter quantity.Metres) (quantity.Ohms, standard.Citation, error) {
	in := min(h, length)
	rho := quantity.OhmMetres(float64(length) / (float64(in)/float64(upper) + float64(length-in)/float64(lower)))
	return rules.Rod(rho, length, diameter)
}

// neededLength returns the shortest single rod that reaches a resistance.
//
//	formula  ρ/(2πL) × (ln(8L/d) − 1) ≤ R, solved for L to the millimetre
//
// It is an error where no rod up to 100 m does.
func neededLength(rules *standard.Rulebook, rho quantity.OhmMetres, diameter quantity.Metres, target quantity.Ohms) (quantity.Metres, error) {
	low, high := 0.1, 100.0
	if r, _, err := rules.Rod(rho, quantity.Metres(high), diameter); err != nil || r > target {
		return 0, fmt.Errorf("no single rod up to 100 m reaches %v in %v: add rods, or choose another electrode", target, rho)
	}
	for high-low > 5e-4 {
		mid := (low + high) / 2
		if r, _, err := rules.Rod(rho, quantity.Metres(mid), diameter); err == nil && r <= target {
			high = mid
		} else {
			low = mid
		}
	}
	return quantity.Metres(math.Ceil(high*1000) / 1000), nil
}
