package drawing

// Surge protection along the line: each device with what its leads add, the
// cable between one device and the next, and what stands unprotected.

import (
	"fmt"

	"chargewright/model"
	"chargewright/quantity"
	"chargewright/works"
)

// The sheet of surge protection, in mm; the scale is kilovolts.
const (
	surgeWidth = 180.0
	surgeText  = 3.0
	surgeLine  = 8.0  // where the line from the street stands
	surgeBars  = 72.0 // where bars begin
	surgeMost  = 3.5  // kV at the right edge
	surgeRow   = 19.0
	surgeBar   = 5.0
)

func surgeX(kilovolts float64) float64 {
	return surgeBars + (surgeWidth-surgeBars-6)*min(kilovolts, surgeMost)/surgeMost
}

// surgeStep is a board or a point on the line.
type surgeStep struct {
	name   string
	depth  int
	metres float64 // of cable since the device ahead
	known  bool
	device *works.Surge
	point  *works.Point
}

// SurgeLine draws the surge protection of a job from the origin outwards.
func SurgeLine(m *model.Model) Scene {
	s := Scene{Name: "surge", Title: "Surge protection along the line", Width: surgeWidth}
	add := func(shapes ...Shape) { s.Shapes = append(s.Shapes, shapes...) }
	add(Text{At: XY{2, 6}, Text: s.Title, Size: 4.2, Bold: true, Ink: Black})
	steps := surgeSteps(m)
	top := 18.0
	foot := top + surgeRow*float64(len(steps))
	limit, _, _ := m.Rules.Limit("spd protection level")
	perMetre, _, _ := m.Rules.Limit("spd lead volts per metre")
	distance, _, _ := m.Rules.Limit("spd distance")
	for kv := 0.0; kv <= surgeMost; kv += 0.5 {
		add(Line{XY{surgeX(kv), top - 2}, XY{surgeX(kv), foot}, Stroke{Ink: Pale, Width: 0.2}},
			Text{At: XY{surgeX(kv), top - 4}, Text: fmt.Sprintf("%.1f", kv), Size: surgeText, Anchor: Middle, Ink: Grey})
	}
	add(Text{At: XY{surgeBars - 6, top - 4}, Text: "kV", Size: surgeText, Anchor: End, Ink: Grey},
		Line{XY{surgeX(limit / 1000), top - 2}, XY{surgeX(limit / 1000), foot}, Stroke{Ink: Black, Width: 0.8}},
		Text{At: XY{surgeX(limit/1000) + 1, top - 8.4}, Text: "limit with leads", Size: surgeText, Bold: true, Ink: Black},
		Line{XY{surgeLine, top - 4}, XY{surgeLine, foot - surgeRow + 4}, Stroke{Ink: Black, Width: 0.6}})
	for i, step := range steps {
		y := top + surgeRow*float64(i)
		x := surgeLine + 5 + 3*float64(step.depth)
		shape := Shape(Rectangle{At: XY{surgeLine - 1.8, y + 1}, Width: 3.6, Height: 3.6, Fill: White, Stroke: Stroke{Ink: Black, Width: 0.5}})
		if step.point != nil {
			shape = Circle{Centre: XY{surgeLine, y + 2.8}, Radius: 1.8, Fill: White, Stroke: Stroke{Ink: Black, Width: 0.5}}
		}
		if step.device != nil {
			if r, ok := shape.(Rectangle); ok {
				r.Fill = Black
				shape = r
			}
		}
		add(shape, Text{At: XY{x, y + 4}, Text: step.name, Size: surgeText + 0.4, Bold: true, Ink: Black})
		ahead := "at the origin"
		if step.depth > 0 {
			ahead = "length of cable from the device ahead not known"
			if step.known {
				ahead = fmt.Sprintf("%v of cable from the device ahead", quantity.Metres(step.metres))
				if step.metres > distance && step.device == nil {
					ahead += fmt.Sprintf(", above %v", quantity.Metres(distance))
				}
			}
		}
		for n, part := range Wrap(Printable(ahead), surgeBars-x-3, surgeText, false) {
			add(Text{At: XY{x, y + 8.2 + 3.9*float64(n)}, Text: part, Size: surgeText, Ink: Grey})
		}
		text, shapes := surgeBarOf(step, y+0.6, perMetre, limit)
		add(shapes...)
		first := y + 4.0
		if len(shapes) > 0 {
			first = y + 9.8
		}
		for n, part := range Wrap(Printable(text), surgeX(limit/1000)-surgeBars-2, surgeText, false) {
			add(Text{At: XY{surgeBars, first + 3.9*float64(n)}, Text: part, Size: surgeText, Ink: Black})
		}
		s.Description += step.name + ", " + ahead + ": " + text + ". "
	}
	s.Height = foot + 2
	return s
}

