package design

import (
	"math"
	"strings"
	"testing"

	"chargewright/finding"
	"chargewright/job"
	"chargewright/model"
	"chargewright/standard"
)

// yard is an invented yard on three lines: a sub-board with a pump, a point that
// its limiter holds and one that it does not.
const yard = `job: Yard
invented: yes
site: {premises: workplace, nation: England, temperature: 20 °C}
supply:
  earthing: TN-S
  phases: 3
  voltage: 230 V
  private: no
  cut-out: {type: BS 88-3, rating: 100 A}
  Ze: 0.30 Ω (measured)
  Ipf: 1.5 kA (measured)
  looped: no
  unmetered: no
  service equipment: sound
  generation or storage: no
  agreed capacity: 90 A
  maximum demand: {value: 40 A, known by: measured, who: A. Spark, when: 2026-11-20}
notification: {feeds back: no}
boards:
  - {name: main, fed from: supply, phases: 3}
  - {name: yard, phases: 3, all loads entered: yes}
loads:
  - {name: pump, board: yard, phases: L1, kind: motor, current: 10 A}
circuits:
  - {name: feeder, from: main, to: yard, phases: L1 L2 L3, device: {type: BS 88-2 gG, rating: 63 A}}
  - {name: way 1, from: yard, to: CP1, phases: L1, device: {type: BS EN 61009 type B, rating: 40 A}}
  - {name: way 2, from: yard, to: CP2, phases: L1, device: {type: BS EN 61009 type B, rating: 20 A}}
points:
  - {name: CP1, current: 32 A, phases: 1, limiter: yard limiter}
  - {name: CP2, current: 16 A, phases: 1, limiter: none}
limiters:
  - {name: yard limiter, at: yard, limit: 50 A, fail-safe current: 10 A, clamp place: yard board, clamp phases: L1 L2 L3}
`

// row is a job changed, and what one requirement must then say.
type row struct {
	what, from, to string // several changes are told apart by a bar
	key, about     string
	want           finding.Verdict
	value          float64 // NaN where it does not matter
}

func changed(t *testing.T, text string, r row) findings {
	t.Helper()
	to := strings.Split(r.to, "|")
	for i, from := range strings.Split(r.from, "|") {
		if !strings.Contains(text, from) {
			t.Fatalf("%s: the job does not say %q", r.what, from)
		}
		text = strings.Replace(text, from, to[i], 1)
	}
	j, err := job.Read("job", []byte(text))
	if problems, _ := err.(job.Problems); err != nil {
		for _, p := range problems {
			if !p.Unfinished() {
				t.Fatalf("%s: %v", r.what, err)
			}
		}
	}
	rules, err := standard.Open(j.Edition)
	if err != nil {
		t.Fatal(err)
	}
	return Check(model.New(j, rules))
}

func hold(t *testing.T, text string, rows []row) {
	t.Helper()
	for _, r := range rows {
		f := changed(t, text, r).about(t, r.key, r.about)
		if f.Verdict != r.want || !math.IsNaN(r.value) && math.Abs(f.Value.Number-r.value) > 1e-9 {
			t.Errorf("%s: %s is %v with %v (%v), want %v with %v", r.what, r.key, f.Verdict, f.Value, f.Why, r.want, r.value)
		}
	}
}

