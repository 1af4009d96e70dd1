package web

// The main screen of a job: what to do now, large, and the line from the
// street to the vehicle, each station with its one figure.

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"chargewright/finding"
	"chargewright/paper"
	"chargewright/works"
)

// saying is the state of a job in a few words, and what to do now.
type saying struct {
	Kind    string // what the job waits for: a key of the list of jobs
	Fails   bool
	State   string
	Deed    string
	Keys    []key
	Ask     *blank // answered in place: a fact of a few words
	Judging *judging
	Next    string // where answering it in place leads
}

// key is something to touch that leads on.
type key struct {
	URL, Label string
	Main       bool
}

// judging is a rule that a person settles in place.
type judging struct {
	Clause, About, Who, When string
	URL                      string // of the whole form
}

// nouns is what a kind of station is called in a state.
var nouns = map[string]string{"street": "the supply", "fuse": "the cut-out", "meter": "the tails", "earth": "the earthing", "electrode": "the electrode",
	"clamp": "the limiter", "board": "the board", "breaker": "the device", "rcbo": "the device", "cable": "the cable", "point": "the point", "load": "the load"}

// saying finds what to do now: what does not hold together, what fails, what
// is not known, what is to be read, what is to be judged, what a certificate
// still wants, and then to sign.
func (o *opened) saying(s *Server, r *http.Request) saying {
	now, at := s.Now(), "/jobs/"+o.ID
	if n := len(o.Record.Conflicts()); n > 0 {
		return saying{Kind: "fails", Fails: true, State: counted(n, "entry differs", "entries differ"), Deed: "Two people entered different values. Both are kept.",
			Keys: []key{{at + "/differences", "Settle", true}}}
	}
	for _, say := range []func() (saying, bool){
		o.sayFails, o.sayMisfit, func() (saying, bool) { return o.sayNotSeen(now) }, func() (saying, bool) { return o.sayNotKnown(now) }, o.sayRead,
		func() (saying, bool) { return o.sayJudge(s.Who(r), now) }, func() (saying, bool) { return o.sayGaps(now) },
	} {
		if is, so := say(); so {
			is.Next = at
			return is
		}
	}
	return saying{Kind: "issue", State: "Ready to issue", Deed: "Nothing keeps the certificate back.", Keys: []key{{at + "/certificate", "Certificate", true}}}
}

func (o *opened) sayFails() (saying, bool) {
	var first *station
	n := 0
	for _, run := range o.line() {
		for _, st := range run.Stations {
			if st.Fails() {
				if first == nil {
					first = st
				}
				for _, f := range st.found {
					if f.Verdict == finding.Fails && !o.Job.Departed(f) {
						n++
					}
				}
			}
		}
	}
	if first == nil {
		return saying{}, false
	}
	f := first.found[slices.IndexFunc(first.found, func(f finding.Finding) bool { return f.Verdict == finding.Fails && !o.Job.Departed(f) })]
	is := saying{Kind: "fails", Fails: true, State: "Fails at " + first.Noun(), Deed: deedOf(f)}
	is.Keys = []key{{sheetURL(o.ID, first.Of) + "#must", "Look at it", true}}
	if i := slices.IndexFunc(first.Tests, func(t test) bool { return f.Key == "reading "+t.Reading }); i >= 0 {
		f.What = f.Subject
		is.Deed, is.Keys[0].URL = deedOf(f), first.Tests[i].URL
	}
	if n > 1 {
		is.Keys = append(is.Keys, key{"/jobs/" + o.ID + "/next", "All " + whole(n), false})
	}
	return is, true
}

// deedOf says what fails by how much, and what to do about it.
func deedOf(f finding.Finding) string {
	says := capital(brief(f.What))
	if !f.Value.IsZero() && !f.Limit.IsZero() {
		says += fmt.Sprintf(": %v, limit %v", f.Value, f.Limit)
	}
	says += "."
	if f.Next != "" {
		says += " " + capital(f.Next) + "."
	}
	return says
}

