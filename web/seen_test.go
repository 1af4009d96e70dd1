package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"chargewright/trade"
)

// TestAJobFromATemplate: what a template says is assumed, a form that is sent
// confirms none of it, and who says it is seen enters just that.
func TestAJobFromATemplate(t *testing.T) {
	s := served(t)
	s.Who = func(*http.Request) string { return "Ann Ash" }
	h := s.Handler()
	const template = "house with one point"
	post(t, h, "/jobs", url.Values{"act": {"j1"}, "name": {"Elm"}, "template": {template}, "ask " + template: {"11"}})
	list, err := s.Store.Jobs(t.Context())
	if err != nil || len(list) != 1 {
		t.Fatalf("%d jobs, %v", len(list), err)
	}
	now := func() *opened {
		acts, err := s.Store.Acts(t.Context(), list[0].ID, 0)
		if err != nil {
			t.Fatal(err)
		}
		o, err := fold(list[0].ID, acts)
		if err != nil {
			t.Fatal(err)
		}
		return o
	}
	const length, csa = "circuits/charge point/legs/first leg/length", "circuits/charge point/cable/csa"
	o := now()
	if o.Job.IsAssumed(length) || o.Record.Now(length).Value != "11 m" || !o.Job.IsAssumed(csa) || !o.Job.IsAssumed("certificate/work") {
		t.Errorf("length %q, csa %q", o.Record.Now(length).Value, o.Record.Now(csa).Value)
	}
	if len(o.assumedIn("")) < 60 {
		t.Errorf("only %d facts are assumed and can be seen", len(o.assumedIn("")))
	}
	at := "/jobs/" + list[0].ID
	// The csa stands in a form beside another fact that is entered.
	post(t, h, at+"/fill", url.Values{"act": {"f1"}, "of": {csa, "boards/main board/place"}, "value " + csa: {"10"}, "unit " + csa: {"mm²"},
		"value boards/main board/place": {"hall"}, "follows " + csa: {o.Record.Shown(csa)}})
	if o = now(); !o.Job.IsAssumed(csa) || o.Job.Boards[0].Place != "hall" {
		t.Errorf("a form that was sent confirms the csa (%q); place %q", o.Record.Now(csa).Value, o.Job.Boards[0].Place)
	}
	post(t, h, at+"/seen", url.Values{"act": {"s1"}, "path": {"circuits/charge point/cable"}})
	if o = now(); o.Job.IsAssumed(csa) || o.Record.Now(csa).Value != "10 mm²" || !o.Job.IsAssumed("points/CP1/power") || o.Record.Conflicts() != nil {
		t.Errorf("seen: csa %q, power %q, in dispute %v", o.Record.Now(csa).Value, o.Record.Now("points/CP1/power").Value, o.Record.Conflicts())
	}
	// A reading answers the fact it measures.
	post(t, h, at+"/reading", url.Values{"act": {"r1"}, "at": {"supply"}, "reading": {"Ze"}, "value": {"0.21"}, "unit": {"Ω"}})
	if o = now(); o.Record.Now("supply/Ze").Value != "0.21 Ω (measured)" || o.Job.IsAssumed("supply/Ze") {
		t.Errorf("Ze after its reading: %q", o.Record.Now("supply/Ze").Value)
	}
	// What is left to a person is judged on one form.
	all := o.toJudge()
	form := url.Values{"act": {"j2"}}
	for _, j := range all {
		form.Set("outcome "+j.Key, string(trade.Accepted))
		form.Set("reason "+j.Key, "seen")
	}
	post(t, h, at+"/judgements", form)
	if o = now(); len(all) < 3 || len(o.toJudge()) != 0 || len(o.Job.Judgements) != len(all) {
		t.Errorf("%d of %d judged, %d left", len(o.Job.Judgements), len(all), len(o.toJudge()))
	}
	for _, f := range o.Found {
		if f.Rests != nil && !strings.HasSuffix(f.Words(), "if as assumed") {
			t.Errorf("%s says %q", f.What, f.Words())
		}
	}
}