// TestALimiterHoldsItsOwnPointsAlone: just inside and just outside of what each
// requirement of a limiter and of the demand asks (BS 7671 722.311: the limit of
// the load control may stand for what it controls, and for nothing else). The
// sums are first principles.
func TestALimiterHoldsItsOwnPointsAlone(t *testing.T) {
	const (
		meets, fails, open, judge = finding.Meets, finding.Fails, finding.NotKnown, finding.JudgeOnSite
		limit, way2               = "limit: 50 A", "{name: way 2, from: yard,"
		main, all                 = "fed from: supply, phases: 3", "fed from: supply, phases: 3, all loads entered: yes"
		cp2                       = "{name: CP2, current: 16 A"
	)
	hold(t, yard, []row{
		{"58 A behind a limit of 50 A", "", "", "design current", "feeder", meets, 50},
		{"a limit below what it cannot hold: pump and CP2 stay", limit, "limit: 20 A", "design current", "feeder", meets, 26},
		{"CP2 of 54 A is not held", "current: 16 A", "current: 54 A", "design current", "feeder", fails, 64},
		{"pump of 47 A is not held", "current: 10 A", "current: 47 A", "design current", "feeder", meets, 63},
		{"pump of 47.1 A is not held", "current: 10 A", "current: 47.1 A", "design current", "feeder", fails, 63.1},
		{"a point of unknown current is not held", "current: 32 A, ", "", "design current", "feeder", open, none},

		{"others of 26 A under 50 A", "", "", "limiter reach", "yard", meets, 26},
		{"others at the limit", limit, "limit: 26 A", "limiter reach", "yard", meets, 26},
		{"others above the limit", limit, "limit: 25.9 A", "limiter reach", "yard", fails, 26},
		{"loads of the board not said to be all", "all loads entered: yes", "all loads entered: no", "limiter reach", "yard", open, none},
		{"its place is not said", "at: yard, ", "", "limiter reach", "yard", open, none},

		{"fail-safe beside pump and CP2", "fail-safe current: 10 A", "fail-safe current: 24 A", "limiter fail-safe", "yard", meets, 24},
		{"fail-safe above what they leave", "fail-safe current: 10 A", "fail-safe current: 24.1 A", "limiter fail-safe", "yard", fails, 24.1},

		{"limit at the feeder's device", limit, "limit: 63 A", "limiter setting", "yard", meets, 63},
		{"limit above it", limit, "limit: 63.1 A", "limiter setting", "yard", fails, 63.1},
		{"its place is not said", "at: yard, ", "", "limiter setting", "yard", open, none},
		{"at the supply, within the agreed capacity", "at: yard|" + limit, "at: supply|limit: 90 A", "limiter setting", "yard", meets, 90},
		{"at the supply, above it", "at: yard|" + limit, "at: supply|limit: 90.1 A", "limiter setting", "yard", fails, 90.1},
		{"at the supply, whether a capacity is agreed is not said", "at: yard|  agreed capacity: 90 A\n", "at: supply|", "limiter setting", "yard", open, none},
		{"at the supply, the fuse is not known", "at: yard|, rating: 100 A", "at: supply|", "limiter setting", "yard", open, none},

		{"every line of its points has a clamp", "clamp phases: L1 L2 L3", "clamp phases: L1", "limiter clamp", "yard", meets, none},
		{"a line without one", "clamp phases: L1 L2 L3", "clamp phases: L2", "limiter clamp", "yard", fails, none},
		{"the line of its point is not known", "to: CP1, phases: L1,|clamp phases: L1 L2 L3", "to: CP1,|clamp phases: L2", "limiter clamp", "yard", open, none},
		{"whether a point is under it is not said", "limiter: none", "limiter:", "limiter clamp", "yard", open, none},
		{"nothing is under it", "phases: 1, limiter: yard limiter", "phases: 1, limiter: none", "limiter clamp", "yard", open, none},
		{"its point is fed elsewhere", "{name: way 1, from: yard", "{name: way 1, from: main", "limiter clamp", "yard", fails, none},

		{"both points on 40 A", "", "", "supply demand", "supply", meets, 88},
		{"a limit holds CP1 alone", limit, "limit: 30 A", "supply demand", "supply", meets, 70},
		{"at the cut-out", "value: 40 A", "value: 52 A", "supply demand", "supply", meets, 100},
		{"above the cut-out", "value: 40 A", "value: 52.1 A", "supply demand", "supply", fails, 100.1},
		{"a limiter at the supply holds CP1 alone", "at: yard|" + limit + "|" + cp2, "at: supply|limit: 80 A|{name: CP2, current: 45 A", "supply demand", "supply", meets, 85},
		{"a line without a clamp is not held", limit + "|clamp phases: L1 L2 L3", "limit: 30 A|clamp phases: L2", "supply demand", "supply", meets, 88},
		{"CP2 begins at no board", way2, "{name: way 2,", "supply demand", "supply", meets, 88},
		{"the feeder begins at no board", "{name: feeder, from: main,", "{name: feeder,", "supply demand", "supply", meets, 88},
		{"CP2 may be behind the feeder", way2, "{name: way 2,", "design current", "feeder", open, none},
		{"CP2 has no circuit yet", "to: CP2", "to:", "design current", "feeder", open, none},
		{"the pump is on no board", "board: yard, ", "", "design current", "feeder", open, none},
		{"the line of CP2 is not known", "to: CP2, phases: L1,", "to: CP2,", "supply demand", "supply", open, none},
		{"the phases of the supply are not known", "  phases: 3\n  voltage", "  voltage", "supply demand", "supply", open, none},
		{"at the agreed capacity", "value: 40 A", "value: 42 A", "agreed capacity", "supply", meets, 90},
		{"above it", "value: 40 A", "value: 42.1 A", "agreed capacity", "supply", fails, 90.1},
		{"whether one is agreed is not said", "  agreed capacity: 90 A\n", "", "agreed capacity", "supply", open, none},
		{"none is agreed", "  agreed capacity: 90 A\n", "  capacity agreed: no\n", "agreed capacity", "supply", meets, none},

		{"measured, dated, by somebody", "", "", "demand known", "supply", meets, 40},
		{"by nobody", ", who: A. Spark", "", "demand known", "supply", open, none},
		{"at no time", ", when: 2026-11-20", "", "demand known", "supply", open, none},
		{"nobody knows how", "known by: measured, ", "", "demand known", "supply", open, none},
		{"10 A of loads, said to be all", "value: 40 A|" + main, "value: 10 A|" + all, "demand known", "supply", meets, 10},
		{"more was found than all loads in full", "value: 40 A|" + main, "value: 10.1 A|" + all, "agree demand", "supply", judge, none},
		{"assumed", "known by: measured", "known by: assumed", "demand known", "supply", judge, none},
		{"the loads entered are all, and all is behind the limiter", "  maximum demand: {value: 40 A, known by: measured, who: A. Spark, when: 2026-11-20}\n|" + main, "|" + all, "supply demand", "supply", meets, 50},
		{"the loads entered are not said to be all", "  maximum demand: {value: 40 A, known by: measured, who: A. Spark, when: 2026-11-20}\n", "", "supply demand", "supply", open, none},
	})
}

