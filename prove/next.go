package prove

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"chargewright/finding"
	"chargewright/works"
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
	Basis    string  // of minutes and risk
	Bits     float64 // what it is expected to tell
	Again    string  // why it is taken once more; empty where it was not taken yet
	First    string  // what the record lacks for it; empty where it allows it
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

// Step is one test of a plan, and what it shows where the cause is the case.
type Step struct {
	Reading, At, Function string
	Minutes               float64
	Shows                 string
}

// sure is how likely a cause must be before it is put right and proved so.
const sure = 0.9

// survey is what each measurement that may be made would show under every
// likely range of every likely cause.
type survey struct {
	groups int
	pieces []*solved
	tests  []offered
}

// offered is a measurement with what it would show under each piece; a piece
// that predicts nothing of it has no deviation.
type offered struct {
	candidate
	again, first    string
	mean, deviation []float64
}

func (b *bench) survey(groups []group) *survey {
	s := &survey{groups: len(groups), pieces: b.solve(groups)}
	for _, c := range b.listed {
		if b.model.Left() != nil {
			return s // and Explain says so
		}
		taken, why := b.madeAlready(&c, groups)
		live := c.question.beyondOrigin()
		if taken && why == "" || live && b.unfit(c.question.run) {
			continue
		}
		o := offered{candidate: c, again: why, first: b.lacks(&c), mean: make([]float64, len(s.pieces)), deviation: make([]float64, len(s.pieces))}
		for i := range s.pieces {
			if mean, deviation, ok := b.expect(s.pieces[i], c.question); ok {
				o.mean[i], o.deviation[i] = mean, deviation
			}
		}
		s.tests = append(s.tests, o)
	}
	return s
}

// choose returns the test that tells most for its minutes and risk, and how
// much; −1 where none is worth making. What the record does not allow yet comes
// after all that it does.
func (s *survey) choose(weights []float64, made []int) (best int, tells float64) {
	var all, grave float64
	for i, w := range weights {
		all += w
		if s.pieces[i].grave {
			grave += w
		}
	}
	grave /= max(all, 1e-300)
	best = -1
	var bestScore float64
	cs := make([]component, 0, len(weights))
	for n := range s.tests {
		t := &s.tests[n]
		risk := t.risk
		if slices.Contains(made, n) {
			continue
		}
		if t.question.beyondOrigin() { // it needs the installation energised
			if grave > 0.5 {
				continue
			}
			risk *= 1 + 4*grave
		}
		if cs = s.under(cs[:0], t, weights, all); len(cs) < 2 {
			continue
		}
		const worth = 0.05 // bits: below this a test is not worth making
		bits := information(cs, s.groups)
		if bits <= worth {
			continue
		}
		score := bits / (t.minutes * risk)
		allowed, was := t.first == "", best >= 0 && s.tests[best].first == ""
		if best < 0 || allowed && !was || allowed == was && score > bestScore {
			best, bestScore, tells = n, score, bits
		}
	}
	return best, tells
}

// under is what a test would show under each piece that still counts.
func (s *survey) under(cs []component, t *offered, weights []float64, all float64) []component {
	const least = 1e-3
	for i, w := range weights {
		if t.deviation[i] > 0 && w > least*all {
			cs = append(cs, component{s.pieces[i].group, w, t.mean[i], t.deviation[i]})
		}
	}
	return cs
}

// given weighs the pieces anew by what a test showed.
func (s *survey) given(weights []float64, t *offered, y float64) []float64 {
	out := make([]float64, len(weights))
	for i, w := range weights {
		if out[i] = w; t.deviation[i] > 0 {
			out[i] *= normal(y, t.mean[i], t.deviation[i])
		}
	}
	return out
}

func (s *survey) weights() []float64 {
	out := make([]float64, len(s.pieces))
	for i, p := range s.pieces {
		out[i] = p.weight
	}
	return out
}

// nextTest chooses the measurement that tells most for its minutes and risk.
func (b *bench) nextTest(groups []group) *Test {
	t, _, _ := b.firstTest(groups)
	return t
}

// firstTest is the next test with the survey that it was chosen from, and its
// place in it: −1 where it tells nothing apart.
func (b *bench) firstTest(groups []group) (*Test, *survey, int) {
	s := b.survey(groups)
	weights := s.weights()
	best, bits := s.choose(weights, nil)
	if best < 0 {
		if groups[0].chance >= sure && len(groups[0].members) > 0 && len(groups[0].members[0].parts) > 0 {
			return b.proof(groups), s, -1
		}
		return nil, s, -1
	}
	o := &s.tests[best]
	t := o.test()
	t.Bits, t.Again, t.First = bits, o.again, o.first
	t.Outcomes = outcomes(o.question, s.under(nil, o, weights, 0), groups)
	return t, s, best
}

