package prove

import (
	"testing"

	"chargewright/finding"
	"chargewright/quantity"
)

// TestFit: how a reading stands to its band. The bands are made up; far off is
// twice beyond an edge (ours, no source).
func TestFit(t *testing.T) {
	ohm := func(n float64) finding.Amount { return amount(quantity.Ohms(n)) }
	for _, tt := range []struct {
		reading   string
		low, high finding.Amount
		taken     string
		want      Fit
	}{
		{"R1+R2", ohm(0.04), ohm(0.1), "0.07", Fits},
		{"R1+R2", ohm(0.04), ohm(0.1), "0.1", Fits},
		{"R1+R2", ohm(0.04), ohm(0.1), "0.15", TooHigh},
		{"R1+R2", ohm(0.04), ohm(0.1), "0.45", FarTooHigh},
		{"R1+R2", ohm(0.04), ohm(0.1), "open", FarTooHigh},
		{"R1+R2", ohm(0.04), ohm(0.1), "0.03", TooLow},
		{"R1+R2", ohm(0.04), ohm(0.1), "0.01", FarTooLow},
		{"R1+R2", ohm(0.04), ohm(0.1), "", NoFit},
		{"R1+R2", ohm(0.04), ohm(0.1), "nonsense", NoFit},
		{"R1+R2", finding.Amount{}, finding.Amount{}, "0.1", NoFit},
		{"insulation live to earth", ohm(1e8), finding.Amount{}, ">200", Fits},
		{"insulation live to earth", ohm(1e8), finding.Amount{}, "2", FarTooLow},
		{"polarity", finding.Amount{}, finding.Amount{}, "correct", NoFit},
	} {
		e := Expectation{Reading: tt.reading, Low: tt.low, High: tt.high}
		if got := e.Fit(tt.taken); got != tt.want || got.Misfits() != (tt.want > Fits) {
			t.Errorf("%s %q in %v to %v: %q, want %q", tt.reading, tt.taken, tt.low, tt.high, got, tt.want)
		}
	}
}