// TestTheOperatorIsAskedFirst: just inside and just outside of what the network
// operators' form lets pass with a notice afterwards.
func TestTheOperatorIsAskedFirst(t *testing.T) {
	const (
		meets, open, judge = finding.Meets, finding.NotKnown, finding.JudgeOnSite
		cp1, value         = "{name: CP1, current: 32 A", "value: 40 A"
		home               = "premises: dwelling"
	)
	hold(t, yard, []row{
		{"within everything", "", "", "notification", "network", meets, none},
		{"at the agreed capacity", value, "value: 42 A", "notification", "network", meets, none},
		{"above it", value, "value: 42.1 A", "notification", "network", judge, none},
		{"whether one is agreed is not said", "  agreed capacity: 90 A\n", "", "notification", "network", open, none},
		{"60 A at a dwelling", "premises: workplace|" + value, home + "|value: 12 A", "notification", "network", meets, none},
		{"60.1 A at a dwelling", "premises: workplace|" + value, home + "|value: 12.1 A", "notification", "network", judge, none},
		{"a point of more than 32 A in a line", cp1, "{name: CP1, current: 32.1 A", "notification", "network", judge, none},
		{"unmetered", "unmetered: no", "unmetered: yes", "notification", "network", judge, none},
		{"unmetered or not is not said", "  unmetered: no\n", "", "notification", "network", open, none},
		{"looped or not is not said", "  looped: no\n", "", "notification", "network", open, none},
		{"a vehicle feeds back", "feeds back: no", "feeds back: yes", "notification", "network", judge, none},
		{"whether one feeds back is not said", "notification: {feeds back: no}\n", "", "notification", "network", open, none},
		{"a battery is on site", "  generation or storage: no\n", "  other sources: [battery]\n", "notification", "network", judge, none},
		{"something is on site", "generation or storage: no", "generation or storage: yes", "notification", "network", judge, none},
		{"whether anything is on site is not said", "  generation or storage: no\n", "", "notification", "network", open, none},
		{"demand not known", "{name: CP1, current: 32 A, ", "{name: CP1, ", "notification", "network", open, none},
	})
}

// TestThePolarityOfTheSupply: BS 7671 643.6 and 132.14.1, a switch in the neutral alone.
func TestThePolarityOfTheSupply(t *testing.T) {
	const at = "  voltage: 230 V\n"
	hold(t, yard, []row{
		{"as marked", at, at + "  polarity confirmed: yes\n", "supply polarity", "supply", finding.Meets, none},
		{"exchanged", at, at + "  polarity confirmed: no\n", "supply polarity", "supply", finding.Fails, none},
		{"nobody looked", "", "", "supply polarity", "supply", finding.NotKnown, none},
	})
}

