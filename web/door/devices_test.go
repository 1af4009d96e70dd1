package door

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"crypto/x509"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"html"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"chargewright/store"
	"chargewright/web"
)

// carried is a phone of Ann's that holds a job for work without the server.
type carried struct {
	*web.Device
	pages http.Handler
	held  *phone
	way   *session
	clock time.Time
}

func carriedBy(t *testing.T, h http.Handler, c *http.Cookie) *carried {
	t.Helper()
	p := &phone{store.NewMemory(), map[string]bool{}, map[string]string{}}
	out := &carried{Device: web.OnDevice(p, "http://server", slog.New(slog.DiscardHandler)), held: p, way: &session{h, c},
		clock: time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC)}
	out.Server.Now = func() time.Time { return out.clock }
	out.Sender.Client = &http.Client{Transport: out.way}
	out.pages = out.Server.Handler()
	if _, err := out.Sender.Send(t.Context(), "barn"); err != nil {
		t.Fatal(err)
	}
	return out
}

func (c *carried) enter(path, value string) *httptest.ResponseRecorder {
	return as(c.pages, nil, "POST", "/jobs/barn/fact", url.Values{"act": {path + value}, "path": {path}, "value": {value}})
}

// TestALostDeviceClearsItself: whoever finds Ann's phone has it until the firm
// revokes it; then nothing on it is signed in, what it signs is not Ann's, and
// when it next reaches the server it clears itself.
func TestALostDeviceClearsItself(t *testing.T) {
	h, d := guardedServer(t)
	ann, sue := in(t, h, "Ann", annsPassword), in(t, h, "Sue", "correct horse Sue")
	sends(t, h, ann, fact("a0", "Ann", "2026-11-25T08:00:00Z", "job", "Barn"))
	c := carriedBy(t, h, ann)
	if w := c.enter("supply/looped", "no"); w.Code != http.StatusSeeOther {
		t.Fatalf("%d %s", w.Code, w.Body)
	}
	waiting, err := c.held.Waiting(t.Context())
	if err != nil || len(waiting) != 1 || !waiting[0].SignedRight() {
		t.Fatalf("%v, %v", waiting, err)
	}
	devices, err := d.Register.Devices(t.Context())
	if err != nil || len(devices) != 1 || devices[0].Person != "Ann" {
		t.Fatalf("the firm knows %+v, %v", devices, err)
	}
	id := devices[0].ID
	page := as(h, sue, "GET", "/people", nil).Body.String()
	if !strings.Contains(page, id) || !strings.Contains(page, "Revoke") {
		t.Error("the supervisor does not see the device")
	}
	if w := as(h, ann, "POST", "/people/device/revoke", url.Values{"device": {id}}); w.Code != http.StatusForbidden {
		t.Errorf("an electrician revokes a device: %d", w.Code)
	}
	if w := as(h, sue, "POST", "/people/device/revoke", url.Values{"device": {strings.Repeat("0", 32)}}); w.Code != http.StatusNotFound {
		t.Errorf("a device that nobody has is revoked: %d", w.Code)
	}
	if w := as(h, sue, "POST", "/people/device/revoke", url.Values{"device": {id}}); w.Code != http.StatusSeeOther {
		t.Fatalf("%d %s", w.Code, w.Body)
	}
	if w := as(h, ann, "GET", "/", nil); w.Code != http.StatusSeeOther || w.Header().Get("Location") != "/sign-in" {
		t.Errorf("the session on it goes on: %d", w.Code)
	}
	sends(t, h, sue, waiting...)
	if acts := journalOf(t, d, "barn"); len(acts) != 2 || acts[1].Who != "Sue" {
		t.Errorf("what a revoked device signed is %+v", acts)
	}
	if _, err := c.Sender.Send(t.Context()); !errors.Is(err, web.ErrRevoked) {
		t.Errorf("the device is told %v", err)
	}
	jobs, err := c.held.Jobs(t.Context())
	if err != nil || len(jobs) > 0 || len(c.held.words) > 0 {
		t.Errorf("left on the device: %v, %v, %v", jobs, c.held.words, err)
	}
	if w := as(c.pages, nil, "GET", "/jobs/barn", nil); w.Code != http.StatusNotFound {
		t.Errorf("the job is still shown: %d", w.Code)
	}
	list := as(h, sue, "GET", "/audit", nil).Body.String()
	if !strings.Contains(list, "device of Ann revoked") {
		t.Error("the list at the door does not say so")
	}
	// Found again and signed in, it is another device.
	c.way.c = in(t, h, "Ann", annsPassword)
	if _, err := c.Sender.Send(t.Context(), "barn"); err != nil {
		t.Errorf("after signing in anew: %v", err)
	}
	// An account that is taken away takes its devices with it.
	as(h, sue, "POST", "/people/remove", url.Values{"name": {"Ann"}})
	if _, err := c.Sender.Send(t.Context()); !errors.Is(err, web.ErrRevoked) {
		t.Errorf("the device of an account that was taken away is told %v", err)
	}
}

