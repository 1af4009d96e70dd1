package web

import (
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"chargewright/choose"
	"chargewright/works"
)

var hidden = regexp.MustCompile(`name="([^"]+)" value="([^"]*)"`)

// fields returns the hidden fields of the form that posts to an address.
func fieldsOf(t testing.TB, page, action string) url.Values {
	t.Helper()
	_, form, found := strings.Cut(page, `<form method="post" action="`+action+`"`)
	if !found {
		t.Fatalf("no form posts to %s in: %s", action, wordsOf(page))
	}
	form, _, _ = strings.Cut(form, "</form>")
	out := url.Values{}
	for _, m := range hidden.FindAllStringSubmatch(form, -1) {
		if !strings.Contains(m[0], "only") {
			out.Set(m[1], m[2])
		}
	}
	return out
}

// TestChoosing puts what is chosen into each open example as one act, takes it
// back, and compares with what the room of choices says of the same job.
func TestChoosing(t *testing.T) {
	for _, file := range []string{"bakery/open.yaml", "terrace/open.yaml", "pool/open.yaml"} {
		t.Run(file, func(t *testing.T) {
			s := served(t, file)
			h := Secure(s.Handler())
			id := jobOf(t, s)
			address := "/jobs/" + id + "/choose"
			acts, _ := s.Store.Acts(t.Context(), id, 0)
			before, err := fold(id, acts)
			if err != nil {
				t.Fatal(err)
			}
			stock, err := choose.BuiltIn()
			if err != nil {
				t.Fatal(err)
			}
			want := choose.Choose(before.Job, before.Model.Rules, stock, choose.Aim{Purpose: choose.LifeCost, Years: 20, Tariff: 0.25, Hours: 1000})
			if len(want.Settings) == 0 {
				t.Fatal("the example leaves nothing open")
			}
			_, page := get(t, h, address+"?aim=life")
			form := fieldsOf(t, page, address)
			for range 2 { // sent twice, done once
				resp, body := post(t, h, address, form)
				if resp.StatusCode != http.StatusSeeOther {
					t.Fatalf("%s: %s", resp.Status, wordsOf(body))
				}
			}
			acts, _ = s.Store.Acts(t.Context(), id, 0)
			if len(acts) != 2 {
				t.Fatalf("%d acts, want the file and one choice", len(acts))
			}
			for _, set := range want.Settings {
				if got := factNow(t, s, id, set.Path); got != set.Value {
					t.Errorf("%s = %q, want %q", set.Path, got, set.Value)
				}
			}
			after, err := fold(id, acts)
			if err != nil {
				t.Fatal(err)
			}
			if len(after.Faults) > len(before.Faults) {
				t.Errorf("the choice brings faults: %v", after.Faults)
			}
			if _, page := get(t, h, address+"?aim=life"); !strings.Contains(page, "Nothing is left open") {
				t.Errorf("something is still open: %s", wordsOf(page))
			}
			post(t, h, "/jobs/"+id+"/undo", url.Values{"act": {"back"}, "undo": {acts[len(acts)-1].ID}})
			for _, set := range want.Settings {
				if got := factNow(t, s, id, set.Path); got != "" {
					t.Errorf("taken back, %s is still %q", set.Path, got)
				}
			}
		})
	}
}

// TestOnePartChosen puts one circuit alone into the job.
func TestOnePartChosen(t *testing.T) {
	s := served(t, "bakery/open.yaml")
	h := Secure(s.Handler())
	id := jobOf(t, s)
	address := "/jobs/" + id + "/choose"
	_, page := get(t, h, address)
	form := fieldsOf(t, page, address)
	form.Set("only", "circuits/van point")
	if resp, body := post(t, h, address, form); resp.StatusCode != http.StatusSeeOther {
		t.Fatalf("%s: %s", resp.Status, wordsOf(body))
	}
	if factNow(t, s, id, "circuits/van point/cable/csa") == "" {
		t.Error("the circuit has no cable")
	}
	if got := factNow(t, s, id, "limiters/van limiter/limit"); got != "" {
		t.Errorf("the limiter was set to %q too", got)
	}
}

