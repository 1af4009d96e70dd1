package drawing

import (
	"fmt"
	"math"

	"chargewright/demand"
	"chargewright/quantity"
)

// Limiting draws one run of a limiter through an event: the other loads, the
// points on top, what must not be passed, and the time it has to come back.
func Limiting(name, title string, t demand.Trace, stated quantity.Seconds) Scene {
	s := Scene{Name: name, Title: title, Width: plotWidth}
	shapes, y := heads(title, plotWidth)
	end := float64(stated) * 2.5
	if !math.IsInf(float64(t.Late), 1) {
		end = max(end, float64(t.Late)*1.3)
	} else if n := len(t.Moments); n > 0 {
		end = max(end, min(float64(t.Moments[n-1].At), 20*float64(stated)))
	}
	lead := -0.12 * end
	p := plot{left: plotLeft, top: y + 8, width: plotWidth - plotLeft - plotRight, height: 50, x0: lead, x1: end}
	p.y1 = nice(float64(max(t.Greatest, t.Holds)) * 1.15)
	// The state before the event is that of the points at its first moment.
	first := demand.Moment{Others: t.Before}
	if len(t.Moments) > 0 {
		first.Points = t.Moments[0].Points
	}
	first.At = quantity.Seconds(lead)
	moments := append([]demand.Moment{first}, t.Moments...)
	var low, high, back []XY
	for i, m := range moments {
		until := end
		if i+1 < len(moments) {
			until = min(float64(moments[i+1].At), end)
		}
		a := min(float64(m.At), end)
		low = append(low, p.at(a, float64(m.Others)), p.at(until, float64(m.Others)))
		high = append(high, p.at(a, float64(m.Total())), p.at(until, float64(m.Total())))
		back = append(back, p.at(a, float64(m.Others)), p.at(until, float64(m.Others)))
	}
	area := append(append([]XY{}, low...), p.at(end, 0), p.at(lead, 0))
	for i := len(back) - 1; i >= 0; i-- {
		high = append(high, back[i])
	}
	shapes = append(shapes, p.scaleY("A")...)
	shapes = append(shapes, Path{Points: area, Closed: true, Fill: Pale}, Path{Points: high, Closed: true, Fill: Grey})
	shapes = append(shapes, p.axis()...)
	shapes = append(shapes, p.level(float64(t.Holds), "not to be passed "+t.Holds.String(), []float64{2, 1})...)
	upright := func(at float64, text string, anchor Anchor) {
		x := p.x(at)
		shapes = append(shapes, Line{XY{x, p.top - 2}, XY{x, p.top + p.height}, Stroke{Ink: Black, Width: 0.35}})
		dx := 0.8
		if anchor == End {
			dx = -0.8
		}
		shapes = append(shapes, Text{At: XY{x + dx, p.top - 2.2}, Text: text, Size: plotText, Anchor: anchor, Ink: Black})
	}
	upright(float64(stated), "time stated "+stated.String(), Start)
	if late := float64(t.Late); !math.IsInf(late, 1) && late > 0 {
		x := p.x(late)
		shapes = append(shapes, Line{XY{x, p.y(float64(t.Holds)) - 1.5}, XY{x, p.top + p.height}, Stroke{Ink: Black, Width: 0.35, Dashes: []float64{0.6, 0.6}}})
	}
	step := tickStep(end, 8)
	for v := 0.0; v <= end; v += step {
		shapes = append(shapes, p.markX(v, quantity.Seconds(v).String())...)
	}
	words := fmt.Sprintf("%s from %v to %v at 0 s, with the clamp %v low and the slowest vehicle; the next reading comes %v later.", capital(string(t.Event)),
		t.Before, t.After, t.Low, t.Clock)
	if math.IsInf(float64(t.Late), 1) {
		words += fmt.Sprintf(" The line stays over %v, up to %v.", t.Holds, t.Greatest)
	} else {
		words += fmt.Sprintf(" The line carries up to %v and is back under %v after %v.", t.Greatest, t.Holds, t.Late)
	}
	foot, bottom := small(words, plotLeft, p.top+p.height+5, plotWidth-plotLeft-1)
	shapes = append(shapes, foot...)
	shapes = append(shapes,
		Rectangle{At: XY{plotLeft, bottom + 1.6}, Width: 5, Height: 3, Fill: Pale},
		Text{At: XY{plotLeft + 6.5, bottom + 4.1}, Text: "other loads", Size: plotText, Ink: Black},
		Rectangle{At: XY{plotLeft + 32, bottom + 1.6}, Width: 5, Height: 3, Fill: Grey},
		Text{At: XY{plotLeft + 38.5, bottom + 4.1}, Text: "charge points on top", Size: plotText, Ink: Black})
	s.Shapes, s.Height, s.Description = shapes, bottom+6.4, words
	return s
}

func capital(text string) string {
	if text == "" {
		return ""
	}
	return string(text[0]-'a'+'A') + text[1:]
}

