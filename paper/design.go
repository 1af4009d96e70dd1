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

// designSheet is the workings of a job: what is known, every requirement with
// its value, limit, margin and verdict, what was assumed, what is not known,
// and where each figure stands.
func designSheet(m *model.Model, fs []finding.Finding, made time.Time) *document.Document {
	d := newDocument(m, made, "Design sheet", "The workings of the design, from the street to the vehicle: each requirement with its clause, value, limit "+
		"and margin.")
	src := &sources{}
	all := parts(m, fs)
	d.Sections = append(d.Sections,
		document.Section{Heading: "Outcome", Blocks: outcome(fs)},
		document.Section{Heading: "Supply as found", Blocks: []document.Block{supplyFacts(m)}},
		document.Section{Heading: "The line from the street to the vehicle, and the wall it ends at", NewPage: true,
			Blocks: []document.Block{document.Picture{Scenes: append(drawing.StreetToVehicle(m, fs), drawing.Elevations(m)...)}}},
		document.Section{Heading: "Requirements and workings", Blocks: workings(all, src)})
	d.Sections = append(d.Sections, document.Section{Heading: "Assumed", Blocks: assumed(m)})
	if open := openTable(fs); len(open.Rows) > 0 {
		d.Sections = append(d.Sections, document.Section{Heading: "Not known, or to judge on site", Blocks: []document.Block{
			document.Paragraph{Text: "What keeps a requirement from being settled, and what would settle it."}, open}})
	}
	if len(src.list) > 0 {
		d.Sections = append(d.Sections, document.Section{Heading: "Where the figures stand", Blocks: []document.Block{
			document.Paragraph{Text: "The numbers in square brackets above. Where a doubt stands beside a source, confirm it against the edition named at the " +
				"foot of the page before anything rests on it."},
			sourceTable(src)}})
	}
	d.Sections = append(d.Sections, document.Section{Heading: "Cautions",
		Blocks: []document.Block{document.Caution{Head: "Before anyone touches anything", Lines: []string{
			"Work on or near live parts is dangerous. Work dead: isolate, lock off, keep the key, prove dead with a tester that was itself proved before and after.",
			"This sheet says which rule is met and by what margin. It does not say that an installation is safe, and it certifies nothing.",
			"Local rules, the current edition of the standard and the judgement of a qualified person come before it."}}}})
	return d
}

// newDocument is a paper of this job.
func newDocument(m *model.Model, made time.Time, title, subject string) *document.Document {
	if n := len(m.Job.Assumed()); n > 0 {
		subject = strings.TrimSpace(subject + fmt.Sprintf(" Facts of this job that are assumed, and seen by nobody yet: %d.", n))
	}
	return &document.Document{Title: title, Subject: subject, Job: m.Job.Name, Edition: string(m.Job.Edition), Invented: m.Job.Invented, Made: made}
}

// outcome counts the verdicts.
func outcome(fs []finding.Finding) []document.Block {
	s := finding.Summarise(fs)
	t := document.Table{}
	row := document.Row{}
	for _, v := range []struct {
		verdict finding.Verdict
		n       int
		says    string
	}{
		{finding.Fails, s.Fails, "not met"},
		{finding.NotKnown, s.NotKnown, "an input is missing"},
		{finding.JudgeOnSite, s.JudgeOnSite, "a person must decide"},
		{finding.Meets, s.Meets, "met, margin stated"},
	} {
		t.Columns = append(t.Columns, document.Column{Share: 1})
		if v.n == 0 {
			row.Cells = append(row.Cells, document.Cell{Text: v.verdict.String() + ": none"})
			continue
		}
		cell := document.VerdictCell(v.verdict)
		cell.Text = fmt.Sprintf("%d: %s", v.n, v.says)
		row.Cells = append(row.Cells, cell)
	}
	t.Rows = []document.Row{row}
	if s.IfAsAssumed == 0 {
		return []document.Block{t}
	}
	return []document.Block{t, document.Paragraph{Text: fmt.Sprintf("%d of these verdicts hold only %s: they rest on facts that nobody has seen yet. Each of "+
		"them is listed.", s.IfAsAssumed, finding.IfAsAssumed)}}
}

// workings is the requirements, part by part, parts alike together.
func workings(all []*part, src *sources) []document.Block {
	var blocks []document.Block
	for _, group := range alike(all) {
		if len(group[0].findings) == 0 && group[0].circuit == nil {
			continue
		}
		blocks = append(blocks, document.Subheading{Text: titleOf(group)})
		if group[0].circuit != nil {
			blocks = append(blocks, circuitFacts(group))
			if t := legTable(group); len(t.Rows) > 0 {
				blocks = append(blocks, t)
			}
		}
		if len(group) > 1 {
			blocks = append(blocks, document.Paragraph{Text: "A row without a name holds for all of them; names in its words are those of the first."})
		}
		blocks = append(blocks, findingTable(group, src))
	}
	return blocks
}

