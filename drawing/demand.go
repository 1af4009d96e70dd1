package drawing

import (
	"fmt"
	"math"
	"time"

	"chargewright/demand"
	"chargewright/quantity"
)

// Trace is the currents of one line through a stretch of time, ready to draw.
type Trace struct {
	Start  time.Time
	Step   time.Duration
	Others []quantity.Amperes
	Points []quantity.Amperes // on top of the others
	Limit  quantity.Amperes   // 0 for none
	What   string             // what the limit is: "limit", "cut-out"
}

// TraceOf takes one line of recorded samples.
func TraceOf(samples []demand.Sample, line int, start time.Time, step time.Duration) Trace {
	t := Trace{Start: start, Step: step}
	for _, s := range samples {
		t.Others, t.Points = append(t.Others, s.Others[line]), append(t.Points, s.Points[line])
	}
	return t
}

// mostColumns is how many steps a picture can show one by one; beyond, each column
// shows the greatest of its steps.
const mostColumns = 480

// columns joins steps so that no more than mostColumns are left, keeping of
// each the moment with the greatest total.
func (t Trace) columns() Trace {
	per := (len(t.Others) + mostColumns - 1) / mostColumns
	if per <= 1 {
		return t
	}
	out := t
	out.Step, out.Others, out.Points = t.Step*time.Duration(per), nil, nil
	for i := 0; i < len(t.Others); i += per {
		best := i
		for q := i; q < min(i+per, len(t.Others)); q++ {
			if t.Others[q]+t.Points[q] > t.Others[best]+t.Points[best] {
				best = q
			}
		}
		out.Others, out.Points = append(out.Others, t.Others[best]), append(out.Points, t.Points[best])
	}
	return out
}

// Demand draws a line's current through a day or less: the other loads pale,
// the charge points dark on top, the limit as a dashed line.
func Demand(name, title string, t Trace) Scene {
	t = t.columns()
	s := Scene{Name: name, Title: title, Width: plotWidth}
	shapes, y := heads(title, plotWidth)
	p := plot{left: plotLeft, top: y + 8, width: plotWidth - plotLeft - plotRight, height: 46, x1: float64(len(t.Others))}
	greatest, at, others := quantity.Amperes(0), 0, quantity.Amperes(0)
	for i := range t.Others {
		if total := t.Others[i] + t.Points[i]; total > greatest {
			greatest, at = total, i
		}
		others = max(others, t.Others[i])
	}
	p.y1 = nice(float64(max(greatest, t.Limit)) * 1.12)
	low := make([]XY, 0, 2*len(t.Others)+2)
	high := make([]XY, 0, 4*len(t.Others))
	shapes = append(shapes, p.scaleY("A")...)
	var back []XY
	for i := range t.Others {
		o, all := float64(t.Others[i]), float64(t.Others[i]+t.Points[i])
		a, b := float64(i), float64(i+1)
		low = append(low, p.at(a, o), p.at(b, o))
		high = append(high, p.at(a, all), p.at(b, all))
		back = append(back, p.at(a, o), p.at(b, o))
	}
	if len(low) > 0 {
		area := append(append([]XY{}, low...), p.at(p.x1, 0), p.at(0, 0))
		for i := len(back) - 1; i >= 0; i-- {
			high = append(high, back[i])
		}
		shapes = append(shapes, Path{Points: area, Closed: true, Fill: Pale}, Path{Points: high, Closed: true, Fill: Grey})
	}
	shapes = append(shapes, p.axis()...)
	if t.Limit > 0 {
		shapes = append(shapes, p.level(float64(t.Limit), t.What+" "+t.Limit.String(), []float64{2, 1})...)
	}
	shapes = append(shapes, t.hours(p)...)
	foot := p.top + p.height + 6.6
	shapes = append(shapes,
		Rectangle{At: XY{plotLeft, foot}, Width: 5, Height: 3, Fill: Pale}, Text{At: XY{plotLeft + 6.5, foot + 2.5}, Text: "other loads", Size: plotText, Ink: Black},
		Rectangle{At: XY{plotLeft + 32, foot}, Width: 5, Height: 3, Fill: Grey},
		Text{At: XY{plotLeft + 38.5, foot + 2.5}, Text: "charge points on top", Size: plotText, Ink: Black})
	s.Shapes, s.Height = shapes, foot+4.5
	s.Description = fmt.Sprintf("The line carries up to %v at %s; the other loads alone up to %v.", greatest, t.moment(at).Format("15:04:05"), others)
	if t.Limit > 0 {
		s.Description += fmt.Sprintf(" The %s is %v.", t.What, t.Limit)
	}
	return s
}

