// Package door says who may come in from a network: accounts with a role,
// sessions, passwords and passkeys, and a list of what happened at the door. It
// stands before the pages of package web and shows its own in their frame. What
// each role may do is asked of web.Person.
//
// Its parts: the door, sign-in, a person's own account, passkeys, passwords, the
// counter of what comes too often.
package door

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"embed"
	"encoding/base64"
	"encoding/hex"
	"errors"
	"fmt"
	"net"
	"net/http"
	"strings"
	"time"

	"chargewright/store"
	"chargewright/web"
)

//go:embed *.html
var files embed.FS

var pages = web.Lay(files)

// Register is where accounts, sessions and the audit list are kept.
type Register interface {
	People(context.Context) ([]store.Person, error)
	PutPerson(context.Context, store.Person) error
	PutPassword(ctx context.Context, person, password, but string) error
	RemovePerson(ctx context.Context, name string, now time.Time) error
	BeginSession(context.Context, store.Session) error
	SessionOf(ctx context.Context, hash string, now time.Time, idle time.Duration) (store.Person, error)
	Sessions(ctx context.Context, person string, now time.Time) ([]store.Session, error)
	EndSession(ctx context.Context, person, hash string) error
	EndOtherSessions(ctx context.Context, person, but string) error
	Passkeys(ctx context.Context, person string) ([]store.Passkey, error)
	AddPasskey(context.Context, store.Passkey) error
	UsePasskey(context.Context, store.Passkey) error
	RemovePasskey(ctx context.Context, person, id string) error
	AddDeviceKey(ctx context.Context, key, person, whence string, now time.Time) error
	SignerOf(ctx context.Context, key string) (person string, err error)
	SeeDevice(ctx context.Context, k store.Keeping, token, key string) (revoked bool, err error)
	IsRevoked(ctx context.Context, id string) (bool, error)
	Devices(context.Context) ([]store.Keeping, error)
	RevokeDevice(ctx context.Context, id string, now time.Time) (person string, err error)
	Note(context.Context, store.Happening) error
	Happenings(ctx context.Context, most int) ([]store.Happening, error)
}

// Door lets people in by name and password, or by a passkey.
type Door struct {
	Server   *web.Server
	Register Register
	Secure   bool   // reached by https: cookies are sent by no other way
	Proxied  bool   // a reverse proxy stands before it and says whom it speaks for
	Address  string // "https://jobs.example": where people reach it; nothing where that is what they ask for

	Meters string // networks whose meters are read, in words

	failures   counter // to sign in: by name and address together, and by address
	requests   counter
	ceremonies ceremonies
}

const (
	sessionLasts = 14 * 24 * time.Hour
	sessionIdles = 3 * 24 * time.Hour // from Friday evening to Monday morning is less
	mostFailures = 10                 // in failureTime, of one name from one address
	mostOfAll    = 300                // of all names from one address: an office behind one
	failureTime  = 10 * time.Minute
	mostRequests = 3000  // in a minute, in one session
	mostOutside  = 12000 // in a minute, by one address without a session: 300 people who sign in and load the pages
)

// open is what anyone may fetch: what the browser needs to show a sign-in.
func open(path string) bool {
	return path == "/sign-in" || strings.HasPrefix(path, "/sign-in/") || path == "/worker.js" || path == "/manifest.webmanifest" ||
		strings.HasPrefix(path, "/assets/") || strings.HasPrefix(path, "/bundle/")
}

