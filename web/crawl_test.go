package web

import (
	"context"
	"html"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"chargewright/examples"
	"chargewright/store"
)

// served returns the pages over a journal in memory, with the example jobs.
func served(t testing.TB, files ...string) *Server {
	t.Helper()
	log := slog.New(slog.NewTextHandler(t.Output(), nil))
	clock := time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC)
	s := &Server{Store: store.NewMemory(), Log: log, Now: func() time.Time { clock = clock.Add(time.Second); return clock }}
	s.NamedByCookie(false)
	for _, name := range files {
		text, err := examples.Files.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		if err := s.Bring(context.Background(), text); err != nil {
			t.Fatal(err)
		}
	}
	return s
}

func get(t testing.TB, h http.Handler, address string) (*http.Response, string) {
	t.Helper()
	w := httptest.NewRecorder()
	h.ServeHTTP(w, httptest.NewRequest("GET", address, nil))
	body, _ := io.ReadAll(w.Result().Body)
	return w.Result(), string(body)
}

var links = regexp.MustCompile(`(?:href|src)="(/[^"]*)"`)

// TestEveryLinkLeadsSomewhere follows every link of every page of the example
// jobs, good and faulty.
func TestEveryLinkLeadsSomewhere(t *testing.T) {
	s := served(t, "bakery/job.yaml", "bakery/faulty.yaml", "bakery/open.yaml", "terrace/job.yaml")
	h := Secure(s.Handler())
	seen := map[string]bool{"/": true}
	queue := []string{"/"}
	kinds := map[string]int{} // of one kind of page, a few are enough
	for len(queue) > 0 {
		address := queue[0]
		queue = queue[1:]
		resp, body := get(t, h, address)
		if resp.StatusCode != http.StatusOK {
			t.Errorf("%s answers %s", address, resp.Status)
		}
		if strings.Contains(body, "ZgotmplZ") || strings.Contains(body, "<no value>") {
			t.Errorf("%s has a hole in it", address)
		}
		if !strings.HasPrefix(resp.Header.Get("Content-Type"), "text/html") {
			continue
		}
		for _, m := range links.FindAllStringSubmatch(body, -1) {
			to, _, _ := strings.Cut(html.UnescapeString(m[1]), "#") // a browser keeps the rest to itself
			u, err := url.Parse(to)
			if err != nil {
				t.Errorf("%s links to %q: %v", address, to, err)
				continue
			}
			kind := regexp.MustCompile(`[0-9a-f-]{36}`).ReplaceAllString(u.Path, "…")
			if seen[to] || strings.HasPrefix(u.Path, "/bundle/") {
				continue
			}
			most := 30
			if strings.Contains(kind, "/reading") || strings.Contains(kind, "/papers/") {
				most = 8 // each is the same page with more work behind it
			}
			if kinds[kind]++; kinds[kind] > most {
				continue
			}
			seen[to] = true
			queue = append(queue, to)
		}
	}
	if len(seen) < 120 {
		t.Errorf("only %d pages were found", len(seen))
	}
}

// TestEveryPageOfAnEmptyJob asks for every page of a job of which nothing is
// known yet.
func TestEveryPageOfAnEmptyJob(t *testing.T) {
	s := served(t)
	h := s.Handler()
	resp, _ := post(t, h, "/jobs", url.Values{"act": {"j1"}, "name": {"Barn"}})
	job := resp.Header.Get("Location")
	for _, reading := range []string{"Zs&at=CP1", "Ze&at=supply", "R1%2BR2&at=CP1"} {
		if _, body := get(t, h, job+"/reading?reading="+reading); !strings.Contains(body, "data-keypad") {
			t.Errorf("%s has no keypad while its band is not known", reading)
		}
	}
	pages := []string{"", "/next", "/rules", "/parts", "/readings", "/why", "/papers", "/certificate", "/history", "/compare", "/differences", "/pictures", "/demand", "/clamp", "/charging", "/file",
		"/picture/curves", "/picture/voltage", "/picture/surge", "/picture/lost-pen", "/picture/wall-cp1", "/sheet?of=points/CP1", "/fact?path=points/CP1/power", "/reading?at=CP1&reading=Zs"}
	for _, page := range pages {
		if resp, body := get(t, h, strings.ReplaceAll(job+page, " ", "%20")); resp.StatusCode != http.StatusOK {
			t.Errorf("%s answers %s: %.200s", page, resp.Status, body)
		}
	}
}
