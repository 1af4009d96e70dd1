package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"chargewright/job"
	"chargewright/store"
	"chargewright/works"
)

// TestPageAndModelSayTheSame: a device whose clock is days behind enters what
// follows. The page, the interface for programs and the model all say it.
func TestPageAndModelSayTheSame(t *testing.T) {
	s := served(t, "terrace/job.yaml")
	id := jobOf(t, s)
	o := openedAs(t, s, id)
	const path = "supply/cut-out/rating"
	for _, a := range []store.Act{
		{ID: "one", Who: "Ann", When: "2026-11-25T09:00:00Z", Entries: []job.Entry{{Path: path, Value: "60 A", Follows: o.Record.Shown(path)}}},
		{ID: "two", Who: "Ann", When: "2026-11-20T09:00:00Z", Entries: []job.Entry{{Path: path, Value: "100 A", Follows: "one-1"}}},
	} {
		a.Job, a.What = id, "entered"
		if _, err := s.Store.Keep(t.Context(), a.Stamped()); err != nil {
			t.Fatal(err)
		}
	}
	o = openedAs(t, s, id)
	if got := o.Job.Supply.CutOut.Rating.String(); got != "100 A" || len(o.Record.Conflicts()) != 0 {
		t.Errorf("the model says %s, %v to settle; want 100 A and nothing", got, o.Record.Conflicts())
	}
	_, body := get(t, s.Handler(), "/jobs/"+id+"/fact?path="+url.QueryEscape(path))
	if !strings.Contains(body, `value="100"`) {
		t.Error("the page does not show 100 A, which follows 60 A")
	}
}

// TestWhatWasTakenOutUnseenIsSettled: one device takes a load out while another
// enters a fact of it. The fact is to be settled, and keeping it puts the load
// back.
func TestWhatWasTakenOutUnseenIsSettled(t *testing.T) {
	s := served(t, "terrace/job.yaml")
	id := jobOf(t, s)
	before := openedAs(t, s, id)
	load := works.Under("loads", before.Job.Loads[0].Name)
	path := load + "/power factor"
	h := s.Handler()
	if resp, body := post(t, h, "/jobs/"+id+"/item/remove", url.Values{"act": {"out"}, "item": {load}}); resp.StatusCode != http.StatusSeeOther {
		t.Fatalf("taking it out answers %s: %s", resp.Status, body)
	}
	unseen := store.Act{ID: "away", Job: id, What: "entered", Who: "Bert", When: "2026-01-01T00:00:00Z", Entries: []job.Entry{{Path: path, Value: "0.93", Follows: before.Record.Shown(path)}}}
	if _, err := s.Store.Keep(t.Context(), unseen.Stamped()); err != nil {
		t.Fatal(err)
	}
	_, body := get(t, h, "/jobs/"+id+"/differences")
	if !strings.Contains(body, "0.93") || !strings.Contains(body, "Bert") {
		t.Fatalf("the page of what to settle does not show what was entered of a load taken out:\n%s", body)
	}
	o := openedAs(t, s, id)
	resp, body := post(t, h, "/jobs/"+id+"/settle", url.Values{"act": {"settle"}, "path": {path}, "follows": {o.Record.Shown(path)}, "keep": {"away-1"}})
	if o = openedAs(t, s, id); resp.StatusCode != http.StatusSeeOther || len(o.Record.Conflicts()) != 0 || len(o.Job.Loads) != len(before.Job.Loads) {
		t.Errorf("%s: after settling there are %d loads, %v to settle: %s", resp.Status, len(o.Job.Loads), o.Record.Conflicts(), body)
	}
	if got := o.Record.Now(path).Value; got != "0.93" {
		t.Errorf("its power factor is %q, want 0.93", got)
	}
}

func openedAs(t *testing.T, s *Server, id string) *opened {
	t.Helper()
	acts, err := s.Store.Acts(t.Context(), id, 0)
	if err != nil {
		t.Fatal(err)
	}
	o, err := fold(id, acts)
	if err != nil {
		t.Fatal(err)
	}
	return o
}
