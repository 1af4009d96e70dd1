package design

// Current in the neutral of a three-phase circuit, third harmonic included
// (BS 7671 523.6.3, Appendix 4 section 5.5).

import (
	"math"

	"chargewright/model"
	"chargewright/quantity"
)

// neutral checks that the neutral of a three-phase circuit is not overloaded
// by unbalance and by third harmonics, which add up in it.
func (k *checker) neutral(c *model.Circuit) {
	if c.PhaseCount() != 3 {
		return
	}
	for _, at := range k.m.Flow.At {
		if at.Circuit != c || at.Neutral == 0 {
			continue
		}
		f := k.start("neutral current", "neutral current", c.Name(), "neutral carries unbalance and third harmonics: IN ≤ Iz")
		capacity := quantity.Amperes(math.Inf(1))
		var gaps []string
		for _, leg := range c.Legs {
			r := RateLeg(k.m, c, leg)
			gaps = append(gaps, r.Gaps...)
			if csa, ok := leg.Cable.NeutralCSA.Get(); ok && csa < leg.Line.CSA {
				gaps = append(gaps, leg.Name()+": rating of its smaller neutral, judged by hand")
			}
			capacity = min(capacity, r.Capacity)
		}
		if anyGap(gaps) || math.IsInf(float64(capacity), 1) {
			k.add(notKnown(f, append(gaps, unless(len(c.Legs) > 0, c.Name()+": its legs"))...))
			return
		}
		f = atMost(f, at.Neutral, capacity)
		f.Why = say("by the network, every point on: lines %v, %v and %v; third harmonic in the neutral %v", at.Lines[0], at.Lines[1], at.Lines[2], at.NeutralThird)
		k.add(f)
		return
	}
}