// Heat draws the worst ten minutes of a line against the device ahead of it:
// its rating, and the current it must carry without operating.
func Heat(name, title string, r *demand.Result, line int) Scene {
	t := TraceOf(r.Worst, line, r.WorstAt, r.Step)
	s := Scene{Name: name, Title: title, Width: plotWidth}
	shapes, y := heads(title, plotWidth)
	p := plot{left: plotLeft, top: y + 8, width: plotWidth - plotLeft - plotRight, height: 46, x1: float64(len(t.Others))}
	greatest := quantity.Amperes(0)
	for i := range t.Others {
		greatest = max(greatest, t.Others[i]+t.Points[i])
	}
	top := greatest
	if r.Heat != nil {
		top = max(top, r.Heat.Carries)
	}
	p.y1 = nice(float64(top) * 1.12)
	var points []XY
	for i := range t.Others {
		all := float64(t.Others[i] + t.Points[i])
		points = append(points, p.at(float64(i), all), p.at(float64(i+1), all))
	}
	if len(points) > 0 {
		area := append(append([]XY{}, points...), p.at(p.x1, 0), p.at(0, 0))
		shapes = append(shapes, p.scaleY("A")...)
		shapes = append(shapes, Path{Points: area, Closed: true, Fill: Pale})
	}
	shapes = append(shapes, p.axis()...)
	if len(points) > 0 {
		shapes = append(shapes, Path{Points: points, Stroke: Stroke{Ink: Black, Width: 0.4}})
	}
	words := fmt.Sprintf("The ten minutes with the greatest heating, from %s on L%d, up to %v.", r.WorstAt.Format("2006-01-02 15:04"), line+1, greatest)
	if h := r.Heat; h != nil {
		shapes = append(shapes, p.level(float64(h.Device.Rating), "rating "+h.Device.Rating.String(), []float64{2, 1})...)
		shapes = append(shapes, p.level(float64(h.Carries), fmt.Sprintf("must carry %v for %v", h.Carries, longTime(h.Over)), []float64{0.6, 0.6})...)
		words += fmt.Sprintf(" Over the whole run %s was above its rating for %v and used %s of its shortest operating time.", h.Device, longTime(h.Above),
			usedText(h.Used))
	}
	shapes = append(shapes, t.hours(p)...)
	foot, end := small(words, plotLeft, p.top+p.height+5, plotWidth-plotLeft-1)
	s.Shapes, s.Height, s.Description = append(shapes, foot...), end+2, words
	return s
}

func usedText(share float64) string {
	if math.IsInf(share, 1) {
		return "an unknown part"
	}
	return quantity.Percent(100 * share).String()
}

// longTime tells seconds in the unit that suits them.
func longTime(t quantity.Seconds) string {
	switch {
	case t >= 7200:
		return fmt.Sprintf("%.3g h", float64(t)/3600)
	case t >= 120:
		return fmt.Sprintf("%.3g min", float64(t)/60)
	}
	return t.String()
}

// ClampFit draws what each channel made of each change of the point: on the
// steep line it is right, on the falling one reversed, on the level one not seen.
func ClampFit(name, title string, c demand.ClampResult) Scene {
	s := Scene{Name: name, Title: title, Width: plotWidth}
	shapes, y := heads(title, plotWidth)
	reach := 1.0
	for _, f := range c.Fit {
		reach = max(reach, math.Abs(float64(f.Point)))
		for k := range c.Channels {
			reach = max(reach, math.Abs(float64(f.Seen[k])))
		}
	}
	reach = nice(reach * 1.1)
	p := plot{left: plotLeft, top: y + 8, width: 84, height: 84, x0: -reach, x1: reach, y0: -reach, y1: reach}
	shapes = append(shapes, p.scaleY("A seen")...)
	for _, guide := range []struct {
		share float64
		text  string
		dash  []float64
	}{{1, "right", nil}, {-1, "reversed", []float64{2, 1}}, {-0.5, "other line's voltage", []float64{0.6, 0.6}}, {0, "not seen", nil}} {
		shapes = append(shapes, Line{p.at(-reach, -reach*guide.share), p.at(reach, reach*guide.share), Stroke{Ink: Grey, Width: 0.3, Dashes: guide.dash}},
			Text{At: XY{p.left + p.width + 1.2, p.y(reach*guide.share) + 1}, Text: guide.text, Size: plotText, Ink: Grey})
	}
	for _, v := range []float64{-reach, -reach / 2, 0, reach / 2, reach} {
		shapes = append(shapes, p.markX(v, quantity.Amperes(v).String())...)
	}
	for _, f := range c.Fit {
		for k := range c.Channels {
			shapes = append(shapes, channelDot(k, p.at(float64(f.Point), float64(f.Seen[k]))))
		}
	}
	side := p.left + p.width + 4
	for k := range c.Channels {
		at := XY{side, p.top + p.height - 16 + 5*float64(k)}
		shapes = append(shapes, channelDot(k, at), Text{At: XY{at.X + 3, at.Y + 1}, Text: fmt.Sprintf("L%d: %.2f", k+1, hundredths(c.Share[k])), Size: plotText,
			Ink: Black})
	}
	words := fmt.Sprintf("Change in each channel over the change of the point's current. Verdict: %s", c.Verdict)
	if c.Verdict != demand.ClampNotKnown {
		words += fmt.Sprintf(" (%.0f %%)", min(99, math.Floor(100*c.Confidence)))
	}
	words += ": " + c.Why + "."
	foot, end := small(words, plotLeft, p.top+p.height+5, plotWidth-plotLeft-1)
	s.Shapes, s.Height, s.Description = append(shapes, foot...), end+2, words
	return s
}

// hundredths rounds, and knows no −0.
func hundredths(v float64) float64 { return math.Round(v*100)/100 + 0 }

// channelDot is the mark of a channel: a dot, a ring, a square.
func channelDot(k int, at XY) Shape {
	switch k {
	case 1:
		return Circle{Centre: at, Radius: 1.3, Fill: White, Stroke: Stroke{Ink: Black, Width: 0.45}}
	case 2:
		return Rectangle{At: XY{at.X - 1, at.Y - 1}, Width: 2, Height: 2, Fill: White, Stroke: Stroke{Ink: Black, Width: 0.35}}
	}
	return Circle{Centre: at, Radius: 1.1, Fill: Black}
}
