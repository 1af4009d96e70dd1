package drawing

import (
	"fmt"
	"math"

	"chargewright/model"
	"chargewright/quantity"
)

// The wall: 1 m of height is 44 mm on paper, so that figures stay readable on
// a phone and the whole wall fits half a printed page.
const (
	wallScale  = 44.0 // mm on paper per metre
	wallTop    = 2.05 // m
	wallLeft   = 3.0
	groundY    = 8 + wallTop*wallScale
	personX    = 13.0
	boxX       = 41.0 // centre of the enclosure
	bandsX     = 55.0
	figuresX   = 31.0
	enclosureW = 11.0
)

// permitted is a range of height, with where it stands.
type permitted struct {
	what, lowKey, highKey string // keys of the rulebook's limits; empty for an open end
}

// Elevation draws the wall a point hangs on: the ground a person stands on,
// the enclosure, the outlet and the highest control with their heights in
// millimetres, beside the ranges the rules give. A height that is not known is
// named and not drawn.
func Elevation(m *model.Model, p *model.Point) Scene { return elevation(m, []*model.Point{p}) }

// Elevations draws the wall of every point, points mounted alike once.
func Elevations(m *model.Model) []Scene {
	var order []string
	alike := map[string][]*model.Point{}
	for _, p := range m.Points {
		mounting := p.Record.Mounting
		mounting.Place = ""
		sign := fmt.Sprint(mounting, p.Record.Public)
		if alike[sign] == nil {
			order = append(order, sign)
		}
		alike[sign] = append(alike[sign], p)
	}
	var scenes []Scene
	for _, sign := range order {
		scenes = append(scenes, elevation(m, alike[sign]))
	}
	return scenes
}

// elevation draws the wall of points mounted alike.
func elevation(m *model.Model, points []*model.Point) Scene {
	r := points[0].Record
	title := Named("Point", r.Name)
	if len(points) > 1 {
		title = "Points " + (&kind{points: points}).names()
	}
	s := Scene{Name: "elevation-" + attribute(r.Name), Title: "Wall elevation: " + title, Width: columnWidth}
	w := &wall{scene: &s}
	w.ground()
	w.person()
	mount := &r.Mounting
	w.enclosure(mount.Underside, mount.Top)
	w.height("outlet", mount.OutletAt)
	w.height("highest control", mount.Controls)
	w.height("underside", mount.Underside)
	w.height("top", mount.Top)
	w.figures()
	ranges := []permitted{{"outlet and controls", "height controls low", "height controls high"}}
	if public, ok := r.Public.Get(); ok && public {
		ranges = append(ranges, permitted{"outlet of a public point", "pas 1899 socket low", "pas 1899 socket high"})
	}
	ranges = append(ranges, permitted{"underside", "height lowest", ""})
	switch screen, said := mount.Screen.Get(); {
	case !said:
		w.missing = append(w.missing, "whether it has a screen")
	case screen:
		ranges = append(ranges, permitted{"highest control, with a screen", "", "height highest with screen"})
	default:
		ranges = append(ranges, permitted{"highest control, without a screen", "", "height highest without screen"})
	}
	w.ranges(m, ranges)
	var places []string
	for _, p := range points {
		if place := p.Record.Mounting.Place; place != "" {
			places = append(places, place)
		}
	}
	w.words(title, Names(places))
	s.Shapes = []Shape{Group{ID: s.Name, Title: s.Title, Shapes: s.Shapes}}
	return s
}

// wall gathers the shapes of an elevation and what it has to say in words.
type wall struct {
	scene   *Scene
	heights []dimension
	missing []string
	notes   []string // numbered sources of the ranges
	said    []string
}

// dimension is one height to be written.
type dimension struct {
	what string
	at   quantity.Metres
}

func (w *wall) add(shapes ...Shape) { w.scene.Shapes = append(w.scene.Shapes, shapes...) }

func wallY(h quantity.Metres) float64 { return groundY - float64(h)*wallScale }

