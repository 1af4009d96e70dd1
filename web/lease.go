package web

// How long a device may be used without the server, and its lock. What the firm
// sets comes with each contact; without one it runs out. Nothing that waits is
// lost by that: it stays on the device, and is sent when the server is reached.
//
// Who holds the device unlocked and can use the tools of a developer is not kept
// out by either: both guard against who picks it up.

import (
	"context"
	"crypto"
	"crypto/ecdsa"
	"crypto/ed25519"
	"crypto/rand"
	"crypto/rsa"
	"crypto/sha256"
	"crypto/x509"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"errors"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"
)

// Words that a device remembers for it.
const (
	deviceWord = "device"    // by what the server knows it
	seenWord   = "seen"      // when the server was last reached, signed in
	latestWord = "latest"    // the latest time its clock ever showed
	awayWord   = "away for"  // how long it may be used without, in seconds
	lockWord   = "lock"      // the passkey that opens it
	askedWord  = "lock asks" // what was asked to be signed
	openWord   = "open"      // when it was last opened, or used since
)

// deviceBytes is how long a device's name for itself is.
const deviceBytes = 16

// IsDevice reports that a text is what a device names itself.
func IsDevice(text string) bool {
	id, err := hex.DecodeString(text)
	return err == nil && len(id) == deviceBytes && text == strings.ToLower(text)
}

// InDays is a time a firm sets, in words; nothing for no end.
func InDays(d time.Duration) string {
	switch {
	case d <= 0:
		return ""
	case d%(24*time.Hour) == 0:
		return counted(int(d/(24*time.Hour)), "day", "days")
	}
	return d.String()
}

// before lets nobody to the pages of the device but while the server may be left
// that long and the device is open.
func (d *Device) before(pages http.Handler) http.Handler {
	mux := http.NewServeMux()
	mux.Handle("POST /device/lock/ask", d.Server.Data(d.askLock))
	mux.Handle("POST /device/lock/set", d.Server.Data(d.setLock))
	mux.Handle("POST /device/lock/open", d.Server.Data(d.openLock))
	mux.Handle("POST /device/lock/off", d.Server.Data(d.takeLockOff))
	mux.HandleFunc("/", func(w http.ResponseWriter, r *http.Request) {
		if err := d.shut(r); err != nil {
			d.Server.Page(func(http.ResponseWriter, *http.Request) error { return err }).ServeHTTP(w, r)
			return
		}
		pages.ServeHTTP(w, r)
	})
	return mux
}

// shut says why the device answers nothing now. What a form sent is handed back,
// to be sent again.
func (d *Device) shut(r *http.Request) error {
	ended, err := d.ended(r.Context())
	if err == nil && ended == nil {
		var open bool
		if open, err = d.open(r.Context()); err == nil && !open {
			//lint:ignore ST1005 it is said on a page, as it stands
			ended = &closed{errors.New("This device is locked: open it with its own lock, by finger, face or PIN. What waits on it stays."), true, nil}
		}
	}
	if err != nil || ended == nil {
		return err
	}
	if r.Method == http.MethodPost && r.ParseMultipartForm(mostInMemory) != nil {
		r.ParseForm() // one that is no form has nothing typed in it
	}
	if r.MultipartForm == nil {
		ended.form = withoutSecrets(r.PostForm)
	}
	return ended
}

// closed is why a device answers nothing; locked where its lock opens it.
type closed struct {
	error
	locked bool
	form   url.Values
}

func (c *closed) Unwrap() error { return c.error }

// lease is when the server was last reached, and for how long the device may be
// used from then on, where the firm has set an end.
func (d *Device) lease(ctx context.Context) (seen time.Time, allowed time.Duration, set bool, err error) {
	words, err := d.recall(ctx, awayWord, seenWord)
	if err != nil {
		return seen, 0, false, err
	}
	most, err := strconv.ParseInt(words[0], 10, 64)
	if err != nil || most <= 0 {
		return seen, 0, false, nil
	}
	if seen, err = time.Parse(time.RFC3339, words[1]); err != nil {
		return seen, 0, false, nil
	}
	return seen, time.Duration(most) * time.Second, true, nil
}

// until says until when the device may be used without the server.
func (d *Device) until(ctx context.Context) (time.Time, bool) {
	seen, allowed, set, err := d.lease(ctx)
	return seen.Add(allowed), set && err == nil
}

