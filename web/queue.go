package web

// What is large goes to a file while it comes in and waits its turn, so that few
// who send much, or send it slowly, leave room for the rest.

import (
	"io"
	"net/http"
	"os"
	"sync/atomic"
	"time"
)

// The ceiling of what is worked on at once. Each large body may take a few times
// its size while it is read; an ordinary page of a large job some tens of MiB.
const (
	largeBody   = 1 << 20 // bytes from which on a body goes to a file
	mostHeld    = 1 << 30 // bytes of such files at once, all together
	largeAtOnce = 2       // large bodies read at once
	pagesAtOnce = 64      // others answered at once
	mostWait    = time.Minute
)

// Queued lets in so many requests at once; more wait their turn, and those whose
// reader has left lose it.
func Queued(h http.Handler) http.Handler {
	return queued(h, largeAtOnce, pagesAtOnce, mostHeld, mostWait)
}

func queued(h http.Handler, large, others int, most int64, wait time.Duration) http.Handler {
	forLarge, forOthers := make(chan struct{}, large), make(chan struct{}, others)
	var held atomic.Int64
	busy := func(w http.ResponseWriter) {
		w.Header().Set("Retry-After", "30")
		http.Error(w, "Too much is being sent here at once. Nothing of this was kept: send it again in half a minute.", http.StatusServiceUnavailable)
	}
	inTurn := func(w http.ResponseWriter, r *http.Request, places chan struct{}) {
		late := time.NewTimer(wait)
		defer late.Stop()
		select {
		case places <- struct{}{}:
			defer func() { <-places }()
			h.ServeHTTP(w, r)
		case <-r.Context().Done():
		case <-late.C:
			busy(w)
		}
	}
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		size := r.ContentLength
		if size < 0 {
			size = mostBody(r)
		}
		if size <= largeBody || size > mostBody(r) { // what is too large is refused before it is read
			inTurn(w, r, forOthers)
			return
		}
		defer held.Add(-size)
		if held.Add(size) > most {
			busy(w)
			return
		}
		f, err := os.CreateTemp("", "chargewright-sent-")
		if err != nil {
			busy(w)
			return
		}
		defer os.Remove(f.Name())
		defer f.Close()
		n, err := io.Copy(f, r.Body)
		if err == nil {
			_, err = f.Seek(0, io.SeekStart)
		}
		if r.Body, r.ContentLength = f, n; err != nil {
			r.Body = io.NopCloser(broken{err}) // and whoever reads it says so
		}
		inTurn(w, r, forLarge)
	})
}

// broken is a body that did not come whole.
type broken struct{ err error }

func (b broken) Read([]byte) (int, error) { return 0, b.err }
