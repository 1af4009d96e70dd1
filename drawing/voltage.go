package drawing

import (
	"fmt"
	"math"

	"chargewright/model"
	"chargewright/quantity"
)

// The picture of voltage and current along the line: one column a place, from
// the origin to the point that stands lowest.
const (
	alongHeight = 62.0
	alongTop    = 14.0
	alongFoot   = 46.0 // height of the lowest voltage drawn
	alongStep   = 34.0
	alongLeft   = 16.0
)

// stop is one place on the way, with the line that is lowest at the end.
type stop struct {
	name    string
	volts   quantity.Volts
	amperes quantity.Amperes // on the way to it
	neutral quantity.Amperes
}

// VoltageAlong draws voltage line to neutral and current from the origin to
// the point whose voltage is lowest with every point on.
func VoltageAlong(m *model.Model) Scene {
	s := Scene{Name: "voltage", Title: "Voltage and current along the line, every point on", Width: alongLeft + 30, Height: alongHeight}
	stops := lowestWay(m)
	if len(stops) == 0 {
		s.Description = "The load flow is not known."
		s.Shapes = []Shape{Text{At: XY{4, 10}, Text: "voltage along the line: not known", Size: 3.2, Ink: Black}}
		return s
	}
	s.Width = alongLeft + alongStep*float64(len(stops)-1) + 26
	high, low := stops[0].volts, stops[len(stops)-1].volts
	if high-low < 1 {
		low = high - 1
	}
	y := func(v quantity.Volts) float64 {
		return alongTop + (alongFoot-alongTop)*float64((high-v)/(high-low))
	}
	way := Path{Stroke: Stroke{Ink: Black, Width: 0.6}}
	s.Description = "From the origin to the point with the lowest voltage:"
	for i, at := range stops {
		x := alongLeft + alongStep*float64(i)
		way.Points = append(way.Points, XY{x, y(at.volts)})
		s.Shapes = append(s.Shapes, Line{XY{x, y(at.volts)}, XY{x, alongFoot + 4}, Stroke{Ink: Grey, Width: 0.2, Dashes: []float64{1, 1}}})
		words := []Shape{
			Circle{Centre: XY{x, y(at.volts)}, Radius: 1, Fill: Black},
			Text{At: XY{x + 2, y(at.volts) - 2}, Text: at.volts.String(), Size: 3.4, Bold: true, Ink: Black},
			Text{At: XY{x, alongFoot + 8}, Text: at.name, Size: 3.2, Anchor: Middle, Ink: Black},
		}
		said := fmt.Sprintf("%s %v", at.name, at.volts)
		if i > 0 {
			current := fmt.Sprintf("%v, N %v", at.amperes, at.neutral)
			words = append(words, Text{At: XY{x - alongStep/2, alongFoot + 12.5}, Text: current, Size: 2.8, Anchor: Middle, Ink: Grey})
			said += fmt.Sprintf(", reached by %v with %v in the neutral", at.amperes, at.neutral)
		}
		s.Description += " " + said + ";"
		s.Shapes = append(s.Shapes, Group{ID: fmt.Sprintf("voltage-%d", i), Title: said, Shapes: words})
	}
	s.Shapes = append([]Shape{way}, s.Shapes...)
	s.Shapes = append(s.Shapes, Text{At: XY{alongLeft - 10, 5},
		Text: fmt.Sprintf("Volts line to neutral, every point on: %v lost on the way", high-stops[len(stops)-1].volts), Size: 3.2, Ink: Black})
	return s
}

// lowestWay returns the way from the origin to the lowest point.
func lowestWay(m *model.Model) []stop {
	at := map[*model.Circuit]model.FlowAt{}
	var worst *model.Circuit
	lowest := quantity.Volts(math.Inf(1))
	for _, f := range m.Flow.At {
		at[f.Circuit] = f
		if f.Circuit.Point != nil && f.Lowest() < lowest {
			worst, lowest = f.Circuit, f.Lowest()
		}
	}
	if worst == nil {
		return nil
	}
	line := 0
	for k, v := range at[worst].Volts {
		if v == lowest {
			line = k
		}
	}
	stops := []stop{{name: "origin", volts: m.Flow.Origin[line]}}
	for _, c := range worst.Path() {
		f, laid := at[c]
		if !laid {
			return nil
		}
		stops = append(stops, stop{c.Record.To, f.Volts[line], f.Lines[line], f.Neutral})
	}
	return stops
}

// LostPEN draws what the main earthing terminal stands at to true earth when
// the PEN conductor is lost, with the points off and on, against the limit.
func LostPEN(off, on model.LostPEN, most quantity.Volts) Scene {
	s := Scene{Name: "lost-pen", Title: "Main earthing terminal to true earth with the PEN conductor lost", Width: 112, Height: 74}
	if !off.Known() || !on.Known() {
		s.Description = "The loss of the PEN conductor could not be studied."
		s.Shapes = []Shape{Text{At: XY{4, 10}, Text: "lost PEN: not known", Size: 3.2, Ink: Black}}
		return s
	}
	const ground, top, full = 56.0, 14.0, 253.0
	y := func(v quantity.Volts) float64 { return ground - (ground-top)*min(1, float64(v)/full) }
	s.Description = fmt.Sprintf("With the points off the terminal stands at %v, with them on at %v; the limit is %v.", off.Terminal, on.Terminal, most)
	s.Shapes = []Shape{
		Text{At: XY{4, 6}, Text: "PEN conductor lost: main earthing terminal to true earth", Size: 3.4, Bold: true, Ink: Black},
		Line{XY{8, ground}, XY{104, ground}, Stroke{Ink: Black, Width: 0.6}},
		Text{At: XY{8, ground + 4.6}, Text: "true earth, 0 V", Size: 2.9, Ink: Grey},
		Line{XY{8, y(most)}, XY{104, y(most)}, Stroke{Ink: Black, Width: 0.4, Dashes: []float64{2, 1.2}}},
		Text{At: XY{104, y(most) - 1.2}, Text: "limit " + most.String(), Size: 2.9, Anchor: End, Ink: Black},
	}
	for i, state := range []struct {
		name string
		lost model.LostPEN
	}{{"points off", off}, {"points on", on}} {
		x := 38 + 32*float64(i)
		bar := Rectangle{At: XY{x - 5, y(state.lost.Terminal)}, Width: 10, Height: ground - y(state.lost.Terminal), Fill: Pale,
			Stroke: Stroke{Ink: Black, Width: 0.4}}
		title := fmt.Sprintf("%s: %v to true earth", state.name, state.lost.Terminal)
		s.Shapes = append(s.Shapes, Group{ID: fmt.Sprintf("lost-pen-%d", i), Title: title, Shapes: []Shape{bar,
			Text{At: XY{x, y(state.lost.Terminal) - 1.6}, Text: state.lost.Terminal.String(), Size: 3.6, Anchor: Middle, Bold: true, Ink: Black},
			Text{At: XY{x, ground + 4.6}, Text: state.name, Size: 3.2, Anchor: Middle, Ink: Black}}})
	}
	s.Shapes = append(s.Shapes, Text{At: XY{8, ground + 12}, Text: "Metal that looks dead may stand at these voltages: isolate and prove dead.", Size: 2.9,
		Ink: Black})
	return s
}
