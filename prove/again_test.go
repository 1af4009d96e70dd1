package prove

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"chargewright/job"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/trade"
	"chargewright/works"
)

// TestWhatWasTakenAgainIsNoEvidence: whatever an earlier reading was, once the
// same was taken again the causes are those of the later one; where a person
// says that the earlier stands, it counts. Not a limit of ours: what was put
// right is no longer there.
func TestWhatWasTakenAgainIsNoEvidence(t *testing.T) {
	rules, err := standard.Open(standard.DefaultEdition())
	if err != nil {
		t.Fatal(err)
	}
	counted, n := 0, 24
	if testing.Short() {
		n = 8
	}
	for i := range n {
		truth, _ := newTruth(rand.New(rand.NewPCG(31, uint64(i))), i%2, rules, UsualPriors())
		truth.firstReadings()
		j := truth.job
		var of []int
		for k, r := range j.Readings {
			if q := kindOf(r.Reading); q != nil && !q.Seen() && !(ofLine(q.Kind) && severalLines(truth.model, r.At)) {
				of = append(of, k)
			}
		}
		k := of[truth.rand.IntN(len(of))]
		was := j.Readings[k]
		said := func(earlier string, beside bool) string {
			changed := *j
			changed.Readings = slices.Clone(j.Readings)
			changed.Readings[k].Value = earlier
			later := was
			if beside {
				later.Beside = quantity.Known(true)
			}
			changed.Readings = append(changed.Readings, later)
			e := explain(t, &changed)
			e.Readings, e.Flags, e.Excluded = nil, nil, nil // they tell of the earlier one
			out, err := json.Marshal(e)
			if err != nil {
				t.Fatal(err)
			}
			return string(out)
		}
		unit := was.Value[strings.LastIndex(was.Value, " ")+1:]
		other := fmt.Sprintf("%.3g %s", 0.01+3*truth.rand.Float64(), unit)
		if said(was.Value, false) != said(other, false) {
			t.Errorf("%s: %s at %s, taken again, was %s or %s before: the causes differ", truth.words(), was.Reading, was.At, was.Value, other)
		}
		if said(was.Value, true) != said(other, true) {
			counted++
		}
	}
	if counted < n/2 {
		t.Errorf("what is said to stand counts in %d of %d", counted, n)
	}
}

// TestPutRightIsSaid: a bad R1+R2 and R2, then good ones.
func TestPutRightIsSaid(t *testing.T) {
	j := example(t, "bakery/loose-earth.yaml")
	for _, r := range j.Readings {
		if value := map[string]string{"R1+R2": "0.15 Ω", "R2": "0.08 Ω"}[r.Reading]; value != "" {
			r.Value = value
			j.Readings = append(j.Readings, r)
		}
	}
	e := explain(t, j)
	if !e.Sound() || e.NextTest != nil && e.NextTest.Proof {
		t.Errorf("repaired and read again: %v, next %+v", causeKeys(e), e.NextTest)
	}
	said := strings.Join(e.Flags, "\n")
	for _, name := range []string{"R1+R2 at CP1 was 0.55 Ω and, taken again, is 0.15 Ω", "R2 at CP1 was 0.47 Ω and, taken again, is 0.08 Ω"} {
		if !strings.Contains(said, name+itProves) {
			t.Errorf("it is not said that %s: %s", name, said)
		}
	}
	if last := e.Readings[len(e.Readings)-1]; last.PutRight == "" || e.Readings[0].TakenAgain == "" {
		t.Errorf("put right %q, taken again %q", last.PutRight, e.Readings[0].TakenAgain)
	}
}

// TestSameTest holds what is the same test taken again, and what is another.
func TestSameTest(t *testing.T) {
	for _, tt := range []struct {
		reading, was, is string
		phases           int
		replaced         bool
	}{
		{"R1+R2", "", "leads nulled", 1, true},
		{"R1+R2", "leads not nulled", "leads nulled", 1, true},
		{"Zs", "no-trip", "high current", 1, false},
		{"Zs", "", "high current", 1, true},
		{"Zs", "high current L1", "high current L2", 3, false},
		{"Zs", "high current L2", "high current L2", 3, true},
		{"Zs", "", "", 3, false}, // of three lines that nobody named
		{"insulation live to earth", "500 V", "250 V", 1, false},
		{"insulation live to earth", "500 V", "500 V surge device out", 1, false},
		{"insulation live to earth", "", "500 V", 1, true},
		{"RCD time at IΔn", "positive half-wave", "negative half-wave", 1, false},
		{"pilot voltage in state B", "", "", 3, true},
	} {
		j := oneCircuit(cores(6, 6), 25, 0.2, func(j *job.Job) {
			j.Supply.Phases = quantity.Known(tt.phases)
			if tt.phases == 3 {
				j.Circuits[0].Phases = quantity.Known(trade.ThreePhase)
			}
			for _, f := range []string{tt.was, tt.is} {
				j.Readings = append(j.Readings, works.Reading{At: "CP1", Reading: tt.reading, Value: "1", Function: f})
			}
		})
		if got := Replaced(modelOf(t, j))[0] == 1; got != tt.replaced {
			t.Errorf("%s %q, then %q, %d phases: replaced %v", tt.reading, tt.was, tt.is, tt.phases, got)
		}
	}
}
