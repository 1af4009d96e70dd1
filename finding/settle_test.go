package finding

import (
	"math"
	"testing"
)

type volts struct{}

func (volts) Show(v float64) string { return "V" }
func (volts) Unit() string          { return "V" }

func v(n float64) Amount { return Of(n, volts{}) }

func TestSettling(t *testing.T) {
	for _, tt := range []struct {
		name         string
		atMost       bool
		value, limit float64
		verdict      Verdict
		margin       float64
	}{
		{"below", true, 10, 11.5, Meets, 1.5},
		{"at the limit", true, 11.5, 11.5, Meets, 0},
		{"at the limit but for rounding", true, 11.500000000001, 11.5, Meets, 0},
		{"above", true, 11.6, 11.5, Fails, -0.1},
		{"no number is not met", true, math.NaN(), 11.5, Fails, math.NaN()},
		{"a limit below zero", true, -3, -2, Meets, 1},
		{"at least: above", false, 10, 6, Meets, 4},
		{"at least: below", false, 4, 6, Fails, -2},
		{"at least: no number is not met", false, math.NaN(), 6, Fails, math.NaN()},
	} {
		f := Finding{}.AtLeast(v(tt.value), v(tt.limit))
		if tt.atMost {
			f = Finding{}.AtMost(v(tt.value), v(tt.limit))
		}
		if f.Verdict != tt.verdict || math.Abs(f.Margin.Number-tt.margin) > 1e-9 {
			t.Errorf("%s: %v by %v, want %v by %v", tt.name, f.Verdict, f.Margin.Number, tt.verdict, tt.margin)
		}
	}
	if f := (Finding{}).Missing(Lacks{{What: "Ze"}}, nil, Lacks{{What: "Ze"}}, Lacks{{What: "Ipf"}}); f.Why.String() != "not known: Ze; Ipf" || f.Verdict != NotKnown || f.Next == "" {
		t.Errorf("Missing: %v, %q, next %q", f.Verdict, f.Why, f.Next)
	}
	if (Finding{}).Verdict != NotKnown {
		t.Error("a finding nobody filled in passes")
	}
}
