package web

import (
	"os"
	"slices"
	"testing"
	"time"

	"chargewright/finding"
	"chargewright/invent"
	"chargewright/job"
	"chargewright/model"
	"chargewright/paper"
	"chargewright/prove"
	"chargewright/reading"
	"chargewright/standard"
	"chargewright/works"
)

// TestAReadingHasOneVerdict asks the terminal, the page and the certificate
// about random readings, words among them: whoever asks gets the same verdict,
// since a person on site cannot know whom to believe.
func TestAReadingHasOneVerdict(t *testing.T) {
	jobs, each := 60, 60
	if testing.Short() {
		jobs, each = 8, 50
	}
	values := []string{"1", "0.2", "19", "20", "230", "300 ms", "> 500", "> 0.5", "< 1", "< 0.01", "0", "open", "OL", "∞", "no trip", "did not trip",
		"correct", "not correct", "works", "not done", "—", "LIM", "1 V", "0.3 Ω", "7 mA", "2.5 mA", "250 Ω", "9 kA", "?"}
	r := invent.Rand(14)
	var drawn []*job.Job
	for _, name := range []string{"bakery/complete.yaml", "terrace/job.yaml", "pool/job.yaml", "bakery/faulty.yaml"} {
		text, err := os.ReadFile("../examples/" + name)
		if err != nil {
			continue // an example of another name
		}
		if j, err := job.Read(name, text); err == nil {
			drawn = append(drawn, j)
		}
	}
	if len(drawn) < 3 {
		t.Fatalf("%d examples read", len(drawn))
	}
	for len(drawn) < jobs {
		if j, _, err := invent.Read(invent.Job(r, invent.Options{Boards: 2, Points: 3, Missing: 0.05})); err == nil {
			drawn = append(drawn, j)
		}
	}
	said := map[finding.Verdict]int{}
	kinds := reading.Kinds()
	for _, j := range drawn {
		rules, err := standard.Open(j.Edition)
		if err != nil {
			t.Fatal(err)
		}
		o := &opened{Job: j, Model: model.New(j, rules)}
		places := prove.Places(o.Model)
		for range each {
			k := kinds[r.IntN(len(kinds))]
			one := works.Reading{At: places[r.IntN(len(places))], Reading: k.Name, Value: values[r.IntN(len(values))]}
			m := o.with(one)
			expected := prove.Expect(m)
			told, err := prove.Reconcile(m)
			if err != nil {
				t.Fatal(err)
			}
			last := len(told.Readings) - 1
			terminal := told.Readings[last].Verdict.Verdict
			said[terminal]++
			about := one.Reading + " at " + one.At + ": " + one.Value

			if e, err := prove.ExpectOne(o.Model, one.Reading, one.At); err == nil {
				page, err := o.judge(e, one.Value, false)
				if err != nil || page.Rule == nil || page.Rule.Verdict != terminal {
					t.Errorf("%s: the terminal says %v, the page %+v, %v", about, terminal, page.Rule, err)
				}
			}

			if v, err := one.Shown(); err == nil && v.Is == reading.NotDone {
				if terminal != finding.NotKnown {
					t.Errorf("%s: %v of what was not done", about, terminal)
				}
				continue
			}
			fails := false
			for _, g := range paper.Missing(m, nil, expected, time.Date(2030, 1, 1, 0, 0, 0, 0, time.UTC)) {
				fails = fails || g.Kind == "fails" && reading.Same(g.Reading, one.Reading) && g.Clause == told.Readings[last].Verdict.Clause.Name && g.Field == ""
			}
			if terminal == finding.Fails && !fails {
				t.Errorf("%s: fails in the terminal, and the certificate is not kept back by it", about)
			}
			alone := !slices.ContainsFunc(j.Readings, func(other works.Reading) bool { return reading.Same(other.Reading, one.Reading) })
			if terminal != finding.Fails && fails && alone {
				t.Errorf("%s: keeps the certificate back, and is %v in the terminal", about, terminal)
			}
		}
	}
	for _, v := range []finding.Verdict{finding.Meets, finding.Fails, finding.NotKnown, finding.JudgeOnSite} {
		if said[v] == 0 {
			t.Errorf("no reading came out as %v: %v", v, said)
		}
	}
	t.Logf("%d readings on %d jobs: %v", len(drawn)*each, len(drawn), said)
}
