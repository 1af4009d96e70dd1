package web

// What is left to a person, on one form: each rule with its words, an outcome
// and what it rests on.

import (
	"net/http"
	"strings"

	"chargewright/finding"
	"chargewright/job"
	"chargewright/quantity"
	"chargewright/trade"
	"chargewright/works"
)

// toJudge is a rule that is left to a person and not settled, as a form asks it.
type toJudge struct {
	finding.Finding
	Key     string // of its fields
	About   string
	Outcome string
	Reason  string
	Problem string
	Ready   []ready // what it often rests on
}

// oftenRests is what a judgement on site often rests on: common practice, no source.
var oftenRests = []ready{
	{"seen on site", "seen on site"},
	{"seen, and the maker's instructions read", "seen, and maker's instructions"},
	{"asked of the client", "asked of the client"},
}

// toJudge lists them, each once.
func (o *opened) toJudge() []*toJudge {
	var out []*toJudge
	seen := map[string]bool{}
	for _, f := range o.Found {
		if f.Verdict != finding.JudgeOnSite || f.WaitsOn != "" || o.settled(f) || f.Key == "supply Ze" {
			continue
		}
		t := &toJudge{Finding: f, About: o.Job.About(f), Ready: oftenRests}
		if t.Key = f.Clause.Name + " " + t.About; !seen[t.Key] {
			seen[t.Key] = true
			out = append(out, t)
		}
	}
	return out
}

func (s *Server) judgements(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	return s.renderJudgements(w, r, o, http.StatusOK, o.toJudge())
}

func (s *Server) renderJudgements(w http.ResponseWriter, r *http.Request, o *opened, status int, all []*toJudge) error {
	return render(w, status, "judgements.html", struct {
		Frame
		Rules    []*toJudge
		Outcomes []string
	}{o.frame(s, r, "To judge", "papers"), all, trade.Accepted.Values()})
}

// enterJudgements enters what was judged; a rule left untouched stays open.
func (s *Server) enterJudgements(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	if s.Who(r) == "" {
		return Refuse(http.StatusUnprocessableEntity, "A judgement has a name under it: say first who works.")
	}
	a := s.act(r, o.ID, "")
	place := len(o.Record.Items("judgements"))
	all, wrong := o.toJudge(), false
	var said []string
	for i, t := range all {
		t.Outcome = r.PostFormValue("outcome " + t.Key)
		t.Reason = strings.Join(strings.Fields(r.PostFormValue("reason "+t.Key)), " ")
		switch {
		case t.Outcome == "":
			continue
		case t.Reason == "":
			t.Problem, wrong = "Say what it rests on.", true
			continue
		}
		place++
		said = append(said, t.Clause.Name)
		a.Entries = append(a.Entries, job.Added("judgements", a.ID+"-"+whole(i+1), place, works.Judgement{Clause: t.Clause.Name, About: t.About,
			Outcome: quantity.Known(trade.Accepting(t.Outcome)), Reason: t.Reason, Who: s.Who(r), When: s.Now().Format("2006-01-02 15:04")})...)
	}
	if wrong {
		return s.renderJudgements(w, r, o, http.StatusUnprocessableEntity, all)
	}
	next := "/jobs/" + o.ID + "/certificate"
	if len(said) == 0 {
		http.Redirect(w, r, next, http.StatusSeeOther)
		return nil
	}
	a.What = "judged: " + strings.Join(said, ", ")
	return s.enter(w, r, o, a.Stamped(), next)
}
