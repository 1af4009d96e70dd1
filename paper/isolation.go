package paper

import (
	"fmt"
	"strings"
	"time"

	"chargewright/document"
	"chargewright/model"
)

// isolationSheet says what is made dead for the work, for how long, who agreed,
// and in which order; it is signed on site before anyone begins.
func isolationSheet(m *model.Model, made time.Time) *document.Document {
	j := m.Job
	d := newDocument(m, made, "Isolation and method sheet",
		"What goes off, for how long and by whose leave. Agreed and signed before anyone begins.")
	d.Sections = []document.Section{
		{Blocks: []document.Block{document.Caution{Head: "Live until proved dead", Lines: []string{
			"Work on or near live parts is dangerous, and is done only where it is unreasonable to work dead, by persons competent for it, with the risk assessed.",
			"Every conductor is live until it was proved dead, at the place of work, by the one who works on it.",
			"Electricity at Work Regulations 1989, regulations 4, 12 to 14 and 16 (from memory): local rules and the person in charge may ask for more."}}}},
		{Heading: "What is made dead", Blocks: isolations(m)},
		{Heading: "Every isolation, step by step", Whole: true, Blocks: []document.Block{stepsTable("Done, time", 7, []string{
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
		{Whole: true, Blocks: append(people(m),
			document.Lines{"In charge of the site, date, time", "Doing the work, date, time"})},
		{Whole: true, Blocks: []document.Block{document.Caution{Head: "If something goes wrong: call 999", Lines: []string{
			"Shock: do not touch the person; switch off, or " +
				"push the contact away with dry wood. Start resuscitation, send for a defibrillator. Burns from an arc go to hospital even when they look " +
				"small. Then leave everything as it is, and tell the person in charge."}},
			document.Lines{"Defibrillator, first aider", "Way in for an ambulance, main isolator"}}},
	}
	if j.Stage != "" {
		d.Subject += " The job stands at: " + string(j.Stage) + "."
	}
	return d
}

// stepsTable is steps in their order with a place beside each, read down and
// then across.
func stepsTable(doneHead string, least float64, steps []string) document.Table {
	t := document.Table{Small: true, Columns: []document.Column{
		{Share: 7, Right: true}, {Head: "Step", Share: 65}, {Head: doneHead, Share: 18, Boxed: true},
		{Share: 7, Right: true}, {Head: "Step", Share: 65}, {Head: doneHead, Share: 18, Boxed: true}}}
	half := (len(steps) + 1) / 2
	for i := range half {
		row := document.Row{Cells: []document.Cell{{Text: itoa(i + 1)}, {Text: steps[i]}, {}, {}, {}, {}}, Least: least}
		if k := i + half; k < len(steps) {
			row.Cells[3].Text, row.Cells[4].Text = itoa(k+1), steps[k]
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

func isolations(m *model.Model) []document.Block {
	if len(m.Job.Isolations) == 0 {
		return []document.Block{document.Paragraph{Text: "Nothing is entered yet under isolations. Write it in, and enter it in the job."},
			document.Lines{"What is made dead", "At which point", "From, for how long", "What else goes off", "Agreed with", "Locked by, key with"}}
	}
	t := document.Table{Small: true, Columns: []document.Column{{Head: "What", Share: 22}, {Head: "At", Share: 50}, {Head: "Locked off", Share: 40},
		{Head: "From", Share: 26}, {Head: "For", Share: 16}, {Head: "Agreed with", Share: 26}}}
	for _, i := range m.Job.Isolations {
		length := ""
		if s, ok := i.For.Get(); ok {
			length = minutes(float64(s))
		}
		row := document.Row{Cells: document.Cells(capital(i.What), written(i.At), written(i.Locked), orNotKnown(asWritten(i.From)),
			orNotKnown(length), written(i.Agreed))}
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
	t := document.Table{Small: true, Columns: []document.Column{{Head: "Hazard", Share: 66}, {Head: "What is done about it, and by whom", Share: 104}}}
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
				{Text: "not settled: enter it under precautions, or write it here"}}, Least: 11})
		}
	}
	out := []document.Block{}
	if len(t.Rows) == 0 {
		out = append(out, document.Paragraph{Text: "No hazard is recorded. That nobody wrote one down does not mean that there is none: walk the route first."})
	} else {
		out = append(out, t)
	}
	return append(out, document.Paragraph{Small: true,
		Text: "On any such job look as well for: buried services before digging, asbestos before drilling, work at " +
			"height, traffic in bays, dust and vapour that can burn, and people who were not told."})
}

// stages is the order of the work, dead before live.
func stages(m *model.Model) document.Block {
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
	var text strings.Builder
	for i, s := range list {
		fmt.Fprintf(&text, "%d  %s  ", i+1, s)
	}
	return document.Paragraph{Text: strings.TrimSpace(text.String()), Small: true}
}

func people(m *model.Model) []document.Block {
	var all []string
	for _, p := range m.Job.People {
		all = append(all, join(p.Name, p.Role, p.Firm, p.Phone))
	}
	if len(all) == 0 {
		return []document.Block{document.Lines{"Name, role", "Name, role"}}
	}
	return []document.Block{document.Paragraph{Text: "Agreed, and signed before anyone begins: " + strings.Join(all, "; ") + ".", Small: true}}
}
