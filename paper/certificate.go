package paper

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"chargewright/document"
	"chargewright/finding"
	"chargewright/job"
	"chargewright/model"
	"chargewright/prove"
	"chargewright/trade"
	"chargewright/works"
)

// certificate is an electrical installation certificate before it is set: every
// item the standard's model form asks for, and what keeps it from being issued.
type certificate struct {
	m        *model.Model
	fs       []finding.Finding
	readings readings
	issue    *Issue // nil while it is a draft
	settled  settled
}

func newCertificate(m *model.Model, fs []finding.Finding, es []prove.Expectation, issue *Issue) *certificate {
	return &certificate{m: m, fs: fs, readings: newReadings(m, es), issue: issue, settled: settle(m.Job, fs)}
}

// contents is every part of the certificate, gathered once.
type contents struct {
	particulars, supply, earthing, decisions, signing, copies items
	declarations                                              []document.Section
	inspections                                               []inspectionRow
	schedules                                                 []boardSchedule
	instruments                                               items
	gaps                                                      []Gap
}

func (c *certificate) contents() contents {
	p := contents{particulars: c.particulars(), supply: c.supplyItems(), decisions: c.decisionItems(), copies: c.copies(),
		schedules: c.schedules(), instruments: c.instrumentItems()}
	p.earthing = c.earthingItems(&p.gaps)
	var who document.Block
	p.declarations, who, p.signing = c.signatures()
	p.declarations = append(p.declarations, document.Section{Heading: "Who signs", Whole: true,
		Blocks: []document.Block{who, document.Paragraph{Text: capital(signedBy(p.signing)) + "."}}})
	var inspectionGaps []Gap
	p.inspections, inspectionGaps = c.inspections()
	p.gaps = append(p.gaps, c.assumed()...)
	p.gaps = append(p.gaps, c.settled.gaps...)
	for _, list := range []struct {
		about string
		items items
	}{{"certificate", p.particulars}, {"supply", p.supply}, {"earthing and main switch", p.earthing}, {"certificate", p.decisions},
		{"declarations", p.signing}, {"instruments", p.instruments}} {
		p.gaps = append(p.gaps, list.items.gaps(list.about)...)
	}
	p.gaps = append(p.gaps, inspectionGaps...)
	for i := range p.schedules {
		p.gaps = append(p.gaps, p.schedules[i].allGaps()...)
	}
	if len(p.schedules) == 0 {
		p.gaps = append(p.gaps, Gap{Kind: wanting, About: "circuits", What: "a circuit of this work",
			Get: "enter the circuit, or mark as existing only what was there before", Field: "circuit_number", Of: "circuits"})
	}
	p.gaps = append(p.gaps, c.readings.others()...)
	slices.SortStableFunc(p.gaps, func(a, b Gap) int { return gapOrder[a.Kind] - gapOrder[b.Kind] })
	return p
}

// instrumentItems is the instruments that the readings name.
func (c *certificate) instrumentItems() items {
	used := map[string]bool{}
	for _, r := range c.m.Job.Readings {
		used[r.Instrument] = r.Instrument != ""
	}
	serial := field("instrument_serials", "")
	calibrated := field("instrument_calibration_date", "")
	var serials, dates []string
	complete, dated := true, true
	for _, n := range c.m.Job.Instruments {
		if !used[n.Name] {
			continue
		}
		serials = append(serials, join(n.Name, n.Kind, n.Serial))
		dates = append(dates, n.Name+" "+n.CalibratedUntil)
		complete = complete && n.Serial != ""
		dated = dated && n.CalibratedUntil != ""
	}
	if complete && len(serials) > 0 {
		serial.value = strings.Join(serials, "; ")
	}
	if dated && len(dates) > 0 {
		calibrated.value = strings.Join(dates, "; ")
	}
	return items{serial, calibrated}
}

// assumed lists what nobody has seen yet: no certificate rests on it.
func (c *certificate) assumed() []Gap {
	var out []Gap
	for _, a := range c.m.Job.Assumed() {
		g := Gap{Kind: open, About: a.Name(), What: join(a.Value+" is assumed, and nobody has seen it", a.Reason),
			Get: "look, and say that it is so, or enter what is there", Of: a.Path}
		if job.FieldAt(a.Path).Stated() {
			g.Get = "measure it, or enter what was declared or calculated"
		}
		out = append(out, g)
	}
	return out
}

