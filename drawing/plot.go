package drawing

import (
	"math"
	"strconv"
)

// plot places numbers in a frame: x to the right, y upwards.
type plot struct {
	left, top, width, height float64 // mm, of the frame
	x0, x1, y0, y1           float64 // numbers at its edges
}

// Size of a plot's words, and of the room beside its frame, in mm.
const (
	plotWidth = 130.0
	plotLeft  = 14.0
	plotRight = 23.0 // where levels are named
	plotText  = 2.8
)

func (p plot) x(v float64) float64 {
	if !(p.x1 > p.x0) {
		return p.left
	}
	return p.left + p.width*min(max((v-p.x0)/(p.x1-p.x0), 0), 1)
}

func (p plot) y(v float64) float64 {
	return p.top + p.height*(1-min(max((v-p.y0)/(p.y1-p.y0), 0), 1))
}

// at returns the place of a pair of numbers.
func (p plot) at(x, y float64) XY { return XY{p.x(x), p.y(y)} }

// tickStep is the distance of marks on an axis: 1, 2 or 5 of a power of ten.
func tickStep(span float64, most int) float64 {
	raw := span / float64(most)
	ten := math.Pow(10, math.Floor(math.Log10(raw)))
	for _, f := range []float64{1, 2, 5} {
		if f*ten >= raw*(1-1e-9) {
			return f * ten
		}
	}
	return 10 * ten
}

// scaleY draws the upright axis, with faint lines across and its unit on top.
func (p plot) scaleY(unit string) []Shape {
	var out []Shape
	step := tickStep(p.y1-p.y0, 8)
	for v := math.Ceil(p.y0/step-1e-9) * step; v <= p.y1*(1+1e-9)+1e-9; v += step {
		y := p.y(v)
		out = append(out, Line{XY{p.left, y}, XY{p.left + p.width, y}, Stroke{Ink: Pale, Width: 0.2}},
			Text{At: XY{p.left - 1.2, y + 1}, Text: strconv.FormatFloat(v+0, 'f', max(0, -int(math.Floor(math.Log10(step)))), 64), Size: plotText, Anchor: End,
				Ink: Grey})
	}
	out = append(out, Text{At: XY{p.left - 1.2, p.top - 3.4}, Text: unit, Size: plotText, Anchor: End, Ink: Grey})
	return append(out, p.axis()...)
}

// axis draws the level axis, once more over what fills the frame.
func (p plot) axis() []Shape {
	return []Shape{Line{XY{p.left, p.top + p.height}, XY{p.left + p.width, p.top + p.height}, Stroke{Ink: Grey, Width: 0.25}}}
}

// markX writes one mark under the axis.
func (p plot) markX(v float64, text string) []Shape {
	x, foot := p.x(v), p.top+p.height
	anchor := Middle
	if w := Measure(text, plotText, false) / 2; x+w > plotWidth {
		anchor = End
	}
	return []Shape{Line{XY{x, foot}, XY{x, foot + 1}, Stroke{Ink: Grey, Width: 0.25}},
		Text{At: XY{x, foot + 4.2}, Text: text, Size: plotText, Anchor: anchor, Ink: Grey}}
}

// level draws a line across at y, and its words beside the frame.
func (p plot) level(v float64, text string, dashes []float64) []Shape {
	y := p.y(v)
	right := p.left + p.width
	out := []Shape{Line{XY{p.left, y}, XY{right, y}, Stroke{Ink: Black, Width: 0.35, Dashes: dashes}}}
	for i, line := range Wrap(Printable(text), plotRight-1.5, plotText, false) {
		out = append(out, Text{At: XY{right + 1.2, y + 1 + 3.4*float64(i)}, Text: line, Size: plotText, Ink: Black})
	}
	return out
}

// heads writes a title over a plot, and returns the shapes and the height used.
func heads(title string, width float64) ([]Shape, float64) {
	var out []Shape
	y := 0.0
	for _, line := range Wrap(Printable(title), width-2, 3.4, true) {
		y += 4.4
		out = append(out, Text{At: XY{1, y}, Text: line, Size: 3.4, Bold: true, Ink: Black})
	}
	return out, y
}

// small writes lines of small text from a height on.
func small(text string, x, y, width float64) ([]Shape, float64) {
	var out []Shape
	for _, line := range Wrap(Printable(text), width, plotText, false) {
		y += 3.9
		out = append(out, Text{At: XY{x, y}, Text: line, Size: plotText, Ink: Black})
	}
	return out, y
}

// Stack puts scenes under one another as one.
func Stack(name, title string, scenes ...Scene) Scene {
	out := Scene{Name: name, Title: title}
	const gap = 5
	for i, s := range scenes {
		if i > 0 {
			out.Height += gap
			out.Breaks = append(out.Breaks, out.Height-gap/2)
			out.Description += " "
		}
		out.Shapes = append(out.Shapes, Group{ID: s.Name, Title: s.Title, Shapes: s.At(0, out.Height)})
		out.Description += s.Title + ": " + s.Description
		out.Width = max(out.Width, s.Width)
		out.Height += s.Height
	}
	return out
}
