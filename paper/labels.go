package paper

import (
	"slices"
	"strconv"
	"strings"
	"time"

	"chargewright/document"
	"chargewright/drawing"
	"chargewright/model"
	"chargewright/trade"
	"chargewright/works"
)

// circuitChart is the chart that hangs at a board: every way on one page, those
// the job knows in words, the others to be written in.
func circuitChart(m *model.Model, made time.Time) *document.Document {
	d := newDocument(m, made, "Circuit charts", "To hang at each board. It holds what this job knows: add by hand what else the board feeds (514.9.1).")
	for i, b := range m.Boards {
		fed := "the supply"
		if b.Feed != nil {
			fed = b.Feed.Record.From + ", " + b.Feed.Record.Name
		}
		facts := document.Fields{{What: "Place", Value: written(b.Record.Place)}, {What: "Fed from", Value: fed}}
		var loads []string
		for _, l := range b.Loads {
			loads = append(loads, join(l.Name, ifKnown("%s", l.Phases)))
		}
		if len(loads) > 0 {
			facts = append(facts, document.Fact{What: "Feeds as well, way not recorded", Value: strings.Join(loads, "; ")})
		}
		d.Sections = append(d.Sections, document.Section{Heading: drawing.Named("Board", b.Record.Name), NewPage: i > 0, Blocks: []document.Block{facts,
			document.Caution{Head: "Before a cover comes off",
				Lines: []string{"Isolate, lock off, prove dead. A cover hides live parts even with the main switch off."}}, wayTable(b)}})
	}
	return d
}

// room is the height that a page of a chart has for its ways, in mm, below all
// that stands above them.
const chartRoom = 170.0

// wayTable is every way of a board in its order, and what stands on no way that
// has a number.
func wayTable(b *model.Board) document.Table {
	t := document.Table{Small: true, Columns: []document.Column{{Head: "Way", Share: 12}, {Head: "Feeds", Share: 44}, {Head: "Lines", Share: 16},
		{Head: "Device", Share: 40}, {Head: "RCD", Share: 36}, {Head: "Cable", Share: 32}}}
	at := map[int][]*model.Circuit{}
	last := b.Record.Ways.Or(0)
	var elsewhere []*model.Circuit
	for _, c := range b.Circuits {
		if n, err := strconv.Atoi(c.Record.Way); err == nil && n > 0 && n <= max(last, mostWays) {
			at[n], last = append(at[n], c), max(last, n)
		} else {
			elsewhere = append(elsewhere, c)
		}
	}
	if !b.Record.Ways.IsKnown() {
		last += 3 // room for what else is there
	}
	for n := 1; n <= last; n++ {
		if len(at[n]) == 0 {
			t.Rows = append(t.Rows, document.Row{Cells: document.Cells(itoa(n), "", "", "", "", "")})
		}
		for _, c := range at[n] {
			t.Rows = append(t.Rows, wayRow(c))
		}
	}
	for _, c := range elsewhere {
		t.Rows = append(t.Rows, wayRow(c))
	}
	for i := range t.Rows {
		t.Rows[i].Least = min(9, chartRoom/float64(len(t.Rows)))
	}
	return t
}

// mostWays is how far a chart counts where the board's own number is not known.
const mostWays = 96

func wayRow(c *model.Circuit) document.Row {
	r := c.Record
	rcd, ok := c.RCD()
	text := "none"
	if ok {
		text = rcdText(&rcd)
	}
	return document.Row{Cells: []document.Cell{{Text: orNotKnown(r.Way), Bold: true}, {Text: r.Name + " → " + orNotKnown(r.To)},
		{Text: ifKnown("%s", r.Phases)}, {Text: join(ifKnown("%s", r.Device.Type), ifKnown("%v", r.Device.Rating))}, {Text: text},
		{Text: join(ifKnown("%v", r.Cable.CSA), ifKnown("%s", r.Cable.Construction))}}}
}

