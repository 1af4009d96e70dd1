package drawing

import "chargewright/finding"

// Size of a verdict's mark, in mm.
const (
	MarkWidth  = 6.0
	MarkHeight = 3.6
)

// Mark returns the shape that stands beside a verdict's word. It is a reading
// on its scale, kept small: a dot and the bar of a limit.
//
//	meets          the dot lies before the bar
//	fails          the dot lies beyond the bar, all on black
//	not known      an empty ring in a dashed frame
//	judge on site  a dot half filled, on the bar
//
// The four differ in outline, not in colour.
func Mark(v finding.Verdict) Scene {
	s := Scene{Name: "mark-" + attribute(v.String()), Title: v.String(), Description: "verdict: " + v.String(), Width: MarkWidth, Height: MarkHeight}
	s.Shapes = mark(v, XY{0, 0})
	return s
}

func mark(v finding.Verdict, at XY) []Shape {
	const middle, thin = MarkHeight / 2, 0.25
	bar := func(x float64, ink Ink) Shape {
		return Line{XY{x, 0.5}, XY{x, MarkHeight - 0.5}, Stroke{Ink: ink, Width: 0.5}}
	}
	dot := func(x float64, ink Ink) Shape { return Circle{Centre: XY{x, middle}, Radius: 0.85, Fill: ink} }
	frame := func(fill Ink, s Stroke) Shape {
		return Rectangle{XY{0.15, 0.15}, MarkWidth - 0.3, MarkHeight - 0.3, fill, s}
	}
	ring := Circle{Centre: XY{MarkWidth / 2, middle}, Radius: 0.95, Stroke: Stroke{Ink: Black, Width: 0.3}}
	var shapes []Shape
	switch v {
	case finding.Meets:
		shapes = []Shape{
			Line{XY{0.3, middle}, XY{4.5, middle}, Stroke{Ink: Black, Width: thin}},
			bar(4.5, Black), dot(2.2, Black),
		}
	case finding.Fails:
		shapes = []Shape{frame(Black, Stroke{}), bar(2, White), dot(4, White)}
	case finding.JudgeOnSite:
		half := ring
		half.Start, half.Sweep, half.Fill = 90, 180, Black
		shapes = []Shape{ring, half,
			Line{XY{ring.Centre.X, 0.2}, XY{ring.Centre.X, MarkHeight - 0.2}, Stroke{Ink: Black, Width: 0.5}}}
	default:
		shapes = []Shape{frame(NoInk, Stroke{Ink: Black, Width: thin, Dashes: []float64{0.7, 0.5}}), ring}
	}
	return moved(shapes, at.X, at.Y)
}
