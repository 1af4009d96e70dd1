package door

import (
	"bytes"
	"context"
	"crypto/ed25519"
	"crypto/rand"
	"encoding/hex"
	"encoding/json"
	"errors"
	"log/slog"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"chargewright/job"
	"chargewright/store"
	"chargewright/web"
)

// sends hands acts in as a device does, in a session.
func sends(t *testing.T, h http.Handler, c *http.Cookie, acts ...store.Act) *httptest.ResponseRecorder {
	t.Helper()
	body, err := json.Marshal(map[string]any{"acts": acts})
	if err != nil {
		t.Fatal(err)
	}
	r := httptest.NewRequest("POST", "/api/v1/acts", bytes.NewReader(body))
	r.Header.Set("Content-Type", "application/json")
	r.AddCookie(c)
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w
}

// journalOf returns the acts of a job as the server holds them.
func journalOf(t *testing.T, d *Door, job string) []store.Act {
	t.Helper()
	acts, err := d.Server.Store.Acts(t.Context(), job, 0)
	if err != nil {
		t.Fatal(err)
	}
	return acts
}

func fact(id, who, when, path, value string) store.Act {
	return store.Act{ID: id, Job: "barn", What: path + ": " + value, Who: who, When: when, Entries: []job.Entry{{Path: path, Value: value}}}.Stamped()
}

// TestNobodySignsAsAnother: an electrician signed in sends what names the
// supervisor, as the act, as one entry of it, signed by a key of their own, or
// signed by the supervisor and changed. None of it is the supervisor's.
func TestNobodySignsAsAnother(t *testing.T) {
	h, d := guardedServer(t)
	ann, sue := in(t, h, "Ann", annsPassword), in(t, h, "Sue", "correct horse Sue")
	_, annsKey, _ := ed25519.GenerateKey(rand.Reader)
	_, suesKey, _ := ed25519.GenerateKey(rand.Reader)
	for c, key := range map[*http.Cookie]ed25519.PrivateKey{ann: annsKey, sue: suesKey} {
		body, _ := json.Marshal(map[string]string{"key": hex.EncodeToString(key.Public().(ed25519.PublicKey))})
		r := httptest.NewRequest("POST", "/api/v1/me/key", bytes.NewReader(body))
		r.AddCookie(c)
		w := httptest.NewRecorder()
		if h.ServeHTTP(w, r); w.Code != http.StatusOK {
			t.Fatalf("a key is answered %d: %s", w.Code, w.Body)
		}
	}
	const when = "2026-11-25T08:00:00Z"
	entry := fact("a2", "Ann", when, "supply/Ze", "0.18 Ω (measured)")
	entry.Entries[0].Who = "Sue"
	changed := fact("a4", "Sue", when, "supply/earthing", "TN-S").Signed(suesKey)
	changed.Entries[0].Value = "TT"
	replayed := fact("a5", "Sue", when, "supply/looped", "no").Signed(suesKey)
	replayed.Job, replayed.ID = "another", "a6"
	for _, a := range []store.Act{fact("a1", "Sue", when, "job", "Barn"), entry, fact("a3", "Sue", when, "stage", "survey").Signed(annsKey), changed, replayed} {
		if w := sends(t, h, ann, a); w.Code != http.StatusOK {
			t.Fatalf("%s is answered %d: %s", a.ID, w.Code, w.Body)
		}
	}
	for _, a := range append(journalOf(t, d, "barn"), journalOf(t, d, "another")...) {
		if a.Who != "Ann" || a.Entries[0].Who != "Ann (naming Sue)" || a.Arrived == "" {
			t.Errorf("act %s is by %q, its entry by %q, arrived %q; want Ann, who names Sue", a.ID, a.Who, a.Entries[0].Who, a.Arrived)
		}
	}
	// What Sue's device signed is hers, whoever's session brings it; and once her
	// account is entered anew that key signs for nobody.
	sends(t, h, ann, fact("s1", "Sue", when, "site/address", "Mill Lane").Signed(suesKey))
	as(h, sue, "POST", "/people", url.Values{"name": {"Sue"}, "role": {"supervisor"}, "password": {"set anew by herself"}})
	sends(t, h, ann, fact("s2", "Sue", when, "site/address", "Mill Road").Signed(suesKey))
	acts := journalOf(t, d, "barn")
	if a := acts[len(acts)-2]; a.Who != "Sue" || a.Entries[0].Who != "Sue" || a.Brought != "Ann" || !a.SignedRight() {
		t.Errorf("what Sue signed is by %q, %q, brought by %q", a.Who, a.Entries[0].Who, a.Brought)
	}
	if a := acts[len(acts)-1]; a.Who != "Ann" {
		t.Errorf("signed by a key that was taken away it is by %q", a.Who)
	}
}

