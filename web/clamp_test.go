package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
)

// TestClampBackwards is case D19 of the situations from the trade, "clamp
// backwards": the house takes 40 A and reads −40 A; 3.0 kW at 230 V is 13.0 A,
// and the reading falls by it. The clamp is reversed.
func TestClampBackwards(t *testing.T) {
	s := served(t, "terrace/job.yaml")
	h := Secure(s.Handler())
	address := "/jobs/" + jobOf(t, s) + "/clamp"
	form := url.Values{"way": {"one clamp"}, "clamp-1": {"-40"}, "clamp-2": {"−53"}, "clamp-3": {"-40"}, "point-1": {"0"}, "point-2": {"13.0 A"}, "point-3": {"0"}}
	resp, page := post(t, h, address, form)
	for _, want := range []string{"<b>fails</b>", "reversed (", "-100 %", "turn the clamp round", "<svg", `value="−53"`} {
		if !strings.Contains(page, want) && !strings.Contains(page, strings.ReplaceAll(want, "-", "−")) {
			t.Errorf("%s: the page does not say %q", resp.Status, want)
		}
	}
	// Turned round, it rises by the same.
	form.Set("clamp-1", "40")
	form.Set("clamp-2", "53")
	form.Set("clamp-3", "40")
	if _, page := post(t, h, address, form); !strings.Contains(page, "<b>meets</b>") {
		t.Error("the clamp turned round is not found right")
	}
}

// TestClampOnThreeLines is the arithmetic of the step by hand: 32 A on L2 shows
// as −32 A there.
func TestClampOnThreeLines(t *testing.T) {
	s := served(t, "bakery/job.yaml")
	h := Secure(s.Handler())
	address := "/jobs/" + jobOf(t, s) + "/clamp"
	form := url.Values{"way": {"three lines"}, "line": {"L2"}, "before-1": {"20"}, "before-2": {"31"}, "before-3": {"28"}, "during-1": {"20"}, "during-2": {"-1"}, "during-3": {"28.3"}, "takes-1": {"32"}}
	if _, page := post(t, h, address, form); !strings.Contains(page, "<b>fails</b>") || !strings.Contains(page, "reversed (") {
		t.Errorf("a fall of 32 A on L2 is not called reversed: %s", wordsOf(page))
	}
	form.Set("during-2", "soon")
	if resp, page := post(t, h, address, form); resp.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(page, `value="soon"`) || !strings.Contains(page, "During the charge, A, L2") {
		t.Errorf("a word for a reading answers %s", resp.Status)
	}
	form.Del("line")
	if resp, page := post(t, h, address, form); resp.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(page, "Say which line feeds the point") {
		t.Errorf("no line answers %s", resp.Status)
	}
}

// TestClampRecordings: each invented recording carries the fault its name says.
func TestClampRecordings(t *testing.T) {
	s := served(t, "bakery/job.yaml")
	h := Secure(s.Handler())
	address := "/jobs/" + jobOf(t, s) + "/clamp"
	for file, want := range map[string]string{"right": "right (", "reversed": "reversed (", "other-phase": "other phase (", "wrong-ratio": "wrong ratio (", "not-seen": "not seen (", "paired": "paired with another"} {
		resp, page := upload(t, h, address, url.Values{"way": {"recordings"}, "line": {"L2"}}, map[string]string{"site": "bakery/clamp/" + file + ".csv", "point": "bakery/clamp/point.csv"})
		if resp.StatusCode != http.StatusOK || !strings.Contains(page, want) || !strings.Contains(page, "<svg") {
			t.Errorf("%s answers %s without %q: %s", file, resp.Status, want, wordsOf(page))
		}
	}
	if resp, page := upload(t, h, address, url.Values{"way": {"recordings"}, "line": {"L2"}}, map[string]string{"site": "bakery/clamp/right.csv"}); resp.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(page, "site-carried") {
		t.Errorf("one recording alone answers %s", resp.Status)
	}
}
