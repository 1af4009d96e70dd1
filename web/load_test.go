package web

import (
	"io"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"slices"
	"sync"
	"testing"
	"time"

	"chargewright/examples"
	"chargewright/store"
)

// TestFiftyChecksASecond asks for the check of twelve points fifty times a
// second, over loopback and from a journal in a file. 99 of 100 answers come
// within 50 ms. The machine may have other work: the best of a few runs counts.
func TestFiftyChecksASecond(t *testing.T) {
	if testing.Short() {
		t.Skip("takes seconds")
	}
	journal, err := store.Open(t.Context(), filepath.Join(t.TempDir(), "journal.sqlite"))
	if err != nil {
		t.Fatal(err)
	}
	defer journal.Close()
	s := served(t)
	s.Store = journal
	text, err := examples.Files.ReadFile("pool/job.yaml")
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Bring(t.Context(), text); err != nil {
		t.Fatal(err)
	}
	server := httptest.NewServer(Secure(s.Handler()))
	defer server.Close()
	address := server.URL + "/api/v1/jobs/" + jobOf(t, s) + "/check"
	const wanted = 50 * time.Millisecond
	best := time.Hour
	for run := 0; run < 6 && best > wanted; run++ {
		p99 := askOften(t, address, 50, 4*time.Second)
		t.Logf("run %d: 99 of 100 within %v", run+1, p99)
		best = min(best, p99)
	}
	if best > wanted {
		t.Errorf("at best 99 of 100 answers come within %v, want %v", best, wanted)
	}
}

// askOften asks so many times a second, and returns within what time 99 of 100
// answers came.
func askOften(t *testing.T, address string, perSecond int, span time.Duration) time.Duration {
	var (
		mu    sync.Mutex
		times []time.Duration
		all   sync.WaitGroup
	)
	tick := time.NewTicker(time.Second / time.Duration(perSecond))
	defer tick.Stop()
	for range int(span.Seconds()) * perSecond {
		<-tick.C
		all.Go(func() {
			from := time.Now()
			resp, err := http.Get(address)
			if err != nil {
				t.Error(err)
				return
			}
			io.Copy(io.Discard, resp.Body)
			resp.Body.Close()
			if resp.StatusCode != http.StatusOK {
				t.Error(resp.Status)
			}
			mu.Lock()
			times = append(times, time.Since(from))
			mu.Unlock()
		})
	}
	all.Wait()
	slices.Sort(times)
	return times[len(times)*99/100]
}
