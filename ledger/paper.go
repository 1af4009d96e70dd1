package ledger

// The statement as a paper, and as files to take away.

import (
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"strings"

	"chargewright/document"
	"chargewright/drawing"
	"chargewright/paper"
)

// Bounds of what is shown one by one; the files hold the rest.
const (
	mostSessions = 200
	MostNotes    = 40
)

// File is one file of a statement.
type File struct {
	Name, Label string
	Write       func(io.Writer) error
}

// Files returns the files of the statement. Each is made as it is written: the
// list of sessions may be long.
func (a *Account) Files() []File {
	out := []File{
		{"statement.pdf", "Statement as PDF", func(to io.Writer) error {
			text, err := a.Paper().PDF()
			if err == nil {
				_, err = to.Write(text)
			}
			return err
		}},
		{"statement.csv", "Statement as CSV", a.Report.Statement.CSV},
		{"sessions.csv", "Every session as CSV", func(to io.Writer) error { return a.Ledger.SessionsCSV(to, a.Report.Statement, a.wanted) }},
		{"notes.csv", "Every note as CSV", a.Ledger.NotesCSV},
		{"statement.json", "Statement as JSON", func(to io.Writer) error {
			enc := json.NewEncoder(to)
			enc.SetEscapeHTML(false)
			enc.SetIndent("", "  ")
			return enc.Encode(a.Report)
		}},
	}
	for _, scene := range a.Weeks() {
		out = append(out, File{scene.Name + ".svg", scene.Title, func(to io.Writer) error {
			_, err := to.Write(scene.SVG())
			return err
		}})
	}
	return out
}

// Weeks draws a mean week, and beside it the week as it would be.
func (a *Account) Weeks() []drawing.Scene {
	const was = "A mean week as it was charged"
	st, c := a.Report.Statement, a.Report.Compared
	switch {
	case st.From == "":
		return nil
	case c == nil:
		return []drawing.Scene{drawing.Week("week", was, week(a.Ledger.Week(a.wanted, st)), 0)}
	}
	now, then := week(c.WeekNow), week(c.WeekThen)
	most := max(now.Greatest(), then.Greatest())
	return []drawing.Scene{drawing.Week("week", was, now, most), drawing.Week("week-what-if", "A mean week as it would be: "+c.Heading(), then, most)}
}

// week hands a week of the ledger to the drawing.
func week(w meanWeek) drawing.WeekData {
	out := drawing.WeekData{Cheap: w.Cheap}
	for d := range w.Energy {
		for h, e := range w.Energy[d] {
			out.Energy[d][h] = float64(e) / float64(KWh)
		}
	}
	return out
}

// Paper puts what the ledger says into the paper's places.
func (a *Account) Paper() *paper.Statement {
	l, r, st := a.Ledger, a.Report, a.Report.Statement
	form := st.Form()
	p := &paper.Statement{Place: a.place, Invented: r.Invented, Made: l.Made, Head: form.Head, Right: form.Right, Rows: form.Rows, Total: form.Total,
		Rules: st.Rules, Sources: st.Sources, Findings: r.Findings, Weeks: a.Weeks()}
	if st.From != "" {
		p.Period = st.From + " to " + st.To + ", " + st.Zone
	}
	var by []string
	for _, k := range st.By {
		by = append(by, string(k))
	}
	p.By = strings.Join(by, " and ")
	for _, b := range form.Below {
		p.Below = append(p.Below, [2]string{b[0], b[1]})
	}
	sessions, all := l.Sessions(st, a.wanted, mostSessions)
	p.Sessions = paper.StatementSessions{Head: sessions.Head, Right: sessions.Right, Rows: sessions.Rows, Left: all - len(sessions.Rows)}
	for _, t := range r.Records {
		f := t.Figures()
		p.Records = append(p.Records, paper.StatementRecord{File: t.File, Lines: f[0], Counted: f[1], Doubted: f[2], Twice: f[3], Faulty: f[4], Other: f[5]})
	}
	for _, k := range Kinds {
		if noted := a.noted(k); len(noted.Rows) > 0 {
			p.Noted = append(p.Noted, noted)
		}
	}
	if c := r.Compared; c != nil {
		p.Compared = append(p.Compared, document.Fact{What: "Compared with", Value: c.Heading()})
		for _, f := range c.Facts() {
			p.Compared = append(p.Compared, document.Fact{What: f[0], Value: f[1]})
		}
		p.Fit = c.Rules
	}
	if r.Billing != nil && r.Billing.priced {
		p.Below = append(p.Below, [2]string{"billed by the records", r.Billing.Billed.String()},
			[2]string{"of those sessions, by the tariff", r.Billing.Reckoned.String()})
	}
	for _, d := range r.Driven {
		p.Below = append(p.Below, [2]string{"by the odometer of " + d.Vehicle, d.String()})
	}
	if r.Claim != nil {
		p.Claim = claimPaper(r.Claim, r.AtHome)
	}
	return p
}

// Kinds is every kind of note, the gravest first.
var Kinds = []Kind{Faulty, Doubted, SaidTwice, Estimated, SetApart, Corrected, Noticed}

func (a *Account) noted(k Kind) paper.StatementNotes {
	heading := k.String()
	out := paper.StatementNotes{Heading: strings.ToUpper(heading[:1]) + heading[1:]}
	all := a.Ledger.OfKind(k)
	for _, n := range all[:min(len(all), MostNotes)] {
		where, text := n.Apart(len(a.Report.Records) > 1)
		out.Rows = append(out.Rows, [2]string{where, text})
	}
	out.Left = len(all) - len(out.Rows)
	return out
}

func claimPaper(c *MileageClaim, home *AtHome) *paper.StatementClaim {
	out := &paper.StatementClaim{Head: []string{"person", "vehicle", "journeys", "miles", "rate", "amount, £", "source"},
		Right: []bool{false, false, true, true, true, true, false},
		Total: c.Total.String(), Unrated: c.Unrated, Rules: c.Rules}
	if home != nil {
		out.Rules = slices.Concat(c.Rules, home.Lines())
	}
	for _, line := range c.Lines {
		out.Rows = append(out.Rows, []string{line.Person, line.Vehicle, fmt.Sprint(line.Journeys), line.MilesText(), line.Rate,
			strings.TrimPrefix(line.Amount.String(), "£"), line.Source})
	}
	return out
}
