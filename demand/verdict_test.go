package demand

import (
	"fmt"
	"math"
	"os"
	"strings"
	"testing"
	"time"

	"chargewright/finding"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/works"
)

// second is another van point on L2 of the yard board, under the same limiter.
const second = `
  - name: second van point
    from: yard board
    way: 4
    to: CP2
    phases: L2

points:
  - {name: CP2, power: 7.4 kW, phases: 1, limiter: van limiter, least current: 6 A}
`

// TestEachFaultHasItsVerdict changes one fact of the bakery's limiter and
// wants that verdict changed.
func TestEachFaultHasItsVerdict(t *testing.T) {
	text, err := os.ReadFile("../examples/bakery/job.yaml")
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		from, to string
		key      string
		want     finding.Verdict
	}{
		{"clamp error: 2 %", "clamp error: 10 %", "limiter settles", finding.Fails},
		{"clamp error: 2 %", "clamp error: 10 %", "limiter response", finding.Fails},
		{"fail-safe current: 16 A", "fail-safe current: 32 A", "limiter fail-safe total", finding.Fails},
		{"notices a lost clamp: yes", "notices a lost clamp: no", "limiter dead clamp", finding.Fails},
		{"vehicle follows within: 5 s", "vehicle follows within: 2 s", "limiter vehicle time", finding.Fails},
		{"value: 71 A", "value: 120 A", "limiter cannot help", finding.Fails},
		{"samples every: 1 s", "samples every: 10 s", "limiter operator", finding.JudgeOnSite},
		{"samples every: 1 s", "samples every: 60 s", "limiter operator", finding.Fails},
		{"lost-signal time-out: 2 s", "lost-signal time-out: 20 s", "limiter loss", finding.Fails},
		{"response time: 10 s", "response time: 7 s", "limiter response", finding.Fails},
		{"response time: 10 s", "response time: 8 s", "limiter response", finding.Meets},
		{"\npoints:\n", second, "limiter hands over", finding.Meets},
		{"waits before raising: 60 s", "waits before raising: 60 s", "limiter hands over", finding.Verdict(99)},
	} {
		if !strings.Contains(string(text), tt.from) {
			t.Fatalf("the job does not say %q", tt.from)
		}
		m := modelOf(t, strings.Replace(string(text), tt.from, tt.to, 1))
		p := Prove(m, m.SupplyLimiter())
		if got := verdict(p, tt.key); got != tt.want {
			t.Errorf("%q for %q: %s: %v, want %v", tt.to, tt.from, tt.key, got, tt.want)
		}
		for _, f := range p.Findings {
			if f.Clause.Name == "" || f.Source.String() == "" || f.Why.String() == "" || f.Verdict != finding.Meets && f.Next == "" {
				t.Errorf("%s: clause %q, source %q, why %q, next %q", f.Key, f.Clause, f.Source, f.Why, f.Next)
			}
		}
	}
	both := strings.Replace(strings.Replace(string(text), "\npoints:\n", second, 1), "waits before raising: 60 s", "waits before raising: 2 s", 1)
	m := modelOf(t, both)
	if p := Prove(m, m.SupplyLimiter()); verdict(p, "limiter hands over") != finding.Fails {
		t.Errorf("two points and a wait of 2 s: %v", verdict(p, "limiter hands over"))
	}
}

// TestHeatVerdicts: each outcome of the heat has its verdict.
func TestHeatVerdicts(t *testing.T) {
	rules, err := standard.Open("")
	if err != nil {
		t.Fatal(err)
	}
	fuse := standard.Device{Family: "BS 88-2 gG", Rating: 100}
	for _, tt := range []struct {
		what  string
		trace []Moment
		want  finding.Verdict
	}{
		{"90 A all day", []Moment{{Others: 90}, {At: 86400}}, finding.Meets},
		{"103 A for a minute", []Moment{{Others: 103}, {At: 60}}, finding.Meets},
		{"110 A for three hours", []Moment{{Others: 110}, {At: 3 * 3600}}, finding.Fails},
		{"290 A for 5 s, half the time it may operate in", []Moment{{Others: 290}, {At: 5}}, finding.JudgeOnSite},
		{"290 A for 20 s", []Moment{{Others: 290}, {At: 20}}, finding.Fails},
	} {
		h, err := Stress(rules, fuse, tt.trace, 1)
		if err != nil {
			t.Fatal(err)
		}
		if got := h.Finding(rules, works.TheCutOut); got.Verdict != tt.want {
			t.Errorf("%s: %v, want %v: %v", tt.what, got.Verdict, tt.want, got.Why)
		}
	}
}

