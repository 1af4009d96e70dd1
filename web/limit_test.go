package web

import (
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
)

// TestDemandFromARecording: the greatest half-hour of the invented bakery's
// logger is 61.57 A on L2 by the recording itself; 32 A more is 93.6 A.
func TestDemandFromARecording(t *testing.T) {
	s := served(t, "bakery/job.yaml")
	h := Secure(s.Handler())
	address := "/jobs/" + jobOf(t, s) + "/demand"
	resp, page := upload(t, h, address, url.Values{"runs": {"1"}}, map[string]string{"recording": "bakery/logger.csv"})
	if resp.StatusCode != http.StatusOK {
		t.Fatalf("%s: %s", resp.Status, wordsOf(page))
	}
	for _, want := range []string{"61.57 A on L2", "93.57 A", "By simulation", "<svg", "311.1", "recording-carried", "within 28 days", `<option value="L2 A">L2 A</option>`} {
		if !strings.Contains(page, want) {
			t.Errorf("the page does not say %q", want)
		}
	}
	// The same table again with its columns named, two of them crossed: what was
	// greatest on L2 is now said of L1.
	form := url.Values{"runs": {"0"}, "column-time": {"time"}, "column-L1": {"L2 A"}, "column-L2": {"L1 A"}, "column-L3": {"L3 A"}}
	if _, page := upload(t, h, address, form, map[string]string{"recording": "bakery/logger.csv"}); !strings.Contains(page, "61.57 A on L1") || !strings.Contains(page, `<option value="L2 A" selected>L2 A</option>`) {
		t.Errorf("the columns picked are not taken: %s", wordsOf(page))
	}
	for name, wrong := range map[string]url.Values{
		"no column is headed so": {"runs": {"0"}, "column-time": {"time"}, "column-L1": {"L9 A"}},
		"How many runs":          {"runs": {"lots"}},
		"million steps":          {"runs": {"500"}},
		"Time zone of the site":  {"zone": {"Mars"}},
	} {
		resp, page := upload(t, h, address, wrong, map[string]string{"recording": "bakery/logger.csv"})
		if resp.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(page, name) || !strings.Contains(page, "recording-carried") {
			t.Errorf("%v answers %s without %q, or loses the file: %s", wrong, resp.Status, name, wordsOf(page))
		}
	}
}

// TestLimitRuns: the bakery's limiter is proved; runs with a tariff show money,
// and a limiter that is slow has a counter-example.
func TestLimitRuns(t *testing.T) {
	s := served(t, "bakery/job.yaml")
	h := Secure(s.Handler())
	address := "/jobs/" + jobOf(t, s) + "/limit"
	if _, page := get(t, h, address); !strings.Contains(page, "proved for every step up to 71 A") || !strings.Contains(page, "<svg") {
		t.Errorf("the proof is not shown: %s", wordsOf(page))
	}
	form := url.Values{"runs": {"2"}, "years": {"0.05"}, "rates": {"00:00=9,07:00=28.5"}, "arrive": {"17:30"}}
	resp, page := post(t, h, address, form)
	for _, want := range []string{"2 of them, from seed 1", "cost of that energy", "greatest neutral current", "about 17:30", `value="17:30"`, "cut-out, worst of the runs"} {
		if !strings.Contains(page, want) {
			t.Errorf("%s: the page does not say %q", resp.Status, want)
		}
	}
	for field, wrong := range map[string][2]string{"years": {"forever", "Length of each run"}, "step": {"2h", "Step of the runs"}, "arrive": {"noonish", "Usual time of day"}, "rates": {"dear", "Tariff"}, "onboard": {"2 A", "on-board chargers"}, "three": {"7", "three phases"}} {
		form := url.Values{"runs": {"1"}, "years": {"0.05"}, field: {wrong[0]}}
		if resp, page := post(t, h, address, form); resp.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(page, wrong[1]+"") || !strings.Contains(page, `value="`+wrong[0]) {
			t.Errorf("%s %s answers %s: %s", field, wrong[0], resp.Status, wordsOf(page))
		}
	}
	slow := served(t, "bakery/slow-limiter.yaml")
	if _, page := get(t, slow.Handler(), "/jobs/"+jobOf(t, slow)+"/limit"); !strings.Contains(page, "counter-example") || !strings.Contains(page, "<b>fails</b>") {
		t.Error("the slow limiter has no counter-example")
	}
}

// TestLimitInHand: cases D18 and D22 of the situations from the trade. L2
// carries 80.5 A of which the point takes 8.1 A, so 95 − 72.4 = 22.6 A are left;
// 2300 W at 230 V is 10 A on one line, 3.33 A on each of three.
func TestLimitInHand(t *testing.T) {
	s := served(t, "bakery/job.yaml")
	h := Secure(s.Handler())
	address := "/jobs/" + jobOf(t, s) + "/limit"
	form := url.Values{"way": {"now"}, "supply-1": {"40"}, "supply-2": {"80.5"}, "supply-3": {"30"}, "point-1": {"0"}, "point-2": {"8.1"}, "point-3": {"0"}}
	if _, page := post(t, h, address, form); !strings.Contains(page, "22.6 A for the vehicle") || !strings.Contains(page, "set in whole amperes: 22 A") {
		t.Errorf("what to set now: %s", wordsOf(page))
	}
	form.Set("supply-2", "much")
	if resp, page := post(t, h, address, form); resp.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(page, `value="much"`) {
		t.Errorf("much answers %s", resp.Status)
	}
	if _, page := post(t, h, address, url.Values{"way": {"watts"}, "watts": {"2300"}}); !strings.Contains(page, "on 1: 10 A for each line") || !strings.Contains(page, "3.33 A for each line; pause") {
		t.Errorf("a limit in watts: %s", wordsOf(page))
	}
	empty := served(t)
	resp, _ := post(t, empty.Handler(), "/jobs", url.Values{"act": {"j1"}, "name": {"Barn"}})
	at := resp.Header.Get("Location")
	if resp, page := post(t, empty.Handler(), at+"/limit", url.Values{"way": {"watts"}, "watts": {"2300"}}); resp.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(page, "wanted first") {
		t.Errorf("an empty job answers %s: %s", resp.Status, wordsOf(page))
	}
	for _, path := range []string{"/demand", "/limit"} {
		if resp, page := post(t, empty.Handler(), at+path, url.Values{"runs": {"1"}}); resp.StatusCode != http.StatusOK || !strings.Contains(page, "not known") && !strings.Contains(page, "Cannot be run yet") {
			t.Errorf("%s of an empty job answers %s: %s", path, resp.Status, wordsOf(page))
		}
	}
}

// TestOfficeMayWorkItOut: an account that reads may send what is answered and
// forgotten, over both doors, and nothing that is kept.
func TestOfficeMayWorkItOut(t *testing.T) {
	reader := &Person{Name: "Olga", Role: Office}
	for path, want := range map[string]bool{"/jobs/j/demand": true, "/jobs/j/limit": true, "/jobs/j/pilot": true, "/jobs/j/hear": true, "/jobs/j/pilot/keep": false, "/jobs/j/meter": false,
		"/jobs/j/choose": false, "/jobs/j/route": false, "/api/v1/jobs/j/entries": false, "/jobs/j/demand/more": false, "/demand": false} {
		if got := reader.May(httptest.NewRequest("POST", path, nil)); got != want {
			t.Errorf("may post to %s = %v, want %v", path, got, want)
		}
	}
}
