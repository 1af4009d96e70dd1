package network

import (
	"fmt"
	"math"

	"chargewright/quantity"
)

// A Winding is a pair of windings on one limb: what is across the primary
// appears, divided by the turns, across the secondary.
type Winding struct {
	Primary, Secondary [2]Terminal
	Ratio              float64 // secondary turns over primary turns, above zero
}

// A Transformer is a set of winding pairs with leakage impedance. Nothing
// conducts between primary and secondary, so each side needs its own earthing.
type Transformer struct {
	Name     string
	Windings []Winding
	Z        Matrix // leakage, referred to the secondary windings, in Ω
}

// Transformer adds a transformer. Magnetising current is left out: at fault
// and load levels it is below what the other data can tell.
func (b *Builder) Transformer(t Transformer) BranchID {
	if len(t.Windings) == 0 || len(t.Windings) != t.Z.size {
		b.reject(t.Name, "%d pairs of windings have %d impedances: the numbers must be equal", len(t.Windings), t.Z.size)
		return -1
	}
	legs := make([]leg, len(t.Windings))
	for k, w := range t.Windings {
		if !(w.Ratio > 0) || math.IsInf(w.Ratio, 0) {
			b.reject(t.Name, "the ratio of turns is %v: it must be above zero", w.Ratio)
		}
		if t.Z.none(k) {
			b.reject(t.Name, "it has no impedance: give its short-circuit voltage")
		}
		legs[k].ratio = w.Ratio
		for i, at := range []Terminal{w.Primary[0], w.Primary[1], w.Secondary[0], w.Secondary[1]} {
			legs[k].terminal[i] = b.terminal(t.Name, at)
		}
	}
	return b.add(element{name: t.Name, legs: legs, z: t.Z, load: -1})
}

// A VectorGroup says how the windings of a three-phase transformer are joined.
type VectorGroup uint8

// The vector groups. In Dyn11 the low voltage leads the high by 30°; in Dyn1 it
// lags by 30°; in YNyn0 both star points are brought out.
const (
	Dyn11 VectorGroup = iota + 1
	Dyn1
	YNyn0
)

// String returns the group as it stands on a rating plate.
func (g VectorGroup) String() string {
	switch g {
	case Dyn11:
		return "Dyn11"
	case Dyn1:
		return "Dyn1"
	case YNyn0:
		return "YNyn0"
	}
	return fmt.Sprintf("vector group %d", uint8(g))
}

// Windings returns the winding pairs of a three-phase transformer.
//
//	hv, lv           its line terminals
//	hvStar, lvStar   its star points; hvStar is not used for a delta
//	uhv, ulv         rated voltages line to line, in V
//
// An unknown group gives no windings, which Transformer then refuses.
func (g VectorGroup) Windings(hv [3]Terminal, hvStar Terminal, lv [3]Terminal, lvStar Terminal, uhv, ulv quantity.Volts) []Winding {
	ratio := float64(ulv / uhv)
	far := [3]Terminal{hvStar, hvStar, hvStar}
	switch g {
	case Dyn11: // a across A–B, and so on round
		ratio /= math.Sqrt(3)
		far = [3]Terminal{hv[1], hv[2], hv[0]}
	case Dyn1: // a across A–C
		ratio /= math.Sqrt(3)
		far = [3]Terminal{hv[2], hv[0], hv[1]}
	case YNyn0:
	default:
		return nil
	}
	ws := make([]Winding, 3)
	for k := range ws {
		ws[k] = Winding{[2]Terminal{hv[k], far[k]}, [2]Terminal{lv[k], lvStar}, ratio}
	}
	return ws
}

// ShortCircuitImpedance returns a transformer's impedance from its rating plate.
//
//	formula  Z = uk/100 × U²/S,  R = ur/100 × U²/S,  X = √(Z² − R²)
//	uk, ur   short-circuit voltage and its resistive part, in %
//	u        rated voltage line to line of the side it is wanted for, in V
//	s        rated power, in VA
//
// The impedance is per phase. It is not a number if ur is above uk.
func ShortCircuitImpedance(uk, ur quantity.Percent, u quantity.Volts, s float64) quantity.Impedance {
	base := float64(u) * float64(u) / s / 100
	z, r := float64(uk)*base, float64(ur)*base
	return quantity.Impedance(complex(r, math.Sqrt(z*z-r*r)))
}