// label is one label at its true size: a heading, a name or number large beside
// it, lines below, and where it hangs. Wording is our own; the clauses say that
// there must be one.
type label struct {
	large bool // 100 × 50 mm, else 75 × 25 mm
	sign  bool // the sign for electric shock (ISO 7010 W012) beside it
	head  string
	big   string
	lines []string
	hangs string // where, and by which clause
}

// labelsOf is every label this job needs.
func labelsOf(m *model.Model) []label {
	var out []label
	add := func(l label) {
		l.lines = nonEmpty(l.lines)
		out = append(out, l)
	}
	for _, b := range m.Boards {
		fed := "the supply"
		if b.Feed != nil {
			fed = wayOf(b.Feed.Record)
		}
		add(label{large: true, sign: true, head: drawing.Named("Board", b.Record.Name), lines: []string{"Fed from " + fed, "Isolate and prove dead before opening"},
			hangs: "on the board"})
		for _, r := range b.Record.RCDs {
			add(label{head: join("RCD", r.Name), lines: []string{"Press T twice a year"}, hangs: "by the RCD (514.12.2)"})
		}
		if len(b.Record.Surge) > 0 && !b.Record.Surge[0].Declined.Or(false) {
			add(label{head: "Surge protector", lines: []string{"Colour changed: call"}, hangs: "by its window, " + b.Record.Name})
		}
	}
	for _, p := range m.Points {
		r := p.Record
		from := ""
		if c := p.Circuit; c != nil {
			from = "Fed from " + wayOf(c.Record)
			if isolator, known := c.Record.Isolator.Get(); known && isolator > 0 {
				add(label{head: "Isolator, " + r.Name, lines: []string{from}, hangs: "on the isolator of " + c.Record.Name})
			}
			if c.Record.RCD.Residual.IsKnown() {
				add(label{head: before("Way ", orNotKnown(c.Record.Way)) + ": " + r.Name, lines: []string{"RCD: press T twice a year"},
					hangs: "by the RCD, " + c.Record.From + " (514.12.2)"})
			}
		}
		add(label{large: true, head: "Charge point", big: r.Name, lines: []string{from, setTo(m, r), callLine(m.Job.Handover.Call)}, hangs: "by the point"})
		switch r.Earthing.Measure.Or("") {
		case trade.SeparateElectrode:
			add(label{large: true, sign: true, head: "Earthed by its own electrode", lines: []string{"Do not join to the earthing of the building",
				r.Earthing.Electrode}, hangs: "in " + r.Name})
		case trade.OpenPENDetection:
			add(label{large: true, sign: true, head: "Goes off when a wire of the street breaks", lines: []string{"Do not reset: have the supply looked at first"},
				hangs: "by the device, " + r.Name})
		}
	}
	const connection = "Safety electrical connection"
	for _, e := range m.Job.Electrodes {
		add(label{head: connection, lines: []string{"Do not remove"}, hangs: "at electrode " + e.Name + " (514.13.1)"})
	}
	for _, b := range m.Job.Supply.Bonding {
		add(label{head: connection, lines: []string{"Do not remove"}, hangs: "at the bond to " + b.To + " (514.13.1)"})
	}
	for _, l := range m.Job.Limiters {
		add(label{head: "Limiter clamp", lines: []string{"Do not move." + before(" Holds to ", ifKnown("%v", l.Limit))}, hangs: "by the clamps of " + l.Name})
	}
	if names := model.SourceNames(m.Job); len(names) > 0 {
		add(label{large: true, sign: true, head: "More than one supply", lines: []string{"Isolate the mains and " + strings.Join(names, ", ")},
			hangs: "at the origin and at each board (514.15.1)"})
	}
	if due, ok := dueDate(&m.Job.Certificate); ok {
		add(label{head: "Tested " + m.Job.Certificate.Completed, lines: []string{"Test again by " + due.Format("2 January 2006")}, hangs: "at the origin (514.12.1)"})
	}
	return out
}

func wayOf(c *works.Circuit) string { return c.From + ", way " + orNotKnown(c.Way) }

// setTo is the current a point is set to.
func setTo(m *model.Model, r *works.Point) string {
	if limit, set := r.Limit.Get(); set {
		return "Set to " + limit.String()
	}
	if i, known := m.RatedCurrent(r).Get(); known {
		return "Set to " + i.String()
	}
	return ""
}