// TestEstimates: the bakery's logger, held against its supply.
func TestEstimates(t *testing.T) {
	m := example(t, "job.yaml")
	text, err := os.ReadFile("../examples/bakery/logger.csv")
	if err != nil {
		t.Fatal(err)
	}
	log, err := ReadLog("logger.csv", text, Columns{}, Setting{Zone: zone(t, "Europe/London"), Volts: 230, Phases: 3})
	if err != nil {
		t.Fatal(err)
	}
	_, peak := log.Greatest()
	if peak.Current != 71 || log.Gaps != 12 || log.Longest != time.Hour {
		t.Errorf("greatest %v, %d intervals missing, the longest gap %v: want 71 A, 12, 1 h", peak.Current, log.Gaps, log.Longest)
	}
	e := byMeasurement(m, log)
	before, after := e.AfterDiversity()
	if math.Abs(float64(before[1]-61.567)) > 0.01 || after[1] != before[1]+32 || e.Finding(m).Verdict != finding.Meets {
		t.Errorf("before %v, after %v, %v", before, after, e.Finding(m).Verdict)
	}
	if e := byMeasurement(m, nil); !e.Known() || e.Existing != (Lines{71, 71, 71}) || !strings.Contains(e.Source.String(), "measured 2026-11-18 by A. Spark") {
		t.Errorf("without a recording the record's own measurement is %v, from %v", e.Existing, e.Source)
	}
	if best := Best(m, []Estimate{ByAllowance(m), e, {}}); best.Existing.Greatest() != 71 {
		t.Errorf("of the record's 71 A and a half-hour of 62 A, %v stands", best.Existing)
	}
	m.Job.Supply.Demand.Value = quantity.Maybe[quantity.Amperes]{}
	if e := byMeasurement(m, nil); e.Known() || e.Finding(m).Verdict != finding.NotKnown {
		t.Error("without a recording or a figure the measurement is known")
	}
	m.Job.Supply.Demand.Value = quantity.Known(quantity.Amperes(71))
	if e := ByAllowance(m); e.Known() {
		t.Error("9 A of recorded loads are taken for a demand of 71 A")
	}
	s := Prepare(m, Plan{Start: monday, Step: time.Minute, Length: 24 * time.Hour, Log: log})
	day, err := s.Day(1)
	if err != nil {
		t.Fatal(err)
	}
	r := mustRun(t, day)
	if len(r.Trace) != 1440 || r.Peak.Greatest() > 95*1.03 || r.Bays[0].Held == 0 {
		t.Errorf("the day of the peak: %d steps, peak %v, held %v", len(r.Trace), r.Peak, r.Bays[0].Held)
	}
	if got := bySimulation(m, s.Sum([]runOutcome{s.Keep(r)}, 1)); !got.Known() || got.Held.Greatest() > 95*1.03 {
		t.Errorf("simulated %+v", got)
	}
}

// TestToldInWords: loads one by one, waking, and the loss of the signal.
func TestToldInWords(t *testing.T) {
	m := modelOf(t, house)
	levels := tellLoads(m, limiterControl{Limit: 100}, bayFacts{On: [3]bool{true}, Most: 32, Least: 6})
	if len(levels) != 5 || levels[0].Given != 32 || math.Abs(float64(levels[4].Left+64.1)) > 1e-9 {
		t.Errorf("levels %v", levels)
	}
	if got := levels[2].String(); got != "with lights, ring 1, ring 2 on, others 70 A: 30 A for the vehicle, all that is left" {
		t.Errorf("told %q", got)
	}
	c := quick()
	if got := c.PowerUp(); !strings.Contains(got, "16 A until 3 s of readings are in") {
		t.Errorf("power-up: %q", got)
	}
	if got := c.Lost(71, 100); !strings.Contains(got, "for up to 9 s, then take 16 A together; with the other loads at 71 A that is 87 A of 100 A") {
		t.Errorf("lost: %q", got)
	}
	c.NoticesLoss = false
	if got := c.Lost(71, 100); !strings.Contains(got, "reads 0 A") {
		t.Errorf("lost unnoticed: %q", got)
	}
}

// TestHourlyMeansAreNoHalfHours: what a recording does not tell apart is judged by
// a person where it decides: means of an hour may hide a half-hour of twice as
// much, and lines recorded together one that carries all.
func TestHourlyMeansAreNoHalfHours(t *testing.T) {
	m := example(t, "job.yaml")
	record := func(every time.Duration, kWh float64) *Log {
		var text strings.Builder
		text.WriteString("time,energy kWh\n")
		for at := range 96 {
			fmt.Fprintf(&text, "%s,%g\n", time.Date(2026, 1, 12, 0, 0, 0, 0, time.UTC).Add(time.Duration(at)*every).Format("2006-01-02 15:04"), kWh)
		}
		log, err := ReadLog("record.csv", []byte(text.String()), Columns{}, Setting{Volts: 230, Phases: 3})
		if err != nil {
			t.Fatal(err)
		}
		return log
	}
	for _, tt := range []struct {
		name   string
		log    *Log
		want   finding.Verdict
		reason string
	}{
		{"a little, by the hour", record(time.Hour, 0.5), finding.Meets, ""},
		{"much, by the hour", record(time.Hour, 14), finding.JudgeOnSite, "means of 1 h are no half-hours; its 3 lines were recorded together"},
		{"much, by the half-hour", record(30*time.Minute, 10), finding.JudgeOnSite, "its 3 lines were recorded together"},
	} {
		f := byMeasurement(m, tt.log).Finding(m)
		if f.Verdict != tt.want || !strings.Contains(f.Why.String(), tt.reason) {
			t.Errorf("%s: %v: %v; want %v: …%s…", tt.name, f.Verdict, f.Why, tt.want, tt.reason)
		}
	}
}
