package prove

// How much a measurement is expected to tell.

import (
	"math"
)

// component is one narrow range of one group of hypotheses, as it would show
// in a measurement.
type component struct {
	group           int
	weight          float64
	mean, deviation float64
}

// Gauss-Hermite nodes and weights for seven points, for the mean over a normal
// distribution (Abramowitz and Stegun, Table 25.10).
var hermite = [7][2]float64{{0, 0.457142857142857}, {1.154405394739968, 0.240123178605013}, {-1.154405394739968, 0.240123178605013},
	{2.366759410734541, 0.030757123967586}, {-2.366759410734541, 0.030757123967586}, {3.750439717725742, 0.000548268855972},
	{-3.750439717725742, 0.000548268855972}}

// information returns how much a measurement is expected to tell which group is
// the case, in bits:
//
//	formula  I = Σ P(h) ∫ p(y|h) log2( p(y|h) / p(y) ) dy
func information(cs []component, groups int) float64 {
	of := make([]float64, groups)
	var total float64
	for _, c := range cs {
		of[c.group] += c.weight
		total += c.weight
	}
	within := make([]float64, groups)
	var sum float64
	for _, c := range cs {
		for _, node := range hermite {
			y := c.mean + node[0]*c.deviation
			clear(within)
			var all float64
			for _, o := range cs {
				z := (y - o.mean) / o.deviation
				if z > 9 || z < -9 {
					continue
				}
				p := o.weight * math.Exp(-0.5*z*z) / o.deviation
				within[o.group] += p
				all += p
			}
			if all > 0 && within[c.group] > 0 {
				sum += c.weight * node[1] * math.Log2(within[c.group]*total/of[c.group]/all)
			}
		}
	}
	return max(0, sum)
}
