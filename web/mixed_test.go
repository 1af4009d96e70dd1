package web

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"maps"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"sync"
	"testing"
	"time"

	"chargewright/examples"
	"chargewright/job"
	"chargewright/store"
)

// TestMixedLoad is a day at a firm, as fast as is asked for: 300 people at once,
// half of them reading, a third entering, some with photos, some back in signal
// with what they entered meanwhile. It runs for as long as CHARGEWRIGHT_LOAD says
// (like 10m), over loopback, before a journal in a file, and tells how long
// answers took and what memory and descriptors did. No time is held to a bound
// here: bench/trust.txt records it with its day and its length.
func TestMixedLoad(t *testing.T) {
	length, err := time.ParseDuration(os.Getenv("CHARGEWRIGHT_LOAD"))
	if err != nil {
		t.Skip("CHARGEWRIGHT_LOAD says how long, like 10m")
	}
	const people, second = 300, 50 // and requests a second, all together
	journal, err := store.Open(t.Context(), filepath.Join(t.TempDir(), "journal.sqlite"))
	if err != nil {
		t.Fatal(err)
	}
	defer journal.Close()
	s := &Server{Store: journal, Now: time.Now, Log: slog.New(slog.NewTextHandler(t.Output(), nil)), Who: func(*http.Request) string { return "Ann" }}
	for range 20 {
		for _, name := range []string{"pool/job.yaml", "bakery/job.yaml", "terrace/job.yaml"} {
			text, err := examples.Files.ReadFile(name)
			if err == nil {
				err = s.Bring(t.Context(), text)
			}
			if err != nil {
				t.Fatal(err)
			}
		}
	}
	jobs, err := journal.Jobs(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	server := httptest.NewServer(Secure(Queued(s.Handler())))
	defer server.Close()
	client := &http.Client{Transport: &http.Transport{MaxIdleConnsPerHost: people}, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	shot := grey(t, 1)
	var mu sync.Mutex
	took, failed := map[string][]time.Duration{}, map[string]int{}
	ask := func(what, method, path, kind string, body []byte) {
		r, err := http.NewRequest(method, server.URL+path, bytes.NewReader(body))
		if err != nil {
			t.Error(err)
			return
		}
		if kind != "" {
			r.Header.Set("Content-Type", kind)
		}
		from := time.Now()
		resp, err := client.Do(r)
		status := 0
		if err == nil {
			io.Copy(io.Discard, resp.Body)
			resp.Body.Close()
			status = resp.StatusCode
		}
		mu.Lock()
		defer mu.Unlock()
		took[what] = append(took[what], time.Since(from))
		if err != nil || status >= 400 && status != http.StatusConflict {
			failed[fmt.Sprintf("%s answers %d", what, status)]++
		}
	}
	end := time.Now().Add(length)
	var all sync.WaitGroup
	for n := range people {
		all.Go(func() {
			draw := rand.New(rand.NewPCG(uint64(n), 300))
			pause := func() {
				time.Sleep(time.Duration((0.5 + draw.Float64()) * float64(people) / second * float64(time.Second)))
			}
			for k := 0; ; k++ {
				if pause(); time.Now().After(end) {
					return
				}
				id := jobs[draw.IntN(len(jobs))].ID
				switch {
				case n < people/2: // reads
					page := []string{"/jobs/" + id, "/jobs/" + id + "/readings", "/jobs/" + id + "/sheet?of=supply", "/jobs/" + id + "/next", "/jobs/" + id + "/history", "/"}[draw.IntN(6)]
					ask("a page", "GET", page, "", nil)
				case n < people*5/6: // enters
					form := url.Values{"act": {fmt.Sprintf("f-%d-%d", n, k)}, "path": {"supply/cut-out/rating"}, "value": {[]string{"60 A", "80 A", "100 A"}[draw.IntN(3)]}}
					ask("an entry", "POST", "/jobs/"+id+"/fact", "application/x-www-form-urlencoded", []byte(form.Encode()))
				case n < people*29/30: // photographs: each picture is another
					var b bytes.Buffer
					b.Write(shot)
					fmt.Fprintf(&b, "%d %d", n, k)
					b.Write(make([]byte, 100_000))
					kind, body := multipartOf(t, "photo", "IMG.jpg", b.Bytes())
					ask("a photo", "POST", "/jobs/"+id+"/photo?of=cut-out", kind, body.Bytes())
				default: // was away, and sends what waited
					var acts []store.Act
					for i := range 20 {
						acts = append(acts, store.Act{ID: fmt.Sprintf("s-%d-%d-%d", n, k, i), Job: id, What: "entered", Who: "Ann", When: Stamp(time.Now()), Device: "browser",
							Entries: []job.Entry{{Path: "supply/Ze", Value: "0.2 Ω (measured)"}}}.Stamped())
					}
					body, err := json.Marshal(map[string]any{"acts": acts})
					if err != nil {
						t.Error(err)
						return
					}
					ask("what waited", "POST", "/api/v1/acts", "application/json", body)
				}
			}
		})
	}
	for minute := 0; time.Now().Before(end); minute++ {
		time.Sleep(min(time.Minute, time.Until(end)))
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		open, _ := os.ReadDir("/proc/self/fd")
		t.Logf("minute %d: heap in use %d MiB, from the system %d MiB, %d descriptors, %d goroutines", minute+1, m.HeapInuse>>20, m.Sys>>20, len(open), runtime.NumGoroutine())
	}
	all.Wait()
	for _, what := range slices.Sorted(maps.Keys(took)) {
		times := took[what]
		slices.Sort(times)
		at := func(share float64) time.Duration {
			return times[int(share*float64(len(times)-1))].Round(time.Millisecond / 10)
		}
		t.Logf("%s: %d times, middle %v, 99 of 100 within %v, longest %v", what, len(times), at(0.5), at(0.99), at(1))
	}
	if len(failed) > 0 {
		t.Errorf("refused: %v", failed)
	}
	if found, err := journal.Audit(t.Context()); err != nil || found.Wrong != nil {
		t.Errorf("the journal after it: %v, %v", found.Wrong, err)
	}
}