// Missing lists what keeps the certificate of a job from being issued; nothing
// when it can be. The time is that of the issue: nothing may lie after it.
func Missing(m *model.Model, fs []finding.Finding, es []prove.Expectation, at time.Time) []Gap {
	c := newCertificate(m, fs, es, nil)
	late := c.untimely(at)
	if m.Job.Certificate.Work.Or("") == trade.MinorWorks {
		return append(late, c.minor().gaps...)
	}
	return append(late, c.contents().gaps...)
}

// untimely lists dates that lie after the issue, and instruments whose
// calibration had run out when they were read.
func (c *certificate) untimely(at time.Time) []Gap {
	var out []Gap
	today := at.UTC().Format(time.DateOnly)
	after := func(about, date, of string) {
		if len(date) >= len(today) && date[:len(today)] > today {
			out = append(out, Gap{Kind: failing, About: about, What: "its date, " + date + ", is after the day of issue",
				Get: "put the date right, or issue when the day has come", Of: of})
		}
	}
	cert := &c.m.Job.Certificate
	after("certificate, completed", cert.Completed, "certificate/completed")
	for _, s := range cert.Sign {
		after("signing by "+s.Name, s.Date, "certificate/signing")
	}
	until := map[string]string{}
	for _, n := range c.m.Job.Instruments {
		until[n.Name] = n.CalibratedUntil
	}
	told := map[string]bool{}
	for _, r := range c.m.Job.Readings {
		after("reading "+r.Reading+" at "+r.At, r.When, "readings")
		if end := until[r.Instrument]; end != "" && len(r.When) >= len(end) && r.When[:len(end)] > end && !told[r.Instrument] {
			told[r.Instrument] = true
			out = append(out, Gap{Kind: failing, About: "instrument " + r.Instrument,
				What: "its calibration had run out on " + end + " when it was read on " + r.When, Get: "have it calibrated and take the readings again",
				Field: "instrument_calibration_date", Of: works.Under("instruments", r.Instrument)})
		}
	}
	return out
}

// document begins a certificate of either kind: marked as issued, or a draft
// with what it still wants.
func (c *certificate) document(made time.Time, gaps []Gap, title, about string) *document.Document {
	d := newDocument(c.m, made, title, about)
	c.issue.mark(d)
	if c.issue == nil {
		d.Sections = append(d.Sections, draftSection(gaps))
	}
	return d
}

// certificatePaper sets the certificate, as a draft or as issued.
func certificatePaper(m *model.Model, fs []finding.Finding, es []prove.Expectation, made time.Time, issue *Issue) *document.Document {
	c := newCertificate(m, fs, es, issue)
	p := c.contents()
	d := c.document(made, p.gaps, "Electrical installation certificate",
		"For the work described here and no other, with its schedule of inspections and its schedule of circuits and test results.")
	counts := field("schedule_counts", "")
	d.Corner = issue.code("code")
	d.Sections = append(d.Sections, document.Section{Heading: "The work", NewPage: issue == nil && len(p.gaps) > 0,
		Blocks: []document.Block{append(p.particulars, counts).fields()}})
	d.Sections = append(d.Sections, p.declarations...)
	d.Sections = append(d.Sections,
		document.Section{Heading: "Supply", Blocks: []document.Block{p.supply.fields()}},
		document.Section{Heading: "Earthing, bonding, main switch and demand", Blocks: []document.Block{p.earthing.fields()}},
		document.Section{Heading: "Departures, limitations and decisions", Blocks: c.settled.blocks(m.Job, p.decisions)},
		document.Section{Heading: "Who has it, and how to keep it", Whole: true, Blocks: []document.Block{forTheReceiver, p.copies.fields()}},
	)
	rule := "On new work an item is satisfactory or does not apply; a defect is put right first and not listed."
	if who := inspectedBy(p.inspections); who != "" {
		rule += " Inspected by " + who + "."
	}
	inspections := []document.Block{document.Paragraph{Text: rule},
		document.Subheading{Text: "The installation"}, inspectionTable(p.inspections, 0, 14),
		document.Subheading{Text: "The charge points (Section 722; our own list)"}, inspectionTable(p.inspections, 14, len(inspectionsOf))}
	d.Sections = append(d.Sections, document.Section{Heading: "Schedule of inspections", NewPage: true, Blocks: inspections})
	var blocks []document.Block
	for i := range p.schedules {
		blocks = append(blocks, p.schedules[i].blocks()...)
	}
	blocks = append(blocks, document.Subheading{Text: "Instruments"}, p.instruments.fields())
	d.Sections = append(d.Sections, document.Section{Heading: "Schedule of circuits and test results", Across: true, Blocks: blocks}, issue.proof(true))
	countSchedules(d)
	return d
}

