package drawing

// Graphical symbols on the line, drawn about the line's centre with the top at
// zero. Fuse, switch, breaker, residual current device, meter, surge device,
// transformer and earth follow IEC 60617; board, point and vehicle are ours.

// symbol is a drawing on the line and the height it needs.
type symbol struct {
	height float64
	shapes []Shape
}

var (
	firm = Stroke{Ink: Black, Width: 0.4}
	fine = Stroke{Ink: Black, Width: 0.25}
)

// dots is how what nobody has seen is drawn.
var dots = []float64{0.4, 0.7}

// dotted draws shapes in dots.
func dotted(shapes []Shape) []Shape {
	out := make([]Shape, len(shapes))
	for i, s := range shapes {
		switch s := s.(type) {
		case Line:
			s.Stroke.Dashes = dots
			out[i] = s
		case Path:
			s.Stroke.Dashes = dots
			out[i] = s
		case Rectangle:
			s.Stroke.Dashes = dots
			out[i] = s
		case Circle:
			s.Stroke.Dashes = dots
			out[i] = s
		default:
			out[i] = s
		}
	}
	return out
}

func straight(x1, y1, x2, y2 float64) Line { return Line{XY{x1, y1}, XY{x2, y2}, firm} }

// transformer is two windings: the network, seen from here.
func transformerSymbol() symbol {
	return symbol{12, []Shape{
		Circle{Centre: XY{0, 3.4}, Radius: 3.2, Stroke: firm},
		Circle{Centre: XY{0, 7.8}, Radius: 3.2, Stroke: firm},
		straight(0, 11, 0, 12),
	}}
}

func fuseSymbol() symbol {
	return symbol{11, []Shape{
		straight(0, 0, 0, 11),
		Rectangle{XY{-1.8, 2}, 3.6, 7, NoInk, firm},
	}}
}

func meterSymbol() symbol {
	return symbol{10, []Shape{
		straight(0, 0, 0, 1), straight(0, 9, 0, 10),
		Rectangle{XY{-4, 1}, 8, 8, NoInk, firm},
		straight(-4, 3, 4, 3),
		Text{At: XY{0, 7.6}, Text: "Wh", Size: 3.5, Anchor: Middle, Ink: Black},
	}}
}

// breakerSymbol is a switch with a cross at its fixed contact; with a residual
// current device it has the ring of its transformer about the line.
func breakerSymbol(residual bool) symbol {
	s := symbol{12, []Shape{
		straight(0, 0, 0, 3), straight(-1, 2, 1, 4), straight(-1, 4, 1, 2),
		straight(-3.2, 4, 0, 8.5), straight(0, 8.5, 0, 12),
	}}
	if residual {
		s.height = 16
		s.shapes = append(s.shapes, straight(0, 12, 0, 16),
			Path{Points: oval(XY{0, 12.2}, 3, 1.3), Closed: true, Stroke: firm},
			Line{XY{-3, 12.2}, XY{-4.4, 12.2}, fine}, Line{XY{-4.4, 12.2}, XY{-4.4, 6.2}, fine},
			Line{XY{-4.4, 6.2}, XY{-1.7, 6.2}, Stroke{Ink: Black, Width: 0.25, Dashes: []float64{0.6, 0.5}}})
	}
	return s
}

// oval returns points of an ellipse.
func oval(centre XY, rx, ry float64) []XY {
	points := make([]XY, 24)
	for i := range points {
		p := Circle{Centre: XY{}, Radius: 1}.at(float64(i) * 360 / float64(len(points)))
		points[i] = XY{centre.X + rx*p.X, centre.Y + ry*p.Y}
	}
	return points
}

// boardSymbol is a box with its busbar and a few ways below it.
func boardSymbol() symbol {
	s := symbol{12, []Shape{
		straight(0, 0, 0, 4), straight(0, 4, 0, 12),
		Rectangle{XY{-4.5, 1.5}, 9, 9, NoInk, firm},
		Line{XY{-3.4, 4}, XY{3.4, 4}, Stroke{Ink: Black, Width: 0.9}},
	}}
	for _, x := range []float64{-3, -1.5, 1.5, 3} {
		s.shapes = append(s.shapes, Line{XY{x, 4}, XY{x, 8.5}, fine})
	}
	return s
}

// cableSymbol is the line itself, with a stroke for each line conductor.
func cableSymbol(lines int) symbol {
	s := symbol{9, []Shape{straight(0, 0, 0, 9)}}
	for i := range lines {
		y := 4.5 + 1.2*(float64(i)-float64(lines-1)/2)
		s.shapes = append(s.shapes, Line{XY{-1.4, y + 1}, XY{1.4, y - 1}, fine})
	}
	return s
}

// pointSymbol is a post with an outlet.
func pointSymbol() symbol {
	return symbol{14, []Shape{
		straight(0, 0, 0, 1.5),
		Rectangle{XY{-4, 1.5}, 8, 11, NoInk, Stroke{Ink: Black, Width: 0.6}},
		Circle{Centre: XY{0, 7.6}, Radius: 2.6, Stroke: firm},
		Circle{Centre: XY{-1, 7}, Radius: 0.45, Fill: Black},
		Circle{Centre: XY{1, 7}, Radius: 0.45, Fill: Black},
		Circle{Centre: XY{0, 8.8}, Radius: 0.45, Fill: Black},
		straight(0, 12.5, 0, 14),
	}}
}

// vehicleSymbol is a car from the side, at the end of its lead.
func vehicleSymbol() symbol {
	return symbol{11, []Shape{
		straight(0, 0, 0, 2),
		Path{Points: []XY{{-6, 8}, {-6, 5.6}, {-4.2, 5}, {-2.4, 2}, {2.6, 2}, {4.4, 5}, {6, 5.6}, {6, 8}}, Closed: true, Stroke: firm},
		Circle{Centre: XY{-3.2, 8.2}, Radius: 1.4, Fill: White, Stroke: firm},
		Circle{Centre: XY{3.2, 8.2}, Radius: 1.4, Fill: White, Stroke: firm},
	}}
}

// unknownSymbol stands where it is not known what is there.
func unknownSymbol() symbol {
	return symbol{10, []Shape{
		Rectangle{XY{-4, 1}, 8, 8, NoInk, Stroke{Ink: Black, Width: 0.3, Dashes: []float64{1, 0.8}}},
		Text{At: XY{0, 6.4}, Text: "?", Size: 4, Anchor: Middle, Bold: true, Ink: Black},
	}}
}

// earthSymbol is the sign of earth, its stem from at downwards.
func earthSymbol(at XY) []Shape {
	y := at.Y + 2
	return []Shape{
		Line{at, XY{at.X, y}, fine},
		Line{XY{at.X - 2.6, y}, XY{at.X + 2.6, y}, firm},
		Line{XY{at.X - 1.7, y + 1}, XY{at.X + 1.7, y + 1}, firm},
		Line{XY{at.X - 0.8, y + 2}, XY{at.X + 0.8, y + 2}, firm},
	}
}
