package commission

import (
	"fmt"
	"strings"
	"testing"

	"chargewright/finding"
	"chargewright/pilot"
	"chargewright/quantity"
	"chargewright/standard"
)

func checked(t *testing.T, current quantity.Amperes, seen pilot.Seen) map[string]finding.Finding {
	t.Helper()
	book, err := standard.Open(standard.DefaultEdition())
	if err != nil {
		t.Fatal(err)
	}
	found, err := CheckPilot(Intent{Point: "CP1", Current: quantity.Known(current), Phases: quantity.Known(1)}, seen, book)
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]finding.Finding{}
	for _, f := range found {
		out[f.Key] = f
	}
	return out
}

// TestPilotVerdicts holds measurements against IEC 61851-1 Annexes A and B.
func TestPilotVerdicts(t *testing.T) {
	v, p, o := quantity.Known[quantity.Volts], quantity.Known[quantity.Percent], quantity.Known[quantity.Ohms]
	for _, tt := range []struct {
		source  string
		current quantity.Amperes
		seen    pilot.Seen
		key     string
		want    finding.Verdict
		reason  string
	}{
		{"case D16: 12 V, 1 kΩ, diode 0.7 V, 2740 Ω gives 8.98 V: state B", 32, pilot.Seen{State: "B", High: v(8.98)}, "pilot level", finding.Meets, "state B, as set"},
		{"case D16: 882 Ω gives 5.99 V: state C", 32, pilot.Seen{State: "C", High: v(5.99)}, "pilot level", finding.Meets, "state C, as set"},
		{"case D16: 246 Ω gives 2.93 V: state D", 32, pilot.Seen{State: "D", High: v(2.93)}, "pilot level", finding.Meets, "state D, as set"},
		{"case D16: stays 8.98 V when C is asked: switched resistor open", 32, pilot.Seen{State: "C", High: v(8.98)}, "pilot level", finding.Fails, "state B; the simulator was set to C"},
		{"Table A.4: 7.5 V lies between B and C", 32, pilot.Seen{High: v(7.5)}, "pilot level", finding.Fails, "between the states"},
		{"Annex A: no diode shows -8.79 V (arithmetic in the testing facts)", 32, pilot.Seen{High: v(8.79), Low: v(-8.79)}, "pilot negative", finding.Fails, ""},
		{"Annex A: 995 to 1005 Hz", 32, pilot.Seen{Frequency: quantity.Known(1004.0)}, "pilot frequency", finding.Meets, ""},
		{"Annex A: 995 to 1005 Hz", 32, pilot.Seen{Frequency: quantity.Known(980.0)}, "pilot frequency", finding.Fails, ""},
		{"Annex A: 53.33 % is 32 A", 32, pilot.Seen{Duty: p(53.33)}, "pilot offer", finding.Meets, "offers 32 A"},
		{"Annex A: 26.67 % is 16 A; the design has 32 A", 32, pilot.Seen{Duty: p(26.67)}, "pilot offer", finding.JudgeOnSite, "less than"},
		{"Annex A: 53.33 % is 32 A; the design has 20 A", 20, pilot.Seen{Duty: p(53.33)}, "pilot offer", finding.Fails, "more than"},
		{"Annex A: 2.9 % offers nothing", 32, pilot.Seen{Duty: p(2.9)}, "pilot offer", finding.Fails, "no current"},
		{"Annex A: 97.5 % offers nothing", 32, pilot.Seen{Duty: p(97.5)}, "pilot offer", finding.Fails, "no current"},
		{"Annex B worked limit: 32 A unit, 20 A cable (680 Ω): 33.33 %", 32, pilot.Seen{Duty: p(33.33), Cable: o(680)}, "pilot offer", finding.Meets, "the 20 A the cable is coded for"},
		{"Annex B: a 20 A cable offered 32 A", 32, pilot.Seen{Duty: p(53.33), Cable: o(680)}, "pilot offer", finding.Fails, "more than the 20 A"},
		{"Annex B: 220 Ω is 32 A", 32, pilot.Seen{Cable: o(220)}, "pilot cable coding", finding.Meets, "32 A"},
		{"Annex B: 5 kΩ is no cable", 32, pilot.Seen{Cable: o(5000)}, "pilot cable coding", finding.Fails, "no cable"},
		{"Annex B: 320 Ω reads as 32 A, outside the narrower window", 32, pilot.Seen{Cable: o(320)}, "pilot cable coding", finding.JudgeOnSite, "edge"},
		{"what was not measured is not known", 32, pilot.Seen{}, "pilot offer", finding.NotKnown, "not measured"},
		{"Annex A: steady pilot", 32, pilot.Seen{Steady: true, High: v(9)}, "pilot offer", finding.NotKnown, "steady"},
	} {
		t.Run(tt.source, func(t *testing.T) {
			f := checked(t, tt.current, tt.seen)[tt.key]
			if f.Verdict != tt.want || !strings.Contains(f.Why.String(), tt.reason) {
				t.Errorf("%s: %v: %s; want %v: …%s…", tt.key, f.Verdict, f.Why, tt.want, tt.reason)
			}
		})
	}
}

// TestPilotWindowsStandInTheirRows holds our figures against the text of the
// pilot table's rows.
func TestPilotWindowsStandInTheirRows(t *testing.T) {
	book, err := standard.Open(standard.DefaultEdition())
	if err != nil {
		t.Fatal(err)
	}
	windows, err := pilotWindows()
	if err != nil {
		t.Fatal(err)
	}
	rows := map[string]string{}
	for _, r := range book.PilotRows() {
		rows[r.ID] = r.Value + " " + r.Tolerance
	}
	for key, w := range windows {
		figure := fmt.Sprint(w.High)
		if !strings.Contains(rows[w.Row], strings.TrimPrefix(figure, "-")) {
			t.Errorf("%s: %s is not in row %s: %q", key, figure, w.Row, rows[w.Row])
		}
	}
}

// TestTimesOfThePilot: how long an answer took, against IEC 61851-1 Annex A (from
// memory, as the standard's table has it).
func TestTimesOfThePilot(t *testing.T) {
	m, rules := bakery()
	in, err := IntentOf(m, "CP1")
	if err != nil {
		t.Fatal(err)
	}
	found, err := JudgePilot(in, pilot.Typed{Times: map[string]string{"close after state C": "1.2 s", "open after state C to B": "150 ms", "between duty changes": "2 s"}}, nil, rules)
	if err != nil {
		t.Fatal(err)
	}
	want := map[string]finding.Verdict{"pilot time close after state C": finding.Meets, "pilot time open after state C to B": finding.Fails, "pilot time between duty changes": finding.Fails}
	for _, f := range found {
		if v, there := want[f.Key]; !there || f.Verdict != v || f.Verdict == finding.Fails && f.Next == "" {
			t.Errorf("%s: %v: %v", f.Key, f.Verdict, f.Why)
		}
		delete(want, f.Key)
	}
	if len(want) > 0 {
		t.Errorf("not judged: %v", want)
	}
	for _, times := range []map[string]string{{"dance": "1 s"}, {"close after state C": "soon"}, {"close after state C": "-1 s"}} {
		if _, err := JudgePilot(in, pilot.Typed{Times: times}, nil, rules); err == nil {
			t.Errorf("%v is taken", times)
		}
	}
}
