package web

// One reading at several points alike, on one screen: each with its band and
// its word, all entered as one act.

import (
	"net/http"
	"net/url"
	"slices"
	"strings"

	"chargewright/works"
)

// roundPage is the entry of one reading at several points.
type roundPage struct {
	*readingPage
	Rows []*roundRow
	Left int // how many are not read
}

// roundRow is one of them.
type roundRow struct {
	Test           test
	Value, Problem string
}

// alike is the points that are alike, by the name of each.
func (o *opened) alike() map[string][]string {
	if o.same == nil {
		o.same = map[string][]string{}
		l := &liner{o: o}
		for _, b := range o.Model.Boards {
			for _, g := range l.groups(b) {
				var names []string
				for _, c := range g {
					if c.Point != nil {
						names = append(names, c.Point.Record.Name)
					}
				}
				for _, n := range names {
					if len(names) >= leastAlike {
						o.same[n] = names
					}
				}
			}
		}
	}
	return o.same
}

// roundURL is the address of a reading at all points like one.
func roundURL(job string, t test) string {
	return "/jobs/" + job + "/round?" + url.Values{"at": {t.At}, "reading": {t.Reading}}.Encode()
}

func (s *Server) roundPage(r *http.Request, o *opened, at, reading string) (*roundPage, error) {
	var rows []*roundRow
	left := 0
	first := at
	for _, t := range o.tests() {
		if t.Reading != reading || !slices.Contains(o.alike()[at], t.At) {
			continue
		}
		if t.Taken == "" {
			if left++; left == 1 {
				first = t.At
			}
		}
		rows = append(rows, &roundRow{Test: t})
	}
	if len(rows) < 2 {
		return nil, notInJob
	}
	p, err := s.readingPage(r, o, first, reading)
	if err != nil {
		return nil, err
	}
	p.Entry = true
	p.Title = p.Test.Reading + " at " + whole(len(rows)) + " points"
	return &roundPage{p, rows, left}, nil
}

func (s *Server) round(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	p, err := s.roundPage(r, o, r.URL.Query().Get("at"), r.URL.Query().Get("reading"))
	if err != nil {
		return err
	}
	return render(w, http.StatusOK, "round.html", p)
}

// enterRound enters what was read, each in its own place; what is left empty
// stays to be read. One that does not fit is shown next.
func (s *Server) enterRound(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	p, err := s.roundPage(r, o, r.PostFormValue("at"), r.PostFormValue("reading"))
	if err != nil {
		return err
	}
	in := p.said(r)
	a := s.act(r, o.ID, "")
	a.Entries = p.Tester.entries()
	place := len(o.Record.Items("readings"))
	var said []string
	next, wrong := "", false
	for i, row := range p.Rows {
		row.Value = strings.TrimSpace(r.PostFormValue("value " + row.Test.At))
		if row.Value == "" && row.Test.Taken == "" && len(row.Test.Seen) > 0 && r.PostFormValue("rest") != "" {
			row.Value = row.Test.Seen[0]
		}
		if row.Value == "" || row.Test.Taken != "" {
			continue
		}
		value, problem := readable(row.Value, p.Unit, row.Test.Expectation)
		if problem != "" {
			row.Problem, wrong = problem, true
			continue
		}
		in.at, in.reading, in.value = row.Test.At, row.Test.Reading, value
		place++
		a.Entries = append(a.Entries, in.entries(works.Under("readings", a.ID+"-"+whole(i+1)), place)...)
		said = append(said, row.Test.At+" "+value)
		judged, err := o.judge(row.Test.Expectation, value, false)
		if err != nil {
			return err
		}
		if judged.Bad && next == "" {
			next = readingURL(o.ID, row.Test.Expectation)
		}
		row.Test.Taken = value
	}
	if err := o.try(a.Entries); err != nil && !wrong {
		_, p.Problems = explain(err)
		wrong = true
	}
	if wrong {
		for _, row := range p.Rows { // what was typed is still there
			if row.Value != "" {
				row.Test.Taken = ""
			}
		}
		return render(w, http.StatusUnprocessableEntity, "round.html", p)
	}
	if next == "" {
		next = p.after(o)
	}
	if len(said) == 0 {
		http.Redirect(w, r, next, http.StatusSeeOther)
		return nil
	}
	a.What = p.Test.Reading + ": " + strings.Join(said, ", ")
	return s.enter(w, r, o, a.Stamped(), next)
}

// after is the address of the next test once the round is entered.
func (p *roundPage) after(o *opened) string {
	for _, t := range o.tests() {
		if t.Taken == "" && !slices.ContainsFunc(p.Rows, func(r *roundRow) bool { return r.Test.At == t.At && r.Test.Reading == t.Reading }) {
			return t.URL
		}
	}
	return "/jobs/" + o.ID
}

// Word is how a reading stands on its row.
func (r *roundRow) Word() string {
	if fit := r.Test.Fit(); r.Test.Taken != "" && fit.Misfits() {
		return fit.String()
	}
	return ""
}
