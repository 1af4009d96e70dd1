package paper

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"chargewright/document"
	"chargewright/finding"
	"chargewright/job"
	"chargewright/model"
	"chargewright/trade"
	"chargewright/works"
)

// designSheet is the workings of a job: where it stands and what is next, what is
// known, every requirement with its value, limit and margin, what was assumed,
// and where each figure stands. What is alike is told once.
func designSheet(m *model.Model, fs []finding.Finding, made time.Time) *document.Document {
	d := newDocument(m, made, "Design sheet", "Where the job stands, what is next, and each requirement from street to vehicle with clause, value, limit, margin.")
	src := &sources{short: true}
	all := parts(m, fs)
	d.Sections = append(d.Sections, document.Section{Blocks: []document.Block{document.Caution{Head: "Before anyone touches anything", Lines: []string{
		"Work on or near live parts is dangerous. Work dead: isolate, lock off, keep the key, prove dead with a tester that was itself proved before and after.",
		"This sheet says which rule is met and by what margin. It does not say that an installation is safe, and it certifies nothing. Local rules, the current " +
			"edition of the standard and the judgement of a qualified person come before it."}}}},
		document.Section{Heading: "Where it stands", Blocks: append([]document.Block{pairs(whereFacts(m))}, outcome(fs)...)})
	if open := openTable(m.Job, all, src); len(open.Rows) > 0 {
		d.Sections = append(d.Sections, document.Section{Heading: "Next, in this order", Blocks: []document.Block{open}})
	}
	if n := mainNumbers(m, all); len(n) > 1 {
		d.Sections = append(d.Sections, document.Section{Heading: "Main figures", Blocks: []document.Block{numberTable(n)}})
	}
	d.Sections = append(d.Sections,
		document.Section{Heading: "Supply as found", Blocks: []document.Block{pairs(supplyFacts(m))}},
		document.Section{Heading: "Requirements met or judged, and their workings", Blocks: workings(m.Job, all, src)})
	d.Sections = append(d.Sections, provedLimits(limitProofs(m), src)...)
	d.Sections = append(d.Sections, document.Section{Heading: "Assumed", Blocks: assumed(m)})
	if len(src.list) > 0 {
		d.Sections = append(d.Sections, document.Section{Heading: "Where the figures stand", Blocks: sourceBlocks(src)})
	}
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
	t := document.Table{Small: true}
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

// workings is the requirements that are met, part by part, parts alike together.
func workings(j *job.Job, all []*part, src *sources) []document.Block {
	var blocks []document.Block
	for _, group := range alike(all) {
		met := findingTable(j, group, src)
		if len(met.Rows) == 0 && group[0].circuit == nil {
			continue
		}
		blocks = append(blocks, document.Subheading{Text: titleOf(group)})
		if group[0].circuit != nil {
			blocks = append(blocks, pairs(circuitFacts(group)))
			if t := legTable(group); len(t.Rows) > 0 {
				blocks = append(blocks, t)
			}
		}
		if len(group) > 1 {
			blocks = append(blocks, document.Paragraph{Text: "A row holds for all of them; where their figures differ it is the one with the least margin, named. " +
				"Names in its words are those of the first.", Small: true})
		}
		if len(met.Rows) > 0 {
			blocks = append(blocks, met)
		}
	}
	return blocks
}

// findingTable is the findings of a group of parts that are met, or judged and
// accepted: a line of figures for each, and how the value came about.
func findingTable(j *job.Job, group []*part, src *sources) document.Table {
	t := document.Table{Small: true, Columns: []document.Column{{Head: "Clause", Share: 23}, {Head: "Requirement, and how its value came about", Share: 109},
		{Head: "Value", Share: 16, Right: true}, {Head: "Limit", Share: 15, Right: true}, {Head: "Margin", Share: 17, Right: true}}}
	for _, r := range rows(group) {
		f := r.finding
		judged, accepted := acceptedOn(j, f)
		if f.Verdict != finding.Meets && !accepted {
			continue
		}
		what, clause := r.says(group)+bracketed(src.cite(f.Source)), f.Clause.Name
		if len(clause) > longClause {
			what, clause = clause+". "+what, ""
		}
		if why := f.Why.String(); why != "" && !f.Repeats() {
			what += ". " + capital(why)
		}
		if accepted && f.Verdict != finding.Meets {
			what += ". Judged on site and accepted by " + join(judged.Who, asWritten(judged.When)) + before(": ", judged.Reason)
		}
		if f.Rests != nil {
			what += ". " + capital(f.If()) + ": " + strings.Join(assumedNames(f), "; ")
		}
		row := document.Row{Cells: document.Cells(clause, what, signed(f.Value), signed(f.Limit), signed(f.Margin))}
		if f.Value.IsZero() && f.Limit.IsZero() && f.Margin.IsZero() {
			row.Cells[1].Over = 3
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// longClause is how long a clause may be to stand in its own column.
const longClause = 16

// says is the requirement of a row in words, with the part it is about where the
// heading does not say it.
func (r row) says(group []*part) string {
	of := cmp.Or(r.of, group[0])
	detail := detailOf(of, r.finding)
	if r.of != nil && len(group) > 1 {
		detail = join(r.of.record(), detail)
		if r.times > 1 {
			detail = join(r.of.record()+", the tightest of "+itoa(r.times), detailOf(of, r.finding))
		}
	}
	if detail == "" {
		return capital(r.finding.What)
	}
	return capital(detail) + ": " + r.finding.What
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
	t := document.Table{Small: true, Columns: []document.Column{{Head: "Assumption", Share: 112}, {Head: "By", Share: 68}}}
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

// openTable is what fails, what is not known and what a person must judge, in
// the order it should be taken up; what waits on something else says so, and what
// was judged and accepted is no longer in it.
func openTable(j *job.Job, all []*part, src *sources) document.Table {
	t := document.Table{Small: true, Columns: []document.Column{{Head: "Verdict", Share: 26}, {Head: "About", Share: 26}, {Head: "Requirement", Share: 70},
		{Head: "Next", Share: 58}}}
	for _, v := range []finding.Verdict{finding.Fails, finding.NotKnown, finding.JudgeOnSite} {
		for _, group := range alike(all) {
			for _, r := range rows(group) {
				f := r.finding
				if _, accepted := acceptedOn(j, f); f.Verdict != v || accepted {
					continue
				}
				next := capital(f.Next)
				if f.WaitsOn != "" {
					next = "Waits on: " + f.WaitsOn + ". " + next
				}
				about := capital(f.Subject)
				if r.times > 1 {
					about = join(about, "the first of "+itoa(r.times)+" alike")
				}
				t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{document.VerdictCell(v), {Text: about},
					{Text: capital(f.What) + before(" (", closing(f.Clause.Name)) + before(": ", join(signed(f.Value), before("limit ", signed(f.Limit)))) +
						bracketed(src.cite(f.Source)) + before(". ", whyOpen(f))}, {Text: next}}})
			}
		}
	}
	return t
}

// acceptedOn is the judgement by which a person accepted what was left to them.
func acceptedOn(j *job.Job, f finding.Finding) (works.Judgement, bool) {
	judged, ok := j.JudgementOn(f)
	return judged, ok && judged.Outcome.Or("") == trade.Accepted
}

// whyOpen is why a requirement is open, where its next step does not say it.
func whyOpen(f finding.Finding) string {
	if f.Repeats() || f.Verdict == finding.NotKnown {
		return ""
	}
	return capital(f.Why.String())
}

func closing(clause string) string {
	if clause == "" {
		return ""
	}
	return clause + ")"
}

// sourceBlocks says where figures stand. The book that most of them stand in is
// said once, and so is each doubt, under a letter.
func sourceBlocks(src *sources) []document.Block {
	book := mostOf(src.list, func(s finding.Source) string { return bookOf(s.Place) })
	said := "Numbers in square brackets above stand in these places."
	if book != "" {
		said += " Where no book is named it is " + book + "."
	}
	var doubts []string
	var list strings.Builder
	for i, s := range src.list {
		place, letter := s.Place, ""
		if book != "" {
			place = strings.TrimPrefix(place, book+" ")
		}
		if s.Doubt != "" {
			n := slices.Index(doubts, s.Doubt)
			if n < 0 {
				n, doubts = len(doubts), append(doubts, s.Doubt)
			}
			letter = " " + letterOf(n)
		}
		fmt.Fprintf(&list, "[%d%s] %s", i+1, letter, place)
		if i < len(src.list)-1 {
			list.WriteString("; ")
		}
	}
	if len(doubts) > 0 {
		said += " A letter is a doubt; confirm it against the edition at the foot of the page before anything rests on it:"
		for i, d := range doubts {
			said += " " + letterOf(i) + ", " + d + ";"
		}
		said = strings.TrimSuffix(said, ";") + "."
	}
	return []document.Block{document.Paragraph{Text: said, Small: true}, document.Paragraph{Text: list.String() + ".", Small: true}}
}

// letterOf is a letter to number by: a, b, to z, then a1.
func letterOf(n int) string {
	letter := string(rune('a' + n%26))
	if n >= 26 {
		letter += itoa(n / 26)
	}
	return letter
}

// bookOf is the standard that a place stands in: its letters and the number
// with its year, as in BS 7671:2018+A2:2022.
func bookOf(place string) string {
	words := strings.Fields(place)
	for i, w := range words {
		if strings.Contains(w, ":") && i > 0 && i < len(words)-1 {
			return strings.Join(words[:i+1], " ")
		}
	}
	return ""
}

// mostOf is what most of the sources say, nothing where they are few.
func mostOf(list []finding.Source, says func(finding.Source) string) string {
	times := map[string]int{}
	most := ""
	for _, s := range list {
		if t := says(s); t != "" {
			times[t]++
			if times[t] > times[most] || most == "" {
				most = t
			}
		}
	}
	if times[most] < 3 {
		return ""
	}
	return most
}