func (t Trace) moment(step int) time.Time { return t.Start.Add(time.Duration(step) * t.Step) }

// hours marks the time of day under a plot.
func (t Trace) hours(p plot) []Shape {
	span := time.Duration(len(t.Others)) * t.Step
	every := 24 * time.Hour
	for _, e := range []time.Duration{10 * time.Second, time.Minute, 2 * time.Minute, 10 * time.Minute, time.Hour, 3 * time.Hour, 6 * time.Hour} {
		if span/e <= 9 {
			every = e
			break
		}
	}
	layout := "15:04"
	if every >= 24*time.Hour {
		layout = "2 Jan"
	}
	var out []Shape
	_, zone := t.Start.Zone()
	local := time.Duration(zone) * time.Second
	for at := t.Start.Add(local).Truncate(every).Add(-local); !at.After(t.Start.Add(span)); at = at.Add(every) {
		if at.Before(t.Start) {
			continue
		}
		text := at.Format(layout)
		if at.Equal(t.Start.Add(span)) && text == "00:00" {
			text = "24:00"
		}
		out = append(out, p.markX(float64(at.Sub(t.Start))/float64(t.Step), text)...)
	}
	return out
}

// nice rounds up to a number an axis can end at.
func nice(v float64) float64 {
	if !(v > 0) {
		return 1
	}
	step := tickStep(v, 8)
	return math.Ceil(v/step-1e-9) * step
}

// Curve is one line of a duration curve: the current that is reached or passed
// for each share of the time, in equal parts from 0 to 1.
type Curve struct {
	Name     string
	Currents []quantity.Amperes
}

// Duration draws for how long a current is reached or passed.
func Duration(name, title string, curves []Curve, limit quantity.Amperes, what string, whole time.Duration) Scene {
	s := Scene{Name: name, Title: title, Width: plotWidth}
	shapes, y := heads(title, plotWidth)
	p := plot{left: plotLeft, top: y + 8, width: plotWidth - plotLeft - plotRight, height: 40, x1: 100}
	greatest := limit
	for _, c := range curves {
		for _, i := range c.Currents {
			greatest = max(greatest, i)
		}
	}
	p.y1 = nice(float64(greatest) * 1.12)
	shapes = append(shapes, p.scaleY("A")...)
	dashes := [][]float64{nil, {1.6, 0.8}, {0.5, 0.7}}
	for n, c := range curves {
		var points []XY
		for i, a := range c.Currents {
			points = append(points, p.at(100*float64(i)/float64(len(c.Currents)-1), float64(a)))
		}
		if len(points) < 2 {
			continue
		}
		shapes = append(shapes, Path{Points: points, Stroke: Stroke{Ink: Black, Width: 0.4, Dashes: dashes[n%len(dashes)]}})
		s.Description += fmt.Sprintf("%s: at most %v, half of the time %v or more. ", c.Name, c.Currents[0], c.Currents[len(c.Currents)/2])
	}
	if limit > 0 {
		shapes = append(shapes, p.level(float64(limit), what+" "+limit.String(), []float64{2, 1})...)
	}
	for v := 0; v <= 100; v += 20 {
		shapes = append(shapes, p.markX(float64(v), fmt.Sprintf("%d %%", v))...)
	}
	foot, end := small(fmt.Sprintf("Share of %s in which the current is reached or passed", span(whole)), plotLeft, p.top+p.height+5, plotWidth-plotLeft-1)
	shapes = append(shapes, foot...)
	for n, c := range curves {
		x := plotLeft + 22*float64(n)
		shapes = append(shapes, Line{XY{x, end + 3.2}, XY{x + 8, end + 3.2}, Stroke{Ink: Black, Width: 0.4, Dashes: dashes[n%len(dashes)]}},
			Text{At: XY{x + 9.5, end + 4.2}, Text: c.Name, Size: plotText, Ink: Black})
	}
	s.Shapes, s.Height = shapes, end+6.5
	return s
}

// span tells a length of time in the unit that suits it.
func span(d time.Duration) string {
	switch days := d.Hours() / 24; {
	case math.Abs(days-365) < 2:
		return "a year"
	case days >= 360:
		return fmt.Sprintf("%.3g years", days/365)
	case days >= 2:
		return fmt.Sprintf("%.3g days", days)
	}
	return fmt.Sprintf("%.3g hours", d.Hours())
}
