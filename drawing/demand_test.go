package drawing

import (
	"encoding/xml"
	"io"
	"math"
	"strings"
	"testing"
	"time"

	"chargewright/demand"
	"chargewright/quantity"
)

// pictures of demand, of invented currents.
func demandScenes() []Scene {
	start := time.Date(2026, 11, 6, 12, 0, 0, 0, time.UTC)
	t := Trace{Start: start, Step: 5 * time.Minute, Limit: 95, What: "limit"}
	for i := range 288 {
		t.Others = append(t.Others, quantity.Amperes(30+25*math.Sin(float64(i)/20)))
		t.Points = append(t.Points, quantity.Amperes(32*(i/100%2)))
	}
	short := t
	short.Others, short.Points, short.Step = t.Others[:10], t.Points[:10], time.Minute
	run := demand.Trace{Event: demand.LoadStep, Before: 10, After: 71, Clock: 1, Low: 2, Holds: 100, Late: 8, Greatest: 103,
		Moments: []demand.Moment{{At: 0, Others: 71, Points: 32, Setting: 32}, {At: 8, Others: 71, Points: 26, Setting: 26}}}
	never := run
	never.Late = quantity.Seconds(math.Inf(1))
	heat := &demand.Heat{Carries: 125, Over: 7200, Greatest: 110, Used: math.Inf(1), Above: 300}
	heat.Device.Family, heat.Device.Rating = "BS 88-3", 100
	worst := &demand.Result{Step: time.Minute, WorstAt: start, Heat: heat}
	for i := range 10 {
		worst.Worst = append(worst.Worst, demand.Sample{Others: demand.Lines{0, quantity.Amperes(60 + i), 0}, Points: demand.Lines{0, 32, 0}})
	}
	clamp := demand.OnSiteThree([3]float64{20, 31, 28}, [3]float64{20, 15, 28}, 32, 1)
	curves := []Curve{{"L1", []quantity.Amperes{90, 40, 10}}, {"L2", []quantity.Amperes{70, 30, 5}}}
	out := []Scene{
		Demand("day", "A day", t), Demand("minutes", "Ten minutes", short), Demand("nothing", "Nothing", Trace{Start: start, Step: time.Minute}),
		Limiting("run", "A run", run, 10), Limiting("never", "A run that never comes back", never, 10),
		Heat("heat", "Heat", worst, 1), ClampFit("clamp", "Clamp", clamp),
		Duration("duration", "Duration", curves, 95, "limit", 365*24*time.Hour),
	}
	return append(out, Stack("all", "All of them", out...))
}

// TestDemandPicturesAreWhole: every word inside, nothing not a number, no two
// words on one another, something to say to those who cannot see.
func TestDemandPicturesAreWhole(t *testing.T) {
	for _, s := range demandScenes() {
		svg := string(s.SVG())
		if strings.Contains(svg, "NaN") || strings.Contains(svg, "Inf") {
			t.Errorf("%s: a place is no number", s.Name)
		}
		for d := xml.NewDecoder(strings.NewReader(svg)); ; {
			if _, err := d.Token(); err == io.EOF {
				break
			} else if err != nil {
				t.Fatalf("%s: %v", s.Name, err)
			}
		}
		if s.Title == "" || s.Description == "" {
			t.Errorf("%s: it says nothing to someone who cannot see it", s.Name)
		}
		all := s.Texts()
		for i, a := range all {
			l, top, r, b := a.Box()
			if l < -0.01 || top < -0.01 || r > s.Width+0.01 || b > s.Height+0.01 {
				t.Errorf("%s: %q lies outside (%.1f to %.1f, %.1f to %.1f of %.0f × %.0f)", s.Name, a.Text, l, r, top, b, s.Width, s.Height)
			}
			for _, c := range all[i+1:] {
				l2, t2, r2, b2 := c.Box()
				if l < r2-0.05 && l2 < r-0.05 && top < b2-0.4 && t2 < b-0.4 {
					t.Errorf("%s: %q and %q lie on one another", s.Name, a.Text, c.Text)
				}
			}
		}
	}
}

// TestDemandPictureKeepsThePeak: joining steps into columns loses no peak.
func TestDemandPictureKeepsThePeak(t *testing.T) {
	tr := Trace{Step: time.Second}
	for i := range 86400 {
		v := quantity.Amperes(10)
		if i == 54321 {
			v = 99
		}
		tr.Others, tr.Points = append(tr.Others, v), append(tr.Points, 0)
	}
	c := tr.columns()
	greatest := quantity.Amperes(0)
	for _, v := range c.Others {
		greatest = max(greatest, v)
	}
	if len(c.Others) > mostColumns || greatest != 99 {
		t.Errorf("%d columns, greatest %v", len(c.Others), greatest)
	}
}