// ground is the level a person stands on.
func (w *wall) ground() {
	w.add(Line{XY{wallLeft, groundY}, XY{columnWidth - 2, groundY}, Stroke{Ink: Black, Width: 0.6}})
	for x := wallLeft + 2; x < columnWidth-2; x += 4 {
		w.add(Line{XY{x, groundY}, XY{x - 2, groundY + 2}, fine})
	}
}

// person is a standing adult, for the eye only.
func (w *wall) person() {
	const tall = 1.70
	at := func(x, h float64) XY { return XY{personX + x, groundY - h*wallScale} }
	w.add(
		Circle{Centre: at(0, tall-0.1), Radius: 0.1 * wallScale, Fill: Pale},
		Path{Points: []XY{at(-7, 1.46), at(7, 1.46), at(8.6, 1.38), at(9, 0.8), at(6.6, 0.8), at(6, 1.2), at(5.2, 0.75), at(4.6, 0.02), at(0.9, 0.02),
			at(0.5, 0.7), at(-0.5, 0.7), at(-0.9, 0.02), at(-4.6, 0.02), at(-5.2, 0.75), at(-6, 1.2), at(-6.6, 0.8), at(-9, 0.8), at(-8.6, 1.38)}, Closed: true,
			Fill: Pale},
		Text{At: at(0, tall+0.05), Text: "1.70 m", Size: textSize, Anchor: Middle, Ink: Grey},
	)
}

// enclosure draws the box between underside and top; an edge that is not
// known is open.
func (w *wall) enclosure(underside, top quantity.Maybe[quantity.Metres]) {
	low, hasLow := underside.Get()
	high, hasHigh := top.Get()
	left, right := boxX-enclosureW/2, boxX+enclosureW/2
	bold := Stroke{Ink: Black, Width: 0.6}
	switch {
	case hasLow && hasHigh && high > low:
		w.add(Rectangle{XY{left, wallY(high)}, enclosureW, wallY(low) - wallY(high), White, bold})
	case hasLow:
		y := wallY(low)
		w.add(Path{Points: []XY{{left, y - 9}, {left, y}, {right, y}, {right, y - 9}}, Stroke: bold})
	case hasHigh:
		y := wallY(high)
		w.add(Path{Points: []XY{{left, y + 9}, {left, y}, {right, y}, {right, y + 9}}, Stroke: bold})
	}
}

// height notes a height to be dimensioned, and marks the outlet and controls.
func (w *wall) height(what string, h quantity.Maybe[quantity.Metres]) {
	at, ok := h.Get()
	if !ok {
		w.missing = append(w.missing, "height of the "+what)
		return
	}
	w.said = append(w.said, what+" at "+millimetres(at))
	w.heights = append(w.heights, dimension{what, at})
	switch y := wallY(at); what {
	case "outlet":
		w.add(Circle{Centre: XY{boxX, y - 2.6}, Radius: 2.6, Fill: White, Stroke: firm},
			Circle{Centre: XY{boxX, y - 2.6}, Radius: 0.7, Fill: Black})
	case "highest control":
		w.add(Rectangle{XY{boxX - 2.5, y}, 5, 2.4, White, firm})
	}
}

// figures writes the heights to the left of the enclosure, moved apart where
// they would touch, each with a line to what it measures.
func (w *wall) figures() {
	const apart = 4.2
	sorted := append([]dimension{}, w.heights...)
	for i := range sorted { // highest first; there are four at most
		for j := i + 1; j < len(sorted); j++ {
			if sorted[j].at > sorted[i].at {
				sorted[i], sorted[j] = sorted[j], sorted[i]
			}
		}
	}
	y := make([]float64, len(sorted))
	for i, d := range sorted {
		y[i] = wallY(d.at)
		if i > 0 {
			y[i] = max(y[i], y[i-1]+apart)
		}
	}
	for i := len(y) - 1; i >= 0; i-- { // back up from the ground
		limit := groundY - 1.5
		if i < len(y)-1 {
			limit = y[i+1] - apart
		}
		y[i] = min(y[i], limit)
	}
	for i, d := range sorted {
		at := wallY(d.at)
		w.add(Line{XY{boxX + enclosureW/2, at}, XY{boxX - enclosureW/2 - 1, at}, Stroke{Ink: Black, Width: 0.2}},
			Line{XY{boxX - enclosureW/2 - 1, at}, XY{figuresX + 2.6, y[i]}, Stroke{Ink: Black, Width: 0.2}},
			Text{At: XY{figuresX + 2, y[i] + 1.2}, Text: fmt.Sprintf("%.0f", float64(d.at)*1000), Size: textSize, Anchor: End, Bold: true, Ink: Black})
	}
}

