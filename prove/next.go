package prove

import (
	"fmt"
	"math"
	"slices"

	"chargewright/finding"
)

// Test is a measurement worth making next.
type Test struct {
	Reading  string
	At       string
	Function string
	How      string
	Caution  string
	Minutes  float64
	Risk     float64 // a dead test is 1
	Bits     float64 // what it is expected to tell
	Proof    bool    // nothing more need be told apart: it shows whether the first cause has been put right
	Outcomes []Outcome
}

// Outcome is what one result of a test would mean.
type Outcome struct {
	Low, High finding.Amount
	Shows     string // the band in words
	Means     string
	Chance    float64
}

// nextTest chooses the measurement that tells most for its minutes and risk.
func (b *bench) nextTest(groups []group) *Test {
	all := b.solve(groups)
	grave := energisingIsGrave(groups)
	var best *Test
	var bestScore float64
	for _, c := range b.listed {
		if b.model.Left() != nil {
			return nil // and Explain says so
		}
		cs := make([]component, 0, len(all))
		for i := range all {
			mean, deviation, ok := b.expect(all[i], c.question)
			if !ok {
				continue
			}
			cs = append(cs, component{all[i].group, all[i].weight, mean, deviation})
		}
		if b.enough(&c, groups) {
			continue
		}
		bits := information(cs, len(groups))
		const worth = 0.05             // bits: below this a test is not worth making
		if c.question.beyondOrigin() { // it needs the installation energised
			if grave > 0.5 || b.unfit(c.question.run) {
				continue
			}
			c.risk *= 1 + 4*grave
		}
		if score := bits / (c.minutes * c.risk); bits > worth && score > bestScore {
			bestScore = score
			best = c.test()
			best.Bits, best.Outcomes = bits, outcomes(c.question, cs, groups)
		}
	}
	const sure = 0.9
	if best == nil && groups[0].chance >= sure && len(groups[0].members) > 0 && len(groups[0].members[0].parts) > 0 {
		return b.proof(groups)
	}
	return best
}

// enough reports whether a measurement was made as often as it tells anything:
// once, and once more where what it showed may have been a slip.
func (b *bench) enough(c *candidate, groups []group) bool {
	const doubt = 0.05
	taken, doubted := 0, false
	for i, q := range b.asked {
		o := c.question
		if q.kind != o.kind || q.at != o.at || q.phase != o.phase || q.volts != o.volts || q.known != o.known ||
			q.pointOff != o.pointOff || q.cableAlone != o.cableAlone || q.surgeOut != o.surgeOut {
			continue
		}
		if taken++; q.kind.Class == "low ohm" && !q.renulled && o.renulled { // it is another test with the leads nulled for it
			taken--
		}
		for g := range groups {
			for _, h := range groups[g].members {
				slip := func(p supposed) bool { return p.cause.is == "person" && p.where.about != "" && p.where.reading == i }
				doubted = doubted || h.chance > doubt && (slices.Contains(h.odd, i) || slices.ContainsFunc(h.parts, slip))
			}
		}
	}
	return taken > 1 || taken == 1 && !doubted
}

// test is a candidate as it is suggested.
func (c *candidate) test() *Test {
	t := &Test{Reading: c.question.kind.Name, At: c.question.at, Function: c.function, How: c.how, Minutes: c.minutes, Risk: c.risk,
		Caution: "live test: the dead tests come first; one trained person in control, shrouded probes, the standard and local rules at hand"}
	if c.question.kind.Dead {
		t.Caution = "isolate, lock off, prove the tester, prove dead, prove the tester again"
	}
	return t
}

