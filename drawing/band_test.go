package drawing_test

import (
	"strings"
	"testing"

	"chargewright/drawing"
	"chargewright/finding"
	"chargewright/prove"
	"chargewright/quantity"
)

type ohms struct{}

func (ohms) Show(n float64) string { return quantity.Ohms(n).String() }
func (ohms) Unit() string          { return "Ω" }

func z(n float64) finding.Amount { return finding.Of(n, ohms{}) }

// places are where a band picture draws its band, limit and reading.
func places(s drawing.Scene) (band [2]float64, limit, dot float64, broken bool) {
	limit, dot = -1, -1
	whites := 0
	for _, shape := range s.Shapes {
		switch shape := shape.(type) {
		case drawing.Rectangle:
			if shape.Fill == drawing.Pale {
				band = [2]float64{shape.At.X, shape.At.X + shape.Width}
			}
			if shape.Fill == drawing.White {
				whites++
			}
		case drawing.Line:
			if shape.Stroke.Width == 0.8 && shape.From.X == shape.To.X {
				limit = shape.From.X
			}
		case drawing.Circle:
			dot = shape.Centre.X
		}
	}
	return band, limit, dot, whites > 0
}

func TestBandPictureKeepsTheOrderOfNumbers(t *testing.T) {
	for _, tt := range []struct {
		name   string
		e      prove.Expectation
		broken bool
		check  func(band [2]float64, limit, dot float64) bool
	}{
		{"reading inside, limit above", prove.Expectation{Low: z(0.1), Mid: z(0.15), High: z(0.2), Limit: z(0.35), LimitIs: "at most", Taken: "0.16 Ω"}, false,
			func(b [2]float64, l, d float64) bool { return b[0] < d && d < b[1] && b[1] < l }},
		{"reading beyond the band", prove.Expectation{Low: z(0.1), Mid: z(0.15), High: z(0.2), Taken: "0.5"}, false,
			func(b [2]float64, l, d float64) bool { return d > b[1] && l == -1 }},
		{"reading beyond the limit", prove.Expectation{Low: z(0.1), Mid: z(0.15), High: z(0.2), Limit: z(0.35), LimitIs: "at most", Taken: "400 mΩ"}, false,
			func(b [2]float64, l, d float64) bool { return d > l }},
		{"limit far away", prove.Expectation{Low: z(80), Mid: z(83), High: z(90), Limit: z(1667), LimitIs: "at most", Taken: "85"}, true,
			func(b [2]float64, l, d float64) bool { return b[0] < d && d < b[1] && l > b[1] }},
		{"insulation, off the scale", prove.Expectation{Low: z(100e6), Limit: z(1e6), LimitIs: "at least", Taken: "> 200 MΩ"}, false,
			func(b [2]float64, l, d float64) bool { return l < b[0] && d > b[0] }},
		{"insulation, far too low", prove.Expectation{Low: z(100e6), Limit: z(1e6), LimitIs: "at least", Taken: "0.3 MΩ"}, false,
			func(b [2]float64, l, d float64) bool { return d < l && l < b[0] }},
		{"nothing but a limit", prove.Expectation{Limit: z(0.35), LimitIs: "at most", Missing: finding.Cannot("Ze")}, false,
			func(b [2]float64, l, d float64) bool { return b == [2]float64{} && l > 0 && d == -1 }},
	} {
		tt.e.Reading = "Zs"
		if tt.e.LimitIs == "at least" {
			tt.e.Reading = "insulation live to earth"
		}
		s := drawing.BandPicture(tt.e)
		band, limit, dot, broken := places(s)
		if !tt.check(band, limit, dot) || broken != tt.broken {
			t.Errorf("%s: band %.1f, limit %.1f, dot %.1f, line broken %v", tt.name, band, limit, dot, broken)
		}
		for _, x := range []float64{band[0], band[1], limit, dot} {
			if x > s.Width {
				t.Errorf("%s: %.1f mm lies outside the picture", tt.name, x)
			}
		}
	}
}

func TestBandPictureOfNothingIsEmpty(t *testing.T) {
	s := drawing.BandPicture(prove.Expectation{Reading: "R1+R2", Missing: finding.Cannot("length")})
	if len(s.Shapes) != 0 || !strings.Contains(s.Description, "not known: length") {
		t.Errorf("BandPicture of nothing draws %d shapes and says %q", len(s.Shapes), s.Description)
	}
}
