package prove

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"chargewright/finding"
	"chargewright/model"
)

// Judge holds every reading of a job against the limit it is judged by. A
// reading without a limit of its own is not known to meet one.
func Judge(m *model.Model) ([]finding.Finding, error) {
	b, err := newBench(m, Priors{})
	if err != nil {
		return nil, err
	}
	return b.verdicts(), nil
}

// verdicts returns one finding for each reading, in the order taken.
func (b *bench) verdicts() []finding.Finding {
	expected := map[[2]string]Expectation{}
	for _, e := range Expect(b.wiring.model) {
		if k := kindOf(e.Reading); k != nil {
			expected[[2]string{k.name, e.At}] = e
		}
	}
	out := make([]finding.Finding, len(b.readings))
	for i, t := range b.readings {
		f := finding.Finding{Subject: t.record.Reading + " at " + t.record.At, What: "reading", Key: "reading", Verdict: finding.NotKnown}
		if t.kind == nil || t.gap != "" && t.value == (measured{}) {
			f.Clause, f.Why = finding.Practice, finding.Say("%s", t.gap)
			out[i] = f
			continue
		}
		at := t.record.At
		if t.index >= 0 && b.asked[t.index].run != nil {
			at = farEnd(b.asked[t.index].run.circuit)
		}
		e, known := expected[[2]string{t.kind.name, at}]
		out[i] = t.judge(e, known, b.classes[t.kind.class])
	}
	return out
}

// judge compares one reading with its limit:
//
//	margin  limit − reading where at most is asked, reading − limit where at least
//
// What the product standard lets the instrument be out by is named, so that a
// reading near its limit is seen to be near it.
func (t *taken) judge(e Expectation, known bool, a accuracy) finding.Finding {
	k := t.kind
	f := finding.Finding{Subject: k.name + " at " + t.record.At, What: "reading against its limit", Key: "reading " + k.name, Clause: finding.Practice}
	if e.Clause != (finding.Clause{}) {
		f.Clause = e.Clause
	}
	if k.seen() {
		f.What = "seen to be right"
		f.Verdict = finding.Meets
		if t.value.amount > 0.5 {
			f.Verdict = finding.Fails
			f.Next = "isolate, lock off and prove dead before anything is put right"
		}
		f.Why = finding.Say("entered as %s", t.record.Value)
		return f
	}
	f.Value = finding.Of(t.value.amount, k.measure)
	if !known || e.Limit.IsZero() {
		f.What = "reading"
		f.Why = finding.Say("no single limit is set for it: it is compared with the prediction")
		f.Next = "compare it with the expected band"
		return f
	}
	f.Limit = e.Limit
	margin := e.Limit.Number - t.value.amount
	if e.LimitIs == "at least" {
		margin = -margin
	}
	atMost := e.LimitIs != "at least"
	f.Margin = finding.Of(margin, k.measure)
	f.Verdict = finding.Meets
	if margin < 0 {
		f.Verdict = finding.Fails
	}
	if t.value.above && atMost || t.value.below && !atMost { // beyond the range on the side that matters
		if margin >= 0 {
			f.Verdict = finding.NotKnown
		}
	}
	may := a.allowed * math.Abs(t.value.amount)
	f.Why = finding.Say("%s, %s %s; %s lets an instrument be out by %s here", t.record.Value, e.LimitIs, e.Limit, a.standard, k.measure.Show(may))
	if f.Verdict == finding.Meets && margin < may {
		f.Next = fmt.Sprintf("the margin is less than the instrument may be out by (%s, %s): see its certificate, or read again with another", k.measure.Show(may), a.standard)
	}
	if f.Verdict == finding.Fails {
		f.Next = e.failed()
	}
	return f
}

// failed says what to do when a reading does not meet its limit.
func (e Expectation) failed() string {
	switch {
	case e.Reading == "Ze":
		return "do not energise new work that relies on this earth; leave the cut-out alone; tell the network operator and the person in charge"
	case e.Stage == "dead":
		return "do not energise; find the cause dead"
	}
	return "switch off, isolate and prove dead; find the cause before it is used"
}

// safeFirst are the dead readings that make a live one at the same place safe
// to take (the order of BS 7671 643.1: dead tests before live ones).
var safeFirst = []string{"R1+R2", "insulation live to earth"}

// order flags live readings taken before the dead ones that make them safe.
// They are kept.
func (b *bench) order() []string {
	var out []string
	least, _, err := b.wiring.model.Rules.Limit("insulation least")
	seen, low := map[string]bool{}, map[string]bool{}
	for _, t := range b.readings {
		if t.kind == nil {
			continue
		}
		if t.kind.dead {
			if t.kind.class == "insulation" && err == nil && t.gap == "" {
				low[t.record.At] = t.value.amount < least
			}
			seen[t.kind.name+"\x00"+t.record.At] = true
			if t.kind.name == "R2" { // continuity by the other method
				seen["R1+R2\x00"+t.record.At] = true
			}
			continue
		}
		if t.index < 0 || b.asked[t.index].run == nil || b.asked[t.index].run.circuit.Record.Existing {
			continue
		}
		if text := fmt.Sprintf("%s at %s was read live though the insulation read there is below its least: kept; switch off, isolate and prove dead (BS 7671 643.3)", t.kind.name, t.record.At); low[t.record.At] && !slices.Contains(out, text) {
			out = append(out, text)
		}
		var missing []string
		for _, name := range safeFirst {
			if !seen[name+"\x00"+t.record.At] {
				missing = append(missing, name)
			}
		}
		if len(missing) > 0 {
			text := fmt.Sprintf("%s at %s was read live before %s: kept, but the dead tests come first (BS 7671 643.1)", t.kind.name, t.record.At, strings.Join(missing, " and "))
			if !slices.Contains(out, text) {
				out = append(out, text)
			}
		}
	}
	return out
}

// differences flags a Zs that lies further above or below Ze than the cable
// between them can account for, though an instrument may be out by as much:
// a reading to take again.
//
//	formula  Zs − Ze = R1+R2 of every circuit on the way
//	quiet    within 0.05 Ω or 3 % of Ze (engineering judgement)
func (b *bench) differences() []string {
	ze := -1
	for _, i := range b.exact {
		if b.asked[i].kind.name == "Ze" {
			ze = i
		}
	}
	if ze < 0 {
		return nil
	}
	cable := func(q *question) float64 {
		zs, _ := q.kind.predict(b.sound, q)
		from, _ := b.asked[ze].kind.predict(b.sound, b.asked[ze])
		return zs.amount - from.amount
	}
	var out []string
	for _, i := range b.exact {
		q := b.asked[i]
		if q.kind.name != "Zs" || q.noTrip || q.run != nil && q.run.ownEarth {
			continue
		}
		difference := b.values[i].amount - b.values[ze].amount
		if off := math.Abs(difference - cable(q)); off > max(0.05, 0.03*b.values[ze].amount) {
			text := fmt.Sprintf("Zs at %s is %s from Ze, and the cable accounts for %s: an instrument may be out by as much, so read both again", q.at, q.kind.show(math.Abs(difference)), q.kind.show(cable(q)))
			if !slices.Contains(out, text) {
				out = append(out, text)
			}
		}
	}
	return out
}
