package design

// Current in the neutral of a three-phase circuit, third harmonic included
// (BS 7671 523.6.3, Appendix 4 section 5.5).

import (
	"math"
	"slices"

	"chargewright/finding"
	"chargewright/model"
	"chargewright/quantity"
)

// neutral checks that the neutral of a three-phase circuit is not overloaded
// by unbalance and by third harmonics, which add up in it.
func (k *checker) neutral(c *model.Circuit) {
	phases := c.PhaseCount()
	if phases == 1 {
		return
	}
	f := k.start("neutral current", "neutral current", c.Thing(), "neutral carries unbalance and third harmonics: IN ≤ Iz")
	capacity := quantity.Amperes(math.Inf(1))
	lacks := finding.Gather(c.Thing().Unless(phases == 3, "phases", "phases"), c.Thing().Unless(len(c.Legs) > 0, "legs", "its legs"), k.m.Flow.Lacks)
	for _, leg := range c.Legs {
		r := RateLeg(k.m, c, leg)
		lacks = append(lacks, r.Lacks...)
		lacks = append(lacks, leg.NoNeutral()...)
		if csa, ok := leg.Cable.NeutralCSA.Get(); ok && csa < leg.Line.CSA {
			lacks = append(lacks, leg.CableLack("neutral csa", "rating of its smaller neutral, judged by hand")...)
		}
		capacity = min(capacity, r.Capacity)
	}
	i := slices.IndexFunc(k.m.Flow.At, func(at model.FlowAt) bool { return at.Circuit == c })
	if i < 0 {
		lacks = append(lacks, c.Thing().Lack("", "a way from the origin to its end, laid out leg by leg", "from", "legs")...)
	}
	if len(k.m.Flow.Lacks) > 0 { // what keeps the network from being laid out is also what a circuit's conductors lack
		for _, other := range k.m.Circuits {
			for _, leg := range other.Legs {
				lacks = finding.Gather(lacks, leg.Line.Lacks, leg.Neutral.Lacks, leg.CPC.Lacks)
			}
		}
	}
	if len(lacks) > 0 {
		k.add(notKnown(f, lacks))
		return
	}
	at := k.m.Flow.At[i]
	f = atMost(f, at.Neutral, capacity)
	f.Why = say("by the network, every point on: lines %v, %v and %v; third harmonic in the neutral %v", at.Lines[0], at.Lines[1], at.Lines[2], at.NeutralThird)
	k.add(f)
}