// proof is the measurement that shows whether the first cause has been put
// right: the reading furthest off, taken again.
func (b *bench) proof(groups []group) *Test {
	var worst *question
	most := 3.0
	for k, i := range b.exact {
		r := &b.soundRows[k]
		if off := math.Abs(b.joint.y[k]-r.mean) / r.deviation(); off > most {
			worst, most = b.asked[i], off
		}
	}
	if worst == nil {
		return nil
	}
	first := b.solved(groups[0].members[0], groups[0].members[0].best())
	for _, c := range b.listed {
		if c.question.kind != worst.kind || c.question.at != worst.at {
			continue
		}
		sound, _ := b.sound.row(c.question)
		cs := []component{{0, 0.5, sound.mean, sound.deviation()}}
		if mean, deviation, ok := b.expect(first, c.question); ok && math.Abs(mean-sound.mean) > 2*sound.deviation() {
			cs = append(cs, component{1, 0.5, mean, deviation})
		}
		t := c.test()
		t.Proof = true
		t.Outcomes = outcomes(c.question, cs, []group{{title: "put right"}, {title: "still there: " + groups[0].words()}})
		return t
	}
	return nil
}

// energisingIsGrave is the chance of a cause under which nothing is to be
// energised.
func energisingIsGrave(groups []group) float64 {
	var chance float64
	for _, g := range groups {
		for _, h := range g.members {
			if slices.ContainsFunc(h.parts, func(p supposed) bool { return p.cause.grave }) {
				chance += h.chance
			}
		}
	}
	return chance
}

// unfit reports whether the insulation of a run, or of one that feeds it, was
// read below the least that may be energised, and not well since.
//
//	clause  BS 7671 643.3, Table 64
func (b *bench) unfit(r *run) bool {
	least, _, err := b.wiring.model.Rules.Limit("insulation least")
	for ; r != nil && err == nil; r = r.feed {
		low := false
		for i, q := range b.asked {
			if q.run == r && q.kind.Class == "insulation" {
				low = b.values[i].amount < least
			}
		}
		if low {
			return true
		}
	}
	return false
}

// beyondOrigin reports whether a measurement needs more than the supply to be
// live.
func (q *question) beyondOrigin() bool { return !q.kind.Dead && !q.atSupply }

// placeOf is where a cause is; a slip is where its reading was taken.
func (b *bench) placeOf(p supposed) where {
	if p.cause.key == "slip" {
		return where{name: p.where.name, run: b.asked[p.where.reading].run}
	}
	return p.where
}

// outcomes says what each result would mean, the likelier ones first; groups
// that would show the same stand together.
func outcomes(q *question, cs []component, groups []group) []Outcome {
	type band struct{ mean, deviation float64 }
	var out []Outcome
	var bands []band
	alike := map[int]int{}
	for g := range groups {
		var weight, mean, square float64
		for _, c := range cs {
			if c.group == g {
				weight += c.weight
				mean += c.weight * c.mean
				square += c.weight * (c.deviation*c.deviation + c.mean*c.mean)
			}
		}
		if weight < 0.02 {
			continue
		}
		mean /= weight
		deviation := math.Sqrt(max(0, square/weight-mean*mean))
		same := slices.IndexFunc(bands, func(o band) bool { return math.Abs(o.mean-mean) < min(o.deviation, deviation) })
		if same >= 0 {
			out[same].Chance += weight
			if alike[same]++; alike[same] < 3 {
				out[same].Means += "; or " + groups[g].words()
			} else if alike[same] == 3 {
				out[same].Means += "; or another"
			}
			continue
		}
		bands = append(bands, band{mean, deviation})
		o := Outcome{Means: groups[g].words(), Chance: weight}
		low, high := q.kind.unscale(mean-2*deviation), q.kind.unscale(mean+2*deviation)
		if q.kind.Seen() {
			o.Shows = q.kind.show(mean)
		} else {
			if q.kind.Measure.Unit() == "Ω" {
				low = max(0, low)
			}
			o.Low, o.High = finding.Of(low, q.kind.Measure), finding.Of(high, q.kind.Measure)
			o.Shows = fmt.Sprintf("%s to %s", q.kind.show(low), q.kind.show(high))
			if q.acc.top > 0 && q.kind.unscale(mean) >= q.acc.top*0.99 {
				o.Shows = "more than the meter can show"
			}
		}
		out = append(out, o)
	}
	return out[:min(len(out), 4)]
}
