package drawing

// Time and current of the devices in series, on logarithmic scales, with the
// fault currents of the job and what its cable withstands.

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"chargewright/design"
	"chargewright/model"
	"chargewright/quantity"
	"chargewright/standard"
)

// The sheet of curves, in mm; the scales run over whole decades.
const (
	curveWidth  = 180.0
	curveLeft   = 16.0
	curveRight  = 6.0
	curveTop    = 16.0
	curvePlot   = 128.0 // height of the plot
	curveText   = 3.0
	curveRow    = 5.2
	curveLeast  = 10.0 // A
	curveMost   = 3e4
	curveSoon   = 0.01 // s
	curveLate   = 1e4
	curvePoints = 240
)

// Curves draws, for every way that devices stand in series in the job, their
// bands on one sheet.
func Curves(m *model.Model) Scene {
	out := Scene{Name: "curves", Title: "Time and current of the devices in series", Width: curveWidth}
	seen := map[string]bool{}
	for _, c := range m.Circuits {
		if c.IsDistribution() {
			continue
		}
		sheet, ok := chainSheet(m, c)
		key := chainKey(m, c)
		if !ok || seen[key] {
			continue
		}
		seen[key] = true
		if out.Height > 0 {
			out.Breaks = append(out.Breaks, out.Height)
		}
		out.Shapes = append(out.Shapes, Group{ID: sheet.Name, Title: sheet.Title, Shapes: sheet.At(0, out.Height)})
		out.Description = strings.TrimSpace(out.Description + " " + sheet.Description)
		out.Height += sheet.Height
	}
	if out.Height == 0 {
		out.Height = 12
		out.Description = "no circuit has a device whose type and rating are known"
		out.Shapes = []Shape{Text{At: XY{2, 8}, Text: out.Description, Size: curveText, Ink: Black}}
	}
	return out
}

// link is one device of a chain.
type link struct {
	device standard.Device
	name   string
	dashes []float64
}

// chain returns the devices from the cut-out down to a circuit, those that are known.
func chain(m *model.Model, c *model.Circuit) []link {
	styles := [][]float64{nil, {2.2, 1.2}, {0.7, 0.9}, {3, 1, 0.7, 1}}
	var out []link
	put := func(d standard.Device, name string) {
		out = append(out, link{d, name, styles[min(len(out), len(styles)-1)]})
	}
	family, ok1 := m.Job.Supply.CutOut.Type.Get()
	rating, ok2 := m.Job.Supply.CutOut.Rating.Get()
	if ok1 && ok2 {
		put(standard.Device{Family: family, Rating: rating}, "cut-out")
	}
	for _, up := range c.Path() {
		if d, known := up.Device().Get(); known {
			put(d, up.Record.Name)
		}
	}
	return out
}

// chainKey tells chains apart that would be drawn differently.
func chainKey(m *model.Model, c *model.Circuit) string {
	var b strings.Builder
	for _, l := range chain(m, c) {
		b.WriteString(l.device.String() + ";")
	}
	if c.From != nil {
		b.WriteString(c.From.Record.Name)
	}
	return b.String()
}

func curveX(i float64) float64 {
	w := curveWidth - curveLeft - curveRight
	return curveLeft + w*math.Log(i/curveLeast)/math.Log(curveMost/curveLeast)
}

func curveY(t float64) float64 {
	t = min(max(t, curveSoon), curveLate)
	return curveTop + curvePlot*(1-math.Log(t/curveSoon)/math.Log(curveLate/curveSoon))
}