// Handler stands before the pages. From then on names come from accounts, and
// what a device signed for a person is theirs.
func (d *Door) Handler(pages http.Handler) http.Handler {
	d.Server.SignerOf = d.Register.SignerOf
	inside := http.NewServeMux()
	inside.Handle("/", pages)
	inside.Handle("GET /sign-in", d.Server.Page(d.signInPage))
	inside.Handle("POST /sign-in", d.Server.Page(d.signIn))
	inside.Handle("POST /sign-in/passkey/begin", d.Server.Data(d.beginPasskeySignIn))
	inside.Handle("POST /sign-in/passkey", d.Server.Data(d.passkeySignIn))
	inside.Handle("POST /sign-out", d.Server.Page(d.signOut))
	inside.Handle("GET /me", d.Server.Page(d.account))
	inside.Handle("POST /account/password", d.Server.Page(d.changePassword))
	inside.Handle("POST /account/passkey/begin", d.Server.Data(d.beginPasskey))
	inside.Handle("POST /account/passkey", d.Server.Data(d.addPasskey))
	inside.Handle("POST /account/passkey/remove", d.Server.Page(d.removePasskey))
	inside.Handle("POST /account/session/end", d.Server.Page(d.endSessions))
	inside.Handle("POST /api/v1/me/key", d.Server.Data(d.addDeviceKey))
	inside.Handle("GET /people", d.Server.Page(d.people))
	inside.Handle("POST /people", d.Server.Page(d.putPerson))
	inside.Handle("POST /people/remove", d.Server.Page(d.removePerson))
	inside.Handle("POST /sign-in/device", d.Server.Data(d.askDevice))
	inside.Handle("POST /api/v1/me/device", d.Server.Data(d.seeDevice))
	inside.Handle("POST /people/device/revoke", d.Server.Page(d.revokeDevice))
	inside.Handle("GET /audit", d.Server.Page(d.audit))
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		by, most := "from "+d.address(r), mostOutside
		if p, err := d.whose(r); err == nil {
			by, most = "in "+d.token(r), mostRequests
			r = web.SignedIn(r, p)
		} else if !errors.Is(err, store.ErrNotFound) {
			d.Server.Log.Error("look up a session", "err", err)
			http.Error(w, "Something broke on our side. What you saved before is still there.", http.StatusInternalServerError)
			return
		}
		if d.requests.add(by, time.Minute, d.Server.Now()) > most {
			w.Header().Set("Retry-After", "60")
			http.Error(w, "Too many requests from here. Wait a minute.", http.StatusTooManyRequests)
			return
		}
		switch p := web.PersonOf(r); {
		case p == nil && !open(r.URL.Path):
			d.turnAway(w, r)
		case p != nil && p.First && !beforeAll(r.URL.Path):
			d.askForPassword(w, r)
		case p != nil && !p.May(r):
			d.note(r, p.Name, "refused "+r.Method+" "+r.URL.Path)
			d.Server.Page(func(http.ResponseWriter, *http.Request) error {
				return web.Refuse(http.StatusForbidden, "Your account may read this, not change it.")
			}).ServeHTTP(w, r)
		default:
			inside.ServeHTTP(w, r)
		}
	})
}

func (d *Door) turnAway(w http.ResponseWriter, r *http.Request) {
	if strings.HasPrefix(r.URL.Path, "/api/") || r.Method != http.MethodGet {
		d.Server.Data(func(http.ResponseWriter, *http.Request) error {
			return web.Refuse(http.StatusUnauthorized, "Sign in first.")
		}).ServeHTTP(w, r)
		return
	}
	http.Redirect(w, r, "/sign-in", http.StatusSeeOther)
}

// beforeAll is what somebody may do whose password another person set: change
// it, or leave.
func beforeAll(path string) bool {
	return open(path) || path == "/me" || path == "/account/password" || path == "/sign-out"
}

func (d *Door) askForPassword(w http.ResponseWriter, r *http.Request) {
	if strings.HasPrefix(r.URL.Path, "/api/") || r.Method != http.MethodGet {
		d.Server.Data(func(http.ResponseWriter, *http.Request) error {
			return web.Refuse(http.StatusForbidden, "Another person set your password. Change it first, under your name.")
		}).ServeHTTP(w, r)
		return
	}
	http.Redirect(w, r, "/me", http.StatusSeeOther)
}

// address is where a request comes from.
func (d *Door) address(r *http.Request) string {
	if d.Proxied { // the proxy adds whom it speaks for at the end
		if said := r.Header.Get("X-Forwarded-For"); said != "" {
			all := strings.Split(said, ",")
			return strings.TrimSpace(all[len(all)-1])
		}
	}
	host, _, err := net.SplitHostPort(r.RemoteAddr)
	if err != nil {
		return r.RemoteAddr
	}
	return host
}

func (d *Door) note(r *http.Request, who, what string) {
	h := store.Happening{At: web.Stamp(d.Server.Now()), Who: who, What: what, Whence: d.address(r)}
	if err := d.Register.Note(r.Context(), h); err != nil {
		d.Server.Log.Error("audit", "err", err)
	}
}