// labelSheet sets the labels at their true size, with marks to cut along.
func labelSheet(m *model.Model, made time.Time) *document.Document {
	d := newDocument(m, made, "Labels", "100 × 50 and 75 × 25 mm, with where each hangs below it. Print at 100 % on durable stock and cut at the marks. "+
		"Wording is ours: hold it against the clause and the place before it is fixed.")
	d.Narrow = true
	var large, small []drawing.Scene
	for _, l := range labelsOf(m) {
		if l.large {
			large = append(large, l.scene())
		} else {
			small = append(small, l.scene())
		}
	}
	sheet := document.Picture{Scenes: []drawing.Scene{trueSize()}, Close: true}
	for _, l := range large {
		sheet.Scenes = append(sheet.Scenes, l)
		if n := min(2, len(small)); n > 0 {
			sheet.Scenes, small = append(sheet.Scenes, stacked(small[:n])), small[n:]
		}
	}
	sheet.Scenes = append(sheet.Scenes, small...)
	d.Sections = []document.Section{{Blocks: []document.Block{sheet}}}
	return d
}

// stacked sets small labels one below the other, to stand beside a large one.
func stacked(small []drawing.Scene) drawing.Scene {
	out := small[0]
	out.Shapes = slices.Clone(out.Shapes)
	for _, one := range small[1:] {
		out.Shapes = append(out.Shapes, one.At(0, out.Height-labelMargin)...)
		out.Title += "; " + one.Title
		out.Description += "; " + one.Description
		out.Height += one.Height - labelMargin
	}
	return out
}

// Millimetres of a label, and around it.
const (
	labelMargin = document.CloseGap // for the marks; labels side by side share it
	labelPad    = 5.0
	capShare    = 0.72 // height of a capital over the size of its letters
)

// scene draws a label as large as its room allows, with capitals of at least
// 4 mm on a large one and 2.7 mm on a small one. Where its words ask for more room
// than that, the label grows.
func (l label) scene() drawing.Scene {
	w, h, heading, body, least := 75.0, 25.0, 6.5, 4.9, 2.7/capShare
	if l.large {
		w, h, heading, body, least = 100, 50, 9, 7, 4/capShare
	}
	for {
		s, high := l.set(w, h, heading, body)
		if high <= h || body <= least {
			return s
		}
		heading, body = max(0.95*heading, least), max(0.95*body, least)
	}
}

