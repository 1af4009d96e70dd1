package web

// The statement of charging as a paper, and as files to take away.

import (
	"bytes"
	"encoding/json"
	"io"
	"mime"
	"net/http"
	"strings"

	"chargewright/drawing"
	"chargewright/ledger"
	"chargewright/paper"
)

// Bounds of what is shown one by one; the files hold the rest.
const (
	mostSessions = 200
	mostNotes    = 40
)

// statementFile is one file of a statement that can be taken away.
type statementFile struct {
	Name, Label string
	write       func(*account, *opened, io.Writer) error
}

var statementFiles = []statementFile{
	{"statement.pdf", "Statement as PDF", func(a *account, o *opened, to io.Writer) error {
		text, err := a.paper(o).PDF()
		if err != nil {
			return err
		}
		_, err = to.Write(text)
		return err
	}},
	{"statement.csv", "Statement as CSV", func(a *account, _ *opened, to io.Writer) error { return a.report.Statement.CSV(to) }},
	{"statement.json", "Statement as JSON", func(a *account, _ *opened, to io.Writer) error {
		out := json.NewEncoder(to)
		out.SetEscapeHTML(false)
		out.SetIndent("", "  ")
		return out.Encode(a.report)
	}},
	{"sessions.csv", "Every session as CSV", func(a *account, _ *opened, to io.Writer) error {
		return a.ledger.SessionsCSV(to, a.report.Statement, a.wanted)
	}},
	{"notes.csv", "Every note as CSV", func(a *account, _ *opened, to io.Writer) error { return a.ledger.NotesCSV(to) }},
}

// download hands out one file of the statement.
func (a *account) download(w http.ResponseWriter, o *opened, name string) error {
	for _, f := range statementFiles {
		if f.Name != name {
			continue
		}
		var b bytes.Buffer
		if err := f.write(a, o, &b); err != nil {
			return err
		}
		w.Header().Set("Content-Type", contentType(name))
		w.Header().Set("Content-Disposition", mime.FormatMediaType("attachment", map[string]string{"filename": name}))
		w.Header().Set("Cache-Control", "no-store")
		_, err := w.Write(b.Bytes())
		return err
	}
	return notInJob
}

// paper puts what the ledger says into the paper's places.
func (a *account) paper(o *opened) *paper.Statement {
	l, st := a.ledger, a.report.Statement
	form := st.Form()
	p := &paper.Statement{Place: o.Job.Name, Invented: o.Job.Invented, Made: l.Made, Head: form.Head, Right: form.Right, Rows: form.Rows, Total: form.Total,
		Rules: st.Rules, Sources: st.Sources, Findings: a.report.Findings}
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
	for _, t := range a.report.Records {
		f := t.Figures()
		p.Records = append(p.Records, paper.StatementRecord{File: t.File, Lines: f[0], Counted: f[1], Doubted: f[2], Twice: f[3], Faulty: f[4], Other: f[5]})
	}
	for _, k := range []ledger.Kind{ledger.Faulty, ledger.Doubted, ledger.SaidTwice, ledger.Corrected, ledger.Noticed} {
		if noted := notedOf(l, k); len(noted.Rows) > 0 {
			p.Noted = append(p.Noted, noted)
		}
	}
	if st.From != "" {
		p.Weeks = []drawing.Scene{drawing.Week("week", "A mean week as it was charged", weekOf(l.Week(a.wanted, st)), 0)}
	}
	return p
}

func notedOf(l *ledger.Ledger, k ledger.Kind) paper.StatementNotes {
	out := paper.StatementNotes{Heading: capital(k.String())}
	all := l.OfKind(k)
	for _, n := range all[:min(len(all), mostNotes)] {
		where, text := n.Apart(false)
		out.Rows = append(out.Rows, [2]string{where, text})
	}
	out.Left = len(all) - len(out.Rows)
	return out
}

// weekOf hands a week of the ledger to the drawing.
func weekOf(w ledger.Week) drawing.WeekData {
	out := drawing.WeekData{Cheap: w.Cheap}
	for d := range w.Energy {
		for h, e := range w.Energy[d] {
			out.Energy[d][h] = float64(e) / float64(ledger.KWh)
		}
	}
	return out
}
