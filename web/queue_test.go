package web

import (
	"bytes"
	"context"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"regexp"
	"sync"
	"sync/atomic"
	"testing"
	"time"
)

// TestLargeBodiesWaitTheirTurn: few who send much leave room for the rest. What
// is large lies in a file while it waits, two are read at once, who leaves loses
// the turn, a small request passes, and no file is left behind.
func TestLargeBodiesWaitTheirTurn(t *testing.T) {
	folder := t.TempDir()
	t.Setenv("TMPDIR", folder)
	var inside, reached atomic.Int64
	entered, leave := make(chan bool, 10), make(chan bool)
	h := queued(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.URL.Path != "/api/v1/acts" {
			return
		}
		reached.Add(1)
		if inside.Add(1) > 2 {
			t.Error("more than two large bodies are read at once")
		}
		if _, file := r.Body.(*os.File); !file {
			t.Error("a large body lies in memory")
		}
		entered <- true
		<-leave
		if text, err := io.ReadAll(r.Body); err != nil || len(text) != 2*largeBody {
			t.Errorf("%d bytes came, %v", len(text), err)
		}
		inside.Add(-1)
	}), 2, 4, 7*largeBody, time.Minute)
	large := func(ctx context.Context) int {
		w := httptest.NewRecorder()
		h.ServeHTTP(w, httptest.NewRequest("POST", "/api/v1/acts", bytes.NewReader(make([]byte, 2*largeBody))).WithContext(ctx))
		return w.Code
	}
	var all sync.WaitGroup
	for range 2 {
		all.Go(func() { large(t.Context()) })
	}
	<-entered
	<-entered
	left, goes := context.WithCancel(t.Context())
	all.Go(func() { large(left) })
	for files := 0; files < 3; { // the third lies in its file and waits
		there, err := os.ReadDir(folder)
		if err != nil {
			t.Fatal(err)
		}
		files = len(there)
		time.Sleep(time.Millisecond)
	}
	if status := large(t.Context()); status != http.StatusServiceUnavailable {
		t.Errorf("more than may be held is answered %d", status)
	}
	w := httptest.NewRecorder()
	if h.ServeHTTP(w, httptest.NewRequest("GET", "/", nil)); w.Code != http.StatusOK {
		t.Errorf("a small request beside them is answered %d", w.Code)
	}
	goes()
	close(leave)
	all.Wait()
	if n := reached.Load(); n != 2 {
		t.Errorf("%d large bodies were read, though the third reader had left", n)
	}
	if there, err := os.ReadDir(folder); err != nil || len(there) > 0 {
		t.Errorf("%d files are left behind, %v", len(there), err)
	}
}

// TestPagesWaitTheirTurn: no more are worked on at once than is said.
func TestPagesWaitTheirTurn(t *testing.T) {
	var inside, most atomic.Int64
	h := queued(http.HandlerFunc(func(http.ResponseWriter, *http.Request) {
		if n := inside.Add(1); n > most.Load() {
			most.Store(n)
		}
		time.Sleep(time.Millisecond)
		inside.Add(-1)
	}), 2, 3, 1<<20, time.Minute)
	var all sync.WaitGroup
	for range 40 {
		all.Go(func() {
			w := httptest.NewRecorder()
			if h.ServeHTTP(w, httptest.NewRequest("GET", "/", nil)); w.Code != http.StatusOK {
				t.Errorf("it is answered %d", w.Code)
			}
		})
	}
	all.Wait()
	if n := most.Load(); n > 3 {
		t.Errorf("%d were worked on at once, 3 may be", n)
	}
}

// TestAListShowsAPageAtATime: the list of jobs costs what it shows, however many
// jobs there are, and every job is on some page of it, once.
func TestAListShowsAPageAtATime(t *testing.T) {
	s := served(t)
	const jobs = 2*jobsOnAPage + 7
	for n := range jobs {
		if err := s.Bring(t.Context(), []byte("job: Barn number "+whole(n)+"\n")); err != nil {
			t.Fatal(err)
		}
	}
	h, seen, pages := s.Handler(), map[string]int{}, 0
	for at := "/"; at != ""; pages++ {
		_, body := get(t, h, at)
		rows := regexp.MustCompile(`href="(/jobs/[^"]+)"`).FindAllStringSubmatch(body, -1)
		if len(rows) > jobsOnAPage {
			t.Errorf("%s shows %d jobs", at, len(rows))
		}
		for _, row := range rows {
			seen[row[1]]++
		}
		at = ""
		if next := regexp.MustCompile(`href="(/\?before=\d+)"`).FindStringSubmatch(body); next != nil {
			at = next[1]
		}
	}
	if len(seen) != jobs || pages != 3 {
		t.Errorf("%d jobs on %d pages, there are %d", len(seen), pages, jobs)
	}
	for _, odd := range []string{"/?before=-5", "/?before=x", "/?before=99999"} {
		if resp, _ := get(t, h, odd); resp.StatusCode != http.StatusOK {
			t.Errorf("%s answers %s", odd, resp.Status)
		}
	}
}