// sayMisfit is of a reading that lies outside what was expected, with no word
// on why it is kept.
func (o *opened) sayMisfit() (saying, bool) {
	for _, t := range o.tests() {
		if word := t.Fit(); word.Misfits() && o.keptBecause(t.Expectation) == "" {
			return saying{Kind: "fails", Fails: true, State: word.String(), Deed: t.Reading + " at " + t.At + ": " + t.Taken + ", expected " + t.Expected() + ".",
				Keys: []key{{t.URL, "Look at it", true}, {"/jobs/" + o.ID + "/why", "What explains it", false}}}, true
		}
	}
	return saying{}, false
}

// sayNotSeen is of what a template said and nobody has looked at.
func (o *opened) sayNotSeen(now time.Time) (saying, bool) {
	var first *station
	n, open := 0, 0
	for _, run := range o.line() {
		for _, st := range run.Stations {
			assumed := len(o.assumedAt(st))
			if n += assumed; first == nil && assumed > 0 {
				first = st
			}
			open += len(o.questions(st, now))
		}
	}
	if first == nil {
		return saying{}, false
	}
	is := saying{Kind: "look", State: whole(n) + " not yet seen", Deed: "Touch what you have seen. Dotted figures reach no certificate."}
	if open > 0 {
		is.Deed += " " + whole(open) + " not known."
	}
	is.Keys = []key{{sheetURL(o.ID, first.Of), "Look: " + first.Noun(), true}, {"/jobs/" + o.ID + "/next", "All", false}}
	return is, true
}

func (o *opened) sayNotKnown(now time.Time) (saying, bool) {
	open, n := (*station)(nil), 0
	var first *blank
	for _, run := range o.line() {
		for _, st := range run.Stations {
			ask := o.questions(st, now)
			n += len(ask)
			if open == nil && len(ask) > 0 {
				open, first = st, ask[0]
			}
		}
	}
	waits := slices.ContainsFunc(o.Found, func(f finding.Finding) bool { return f.Verdict == finding.NotKnown })
	if !waits || open == nil {
		return saying{}, false
	}
	is := saying{Kind: "look", State: whole(n) + " not known",
		Deed: capital(strings.TrimPrefix(open.Noun(), "the ")) + ": " + strings.TrimSuffix(first.Name, "?") + "?"}
	if w := first.Field.Words; len(w) > 0 && len(w) <= 3 {
		is.Ask = first
		is.Keys = []key{{sheetURL(o.ID, open.Of), "More", false}}
		return is, true
	}
	is.Keys = []key{{sheetURL(o.ID, open.Of), "Look: " + open.Noun(), true}, {"/jobs/" + o.ID + "/next", "All", false}}
	return is, true
}

func (o *opened) sayRead() (saying, bool) {
	left := 0
	var first *test
	tests := o.tests()
	for i, t := range tests {
		if t.Taken == "" {
			if left++; first == nil {
				first = &tests[i]
			}
		}
	}
	if first == nil {
		return saying{}, false
	}
	is := saying{Kind: "read", State: whole(left) + " to read", Deed: capital(first.Stage) + ". " + cautions[first.Stage]}
	is.Keys = []key{{first.URL, capital(first.Reading) + " at " + first.At, true}}
	return is, true
}

func (o *opened) sayJudge(who string, now time.Time) (saying, bool) {
	var first *finding.Finding
	n := 0
	for i, f := range o.Found {
		if f.Verdict == finding.JudgeOnSite && !o.settled(f) {
			if n++; first == nil {
				first = &o.Found[i]
			}
		}
	}
	if first == nil {
		return saying{}, false
	}
	next := "/jobs/" + o.ID
	is := saying{Kind: "judge", State: whole(n) + " to judge", Deed: capital(brief(first.What)) + ". " + capital(first.Next) + "."}
	is.Judging = &judging{Clause: first.Clause.Name, About: o.Job.About(*first), Who: who, When: now.Format("2006-01-02 15:04"), URL: o.judgementURL(*first, next)}
	if n > 1 {
		is.Keys = append(is.Keys, key{next + "/next", "All " + whole(n), false})
	}
	return is, true
}

