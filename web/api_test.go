package web

import (
	"bytes"
	"encoding/json"
	"io"
	"net/http"
	"net/http/httptest"
	"path"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
)

// call sends JSON and reads the answer.
func call(t testing.TB, h http.Handler, method, path, body string, headers ...string) (*http.Response, []byte) {
	t.Helper()
	r := httptest.NewRequest(method, path, strings.NewReader(body))
	r.Header.Set("Content-Type", "application/json")
	for i := 0; i+1 < len(headers); i += 2 {
		r.Header.Set(headers[i], headers[i+1])
	}
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	text, _ := io.ReadAll(w.Result().Body)
	return w.Result(), text
}

// TestAnswersAreAsDescribed holds every JSON answer to the schema that the
// OpenAPI document gives for it (JSON Schema 2020-12, an implementation that is
// not ours).
func TestAnswersAreAsDescribed(t *testing.T) {
	s := served(t, "bakery/open.yaml")
	s.Meters = &steps{}
	s.Issuer, s.Commissioner = &standInDesk{}, &standIn{}
	h := s.Handler()
	job := jobOf(t, s)
	_, text := call(t, h, "GET", "/api/v1/openapi.json", "")
	document, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("openapi.json", document); err != nil {
		t.Fatal(err)
	}
	bodies := map[string]string{
		"POST /api/v1/jobs":                `{"name": "Barn"}`,
		"POST /api/v1/acts":                `{"acts": []}`,
		"POST /api/v1/jobs/{job}/entries":  `{"entries": [{"path": "supply/looped", "value": "no"}]}`,
		"POST /api/v1/jobs/{job}/choose":   `{"aim": "fewest", "parts": ["circuits/van point"]}`,
		"POST /api/v1/jobs/{job}/issued":   `{"passphrase": "four plain words here"}`,
		"POST /api/v1/jobs/{job}/demand":   "time,L1 A,L2 A,L3 A\n2026-11-04 00:00,10,20,30\n2026-11-04 00:30,11,21,31\n2026-11-04 01:00,12,22,32\n",
		"POST /api/v1/jobs/{job}/limit":    "time,L1 A,L2 A,L3 A\n2026-11-04 00:00,10,20,30\n2026-11-04 00:30,11,21,31\n2026-11-04 01:00,12,22,32\n",
		"POST /api/v1/jobs/{job}/pilot":    `{"point": "CP1", "high": "6.02 V", "state": "C"}`,
		"POST /api/v1/jobs/{job}/meter":    `{"address": "tcp://192.0.2.7:502", "map": "float-high-word-first", "unit": 7}`,
		"POST /api/v1/jobs/{job}/hear":     `[2,"1","Heartbeat",{}]`,
		"POST /api/v1/jobs/{job}/readings": `{"at": "CP1", "reading": "Zs", "value": "0.34 Ω"}`,
	}
	bodies["POST /api/v1/jobs/{job}/commissioning"] = `{"point": "CP1", "link": "made", "unit": 3}`
	queries := map[string]string{"/api/v1/jobs/{job}/demand": "?runs=1", "/api/v1/jobs/{job}/limit": "?runs=1&years=0.1", "/api/v1/jobs/{job}/fault": "?touching=L1-PE&at=CP1"}
	told := func(v any) string {
		text, err := json.Marshal(v)
		if err != nil {
			t.Fatal(err)
		}
		return string(text)
	}
	bodies["POST /api/v1/jobs/{job}/charging"] = told(everythingAsked(t))
	bodies["POST /api/v1/jobs/{job}/clamp"] = told(map[string]any{"way": "recordings", "line": "L2", "site": tableNamed(t, "bakery/clamp/right.csv"), "point": tableNamed(t, "bakery/clamp/point.csv")})
	as := func(name, schema string, text []byte) {
		compiled, err := c.Compile("openapi.json#/components/schemas/" + schema)
		if err != nil {
			t.Fatal(err)
		}
		value, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
		if err == nil {
			err = compiled.Validate(value)
		}
		if err != nil {
			t.Errorf("%s is not as described: %v", name, err)
		}
	}
	name := addPhoto(t, h, job, "act-photo", "cut-out", "", turned(t))
	bodies["POST /api/v1/jobs/{job}/photos/{photo}"] = `{"onPapers": true, "caption": "its seal"}`
	checked := 0
	for _, e := range s.api() {
		if strings.Contains(e.Gives, "/") {
			continue
		}
		resp, text := call(t, h, e.Method, strings.NewReplacer("{job}", job, "{photo}", name).Replace(e.Path)+queries[e.Path], bodies[e.Method+" "+e.Path])
		if resp.StatusCode >= 300 {
			t.Errorf("%s %s answers %s: %s", e.Method, e.Path, resp.Status, text)
			continue
		}
		as(e.Method+" "+e.Path, e.Gives, text)
		if body := bodies[e.Method+" "+e.Path]; e.Takes != "" && !strings.Contains(e.Takes, "/") {
			as("what is sent to "+e.Path, e.Takes, []byte(body))
		}
		checked++
	}
	if checked < 9 {
		t.Errorf("only %d answers were held to their description", checked)
	}
}

