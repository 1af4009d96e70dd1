package prove

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"chargewright/finding"
	"chargewright/model"
	"chargewright/reading"
	"chargewright/works"
)

// Judge holds every reading of a job against the limits it is judged by. A
// reading without a limit of its own is not known to meet one.
func Judge(m *model.Model) ([]finding.Finding, error) {
	judged, err := JudgeBy(m, Expect(m))
	return findingsOf(judged), err
}

// Amiss returns the readings of a job that fail, or that a person must judge. One
// that has no limit, or was not taken, is the business of what is expected.
func Amiss(m *model.Model) ([]finding.Finding, error) {
	if len(m.Job.Readings) == 0 {
		return nil, nil
	}
	found, err := Judge(m)
	return slices.DeleteFunc(found, func(f finding.Finding) bool { return f.Verdict != finding.Fails && f.Verdict != finding.JudgeOnSite }), err
}

// JudgeBy does so where what is expected is known already: one finding for each
// reading, in the order taken.
func JudgeBy(m *model.Model, expected []Expectation) ([]reading.Judged, error) {
	out, err := judgeBy(m, expected)
	if len(out) == 0 || len(m.Job.Assumed()) == 0 {
		return out, err
	}
	found := findingsOf(out)
	m.Rest(found, func(m *model.Model) []finding.Finding {
		out, _ := judgeBy(m, Expect(m))
		return findingsOf(out)
	})
	for i := range out {
		out[i].Rests = found[i].Rests
	}
	return out, err
}

func findingsOf(judged []reading.Judged) []finding.Finding {
	out := make([]finding.Finding, len(judged))
	for i := range judged {
		out[i] = judged[i].Finding
	}
	return out
}

func judgeBy(m *model.Model, expected []Expectation) ([]reading.Judged, error) {
	classes, err := accuracies()
	if err != nil {
		return nil, err
	}
	x := &expecter{m: m, rules: m.Rules}
	places := placesOf(m)
	by := map[[2]string]*Expectation{}
	for i := range expected {
		e := &expected[i]
		if k := reading.Of(e.Reading); k != nil {
			by[[2]string{k.Name, places.of(e.At)}] = e
		}
	}
	out := make([]reading.Judged, len(m.Job.Readings))
	paths := pathsOf(m)
	for i, r := range m.Job.Readings {
		f := finding.Finding{Path: paths[places.of(r.At)], Subject: r.Reading + " at " + r.At,
			What: "reading", Key: "reading", Verdict: finding.NotKnown, Clause: finding.Practice}
		out[i].Finding = f
		k := r.Kind()
		v, wrong := r.Shown()
		switch {
		case k == nil:
			out[i].Why = finding.Say("no prediction is made of %q", r.Reading)
		case wrong != nil:
			out[i].Subject, out[i].Why = k.Name+" at "+r.At, finding.Say("%s", wrong)
			out[i].Next = "write what the instrument showed, with its unit"
		default:
			at := [2]string{k.Name, places.of(r.At)}
			if by[at] == nil {
				e := x.other(k, at[1])
				by[at] = &e
			}
			f.Subject, f.Key, f.Clause = k.Name+" at "+r.At, "reading "+k.Name, cmp.Or(by[at].Clause, finding.Practice)
			a := classes[k.Class]
			out[i] = k.Judge(f, v, r.Value, by[at].Bounds, reading.Tolerance{Share: a.allowed, Standard: a.standard}, by[at].failed())
		}
	}
	return out, nil
}

// placeNames is the one name of each place: a circuit is read where it ends.
type placeNames map[string]string

func placesOf(m *model.Model) placeNames {
	out := placeNames{}
	for _, c := range m.Circuits {
		out[c.Record.Name] = farEnd(c)
	}
	for _, c := range m.Circuits { // where a circuit bears the name of another's end, it is the end
		out[farEnd(c)] = farEnd(c)
	}
	return out
}

// pathsOf is where in the record each place stands, by its one name. Where two
// parts bear a name, readings are taken at what stands further from the supply.
func pathsOf(m *model.Model) map[string]string {
	out := map[string]string{works.TheSupply.Name: works.TheSupply.Path, works.TheEarthingConductor.Name: works.TheEarthingConductor.Path}
	j := m.Job
	for i := range j.Supply.Bonding {
		b := j.Supply.Bonding[i].Thing()
		out[b.Name] = b.Path
	}
	for i := range j.Electrodes {
		out[j.Electrodes[i].Name] = j.Electrodes[i].Thing().Path
	}
	for i := range j.Circuits { // read by its own name only where it ends nowhere
		out[j.Circuits[i].Name] = j.Circuits[i].Thing().Path
	}
	for i := range j.Boards {
		out[j.Boards[i].Name] = j.Boards[i].Thing().Path
	}
	for i := range j.Loads {
		out[j.Loads[i].Name] = j.Loads[i].Thing().Path
	}
	for i := range j.Points {
		out[j.Points[i].Name] = j.Points[i].Thing().Path
	}
	return out
}

// PathAt returns where in the record stands what a reading is taken at; nothing
// where the job has no such place.
func PathAt(m *model.Model, at string) string { return pathsOf(m)[placesOf(m).of(at)] }

func (p placeNames) of(at string) string { return cmp.Or(p[at], at) }

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
		if t.kind.Dead {
			if t.kind.Class == "insulation" && err == nil && len(t.gap) == 0 {
				low[t.record.At] = t.value.amount < least
			}
			seen[t.kind.Name+"\x00"+t.record.At] = true
			if t.kind.Name == "R2" { // continuity by the other method
				seen["R1+R2\x00"+t.record.At] = true
			}
			continue
		}
		if t.index < 0 || b.asked[t.index].run == nil || b.asked[t.index].run.circuit.Record.Existing {
			continue
		}
		text := fmt.Sprintf("%s at %s was read live though the insulation read there is below its least: kept; "+
			"switch off, isolate and prove dead (BS 7671 643.3)", t.kind.Name, t.record.At)
		if low[t.record.At] && !slices.Contains(out, text) {
			out = append(out, text)
		}
		var missing []string
		for _, name := range safeFirst {
			if !seen[name+"\x00"+t.record.At] {
				missing = append(missing, name)
			}
		}
		if len(missing) > 0 {
			text := fmt.Sprintf("%s at %s was read live before %s: kept, but the dead tests come first (BS 7671 643.1)", t.kind.Name, t.record.At,
				strings.Join(missing, " and "))
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
		if b.asked[i].kind.Name == "Ze" {
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
		if q.kind.Name != "Zs" || q.noTrip || q.run != nil && q.run.ownEarth {
			continue
		}
		difference := b.values[i].amount - b.values[ze].amount
		if off := math.Abs(difference - cable(q)); off > max(0.05, 0.03*b.values[ze].amount) {
			text := fmt.Sprintf("Zs at %s is %s from Ze, and the cable accounts for %s: an instrument may be out by as much, so read both again", q.at,
				q.kind.show(math.Abs(difference)), q.kind.show(cable(q)))
			if !slices.Contains(out, text) {
				out = append(out, text)
			}
		}
	}
	return out
}