// cookie is the name of the session's cookie. With the prefix a browser takes
// it over https alone and for this address alone.
func (d *Door) cookie() string {
	if d.Secure {
		return "__Host-session"
	}
	return "session"
}

// token is what the browser holds of its session, hashed.
func (d *Door) token(r *http.Request) string {
	c, err := r.Cookie(d.cookie())
	if err != nil {
		return ""
	}
	return hashed(c.Value)
}

func (d *Door) whose(r *http.Request) (*web.Person, error) {
	hash := d.token(r)
	if hash == "" {
		return nil, store.ErrNotFound
	}
	p, err := d.Register.SessionOf(r.Context(), hash, d.Server.Now(), sessionIdles)
	if err != nil {
		return nil, err
	}
	return &web.Person{Name: p.Name, Role: p.Role, First: p.First}, nil
}

// hashed is how a token is kept: who reads the file cannot come in with it.
func hashed(token string) string {
	h := sha256.Sum256([]byte(token))
	return hex.EncodeToString(h[:])
}

func (d *Door) signInPage(w http.ResponseWriter, r *http.Request) error {
	return d.showSignIn(w, r, http.StatusOK, "")
}

func (d *Door) showSignIn(w http.ResponseWriter, r *http.Request, status int, says string) error {
	_, why := d.party(r)
	return pages.Render(w, status, "signin.html", struct {
		web.Frame
		Says, Name string
		Passkeys   bool
	}{d.Server.Frame(r, "Sign in"), says, r.PostFormValue("name"), why == nil})
}

// failing is by what failures of a name count together: with the address they
// come from, so that a stranger elsewhere locks nobody out; or with the session
// they come in, so that nobody outside it does.
func (d *Door) failing(r *http.Request, name string) string {
	if web.PersonOf(r) != nil {
		return "in " + d.token(r)
	}
	return hashed(name) + " from " + d.address(r)
}

// mayTry reports that a name's failures have not been too many.
func (d *Door) mayTry(r *http.Request, name string) bool {
	now := d.Server.Now()
	if d.failures.times(d.failing(r, name), now) < mostFailures && (web.PersonOf(r) != nil || d.failures.times("from "+d.address(r), now) < mostOfAll) {
		return true
	}
	d.failed(r, name, "sign-in: too many tries")
	return false
}

// failed counts a failure, and notes it: the first, and then the tenth, the
// hundredth and so on, so that a stranger does not fill the list.
func (d *Door) failed(r *http.Request, name, what string) {
	now := d.Server.Now()
	n := d.failures.add(d.failing(r, name), failureTime, now)
	if web.PersonOf(r) == nil {
		d.failures.add("from "+d.address(r), failureTime, now)
	}
	for k := 1; k <= n; k *= 10 {
		if n == k {
			if n > 1 {
				what = fmt.Sprintf("%s, %d times", what, n)
			}
			d.note(r, name, what)
		}
	}
}

const tooManyTries = "Too many tries. Wait ten minutes."

// knows reports whether it is the person's password.
func (d *Door) knows(ctx context.Context, name, password string) (bool, error) {
	people, err := d.Register.People(ctx)
	kept := noPassword // so that a name nobody has takes as long to refuse
	for _, p := range people {
		if p.Name == name {
			kept = p.Password
		}
	}
	return matches(kept, password), err
}

func (d *Door) signIn(w http.ResponseWriter, r *http.Request) error {
	name := r.PostFormValue("name")
	if !d.mayTry(r, name) {
		return d.showSignIn(w, r, http.StatusTooManyRequests, tooManyTries)
	}
	knows, err := d.knows(r.Context(), name, r.PostFormValue("password"))
	if err != nil {
		return err
	}
	if !knows {
		d.failed(r, name, "sign-in refused")
		return d.showSignIn(w, r, http.StatusUnauthorized, "Name and password do not go together.")
	}
	if err := d.letIn(w, r, name, "by password"); err != nil {
		return err
	}
	http.Redirect(w, r, "/", http.StatusSeeOther)
	return nil
}

// letIn begins a session.
func (d *Door) letIn(w http.ResponseWriter, r *http.Request, name, how string) error {
	text, now := newToken(), d.Server.Now()
	err := d.Register.BeginSession(r.Context(), store.Session{Hash: hashed(text), Person: name, Begun: now, Until: now.Add(sessionLasts), Whence: d.whence(r),
		How: how})
	if err != nil {
		return err
	}
	d.note(r, name, "signed in "+how)
	d.setCookie(w, d.cookie(), text, int(sessionLasts.Seconds()))
	return nil
}

