package paper

import (
	"bytes"
	"fmt"
	"time"

	"chargewright/document"
	"chargewright/drawing"
	"chargewright/finding"
)

// Statement is what the paper of charging sessions shows. Every figure in it
// comes ready to print: this package sums nothing.
type Statement struct {
	Place    string // the site, or the records it is made from
	Period   string
	Invented bool
	Made     time.Time
	By       string
	Head     []string
	Right    []bool // which columns hold figures
	Rows     [][]string
	Total    []string
	Below    [][2]string // under the total: what, how much
	Rules    []string    // how it was reckoned
	Sources  []string
	Sessions StatementSessions
	Records  []StatementRecord
	Noted    []StatementNotes
	Compared []document.Fact
	Fit      []string // how the comparison was reckoned
	Weeks    []drawing.Scene
	Claim    *StatementClaim
	Findings []finding.Finding
}

// StatementSessions is the sessions one by one, or as many as a paper holds.
type StatementSessions struct {
	Head  []string
	Right []bool
	Rows  [][]string
	Left  int // further ones, in the data beside the paper
}

// StatementRecord is where the lines of one record went.
type StatementRecord struct{ File, Lines, Counted, Doubted, Twice, Faulty, Other string }

// StatementNotes is the notes of one kind: line and text.
type StatementNotes struct {
	Heading string
	Rows    [][2]string
	Left    int // further ones, in the data beside the paper
}

// StatementClaim is miles paid back.
type StatementClaim struct {
	Head    []string
	Right   []bool
	Rows    [][]string
	Total   string
	Unrated []string
	Rules   []string
}

// PDF lays the statement out and writes it.
func (s *Statement) PDF() ([]byte, error) {
	var b bytes.Buffer
	err := s.document().PDF(&b)
	return b.Bytes(), err
}

func (s *Statement) document() *document.Document {
	d := &document.Document{Title: "Charging statement", Job: s.Place, Invented: s.Invented, Made: s.Made, Sheet: document.A4Across}
	if s.Period != "" {
		d.Subject = "Sessions from " + s.Period + ", by " + s.By + "."
	}
	sums := plainTable(s.Head, s.Right, s.Rows)
	total := document.Cells(s.Total...)
	for i := range total {
		total[i].Bold = true
	}
	sums.Rows = append(sums.Rows, document.Row{Cells: total})
	blocks := []document.Block{sums}
	if len(s.Below) > 0 {
		below := document.Facts{}
		for _, b := range s.Below {
			below = append(below, document.Fact{What: b[0], Value: b[1]})
		}
		blocks = append(blocks, below)
	}
	d.Sections = append(d.Sections, document.Section{Heading: "Sums", Blocks: blocks})
	if s.Claim != nil {
		d.Sections = append(d.Sections, s.Claim.section())
	}
	if len(s.Compared) > 0 {
		d.Sections = append(d.Sections, document.Section{Heading: "What if", Blocks: append([]document.Block{document.Facts(s.Compared)}, paragraphs(s.Fit)...)})
	}
	if len(s.Weeks) > 0 {
		d.Sections = append(d.Sections, document.Section{Heading: "The week", Blocks: []document.Block{document.Picture{Scenes: s.Weeks}}})
	}
	if len(s.Sessions.Rows) > 0 {
		d.Sections = append(d.Sections, s.Sessions.section())
	}
	d.Sections = append(d.Sections, document.Section{Heading: "How it was reckoned", Blocks: append(paragraphs(s.Rules), sourceFacts(s.Sources)...)})
	d.Sections = append(d.Sections, s.records())
	if len(s.Findings) > 0 {
		d.Sections = append(d.Sections, document.Section{Heading: "For the next visit", Blocks: []document.Block{
			document.Caution{Head: "Before anything is opened", Lines: []string{"Isolate, lock off, prove the tester on a known source, prove dead, prove the " +
				"tester again. Only a person competent for it opens a point or tests it."}},
			visitTable(s.Findings)}})
	}
	return d
}

func (s StatementSessions) section() document.Section {
	blocks := []document.Block{plainTable(s.Head, s.Right, s.Rows)}
	if s.Left > 0 {
		blocks = append(blocks, document.Paragraph{Text: fmt.Sprintf("%d more stand in the list of sessions beside this paper.", s.Left)})
	}
	return document.Section{Heading: "The sessions one by one", Blocks: blocks}
}