// plan is the tests that would be suggested one after another if a group were
// the case, four at most, and the chance it would then have.
func (b *bench) plan(s *survey, first, of int) ([]Step, float64) {
	const most, enough = 4, 0.95
	weights, likeliest := s.weights(), -1
	for i, p := range s.pieces {
		if p.group == of && (likeliest < 0 || weights[i] > weights[likeliest]) {
			likeliest = i
		}
	}
	chance := func() float64 {
		var all, its float64
		for i, w := range weights {
			if all += w; s.pieces[i].group == of {
				its += w
			}
		}
		return its / max(all, 1e-300)
	}
	var out []Step
	var made []int
	for at := first; at >= 0 && likeliest >= 0 && len(out) < most && chance() < enough; at, _ = s.choose(weights, made) {
		t := &s.tests[at]
		if made = append(made, at); t.deviation[likeliest] == 0 {
			continue
		}
		y := t.mean[likeliest]
		out = append(out, Step{t.question.kind.Name, t.question.at, t.function, t.minutes, predicted(t.question, y, t.deviation[likeliest], "").Shows})
		weights = s.given(weights, t, y)
	}
	return out, chance()
}

// madeAlready reports whether a measurement was made, and why it is worth
// making once more: what it showed may have been a slip, or it is to be taken
// in a better way. Once more only.
func (b *bench) madeAlready(c *candidate, groups []group) (made bool, why string) {
	const doubt = 0.05
	taken, doubted := 0, false
	for i := range b.readings {
		t := &b.readings[i]
		if t.asked == nil || !t.asked.sameAs(c.question) {
			continue
		}
		if taken++; t.asked.kind.Class == "low ohm" && !t.asked.renulled && c.question.renulled { // it is another test with the leads nulled for it
			taken--
			why = "it was not said that the leads were nulled for it"
		}
		doubted = doubted || t.index < 0
		for g := range groups {
			for _, h := range groups[g].members {
				slip := func(p supposed) bool {
					return p.cause.is == "person" && p.where.about != "" && p.where.reading == t.index
				}
				doubted = doubted || h.chance > doubt && (slices.Contains(h.odd, t.index) || slices.ContainsFunc(h.parts, slip))
			}
		}
	}
	switch {
	case taken == 0:
		return why != "", why
	case taken == 1 && doubted:
		return true, "what it showed may have been a slip"
	}
	return true, ""
}

// sameAs reports whether a question is of the same thing in the same way.
func (q *question) sameAs(o *question) bool {
	return q.kind == o.kind && q.at == o.at && q.phase == o.phase && q.volts == o.volts && q.known == o.known &&
		q.pointOff == o.pointOff && q.cableAlone == o.cableAlone && q.surgeOut == o.surgeOut
}

// test is a candidate as it is suggested.
func (c *candidate) test() *Test {
	t := &Test{Reading: c.question.kind.Name, At: c.question.at, Function: c.function, How: c.how, Minutes: c.minutes, Risk: c.risk, Basis: c.basis,
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

// grave reports a hypothesis under which nothing is to be energised.
func (h *hypothesis) grave() bool {
	return slices.ContainsFunc(h.parts, func(p supposed) bool { return p.cause.grave })
}

// held is what the kinds of instrument read, by the classes of readings.
var held = map[string][]string{
	"loop": {"loop", "fault current"}, "insulation": {"insulation"}, "continuity": {"low ohm"}, "electrode": {"electrode"},
	"rcd": {"rcd time", "rcd current"}, "voltage": {"voltage"}, "clamp": {"clamp", "leakage clamp"}, "adaptor": {"pilot", "duty"},
	"multifunction": {"low ohm", "insulation", "loop", "fault current", "rcd time", "rcd current", "voltage"},
}

// lacks says what a measurement wants that the record does not have: an
// instrument, or dead tests before a live one. A record without instruments
// says nothing of them.
func (b *bench) lacks(c *candidate) string {
	q := c.question
	class, own := q.kind.Class, b.model.Job.Instruments
	reads := func(i works.Instrument) bool { return i.Kind == "" || slices.Contains(held[i.Kind], class) }
	read := func(t taken) bool { return t.kind != nil && t.kind.Class == class }
	if len(own) > 0 && class != "seen" && !slices.ContainsFunc(own, reads) && !slices.ContainsFunc(b.readings, read) {
		return "no instrument of this job reads it"
	}
	if !q.beyondOrigin() || q.run == nil || q.run.circuit.Record.Existing {
		return ""
	}
	var missing []string
	for _, name := range safeFirst {
		if !slices.ContainsFunc(b.readings, func(t taken) bool {
			return t.kind != nil && t.record.At == q.at && (t.kind.Name == name || name == "R1+R2" && t.kind.Name == "R2" || !t.kind.Dead && t.kind.Class != "seen")
		}) {
			missing = append(missing, name)
		}
	}
	if len(missing) > 0 {
		return "the dead tests come first, and the record lacks " + strings.Join(missing, " and ") + " at " + q.at
	}
	return ""
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