// surgeBarOf draws Up, then what each lead adds, and says it in words.
func surgeBarOf(step surgeStep, y, perMetre, limit float64) (string, []Shape) {
	if step.device == nil {
		if step.point != nil {
			if v, ok := step.point.Impulse.Get(); ok {
				return fmt.Sprintf("stands %v by its maker", v), nil
			}
			return "impulse withstand not known: from its data", nil
		}
		return "no device", nil
	}
	d := step.device
	up, ok1 := d.ProtectionLevel.Get()
	live, ok2 := d.LiveLead.Get()
	earth, ok3 := d.EarthLead.Get()
	if !ok1 || !ok2 || !ok3 {
		return "protection level or leads not known", nil
	}
	a, b := perMetre*float64(live), perMetre*float64(earth)
	whole := float64(up) + a + b
	bar := func(from, to float64, fill Ink) Shape {
		return Rectangle{At: XY{surgeX(from / 1000), y}, Width: surgeX(to/1000) - surgeX(from/1000), Height: surgeBar, Fill: fill,
			Stroke: Stroke{Ink: Black, Width: 0.35}}
	}
	verdict := fmt.Sprintf("meets %v by %v", quantity.Volts(limit), quantity.Volts(limit-whole))
	if whole > limit {
		verdict = fmt.Sprintf("over %v by %v", quantity.Volts(limit), quantity.Volts(whole-limit))
	}
	return fmt.Sprintf("type %s: Up %v + live lead %v + earth lead %v, at 1 kV/m = %v; %s", d.Type.Or("not known"), up, live, earth, quantity.Volts(whole),
			verdict),
		[]Shape{bar(0, float64(up), Grey), bar(float64(up), float64(up)+a, Pale), bar(float64(up)+a, whole, White)}
}

// surgeSteps walks the boards and points outwards; points alike by distance and
// withstand are drawn once.
func surgeSteps(m *model.Model) []surgeStep {
	var out []surgeStep
	var walk func(b *model.Board, depth int, since float64, known bool)
	walk = func(b *model.Board, depth int, since float64, known bool) {
		step := surgeStep{name: Named("Board", b.Record.Name), depth: depth, metres: since, known: known}
		for i := range b.Record.Surge {
			if !b.Record.Surge[i].Declined.Or(false) {
				step.device = &b.Record.Surge[i]
			}
		}
		out = append(out, step)
		if step.device != nil {
			since, known = 0, true
		}
		var longest *surgeStep
		points := 0
		for _, c := range b.Circuits {
			l, measured := c.Length().Get()
			switch {
			case c.Board != nil:
				walk(c.Board, depth+1, since+float64(l), known && measured)
			case c.Point != nil:
				points++
				p := surgeStep{name: Named("Point", c.Point.Record.Name), depth: depth + 1, metres: since + float64(l), known: known && measured, point: c.Point.Record}
				if longest == nil || !p.known || longest.known && p.metres > longest.metres {
					longest = &p
				}
			}
		}
		if longest != nil {
			if points > 1 {
				longest.name += fmt.Sprintf(", the furthest of %d", points)
			}
			out = append(out, *longest)
		}
	}
	for _, b := range m.Boards {
		if b.Feed == nil {
			walk(b, 0, 0, true)
		}
	}
	return out
}
