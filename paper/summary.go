package paper

import (
	"fmt"
	"strings"
	"time"

	"chargewright/document"
	"chargewright/drawing"
	"chargewright/finding"
	"chargewright/job"
	"chargewright/model"
)

// next is one thing to be decided or found out.
type next struct {
	Verdict finding.Verdict `json:"verdict"`
	About   string          `json:"about"`
	Do      string          `json:"do"`
	Clause  string          `json:"clause"`
}

// nextSteps is what to do, in order: what fails, what is not known and waits
// on nothing, what is left to a person and was not judged. The same step is named
// once.
func nextSteps(j *job.Job, fs []finding.Finding) []next {
	sorted := append([]finding.Finding{}, fs...)
	finding.ByUrgency(sorted)
	var out []next
	seen := map[string]bool{}
	for _, f := range sorted {
		if _, accepted := acceptedOn(j, f); f.Verdict == finding.Meets || f.WaitsOn != "" || accepted {
			continue
		}
		do := f.Next
		if do == "" {
			do = f.What
		}
		if seen[do] {
			continue
		}
		seen[do] = true
		out = append(out, next{f.Verdict, f.Subject, do, f.Clause.Name})
	}
	return out
}

// pointNumbers is the main figures of points that are alike; of several, the
// figures with the least margin.
type pointNumbers struct {
	Points   []string        `json:"points"`
	Current  string          `json:"current"`
	Device   string          `json:"device"`
	Length   string          `json:"length"`
	Zs       string          `json:"zs"`
	VoltDrop string          `json:"voltDrop"`
	Worst    finding.Verdict `json:"worst"`
	Times    int             `json:"times"` // findings with the worst verdict
	Checked  int             `json:"checked"`
}

// mainNumbers reads the figures of every point off the model and the findings.
func mainNumbers(m *model.Model, all []*part) []pointNumbers {
	var out []pointNumbers
	for _, group := range alike(all) {
		if group[0].point != nil {
			out = append(out, numbersOf(m, group, all))
		}
	}
	return out
}

func numbersOf(m *model.Model, group, all []*part) pointNumbers {
	r := group[0].point.Record
	n := pointNumbers{Current: notKnown, Device: notKnown, Length: notKnown, Zs: notKnown, VoltDrop: notKnown}
	if i, known := m.RatedCurrent(r).Get(); known {
		n.Current = i.String()
	}
	if limit, ok := r.Limit.Get(); ok {
		n.Current = limit.String()
	}
	var about []finding.Finding
	var lengths []string
	for _, p := range group {
		n.Points = append(n.Points, p.record())
		about = append(about, p.findings...)
		c := p.point.Circuit
		if c == nil {
			continue
		}
		for _, one := range all {
			if one.circuit == c {
				about = append(about, one.findings...)
			}
		}
		n.Device = orNotKnown(join(ifKnown("%s", c.Record.Device.Type), ifKnown("%v", c.Record.Device.Rating)))
		if l, known := c.Length().Get(); known {
			lengths = append(lengths, l.String())
		}
	}
	if lengths = unique(lengths); len(lengths) > 0 {
		n.Length = lengths[0]
		if len(lengths) > 1 {
			n.Length += " to " + lengths[len(lengths)-1]
		}
	}
	n.Worst, _ = finding.Worst(about)
	n.Checked = len(about)
	for _, f := range about {
		if f.Verdict == n.Worst {
			n.Times++
		}
	}
	n.Zs, n.VoltDrop = tightest(about, "disconnection"), tightest(about, "volt drop")
	return n
}

// tightest prints the value of one requirement that has the least margin, with
// its limit.
func tightest(fs []finding.Finding, key string) string {
	var least *finding.Finding
	for i, f := range fs {
		if f.Key == key && !f.Value.IsZero() && (least == nil || f.Margin.Number < least.Margin.Number) {
			least = &fs[i]
		}
	}
	switch {
	case least == nil:
		return notKnown
	case least.Limit.IsZero():
		return least.Value.String()
	}
	return least.Value.String() + " of " + least.Limit.String()
}

// jobSummary is the one page a person reads first: as many of the next steps
// as leave it one page.
func jobSummary(m *model.Model, fs []finding.Finding, steps []next, numbers []pointNumbers, made time.Time) *document.Document {
	for most := mostSteps; ; most-- {
		d := summaryOf(m, fs, stepTable(steps, most), numbers, made)
		if most == 1 || len(d.Pages()) == 1 {
			return d
		}
	}
}

func summaryOf(m *model.Model, fs []finding.Finding, steps document.Table, numbers []pointNumbers, made time.Time) *document.Document {
	d := newDocument(m, made, "Job summary", "")
	d.Sections = []document.Section{
		{Heading: "What and where", Blocks: []document.Block{clipped(whereFacts(m))}},
		{Heading: "Where it stands", Blocks: outcome(fs)},
		{Heading: "Next, in this order", Blocks: []document.Block{steps}},
		{Heading: "Main figures", Blocks: []document.Block{numberTable(numbers)}},
		{Blocks: []document.Block{document.Paragraph{Text: "A verdict names one rule and the margin it is met by; none says that the installation is safe. " +
			"Workings are in the design sheet, readings in the test sheet. A qualified person decides."}}},
	}
	if len(steps.Rows) == 0 {
		d.Sections[2].Blocks = []document.Block{document.Paragraph{Text: "Nothing is open. Confirm the doubts listed in the design sheet."}}
	}
	if len(numbers) == 0 {
		d.Sections[3].Blocks = []document.Block{document.Paragraph{Text: "The job has no charge points yet."}}
	}
	return d
}

