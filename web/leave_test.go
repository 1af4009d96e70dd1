package web

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"net/http/httptest"
	"net/url"
	"strings"
	"sync/atomic"
	"testing"
)

// reader is a reader who leaves when the work has asked so many times whether
// anybody still waits.
type reader struct {
	context.Context
	asked, most atomic.Int64
}

func (p *reader) Err() error {
	if p.asked.Add(1) > p.most.Load() {
		return context.Canceled
	}
	return nil
}

// TestWorkEndsWhenTheReaderLeaves: whoever closes the page half-way through a
// long answer, or half the network that asks for one and never reads it, does
// not keep the program at work for nothing. After the reader has left the work
// asks a few times more, once for each room it is in, and tells nobody anything.
func TestWorkEndsWhenTheReaderLeaves(t *testing.T) {
	s := served(t, "bakery/job.yaml")
	h, id := s.Handler(), jobOf(t, s)
	acts, err := s.Store.Acts(t.Context(), id, 0)
	if err != nil {
		t.Fatal(err)
	}
	o, err := fold(id, acts)
	if err != nil {
		t.Fatal(err)
	}
	at := ""
	for _, e := range o.Expected {
		if e.Reading == "Zs" {
			at = e.At
		}
	}
	for range 5 { // jobs to search
		if err := s.Bring(t.Context(), []byte("job: Barn\n")); err != nil {
			t.Fatal(err)
		}
	}
	var log bytes.Buffer
	for n := range 30_000 {
		fmt.Fprintf(&log, "2026-11-25T09:00:00Z CP1 [2,\"%d\",\"Heartbeat\",{}]\n2026-11-25T09:00:00Z CP1 [3,\"%d\",{\"currentTime\":\"2026-11-25T09:00:00Z\"}]\n", n, n)
	}
	form := func(values url.Values) func() (string, io.Reader) {
		return func() (string, io.Reader) {
			return "application/x-www-form-urlencoded", strings.NewReader(values.Encode())
		}
	}
	file := func(field string, content []byte) func() (string, io.Reader) {
		return func() (string, io.Reader) {
			kind, body := multipartOf(t, field, "log.txt", content)
			return kind, body
		}
	}
	for _, tt := range []struct {
		what, method, address string
		body                  func() (string, io.Reader)
	}{
		{"check", "GET", "/api/v1/jobs/" + id + "/check", nil},
		{"explain", "GET", "/jobs/" + id + "/reading/judge?why=yes&" + url.Values{"at": {at}, "reading": {"Zs"}, "value": {"2.9"}, "unit": {"Ω"}}.Encode(), nil},
		{"choose", "GET", "/jobs/" + id + "/choose?aim=fewest", nil},
		{"options", "GET", "/jobs/" + id + "/options", nil},
		{"demand", "POST", "/jobs/" + id + "/demand", form(url.Values{"runs": {"4"}})},
		{"limit", "POST", "/jobs/" + id + "/limit", form(url.Values{"runs": {"2"}})},
		{"hear", "POST", "/jobs/" + id + "/hear", file("log", log.Bytes())},
		{"search", "GET", "/search?q=Barn", nil},
	} {
		ask := func(most int64) (p *reader, says string) {
			p = &reader{Context: t.Context()}
			p.most.Store(most)
			r := httptest.NewRequest(tt.method, tt.address, nil)
			if tt.body != nil {
				kind, body := tt.body()
				r = httptest.NewRequest(tt.method, tt.address, body)
				r.Header.Set("Content-Type", kind)
			}
			w := httptest.NewRecorder()
			h.ServeHTTP(w, r.WithContext(p))
			if most > 1<<40 && w.Code != 200 {
				t.Fatalf("%s answers %d %.300s", tt.what, w.Code, w.Body)
			}
			return p, w.Body.String()
		}
		whole, _ := ask(1 << 50)
		asks := whole.asked.Load()
		const least, few = 6, 40
		if asks < least {
			t.Errorf("%s asks only %d times whether anybody waits", tt.what, asks)
			continue
		}
		for _, most := range []int64{1, asks / 2} {
			left, says := ask(most)
			if more := left.asked.Load() - most; more > few || says != "" {
				t.Errorf("%s goes on: it asked %d times in all, and left after %d it asked %d times more and says %.80q", tt.what, asks, most, more, says)
			}
		}
		t.Logf("%s asks %d times", tt.what, asks)
	}
}