// ranges draws each permitted range as a band at its height, open where the
// rule has no end, with a number for its source.
func (w *wall) ranges(m *model.Model, ranges []permitted) {
	const pitch, width = 8.5, 3.6
	for i, r := range ranges {
		x := bandsX + pitch*float64(i)
		low, high := 0.0, wallTop
		source := ""
		known := true
		for _, end := range []struct {
			key string
			at  *float64
		}{{r.lowKey, &low}, {r.highKey, &high}} {
			if end.key == "" {
				continue
			}
			v, cite, err := m.Rules.Limit(end.key)
			if err != nil {
				known = false
				break
			}
			*end.at, source = v, cite.String()
		}
		number := fmt.Sprint(i + 1)
		if !known {
			w.notes = append(w.notes, number+" "+r.what+": range not known")
			continue
		}
		top, bottom := groundY-high*wallScale, groundY-low*wallScale
		w.add(Rectangle{XY{x, top}, width, bottom - top, Pale, Stroke{}})
		edge := func(y float64) Shape { return Line{XY{x - 1, y}, XY{x + width + 1, y}, firm} }
		figure := func(h float64, y float64) Shape {
			return Text{At: XY{x + width/2, y}, Text: fmt.Sprintf("%.0f", math.Round(h*1000)), Size: textSize, Anchor: Middle, Ink: Black}
		}
		text := r.what + " "
		if r.highKey != "" {
			w.add(edge(top), figure(high, top-1.2))
		}
		if r.lowKey != "" {
			w.add(edge(bottom), figure(low, bottom+3.7))
		}
		switch {
		case r.lowKey == "":
			text += fmt.Sprintf("up to %.0f mm", high*1000)
		case r.highKey == "":
			text += fmt.Sprintf("%.0f mm or higher", low*1000)
		default:
			text += fmt.Sprintf("%.0f to %.0f mm", low*1000, high*1000)
		}
		w.add(Text{At: XY{x + width/2, (max(top, 8) + bottom) / 2}, Text: number, Size: textSize, Anchor: Middle, Bold: true, Ink: Black})
		w.notes = append(w.notes, number+" "+text+": "+source)
		w.said = append(w.said, "range: "+text)
	}
}

// words writes the legend below the ground: what the bands are, where they
// stand, and what is not known.
func (w *wall) words(title, place string) {
	y := groundY + 3.5
	set := func(text string, bold bool, ink Ink) {
		for _, line := range Wrap(Printable(text), columnWidth-2*wallLeft, textSize, bold) {
			y += leading
			w.add(Text{At: XY{wallLeft, y}, Text: line, Size: textSize, Bold: bold, Ink: ink})
		}
	}
	set(list(title, place), true, Black)
	names := ""
	for _, d := range w.heights {
		names = list(names, d.what+" "+millimetres(d.at))
	}
	if names != "" {
		set(names, false, Black)
	}
	if len(w.missing) > 0 {
		set("not known: "+list(w.missing...), false, Black)
		w.said = append(w.said, "not known: "+list(w.missing...))
	}
	for _, n := range w.notes {
		set(n, false, Grey)
	}
	w.scene.Height = y + 3
	w.scene.Description = list(w.said...)
}
