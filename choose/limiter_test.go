package choose

import (
	"os"
	"strings"
	"testing"

	"chargewright/finding"
)

// TestLimiterOnlyWhereNeeded: 46 A before a 32 A point is 78 A. Behind an 80 A
// fuse nothing holds the point back; behind 60 A a limiter does, set to the fuse
// and, with its clamp lost, to the 60 − 46 = 14 A that the others leave.
func TestLimiterOnlyWhereNeeded(t *testing.T) {
	text, err := os.ReadFile("../examples/terrace/open.yaml")
	if err != nil {
		t.Fatal(err)
	}
	j, rules, c := parse(t, "terrace", text)
	if o := Choose(j, rules, c, Aim{Purpose: FirstCost}); o.Limiter == nil || o.Limiter.Needed || len(o.Job.Limiters) > 0 {
		t.Errorf("behind 80 A: %+v, want none needed", o.Limiter)
	}
	j, rules, c = parse(t, "terrace", []byte(strings.Replace(string(text), "rating: 80 A, breaking", "rating: 60 A, breaking", 1)))
	o := Choose(j, rules, c, Aim{Purpose: FirstCost})
	if l := o.Limiter; l == nil || !l.Needed || l.Limit != 60 || l.FailSafe != 14 {
		t.Errorf("behind 60 A: %+v, want one at 60 A that falls to 14 A", l)
	}
	for _, f := range o.Findings {
		if f.Key != "clamp lead" && (f.Verdict == finding.Fails || f.Verdict == finding.NotKnown) { // how long it is, the site says
			t.Errorf("%s, %s: %s", f.Subject, f.What, f.Verdict)
		}
	}
	// Others of 46 A behind a 45 A fuse: no limiter cures that (practitioners' case D1).
	j, rules, c = parse(t, "terrace", []byte(strings.Replace(string(text), "rating: 80 A, breaking", "rating: 45 A, breaking", 1)))
	if o := Choose(j, rules, c, Aim{Purpose: FirstCost}); len(o.Job.Limiters) > 0 || !strings.Contains(o.Lacks.String(), "the other loads alone exceed it") {
		t.Errorf("behind 45 A: not known %v, want that the other loads alone exceed the supply", o.Lacks)
	}
}
