package web

import (
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"

	"chargewright/finding"
	"chargewright/job"
	"chargewright/paper"
	"chargewright/trade"
)

// TestEveryInputThatIsLackedHasItsForm takes facts away from finished jobs
// until nothing is left of them: whatever a rule then says it lacks, the pages
// know where to enter it.
func TestEveryInputThatIsLackedHasItsForm(t *testing.T) {
	s := served(t, "bakery/complete.yaml", "terrace/complete.yaml", "pool/open.yaml", "terrace/open.yaml")
	post(t, s.Handler(), "/jobs", url.Values{"act": {"j1"}, "name": {"Barn"}})
	jobs, err := s.Store.Jobs(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	lacked := map[string]bool{}
	for _, j := range jobs {
		acts, err := s.Store.Acts(t.Context(), j.ID, 0)
		if err != nil {
			t.Fatal(err)
		}
		for keep := 1; keep <= 7; keep += 2 { // some facts in seven, named items all
			part := slices.Clone(acts[:1])
			part[0].Entries = slices.DeleteFunc(slices.Clone(part[0].Entries), func(e job.Entry) bool {
				f := job.FieldAt(e.Path)
				return f != nil && f.Single() && len(e.Path)%7 >= keep && !slices.Contains([]string{"from", "to", "fed from", "item"}, f.Name)
			})
			o, err := fold(j.ID, part)
			if err != nil {
				t.Fatal(err)
			}
			for _, f := range o.Found {
				for _, lack := range f.Lacks {
					lacked[lack.String()] = true
					if facts := o.factsFor(finding.Lacks{lack}); len(facts) == 0 {
						t.Errorf("%s (%s): nothing leads to %q", f.Subject, f.Clause, lack)
					}
				}
			}
			for _, g := range paper.Missing(o.Model, o.Found, o.Expected, s.Now()) {
				if to := o.settledAt(g); strings.HasSuffix(to, "sheet?of=street") && g.Kind != "fails" {
					t.Errorf("%s: %s leads only to %s", g.About, g.What, to)
				}
			}
		}
	}
	if len(lacked) < 60 {
		t.Errorf("only %d inputs were lacked", len(lacked))
	}
	t.Logf("%d inputs lacked", len(lacked))
}

func TestSeveralFactsAreOneAct(t *testing.T) {
	s := served(t, "terrace/job.yaml")
	h := s.Handler()
	job := jobOf(t, s)
	form := url.Values{"act": {"fill-1"}, "of": {"supply/looped", "street", "supply/frequency", "certificate/nothing to bond"}, "value supply/looped": {"no"}, "value supply/frequency": {"50 Hz"},
		"value certificate/nothing to bond": {"oil, structural steel,oil"}}
	for range 2 {
		if resp, body := post(t, h, "/jobs/"+job+"/fill", form); resp.StatusCode != http.StatusSeeOther {
			t.Fatalf("the form answers %s: %s", resp.Status, body)
		}
	}
	if acts, _ := s.Store.Acts(t.Context(), job, 0); len(acts) != 2 {
		t.Errorf("%d acts, want the file and one more", len(acts))
	}
	if got := factNow(t, s, job, "supply/frequency"); got != "50 Hz" {
		t.Errorf("the frequency is %q", got)
	}
	acts, _ := s.Store.Acts(t.Context(), job, 0)
	o, err := fold(job, acts)
	if err != nil {
		t.Fatal(err)
	}
	if got := strings.Join(o.Job.Certificate.NothingToBond, "|"); got != "oil|structural steel" {
		t.Errorf("nothing to bond: %s", got)
	}

	form = url.Values{"act": {"fill-2"}, "of": {"supply/Ze", "supply/tails/length"}, "value supply/Ze": {"0.2"}, "unit supply/Ze": {"Ω"}, "known supply/Ze": {"measured"}, "value supply/tails/length": {"long"}}
	resp, body := post(t, h, "/jobs/"+job+"/fill", form)
	if resp.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(body, `value="long"`) || !strings.Contains(body, `value="0.2"`) || strings.Count(body, "aria-invalid") != 1 {
		t.Errorf("one value of two is wrong: %s, and the form does not show which beside all that was typed: %s", resp.Status, body)
	}
	if acts, _ := s.Store.Acts(t.Context(), job, 0); len(acts) != 2 {
		t.Error("half of a form was entered")
	}
}

func TestAnItemIsAddedWhole(t *testing.T) {
	s := served(t, "terrace/job.yaml")
	h := s.Handler()
	job := jobOf(t, s)
	list := "boards/consumer unit/surge protection"
	for _, tt := range []struct {
		form url.Values
		want int
	}{
		{url.Values{"list": {list}}, http.StatusUnprocessableEntity}, // no name
		{url.Values{"list": {list}, "name " + list: {"SPD 9"}, "value /live lead": {"9 V"}}, http.StatusUnprocessableEntity},
		{url.Values{"list": {list}, "name " + list: {"SPD 9"}, "value /type": {"2"}, "value /live lead": {"200"}, "unit /live lead": {"mm"}}, http.StatusSeeOther},
		{url.Values{"list": {list}, "name " + list: {"SPD 9"}}, http.StatusUnprocessableEntity}, // there already
		{url.Values{"list": {"boards/no such board/surge protection"}, "name boards/no such board/surge protection": {"SPD"}}, http.StatusNotFound},
		{url.Values{"list": {"readings"}}, http.StatusNotFound},
		{url.Values{"list": {"no list"}}, http.StatusNotFound},
	} {
		if resp, body := post(t, h, "/jobs/"+job+"/add", tt.form); resp.StatusCode != tt.want {
			t.Errorf("%v answers %s, want %d: %.300s", tt.form, resp.Status, tt.want, body)
		}
	}
	if got := factNow(t, s, job, list+"/SPD 9/live lead"); got != "200 mm" {
		t.Errorf("the lead is %q", got)
	}
}

// TestAJudgementSettlesItsRule follows the way from a rule left to a person.
func TestAJudgementSettlesItsRule(t *testing.T) {
	s := served(t, "bakery/job.yaml")
	h := s.Handler()
	job := jobOf(t, s)
	open := func() (o *opened, f finding.Finding, steps int) {
		acts, err := s.Store.Acts(t.Context(), job, 0)
		if err != nil {
			t.Fatal(err)
		}
		if o, err = fold(job, acts); err != nil {
			t.Fatal(err)
		}
		for _, one := range o.Found {
			if one.Verdict == finding.JudgeOnSite && one.Clause.Name == "462.1" {
				f = one
			}
		}
		for _, one := range o.nextSteps(s.Now()) {
			if one.Clause == "462.1" {
				steps++
			}
		}
		return o, f, steps
	}
	was, rule, before := open()
	if before != 1 {
		t.Fatalf("%d steps of 462.1, want 1", before)
	}
	_, body := get(t, h, was.judgementURL(rule, "/jobs/"+job+"/next"))
	if !strings.Contains(body, rule.What) || !strings.Contains(body, `name="value /outcome"`) {
		t.Error("the form does not show the rule with the outcomes")
	}
	form := url.Values{"act": {"judged"}, "list": {"judgements"}, "clause": {rule.Clause.Name}, "about": {was.Job.About(rule)}, "value /clause": {rule.Clause.Name}, "value /about": {was.Job.About(rule)},
		"value /outcome": {"accepted"}, "value /reason": {"every point has an isolator beside it"}, "value /who": {"Ann"}, "value /when": {"2026-11-25 09:00"}}
	if resp, body := post(t, h, "/jobs/"+job+"/add", form); resp.StatusCode != http.StatusSeeOther {
		t.Fatalf("the form answers %s: %.400s", resp.Status, body)
	}
	if _, _, after := open(); after != 0 {
		t.Error("the rule is still among what to do next")
	}
	if _, body := get(t, h, "/jobs/"+job+"/rules"); !strings.Contains(body, "every point has an isolator beside it") {
		t.Error("the rules do not show how it was settled")
	}
}

// TestInspectionsAreOneRound: a round on two devices apart gives one schedule.
func TestInspectionsAreOneRound(t *testing.T) {
	s := served(t, "bakery/job.yaml")
	h := s.Handler()
	id := jobOf(t, s)
	form := url.Values{"act": {"round-1"}, "who": {"Ann"}, "outcome inspections/boards": {"satisfactory"}, "outcome inspections/generation and storage": {"not applicable"}, "note inspections/generation and storage": {"there is none"}}
	if resp, _ := post(t, h, "/jobs/"+id+"/inspections", url.Values{"act": {"round-0"}, "outcome inspections/boards": {"satisfactory"}}); resp.StatusCode != http.StatusUnprocessableEntity {
		t.Errorf("a round by nobody answers %s", resp.Status)
	}
	for range 2 {
		if resp, body := post(t, h, "/jobs/"+id+"/inspections", form); resp.StatusCode != http.StatusSeeOther {
			t.Fatalf("the form answers %s: %.400s", resp.Status, body)
		}
	}
	acts, _ := s.Store.Acts(t.Context(), id, 0)
	o, err := fold(id, acts)
	if err != nil || len(o.Faults) > 0 {
		t.Fatal(err, o.Faults)
	}
	if len(o.Job.Inspections) != 2 || o.Job.Inspections[0].Who != "Ann" || o.Job.Inspections[1].Note != "there is none" {
		t.Errorf("inspections are %+v", o.Job.Inspections)
	}
	if _, body := get(t, h, "/jobs/"+id+"/inspections"); !strings.Contains(body, "21 to look at") {
		t.Error("the page does not count what is left")
	}
	rest := url.Values{"act": {"round-2"}, "who": {"Ann"}, "outcome inspections/lost PEN conductor": {"not applicable"}, "rest": {"satisfactory"}}
	if resp, body := post(t, h, "/jobs/"+id+"/inspections", rest); resp.StatusCode != http.StatusSeeOther {
		t.Fatalf("the rest answers %s: %.400s", resp.Status, body)
	}
	acts, _ = s.Store.Acts(t.Context(), id, 0)
	if o, err = fold(id, acts); err != nil {
		t.Fatal(err)
	}
	how := map[string]int{}
	for _, i := range o.Job.Inspections {
		how[string(i.Outcome.Or(""))]++
	}
	if how["satisfactory"] != 21 || how["not applicable"] != 2 { // what was said before stands
		t.Errorf("the rest makes %v", how)
	}
	if what := acts[len(acts)-1].What; !strings.Contains(what, "RCD of each point") || strings.Contains(what, "lost PEN") {
		t.Errorf("the journal says of the rest %q", what)
	}
}

// TestEveryInspectionHasItsPlace: the round by place passes every item of the
// schedule once.
func TestEveryInspectionHasItsPlace(t *testing.T) {
	at := map[trade.InspectionItem]int{}
	for _, place := range inspectedAt {
		for _, item := range place.items {
			at[item]++
		}
	}
	for _, one := range paper.Inspections() {
		if at[one.Item] != 1 {
			t.Errorf("%s is passed %d times", one.Item, at[one.Item])
		}
	}
	if len(at) != len(paper.Inspections()) {
		t.Errorf("the round has %d items, the schedule %d", len(at), len(paper.Inspections()))
	}
}