// TestAJobFileSpeaksForWhoBringsIt: a file names the supervisor as who measured.
func TestAJobFileSpeaksForWhoBringsIt(t *testing.T) {
	h, d := guardedServer(t)
	ann := in(t, h, "Ann", annsPassword)
	text := "job: Barn\nsupply:\n  Ze: {value: 0.18 Ω, known by: measured, who: Sue, when: 2026-11-20}\n"
	var body bytes.Buffer
	form := multipart.NewWriter(&body)
	part, err := form.CreateFormFile("file", "barn.yaml")
	if err != nil {
		t.Fatal(err)
	}
	part.Write([]byte(text))
	form.Close()
	for name, r := range map[string]*http.Request{"page": httptest.NewRequest("POST", "/jobs/bring", &body), "program": httptest.NewRequest("POST", "/api/v1/jobs", strings.NewReader(text))} {
		r.Header.Set("Content-Type", map[string]string{"page": form.FormDataContentType(), "program": "application/yaml"}[name])
		r.AddCookie(ann)
		w := httptest.NewRecorder()
		if h.ServeHTTP(w, r); w.Code != http.StatusSeeOther && w.Code != http.StatusCreated {
			t.Fatalf("%s: %d %s", name, w.Code, w.Body)
		}
	}
	jobs, _ := d.Server.Store.Jobs(t.Context())
	if len(jobs) != 2 {
		t.Fatalf("%d jobs, want 2", len(jobs))
	}
	for _, j := range jobs {
		now := store.Record(journalOf(t, d, j.ID)).Now("supply/Ze")
		if now.Who != "Ann (naming Sue)" || now.When != "2026-11-20" {
			t.Errorf("Ze was found by %q on %q; want Ann, who names Sue, on the day the file says", now.Who, now.When)
		}
	}
}

// TestARenameCarriesWhoFoundIt: a rename made away says again what others said,
// and stays theirs only where it says the same.
func TestARenameCarriesWhoFoundIt(t *testing.T) {
	h, d := guardedServer(t)
	ann, sue := in(t, h, "Ann", annsPassword), in(t, h, "Sue", "correct horse Sue")
	const when = "2026-11-25T08:00:00Z"
	sends(t, h, sue, fact("s0", "Sue", when, "circuits/van", "1"), fact("s1", "Sue", when, "circuits/van/cable/csa", "6 mm²"))
	move := func(id, value string) store.Act {
		return store.Act{ID: id, Job: "barn", What: "renamed", Who: "Ann", When: "2026-11-25T09:00:00Z", Entries: []job.Entry{
			{Path: "circuits/van/cable/csa", Follows: "s1-1"}, {Path: "circuits/" + id + "/cable/csa", Value: value, Who: "Sue", When: when}}}.Stamped()
	}
	sends(t, h, ann, move("a1", "10 mm²"))
	sends(t, h, ann, store.Act{ID: "back", Job: "barn", What: "x", Who: "Ann", When: when, Entries: []job.Entry{{Path: "supply/looped", Value: "no", Who: "Sue"}}}.Stamped())
	acts := journalOf(t, d, "barn")
	if got := acts[2].Entries[1].Who; got != "Ann (naming Sue)" {
		t.Errorf("a changed value is said by %q", got)
	}
	h2, d2 := guardedServer(t)
	ann, sue = in(t, h2, "Ann", annsPassword), in(t, h2, "Sue", "correct horse Sue")
	sends(t, h2, sue, fact("s0", "Sue", when, "circuits/van", "1"), fact("s1", "Sue", when, "circuits/van/cable/csa", "6 mm²"))
	sends(t, h2, ann, move("a1", "6 mm²"))
	if acts := journalOf(t, d2, "barn"); acts[2].Entries[1].Who != "Sue" {
		t.Errorf("carried over word for word it is said by %q, want Sue", acts[2].Entries[1].Who)
	}
}

// TestAMarkIsNobodyElses: an entry under the mark of another's entry would be
// followed with it.
func TestAMarkIsNobodyElses(t *testing.T) {
	h, d := guardedServer(t)
	ann, sue := in(t, h, "Ann", annsPassword), in(t, h, "Sue", "correct horse Sue")
	sends(t, h, sue, fact("s1", "Sue", "2026-11-25T08:00:00Z", "supply/Ze", "0.18 Ω"))
	false1 := fact("a1", "Ann", "2026-11-25T08:10:00Z", "supply/Ze", "0.05 Ω")
	false1.Entries[0].ID = "s1-1"
	if w := sends(t, h, ann, false1); w.Code != http.StatusUnprocessableEntity {
		t.Errorf("it is answered %d", w.Code)
	}
	if acts := journalOf(t, d, "barn"); len(acts) != 1 {
		t.Errorf("%d acts", len(acts))
	}
}

