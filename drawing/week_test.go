package drawing

import (
	"math"
	"strings"
	"testing"
)

// TestWeek: bars are as high as their energy, the ground is dark where it is
// cheap, and nothing leaves the picture.
func TestWeek(t *testing.T) {
	var w WeekData
	w.Energy[0][2], w.Energy[6][47] = 4, 1
	for h := range 10 {
		w.Cheap[3][h] = true
	}
	s := Week("week", "A mean week as it would be: a tariff with a long name, charging let run Mon-Fri 23:00-07:00", w, 0)
	var bars, grounds []Rectangle
	for _, shape := range s.Shapes {
		if r, ok := shape.(Rectangle); ok {
			if r.At.X < 0 || r.At.X+r.Width > s.Width || r.At.Y < 0 || r.At.Y+r.Height > s.Height {
				t.Errorf("%+v leaves the picture", r)
			}
			switch {
			case r.Fill == Black:
				bars = append(bars, r)
			case r.Height == weekRow:
				grounds = append(grounds, r)
			}
		}
	}
	if len(bars) != 2 || math.Abs(bars[0].Height-weekRow) > 0.01 || math.Abs(bars[1].Height-weekRow/4) > 0.01 {
		t.Errorf("bars %+v, want one of %g mm and one a quarter of it", bars, weekRow)
	}
	if len(grounds) != 1 || math.Abs(grounds[0].Width-10*(weekRight-weekLeft)/48) > 0.01 {
		t.Errorf("grounds %+v, want one of five hours", grounds)
	}
	for _, text := range s.Texts() {
		if left, _, right, bottom := text.Box(); left < 0 || right > s.Width || bottom > s.Height {
			t.Errorf("%q leaves the picture: %g to %g of %g mm", text.Text, left, right, s.Width)
		}
	}
	if !strings.Contains(s.Description, "4.00 kWh, Mon 01:00") {
		t.Errorf("description %q", s.Description)
	}
	if empty := Week("week", "t", WeekData{}, 0); !strings.Contains(string(empty.SVG()), "No energy flows") {
		t.Error("an empty week does not say so")
	}
}