func newToken() string {
	token := make([]byte, 32)
	rand.Read(token) // never fails
	return base64.RawURLEncoding.EncodeToString(token)
}

func (d *Door) setCookie(w http.ResponseWriter, name, value string, seconds int) {
	http.SetCookie(w, &http.Cookie{Name: name, Value: value, Path: "/", MaxAge: seconds, HttpOnly: true, Secure: d.Secure, SameSite: http.SameSiteLaxMode})
}

// clearsDevice has the browser drop what it keeps of the pages: the journal,
// the photos, the name, what was read before, and the worker that answers
// without the server. Whoever takes up the device next finds none of it.
//
//	source  W3C Clear Site Data
const clearsDevice = `"cache", "storage"`

func (d *Door) signOut(w http.ResponseWriter, r *http.Request) error {
	who := d.Server.Who(r)
	if err := d.Register.EndSession(r.Context(), who, d.token(r)); err != nil {
		return err
	}
	d.note(r, who, "signed out")
	d.setCookie(w, d.cookie(), "", -1)
	w.Header().Set("Clear-Site-Data", clearsDevice)
	http.Redirect(w, r, "/sign-in", http.StatusSeeOther)
	return nil
}

func (d *Door) people(w http.ResponseWriter, r *http.Request) error {
	people, err := d.Register.People(r.Context())
	if err != nil {
		return err
	}
	devices, err := d.Register.Devices(r.Context())
	if err != nil {
		return err
	}
	return pages.Render(w, http.StatusOK, "people.html", struct {
		web.Frame
		People  []store.Person
		Devices []store.Keeping
		Without string
		Roles   []string
	}{d.Server.Frame(r, "People"), people, devices, web.InDays(d.Server.AwayFor), []string{web.Electrician, web.Supervisor, web.Office}})
}

// PutPerson adds an account or changes it.
// Where somebody else set the password, its owner changes it first.
func PutPerson(ctx context.Context, register Register, name, role, password string, byAnother bool) error {
	name = strings.Join(strings.Fields(name), " ")
	switch {
	case name == "" || len(name) > 80:
		return web.Refuse(http.StatusUnprocessableEntity, "A name of 1 to 80 letters is wanted.")
	case role != web.Electrician && role != web.Supervisor && role != web.Office:
		return web.Refuse(http.StatusUnprocessableEntity, "The role is electrician, supervisor or office.")
	}
	if err := weak(password, name); err != nil {
		return err
	}
	return register.PutPerson(ctx, store.Person{Name: name, Role: role, Password: kept(password), First: byAnother})
}

func (d *Door) putPerson(w http.ResponseWriter, r *http.Request) error {
	name, role := r.PostFormValue("name"), r.PostFormValue("role")
	if name == d.Server.Who(r) && role != web.Supervisor {
		return web.Refuse(http.StatusConflict, "You cannot take your own role away: another supervisor must.")
	}
	if err := PutPerson(r.Context(), d.Register, name, role, r.PostFormValue("password"), name != d.Server.Who(r)); err != nil {
		return err
	}
	d.note(r, d.Server.Who(r), "account of "+name+": "+role)
	http.Redirect(w, r, "/people", http.StatusSeeOther)
	return nil
}

func (d *Door) removePerson(w http.ResponseWriter, r *http.Request) error {
	name := r.PostFormValue("name")
	if name == d.Server.Who(r) {
		return web.Refuse(http.StatusConflict, "You cannot take your own account away: another supervisor must.")
	}
	if err := d.Register.RemovePerson(r.Context(), name, d.Server.Now()); err != nil {
		return err
	}
	d.note(r, d.Server.Who(r), "account of "+name+" taken away")
	http.Redirect(w, r, "/people", http.StatusSeeOther)
	return nil
}

func (d *Door) audit(w http.ResponseWriter, r *http.Request) error {
	const most = 500
	happenings, err := d.Register.Happenings(r.Context(), most)
	if err != nil {
		return err
	}
	return pages.Render(w, http.StatusOK, "audit.html", struct {
		web.Frame
		Happenings []store.Happening
		Meters     string
	}{d.Server.Frame(r, "At the door"), happenings, d.Meters})
}
