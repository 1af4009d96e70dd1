package commission

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"chargewright/finding"
	"chargewright/quantity"
	"chargewright/standard"
)

// trace makes an oscilloscope trace: a trapezium with the rise given, 1 MHz
// sampling with a little ripple.
func trace(high, low, duty, frequency, rise float64) []byte {
	var b strings.Builder
	b.WriteString("Source,CH1\nTime,Volt\n")
	period, span := 1/frequency, rise/0.8
	for i := range 6000 {
		t := float64(i) * 1e-6
		at := math.Mod(t+0.3e-3, period)
		v := low
		switch {
		case at < span:
			v = low + (high-low)*at/span
		case at < duty/100*period:
			v = high
		case at < duty/100*period+span:
			v = high - (high-low)*(at-duty/100*period)/span
		}
		v += 0.02 * math.Sin(float64(i))
		fmt.Fprintf(&b, "%.7f,%.4f\n", t, v)
	}
	return []byte(b.String())
}

// TestPilotTrace reads traces made by formula; the duty of a current and the
// levels are those of IEC 61851-1 Annex A (standard tables).
func TestPilotTrace(t *testing.T) {
	for _, tt := range []struct{ high, duty, rise float64 }{{9, 10, 4e-6}, {6, 26.67, 4e-6}, {6, 53.33, 4e-6}, {3, 85, 6e-6}, {6, 96, 8e-6}} {
		seen, err := ReadPilotTrace("trace.csv", trace(tt.high, -12, tt.duty, 1000, tt.rise))
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range []struct {
			what            string
			got, want, room float64
		}{
			{"high", float64(seen.High.Or(0)), tt.high, 0.05}, {"low", float64(seen.Low.Or(0)), -12, 0.05},
			{"duty", float64(seen.Duty.Or(0)), tt.duty, 0.05}, {"frequency", seen.Frequency.Or(0), 1000, 0.5}, {"rise", seen.Rise.Or(0), tt.rise, 0.3e-6},
		} {
			if math.Abs(c.got-c.want) > c.room {
				t.Errorf("%v V, %v %%: %s = %v, want %v ± %v", tt.high, tt.duty, c.what, c.got, c.want, c.room)
			}
		}
	}
}

func checked(t *testing.T, current quantity.Amperes, seen PilotSeen) map[string]finding.Finding {
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
		seen    PilotSeen
		key     string
		want    finding.Verdict
		reason  string
	}{
		{"case D16: 12 V, 1 kΩ, diode 0.7 V, 2740 Ω gives 8.98 V: state B", 32, PilotSeen{State: "B", High: v(8.98)}, "pilot level", finding.Meets, "state B, as set"},
		{"case D16: 882 Ω gives 5.99 V: state C", 32, PilotSeen{State: "C", High: v(5.99)}, "pilot level", finding.Meets, "state C, as set"},
		{"case D16: 246 Ω gives 2.93 V: state D", 32, PilotSeen{State: "D", High: v(2.93)}, "pilot level", finding.Meets, "state D, as set"},
		{"case D16: stays 8.98 V when C is asked: switched resistor open", 32, PilotSeen{State: "C", High: v(8.98)}, "pilot level", finding.Fails, "state B; the simulator was set to C"},
		{"Table A.4: 7.5 V lies between B and C", 32, PilotSeen{High: v(7.5)}, "pilot level", finding.Fails, "between the states"},
		{"Annex A: no diode shows -8.79 V (arithmetic in the testing facts)", 32, PilotSeen{High: v(8.79), Low: v(-8.79)}, "pilot negative", finding.Fails, ""},
		{"Annex A: 995 to 1005 Hz", 32, PilotSeen{Frequency: quantity.Known(1004.0)}, "pilot frequency", finding.Meets, ""},
		{"Annex A: 995 to 1005 Hz", 32, PilotSeen{Frequency: quantity.Known(980.0)}, "pilot frequency", finding.Fails, ""},
		{"Annex A: 53.33 % is 32 A", 32, PilotSeen{Duty: p(53.33)}, "pilot offer", finding.Meets, "offers 32 A"},
		{"Annex A: 26.67 % is 16 A; the design has 32 A", 32, PilotSeen{Duty: p(26.67)}, "pilot offer", finding.JudgeOnSite, "less than"},
		{"Annex A: 53.33 % is 32 A; the design has 20 A", 20, PilotSeen{Duty: p(53.33)}, "pilot offer", finding.Fails, "more than"},
		{"Annex A: 2.9 % offers nothing", 32, PilotSeen{Duty: p(2.9)}, "pilot offer", finding.Fails, "no current"},
		{"Annex A: 97.5 % offers nothing", 32, PilotSeen{Duty: p(97.5)}, "pilot offer", finding.Fails, "no current"},
		{"Annex B worked limit: 32 A unit, 20 A cable (680 Ω): 33.33 %", 32, PilotSeen{Duty: p(33.33), Cable: o(680)}, "pilot offer", finding.Meets, "the 20 A the cable is coded for"},
		{"Annex B: a 20 A cable offered 32 A", 32, PilotSeen{Duty: p(53.33), Cable: o(680)}, "pilot offer", finding.Fails, "more than the 20 A"},
		{"Annex B: 220 Ω is 32 A", 32, PilotSeen{Cable: o(220)}, "pilot cable coding", finding.Meets, "32 A"},
		{"Annex B: 5 kΩ is no cable", 32, PilotSeen{Cable: o(5000)}, "pilot cable coding", finding.Fails, "no cable"},
		{"Annex B: 320 Ω reads as 32 A, outside the narrower window", 32, PilotSeen{Cable: o(320)}, "pilot cable coding", finding.JudgeOnSite, "edge"},
		{"what was not measured is not known", 32, PilotSeen{}, "pilot offer", finding.NotKnown, "not measured"},
		{"Annex A: steady pilot", 32, PilotSeen{Steady: true, High: v(9)}, "pilot offer", finding.NotKnown, "steady"},
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
		figure := fmt.Sprint(w.high)
		if !strings.Contains(rows[w.row], strings.TrimPrefix(figure, "-")) {
			t.Errorf("%s: %s is not in row %s: %q", key, figure, w.row, rows[w.row])
		}
	}
}

func FuzzPilotTrace(f *testing.F) {
	f.Add(trace(6, -12, 53.33, 1000, 4e-6)[:4000])
	f.Add([]byte("time;volt\n0;1\n"))
	f.Add([]byte("0,nan\n1,2\n"))
	f.Fuzz(func(t *testing.T, text []byte) {
		seen, err := ReadPilotTrace("trace.csv", text)
		if err != nil {
			return
		}
		if d, ok := seen.Duty.Get(); ok && !(d >= 0 && d <= 100) {
			t.Fatalf("duty cycle of %v", d)
		}
	})
}