// set draws a label in letters of two sizes, and says how high it is.
func (l label) set(w, h, heading, body float64) (drawing.Scene, float64) {
	s := drawing.Scene{Name: "label", Title: strings.TrimSpace(l.head + " " + l.big), Description: join(append([]string{l.head, l.big}, l.lines...)...),
		Width: w + 2*labelMargin}
	black := drawing.Stroke{Ink: drawing.Black, Width: 0.3}
	left, right, y := labelMargin+labelPad, labelMargin+w-labelPad, labelMargin+labelPad-1
	put := func(text string, at, to, size float64, bold bool) {
		for _, line := range drawing.Wrap(drawing.Printable(text), to-at, size, bold) {
			y += size * 1.05
			s.Shapes = append(s.Shapes, drawing.Text{At: drawing.XY{X: at, Y: y}, Text: line, Size: size, Bold: bold, Ink: drawing.Black})
			y += size * 0.15
		}
	}
	at, edge := left, right
	if l.sign {
		s.Shapes = append(s.Shapes, shockSign(left, y+1, 17)...)
		at += 21
	}
	head, big := l.head, l.big
	size := 12 / capShare // the number, with capitals of 12 mm where it fits
	if wide := drawing.Measure(big, size, true); wide > 0.62*(right-left) {
		size *= 0.62 * (right - left) / wide
	}
	if size < heading { // a name, not a number: it is set as words are
		head, big = head+" "+big, ""
	}
	if big != "" {
		s.Shapes = append(s.Shapes, drawing.Text{At: drawing.XY{X: right, Y: y + 12.5}, Text: drawing.Printable(big), Size: size, Bold: true,
			Anchor: drawing.End, Ink: drawing.Black})
		edge -= drawing.Measure(big, size, true) + 3
	}
	top := y
	put(head, at, edge, heading, true)
	if big != "" {
		y = max(y, top+14)
	}
	if l.sign {
		y = max(y, top+4)
	}
	for _, text := range l.lines {
		from := left
		if l.sign && y < top+19 {
			from = at
		}
		y += 0.6
		put(text, from, right, body, false)
	}
	h = max(h, y+labelPad-labelMargin)
	s.Shapes = append(s.Shapes, drawing.Rectangle{At: drawing.XY{X: labelMargin, Y: labelMargin}, Width: w, Height: h, Stroke: black})
	const mark = 3.0
	for _, x := range []float64{labelMargin, labelMargin + w} {
		for _, edge := range []struct{ from, to float64 }{{labelMargin - 0.6 - mark, labelMargin - 0.6}, {labelMargin + h + 0.6, labelMargin + h + 0.6 + mark}} {
			s.Shapes = append(s.Shapes, drawing.Line{From: drawing.XY{X: x, Y: edge.from}, To: drawing.XY{X: x, Y: edge.to}, Stroke: black})
		}
	}
	for _, y := range []float64{labelMargin, labelMargin + h} {
		for _, edge := range []struct{ from, to float64 }{{labelMargin - 0.6 - mark, labelMargin - 0.6}, {labelMargin + w + 0.6, labelMargin + w + 0.6 + mark}} {
			s.Shapes = append(s.Shapes, drawing.Line{From: drawing.XY{X: edge.from, Y: y}, To: drawing.XY{X: edge.to, Y: y}, Stroke: black})
		}
	}
	below, end := document.SetSmall(l.hangs, labelMargin+1.5, labelMargin+h+0.2, w-3)
	s.Shapes, s.Height = append(s.Shapes, below...), max(end+0.2, 2*labelMargin+h)
	return s, h
}

// shockSign is a triangle with a bolt, its top left corner at x, y.
func shockSign(x, y, side float64) []drawing.Shape {
	high := side * 0.87
	stroke := drawing.Stroke{Ink: drawing.Black, Width: 1.1}
	line := func(points ...drawing.XY) (out []drawing.Shape) {
		for i := range points[1:] {
			out = append(out, drawing.Line{From: points[i], To: points[i+1], Stroke: stroke})
		}
		return out
	}
	top, right, left := drawing.XY{X: x + side/2, Y: y}, drawing.XY{X: x + side, Y: y + high}, drawing.XY{X: x, Y: y + high}
	bolt := []drawing.XY{{X: x + 0.56*side, Y: y + 0.28*high}, {X: x + 0.42*side, Y: y + 0.58*high}, {X: x + 0.6*side, Y: y + 0.58*high},
		{X: x + 0.46*side, Y: y + 0.88*high}}
	return append(line(top, right, left, top), line(bolt...)...)
}

// trueSize is a bar to lay a rule on.
func trueSize() drawing.Scene {
	s := drawing.Scene{Name: "rule", Title: "A bar of 100 mm", Description: "A bar of 100 mm to lay a rule on", Width: 150, Height: 6}
	stroke := drawing.Stroke{Ink: drawing.Black, Width: 0.25}
	s.Shapes = append(s.Shapes, drawing.Line{From: drawing.XY{X: labelMargin, Y: 5}, To: drawing.XY{X: labelMargin + 100, Y: 5}, Stroke: stroke})
	for mm := 0.0; mm <= 100; mm += 10 {
		s.Shapes = append(s.Shapes, drawing.Line{From: drawing.XY{X: labelMargin + mm, Y: 5}, To: drawing.XY{X: labelMargin + mm, Y: 3}, Stroke: stroke})
	}
	words, _ := document.SetLines("100 mm: lay a rule on it", labelMargin+103, 2, 45, false)
	s.Shapes = append(s.Shapes, words...)
	return s
}