// chainSheet draws the chain of one circuit.
func chainSheet(m *model.Model, c *model.Circuit) (Scene, bool) {
	links := chain(m, c)
	if len(links) == 0 {
		return Scene{}, false
	}
	s := Scene{Name: "curves-" + attribute(c.Record.Name), Title: "Devices in series down to " + c.Name(), Width: curveWidth}
	add := func(shapes ...Shape) { s.Shapes = append(s.Shapes, shapes...) }
	add(Text{At: XY{2, 6}, Text: s.Title, Size: 4.2, Bold: true, Ink: Black})
	key := curveTop + curvePlot + 13
	line := func(sample []Shape, text string) {
		add(moved(sample, 2, key)...)
		for _, part := range Wrap(Printable(text), curveWidth-22, curveText, false) {
			add(Text{At: XY{18, key + 1}, Text: part, Size: curveText, Ink: Black})
			key += curveRow
		}
		s.Description += text + ". "
	}
	for _, l := range links {
		add(bandOf(m.Rules, l)...)
	}
	add(curveGrid()...)
	for i, l := range links {
		add(edgesOf(m.Rules, l)...)
		text := l.device.String() + ": " + l.name + letThrough(m, c, l)
		if i > 0 {
			upper := links[i-1]
			icn := c.Record.Device.BreakingCapacity.Or(0)
			for _, up := range c.Path() {
				if up.Record.Name == l.name {
					icn = up.Record.Device.BreakingCapacity.Or(0)
				}
			}
			text += "; " + selective(design.Series(m.Rules, upper.device, l.device, icn), upper.name)
		}
		line([]Shape{Line{XY{0, 0}, XY{13, 0}, Stroke{Ink: Black, Width: 0.5, Dashes: l.dashes}}}, text)
	}
	for _, w := range withstands(c) {
		add(w.shapes...)
		line([]Shape{Line{XY{0, 0}, XY{13, 0}, Stroke{Ink: Grey, Width: 0.9}}}, w.text)
	}
	last := 0.0 // where the circle before stands
	for i, f := range marksOf(m, c) {
		letter := string(rune('a' + i))
		x := curveX(min(max(f.current, curveLeast), curveMost))
		add(Line{XY{x, curveTop}, XY{x, curveTop + curvePlot}, Stroke{Ink: Black, Width: 0.35}},
			Line{XY{x, curveTop}, XY{max(x, last+5.2), curveTop - 3}, Stroke{Ink: Black, Width: 0.35}})
		last = max(x, last+5.2)
		add(Circle{Centre: XY{last, curveTop - 3}, Radius: 2.3, Fill: White, Stroke: Stroke{Ink: Black, Width: 0.3}},
			Text{At: XY{last, curveTop - 1.9}, Text: letter, Size: curveText, Anchor: Middle, Bold: true, Ink: Black})
		if f.within > 0 {
			add(Circle{Centre: XY{x, curveY(f.within)}, Radius: 1.3, Fill: Black, Stroke: Stroke{Ink: White, Width: 0.4}})
		}
		line([]Shape{Circle{Centre: XY{6.5, 0}, Radius: 2.3, Fill: White, Stroke: Stroke{Ink: Black, Width: 0.3}},
			Text{At: XY{6.5, 1.1}, Text: letter, Size: curveText, Anchor: Middle, Bold: true, Ink: Black}}, f.text)
	}
	line(nil, "bands are those of the product standards, any maker; between their points a straight line is read")
	s.Height = key + 2
	return s, true
}

// letThrough says what a device of the chain lets through at the greatest fault
// where it stands, if a standard limits it.
func letThrough(m *model.Model, c *model.Circuit, l link) string {
	for _, up := range c.Path() {
		if up.Record.Name != l.name {
			continue
		}
		f := up.GreatestFault()
		if !f.Known() {
			return ""
		}
		if e, _, err := m.Rules.LetThrough(l.device, f.Current, up.Record.Device.BreakingCapacity.Or(0)); err == nil {
			return fmt.Sprintf("; lets through at most %v at %v", e, f.Current)
		}
	}
	return ""
}

func selective(s design.Selectivity, name string) string {
	switch {
	case math.IsInf(float64(s.Until), 1):
		return "selective with " + name + " at every current"
	case s.Until > 0 && s.Overload:
		return fmt.Sprintf("selective with %s to %v", name, s.Until)
	case s.Until > 0:
		return fmt.Sprintf("faults selective with %s to %v; in the overload range the bands may meet", name, s.Until)
	}
	return "not shown selective with " + name
}

// curveGrid draws scales and lines over the bands.
func curveGrid() []Shape {
	var out []Shape
	foot, right := curveTop+curvePlot, curveWidth-curveRight
	for decade := curveLeast; decade <= curveMost; decade *= 10 {
		for _, n := range []float64{1, 2, 5} {
			i := n * decade
			if i > curveMost*1.001 {
				break
			}
			ink, width := Pale, 0.15
			if n == 1 {
				ink, width = Grey, 0.2
			}
			out = append(out, Line{XY{curveX(i), curveTop}, XY{curveX(i), foot}, Stroke{Ink: ink, Width: width}})
			out = append(out, Text{At: XY{curveX(i), foot + 4}, Text: strings.ReplaceAll(quantity.Amperes(i).String(), " A", ""), Size: curveText - 0.4,
				Anchor: Middle, Ink: Grey})
		}
	}
	for t := curveSoon; t <= curveLate*1.001; t *= 10 {
		out = append(out, Line{XY{curveLeft, curveY(t)}, XY{right, curveY(t)}, Stroke{Ink: Grey, Width: 0.2}},
			Text{At: XY{curveLeft - 1.4, curveY(t) + 1}, Text: strconv.FormatFloat(math.Round(t*100)/100, 'f', -1, 64), Size: curveText, Anchor: End, Ink: Grey})
	}
	return append(out, Rectangle{At: XY{curveLeft, curveTop}, Width: right - curveLeft, Height: curvePlot, Stroke: Stroke{Ink: Black, Width: 0.3}},
		Text{At: XY{2, curveTop - 2}, Text: "time, s", Size: curveText, Ink: Grey},
		Text{At: XY{right, foot + 8}, Text: "current, A", Size: curveText, Anchor: End, Ink: Grey})
}

