package paper

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"chargewright/design"
	"chargewright/finding"
	"chargewright/job"
	"chargewright/model"
	"chargewright/prove"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/trade"
	"chargewright/works"
)

var made = time.Date(2026, 11, 25, 14, 5, 0, 0, time.UTC)

// packed is a job with all that goes on its papers.
type packed struct {
	name string
	m    *model.Model
	fs   []finding.Finding
	es   []prove.Expectation
}

// examples is the example jobs, sound and faulty, and the record of the yard.
func examples(t testing.TB) []packed {
	t.Helper()
	files, err := filepath.Glob("../examples/*/*.yaml")
	if err != nil || len(files) == 0 {
		t.Fatalf("no example jobs under ../examples: %v", err)
	}
	var out []packed
	for _, f := range append(files, "../job/testdata/yard.yaml") {
		text, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		if j, _ := job.Read(f, text); j != nil { // a faulty file still holds what could be read
			out = append(out, of(t, filepath.Base(filepath.Dir(f))+" "+filepath.Base(f), j))
		}
	}
	return out
}

// example is one example job, by folder and file: "pool job.yaml".
func example(t testing.TB, name string) packed {
	t.Helper()
	folder, file, _ := strings.Cut(name, " ")
	path := filepath.Join("../examples", folder, file)
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	j, _ := job.Read(path, text)
	if j == nil {
		t.Fatalf("%s cannot be read", path)
	}
	return of(t, name, j)
}

func of(t testing.TB, name string, j *job.Job) packed {
	t.Helper()
	rules, err := standard.Open(j.Edition)
	if err != nil {
		t.Fatal(err)
	}
	m := model.New(j, rules)
	return packed{name, m, design.Check(m), prove.Expect(m)}
}

// manyCircuits is an invented job of n circuits with legs of many lengths.
func manyCircuits(t testing.TB, n int) packed {
	j := &job.Job{Name: "a long row of bays", Invented: true, Supply: works.Supply{Voltage: quantity.Known(quantity.Volts(230)), Phases: quantity.Known(3)},
		Boards: []works.Board{{Name: "row board", FedFrom: "supply"}}}
	for i := range n {
		point := fmt.Sprintf("bay %d", i+1)
		j.Points = append(j.Points, works.Point{Name: point, Power: quantity.Known(quantity.Watts(7400)), Phases: quantity.Known(1)})
		j.Circuits = append(j.Circuits, works.Circuit{Name: fmt.Sprintf("row %d", i+1), From: "row board", Way: fmt.Sprint(i + 1), To: point,
			Device: works.Device{Rating: quantity.Known(quantity.Amperes(32 + i%3*8))},
			Legs:   []works.Leg{{Length: quantity.Known(quantity.Metres(5 + i))}}})
	}
	return of(t, "many circuits", j)
}

// strained is an invented job with long names, some without a space and some
// in letters the typeface lacks.
func strained(t testing.TB) packed {
	word := strings.Repeat("Llanfairpwllgwyngyll", 6)
	long := strings.TrimSpace(strings.Repeat("the far corner of the lower staff car park ", 4))
	j := &job.Job{Name: long + " 点 🔌", Invented: true, Site: works.Site{Address: word, Client: long}, Instruments: []works.Instrument{{Name: word, Serial: long}},
		Supply:   works.Supply{Bonding: []works.Bonding{{To: word}}, OtherSources: []string{word, long}},
		Boards:   []works.Board{{Name: word, FedFrom: "supply", Place: long}},
		Circuits: []works.Circuit{{Name: long, From: word, Way: word, To: word + " 点", Legs: []works.Leg{{Name: word}, {Name: long}}}},
		Points:   []works.Point{{Name: word + " 点", Limiter: word, Mounting: works.Mounting{Place: long}}},
		Limiters: []works.Limiter{{Name: word, At: "supply", Clamp: long}}}
	return of(t, "strained", j)
}