// TestZeOfAPrivateSupply: what network operators declare (EREC P23/1, 0.8 Ω for
// TN-S) binds their own supplies, and no site's transformer.
func TestZeOfAPrivateSupply(t *testing.T) {
	hold(t, yard, []row{
		{"as declared", "0.30 Ω", "0.80 Ω", "supply Ze", "supply", finding.Meets, 0.8},
		{"above it", "0.30 Ω", "0.81 Ω", "supply Ze", "supply", finding.Fails, 0.81},
		{"above it behind a transformer of the site's own", "0.30 Ω|private: no", "0.81 Ω|private: yes", "supply Ze", "supply", finding.Meets, 0.81},
		{"whose it is is not said", "0.30 Ω|  private: no\n", "0.81 Ω|", "supply Ze", "supply", finding.Fails, 0.81},
	})
}

// flat is an invented flat behind a sub-main: 32 A of cooker and 25 A of heaters
// beside a point of 16 A, on a supply of one line. By IET On-Site Guide Table A2
// the cooker counts 10 + 0.3 × 22 = 16.6 A and the two heaters together
// 10 + 0.5 × 15 = 17.5 A: 50.1 A with the point in full.
const flat = `job: Flat
invented: yes
site: {premises: flats}
supply:
  earthing: TN-S
  phases: 1
  voltage: 230 V
  cut-out: {type: BS 88-3, rating: 80 A}
  maximum demand: {value: 60 A, known by: declared, who: A. Owner, when: 2026-11-20}
boards:
  - {name: riser, fed from: supply, phases: 1}
  - {name: flat, phases: 1, all loads entered: yes}
loads:
  - {name: cooker, board: flat, phases: L1, kind: cooking, current: 32 A}
  - {name: bedroom heater, board: flat, phases: L2, kind: heating and power, current: 15 A}
  - {name: hall heater, board: flat, phases: L1, kind: heating and power, current: 10 A}
circuits:
  - {name: sub-main, from: riser, to: flat, phases: L1, device: {type: BS 88-2 gG, rating: 63 A}}
  - {name: way 1, from: flat, to: CP1, phases: L2, device: {type: BS EN 61009 type B, rating: 20 A}}
points:
  - {name: CP1, current: 16 A, phases: 1}
`

// TestTheSubMainOfAFlatMayBeDiversified: the points in full, the loads beside
// them by the published allowances; and on one line everything is in that line,
// whatever the record calls it.
func TestTheSubMainOfAFlatMayBeDiversified(t *testing.T) {
	text := strings.Replace(flat, "premises: flats", "premises: dwelling", 1)
	entered := func(i string) string { return "phases: L1, design current: " + i + ", device: {type: BS 88-2" }
	const sub = "phases: L1, device: {type: BS 88-2"
	hold(t, text, []row{
		{"all at once: one line carries it all", "", "", "design current", "sub-main", finding.Fails, 73},
		{"L2 on a supply of one line", "", "", "supply demand", "supply", finding.Meets, 76},
		{"as the allowances have it", sub, entered("50.1 A"), "no diversity", "sub-main", finding.Meets, 50.1},
		{"less", sub, entered("50 A"), "no diversity", "sub-main", finding.JudgeOnSite, 50},
		{"the points alone", sub, entered("16 A"), "no diversity", "sub-main", finding.JudgeOnSite, 16},
		{"less than the points", sub, entered("15.9 A"), "no diversity", "sub-main", finding.Fails, 15.9},
		{"all in full", sub, entered("73 A"), "no diversity", "sub-main", finding.Meets, 73},
		{"premises not said", sub + "|site: {premises: dwelling}\n", entered("50.1 A") + "|", "no diversity", "sub-main", finding.NotKnown, none},
	})
	f := changed(t, text, row{}).about(t, "design current", "sub-main")
	if !strings.Contains(f.Next, "design current") || !strings.Contains(f.Next, "50.1 A") {
		t.Errorf("the sub-main of 73 A says %q: not how to enter what it comes to after diversity", f.Next)
	}
}
