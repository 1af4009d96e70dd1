// Package drawing makes the pictures of a job: the line from the street to the
// vehicle, the wall a point hangs on, the band a reading should fall in.
//
// A picture is a Scene: one list of a few kinds of shape, in millimetres from
// the top left corner. SVG writes it for a screen; package paper draws the
// same list onto a page. The package calculates nothing of its own: values
// come from the model, verdicts from findings, bands from expectations.
package drawing

// Scene is a picture and what it says to someone who cannot see it.
type Scene struct {
	Name          string  // stable name, fit for a file or an identifier: "line", "elevation-cp1"
	Title         string  // what it shows
	Description   string  // what there is to see, in words
	Width, Height float64 // mm
	Shapes        []Shape
	// Breaks are the heights at which a tall picture may be cut, ascending;
	// no group lies across one.
	Breaks []float64
}

// Ink is how dark a stroke or a filling is. The zero value draws nothing.
type Ink uint8

// Inks, darkest first.
const (
	NoInk Ink = iota
	Black
	Grey  // secondary text and lines; still 7:1 on white
	Pale  // bands and fillings behind text
	White // shapes on black
)

// Shape is one of Line, Path, Rectangle, Circle, Text, Image and Group.
type Shape interface{ moved(dx, dy float64) Shape }

// Stroke is how a line is drawn.
type Stroke struct {
	Ink    Ink
	Width  float64   // mm
	Dashes []float64 // mm on, mm off; none for a whole line
}

// XY is a place, in mm from the top left.
type XY struct{ X, Y float64 }

// Line is a straight line.
type Line struct {
	From, To XY
	Stroke   Stroke
}

// Path is a line through points, closed and filled if it says so.
type Path struct {
	Points []XY
	Closed bool
	Fill   Ink
	Stroke Stroke
}

// Rectangle is a rectangle with its top left corner at At.
type Rectangle struct {
	At            XY
	Width, Height float64
	Fill          Ink
	Stroke        Stroke
}

// Circle is a circle, or, where Sweep is not zero, the arc of it that starts
// at angle Start and runs clockwise over Sweep, in degrees, 0 to the right.
type Circle struct {
	Centre       XY
	Radius       float64
	Start, Sweep float64
	Fill         Ink
	Stroke       Stroke
}

// Anchor is which part of a text stands at its place.
type Anchor uint8

// Anchors.
const (
	Start Anchor = iota
	Middle
	End
)

// Text is one line of text; At is on its baseline.
type Text struct {
	At     XY
	Text   string
	Size   float64 // mm
	Anchor Anchor
	Bold   bool
	Ink    Ink
}

// Image is a photo with its top left corner at At, scaled to its width and
// height.
type Image struct {
	At            XY
	Width, Height float64
	JPEG          []byte
	Title         string // what it shows
}

// Group is a part of the picture that can be addressed and named: a person can
// tap it, a screen reader says its title.
type Group struct {
	ID     string
	Title  string
	Shapes []Shape
}

func (p XY) moved(dx, dy float64) XY { return XY{p.X + dx, p.Y + dy} }

func (s Line) moved(dx, dy float64) Shape {
	s.From, s.To = s.From.moved(dx, dy), s.To.moved(dx, dy)
	return s
}

func (s Path) moved(dx, dy float64) Shape {
	points := make([]XY, len(s.Points))
	for i, p := range s.Points {
		points[i] = p.moved(dx, dy)
	}
	s.Points = points
	return s
}

func (s Rectangle) moved(dx, dy float64) Shape { s.At = s.At.moved(dx, dy); return s }
func (s Circle) moved(dx, dy float64) Shape    { s.Centre = s.Centre.moved(dx, dy); return s }
func (s Text) moved(dx, dy float64) Shape      { s.At = s.At.moved(dx, dy); return s }
func (s Image) moved(dx, dy float64) Shape     { s.At = s.At.moved(dx, dy); return s }

func (s Group) moved(dx, dy float64) Shape {
	s.Shapes = moved(s.Shapes, dx, dy)
	return s
}

func moved(shapes []Shape, dx, dy float64) []Shape {
	out := make([]Shape, len(shapes))
	for i, s := range shapes {
		out[i] = s.moved(dx, dy)
	}
	return out
}

// Box returns the left, top, right and bottom of a text, from the advances of
// the typeface.
func (s Text) Box() (left, top, right, bottom float64) {
	w := Measure(s.Text, s.Size, s.Bold)
	left = s.At.X
	switch s.Anchor {
	case Middle:
		left -= w / 2
	case End:
		left -= w
	}
	return left, s.At.Y - capHeight*s.Size, left + w, s.At.Y + descent*s.Size
}

// Texts returns every text of the scene, in reading order.
func (s Scene) Texts() []Text { return texts(s.Shapes) }

func texts(shapes []Shape) []Text {
	var out []Text
	for _, shape := range shapes {
		switch shape := shape.(type) {
		case Text:
			out = append(out, shape)
		case Group:
			out = append(out, texts(shape.Shapes)...)
		}
	}
	return out
}

// Cut returns the upper part of the scene, no taller than height, and what is
// left below. It cuts at the lowest break that fits, else at the first there
// is; a scene that fits, or has no break, is not cut.
func (s Scene) Cut(height float64) (upper Scene, rest Scene, more bool) {
	if s.Height <= height || len(s.Breaks) == 0 {
		return s, Scene{}, false
	}
	at := s.Breaks[0]
	for _, b := range s.Breaks {
		if b <= height {
			at = b
		}
	}
	return s.piece(0, at), s.piece(at, s.Height), true
}

// piece returns the part of the scene from top to bottom. Shapes belong to it
// by the height of their first point.
func (s Scene) piece(top, bottom float64) Scene {
	out := s
	out.Height, out.Breaks, out.Shapes = bottom-top, nil, nil
	for _, shape := range s.Shapes {
		if y, ok := firstHeight(shape); ok && y >= top && y < bottom {
			out.Shapes = append(out.Shapes, shape.moved(0, -top))
		}
	}
	for _, b := range s.Breaks {
		if b > top && b < bottom {
			out.Breaks = append(out.Breaks, b-top)
		}
	}
	return out
}

func firstHeight(shape Shape) (float64, bool) {
	switch s := shape.(type) {
	case Line:
		return s.From.Y, true
	case Path:
		return s.Points[0].Y, true
	case Rectangle:
		return s.At.Y, true
	case Circle:
		return s.Centre.Y, true
	case Text:
		return s.At.Y, true
	case Image:
		return s.At.Y, true
	case Group:
		for _, inner := range s.Shapes {
			if y, ok := firstHeight(inner); ok {
				return y, true
			}
		}
	}
	return 0, false
}

// At returns the scene's shapes moved so that its top left corner is there.
func (s Scene) At(x, y float64) []Shape { return moved(s.Shapes, x, y) }
