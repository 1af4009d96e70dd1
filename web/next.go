package web

// What to do next, in the order a careful electrician would do it, and every
// rule that was checked.

import (
	"net/http"
	"net/url"
	"slices"
	"time"

	"chargewright/finding"
	"chargewright/job"
	"chargewright/paper"
	"chargewright/prove"
	"chargewright/trade"
)

// step is one thing to do, and where.
type step struct {
	Verdict finding.Verdict
	About   string
	Do      string
	Clause  string
	If      string // what the verdict hangs on
	Times   int    // at how many places
	Judged  bool   // a verdict goes with it
	URL     string // where it is done
}

// nextSteps is what fails, what is not known and waits on nothing, what is
// left to a person; then the reading that is to be taken next, and after the
// last one what the certificate still asks for. The same step is named once.
func (o *opened) nextSteps(now time.Time) []step {
	sorted := append([]finding.Finding(nil), o.Found...)
	sorted = append(sorted, o.failedReadings()...)
	finding.ByUrgency(sorted)
	var out []step
	at := map[string]int{}
	for _, f := range sorted {
		if f.Verdict == finding.Meets || f.WaitsOn != "" || o.settled(f) {
			continue
		}
		do := f.Next
		if do == "" {
			do = f.What
		}
		key := f.Words() + do
		if i, seen := at[key]; seen {
			out[i].Times++
			continue
		}
		at[key] = len(out)
		to := sheetURL(o.ID, o.sheetOf(f.Path))
		if facts := o.factsFor(f.Lacks); len(facts) > 0 {
			to = o.enterURL(facts, "/jobs/"+o.ID+"/next")
		}
		if f.Verdict == finding.JudgeOnSite {
			to = o.judgementURL(f, "/jobs/"+o.ID+"/next")
		}
		out = append(out, step{Verdict: f.Verdict, If: f.If(), About: f.Subject, Do: do, Clause: f.Clause.Name, Times: 1, Judged: true, URL: to})
	}
	if assumed := o.Job.Assumed(); len(assumed) > 0 {
		out = append(out, step{About: assumed[0].Name(), Do: "look: " + assumed[0].Value + " is assumed, and nobody has seen it", Times: len(assumed),
			URL: o.enterURL([]string{assumed[0].Path}, "/jobs/"+o.ID+"/next")})
	}
	for _, t := range o.tests() {
		if t.Taken == "" {
			return append(out, step{About: t.At, Do: "read " + t.Reading, Clause: t.Clause.Name, Times: 1, URL: t.URL})
		}
	}
	do := "issue it: nothing keeps it back"
	if n := len(paper.Missing(o.Model, o.Found, o.Expected, now)); n > 0 {
		do = whole(n) + " things keep it from being issued"
	}
	return append(out, step{About: "certificate", Do: do, Times: 1, URL: "/jobs/" + o.ID + "/certificate"})
}

// settled reports that a person has judged what is left to a person, and
// accepted it.
func (o *opened) settled(f finding.Finding) bool {
	d, ok := o.Job.JudgementOn(f)
	return f.Verdict == finding.JudgeOnSite && ok && d.Outcome.Or("") == trade.Accepted
}

// failedReadings is the readings that do not meet their limits.
func (o *opened) failedReadings() []finding.Finding {
	found, err := prove.Judge(o.Model)
	if err != nil {
		return nil
	}
	var out []finding.Finding
	for i, again := range prove.Replaced(o.Model) {
		if again < 0 && found[i].Verdict == finding.Fails {
			out = append(out, found[i])
		}
	}
	return out
}

func (s *Server) next(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	left := 0
	for _, t := range o.tests() {
		if t.Taken == "" {
			left++
		}
	}
	return render(w, http.StatusOK, "next.html", struct {
		Frame
		Next        []step
		TestsLeft   int
		Assumptions []string
	}{o.frame(s, r, "Next", "next"), o.nextSteps(s.Now()), left, o.Model.Assumptions})
}

// rule is a finding as a page shows it.
type rule struct {
	finding.Finding
	Of      string
	RestsAt string // address of what it rests on that is only assumed
	Judge   string // address of the form that settles it; nothing where none does
	Judged  string // how it was settled
}

func (o *opened) rule(f finding.Finding, of, next string) rule {
	out := rule{Finding: f, Of: of}
	if f.Rests != nil {
		out.RestsAt = "/jobs/" + o.ID + "/rests?" + url.Values{"key": {f.Key}, "path": {f.Path}, "against": {f.Against}}.Encode()
	}
	if f.Verdict != finding.JudgeOnSite {
		return out
	}
	out.Judge = o.judgementURL(f, next)
	if d, ok := o.Job.JudgementOn(f); ok {
		out.Judged = string(d.Outcome.Or("")) + " by " + d.Who + ", " + clock(d.When) + ": " + d.Reason
	}
	return out
}

func (s *Server) rules(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	sorted := append([]finding.Finding(nil), o.Found...)
	finding.ByUrgency(sorted)
	var rules []rule
	for _, f := range sorted {
		rules = append(rules, o.rule(f, o.sheetOf(f.Path), "/jobs/"+o.ID+"/rules"))
	}
	return render(w, http.StatusOK, "rules.html", struct {
		Frame
		Rules   []rule
		Summary finding.Summary
	}{o.frame(s, r, "Rules checked", "more"), rules, finding.Summarise(o.Found)})
}

// rests shows what one verdict rests on that nobody has seen. Each assumed fact
// is taken away to find it, so it is worked out for who asks and for nobody else.
func (s *Server) rests(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	q := r.URL.Query()
	i := slices.IndexFunc(o.Found, func(f finding.Finding) bool {
		return f.Key == q.Get("key") && f.Path == q.Get("path") && f.Against == q.Get("against")
	})
	if i < 0 {
		return notInJob
	}
	var rows []factRow
	if f := o.Found[i]; f.Rests != nil {
		for _, path := range f.Rests() {
			value, _, reason := job.FieldAt(path).Apart(o.Record.Now(path).Value)
			rows = append(rows, factRow{Path: path, Name: capital(spoken(path)), Value: value, By: reason})
		}
	}
	return render(w, http.StatusOK, "rests.html", struct {
		Frame
		Rule rule
		Rows []factRow
	}{o.frame(s, r, "What it rests on", "survey"), rule{Finding: o.Found[i], Of: o.sheetOf(o.Found[i].Path)}, rows})
}
