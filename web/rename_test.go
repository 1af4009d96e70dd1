package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"chargewright/paper"
)

// TestANameChangesWithAllThatNamesIt: a finished job whose items all get other
// names is the same job, and may still be certified.
func TestANameChangesWithAllThatNamesIt(t *testing.T) {
	s := served(t, "bakery/complete.yaml")
	h := s.Handler()
	id := jobOf(t, s)
	reopen := func() *opened {
		t.Helper()
		acts, err := s.Store.Acts(t.Context(), id, 0)
		if err != nil {
			t.Fatal(err)
		}
		o, err := fold(id, acts)
		if err != nil || len(o.Faults) > 0 {
			t.Fatal(err, o.Faults)
		}
		return o
	}
	post(t, h, "/jobs/"+id+"/note", url.Values{"of": {"points/CP1"}, "text": {"behind the bin"}})
	before := reopen()
	wanted := len(paper.Missing(before.Model, before.Found, before.Expected, s.Now()))
	for _, list := range []string{"boards", "circuits", "points", "limiters", "loads", "people", "instruments", "electrodes"} {
		for _, name := range reopen().Record.Items(list) {
			form := url.Values{"item": {list + "/" + name}, "name": {"new " + name}}
			if resp, body := post(t, h, "/jobs/"+id+"/item/rename", form); resp.StatusCode != http.StatusSeeOther {
				t.Fatalf("%s/%s: %s: %.300s", list, name, resp.Status, body)
			}
		}
	}
	after := reopen()
	if notes := after.notesOf("points/new CP1"); len(notes) != 1 {
		t.Errorf("%d notes on the point after its name was changed, want the one there was", len(notes))
	}
	if got := len(paper.Missing(after.Model, after.Found, after.Expected, s.Now())); got != wanted {
		t.Errorf("%d things are missing after the names were changed, %d before", got, wanted)
	}
	if len(after.Found) != len(before.Found) {
		t.Fatalf("%d findings, %d before", len(after.Found), len(before.Found))
	}
	for i, f := range after.Found {
		if was := before.Found[i]; f.Verdict != was.Verdict || f.Value.String() != was.Value.String() || strings.ReplaceAll(f.Subject, "new ", "") != was.Subject {
			t.Errorf("%s is %v, %v; it was %s, %v, %v", f.Subject, f.Verdict, f.Value, was.Subject, was.Verdict, was.Value)
		}
	}
	for _, form := range []url.Values{{"item": {"points/new CP1"}}, {"item": {"points/new CP1"}, "name": {"new CP1"}}, {"item": {"points/CP1"}, "name": {"CP9"}}, {"item": {"judgements/1"}, "name": {"x"}}} {
		if resp, _ := post(t, h, "/jobs/"+id+"/item/rename", form); resp.StatusCode == http.StatusSeeOther {
			t.Errorf("%v is taken", form)
		}
	}
}
