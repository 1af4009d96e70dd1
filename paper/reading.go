package paper

import (
	"cmp"
	"slices"
	"strings"

	"chargewright/finding"
	"chargewright/job"
	"chargewright/model"
	"chargewright/prove"
	"chargewright/reading"
	"chargewright/works"
)

// readings is what was measured and what was expected, by place and name.
type readings struct {
	job    *job.Job
	es     []prove.Expectation
	judged []reading.Judged // of each reading
	told   map[int]bool     // readings that a part of the paper has held
	at     map[string][]int // which of es are at a place
}

func newReadings(m *model.Model, es []prove.Expectation) readings {
	judged, err := prove.JudgeBy(m, es)
	if err != nil { // a test reads the table of instruments
		judged = make([]reading.Judged, len(m.Job.Readings))
	}
	r := readings{m.Job, es, judged, map[int]bool{}, map[string][]int{}}
	for i, e := range es {
		r.at[e.At] = append(r.at[e.At], i)
	}
	return r
}

// sameName reports whether a reading was written down under one of the names.
func sameName(name string, names []string) bool {
	return slices.ContainsFunc(names, func(n string) bool { return reading.Same(name, n) })
}

// taken returns the last reading of one of the names at one of the places, −1
// for none. One that was not done is none.
func (r *readings) taken(at []string, names ...string) int {
	for i := len(r.job.Readings) - 1; i >= 0; i-- {
		one := r.job.Readings[i]
		if v, err := one.Shown(); err == nil && v.Is == reading.NotDone && one.Kind() != nil {
			continue
		}
		if one.Value != "" && sameName(one.Reading, names) && contains(at, one.At) {
			return i
		}
	}
	return -1
}

// expected returns what was expected of a reading.
func (r *readings) expected(at []string, names ...string) (prove.Expectation, bool) {
	first := len(r.es)
	for _, place := range at {
		for _, i := range r.at[place] {
			if place != "" && i < first && sameName(r.es[i].Reading, names) {
				first = i
				break
			}
		}
	}
	if first == len(r.es) {
		return prove.Expectation{}, false
	}
	return r.es[first], true
}

// limited returns the limitation that covers a reading not taken.
func (r *readings) limited(at []string, names ...string) (works.Limitation, bool) {
	for _, l := range r.job.Limitations {
		if sameName(l.What, names) && (l.At == "" || contains(at, l.At)) {
			return l, true
		}
	}
	return works.Limitation{}, false
}

func contains(list []string, s string) bool {
	for _, one := range list {
		if one == s && s != "" {
			return true
		}
	}
	return false
}

// held holds a reading against its limits and its band. It answers with the
// gap where a limit is not met, the reading cannot be read, or nobody says why
// it lies outside what was expected.
func (r *readings) held(i int, e prove.Expectation, about string) (Gap, bool) {
	r.told[i] = true
	one, f := r.job.Readings[i], r.judged[i]
	v, err := one.Shown()
	clause := cmp.Or(e.Clause, f.Clause).Name
	noted := strings.TrimSpace(one.Note) != ""
	const again = "find the cause, put it right, take the reading again"
	switch k := one.Kind(); {
	case err != nil:
		return Gap{Kind: open, About: about, What: one.Reading + " is entered as " + one.Value + ", which is no reading" + before(" in ", unitOf(k)),
			Get: "write what the instrument showed, with its unit"}, true
	case k == nil:
		return Gap{}, false
	case f.Verdict == finding.Fails && k.Seen():
		return Gap{Kind: failing, About: about, What: one.Reading + " is entered as " + one.Value, Clause: clause, Get: again + "; " + k.Right + " is wanted"}, true
	case f.Verdict == finding.Fails && (v.Is == reading.NoTrip || f.Limit.IsZero()):
		return Gap{Kind: failing, About: about, What: one.Reading + " is " + f.Why.String(), Get: "isolate, " + again, Clause: clause}, true
	case f.Verdict == finding.Fails:
		return Gap{Kind: failing, About: about, What: one.Reading + " is " + one.Value + ", and " + f.Side + " " + f.Limit.String() + " is allowed",
			Get: "isolate, " + again, Clause: clause}, true
	case f.Verdict == finding.NotKnown && !f.Limit.IsZero():
		return Gap{Kind: open, About: about, What: one.Reading + " is " + one.Value + ", which does not say whether it is " + f.Side + " " + f.Limit.String(),
			Get: f.Next, Clause: clause}, true
	case f.Verdict == finding.JudgeOnSite && !noted:
		return Gap{Kind: unexplained, About: about, What: one.Reading + " is " + f.Why.String(),
			Get: f.Next + "; or say in the note of the reading why it may stand", Clause: clause}, true
	case e.Known() && v.Outside(e.Low, e.High) && !noted:
		return Gap{Kind: unexplained, About: about, What: one.Reading + " is " + one.Value + ", outside what the design expects: " + expectedText(e),
			Get: "find out why, and say it in the note of the reading"}, true
	}
	return Gap{}, false
}

func unitOf(k *reading.Kind) string {
	if k.Seen() {
		return ""
	}
	return k.Measure.Unit()
}

// others holds the readings that no part of the paper has held: the last of
// each kind at each place and line, so that none that fails is passed over.
func (r *readings) others() []Gap {
	type where struct {
		kind *reading.Kind
		at   string
		line int
	}
	last := map[where]bool{}
	var out []Gap
	for i := len(r.job.Readings) - 1; i >= 0; i-- {
		one := r.job.Readings[i]
		v, err := one.Shown()
		ways, _ := one.Ways()
		here := where{one.Kind(), one.At, ways.Line()}
		if here.kind == nil || err == nil && v.Is == reading.NotDone || last[here] {
			continue
		}
		last[here] = true
		if r.told[i] {
			continue
		}
		if g, bad := r.held(i, prove.Expectation{}, one.At); bad {
			g.At, g.Reading = one.At, one.Reading
			out = append(out, g)
		}
	}
	slices.Reverse(out)
	return out
}
