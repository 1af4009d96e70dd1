package pilot

import (
	"fmt"
	"math"
	"strings"
	"testing"
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
		seen, err := ReadTrace("trace.csv", trace(tt.high, -12, tt.duty, 1000, tt.rise))
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

// TestRiseNeedsSamples: a trace of 20 µs between samples shows no rise of 2 µs; it
// used to be told as failing, or as whatever lay between two samples.
func TestRiseNeedsSamples(t *testing.T) {
	thin := func(every int, text []byte) []byte {
		lines := strings.Split(string(text), "\n")
		out := lines[:2]
		for i := 2; i < len(lines); i += every {
			out = append(out, lines[i])
		}
		return []byte(strings.Join(out, "\n"))
	}
	seen, err := ReadTrace("trace.csv", thin(20, trace(6, -12, 53.33, 1000, 1.5e-6)))
	if err != nil {
		t.Fatal(err)
	}
	if apart, coarse := seen.Coarse.Get(); !coarse || math.Abs(apart-20e-6) > 1e-6 || seen.Rise.IsKnown() {
		t.Errorf("rise %v, samples %v apart; want no rise, 20 µs", seen.Rise, apart)
	}
	if d := float64(seen.Duty.Or(0)); math.Abs(d-53.33) > 2 { // an edge is known to a sample, which is 2 % of the period
		t.Errorf("duty = %v, want 53.33", d)
	}
}

// TestUnitsOfTheHead reads one trace in other units.
func TestUnitsOfTheHead(t *testing.T) {
	var b strings.Builder
	b.WriteString("Time (ms);Channel A (mV)\n")
	for i, line := range strings.Split(strings.TrimSpace(string(trace(6, -12, 53.33, 1000, 4e-6))), "\n")[2:] {
		var at, v float64
		if _, err := fmt.Sscanf(line, "%f,%f", &at, &v); err != nil {
			t.Fatal(i, err)
		}
		fmt.Fprintf(&b, "%.5f;%.1f\n", at*1e3, v*1e3)
	}
	seen, err := ReadTrace("trace.csv", []byte(b.String()))
	if err != nil || math.Abs(float64(seen.High.Or(0))-6) > 0.05 || math.Abs(seen.Frequency.Or(0)-1000) > 0.5 {
		t.Errorf("%+v, %v; want 6 V and 1 kHz", seen, err)
	}
}

func FuzzPilotTrace(f *testing.F) {
	f.Add(trace(6, -12, 53.33, 1000, 4e-6)[:4000])
	f.Add([]byte("time;volt\n0;1\n"))
	f.Add([]byte("0,nan\n1,2\n"))
	f.Fuzz(func(t *testing.T, text []byte) {
		seen, err := ReadTrace("trace.csv", text)
		if err != nil {
			return
		}
		if d, ok := seen.Duty.Get(); ok && !(d >= 0 && d <= 100) {
			t.Fatalf("duty cycle of %v", d)
		}
	})
}

// BenchmarkPilotTrace reads 6 ms of a control pilot, sampled at 1 MHz.
func BenchmarkPilotTrace(b *testing.B) {
	text := trace(6, -12, 53.33, 1000, 4e-6)
	for b.Loop() {
		if _, err := ReadTrace("trace.csv", text); err != nil {
			b.Fatal(err)
		}
	}
}
