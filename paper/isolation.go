package paper

import (
	"fmt"
	"time"

	"chargewright/document"
	"chargewright/model"
)

// isolationSheet says what is made dead for the work, for how long, who agreed,
// and in which order; it is signed on site before anyone begins.
func isolationSheet(m *model.Model, made time.Time) *document.Document {
	j := m.Job
	d := newDocument(m, made, "Isolation and method sheet",
		"What goes off, for how long and by whose leave; the hazards of the place; the stages of the work. Agreed and signed before anyone begins.")
	d.Sections = []document.Section{
		{Heading: "The rule", Blocks: []document.Block{document.Caution{Head: "Live until proved dead", Lines: []string{
			"Work on or near live parts is dangerous, and is done only where it is unreasonable to work dead, by persons competent for it, with the risk assessed.",
			"Every conductor is live until it was proved dead, at the place of work, by the one who works on it.",
			"Electricity at Work Regulations 1989, regulations 4, 12 to 14 and 16 (from memory): local rules and the person in charge may ask for more."}}}},
		{Heading: "What is made dead", Blocks: isolations(m)},
		{Heading: "Every isolation, step by step", Blocks: []document.Block{stepsTable("Done by, time", []string{
			"Tell everyone affected. See that nobody's safety or work hangs on what goes off: alarms, lifts, cold rooms, medical equipment, pumps.",
			"Find the right point of isolation from the chart, not from memory; look for a second supply: solar, battery, generator, vehicle.",
			"Switch off, lock off with your own lock, keep the key, hang the notice with your name.",
			"Prove the two-pole tester on a known source or proving unit.",
			"Prove dead at the place of work: line to neutral, line to earth, neutral to earth; on three phases all ten pairs.",
			"Prove the tester again on the same source. Only now is it dead.",
			"Leave for tea, leave for the night, lose sight of the lock: prove dead again.",
			"Before it goes on again: tools and people out, covers on, dead tests done and met, everyone told. The one whose lock it is takes it off."})}},
		{Heading: "Hazards of this place", Blocks: hazards(m)},
		{Heading: "The work, in stages", Blocks: []document.Block{stages(m)}},
		{Heading: "People", Blocks: []document.Block{people(m), document.Lines{"Person in charge of the site", "Date, time", "Person doing the work", "Date, time"}}},
		{Heading: "If something goes wrong", Whole: true, Blocks: []document.Block{document.Paragraph{Text: "Shock: do not touch the person; switch off, or " +
			"push the contact away with dry wood. Call 999, start resuscitation, send for a defibrillator. Burns from an arc go to hospital even when they look " +
			"small. Then leave everything as it is, and tell the person in charge."},
			document.Lines{"Nearest defibrillator", "First aider", "Way in for an ambulance", "Isolator of the whole site"}}},
	}
	if j.Stage != "" {
		d.Sections[0].Blocks = append(d.Sections[0].Blocks, document.Paragraph{Text: "The job stands at: " + string(j.Stage) + "."})
	}
	return d
}

func stepsTable(doneHead string, steps []string) document.Table {
	t := document.Table{Columns: []document.Column{{Head: "", Share: 8, Right: true}, {Head: "Step", Share: 122}, {Head: doneHead, Share: 40, Boxed: true}}}
	for i, s := range steps {
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: itoa(i + 1)}, {Text: s}, {}}, Least: 9})
	}
	return t
}

func isolations(m *model.Model) []document.Block {
	if len(m.Job.Isolations) == 0 {
		return []document.Block{document.Paragraph{Text: "Nothing is entered yet under isolations. Write it in, and enter it in the job."},
			document.Lines{"What is made dead", "At which point", "From, for how long", "What else goes off", "Agreed with", "Locked by, key with"}}
	}
	t := document.Table{Columns: []document.Column{{Head: "What", Share: 28}, {Head: "At", Share: 34}, {Head: "Locked off", Share: 36},
		{Head: "From", Share: 24}, {Head: "For", Share: 16}, {Head: "Agreed with", Share: 28}}}
	for _, i := range m.Job.Isolations {
		length := ""
		if s, ok := i.For.Get(); ok {
			length = minutes(float64(s))
		}
		row := document.Row{Cells: document.Cells(capital(i.What), written(i.At), written(i.Locked), orNotKnown(i.From), orNotKnown(length), written(i.Agreed))}
		row.Cells[0].Bold = true
		if i.Affects != "" {
			row.Under = append(row.Under, document.Note{Label: "also off", Text: i.Affects})
		}
		t.Rows = append(t.Rows, row)
	}
	return []document.Block{t}
}

// minutes prints a length of time as a person plans it.
func minutes(seconds float64) string {
	n := int(seconds/60 + 0.5)
	if n < 60 {
		return fmt.Sprintf("%d min", n)
	}
	return fmt.Sprintf("%d h %02d min", n/60, n%60)
}

// hazards is each hazard of the place with what is done about it. One nobody
// answered is printed with room to write.
func hazards(m *model.Model) []document.Block {
	t := document.Table{Columns: []document.Column{{Head: "Hazard", Share: 66}, {Head: "What is done about it, and by whom", Share: 104}}}
	answered := func(hazard string) bool {
		for _, p := range m.Job.Precautions {
			if p.Hazard == hazard {
				return true
			}
		}
		return false
	}
	for _, p := range m.Job.Precautions {
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: capital(p.Hazard), Bold: true}, {Text: written(p.Measure)}}})
	}
	for _, h := range m.Job.Site.Hazards {
		if !answered(h) {
			t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: capital(h), Bold: true},
				{Text: "not settled: enter it under precautions, or write it here"}}, Least: 14})
		}
	}
	out := []document.Block{}
	if len(t.Rows) == 0 {
		out = append(out, document.Paragraph{Text: "No hazard is recorded. That nobody wrote one down does not mean that there is none: walk the route first."})
	} else {
		out = append(out, t)
	}
	return append(out, document.Paragraph{Text: "On any such job look as well for: buried services before digging, asbestos before drilling, work at " +
		"height, traffic in bays, dust and vapour that can burn, and people who were not told."})
}

// stages is the order of the work, dead before live.
func stages(m *model.Model) document.Table {
	list := []string{
		"Survey and agree: route, hazards, isolation, this sheet signed.",
		"Fence off the work; locate buried services before any ground is opened.",
		"Run and fix the cables, both ends left disconnected and capped.",
		"Isolate, lock off, prove dead; connect at the board.",
		"Fix and connect the points, covers off only while dead.",
		"Dead tests in the order of the test sheet. Nothing goes on before all are done and met.",
		"Covers on; take off the lock; energise with everyone told.",
		"Live tests, by one competent person with the area kept clear.",
		"Commission the points and the load limiting by the settings card.",
		"Label, show the owner, hand over; leave nothing half connected overnight.",
	}
	for _, e := range m.Job.Electrodes {
		list[2] += " Drive the electrode " + e.Name + " clear of located services."
	}
	return stepsTable("Begun, done", list)
}

func people(m *model.Model) document.Block {
	t := document.Table{Columns: []document.Column{{Head: "Name", Share: 50}, {Head: "As", Share: 60}, {Head: "Firm, telephone", Share: 60}}}
	for _, p := range m.Job.People {
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: p.Name, Bold: true}, {Text: p.Role}, {Text: join(p.Firm, p.Phone)}}})
	}
	if len(t.Rows) == 0 {
		return document.Lines{"Name, role", "Name, role"}
	}
	return t
}