// ended says that the device was without the server for longer than the firm
// allows. A clock that is set back gains nothing: the latest time it ever showed
// counts.
func (d *Device) ended(ctx context.Context) (*closed, error) {
	seen, allowed, set, err := d.lease(ctx)
	if err != nil || !set {
		return nil, err
	}
	latest, err := d.journal.Recall(ctx, latestWord)
	if err != nil {
		return nil, err
	}
	now := d.Server.Now().UTC()
	if was, err := time.Parse(time.RFC3339, latest); err == nil && was.After(now) {
		now = was
	} else if err := d.journal.Remember(ctx, latestWord, now.Format(time.RFC3339)); err != nil {
		return nil, err
	}
	if now.Sub(seen) <= allowed {
		return nil, nil
	}
	return &closed{Refuse(http.StatusForbidden, "This device has not reached the server since %s, and the firm allows %s without it. "+
		"It answers again once the server is reached and you are signed in.\n%s on it stays, and is sent then: nothing is lost.", clock(Stamp(seen)), InDays(allowed),
		capital(counted(d.Server.Away(), "entry that waits", "entries that wait"))), false, nil}, nil
}

// staysOpen is how long the device stays open while nobody uses it.
const staysOpen = 10 * time.Minute

// open reports that the device has no lock, or was opened or used a moment ago.
func (d *Device) open(ctx context.Context) (bool, error) {
	words, err := d.recall(ctx, lockWord, openWord)
	if err != nil || words[0] == "" {
		return err == nil, err
	}
	at, err := time.Parse(time.RFC3339, words[1])
	now := d.Server.Now()
	if err != nil || now.Sub(at).Abs() > staysOpen {
		return false, nil
	}
	return true, d.opened(ctx)
}

func (d *Device) opened(ctx context.Context) error {
	return d.journal.Remember(ctx, openWord, d.Server.Now().UTC().Format(time.RFC3339))
}