func (c *StatementClaim) section() document.Section {
	t := plainTable(c.Head, c.Right, c.Rows)
	blocks := []document.Block{}
	if len(c.Rows) > 0 {
		blocks = append(blocks, t)
	}
	blocks = append(blocks, document.Facts{{What: "Claim", Value: c.Total}})
	if len(c.Unrated) > 0 {
		blocks = append(blocks, document.Subheading{Text: "Not known, and not in the claim"})
		blocks = append(blocks, paragraphs(c.Unrated)...)
	}
	return document.Section{Heading: "Miles on business, paid back by the mile", Blocks: append(blocks, paragraphs(c.Rules)...)}
}

func (s *Statement) records() document.Section {
	t := document.Table{Columns: []document.Column{{Head: "Record", Share: 80}, {Head: "Lines", Share: 16, Right: true},
		{Head: "Counted", Share: 34, Right: true}, {Head: "Doubtful, not counted", Share: 38, Right: true},
		{Head: "Said twice", Share: 32, Right: true}, {Head: "Cannot be read", Share: 24, Right: true}, {Head: "Head, remarks, other", Share: 28, Right: true}}}
	for _, r := range s.Records {
		t.Rows = append(t.Rows, document.Row{Cells: document.Cells(r.File, r.Lines, r.Counted, r.Doubted, r.Twice, r.Faulty, r.Other)})
	}
	blocks := []document.Block{t}
	for _, n := range s.Noted {
		blocks = append(blocks, document.Subheading{Text: n.Heading})
		rows := document.Table{Columns: []document.Column{{Head: "Line", Share: 14, Right: true}, {Head: "What", Share: 180}}}
		for _, r := range n.Rows {
			rows.Rows = append(rows.Rows, document.Row{Cells: document.Cells(r[0], r[1])})
		}
		blocks = append(blocks, rows)
		if n.Left > 0 {
			blocks = append(blocks, document.Paragraph{Text: fmt.Sprintf("%d more stand in the list of notes beside this paper.", n.Left)})
		}
	}
	return document.Section{Heading: "Where every line of the records went", Blocks: blocks}
}

// plainTable is a table of texts, its columns as wide as their longest text.
func plainTable(head []string, right []bool, rows [][]string) document.Table {
	t := document.Table{}
	for i, h := range head {
		wide := 6.0
		for _, word := range append(columnOf(rows, i), longestWord(h)) {
			wide = max(wide, drawing.Measure(word, document.TableSize, true))
		}
		t.Columns = append(t.Columns, document.Column{Head: capital(h), Share: min(wide, 60) + 6, Right: right[i]})
	}
	for _, r := range rows {
		t.Rows = append(t.Rows, document.Row{Cells: document.Cells(r...)})
	}
	return t
}

func columnOf(rows [][]string, i int) []string {
	var out []string
	for _, r := range rows {
		out = append(out, r[i])
	}
	return out
}

func longestWord(text string) string {
	longest, from := "", 0
	for i := 0; i <= len(text); i++ {
		if i == len(text) || text[i] == ' ' {
			if i-from > len(longest) {
				longest = text[from:i]
			}
			from = i + 1
		}
	}
	return longest
}

func paragraphs(texts []string) []document.Block {
	var out []document.Block
	for _, t := range texts {
		out = append(out, document.Paragraph{Text: t})
	}
	return out
}

func sourceFacts(sources []string) []document.Block {
	if len(sources) == 0 {
		return nil
	}
	var facts document.Facts
	for i, s := range sources {
		facts = append(facts, document.Fact{What: fmt.Sprintf("Prices and factors, source %d", i+1), Value: s})
	}
	return []document.Block{facts}
}

func visitTable(fs []finding.Finding) document.Table {
	t := document.Table{Columns: []document.Column{{Head: "Verdict", Share: 30}, {Head: "What", Share: 70}, {Head: "Found", Share: 24, Right: true},
		{Head: "Bound", Share: 24, Right: true}, {Head: "Margin", Share: 24, Right: true}, {Head: "Rests on", Share: 50}}}
	sorted := append([]finding.Finding(nil), fs...)
	finding.ByUrgency(sorted)
	for _, f := range sorted {
		row := document.Row{Cells: []document.Cell{document.VerdictCell(f.Verdict), {Text: f.Subject + ": " + f.What}, {Text: signed(f.Value)},
			{Text: signed(f.Limit)}, {Text: signed(f.Margin)}, {Text: f.Clause.Name}}}
		if why := f.Why.String(); why != "" {
			row.Under = append(row.Under, document.Note{Label: "why", Text: why})
		}
		if f.Next != "" {
			row.Under = append(row.Under, document.Note{Label: "next", Text: f.Next})
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}