// byHand is a small job with findings and expectations written here, so that
// golden files change only when a paper does.
func byHand(t testing.TB) packed {
	j := &job.Job{Name: "Hand-made job", Invented: true, Edition: standard.DefaultEdition(), Stage: "design",
		Site: works.Site{Client: "nobody (invented)", Address: "1 Invented Yard\nNowhere", Premises: quantity.Known(trade.Workplace), Nation: "England"},
		Supply: works.Supply{Earthing: quantity.Known(trade.TNCS), Phases: quantity.Known(1), Voltage: quantity.Known(quantity.Volts(230)),
			Ze: works.Stated[quantity.Ohms]{Value: quantity.Known(quantity.Ohms(0.35)), KnownBy: quantity.Known(trade.Assumed), Reason: "the network operator usually declares it"}},
		Boards: []works.Board{{Name: "main board", FedFrom: "supply"}},
		Circuits: []works.Circuit{{Name: "van point", From: "main board", Way: "7", To: "CP1", Phases: quantity.Known(trade.L1),
			Device: works.Device{Type: quantity.Known(standard.RCBOB), Rating: quantity.Known(quantity.Amperes(32))},
			RCD:    works.RCD{Type: quantity.Known(trade.TypeA), Residual: quantity.Known(quantity.Amperes(0.03))},
			Cable:  works.Cable{CSA: quantity.Known(quantity.SquareMillimetres(6))},
			Legs:   []works.Leg{{Name: "loft", Length: quantity.Known(quantity.Metres(11)), LengthKnown: quantity.Known(trade.Assumed)}}}},
		Points: []works.Point{{Name: "CP1", Power: quantity.Known(quantity.Watts(7400)), Phases: quantity.Known(1), Public: quantity.Known(false), Limiter: "main limit",
			Earthing: works.PointEarthing{Measure: quantity.Known(trade.OpenPENDetection)}, OpenPEN: quantity.Known(trade.MeasuresWindow)}},
		Limiters: []works.Limiter{{Name: "main limit", At: "supply", Limit: quantity.Known(quantity.Amperes(80)), Clamp: "on the tails"}},
	}
	rules, err := standard.Open(j.Edition)
	if err != nil {
		t.Fatal(err)
	}
	m := model.New(j, rules)
	amps := func(n float64) finding.Amount { return finding.Of(n, measure{"A"}) }
	ohms := func(n float64) finding.Amount { return finding.Of(n, measure{"Ω"}) }
	fs := []finding.Finding{
		{Key: "supply Ze", Clause: finding.Clause{Name: "313.1", Wiring: true}, Path: "supply", Subject: "supply", What: "Ze is established and no higher than declared for the system", Value: ohms(0.35), Limit: ohms(0.35), Margin: ohms(0), Verdict: finding.Meets,
			Why: finding.Say("assumed"), Source: func() []finding.Source {
				return []finding.Source{{Place: "Book A, Table 1", Doubt: "from A2:2022, not checked against A4:2026; from memory"}, {Place: "Book B, page 2"},
					{Place: "common practice, heights", Doubt: "common practice, no source"}}
			}},
		{Key: "limiter setting", Clause: finding.Clause{Name: "722.311", Wiring: true}, Path: "limiters/main limit", Subject: "limiter main limit", What: "limit is no higher than what it protects carries", Value: amps(80), Verdict: finding.NotKnown, Lacks: finding.Lacks{{What: "rating of the cut-out fuse"}},
			Why: finding.Say("not known: rating of the cut-out fuse"), Next: "find out and enter: rating of the cut-out fuse"},
		{Key: "design current", Clause: finding.Clause{Name: "433.1.1", Wiring: true}, Path: "circuits/van point", Subject: "circuit van point", What: "device carries the design current: Ib ≤ In", Value: amps(32), Limit: amps(32), Margin: amps(0), Verdict: finding.Meets, Why: finding.Say("CP1: 32 A"),
			Source: finding.From("Book A, Table 1", "from A2:2022, not checked against A4:2026; from memory")},
		{Key: "cable rating", Clause: finding.Clause{Name: "433.1.1", Wiring: true}, Path: "circuits/van point/legs/loft", Subject: "circuit van point, leg 1 (loft)", Part: "leg 1 (loft)", What: "cable carries what its device lets through: In ≤ Iz", Value: amps(32), Limit: amps(27), Margin: amps(-5), Verdict: finding.Fails,
			Why: finding.Say("Iz 27 A = 35 A × 0.77"), Next: "take the next size, or lay it cooler"},
		{Key: "disconnection", Clause: finding.Clause{Name: "411.4.4", Wiring: true}, Path: "circuits/van point", Subject: "circuit van point", What: "fault is disconnected in time", Value: ohms(0.9), Limit: ohms(1.37), Margin: ohms(0.47), Verdict: finding.Meets, Why: finding.Say("√(I²t) stays in bounds; 2.5 mm² cpc")},
		{Key: "volt drop", Clause: finding.Clause{Name: "525.1", Wiring: true}, Path: "circuits/van point", Subject: "circuit van point", What: "volt drop from the origin to the point of use", Verdict: finding.NotKnown, Next: "find out and enter: method of leg 1", WaitsOn: "cable rating"},
		{Key: "isolation", Clause: finding.Clause{Name: "462.1", Wiring: true}, Subject: "installation", What: "every point can be isolated for work and locked off", Verdict: finding.JudgeOnSite, Why: finding.Say("a matter of position and access"), Next: "see that it can"},
	}
	es := []prove.Expectation{
		{Reading: "R1+R2", At: "CP1", Stage: "dead", Order: 1, Low: ohms(0.16), Mid: ohms(0.19), High: ohms(0.22), Clause: finding.Clause{Name: "643.2", Wiring: true}, Means: "9.7 mΩ per metre of this cable",
			How: "low-resistance ohmmeter, leads nulled", Caution: "isolated, locked off and proved dead", Taken: "0.18 Ω"},
		{Reading: "insulation live to earth", At: "CP1", Stage: "dead", Order: 2, Low: ohms(100e6), Limit: ohms(1e6), LimitIs: "at least", How: "500 V d.c.", Caution: "proved dead"},
		{Reading: "Zs", At: "CP1", Stage: "live", Order: 3, Limit: ohms(1.09), LimitIs: "at most", How: "loop tester", Caution: "live working", Missing: finding.Cannot("supply: Ze measured")},
		{Reading: "polarity", At: "CP1", Stage: "live", Order: 4, How: "loop tester", Caution: "live working", Means: "correct, or not correct: there is no number"},
	}
	return packed{"by hand", m, fs, es}
}

// measure prints plain numbers with a unit.
type measure struct{ unit string }

func (m measure) Show(n float64) string {
	if m.unit == "Ω" {
		return quantity.Ohms(n).String()
	}
	return quantity.Amperes(n).String()
}
func (m measure) Unit() string { return m.unit }
