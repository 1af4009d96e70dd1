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

// poolChecked serves the check of twelve points over loopback, from a journal
// in a file, and returns its address.
func poolChecked(t testing.TB) string {
	t.Helper()
	journal, err := store.Open(t.Context(), filepath.Join(t.TempDir(), "journal.sqlite"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { journal.Close() })
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
	t.Cleanup(server.Close)
	return server.URL + "/api/v1/jobs/" + jobOf(t, s) + "/check"
}

// asked asks for a check, and returns what is answered and how long it took.
func asked(t testing.TB, address string) (string, time.Duration) {
	from := time.Now()
	resp, err := http.Get(address)
	if err != nil {
		t.Error(err)
		return "", 0
	}
	defer resp.Body.Close()
	text, err := io.ReadAll(resp.Body)
	if err != nil || resp.StatusCode != http.StatusOK {
		t.Errorf("the check answers %s, %v", resp.Status, err)
	}
	return string(text), time.Since(from)
}

// TestChecksSideBySide: many who ask at once are all told the same.
func TestChecksSideBySide(t *testing.T) {
	address := poolChecked(t)
	want, _ := asked(t, address)
	if len(want) < 1000 {
		t.Fatalf("the check says only %q", want)
	}
	var all sync.WaitGroup
	for range 40 {
		all.Go(func() {
			if got, _ := asked(t, address); got != want {
				t.Errorf("one of many is told something else, %d bytes for %d", len(got), len(want))
			}
		})
	}
	all.Wait()
}

// BenchmarkFiftyChecksASecond asks fifty times a second and tells within what
// time 99 of 100 answers come.
func BenchmarkFiftyChecksASecond(b *testing.B) {
	address := poolChecked(b)
	var (
		mu    sync.Mutex
		times []time.Duration
		all   sync.WaitGroup
	)
	tick := time.NewTicker(time.Second / 50)
	defer tick.Stop()
	for b.Loop() {
		<-tick.C
		all.Go(func() {
			_, took := asked(b, address)
			mu.Lock()
			times = append(times, took)
			mu.Unlock()
		})
	}
	all.Wait()
	slices.Sort(times)
	b.ReportMetric(float64(times[len(times)*99/100].Microseconds())/1000, "ms-of-99-in-100")
	b.ReportMetric(float64(times[len(times)/2].Microseconds())/1000, "ms-middle")
}
