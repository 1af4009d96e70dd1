package drawing

import (
	"strings"
	"testing"

	"chargewright/finding"
	"chargewright/model"
	"chargewright/quantity"
)

func TestLostPENSaysWhatItShows(t *testing.T) {
	s := LostPEN(model.LostPEN{Terminal: 12}, model.LostPEN{Terminal: 94.36}, quantity.Volts(70))
	svg := string(s.SVG())
	for _, want := range []string{"94.36 V", "12 V", "limit 70 V", "prove dead", "<title"} {
		if !strings.Contains(svg, want) {
			t.Errorf("the picture lacks %q", want)
		}
	}
	unknown := LostPEN(model.LostPEN{Lacks: finding.Cannot("supply: Ze")}, model.LostPEN{}, 70)
	if !strings.Contains(string(unknown.SVG()), "not known") {
		t.Error("a study that could not be made is drawn as if it had been")
	}
}
