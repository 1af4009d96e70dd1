package demand

import (
	"bytes"
	"encoding/json"
	"math"
	"os"
	"strings"
	"testing"
	"time"

	"chargewright/finding"
	"chargewright/invent"
	"chargewright/model"
	"chargewright/quantity"
	"chargewright/standard"
)

// TestAVehicleCountsOnce: without a limiter a point is no load of the house
// besides being a point (first principles), and load control is not spoken of.
func TestAVehicleCountsOnce(t *testing.T) {
	text, err := os.ReadFile("../examples/terrace/job.yaml")
	if err != nil {
		t.Fatal(err)
	}
	free := strings.Replace(string(text), "    limiter: house limiter\n", "    limiter: none\n", 1)
	free = free[:strings.Index(free, "limiters:")]
	m := modelOf(t, free)
	s := Prepare(m, Plan{Start: monday, Step: time.Minute, Length: 7 * 24 * time.Hour})
	if len(s.Lacks) > 0 {
		t.Fatal(s.Lacks)
	}
	sc, err := s.Scenario(1)
	if err != nil {
		t.Fatal(err)
	}
	e := bySimulation(m, s.Sum([]runOutcome{s.Keep(mustRun(t, sc))}, 1))
	points := m.SupplyDemand().Points.Greatest()
	if others := e.Existing.Greatest(); others > 46 || others < 20 || math.Abs(float64(e.InFull.Greatest()-others-points)) > 0.01 || math.Abs(float64(e.Held.Greatest()-e.InFull.Greatest())) > 0.01 {
		t.Errorf("existing %v of at most 46 A, in full %v, held %v: the point of %v counts once", e.Existing, e.InFull, e.Held, points)
	}
	for _, limit := range []quantity.Amperes{70, 100} {
		m.Job.Supply.CutOut.Rating = quantity.Known(limit)
		if f := e.Finding(m); strings.Contains(f.Why.String(), "load control") {
			t.Errorf("at %v: %v, of a job that has no load control", limit, f.Why)
		}
	}
	held := modelOf(t, string(text))
	if f := byMeasurement(held, nil).Finding(held); f.Verdict != finding.Meets || strings.Contains(f.Why.String(), "load control") {
		t.Errorf("78 A in full behind 80 A: %v, %v: it needs no load control", f.Verdict, f.Why)
	}
}

// TestNeverIsAWord: JSON has no infinity, and below zero is no time.
func TestNeverIsAWord(t *testing.T) {
	for late, want := range map[quantity.Seconds]string{
		quantity.Seconds(math.Inf(1)): `"late":null,"back":"over 100 A as long as it was watched"`,
		8:                             `"late":8,"back":"back under 100 A after 8 s"`,
	} {
		got, err := json.Marshal(Proof{Worst: &Trace{Holds: 100, Late: late}})
		if err != nil || !bytes.Contains(got, []byte(want)) {
			t.Errorf("late by %v: %s, %v, want %s", float64(late), got, err, want)
		}
	}
}

// TestNoAnswerIsEndless: of limiters with any facts the record can hold, what is
// said has no infinity and nothing that is no number.
func TestNoAnswerIsEndless(t *testing.T) {
	jobs := 60
	if testing.Short() {
		jobs = 15
	}
	proved := 0
	for seed := range jobs {
		j, _, _ := invent.Read(invent.Job(invent.Rand(uint64(700+seed)), invent.Options{Boards: 2, Points: 3, Wild: 0.1 * float64(seed%3)}))
		rules, err := standard.Open(j.Edition)
		if err != nil {
			t.Fatal(err)
		}
		m := model.New(j, rules)
		proofs, found := ProveAll(m)
		said, err := json.Marshal(ReportLimits(m, proofs, found, nil, nil))
		if err != nil {
			t.Fatalf("job %d: %v", seed, err)
		}
		for _, f := range found {
			said = append(said, f.Why.String()+f.Next+f.Value.String()+f.Margin.String()...)
		}
		if bytes.Contains(said, []byte("Inf")) || bytes.Contains(said, []byte("NaN")) {
			t.Errorf("job %d: %s", seed, said)
		}
		proved += len(found)
	}
	if proved < jobs {
		t.Errorf("%d findings in %d jobs", proved, jobs)
	}
}

// TestAFuseWithoutACurveLeavesHeatAlone: the heat is not known, and every other
// question is answered.
func TestAFuseWithoutACurveLeavesHeatAlone(t *testing.T) {
	text, err := os.ReadFile("../examples/bakery/job.yaml")
	if err != nil {
		t.Fatal(err)
	}
	m := modelOf(t, string(text))
	m.Job.Supply.CutOut.Type = quantity.Known(m.Job.Supply.CutOut.Type.Or("") + " of a kind nobody tabled")
	s := Prepare(m, Plan{Start: monday, Step: time.Minute, Length: 24 * time.Hour})
	if len(s.Lacks) > 0 {
		t.Fatal(s.Lacks)
	}
	sc, err := s.Scenario(1)
	if err != nil {
		t.Fatal(err)
	}
	r := mustRun(t, sc)
	if f := s.HeatFinding(r); f.Verdict != finding.NotKnown || len(f.Lacks) == 0 || f.Lacks[0].Path != "supply/cut-out/type" {
		t.Errorf("the heat in a fuse without a curve: %v, lacking %v", f.Verdict, f.Lacks)
	}
	if r.Peak.Greatest() <= 0 {
		t.Error("nothing else was answered")
	}
	others := 0
	for _, f := range Prove(m, m.SupplyLimiter()).Findings {
		if f.Verdict != finding.NotKnown {
			others++
		} else if f.Key != "limiter excursion" {
			t.Errorf("%s is not known: %v", f.Key, f.Why)
		}
	}
	if others < 5 {
		t.Errorf("only %d other answers", others)
	}
}