// TestAChoiceThatIsStale: somebody enters a fact after the choice was shown.
// Nothing is entered, and what is chosen now is shown.
func TestAChoiceThatIsStale(t *testing.T) {
	s := served(t, "bakery/open.yaml")
	h := Secure(s.Handler())
	id := jobOf(t, s)
	address := "/jobs/" + id + "/choose"
	_, page := get(t, h, address)
	form := fieldsOf(t, page, address)
	post(t, h, "/jobs/"+id+"/fact", url.Values{"act": {"a1"}, "path": {"circuits/van point/cable/csa"}, "value": {"10"}, "unit": {"mm²"}})
	resp, body := post(t, h, address, form)
	if resp.StatusCode != http.StatusConflict || !strings.Contains(body, "something else is chosen now") {
		t.Errorf("a stale choice answers %s", resp.Status)
	}
	if acts, _ := s.Store.Acts(t.Context(), id, 0); len(acts) != 2 {
		t.Errorf("%d acts, want the file and the fact", len(acts))
	}
	if resp, body := get(t, h, address+"?aim=life&years=many"); resp.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(body, `value="many"`) || !strings.Contains(body, "Years that losses count") {
		t.Errorf("many years answer %s", resp.Status)
	}
}

// TestLengths: two lengths put right on the page of the ways, as one act.
func TestLengths(t *testing.T) {
	s := served(t, "bakery/job.yaml")
	h := Secure(s.Handler())
	id := jobOf(t, s)
	address := "/jobs/" + id + "/route"
	_, page := get(t, h, address)
	for _, want := range []string{"Cut ", "slack included", "Lengths it rests on"} {
		if !strings.Contains(page, want) {
			t.Errorf("the page does not say %q", want)
		}
	}
	form := fieldsOf(t, page, address)
	path := works.Under("circuits/van point/legs", "yard wall") + "/length"
	if !form.Has("length " + path) {
		t.Fatalf("no field for %s in %v", path, form)
	}
	form.Set("length "+path, "nine")
	if resp, body := post(t, h, address, form); resp.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(body, `value="nine"`) {
		t.Errorf("nine answers %s", resp.Status)
	}
	form.Set("length "+path, "11.5")
	form.Set("known", "measured")
	if resp, body := post(t, h, address, form); resp.StatusCode != http.StatusSeeOther {
		t.Fatalf("%s: %s", resp.Status, wordsOf(body))
	}
	if got := factNow(t, s, id, path); got != "11.5 m" {
		t.Errorf("the length is %q, want 11.5 m", got)
	}
	if got := factNow(t, s, id, path+" known by"); got != "measured" {
		t.Errorf("it is known by %q, want measured", got)
	}
	if acts, _ := s.Store.Acts(t.Context(), id, 0); len(acts) != 2 {
		t.Errorf("%d acts, want the file and one act", len(acts))
	}
}

// TestGround: a rod of 1.2 m and 16 mm in 100 Ω·m is 71.6 Ω by
// ρ/(2πL)·(ln(8L/d) − 1), BS 7430:2011 9.5.3: 100/(2π·1.2)·(ln(600) − 1) = 71.58 Ω.
func TestGround(t *testing.T) {
	s := served(t, "pool/job.yaml")
	h := Secure(s.Handler())
	address := "/jobs/" + jobOf(t, s) + "/earthing"
	if _, page := get(t, h, address+"?soil=100&target=200"); !strings.Contains(page, "71.6 Ω") {
		t.Errorf("no rod of 71.6 Ω: %s", wordsOf(page))
	}
	if _, page := get(t, h, address+"?soil=100&upper=300&thickness=1"); !strings.Contains(page, "Rods through the upper layer") {
		t.Error("an upper layer changes nothing")
	}
	for query, want := range map[string]string{"soil=wet": "Resistivity of the soil", "target=-1": "Resistance to reach", "upper=0": "upper layer", "thickness=thin": "Thickness"} {
		if resp, page := get(t, h, address+"?"+query); resp.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(page, want) {
			t.Errorf("%s answers %s", query, resp.Status)
		}
	}
}

// TestDesignOfAnEmptyJob: what is not known is said, and nothing breaks.
func TestDesignOfAnEmptyJob(t *testing.T) {
	s := served(t)
	h := s.Handler()
	resp, _ := post(t, h, "/jobs", url.Values{"act": {"j1"}, "name": {"Barn"}})
	at := resp.Header.Get("Location")
	for page, want := range map[string]string{
		"/choose": "Not known, so nothing can be chosen there", "/options": "no design found", "/earthing": "resistivity of the soil", "/route": "not known",
	} {
		resp, body := get(t, h, at+page)
		if resp.StatusCode != http.StatusOK || !strings.Contains(body, want) {
			t.Errorf("%s answers %s without %q: %s", page, resp.Status, want, wordsOf(body))
		}
	}
}
