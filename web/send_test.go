package web

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"slices"
	"testing"

	"chargewright/store"
)

// pocket is a device's journal in memory.
type pocket struct {
	*store.Memory
	sent   map[string]bool
	words  map[string]string
	photos map[string][]byte
}

func newPocket() *pocket {
	return &pocket{store.NewMemory(), map[string]bool{}, map[string]string{}, map[string][]byte{}}
}

func (p *pocket) HeldPhotos(ctx context.Context) (map[string]store.Held, error) {
	out := map[string]store.Held{}
	for act, content := range p.photos {
		out[act] = store.Held{Bytes: len(content), Waiting: !p.sent[act]}
	}
	return out, nil
}

func (p *pocket) HoldPhoto(_ context.Context, act string, content []byte) error {
	p.photos[act] = content
	return nil
}

func (p *pocket) DropPhotos(_ context.Context, acts ...string) error {
	for _, a := range acts {
		delete(p.photos, a)
	}
	return nil
}

func (p *pocket) Waiting(ctx context.Context) ([]store.Act, error) {
	jobs, err := p.Jobs(ctx)
	var out []store.Act
	for _, j := range jobs {
		acts, err := p.Acts(ctx, j.ID, 0)
		if err != nil {
			return nil, err
		}
		for _, a := range acts {
			if !p.sent[a.ID] {
				out = append(out, a)
			}
		}
	}
	slices.SortFunc(out, func(a, b store.Act) int { return int(a.Place - b.Place) })
	for i := range out {
		out[i].Place = 0
	}
	return out, err
}

func (p *pocket) Adopt(ctx context.Context, acts ...store.Act) error {
	for i, a := range acts {
		p.sent[a.ID] = true
		if a.Photo != nil && len(a.Photo.Content) == 0 { // memory keeps none without
			picture := *a.Photo
			picture.Content = []byte{0}
			acts[i].Photo = &picture
		}
	}
	_, err := p.Keep(ctx, acts...)
	return err
}

func (p *pocket) Forget(context.Context) error {
	p.Memory, p.sent, p.words, p.photos = store.NewMemory(), map[string]bool{}, map[string]string{}, map[string][]byte{}
	return nil
}

func (p *pocket) Remember(_ context.Context, name, word string) error {
	p.words[name] = word
	return nil
}

func (p *pocket) Recall(_ context.Context, name string) (string, error) { return p.words[name], nil }

// weak is a connection that fails in a set order: no way out, or no way back.
type weak struct {
	handler http.Handler
	fails   []string
}

func (w *weak) RoundTrip(r *http.Request) (*http.Response, error) {
	how := ""
	if len(w.fails) > 0 {
		how, w.fails = w.fails[0], w.fails[1:]
	}
	if how == "out" {
		return nil, errors.New("no signal")
	}
	inward := httptest.NewRequest(r.Method, r.URL.RequestURI(), r.Body)
	inward.Header = r.Header
	rec := httptest.NewRecorder()
	w.handler.ServeHTTP(rec, inward)
	if how == "back" {
		return nil, errors.New("signal lost")
	}
	return rec.Result(), nil
}

// TestSendingOverAWeakSignal enters readings on a device, and sends them over
// a connection that fails at every step in turn, on the way out and on the way
// back. In the end each is in the server's journal once and in order.
func TestSendingOverAWeakSignal(t *testing.T) {
	for _, how := range []string{"out", "back"} {
		for at := range 5 {
			t.Run(fmt.Sprintf("%s at %d", how, at), func(t *testing.T) {
				s := served(t, "bakery/job.yaml")
				job := jobOf(t, s)
				phone := newPocket()
				w := &weak{handler: Secure(s.Handler())}
				d := OnDevice(phone, "http://server", slog.New(slog.DiscardHandler))
				d.Sender.Client = &http.Client{Transport: w}
				if _, err := d.Sender.Send(t.Context(), job); err != nil {
					t.Fatal(err)
				}
				h := d.Server.Handler()
				want := []string{}
				for i, reading := range []string{"R1+R2", "R2", "R1+Rn", "Zs"} {
					resp, body := post(t, h, "/jobs/"+job+"/reading", url.Values{"act": {fmt.Sprintf("act-%d", i)}, "at": {"CP1"}, "reading": {reading}, "value": {"0.1"}, "unit": {"Ω"}})
					if resp.StatusCode != http.StatusSeeOther {
						t.Fatalf("%s: %s", resp.Status, body)
					}
					want = append(want, doneIn(resp))
				}
				for range at {
					w.fails = append(w.fails, "")
				}
				w.fails = append(w.fails, how)
				for range 4 {
					d.Sender.Send(t.Context())
				}
				left, err := d.Sender.Send(t.Context())
				if err != nil || left != 0 {
					t.Fatalf("%d still wait, %v", left, err)
				}
				acts, _ := s.Store.Acts(t.Context(), job, 0)
				var got []string
				for _, a := range acts[1:] {
					got = append(got, a.ID)
				}
				if !slices.Equal(got, want) {
					t.Errorf("the server has %v, want %v", got, want)
				}
			})
		}
	}
}
