package paper

import (
	"fmt"
	"strings"
	"time"

	"chargewright/finding"
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
// on nothing, what is left to a person. The same step is named once.
func nextSteps(fs []finding.Finding) []next {
	sorted := append([]finding.Finding{}, fs...)
	finding.ByUrgency(sorted)
	var out []next
	seen := map[string]bool{}
	for _, f := range sorted {
		if f.Verdict == finding.Meets || f.WaitsOn != "" {
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
		out = append(out, next{f.Verdict, f.Subject, do, f.Clause})
	}
	return out
}

// pointNumbers is the main figures of one point.
type pointNumbers struct {
	Point    string          `json:"point"`
	Circuit  string          `json:"circuit"`
	Current  string          `json:"current"`
	Device   string          `json:"device"`
	Length   string          `json:"length"`
	Zs       string          `json:"zs"`
	VoltDrop string          `json:"voltDrop"`
	Worst    finding.Verdict `json:"worst"`
	checked  bool
}

// numbersOf reads the figures of a point off the model and its findings.
func numbersOf(m *model.Model, p *model.Point, fs []finding.Finding, all []*part) pointNumbers {
	n := pointNumbers{Point: p.Record.Name, Circuit: notKnown, Current: notKnown, Device: notKnown, Length: notKnown, Zs: notKnown, VoltDrop: notKnown}
	if i, _, gap := m.RatedCurrent(p.Record); gap == "" {
		n.Current = i.String()
	}
	if limit, ok := p.Record.Limit.Get(); ok {
		n.Current = limit.String()
	}
	var own []finding.Finding
	for _, one := range all {
		if one.point == p || one.circuit != nil && one.circuit == p.Circuit {
			own = append(own, one.findings...)
		}
	}
	n.Worst, n.checked = worst(own)
	c := p.Circuit
	if c == nil {
		return n
	}
	n.Circuit = c.Record.Name
	n.Device = orNotKnown(join(ifKnown("%s", c.Record.Device.Type), ifKnown("%v", c.Record.Device.Rating)))
	var legs []string
	for _, l := range c.Legs {
		legs = append(legs, say(l.Record.Length))
	}
	n.Length = orNotKnown(strings.Join(legs, " + "))
	for _, f := range fs {
		if f.Subject != c.Name() || f.Value.IsZero() {
			continue
		}
		switch f.Key {
		case "disconnection":
			n.Zs = against(f)
		case "volt drop":
			n.VoltDrop = against(f)
		}
	}
	return n
}

// against prints a value with its limit.
func against(f finding.Finding) string {
	if f.Limit.IsZero() {
		return f.Value.String()
	}
	return f.Value.String() + " of " + f.Limit.String()
}

// jobSummary is the one page a person reads first.
func jobSummary(m *model.Model, fs []finding.Finding, steps []next, numbers []pointNumbers, made time.Time) *Document {
	d := newDocument(m, made, "Job summary", "")
	j := m.Job
	where := Facts{
		{What: "Site", Value: written(j.Site.Address)},
		{What: "For", Value: written(j.Site.Client)},
		{What: "Premises", Value: join(say(j.Site.Premises), j.Site.Nation)},
		{What: "Work", Value: work(m)},
		{What: "Stage", Value: join(orNotKnown(string(j.Stage)), before("surveyed ", j.Site.Visited))},
		{What: "Supply", Value: join(say(j.Supply.Earthing), ifKnown("%d-phase", j.Supply.Phases), ifKnown("fuse %v", j.Supply.CutOut.Rating),
			"Ze "+say(j.Supply.Ze.Value), "Ipf "+say(j.Supply.Ipf.Value))},
		{What: "Demand", Value: demand(m)},
	}
	d.Sections = []Section{
		{Heading: "What and where", Blocks: []Block{where}},
		{Heading: "Where it stands", Blocks: outcome(fs)},
		{Heading: "Next, in this order", Blocks: []Block{stepTable(steps)}},
		{Heading: "Main figures", Blocks: []Block{numberTable(numbers)}},
		{Blocks: []Block{Paragraph{"A verdict names one rule and the margin it is met by; none says that the installation is safe. Workings are in the design sheet, readings in the test sheet. A qualified person decides."}}},
	}
	if len(steps) == 0 {
		d.Sections[2].Blocks = []Block{Paragraph{"Nothing is open. Confirm the doubts listed in the design sheet."}}
	}
	if len(numbers) == 0 {
		d.Sections[3].Blocks = []Block{Paragraph{"The job has no charge points yet."}}
	}
	return d
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

// demand is the greatest line current on the supply, as the model has it.
func demand(m *model.Model) string {
	d := m.SupplyDemand()
	if !d.Total.Known() {
		return notKnown + ": " + strings.Join(unique(d.Total.Gaps), "; ")
	}
	text := d.Total.Greatest().String() + " in the most loaded line"
	if d.Limiter != nil {
		text = join(text, "held by "+strings.TrimSpace(named("limiter", d.Limiter.Name)), d.Unlimited.String()+" without it")
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

// Rows that leave the summary on one page.
const (
	mostSteps  = 8
	mostPoints = 8
)

func stepTable(steps []next) Table {
	t := Table{Columns: []Column{{Share: 8, Right: true}, {Share: 33}, {Head: "", Share: 45}, {Share: 94}}}
	for i, s := range steps {
		if i == mostSteps && len(steps) > mostSteps+1 {
			t.Rows = append(t.Rows, Row{Cells: cells("", "", "", fmt.Sprintf("and %d more, in the design sheet", len(steps)-i))})
			break
		}
		do := capital(s.Do)
		if s.Clause != "" {
			do += " (" + s.Clause + ")"
		}
		t.Rows = append(t.Rows, Row{Cells: []Cell{{Text: fmt.Sprint(i + 1)}, verdictCell(s.Verdict), {Text: capital(s.About)}, {Text: clip(do, 150)}}})
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

func numberTable(numbers []pointNumbers) Table {
	t := Table{Columns: []Column{{Head: "Point", Share: 26}, {Head: "Current", Share: 16, Right: true}, {Head: "Device", Share: 38}, {Head: "Length", Share: 24, Right: true},
		{Head: "Zs of limit", Share: 30, Right: true}, {Head: "Volt drop of limit", Share: 28, Right: true}, {Head: "Worst verdict", Share: 34}}}
	for i, n := range numbers {
		if i == mostPoints && len(numbers) > mostPoints+1 {
			t.Rows = append(t.Rows, Row{Cells: cells(fmt.Sprintf("%d more", len(numbers)-i), "", "in the design sheet", "", "", "", "")})
			break
		}
		row := Row{Cells: cells(n.Point, n.Current, n.Device, n.Length, n.Zs, n.VoltDrop)}
		if n.checked {
			row.Cells = append(row.Cells, verdictCell(n.Worst))
		} else {
			row.Cells = append(row.Cells, Cell{Text: "not checked"})
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}