func (d *Device) recall(ctx context.Context, names ...string) ([]string, error) {
	out := make([]string, len(names))
	for i, name := range names {
		var err error
		if out[i], err = d.journal.Recall(ctx, name); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// lock is the passkey of a device's own lock: by what the browser knows it, and
// the public half of its key.
type lock struct {
	ID   string `json:"id"`
	Key  []byte `json:"key"`  // SubjectPublicKeyInfo, DER
	Site string `json:"site"` // at which it was made
}

// signed is what the browser answers to a passkey's request, base64url.
type signed struct{ Data, Authenticator, Signature string }

func (d *Device) locked(ctx context.Context) (l lock, there bool, err error) {
	text, err := d.journal.Recall(ctx, lockWord)
	if err != nil || text == "" {
		return l, false, err
	}
	return l, true, json.Unmarshal([]byte(text), &l)
}

// askLock hands out what is to be signed, once.
func (d *Device) askLock(w http.ResponseWriter, r *http.Request) error {
	l, there, err := d.locked(r.Context())
	if err != nil {
		return err
	}
	ask := make([]byte, 32)
	rand.Read(ask) // never fails
	text := base64.RawURLEncoding.EncodeToString(ask)
	if err := d.journal.Remember(r.Context(), askedWord, text); err != nil {
		return err
	}
	return Give(w, http.StatusOK, map[string]any{"challenge": text, "id": l.ID, "locked": there})
}

// setLock keeps a passkey that was made on this device. One that is there stays:
// it is taken off first, by who can open it.
func (d *Device) setLock(w http.ResponseWriter, r *http.Request) error {
	if _, there, err := d.locked(r.Context()); err != nil || there {
		return errors.Join(err, Refuse(http.StatusConflict, "This device has a lock already: take it off first."))
	}
	var in struct {
		ID, Key string
		signed
	}
	if err := take(r, &in); err != nil {
		return err
	}
	key, err := base64.RawURLEncoding.DecodeString(in.Key)
	l := lock{in.ID, key, "http://" + r.Host}
	if r.URL.Scheme != "" {
		l.Site = r.URL.Scheme + "://" + r.Host
	}
	if _, parse := x509.ParsePKIXPublicKey(key); err != nil || parse != nil || in.ID == "" {
		return Refuse(http.StatusUnprocessableEntity, "This browser gave no key that can be held against later. The lock was not set.")
	}
	if err := d.holds(r.Context(), l, in.signed); err != nil {
		return err
	}
	text, err := json.Marshal(l)
	if err == nil {
		err = d.journal.Remember(r.Context(), lockWord, string(text))
	}
	if err == nil {
		err = d.opened(r.Context())
	}
	if err != nil {
		return err
	}
	return Give(w, http.StatusOK, map[string]bool{"locked": true})
}

func (d *Device) openLock(w http.ResponseWriter, r *http.Request) error {
	if err := d.unlock(r); err != nil {
		return err
	}
	if err := d.opened(r.Context()); err != nil {
		return err
	}
	return Give(w, http.StatusOK, map[string]bool{"open": true})
}

func (d *Device) takeLockOff(w http.ResponseWriter, r *http.Request) error {
	if err := d.unlock(r); err != nil {
		return err
	}
	if err := d.journal.Remember(r.Context(), lockWord, ""); err != nil {
		return err
	}
	return Give(w, http.StatusOK, map[string]bool{"locked": false})
}

func (d *Device) unlock(r *http.Request) error {
	l, there, err := d.locked(r.Context())
	if err != nil || !there {
		return err
	}
	var in signed
	if err := take(r, &in); err != nil {
		return err
	}
	return d.holds(r.Context(), l, in)
}

// holds reports that the lock's own key signed what was asked last, here, and
// that the person was verified by the device.
//
//	source  W3C Web Authentication, level 2: 6.1 (authenticator data: bit 0 of the
//	        flags says present, bit 2 verified) and 7.2 (verifying an assertion)
func (d *Device) holds(ctx context.Context, l lock, in signed) error {
	notOpen := func(why string) error {
		d.Server.Log.Info("the device's lock was not opened", "why", why)
		return Refuse(http.StatusForbidden, "That did not open the lock. Try again.")
	}
	asked, err := d.journal.Recall(ctx, askedWord)
	if err == nil {
		err = d.journal.Remember(ctx, askedWord, "") // once
	}
	if err != nil {
		return err
	}
	var parts [3][]byte
	for i, text := range []string{in.Data, in.Authenticator, in.Signature} {
		if parts[i], err = base64.RawURLEncoding.DecodeString(text); err != nil {
			return notOpen("it is not base64url")
		}
	}
	data, authenticator, signature := parts[0], parts[1], parts[2]
	var client struct{ Type, Challenge, Origin string }
	if err := json.Unmarshal(data, &client); err != nil || client.Type != "webauthn.get" || asked == "" || client.Challenge != asked || client.Origin != l.Site {
		return notOpen("something else was signed, or for another place")
	}
	site, err := url.Parse(l.Site)
	if err != nil {
		return err
	}
	const present, verified = 1 << 0, 1 << 2
	of := sha256.Sum256([]byte(site.Hostname()))
	if len(authenticator) < 37 || string(authenticator[:32]) != string(of[:]) || authenticator[32]&present == 0 || authenticator[32]&verified == 0 {
		return notOpen("nobody was verified, or for another place")
	}
	key, err := x509.ParsePKIXPublicKey(l.Key)
	if err != nil {
		return notOpen(err.Error())
	}
	sum := sha256.Sum256(data)
	message := append(append([]byte{}, authenticator...), sum[:]...)
	digest := sha256.Sum256(message)
	good := false
	switch key := key.(type) {
	case *ecdsa.PublicKey:
		good = ecdsa.VerifyASN1(key, digest[:], signature)
	case ed25519.PublicKey:
		good = ed25519.Verify(key, message, signature)
	case *rsa.PublicKey:
		good = rsa.VerifyPKCS1v15(key, crypto.SHA256, digest[:], signature) == nil
	}
	if !good {
		return notOpen("another key signed it")
	}
	return nil
}

// madeDevice returns by what this device names itself, and makes it where it has
// no name yet.
func madeDevice(ctx context.Context, s *Sender) (string, error) {
	id, err := s.Device.Recall(ctx, deviceWord)
	if err != nil || id != "" {
		return id, err
	}
	name := make([]byte, deviceBytes)
	rand.Read(name) // never fails
	id = hex.EncodeToString(name)
	return id, s.Device.Remember(ctx, deviceWord, id)
}

// ErrRevoked says that the firm revoked the device. What was on it is gone.
var ErrRevoked = &Answered{http.StatusGone}

// asksRevoked clears the device where the firm revoked it. It asks before
// anything is sent: a device that is signed out learns it too.
func (s *Sender) asksRevoked(ctx context.Context) error {
	id, err := s.Device.Recall(ctx, deviceWord)
	if err != nil || id == "" {
		return err
	}
	body, err := json.Marshal(map[string]string{"device": id})
	if err != nil {
		return err
	}
	var is struct{ Revoked bool }
	err = s.call(ctx, "POST", "/sign-in/device", body, func(text []byte) error { return json.Unmarshal(text, &is) })
	var answered *Answered
	var noJSON *json.SyntaxError
	switch {
	case errors.As(err, &answered), errors.Is(err, errRefused), errors.As(err, &noJSON): // a server without a door, or a page that stands before it
		return nil
	case err != nil || !is.Revoked:
		return err
	}
	return errors.Join(s.Device.Forget(ctx), ErrRevoked)
}