// trace samples a device's shortest and longest times.
func trace(rules *standard.Rulebook, l link) (soon, late []XY) {
	for n := range curvePoints + 1 {
		i := curveLeast * math.Pow(curveMost/curveLeast, float64(n)/curvePoints)
		shortest, longest, _, err := rules.OperatingTime(l.device, quantity.Amperes(i))
		if err != nil {
			return nil, nil
		}
		if !math.IsInf(float64(shortest), 1) {
			soon = append(soon, XY{curveX(i), curveY(float64(shortest))})
		}
		if !math.IsInf(float64(longest), 1) {
			late = append(late, XY{curveX(i), curveY(float64(longest))})
		}
	}
	return soon, late
}

// bandOf fills the band of a device as far as the standard gives it a shortest
// time; beyond, only the longest is drawn.
func bandOf(rules *standard.Rulebook, l link) []Shape {
	soon, late := trace(rules, l)
	foot := curveY(curveSoon)
	known := 0
	for known < len(soon) && soon[known].Y < foot {
		known++
	}
	if known < 2 || len(late) == 0 {
		return nil
	}
	end := soon[known-1].X
	points := append([]XY{}, soon[:known]...)
	for n := len(late) - 1; n >= 0; n-- {
		if late[n].X <= end {
			points = append(points, late[n])
		}
	}
	points = append(points, XY{min(late[0].X, end), curveY(curveLate)}, XY{soon[0].X, curveY(curveLate)})
	return []Shape{Path{Points: points, Closed: true, Fill: Pale}}
}

// edgesOf draws the two edges of a band, the longest time the heavier.
func edgesOf(rules *standard.Rulebook, l link) []Shape {
	soon, late := trace(rules, l)
	var out []Shape
	for _, e := range []struct {
		points []XY
		width  float64
	}{{soon, 0.3}, {late, 0.55}} {
		if len(e.points) > 1 {
			top := XY{e.points[0].X, curveY(curveLate)}
			out = append(out, Path{Points: append([]XY{top}, e.points...), Stroke: Stroke{Ink: Black, Width: e.width, Dashes: l.dashes}})
		}
	}
	return out
}

// withstand is the adiabatic line of a conductor.
type withstand struct {
	shapes []Shape
	text   string
}

// withstands draws t = k²S²/I² of the weakest line conductor and cpc of the
// circuit, up to the 5 s the formula holds for (BS 7671 543.1.3).
func withstands(c *model.Circuit) []withstand {
	var line, cpc *model.Conductor
	weaker := func(a, b *model.Conductor) *model.Conductor {
		if !b.Known() || b.K == 0 || a != nil && a.K*float64(a.CSA) <= b.K*float64(b.CSA) {
			return a
		}
		return b
	}
	for _, l := range c.Legs {
		line, cpc = weaker(line, &l.Line), weaker(cpc, &l.CPC)
	}
	var out []withstand
	put := func(x *model.Conductor, what string) {
		ks := x.K * float64(x.CSA)
		from, to := max(curveLeast, ks/math.Sqrt(5)), min(curveMost, ks/math.Sqrt(curveSoon))
		if from >= to {
			return
		}
		at := func(i float64) XY { return XY{curveX(i), curveY(ks * ks / (i * i))} }
		out = append(out, withstand{[]Shape{Path{Points: []XY{at(from), at(to)}, Stroke: Stroke{Ink: Grey, Width: 0.9}}},
			fmt.Sprintf("%s of %v stands I²t of %v (k %.0f, up to 5 s)", what, x.CSA, quantity.AmpereSquaredSeconds(ks*ks), x.K)})
	}
	if line != nil {
		put(line, "line conductor")
	}
	if cpc != nil && (line == nil || cpc.K*float64(cpc.CSA) != line.K*float64(line.CSA)) {
		put(cpc, "cpc")
	}
	return out
}

// faultMark is a fault current of the job on the sheet.
type faultMark struct {
	current, within float64
	text            string
}

// marksOf returns the fault currents from the far end of a circuit to the origin.
func marksOf(m *model.Model, c *model.Circuit) []faultMark {
	var out []faultMark // by rising current: a fault is least at the far end
	if f := c.LeastEarthFault(); f.Known() {
		x := faultMark{current: float64(f.Current), text: fmt.Sprintf("least earth fault at the end of %s, %v", c.Name(), f.Current)}
		if t, known := c.DisconnectionTime().Get(); known {
			x.within = float64(t)
			x.text += fmt.Sprintf("; the dot is the %v it must be cut off within", t)
		}
		if x.current < curveLeast {
			x.text += "; it lies left of the sheet, and the RCD cuts it off"
		}
		out = append(out, x)
	}
	for i := len(c.Path()) - 1; i >= 0; i-- {
		b := c.Path()[i].From
		if b == nil {
			continue
		}
		if f := m.GreatestFault(b); f.Known() {
			out = append(out, faultMark{current: float64(f.Current), text: fmt.Sprintf("greatest fault at board %s, %v", b.Record.Name, f.Current)})
		}
	}
	return out
}