// TestAClockThatRunsAheadOrdersNothing: a device three days ahead sends a value
// that follows nothing; later somebody enters another the same way. The clock
// that was ahead does not decide, and the history says that it was wrong.
func TestAClockThatRunsAheadOrdersNothing(t *testing.T) {
	h, d := guardedServer(t) // at 9 in the morning of 25 November
	ann, sue := in(t, h, "Ann", annsPassword), in(t, h, "Sue", "correct horse Sue")
	sends(t, h, ann, fact("a1", "Ann", "2026-11-28T09:00:00Z", "supply/Ze", "0.35 Ω"))
	sends(t, h, sue, fact("s1", "Sue", "2026-11-25T09:01:00Z", "supply/Ze", "0.18 Ω"))
	acts := journalOf(t, d, "barn")
	r := store.Record(acts)
	if now := r.Now("supply/Ze"); now.Value != "0.18 Ω" || r.Differ("supply/Ze") == nil {
		t.Errorf("%q counts, differing %v; want the later one, and a person to settle it", now.Value, r.Differ("supply/Ze"))
	}
	if acts[0].Ahead() == 0 || acts[1].Ahead() != 0 {
		t.Errorf("ahead by %v and %v", acts[0].Ahead(), acts[1].Ahead())
	}
	if page := as(h, ann, "GET", "/jobs/barn/history", nil).Body.String(); strings.Count(page, "clock was wrong") != 1 {
		t.Error("the history does not say which clock was wrong")
	}
}

// phone is a device's journal in memory.
type phone struct {
	*store.Memory
	sent  map[string]bool
	words map[string]string
}

func (p *phone) Waiting(ctx context.Context) (out []store.Act, err error) {
	acts, err := p.Acts(ctx, "barn", 0)
	for _, a := range acts {
		if a.Place = 0; !p.sent[a.ID] {
			out = append(out, a)
		}
	}
	return out, err
}

func (p *phone) Adopt(ctx context.Context, acts ...store.Act) error {
	for _, a := range acts {
		p.sent[a.ID] = true
	}
	_, err := p.Keep(ctx, acts...)
	return err
}
func (p *phone) HeldPhotos(context.Context) (map[string]store.Held, error) { return nil, nil }
func (p *phone) HoldPhoto(context.Context, string, []byte) error           { return nil }
func (p *phone) DropPhotos(context.Context, ...string) error               { return nil }
func (p *phone) Recall(_ context.Context, name string) (string, error)     { return p.words[name], nil }
func (p *phone) Forget(context.Context) error {
	p.Memory, p.sent, p.words = store.NewMemory(), map[string]bool{}, map[string]string{}
	return nil
}
func (p *phone) Remember(_ context.Context, name, word string) error {
	p.words[name] = word
	return nil
}

// session is a way to the server in somebody's session, or out of reach of it.
type session struct {
	h http.Handler
	c *http.Cookie
}

func (s *session) RoundTrip(r *http.Request) (*http.Response, error) {
	if s.c == nil {
		return nil, errors.New("no signal")
	}
	inward := httptest.NewRequest(r.Method, r.URL.RequestURI(), r.Body)
	inward.Header = r.Header
	inward.AddCookie(s.c)
	w := httptest.NewRecorder()
	s.h.ServeHTTP(w, inward)
	return w.Result(), nil
}

// TestTwoPeopleOnOnePhone: Ann works without signal on a phone she signed in
// on; Sue signs in on it and sends what waits. What Ann entered stays Ann's, and
// nobody takes another name there.
func TestTwoPeopleOnOnePhone(t *testing.T) {
	h, d := guardedServer(t)
	ann, sue := in(t, h, "Ann", annsPassword), in(t, h, "Sue", "correct horse Sue")
	sends(t, h, ann, fact("a0", "Ann", "2026-11-25T08:00:00Z", "job", "Barn"))
	p := &phone{store.NewMemory(), map[string]bool{}, map[string]string{}}
	device, way := web.OnDevice(p, "http://server", slog.New(slog.DiscardHandler)), &session{h, ann}
	device.Sender.Client = &http.Client{Transport: way}
	if _, err := device.Sender.Send(t.Context(), "barn"); err != nil {
		t.Fatal(err)
	}
	way.c = nil
	pages := device.Server.Handler()
	enter := func(path, value string) {
		t.Helper()
		if w := as(pages, nil, "POST", "/jobs/barn/fact", url.Values{"act": {path}, "path": {path}, "value": {value}}); w.Code != http.StatusSeeOther {
			t.Fatalf("%d %s", w.Code, w.Body)
		}
	}
	enter("supply/looped", "no")
	if w := as(pages, nil, "POST", "/me", url.Values{"name": {"Sue"}}); w.Code != http.StatusForbidden {
		t.Errorf("another name is taken by hand: %d", w.Code)
	}
	way.c = sue
	if _, err := device.Sender.Send(t.Context()); err != nil {
		t.Fatal(err)
	}
	enter("stage", "survey")
	if _, err := device.Sender.Send(t.Context()); err != nil {
		t.Fatal(err)
	}
	acts := journalOf(t, d, "barn")
	if len(acts) != 3 || acts[1].Who != "Ann" || acts[2].Who != "Sue" {
		t.Fatalf("%d acts: %+v", len(acts), acts)
	}
	for _, a := range acts[1:] {
		if !a.SignedRight() || a.Entries[0].Who != a.Who {
			t.Errorf("the act of %s is not signed by their device, or its entry is by %q", a.Who, a.Entries[0].Who)
		}
	}
}