func (o *opened) sayGaps(now time.Time) (saying, bool) {
	gaps := paper.Missing(o.Model, o.Found, o.Expected, now)
	if len(gaps) == 0 {
		return saying{}, false
	}
	g := gaps[0]
	at := "/jobs/" + o.ID + "/certificate"
	return saying{Kind: "sign", State: whole(len(gaps)) + " before you sign", Deed: capital(g.About) + ": " + g.What + ".",
		Keys: []key{{o.settledAt(g), capital(short(g.Get, "Enter it")), true}, {at, "All", false}}}, true
}

// short is a text that fits a key, or another.
func short(text, or string) string {
	if len(text) > 24 || text == "" {
		return or
	}
	return text
}

// side is what follows from the job as it stands, beside it on a desk.
type side struct {
	Counts []count
	Next   []step
	Tests  []test
}

// count is how many rules have one verdict.
type count struct {
	Verdict finding.Verdict
	N       int
}

// mostInStrip is how many readings stand beside the main screen; of more, those
// that are to be taken next.
const mostInStrip = 24

func (o *opened) side(now time.Time) side {
	n := finding.Summarise(o.Found)
	tests := o.tests()
	next := slices.DeleteFunc(slices.Clone(tests), func(t test) bool { return t.Taken != "" && !t.Fit().Misfits() })
	if len(tests) > mostInStrip {
		tests = next[:min(len(next), mostInStrip)]
	}
	return side{[]count{{finding.Fails, n.Fails}, {finding.NotKnown, n.NotKnown}, {finding.JudgeOnSite, n.JudgeOnSite}, {finding.Meets, n.Meets}},
		o.nextSteps(now), tests}
}

func (s *Server) line(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	if like := r.URL.Query().Get("like"); like != "" {
		return s.likes(w, r, o, like)
	}
	say := o.saying(s, r)
	s.note(r, o)
	f := o.frame(s, r, say.State, "survey")
	f.Body = "main"
	return render(w, http.StatusOK, "line.html", struct {
		Frame
		Say  saying
		Side side
	}{f, say, o.side(s.Now())})
}

// likeRow is one of several alike.
type likeRow struct {
	Of, Name, Figure, Unit string
	Verdict                finding.Verdict
	Checked                bool
}

// likes lists what is drawn as one station.
func (s *Server) likes(w http.ResponseWriter, r *http.Request, o *opened, of string) error {
	st := o.stationOf(of)
	if st == nil || st.Count == 1 {
		return notInJob
	}
	var rows []likeRow
	for _, name := range st.likeOnes {
		row := likeRow{Name: name, Figure: st.Figure, Unit: st.Unit}
		switch st.Symbol {
		case "point":
			row.Of = works.Under("points", name)
		case "cable":
			circuit := works.Under("circuits", name)
			row.Of = circuit + "/cable"
			for _, c := range o.Model.Circuits {
				if c.Record.Name == name {
					if m, ok := c.Length().Get(); ok {
						row.Figure, row.Unit = figureAndUnit(m.String(), "m")
					}
				}
			}
		default:
			row.Of = works.Under("circuits", name)
		}
		var found []finding.Finding
		for _, f := range st.found {
			if works.Within(f.Path, strings.TrimSuffix(row.Of, "/cable")) && !o.settled(f) {
				found = append(found, f)
			}
		}
		row.Verdict, row.Checked = finding.Worst(found)
		rows = append(rows, row)
	}
	return render(w, http.StatusOK, "like.html", struct {
		Frame
		Rows []likeRow
	}{o.frame(s, r, st.Title+", "+whole(st.Count), "survey"), rows})
}

// URL is where a station leads: its sheet, or the list of what is alike.
func (s *station) URL(jobID string) string {
	if s.Count > 1 {
		return "/jobs/" + jobID + "?" + url.Values{"like": {s.Of}}.Encode()
	}
	return sheetURL(jobID, s.Of)
}