// TestAStrangerRevokesNothing: what a device asks before it is signed in says
// nothing of others, and changes nothing.
func TestAStrangerRevokesNothing(t *testing.T) {
	h, d := guardedServer(t)
	ask := func(body string) *httptest.ResponseRecorder {
		w := httptest.NewRecorder()
		h.ServeHTTP(w, httptest.NewRequest("POST", "/sign-in/device", strings.NewReader(body)))
		return w
	}
	for body, want := range map[string]int{`{"device":"` + strings.Repeat("0", 32) + `"}`: 200, `{}`: 422, `{"device":"x"}`: 422, ``: 422,
		`{"device":"` + strings.Repeat("0", 5000) + `"}`: 422} {
		w := ask(body)
		if w.Code != want || want == 200 && !strings.Contains(w.Body.String(), `"revoked":false`) || w.Header().Get("Clear-Site-Data") != "" {
			t.Errorf("%.60s: %d %s", body, w.Code, w.Body)
		}
	}
	if devices, _ := d.Register.Devices(t.Context()); len(devices) != 0 {
		t.Error("a stranger's device is listed")
	}
	if w := as(h, nil, "POST", "/api/v1/me/device", nil); w.Code != http.StatusUnauthorized {
		t.Errorf("a stranger names a device: %d", w.Code)
	}
}