func signedBy(list items) string {
	for _, i := range list {
		if i.key == "eic_signature_form" {
			return i.value
		}
	}
	return ""
}

// draftSection says plainly that a draft is one, and what it still wants.
func draftSection(gaps []Gap) document.Section {
	if len(gaps) == 0 {
		return document.Section{Heading: "Draft", Blocks: []document.Block{document.Caution{Head: "This is a draft",
			Lines: []string{"Nothing required is missing and nothing fails. It certifies nothing until it is issued."}}}}
	}
	return document.Section{Heading: "Draft: it cannot be issued yet", Blocks: []document.Block{
		document.Caution{Head: "This is a draft and certifies nothing",
			Lines: []string{fmt.Sprintf("%d things keep it from being issued. Each stands below with how to settle it.", len(gaps))}},
		gapTable(gaps)}}
}

// blocks prints departures, limitations, judgements and decisions.
func (s settled) blocks(j *job.Job, decisions items) []document.Block {
	if len(s.departures) == 0 {
		decisions = append(decisions, item{what: "departure", value: noneRecorded})
	}
	if len(j.Limitations) == 0 {
		decisions = append(decisions, item{what: "limitation on inspection or testing", value: noneRecorded})
	}
	out := []document.Block{decisions.fields()}
	if len(s.departures) > 0 {
		t := document.Table{Columns: []document.Column{{Head: "Departure from", Share: 30}, {Head: "What is done instead", Share: 56},
			{Head: "Why it is no less good", Share: 56}, {Head: "Who", Share: 28}}}
		for _, d := range s.departures {
			t.Rows = append(t.Rows, document.Row{Cells: document.Cells(join(d.Clause, d.About), written(d.What), written(d.Reason), written(d.Who))})
		}
		out = append(out, t)
	}
	if len(j.Limitations) > 0 {
		t := document.Table{Columns: []document.Column{{Head: "Not inspected or tested", Share: 46}, {Head: "Why", Share: 50}, {Head: "Agreed with", Share: 30},
			{Head: "How the risk is met otherwise", Share: 44}}}
		for _, l := range j.Limitations {
			t.Rows = append(t.Rows, document.Row{Cells: document.Cells(join(l.At, l.What), written(l.Reason), written(l.Agreed), orElse(l.Because, "not stated"))})
		}
		out = append(out, t)
	}
	if len(s.judgements) > 0 {
		t := document.Table{Columns: []document.Column{{Head: "Judged on site", Share: 26}, {Head: "Outcome", Share: 22}, {Head: "What it rests on", Share: 86},
			{Head: "Who, when", Share: 46}}}
		for _, d := range s.judgements {
			t.Rows = append(t.Rows, document.Row{Cells: document.Cells(join(d.Clause, d.About), say(d.Outcome), written(d.Reason),
				join(written(d.Who), asWritten(d.When)))})
		}
		out = append(out, t)
	}
	return out
}

// forTheReceiver is what the certificate does not say, and how to keep it.
var forTheReceiver = document.Caution{Head: "For the one who receives this", Lines: []string{
	"Keep it with the installation and show it to whoever inspects or extends it.",
	"It speaks of the work described, as it was on the day it was tested. It does not say that an installation is safe today.",
	"Press the test button of every RCD twice a year; have the installation inspected when it is due, after flood or fire, and when its use changes."}}

// countSchedules writes on which pages the schedules stand: setting the
// certificate says so.
func countSchedules(d *document.Document) {
	from := map[string]int{}
	last := 0
	for i, page := range d.Pages() {
		for _, h := range page.Headings {
			if h.Level == 1 {
				from[h.Text], last = i+1, i+1
				if h.OpensPage() { // what stands before it ended on the page before
					last = i
				}
			}
		}
	}
	first, second := from["Schedule of inspections"], from["Schedule of circuits and test results"]
	said := fmt.Sprintf("of inspections: %s; of circuits and test results: %s", pagesFrom(first, second-1), pagesFrom(second, last))
	for _, s := range d.Sections {
		for _, b := range s.Blocks {
			if fields, ok := b.(document.Fields); ok {
				for i := range fields {
					if fields[i].What == formFields()["schedule_counts"].what {
						fields[i].Value = said
					}
				}
			}
		}
	}
}

func pagesFrom(first, last int) string {
	if first == last {
		return fmt.Sprintf("page %d", first)
	}
	return fmt.Sprintf("pages %d to %d", first, last)
}