// clipped keeps facts short: of many points, each lacks much.
func clipped(facts document.Facts) document.Facts {
	for i := range facts {
		facts[i].Value = clip(facts[i].Value, 240)
	}
	return facts
}

// whereFacts is the job in a few facts.
func whereFacts(m *model.Model) document.Facts {
	j := m.Job
	return document.Facts{
		{What: "Site", Value: written(j.Site.Address)},
		{What: "For", Value: written(j.Site.Client)},
		{What: "Premises, stage", Value: join(say(j.Site.Premises), j.Site.Nation, orNotKnown(string(j.Stage)), before("surveyed ", asWritten(j.Site.Visited)))},
		{What: "Work", Value: work(m)},
		{What: "Supply", Value: join(say(j.Supply.Earthing), ifKnown("%d-phase", j.Supply.Phases), ifKnown("fuse %v", j.Supply.CutOut.Rating),
			"Ze "+say(j.Supply.Ze.Value), "Ipf "+say(j.Supply.Ipf.Value))},
		{What: "Demand", Value: supplyDemand(m)},
	}
}

// work says what is to be done, in a few words.
func work(m *model.Model) string {
	times := map[string]int{}
	var order []string
	for _, p := range m.Points {
		kind := join(ifKnown("%v", p.Record.Power), ifKnown("%s", p.Record.Outlet))
		if times[kind] == 0 {
			order = append(order, kind)
		}
		times[kind]++
	}
	var parts []string
	for _, kind := range order {
		n := times[kind]
		text := fmt.Sprintf("%d charge points", n)
		if n == 1 {
			text = "1 charge point"
		}
		parts = append(parts, join(text, kind))
	}
	return orNotKnown(strings.Join(parts, "; "))
}

// supplyDemand is the greatest line current on the supply, as the model has it.
func supplyDemand(m *model.Model) string {
	d := m.SupplyDemand()
	if !d.Total.Known() {
		return notKnown + ": " + d.Total.Lacks.String()
	}
	text := d.Total.Greatest().String() + " in the most loaded line"
	if d.Limiter != nil {
		text = join(text, "held by "+drawing.Named("limiter", d.Limiter.Name), d.Unlimited.String()+" without it")
	}
	return text
}

func unique(texts []string) []string {
	var out []string
	seen := map[string]bool{}
	for _, t := range texts {
		if !seen[t] {
			seen[t] = true
			out = append(out, t)
		}
	}
	return out
}

// The most rows of the two tables of the summary.
const (
	mostSteps  = 9
	mostPoints = 6
)

func stepTable(steps []next, most int) document.Table {
	t := document.Table{Columns: []document.Column{{Share: 9, Right: true}, {Share: 33}, {Share: 42}, {Share: 96}}}
	for i, s := range steps {
		if i == most && len(steps) > most+1 {
			t.Rows = append(t.Rows, document.Row{Cells: document.Cells("", "", "", fmt.Sprintf("and %d more, in the design sheet", len(steps)-i))})
			break
		}
		do := capital(s.Do)
		if s.Clause != "" {
			do += " (" + s.Clause + ")"
		}
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: fmt.Sprint(i + 1)}, document.VerdictCell(s.Verdict), {Text: capital(s.About)},
			{Text: clip(do, 120)}}})
	}
	return t
}

// clip cuts a text after a number of characters, at a space.
func clip(text string, most int) string {
	runes := []rune(text)
	if len(runes) <= most {
		return text
	}
	cut := string(runes[:most])
	if i := strings.LastIndexByte(cut, ' '); i > 0 {
		cut = cut[:i]
	}
	return strings.TrimRight(cut, " ,;:") + " …"
}

func numberTable(numbers []pointNumbers) document.Table {
	t := document.Table{Small: true, Columns: []document.Column{{Head: "Point", Share: 24}, {Head: "Current", Share: 18, Right: true}, {Head: "Device", Share: 41},
		{Head: "Length", Share: 22, Right: true},
		{Head: "Zs of limit", Share: 33, Right: true}, {Head: "Volt drop of limit", Share: 26, Right: true}, {Head: "Worst verdict", Share: 33}}}
	for i, n := range numbers {
		if i == mostPoints && len(numbers) > mostPoints+1 {
			t.Rows = append(t.Rows, document.Row{Cells: document.Cells(fmt.Sprintf("%d more kinds", len(numbers)-i), "", "in the design sheet", "", "", "", "")})
			break
		}
		row := document.Row{Cells: document.Cells(drawing.Names(n.Points), n.Current, n.Device, n.Length, n.Zs, n.VoltDrop)}
		worst := document.Cell{Text: "not checked"}
		if n.Checked > 0 {
			worst = document.VerdictCell(n.Worst)
			worst.Text = fmt.Sprintf("%d of %d rules", n.Times, n.Checked)
		}
		row.Cells = append(row.Cells, worst)
		t.Rows = append(t.Rows, row)
	}
	return t
}
