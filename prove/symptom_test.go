package prove

import (
	"strings"
	"testing"

	"chargewright/job"
	"chargewright/works"
)

// TestSymptoms: every symptom on its own, on an empty record, has answers that
// come to no more than one, some of them nothing of the wiring.
func TestSymptoms(t *testing.T) {
	empty := modelOf(t, &job.Job{})
	for _, name := range Symptoms() {
		e, err := Explain(empty, UsualPriors(), name)
		if err != nil {
			t.Fatal(err)
		}
		sum, use, wired := e.Rest, false, false
		for _, c := range e.Causes {
			sum += c.Probability
			use = use || strings.HasPrefix(c.Key, "in use")
			wired = wired || c.Key != "" && !strings.HasPrefix(c.Key, "in use")
			if c.Key != "" && c.Next == "" {
				t.Errorf("%s: %s has no check", name, c.Cause)
			}
		}
		if sum > 1+1e-9 || !use || e.Sound() {
			t.Errorf("%s: chances of %.3f, in use %v, wired %v, sound %v", name, sum, use, wired, e.Sound())
		}
	}
	if _, err := Explain(empty, UsualPriors(), "never start"); err == nil || !strings.Contains(err.Error(), "never starts") {
		t.Errorf("a symptom by another name: %v, want the nearest", err)
	}
}

// TestSymptomsAndReadings: a symptom and readings are weighed together.
func TestSymptomsAndReadings(t *testing.T) {
	share := func(key string, readings []works.Reading, seen ...string) float64 {
		m := modelOf(t, oneCircuit(flat(6), 25, 0.2, func(j *job.Job) { j.Readings = readings }))
		e, err := Explain(m, UsualPriors(), seen...)
		if err != nil {
			t.Fatal(err)
		}
		var sum float64
		for _, c := range e.Causes {
			if strings.Contains(c.Key, key) {
				sum += c.Probability
			}
		}
		return sum
	}
	good := []works.Reading{take("CP1", "pilot voltage in state B", "9.0 V", ""), take("CP1", "pilot voltage in state C", "6.0 V", "")}
	if before, after := share("pilot open", nil, "never starts"), share("pilot open", good, "never starts"); !(before > 0.02 && after < before/5) {
		t.Errorf("pilot open where it never starts: %.3f, and %.3f with the pilot read at 9 V", before, after)
	}
	bad := []works.Reading{take("CP1", "pilot voltage in state B", "12.0 V", "")}
	if got := share("pilot open", bad, "never starts"); got < 0.7 {
		t.Errorf("pilot open where it never starts and 12 V was read: %.3f", got)
	}
	earth := []works.Reading{take("supply", "Ze", "0.20 Ω", "high current"), take("CP1", "R1+R2", "0.26 Ω", ""), take("CP1", "Zs", "0.46 Ω", "high current"),
		take("CP1", "polarity", "correct", "")}
	if got := share("in use: the earth meets the rule", earth, "refuses for its earth check"); got < 0.3 {
		t.Errorf("the earth meets the rule, yet a vehicle refuses: %.3f", got)
	}
}
