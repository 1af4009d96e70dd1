package web

import (
	"math"
	"net/http"
	"net/url"
	"strings"
	"testing"
)

// TestFlowOfTerrace holds the page to a pencil: at the origin of the terrace
// the single-phase prospective earth fault is about U0/Ze (IEC 60909-0 4.2 with
// c = 1, U0 = 230 V), the least about 0.95 U0/Ze (BS 7671 411.4.4, Cmin 0.95).
func TestFlowOfTerrace(t *testing.T) {
	s := served(t, "terrace/job.yaml")
	h := Secure(s.Handler())
	id := jobOf(t, s)
	_, page := get(t, h, "/jobs/"+id+"/flow?touching=L1-PE&at=origin")
	for _, want := range []string{"<svg", "of it third harmonic", "L1-PE at origin", "conductors cold", "prove dead"} {
		if !strings.Contains(page, want) {
			t.Errorf("the page does not say %q", want)
		}
	}
	acts, _ := s.Store.Acts(t.Context(), id, 0)
	o, err := fold(id, acts)
	if err != nil {
		t.Fatal(err)
	}
	ze, known := o.Job.Supply.Ze.Value.Get()
	if !known {
		t.Fatal("the example has no Ze")
	}
	f, err := o.Model.StudyFault("L1-PE@origin")
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(float64(f.Loop/ze)-1) > 0.02 {
		t.Errorf("the loop at the origin is %v Ω, want Ze, %v", f.Loop, ze)
	}
	if want := 0.95 * 230 / float64(ze); math.Abs(float64(f.Least)/want-1) > 0.02 {
		t.Errorf("the least fault at the origin is %v, want %.0f A", f.Least, want)
	}
}

// TestFaultsThatCannotBe are answered with what can be.
func TestFaultsThatCannotBe(t *testing.T) {
	s := served(t, "bakery/job.yaml")
	h := Secure(s.Handler())
	id := jobOf(t, s)
	for query, want := range map[string]string{"touching=L1-PE&at=moon": "there is no &#34;moon&#34;", "touching=L1&at=CP1": "write the conductors that touch", "touching=L1-X&at=CP1": "is no conductor", "at=CP1": "which conductors touch", "touching=L1-PE": "where they touch"} {
		if resp, page := get(t, h, "/jobs/"+id+"/flow?"+query); resp.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(page, want) {
			t.Errorf("%s answers %s without %q: %s", query, resp.Status, want, wordsOf(page))
		}
	}
	// The neutral of three phases carries the third harmonics of all of them.
	if _, page := get(t, h, "/jobs/"+id+"/flow"); !strings.Contains(page, "L3 to N") {
		t.Error("a three-phase supply is not shown on three lines")
	}
}

// TestFlowOfAnEmptyJob says what is missing.
func TestFlowOfAnEmptyJob(t *testing.T) {
	s := served(t)
	h := s.Handler()
	resp, _ := post(t, h, "/jobs", url.Values{"act": {"j1"}, "name": {"Barn"}})
	at := resp.Header.Get("Location")
	for _, place := range []string{"origin", "CP1"} {
		if resp, page := get(t, h, at+"/flow?touching=L1-PE&at="+place); resp.StatusCode != http.StatusOK || strings.Count(page, "<b>not known</b>") != 2 || !strings.Contains(page, "Nothing could be laid out yet") {
			t.Errorf("%s answers %s: %s", place, resp.Status, wordsOf(page))
		}
	}
}
