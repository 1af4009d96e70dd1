package web

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
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
	yaml := example(t, "bakery/open.yaml")
	bodies := map[string]string{"POST /api/v1/jobs": yaml, "POST /api/v1/acts": `{"acts": []}`}
	as := func(name, place string, text []byte) {
		compiled, err := c.Compile("openapi.json#/paths/" + place + "/content/application~1json/schema")
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
	addPhoto(t, h, job, "act-photo", "cut-out", "", turned(t))
	checked := 0
	for _, e := range s.api() {
		if _, media := e.Gives.(string); media {
			continue
		}
		body := bodies[e.Method+" "+e.Path]
		resp, text := call(t, h, e.Method, strings.ReplaceAll(e.Path, "{job}", job), body)
		if resp.StatusCode >= 300 {
			t.Errorf("%s %s answers %s: %s", e.Method, e.Path, resp.Status, text)
			continue
		}
		at := strings.NewReplacer("/", "~1", "{", "%7B", "}", "%7D").Replace(e.Path) + "/" + strings.ToLower(e.Method)
		as(e.Method+" "+e.Path, fmt.Sprintf("%s/responses/%d", at, resp.StatusCode), text)
		if _, media := e.Takes.(string); e.Takes != nil && !media {
			as("what is sent to "+e.Path, at+"/requestBody", []byte(body))
		}
		checked++
	}
	if checked != 8 {
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
