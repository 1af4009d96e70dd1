package laws

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"chargewright/design"
	"chargewright/finding"
	"chargewright/invent"
	"chargewright/job"
	"chargewright/model"
	"chargewright/paper"
	"chargewright/prove"
)

// TestAVerdictSaysWhatItRestsOn: what nobody has seen may carry a verdict, but
// never unsaid, and no certificate: else a template would pass for a survey.
func TestAVerdictSaysWhatItRestsOn(t *testing.T) {
	all := tried(t, 600, invent.Options{Boards: 2, Points: 2, Readings: true})
	for n, of := range each(all, func(_ int, s sample) []string { return restsWrongly(t, s) }) {
		for _, wrong := range of {
			t.Errorf("%s: %s", all[n].name, wrong)
		}
	}
}

// comesTo is what a finding comes to; where there is no number, its reason.
func comesTo(f finding.Finding) string {
	why := ""
	if f.Value.IsZero() {
		why = f.Why.String()
	}
	return fmt.Sprintln(f.Key, f.Path, f.Against, f.Verdict, f.Value, f.Limit, f.Margin, why)
}

// judge is every verdict on a job.
func judge(t *testing.T, m *model.Model) []finding.Finding {
	read, err := prove.Judge(m)
	if err != nil {
		t.Fatal(err)
	}
	return append(design.Check(m), read...)
}

// restsWrongly marks a few facts of a job as assumed, and returns what is then
// said as if they had been seen.
func restsWrongly(t *testing.T, s sample) (wrong []string) {
	r := invent.Rand(s.seed + 7)
	marked := slices.Clone(s.entries)
	var paths []string
	most := 12
	if testing.Short() {
		most = 6
	}
	for _, i := range r.Perm(len(marked)) {
		e := &marked[i]
		f := job.FieldAt(e.Path)
		if f == nil || !f.Assumable() || strings.Contains(e.Value, "(") || len(paths) == most {
			continue
		}
		e.Value = job.Assumption{Value: e.Value, Reason: "a template"}.String()
		paths = append(paths, e.Path)
	}
	m := laid(t, marked)
	if m == nil || len(paths) == 0 {
		return nil
	}
	var said []string
	for _, a := range m.Job.Assumed() {
		said = append(said, a.Path)
	}
	for _, path := range paths {
		if !slices.Contains(said, path) {
			wrong = append(wrong, path+" is assumed and not listed")
		}
	}
	found := judge(t, m)
	var bare []string // what is found with none of them needs none, whatever one alone would change
	for _, f := range judge(t, model.New(m.Job.Without(said...), m.Rules)) {
		bare = append(bare, comesTo(f))
	}
	for _, path := range paths { // one taken away at a time
		var left []string
		for _, f := range judge(t, model.New(m.Job.Without(path), m.Rules)) {
			left = append(left, comesTo(f))
		}
		for _, f := range found {
			if f.Verdict != finding.NotKnown && f.Rests == nil && !slices.Contains(left, comesTo(f)) && !slices.Contains(bare, comesTo(f)) {
				wrong = append(wrong, fmt.Sprintf("%q at %s is %s, and rests unsaid on %s", f.What, f.Path, f.Words(), path))
			}
		}
	}
	for _, f := range found {
		if f.Rests == nil {
			continue
		}
		on := f.Rests()
		without := judge(t, model.New(m.Job.Without(on...), m.Rules))
		switch {
		case len(on) == 0:
			wrong = append(wrong, fmt.Sprintf("%q at %s rests on nothing that is named", f.What, f.Path))
		case !strings.HasSuffix(f.Words(), finding.IfAsAssumed), !strings.HasPrefix(f.Says(), f.Words()):
			wrong = append(wrong, fmt.Sprintf("%q at %s says %q", f.What, f.Path, f.Says()))
		case slices.ContainsFunc(without, func(g finding.Finding) bool { return comesTo(g) == comesTo(f) }):
			wrong = append(wrong, fmt.Sprintf("%q at %s does not rest on %v", f.What, f.Path, on))
		}
	}
	gaps := paper.Missing(m, design.Check(m), prove.Expect(m), time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC))
	for _, path := range said {
		if !slices.ContainsFunc(gaps, func(g paper.Gap) bool { return g.Of == path }) {
			wrong = append(wrong, "a certificate would leave with "+path+" unseen")
		}
	}
	return wrong
}
