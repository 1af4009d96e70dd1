package demand

import (
	"os"
	"strings"
	"testing"
	"time"

	"chargewright/finding"
	"chargewright/model"
)

func example(t testing.TB, name string) *model.Model {
	t.Helper()
	text, err := os.ReadFile("../examples/bakery/" + name)
	if err != nil {
		t.Fatal(err)
	}
	return modelOf(t, string(text))
}

func verdict(p Proof, key string) finding.Verdict {
	for _, f := range p.Findings {
		if f.Key == key {
			return f.Verdict
		}
	}
	return finding.Verdict(99)
}

// TestBakeryLimiter: the bakery's limiter is proved; the slow one is refuted by
// a run that shows it.
func TestBakeryLimiter(t *testing.T) {
	m := example(t, "job.yaml")
	p := Prove(m, m.SupplyLimiter())
	for _, f := range p.Findings {
		if f.Verdict != finding.Meets {
			t.Errorf("%s: %v: %v", f.Key, f.Verdict, f.Why)
		}
	}
	if p.Within != 8 || p.AfterLoss != 8 || p.Line != 1 {
		t.Errorf("within %v, after a loss %v, on L%d: want 8 s, 8 s, L2", p.Within, p.AfterLoss, p.Line+1)
	}
	m = example(t, "slow-limiter.yaml")
	p = Prove(m, m.SupplyLimiter())
	if verdict(p, "limiter response") != finding.Fails || verdict(p, "limiter loss") != finding.Fails || p.Worst == nil || p.Worst.Late <= 10 {
		t.Errorf("the slow limiter: %v, %v, worst %+v", verdict(p, "limiter response"), verdict(p, "limiter loss"), p.Worst)
	}
	over := false
	for _, x := range p.Worst.Moments {
		over = over || x.Total() > p.Holds && x.At > 10
	}
	if !over {
		t.Error("the counter-example does not show the line over its limit beyond the stated time")
	}
}

// TestMissingFactIsNotKnown: each fact of a limiter, taken away, leaves the
// proof open; none has a silent default.
func TestMissingFactIsNotKnown(t *testing.T) {
	text, err := os.ReadFile("../examples/bakery/job.yaml")
	if err != nil {
		t.Fatal(err)
	}
	for _, field := range []string{"limit: 95 A", "fail-safe current", "response time", "clamp phases", "clamp sees", "clamp error", "samples every", "averages over", "passes on within", "vehicle follows within", "lost-signal time-out", "notices a lost clamp", "waits before raising", "sharing", "least current"} {
		var kept []string
		gone := 0
		for _, line := range strings.Split(string(text), "\n") {
			if strings.HasPrefix(strings.TrimSpace(line), field) {
				gone++
				continue
			}
			kept = append(kept, line)
		}
		m := modelOf(t, strings.Join(kept, "\n"))
		p := Prove(m, m.SupplyLimiter())
		if gone == 0 || len(p.Findings) != 1 || p.Findings[0].Verdict != finding.NotKnown || !strings.Contains(p.Findings[0].Why.String(), strings.TrimSuffix(field, ": 95 A")) {
			t.Errorf("without %q: %d findings, the first %v: %v", field, len(p.Findings), p.Findings[0].Verdict, p.Findings[0].Why)
		}
	}
}

// TestUnseenLineFails: a clamp on one line proves nothing for another.
func TestUnseenLineFails(t *testing.T) {
	text, err := os.ReadFile("../examples/bakery/job.yaml")
	if err != nil {
		t.Fatal(err)
	}
	m := modelOf(t, strings.Replace(string(text), "clamp phases: L1 L2 L3", "clamp phases: L1", 1))
	if p := Prove(m, m.SupplyLimiter()); verdict(p, "limiter sees") != finding.Fails {
		t.Errorf("a point on L2 with a clamp on L1: %v", verdict(p, "limiter sees"))
	}
}

// TestBakeryStudy: runs of the bakery keep the limit but for the clamp's error
// and fill the van; the study is the same from the same seeds.
func TestBakeryStudy(t *testing.T) {
	m := example(t, "job.yaml")
	s := Prepare(m, Plan{Start: monday, Step: time.Minute, Length: 60 * 24 * time.Hour, Drops: true, Tariff: &dayTariff{Rates: []tariffRate{{0, 9}, {7 * time.Hour, 28}}}})
	if len(s.Lacks) > 0 {
		t.Fatal(s.Lacks)
	}
	study := func() *Study {
		var all []runOutcome
		for seed := range uint64(6) {
			sc, err := s.Scenario(seed)
			if err != nil {
				t.Fatal(err)
			}
			all = append(all, s.Keep(mustRun(t, sc)))
		}
		return s.Sum(all, 0)
	}
	a, b := study(), study()
	if a.Peak != b.Peak || a.Energy != b.Energy {
		t.Error("the same seeds give another study")
	}
	if a.Peak.To > 100 || a.Energy.Mean < 1000 || a.Share.Mean > 0.1 || a.Lowest.Mean < 207 || a.Cost.Mean <= 0 {
		t.Errorf("study %+v", a)
	}
	if !(a.Energy.Low < a.Energy.Mean && a.Energy.Mean < a.Energy.High) {
		t.Errorf("no interval: %+v", a.Energy)
	}
}

// TestIntervals against textbook figures: 1 to 5 has mean 3, standard error
// √(2.5/5); Wilson's interval for 10 of 100 is 5.5 to 17.4 % (Wilson 1927, as
// printed in statistics texts).
func TestIntervals(t *testing.T) {
	i := intervalOf([]float64{5, 3, 1, 4, 2})
	if i.Mean != 3 || i.High < 4.385 || i.High > 4.387 {
		t.Errorf("interval %+v, want 3 ± 1.386", i)
	}
	w := wilson(10, 100)
	if w.Low < 0.0550 || w.Low > 0.0555 || w.High < 0.1740 || w.High > 0.1747 {
		t.Errorf("Wilson %+v, want 0.0552 to 0.1744", w)
	}
}
