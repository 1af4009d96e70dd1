package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"chargewright/store"
	"chargewright/trade"
)

// The page answers from a handful of facts, shows what it assumed, and says of
// what it cannot use what would be right, leaving the rest as it was typed.
func TestReckonARun(t *testing.T) {
	s := served(t)
	h := s.Handler()
	resp, body := get(t, h, "/reckon?length=40+m&size=6+mm%C2%B2&cable=SWA&load=32+A&earthing=PME")
	if resp.StatusCode != http.StatusOK {
		t.Fatalf("answers %s", resp.Status)
	}
	for _, want := range []string{"10.11 V", "limit 11.5 V", "meets, if as assumed", "45.4 m", "Assumed, not seen", "0.35 Ω", "Make it a job"} { // 7.9 mV/A/m × 32 A × 40 m, BS 7671 Table 4E4B
		if !strings.Contains(body, want) {
			t.Errorf("the answer does not say %q", want)
		}
	}
	resp, body = get(t, h, "/reckon?length=40+m&size=6+mm%C2%B2+SWA&earthing=nothing")
	if resp.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(body, "two facts: 6 mm² here, and armoured under construction") ||
		!strings.Contains(body, `value="40 m"`) || !strings.Contains(body, "TN-S, TN-C-S, TT or IT is wanted") {
		t.Errorf("two wrong words answer %s:\n%s", resp.Status, body)
	}
}

// A job of it has what was said and, as assumed, what was assumed.
func TestMakeItAJob(t *testing.T) {
	s := served(t)
	h := s.Handler()
	resp, body := post(t, h, "/reckon", url.Values{"act": {newID()}, "name": {"Barn"}, "length": {"40 m"}, "cable": {"SWA"}, "load": {"32 A"}})
	if resp.StatusCode != http.StatusSeeOther {
		t.Fatalf("answers %s:\n%s", resp.Status, body)
	}
	id := strings.TrimPrefix(resp.Header.Get("Location"), "/jobs/")
	acts, err := s.Store.Acts(t.Context(), id, 0)
	if err != nil {
		t.Fatal(err)
	}
	j, err := store.Record(acts).Job("")
	if err != nil || j.Name != "Barn" || j.Circuits[0].Legs[0].Length.Or(0) != 40 || j.Supply.Ze.KnownBy.Or("") != trade.Assumed || len(j.Assumed()) < 5 {
		t.Errorf("the job is %+v, %v", j, err)
	}
	if resp, body = post(t, h, "/reckon", url.Values{"act": {newID()}, "length": {"40 m"}}); resp.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(body, "needs a name") {
		t.Errorf("without a name it answers %s", resp.Status)
	}
}