// findingTable is the findings of a group of parts: a line of figures for
// each, how the value came about under it.
func findingTable(group []*part, src *sources) document.Table {
	t := document.Table{Columns: []document.Column{{Head: "Clause", Share: 29}, {Head: "Requirement", Share: 59}, {Head: "Value", Share: 20, Right: true},
		{Head: "Limit", Share: 20, Right: true}, {Head: "Margin", Share: 20, Right: true}, {Head: "Verdict", Share: 33}}}
	before := ""
	for _, r := range rows(group) {
		f := r.finding
		what := capital(f.What)
		detail := ""
		if r.of != nil {
			detail = detailOf(r.of, f)
			if len(group) > 1 {
				detail = join(r.of.record(), detail)
			}
		} else {
			detail = detailOf(group[0], f)
		}
		if detail != "" {
			what = capital(detail) + ": " + f.What
		}
		if len(group) > 1 && r.of != nil && f.Key == before {
			what = capital(detail) // the requirement stands in the row above
		}
		before = f.Key
		what += bracketed(src.cite(f.Source))
		row := document.Row{Cells: []document.Cell{{Text: f.Clause.Name}, {Text: what}, {Text: signed(f.Value)}, {Text: signed(f.Limit)},
			{Text: signed(f.Margin)}, verdictCell(f)}}
		if f.Value.IsZero() && f.Limit.IsZero() && f.Margin.IsZero() {
			row.Cells[1].Over = 3
		}
		if why := f.Why.String(); why != "" && !f.Repeats() {
			row.Under = append(row.Under, document.Note{Label: "why", Text: why})
		}
		if f.Rests != nil {
			row.Under = append(row.Under, document.Note{Label: f.If(), Text: strings.Join(assumedNames(f), "; ")})
		}
		if f.Next != "" {
			row.Under = append(row.Under, document.Note{Label: "next", Text: f.Next})
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// signed prints an amount with a true minus sign.
func signed(a finding.Amount) string {
	if text, below := strings.CutPrefix(a.String(), "-"); below {
		return "−" + text
	}
	return a.String()
}

// detailOf is what a finding is about beyond the part it stands under.
func detailOf(p *part, f finding.Finding) string {
	switch {
	case p.of.Name != "" && f.Part != "":
		return f.Part
	case f.Subject == p.of.Name:
		return ""
	}
	return f.Subject
}

// capital begins a text with a capital, unless it begins with a symbol such as
// cpc or csa that has none.
func capital(s string) string {
	for _, symbol := range []string{"cpc", "csa"} {
		if strings.HasPrefix(s, symbol) {
			return s
		}
	}
	for i, r := range s {
		return strings.ToUpper(string(r)) + s[i+len(string(r)):]
	}
	return s
}

// verdictCell is the verdict of a finding, and what it hangs on.
func verdictCell(f finding.Finding) document.Cell {
	cell := document.VerdictCell(f.Verdict)
	cell.Text = f.If()
	return cell
}

// assumedNames are the facts that a verdict rests on and nobody has seen.
func assumedNames(f finding.Finding) (names []string) {
	for _, path := range f.Rests() {
		names = append(names, job.Assumption{Path: path}.Name())
	}
	return names
}

// assumed is what the record leaves unsaid and the model took, and what the
// record itself marks as assumed.
func assumed(m *model.Model) []document.Block {
	t := document.Table{Columns: []document.Column{{Head: "Assumption", Share: 120}, {Head: "By", Share: 60}}}
	for _, a := range m.Assumptions {
		t.Rows = append(t.Rows, document.Row{Cells: document.Cells(capital(a), "taken here; enter the fact to replace it")})
	}
	for _, f := range assumedFacts(m) {
		t.Rows = append(t.Rows, document.Row{Cells: document.Cells(f.What+": "+f.Value, f.Note)})
	}
	if len(t.Rows) == 0 {
		return []document.Block{document.Paragraph{Text: "Nothing was assumed."}}
	}
	return []document.Block{t}
}

// assumedFacts is every fact the record marks as assumed.
func assumedFacts(m *model.Model) document.Facts {
	var out document.Facts
	for _, a := range m.Job.Assumed() {
		out = append(out, document.Fact{What: capital(a.Name()), Value: a.Value, Note: join("in the record", before("because ", a.Reason))})
	}
	return out
}

// openTable is what is not known and what a person must judge, in the order
// it should be taken up; what waits on something else says so.
func openTable(fs []finding.Finding) document.Table {
	t := document.Table{Columns: []document.Column{{Head: "Verdict", Share: 34}, {Head: "About", Share: 42}, {Head: "Requirement", Share: 52},
		{Head: "Next", Share: 58}}}
	for _, v := range []finding.Verdict{finding.NotKnown, finding.JudgeOnSite} {
		for _, f := range fs {
			if f.Verdict != v {
				continue
			}
			next := capital(f.Next)
			if f.WaitsOn != "" {
				next = "Waits on: " + f.WaitsOn + ". " + next
			}
			t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{document.VerdictCell(v), {Text: capital(f.Subject)},
				{Text: capital(f.What) + before(" (", closing(f.Clause.Name))}, {Text: next}}})
		}
	}
	return t
}

func closing(clause string) string {
	if clause == "" {
		return ""
	}
	return clause + ")"
}

func sourceTable(src *sources) document.Table {
	t := document.Table{Columns: []document.Column{{Head: "No.", Share: 10, Right: true}, {Head: "Source", Share: 108}, {Head: "Doubt", Share: 62}}}
	for i, s := range src.list {
		t.Rows = append(t.Rows, document.Row{Cells: document.Cells(fmt.Sprint(i+1), s.Place, s.Doubt)})
	}
	return t
}
