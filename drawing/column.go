package drawing

import (
	"strings"
)

// The column: stations one below the other, the line through them, the
// protective conductor beside it, and their words to the right.
const (
	columnWidth = 88.0 // half a printed page
	laneX       = 9.0
	lineX       = 21.0
	textX       = 30.0

	textSize  = 3.5 // capitals of 2.5 mm
	titleSize = 4.1
	leading   = 4.6
	above     = 1.8 // from the top of a station to its words
	below     = 2.4
)

// column lays out stations as one scene of a width.
func column(width float64, name, title string, stations []*station) Scene {
	s := Scene{Name: name, Title: title, Width: width}
	ids := map[string]int{}
	var told []string
	for i, st := range stations {
		id := attribute(st.id)
		if ids[id]++; ids[id] > 1 {
			id += "-" + number(float64(ids[id]))
		}
		shapes, height := st.draw(width, i == 0, i == len(stations)-1)
		s.Shapes = append(s.Shapes, Group{ID: id, Title: st.label(), Shapes: moved(shapes, 0, s.Height)})
		s.Height += height
		if i < len(stations)-2 { // the vehicle stays with its point
			s.Breaks = append(s.Breaks, s.Height)
		}
		told = append(told, st.describe())
	}
	s.Description = strings.Join(told, ". ")
	return s
}

// draw returns the shapes of a station from height 0, and its height. The
// first shape is a clear rectangle over all of it, so that the whole of a
// station can be tapped.
func (s *station) draw(width float64, first, last bool) ([]Shape, float64) {
	words, bottom := s.words(width - 1)
	height := max(bottom+below, s.symbol.height+3)
	shapes := []Shape{Rectangle{XY{0, 0}, width, height, White, Stroke{}}}
	const top = 1.0
	if !first {
		shapes = append(shapes, straight(lineX, 0, lineX, top))
	}
	own := s.symbol.shapes
	if s.assumed > 0 {
		own = dotted(own)
	}
	shapes = append(shapes, moved(own, lineX, top)...)
	if !last {
		shapes = append(shapes, straight(lineX, top+s.symbol.height, lineX, height))
	}
	shapes = append(shapes, s.drawLane(height, first)...)
	return append(shapes, words...), height
}

// words sets the texts of a station up to the right edge, and returns where
// they end.
func (s *station) words(rightEdge float64) ([]Shape, float64) {
	var shapes []Shape
	y := above
	set := func(x float64, lines []string, size float64, bold bool, ink Ink) {
		for _, line := range lines {
			y += leading
			shapes = append(shapes, Text{At: XY{x, y}, Text: line, Size: size, Bold: bold, Ink: ink})
		}
	}
	set(textX, Wrap(Printable(s.title), rightEdge-textX, titleSize, true), titleSize, true, Black)
	for _, k := range s.known {
		set(textX, Wrap(Printable(k), rightEdge-textX, textSize, false), textSize, false, Black)
	}
	if len(s.missing) > 0 {
		set(textX, Wrap(Printable("not known: "+strings.Join(s.missing, ", ")), rightEdge-textX, textSize, false), textSize, false, Grey)
	}
	if s.assumed > 0 {
		set(textX, Wrap(counted(s.assumed, "fact", "facts")+" assumed, not seen", rightEdge-textX, textSize, false), textSize, false, Grey)
	}
	const markRoom = MarkWidth + 1.5
	for i, v := range s.verdicts() {
		if i == 0 {
			y += 0.8
		}
		shapes = append(shapes, mark(v.verdict, XY{textX, y + leading - MarkHeight + 0.5})...)
		word := v.verdict.String()
		taken := Measure(word+": ", textSize, true)
		x, room := textX+markRoom, rightEdge-textX-markRoom
		shapes = append(shapes, Text{At: XY{x, y + leading}, Text: word + ":", Size: textSize, Bold: true, Ink: Black})
		for k, line := range WrapAfter(taken, Printable(v.text), room, textSize, false) {
			y += leading
			if line == "" {
				continue
			}
			at := XY{x, y}
			if k == 0 {
				at.X += taken
			}
			shapes = append(shapes, Text{At: at, Text: line, Size: textSize, Ink: Black})
		}
	}
	return shapes, y
}

// Protective conductors beside the line: PEN whole, PE in dashes and dots.
var (
	penStroke     = Stroke{Ink: Black, Width: 0.5}
	peStroke      = Stroke{Ink: Black, Width: 0.35, Dashes: []float64{2.2, 0.8, 0.5, 0.8}}
	unknownStroke = Stroke{Ink: Black, Width: 0.3, Dashes: []float64{0.6, 1.4}}
)

const laneMark = 7.0 // height at which the lane does what it does

// drawLane draws the protective conductor beside a station of a given height.
func (s *station) drawLane(height float64, first bool) []Shape {
	down := func(from, to float64, with Stroke) Shape { return Line{XY{laneX, from}, XY{laneX, to}, with} }
	across := func(with Stroke) Shape { return Line{XY{laneX, laneMark}, XY{lineX - 4.5, laneMark}, with} }
	joint := Circle{Centre: XY{laneX, laneMark}, Radius: 0.8, Fill: Black}
	top := 0.0
	if first && s.lane != laneBegins {
		top = 2
	}
	var shapes []Shape
	switch s.lane {
	case lanePEN:
		shapes = []Shape{down(top, height, penStroke)}
	case lanePE:
		shapes = []Shape{down(top, height, peStroke)}
	case laneBegins:
		shapes = []Shape{down(0, laneMark, penStroke), down(laneMark, height, peStroke),
			Rectangle{XY{laneX - 2.6, laneMark - 1.3}, 5.2, 2.6, White, firm}, joint}
	case laneRises:
		shapes = []Shape{down(laneMark, height, peStroke),
			Rectangle{XY{laneX - 2.6, laneMark - 1.3}, 5.2, 2.6, White, firm}, joint}
		shapes = append(shapes, Line{XY{laneX - 2.6, laneMark}, XY{laneX - 5.5, laneMark}, fine})
		shapes = append(shapes, earthSymbol(XY{laneX - 5.5, laneMark})...)
	case laneJoins:
		shapes = []Shape{down(0, height, peStroke), across(peStroke), joint}
	case laneEnds:
		shapes = []Shape{down(0, laneMark, peStroke), across(peStroke), joint}
	case laneBroken:
		shapes = []Shape{down(0, 2.5, peStroke), straight(laneX-1.6, 2.5, laneX+1.6, 2.5), joint, across(peStroke)}
		shapes = append(shapes, earthSymbol(XY{laneX, laneMark})...)
	case laneUnknown:
		shapes = []Shape{down(0, height, unknownStroke)}
	}
	if s.laneLabel != "" {
		y := laneMark + 1.2
		if s.lane == laneBegins || s.lane == laneRises || s.lane == laneJoins || s.lane == laneEnds || s.lane == laneBroken {
			y = min(height-1.5, laneMark+5.6)
			if s.lane == laneBroken || s.lane == laneRises {
				y = min(height-1, laneMark+9)
			}
		}
		shapes = append(shapes, Text{At: XY{laneX - 1.4, y}, Text: s.laneLabel, Size: textSize, Anchor: End, Ink: Black})
	}
	return shapes
}
