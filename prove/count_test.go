package prove

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"chargewright/job"
	"chargewright/model"
	"chargewright/works"
)

// TestCountRates: counts against places, the weight of the rates before, and
// what is refused with its line and field.
//
//	source  the mean of a beta distribution updated by counts: (w m + n) ÷ (w + N), any book on statistics
func TestCountRates(t *testing.T) {
	var jobs []*model.Model
	for i := range 5 {
		jobs = append(jobs, modelOf(t, oneCircuit(flat(6), 25, 0.2, func(j *job.Job) {
			j.Name = fmt.Sprintf("job %d", i+1)
			j.Readings = []works.Reading{take("CP1", "R1+R2", "0.3 Ω", "")}
		})))
	}
	const head = "job,cause,at,put right\n"
	count := func(text string, weight float64) (Counted, error) {
		return CountRates(jobs, "found.csv", strings.NewReader(text), weight)
	}
	rate := func(c Counted, key string) Rate {
		for _, r := range c.Rates {
			if r.Key == key {
				return r
			}
		}
		t.Fatalf("%s has no count", key)
		return Rate{}
	}
	c, err := count(head+"job 1,neutral joint,CP1,yes\njob 4,neutral joint,CP1,✓\njob 2,cpc joint,CP1,no\n", 20)
	if err != nil {
		t.Fatal(err)
	}
	if r := rate(c, "neutral joint"); r.Found != 2 || r.Places != 5 || r.Before != 0.012 || math.Abs(r.After-(20*0.012+2)/25) > 1e-12 {
		t.Errorf("two of five: %+v", r)
	}
	if r := rate(c, "cpc joint"); r.Found != 0 || math.Abs(r.After-20*0.012/25) > 1e-12 || len(c.Left) != 1 || !strings.Contains(c.Left[0], "line 4") {
		t.Errorf("what was not put right: %+v, left %q", r, c.Left)
	}
	if heavy, err := count(head+"job 1,neutral joint,CP1,yes\n", 1e6); err != nil || math.Abs(rate(heavy, "neutral joint").After-0.012) > 1e-5 {
		t.Errorf("a weight that nothing moves: %v", err)
	}
	p, err := ReadPriors(c.Table)
	if err != nil || !strings.HasPrefix(c.Table, "# Rates counted at 5 jobs, 2 found and put right.") || !strings.Contains(c.Table, "count for 20 places") {
		t.Fatalf("the table: %v\n%.300s", err, c.Table)
	}
	// The rates are used, and the answer says where they are from.
	odd := modelOf(t, oneCircuit(flat(6), 25, 0.2, func(j *job.Job) { j.Readings = []works.Reading{take("CP1", "R1+Rn", "0.62 Ω", "")} }))
	share := func(p Priors) (of float64, said string) {
		e, err := Explain(odd, p)
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range e.Causes {
			if c.Key == "neutral joint" {
				return c.Probability, c.Source + "\n" + strings.Join(e.Flags, "\n")
			}
		}
		return 0, strings.Join(e.Flags, "\n")
	}
	before, _ := share(UsualPriors())
	after, said := share(p)
	if !(after > before) || !strings.Contains(said, "2 at 5 places") || !strings.Contains(said, "rates are not the program's own") {
		t.Errorf("counted, a loose neutral goes from %.3f to %.3f; it says %q", before, after, said)
	}
	for text, says := range map[string]string{
		"job,cause,at\njob 1,neutral joint,CP1\n":                             `a column called "put right" is wanted`,
		head + "job 9,neutral joint,CP1,yes\n":                                `found.csv:2: job is "job 9": no job that is counted is called so; the nearest is job`,
		head + "job 1,neutral joint,CP1,yes\njob 1,loose neutral,CP1,yes\n":   `found.csv:3: cause is "loose neutral": no cause is called so`,
		head + "job 1,neutral joint,CP2,yes\n":                                `found.csv:2: at is "CP2": it cannot be there; the nearest is CP1`,
		head + "job 1,dry electrode,supply,yes\n":                             `found.csv:2: at is "supply": it cannot be there; by its record`,
		head + "job 1,neutral joint,CP1,perhaps\n":                            `found.csv:2: put right is "perhaps"`,
		head + "job 1,neutral joint,CP1,yes\n\njob 1,neutral joint,CP1,yes\n": `found.csv:4: at is "CP1": neutral joint there is counted on line 2 already`,
		head + "job 1,neutral joint,CP1,yes\njob 1,neutral joint,CP1,yes,x\n": "found.csv:3: ",
	} {
		if _, err := count(text, 20); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%q says %v, want %q", text, err, says)
		}
	}
	if _, err := count(head, 0); err == nil || !strings.Contains(err.Error(), "above zero") {
		t.Errorf("a weight of nothing: %v", err)
	}
	if _, err := CountRates(append(jobs, jobs[0]), "found.csv", strings.NewReader(head), 20); err == nil || !strings.Contains(err.Error(), "two jobs are called") {
		t.Errorf("one job twice: %v", err)
	}
}
