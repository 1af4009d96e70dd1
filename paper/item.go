package paper

import (
	"strings"

	"chargewright/document"
	"chargewright/finding"
)

// item is one thing a paper must carry: the key under which the standard's
// model form asks for it, what it says, and where it is entered.
type item struct {
	key     string // field of the forms table
	what    string // as printed
	value   string // empty while it is missing
	note    string // how it is known, or why it is so
	of      string // path in the job record of the fact, or of the part, that it is entered in
	at      string // of a reading, where it is taken
	reading string // and what it is called
	get     string // how to get it
	waive   bool   // it does not apply here, and says so in value
}

// missing reports that the paper cannot be issued for want of this item.
func (i item) missing() bool { return i.value == "" && !i.waive }

// items is a list of things a paper must carry.
type items []item

// facts prints the items; what is missing says how to get it.
func (list items) facts() document.Facts {
	var out document.Facts
	for _, i := range list {
		switch {
		case i.missing():
			out = append(out, document.Fact{What: i.what, Value: notKnown, Note: i.get})
		case i.value == "":
			continue
		default:
			out = append(out, document.Fact{What: i.what, Value: i.value, Note: i.note})
		}
	}
	return out
}

// noneRecorded is what a row says where nothing is entered and nothing need be.
const noneRecorded = "none recorded"

// fields prints the items side by side; what is missing says how to get it, and
// that nothing is recorded is said once, of all that it is so of.
func (list items) fields() document.Fields {
	var shown items
	var none []string
	for _, i := range list {
		if i.value == noneRecorded && i.note == "" && i.what != "" {
			none = append(none, i.what)
			continue
		}
		shown = append(shown, i)
	}
	out := document.Fields(shown.facts())
	if len(none) > 0 {
		out = append(out, document.Fact{What: capital(noneRecorded), Value: strings.Join(none, "; ")})
	}
	return out
}

// gaps lists what is missing, each as something to enter.
func (list items) gaps(about string) []Gap {
	var out []Gap
	for _, i := range list {
		if i.missing() {
			out = append(out, Gap{Kind: wanting, About: about, What: i.what, Get: i.get, Field: i.key, Of: i.of, At: i.at, Reading: i.reading})
		}
	}
	return out
}

// Gap is one reason why a paper cannot be issued yet, and what to do about it.
type Gap struct {
	Kind    string           `json:"kind"`  // "missing", "fails", "not known", "to judge" or "unexplained"
	About   string           `json:"about"` // the part of the job
	What    string           `json:"what"`  // what is wanted, or what is wrong
	Get     string           `json:"get"`   // how to get it, or what to do
	Clause  string           `json:"clause,omitempty"`
	Field   string           `json:"field,omitempty"`   // of the forms table
	Of      string           `json:"of,omitempty"`      // path in the job record of the fact, or of the part, that settles it
	At      string           `json:"at,omitempty"`      // of a reading, where it is taken
	Reading string           `json:"reading,omitempty"` // and what it is called
	Lacks   finding.Lacks    `json:"lacks,omitempty"`   // inputs that a rule lacks
	Finding *finding.Finding `json:"-"`                 // the rule, where one is behind it
}

// Kinds of gap.
const (
	wanting     = "missing"
	failing     = "fails"
	open        = "not known"
	toJudge     = "to judge"
	unexplained = "unexplained"
)

// gapOrder puts what fails first, then what a person must settle, then what is
// only still to be written down.
var gapOrder = map[string]int{failing: 0, unexplained: 1, open: 2, toJudge: 3, wanting: 4}

// gapTable lists gaps.
func gapTable(gaps []Gap) document.Table {
	t := document.Table{Columns: []document.Column{{Head: "", Share: 22}, {Head: "About", Share: 28}, {Head: "What", Share: 60},
		{Head: "How to settle it", Share: 70}}}
	for _, g := range gaps {
		what := capital(g.What)
		if g.Clause != "" {
			what += " (" + g.Clause + ")"
		}
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: g.Kind, Bold: true}, {Text: capital(g.About)}, {Text: what}, {Text: capital(g.Get)}}})
	}
	return t
}