// TestOfflineUseEnds: the firm lets a device be without the server for three
// days. Then it refuses and says why, also under a clock that is set back; what
// waits and what was typed stays, and is sent when the server is reached.
func TestOfflineUseEnds(t *testing.T) {
	h, d := guardedServer(t)
	d.Server.AwayFor = 72 * time.Hour
	ann := in(t, h, "Ann", annsPassword)
	sends(t, h, ann, fact("a0", "Ann", "2026-11-25T08:00:00Z", "job", "Barn"))
	c := carriedBy(t, h, ann)
	from := c.clock
	c.clock = from.Add(71 * time.Hour)
	if w := c.enter("supply/looped", "no"); w.Code != http.StatusSeeOther {
		t.Fatalf("within the time: %d %s", w.Code, w.Body)
	}
	if w := as(c.pages, nil, "GET", "/away", nil); !strings.Contains(w.Body.String(), "2026-11-28 09:00") {
		t.Error("until when it may be used is not said")
	}
	for _, at := range []time.Duration{73 * time.Hour, 20 * 24 * time.Hour, -10 * 24 * time.Hour} { // the last: a clock set back
		c.clock = from.Add(at)
		w := as(c.pages, nil, "GET", "/jobs/barn", nil)
		says := html.UnescapeString(w.Body.String())
		if w.Code != http.StatusForbidden || !strings.Contains(says, "allows 3 days without it") || !strings.Contains(says, "1 entry that waits") || strings.Contains(says, "Barn") {
			t.Errorf("%v on: %d %s", at, w.Code, says)
		}
		w = c.enter("supply/earthing", "TN-S")
		if says := w.Body.String(); w.Code != http.StatusForbidden || !strings.Contains(says, "This was not entered") || !strings.Contains(says, `value="TN-S"`) ||
			!strings.Contains(says, "Send it again") {
			t.Errorf("%v on, what was typed is answered %d %s", at, w.Code, says)
		}
	}
	if waiting, err := c.held.Waiting(t.Context()); err != nil || len(waiting) != 1 {
		t.Fatalf("%d wait, %v", len(waiting), err)
	}
	// Reached by who is not signed in, it does not open; nothing is lost by that.
	c.way.c = nil
	c.Sender.Send(t.Context())
	if w := as(c.pages, nil, "GET", "/jobs/barn", nil); w.Code != http.StatusForbidden {
		t.Errorf("reached without a session it answers %d", w.Code)
	}
	c.clock = from.Add(100 * time.Hour)
	c.way.c = in(t, h, "Ann", annsPassword)
	if left, err := c.Sender.Send(t.Context()); err != nil || left != 0 {
		t.Fatalf("%d are left, %v", left, err)
	}
	if acts := journalOf(t, d, "barn"); len(acts) != 2 || acts[1].Who != "Ann" {
		t.Errorf("on the server: %+v", acts)
	}
	if w := as(c.pages, nil, "GET", "/jobs/barn", nil); w.Code != http.StatusOK {
		t.Errorf("after the server was reached it answers %d", w.Code)
	}
	// A firm that sets no end has none.
	d.Server.AwayFor = 0
	if _, err := c.Sender.Send(t.Context()); err != nil {
		t.Fatal(err)
	}
	c.clock = from.Add(1000 * time.Hour)
	if w := as(c.pages, nil, "GET", "/jobs/barn", nil); w.Code != http.StatusOK {
		t.Errorf("without an end it answers %d", w.Code)
	}
}

// finger is what stands behind a device's lock: a key, and whether it verified
// who touched it.
type finger struct {
	key      *ecdsa.PrivateKey
	verified bool
	site     string
}

// touch signs what the device asks (W3C Web Authentication, level 2, 6.3.3).
func (f finger) touch(t *testing.T, challenge string) map[string]any {
	t.Helper()
	data, err := json.Marshal(map[string]any{"type": "webauthn.get", "challenge": challenge, "origin": f.site, "crossOrigin": false})
	if err != nil {
		t.Fatal(err)
	}
	at, err := url.Parse(f.site)
	if err != nil {
		t.Fatal(err)
	}
	of := sha256.Sum256([]byte(at.Hostname()))
	flags := byte(1)
	if f.verified {
		flags |= 4
	}
	authenticator := append(append(of[:], flags), 0, 0, 0, 1)
	sum := sha256.Sum256(data)
	digest := sha256.Sum256(append(append([]byte{}, authenticator...), sum[:]...))
	sign, err := ecdsa.SignASN1(rand.Reader, f.key, digest[:])
	if err != nil {
		t.Fatal(err)
	}
	b64 := base64.RawURLEncoding.EncodeToString
	return map[string]any{"Data": b64(data), "Authenticator": b64(authenticator), "Signature": b64(sign)}
}

