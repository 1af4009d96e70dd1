package drawing

import (
	"math"
	"os"
	"strings"
	"testing"

	"chargewright/job"
	"chargewright/model"
	"chargewright/standard"
)

// TestCurveScales holds the logarithmic scales to their corners and decades.
func TestCurveScales(t *testing.T) {
	right := curveWidth - curveRight
	for _, tt := range []struct{ got, want float64 }{
		{curveX(curveLeast), curveLeft}, {curveX(curveMost), right},
		{curveX(1000) - curveX(100), curveX(100) - curveX(10)},
		{curveY(curveLate), curveTop}, {curveY(curveSoon), curveTop + curvePlot},
		{curveY(1) - curveY(10), curveY(10) - curveY(100)},
		{curveY(0), curveTop + curvePlot}, // instant lies on the foot
	} {
		if math.Abs(tt.got-tt.want) > 1e-9 {
			t.Errorf("scale gives %v, want %v", tt.got, tt.want)
		}
	}
}

// TestTracePassesTheGates: the drawn edges of a 100 A gG fuse pass its gates of
// IEC 60269-1: holds 290 A for 10 s, operates at 580 A within 5 s.
func TestTracePassesTheGates(t *testing.T) {
	rules, err := standard.Open("")
	if err != nil {
		t.Fatal(err)
	}
	soon, late := trace(rules, link{device: standard.Device{Family: standard.FuseGG, Rating: 100}})
	at := func(edge []XY, i float64) float64 {
		for n := 1; n < len(edge); n++ {
			if a, z := edge[n-1], edge[n]; a.X <= curveX(i) && curveX(i) <= z.X {
				return a.Y + (z.Y-a.Y)*(curveX(i)-a.X)/(z.X-a.X)
			}
		}
		return math.NaN()
	}
	for _, tt := range []struct {
		edge []XY
		i, s float64
	}{{soon, 290, 10}, {late, 580, 5}} {
		if got := at(tt.edge, tt.i); math.Abs(got-curveY(tt.s)) > 0.5 {
			t.Errorf("edge at %v A stands at %.2f mm, want %.2f mm (%v s)", tt.i, got, curveY(tt.s), tt.s)
		}
	}
}

// TestCurvesOfTheExamples reads what the sheets of the examples say.
func TestCurvesOfTheExamples(t *testing.T) {
	for file, wants := range map[string][]string{
		"../examples/bakery/job.yaml": {"Devices in series down to circuit van point", "BS 88-3, 100 A: cut-out", "faults selective with yard sub-main to 250 A", "greatest fault at board yard board", "line conductor of 10 mm²"},
		"../examples/pool/job.yaml":   {"selective with cut-out at every current", "selective with pillar feeder to 10 kA"},
	} {
		s := Curves(load(t, file))
		if s.Height < 100 || s.Width != curveWidth {
			t.Errorf("%s: the sheet is %v × %v mm", file, s.Width, s.Height)
		}
		var all []string
		for _, text := range s.Texts() {
			all = append(all, text.Text)
			if left, _, right, bottom := text.Box(); left < 0 || right > s.Width || bottom > s.Height {
				t.Errorf("%s: %q leaves the sheet", file, text.Text)
			}
		}
		words := strings.ReplaceAll(strings.Join(all, " "), "–", "-")
		for _, want := range wants {
			if !strings.Contains(words, want) {
				t.Errorf("%s: the sheet does not say %q:\n%s", file, want, words)
			}
		}
	}
}

func load(t *testing.T, file string) *model.Model {
	t.Helper()
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	j, err := job.Read(file, text)
	if err != nil {
		t.Fatal(err)
	}
	rules, err := standard.Open(j.Edition)
	if err != nil {
		t.Fatal(err)
	}
	return model.New(j, rules)
}
