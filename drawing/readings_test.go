package drawing_test

import (
	"strings"
	"testing"

	"chargewright/drawing"
	"chargewright/prove"
)

// TestReadingsPicture wants every reading and the likeliest cause to be in the
// picture, its words on the page, and nothing wider than it.
func TestReadingsPicture(t *testing.T) {
	for _, d := range jobs(t) {
		e, err := prove.Explain(d.m, prove.UsualPriors())
		if err != nil {
			t.Fatal(err)
		}
		s := drawing.Readings(e)
		var words []string
		for _, x := range s.Texts() {
			words = append(words, x.Text)
			if left, _, right, bottom := x.Box(); left < 0 || right > s.Width || bottom > s.Height {
				t.Errorf("%s: %q runs off the picture (%.1f to %.1f of %.1f)", d.name, x.Text, left, right, s.Width)
			}
		}
		all := strings.Join(words, " ")
		for _, r := range e.Readings {
			if !strings.Contains(all, drawing.Printable(r.Taken)) {
				t.Errorf("%s: %s at %s, read %s, is not in the picture", d.name, r.Reading, r.At, r.Taken)
			}
		}
		if len(e.Causes) > 0 && !strings.Contains(s.Description, e.Causes[0].Cause) {
			t.Errorf("%s: %q is not told", d.name, e.Causes[0].Cause)
		}
	}
}