// TestTheDevicesOwnLock: with the lock on, pages without the server open to who
// is verified by the device, and to nobody else.
func TestTheDevicesOwnLock(t *testing.T) {
	h, _ := guardedServer(t)
	ann := in(t, h, "Ann", annsPassword)
	sends(t, h, ann, fact("a0", "Ann", "2026-11-25T08:00:00Z", "job", "Barn"))
	c := carriedBy(t, h, ann)
	tell := func(what string, body map[string]any) (int, map[string]any) {
		text, err := json.Marshal(body)
		if err != nil {
			t.Fatal(err)
		}
		w := httptest.NewRecorder()
		c.pages.ServeHTTP(w, httptest.NewRequest("POST", "http://device.example/device/lock/"+what, strings.NewReader(string(text))))
		var out map[string]any
		json.Unmarshal(w.Body.Bytes(), &out)
		return w.Code, out
	}
	asked := func() string {
		_, out := tell("ask", nil)
		return fmt.Sprint(out["challenge"])
	}
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	other, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	public, err := x509.MarshalPKIXPublicKey(&key.PublicKey)
	if err != nil {
		t.Fatal(err)
	}
	mine := finger{key, true, "http://device.example"}
	make := func(f finger) (int, map[string]any) {
		body := f.touch(t, asked())
		body["ID"], body["Key"] = "AAAA", base64.RawURLEncoding.EncodeToString(public)
		return tell("set", body)
	}
	if status, _ := make(finger{other, true, mine.site}); status != http.StatusForbidden {
		t.Errorf("a lock is set that its own key did not sign: %d", status)
	}
	if status, out := make(mine); status != http.StatusOK {
		t.Fatalf("%d %v", status, out)
	}
	if status, _ := make(finger{other, true, mine.site}); status != http.StatusConflict {
		t.Errorf("a second lock takes the place of the first: %d", status)
	}
	shown := func() int { return as(c.pages, nil, "GET", "/jobs/barn", nil).Code }
	if shown() != http.StatusOK {
		t.Error("who set the lock must open it at once")
	}
	c.clock = c.clock.Add(9 * time.Minute)
	if shown() != http.StatusOK {
		t.Error("it is shut while it is used")
	}
	shut := func() { c.clock = c.clock.Add(11 * time.Minute) }
	shut()
	w := as(c.pages, nil, "GET", "/jobs/barn", nil)
	if w.Code != http.StatusForbidden || strings.Contains(w.Body.String(), "Barn") || !strings.Contains(w.Body.String(), "data-lock") {
		t.Errorf("left alone it shows %d %s", w.Code, w.Body)
	}
	if w := c.enter("supply/looped", "no"); w.Code != http.StatusForbidden || !strings.Contains(w.Body.String(), `value="no"`) {
		t.Errorf("what was typed is answered %d", w.Code)
	}
	old := asked()
	first := mine.touch(t, old)
	asked()
	for what, body := range map[string]map[string]any{
		"another key": finger{other, true, mine.site}.touch(t, asked()), "nobody verified": finger{key, false, mine.site}.touch(t, asked()),
		"another place": finger{key, true, "http://elsewhere.example"}.touch(t, asked()), "an older question": first, "nothing": {}, "no base64": {"Data": "§"},
	} {
		if what != "an older question" && what != "nothing" && what != "no base64" {
			asked() // each is of its own question, asked last: signed anew below
		}
		if status, _ := tell("open", body); status < 400 {
			t.Errorf("%s opens it: %d", what, status)
		}
		if status, _ := tell("off", body); status < 400 {
			t.Errorf("%s takes it off: %d", what, status)
		}
	}
	for what, f := range map[string]finger{"another key": {other, true, mine.site}, "nobody verified": {key, false, mine.site}, "another place": {key, true, "http://elsewhere.example"}} {
		if status, _ := tell("open", f.touch(t, asked())); status != http.StatusForbidden {
			t.Errorf("%s opens it: %d", what, status)
		}
	}
	if shown() != http.StatusForbidden {
		t.Fatal("it opened")
	}
	body := mine.touch(t, asked())
	if status, _ := tell("open", body); status != http.StatusOK || shown() != http.StatusOK {
		t.Errorf("its own key does not open it: %d", status)
	}
	shut()
	if status, _ := tell("open", body); status != http.StatusForbidden {
		t.Errorf("what was signed once opens it twice: %d", status)
	}
	if status, _ := tell("off", mine.touch(t, asked())); status != http.StatusOK || shown() != http.StatusOK {
		t.Errorf("it is not taken off: %d", status)
	}
}