func TestProblemsAreProblemDetails(t *testing.T) {
	s := served(t, "bakery/job.yaml")
	h := s.Handler()
	for path, want := range map[string]int{"/api/v1/jobs/none/check": 404, "/api/v1/nothing": 404, "/api/v1/jobs/" + jobOf(t, s) + "/acts?after=x": 400} {
		resp, text := call(t, h, "GET", path, "")
		var p problem
		if err := json.Unmarshal(text, &p); err != nil || p.Status != want || resp.StatusCode != want || p.Detail == "" || resp.Header.Get("Content-Type") != "application/problem+json" {
			t.Errorf("%s answers %s %s, want %d as problem details (RFC 9457)", path, resp.Status, text, want)
		}
	}
}

func TestEntityTagsAndIdempotencyKeys(t *testing.T) {
	s := served(t, "bakery/job.yaml")
	h := s.Handler()
	job := "/api/v1/jobs/" + jobOf(t, s)
	resp, _ := call(t, h, "GET", job+"/check", "")
	seen := resp.Header.Get("ETag")
	if resp, _ := call(t, h, "GET", job+"/check", "", "If-None-Match", seen); resp.StatusCode != http.StatusNotModified {
		t.Errorf("unchanged answers %s, want 304", resp.Status)
	}
	entry := `{"entries": [{"path": "supply/looped", "value": "no"}]}`
	for i, want := range []int{201, 412} {
		if resp, text := call(t, h, "POST", job+"/entries", entry, "If-Match", seen, "Idempotency-Key", "k"+string(rune('a'+i))); resp.StatusCode != want {
			t.Errorf("entry %d against %s answers %s %s, want %d", i+1, seen, resp.Status, text, want)
		}
	}
	for i, want := range []int{201, 200} {
		if resp, text := call(t, h, "POST", job+"/readings", `{"at": "CP1", "reading": "Zs", "value": "0.34 Ω"}`, "Idempotency-Key", "reading-1"); resp.StatusCode != want {
			t.Errorf("time %d under one key answers %s %s, want %d", i+1, resp.Status, text, want)
		}
	}
	if resp, _ := call(t, h, "POST", job+"/entries", `{"entries": [{"path": "supply/Ze", "value": "25 m"}]}`); resp.StatusCode != http.StatusUnprocessableEntity {
		t.Errorf("a length for Ze answers %s, want 422", resp.Status)
	}
}

func tableNamed(t testing.TB, name string) map[string]string {
	t.Helper()
	return map[string]string{"name": path.Base(name), "text": example(t, name)}
}

// everythingAsked asks for all there is of the bakery's records.
func everythingAsked(t testing.TB) map[string]any {
	return map[string]any{"records": []any{tableNamed(t, "bakery/sessions.csv")}, "tariff": tableNamed(t, "tariffs/night.csv"), "then": tableNamed(t, "tariffs/flat.csv"), "schedule": "00:30-05:30",
		"cards": tableNamed(t, "bakery/cards.csv"), "co2": tableNamed(t, "tariffs/co2.csv"), "journeys": tableNamed(t, "bakery/journeys.csv"), "mileage": tableNamed(t, "bakery/mileage.csv"), "economy": "3.5",
		"inspections": tableNamed(t, "bakery/inspections.csv"), "siteMeter": map[string]string{"name": "site.csv", "text": "time,register kWh\n2026-09-01 00:00,100\n2026-11-01 00:00,1300\n"},
		"surplus": map[string]string{"name": "surplus.csv", "text": "starting,kWh\n2026-09-01T14:00:00Z,1\n"},
		"by":      []string{"month", "person"}, "only": map[string]string{"point": "CP1"}, "from": "2026-09-01", "to": "2026-11-30", "date": "2026-11-25", "ratings": map[string]string{"": "22 kW"},
		"columns": map[string]string{"energy": "energy kWh"}}
}
