package paper

import (
	"time"

	"chargewright/document"
	"chargewright/drawing"
	"chargewright/job"
	"chargewright/model"
)

// circuitChart is the chart that hangs at a board: every way in words.
func circuitChart(m *model.Model, made time.Time) *document.Document {
	d := newDocument(m, made, "Circuit charts", "To hang at each board. It holds what this job knows: add by hand what else the board feeds (514.9.1).")
	d.Sheet = document.A4Across
	for i, b := range m.Boards {
		t := document.Table{Columns: []document.Column{{Head: "Way", Share: 14}, {Head: "Feeds", Share: 60}, {Head: "Lines", Share: 24},
			{Head: "Device", Share: 52}, {Head: "RCD", Share: 44}, {Head: "Cable", Share: 54}, {Head: "Note", Share: 30, Boxed: true}}}
		for _, c := range b.Circuits {
			r := c.Record
			rcd, ok := c.RCD()
			text := "none"
			if ok {
				text = rcdText(&rcd)
			}
			t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: orNotKnown(r.Way), Bold: true}, {Text: r.Name + " → " + orNotKnown(r.To)},
				{Text: ifKnown("%s", r.Phases)},
				{Text: join(ifKnown("%s", r.Device.Type), ifKnown("%v", r.Device.Rating))}, {Text: text},
				{Text: join(ifKnown("%v", r.Cable.CSA), ifKnown("%s", r.Cable.Construction))}, {}}, Least: 10})
		}
		for _, l := range b.Loads {
			t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{}, {Text: l.Name}, {Text: ifKnown("%s", l.Phases)}, {}, {}, {}, {}}, Least: 10})
		}
		for range 3 { // room for what else is there
			t.Rows = append(t.Rows, document.Row{Cells: make([]document.Cell, 7), Least: 10})
		}
		fed := "the supply"
		if b.Feed != nil {
			fed = b.Feed.Record.From + ", " + b.Feed.Record.Name
		}
		facts := document.Facts{{What: "Board", Value: b.Record.Name}, {What: "Place", Value: written(b.Record.Place)}, {What: "Fed from", Value: fed}}
		d.Sections = append(d.Sections, document.Section{Heading: drawing.Named("Board", b.Record.Name), NewPage: i > 0, Blocks: []document.Block{facts,
			document.Caution{Head: "Before a cover comes off",
				Lines: []string{"Isolate, lock off, prove dead. A cover hides live parts even with the main switch off."}}, t}})
	}
	return d
}

// label is one label: a heading and its lines.
type label struct {
	head  string
	lines []string
}

// labelsOf is every label this job needs. Wording is our own; the clauses say
// that there must be one.
func labelsOf(m *model.Model) []label {
	var out []label
	add := func(head string, lines ...string) { out = append(out, label{head, nonEmpty(lines)}) }
	for _, b := range m.Boards {
		fed := "the supply"
		if b.Feed != nil {
			fed = b.Feed.Record.From + ", way " + orNotKnown(b.Feed.Record.Way)
		}
		add(b.Record.Name, "Fed from "+fed, "Isolate and prove dead before opening")
		for _, r := range b.Record.RCDs {
			add("RCD: press T twice a year", r.Name, "It must drop at once. If not, call an electrician. (514.12.2)")
		}
	}
	own := false
	for _, p := range m.Points {
		r := p.Record
		from := ""
		if c := p.Circuit; c != nil {
			from = "Fed from " + c.Record.From + ", way " + orNotKnown(c.Record.Way)
			own = own || c.Record.RCD.Residual.IsKnown()
		}
		current := ""
		if i, known := m.RatedCurrent(r).Get(); known {
			current = "Set to " + i.String()
			if limit, ok := r.Limit.Get(); ok {
				current = "Set to " + limit.String()
			}
		}
		add(r.Name, from, current, before("Whom to call: ", m.Job.Handover.Call))
		switch r.Earthing.Measure.Or("") {
		case job.SeparateElectrode:
			add("Earthed by its own electrode", r.Name+": do not join it to the earthing of the building", before("Electrode ", r.Earthing.Electrode))
		case job.OpenPENDetection:
			add("Opens when a wire of the street is broken", r.Name+": do not reset it before the supply was looked at")
		}
	}
	if own {
		add("RCD: press T twice a year", "It must drop at once. If not, call an electrician. (514.12.2)")
	}
	for _, e := range m.Job.Electrodes {
		add("Safety electrical connection: do not remove", "Earth electrode "+e.Name+" (514.13.1)")
	}
	if len(m.Job.Supply.Bonding) > 0 {
		add("Safety electrical connection: do not remove", "Bonding conductor (514.13.1)")
	}
	if l := m.SupplyLimiter(); l != nil {
		add("Current clamp of "+l.Name, "Do not move, open or unplug: the points fall to "+orNotKnown(ifKnown("%v", l.FailSafe)))
	}
	if len(m.Job.Supply.OtherSources) > 0 {
		add("More than one supply", "Isolate all of them: the mains and what is named on the chart (514.15.1)")
	}
	if due, ok := dueDate(&m.Job.Certificate); ok {
		add("Inspected and tested "+m.Job.Certificate.Completed, "To be inspected again by "+due.Format("2 January 2006")+" (514.12.1)")
	}
	return out
}

// labelSheet sets the labels, each in a frame to cut out.
func labelSheet(m *model.Model, made time.Time) *document.Document {
	d := newDocument(m, made, "Labels", "To print on durable stock and cut out along the frames. Wording is ours; check against the clause and the place "+
		"before they are fixed.")
	d.Sections = []document.Section{{Heading: "Labels", Blocks: []document.Block{labelPicture(labelsOf(m))}}}
	return d
}

// labelPicture draws labels two to a row, each 85 mm wide.
func labelPicture(labels []label) document.Picture {
	const width, pad = 85.0, 3.0
	var scenes []drawing.Scene
	for _, l := range labels {
		s := drawing.Scene{Name: "label", Title: l.head, Description: l.head, Width: width}
		shapes, y := document.SetLines(l.head, pad, pad, width-2*pad, true)
		s.Shapes = shapes
		for _, text := range l.lines {
			shapes, y = document.SetLines(text, pad, y, width-2*pad, false)
			s.Shapes = append(s.Shapes, shapes...)
		}
		s.Height = y + pad
		s.Shapes = append(s.Shapes, drawing.Rectangle{Width: width, Height: s.Height, Stroke: drawing.Stroke{Ink: drawing.Black, Width: 0.4}})
		scenes = append(scenes, s)
	}
	return document.Picture{Scenes: scenes}
}
