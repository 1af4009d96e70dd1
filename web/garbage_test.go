package web

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
)

// pieces are what forms, files and programs send, and worse.
var pieces = []string{"", " ", "yes", "0", "-1", "1e400", "NaN", "9999999999999999999", "0.18 Ω", "25 m", "points/CP1", "points/CP1/power", "supply/Ze", "circuits/van point", "circuits", "boards", "readings",
	"supply", "CP1", "van point", "Zs", "R1+R2", "/", "//", "~", "a/../b", "..", "\x00", "\xff\xfe", "<script>", "{{.}}", "%", "%zz", "2026-11-25", "2026-13-45", "L1-PE@CP1", "{}", "[]", "null", `{"acts":[{}]}`, `{"entries":null}`,
	"name;value\n1;2", "time,energy\n2026-01-01,x\n", "job: x\nsupply:\n  Ze: [", "what,band\n\"", "act", "of", "list", "path", "value", strings.Repeat("9", 400), strings.Repeat("é", 3000)}

// TestGarbage sends every page and every part of the programming interface what
// nobody should send: each is refused in words, and nothing breaks.
func TestGarbage(t *testing.T) {
	rounds := 6
	if testing.Short() {
		rounds = 2
	}
	draw := rand.New(rand.NewPCG(9, 2026))
	one := func() string { return pieces[draw.IntN(len(pieces))] }
	s := served(t, "bakery/job.yaml", "terrace/open.yaml")
	h := Secure(s.Handler())
	jobs, err := s.Store.Jobs(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	names := formNames(t, h, jobs[0].ID)
	type target struct{ method, path string }
	var targets []target
	for _, r := range s.pages() {
		method, path, _ := strings.Cut(r.pattern, " ")
		targets = append(targets, target{method, strings.ReplaceAll(path, "{$}", "")})
	}
	for _, r := range s.api() {
		targets = append(targets, target{r.Method, r.Path})
	}
	for _, to := range targets {
		for range rounds {
			path := strings.ReplaceAll(to.path, "{job}", jobs[draw.IntN(len(jobs))].ID)
			for strings.Contains(path, "{") {
				from, rest := strings.Index(path, "{"), path[strings.Index(path, "}")+1:]
				path = path[:from] + url.PathEscape(one()) + rest
			}
			fill := func() url.Values {
				v := url.Values{}
				for range draw.IntN(6) {
					v.Add(names[draw.IntN(len(names))], one())
				}
				return v
			}
			var body bytes.Buffer
			kind := "application/x-www-form-urlencoded"
			switch draw.IntN(4) {
			case 0:
				kind = "application/json"
				body.WriteString(one())
			case 1:
				parts := multipart.NewWriter(&body)
				for range draw.IntN(4) {
					f, err := parts.CreateFormFile(names[draw.IntN(len(names))], one())
					if err != nil {
						t.Fatal(err)
					}
					fmt.Fprint(f, one())
				}
				parts.Close()
				kind = parts.FormDataContentType()
			default:
				body.WriteString(fill().Encode())
			}
			sent := body.String()
			r, err := http.NewRequest(to.method, path+"?"+fill().Encode(), &body)
			if err != nil {
				continue // no address at all
			}
			r.Header.Set("Content-Type", kind)
			w := httptest.NewRecorder()
			h.ServeHTTP(w, r)
			if w.Code == http.StatusInternalServerError {
				t.Errorf("%s %.300s with %.300q breaks", to.method, r.URL, sent)
			}
		}
	}
	t.Logf("%d addresses, %d times each, %d names of fields", len(targets), rounds, len(names))
}

// formNames collects the names of the fields of the forms of a job.
func formNames(t *testing.T, h http.Handler, job string) []string {
	t.Helper()
	seen := map[string]bool{}
	var out []string
	for _, page := range []string{"", "/certificate", "/parts", "/charging", "/clamp", "/demand", "/choose", "/flow", "/earthing", "/inspections", "/fact?path=supply/Ze", "/reading?at=CP1&reading=Zs",
		"/sheet?of=points/CP1", "/fill?of=supply/Ze&of=street", "/add?list=circuits", "/commissioning?point=CP1"} {
		_, body := get(t, h, "/jobs/"+job+page)
		for _, part := range strings.Split(body, ` name="`)[1:] {
			name, _, _ := strings.Cut(part, `"`)
			if !seen[name] {
				seen[name] = true
				out = append(out, name)
			}
		}
	}
	return append(out, "act", "of", "path", "list", "item", "at", "reading", "next", "done")
}
