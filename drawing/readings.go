package drawing

import (
	"fmt"
	"math"
	"strings"

	"chargewright/prove"
)

// Readings draws every reading taken as a dot on its expected band, along the
// line from the street to the vehicle, and under them what explains those that
// do not fit, the likelier first, with the test to make next.
func Readings(e prove.Explanation) Scene {
	s := Scene{Name: "readings", Title: e.Job + ": readings and what explains them", Width: columnWidth}
	y := 0.0
	var told []string
	for i, p := range placesRead(e.Readings) {
		shapes, height := p.draw(i == 0)
		s.Shapes = append(s.Shapes, Group{ID: "readings-" + attribute(p.at), Title: p.label(), Shapes: moved(shapes, 0, y)})
		y += height
		s.Breaks = append(s.Breaks, y)
		told = append(told, p.label())
	}
	if len(e.Readings) == 0 {
		s.Shapes = append(s.Shapes, Text{At: XY{1, 6}, Text: "nothing has been read yet", Size: textSize, Ink: Black})
		y = 9
		told = append(told, "nothing has been read yet")
	}
	for i := range e.Causes {
		if i > 0 && e.Causes[i].Probability < 0.02 || i == 4 {
			break
		}
		if i == 0 {
			s.Shapes = append(s.Shapes, Text{At: XY{1, y + 6.5}, Text: "What explains them", Size: titleSize, Bold: true, Ink: Black})
			y += 9
		}
		shapes, height, words := causeRow(e.Causes[i])
		s.Shapes = append(s.Shapes, Group{ID: fmt.Sprintf("cause-%d", i+1), Title: words, Shapes: moved(shapes, 0, y)})
		y += height
		s.Breaks = append(s.Breaks, y)
		told = append(told, words)
	}
	if t := e.NextTest; t != nil {
		lead := "next test"
		if t.Proof {
			lead = "to prove it put right"
		}
		words := fmt.Sprintf("%s: %s at %s", lead, t.Reading, t.At)
		if t.Function != "" {
			words += ", " + t.Function
		}
		shapes, height := setLines(words, 1, columnWidth-2, textSize, true)
		s.Shapes = append(s.Shapes, Group{ID: "next-test", Title: words, Shapes: moved(shapes, 0, y+2)})
		y += height + 2
		told = append(told, words)
	}
	if n := len(s.Breaks); n > 0 && s.Breaks[n-1] >= y {
		s.Breaks = s.Breaks[:n-1]
	}
	s.Height = y + 2
	s.Description = strings.Join(told, ". ")
	return s
}

// placeRead is one place of the line and what was read there.
type placeRead struct {
	at       string
	readings []prove.Residual
}

// placesRead gathers readings by place: the supply first, then the places in
// the order they were first read.
func placesRead(rs []prove.Residual) []*placeRead {
	var out []*placeRead
	by := map[string]*placeRead{}
	for _, r := range rs {
		p := by[r.At]
		if p == nil {
			p = &placeRead{at: r.At}
			by[r.At] = p
			if r.At == "supply" {
				out = append([]*placeRead{p}, out...)
			} else {
				out = append(out, p)
			}
		}
		p.readings = append(p.readings, r)
	}
	return out
}

// label says the place and what does not fit there.
func (p *placeRead) label() string {
	off := 0
	for _, r := range p.readings {
		if !r.Fits() {
			off++
		}
	}
	text := fmt.Sprintf("%s: %s", p.at, counted(len(p.readings), "reading", "readings"))
	if off > 0 {
		text += fmt.Sprintf(", %d of them off the band", off)
	}
	return text
}

// draw returns the readings of one place from height 0, and their height.
func (p *placeRead) draw(first bool) ([]Shape, float64) {
	const left, row = 11.0, 10.6
	lines := Wrap(Printable(p.at), columnWidth-left-1, titleSize, true)
	head := 3 + leading*float64(len(lines))
	height := head + row*float64(len(p.readings)) + 1
	shapes := []Shape{Rectangle{XY{0, 0}, columnWidth, height, White, Stroke{}}}
	top := 0.0
	if first {
		top = 4
	}
	shapes = append(shapes, straight(4, top, 4, height), Circle{Centre: XY{4, 5}, Radius: 1.4, Fill: Black})
	for i, line := range lines {
		shapes = append(shapes, Text{At: XY{left, 6.4 + leading*float64(i)}, Text: line, Size: titleSize, Bold: true, Ink: Black})
	}
	for i, r := range p.readings {
		shapes = append(shapes, moved(readingRow(r, left), 0, head+row*float64(i))...)
	}
	return shapes, height
}

// readingRow draws one reading: what it is, its verdict, the dot on its band.
func readingRow(r prove.Residual, left float64) []Shape {
	band := BandPicture(prove.Expectation{Reading: r.Reading, At: r.At, Low: r.Low, Mid: r.Mid, High: r.High, Limit: r.Verdict.Limit,
		LimitIs: r.LimitIs, Taken: r.Taken})
	x := columnWidth - bandWidth - 1
	name := Wrap(Printable(r.Reading), x-left-2, textSize, false)
	shapes := []Shape{Text{At: XY{left, 3.6}, Text: name[0], Size: textSize, Bold: !r.Fits(), Ink: Black}}
	if len(name) > 1 {
		shapes[0] = Text{At: XY{left, 3.6}, Text: Wrap(Printable(r.Reading), x-left-2, 2.6, false)[0], Size: 2.6, Bold: !r.Fits(), Ink: Black}
	}
	shapes = append(shapes, mark(r.Verdict.Verdict, XY{left, 5})...)
	shapes = append(shapes, Text{At: XY{left + MarkWidth + 1, 7.9}, Text: Printable(r.Taken), Size: textSize, Bold: true, Ink: Black})
	if off := math.Abs(r.Off); !r.Fits() {
		shapes = append(shapes, Text{At: XY{columnWidth - 1, 9.4}, Text: fmt.Sprintf("%.0f deviations off", off), Size: 2.6, Anchor: End, Ink: Black})
	}
	return append(shapes, moved(band.Shapes, x, -0.4)...)
}

// causeRow draws one cause: a stroke as long as it is likely, and its words.
func causeRow(c prove.Cause) ([]Shape, float64, string) {
	words := c.Likely() + "  " + c.Cause
	if c.Size != "" {
		words += ", " + c.Size
	}
	shapes := []Shape{Line{XY{1, 1.5}, XY{1 + max(0.5, (columnWidth-2)*min(c.Probability, 1)), 1.5}, Stroke{Ink: Black, Width: 1}}}
	lines, height := setLines(words, 1, columnWidth-2, textSize, false)
	shapes = append(shapes, moved(lines, 0, 2)...)
	if c.Danger != "" {
		danger, more := setLines("danger: "+c.Danger, 1, columnWidth-2, textSize, true)
		shapes = append(shapes, moved(danger, 0, 2+height)...)
		height += more
		words += "; danger: " + c.Danger
	}
	return shapes, height + 4, words
}

// setLines sets wrapped text from height 0.
func setLines(text string, x, width, size float64, bold bool) ([]Shape, float64) {
	var shapes []Shape
	y := 0.0
	for _, line := range Wrap(Printable(text), width, size, bold) {
		y += leading
		shapes = append(shapes, Text{At: XY{x, y}, Text: line, Size: size, Bold: bold, Ink: Black})
	}
	return shapes, y
}
