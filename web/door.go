//go:build !js

package web

// The door: who may come in from a network, and what each may do there.

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"errors"
	"net"
	"net/http"
	"strings"
	"time"

	"chargewright/store"
)

// Register is where accounts, sessions and the audit list are kept.
type Register interface {
	People(context.Context) ([]store.Person, error)
	PutPerson(context.Context, store.Person) error
	PutPassword(ctx context.Context, person, password, but string) error
	RemovePerson(ctx context.Context, name string) error
	BeginSession(context.Context, store.Session) error
	SessionOf(ctx context.Context, hash string, now time.Time) (store.Person, error)
	Sessions(ctx context.Context, person string, now time.Time) ([]store.Session, error)
	EndSession(ctx context.Context, person, hash string) error
	EndOtherSessions(ctx context.Context, person, but string) error
	Passkeys(ctx context.Context, person string) ([]store.Passkey, error)
	AddPasskey(context.Context, store.Passkey) error
	UsePasskey(context.Context, store.Passkey) error
	RemovePasskey(ctx context.Context, person, id string) error
	Note(context.Context, store.Happening) error
	Happenings(ctx context.Context, most int) ([]store.Happening, error)
}

// Door lets people in by name and password, or by a passkey.
type Door struct {
	Server   *Server
	Register Register
	Secure   bool   // reached by https: cookies are sent by no other way
	Proxied  bool   // a reverse proxy stands before it and says whom it speaks for
	Address  string // "https://jobs.example": where people reach it; nothing where that is what they ask for

	signIns    counter // tries to sign in, by address and by name
	requests   counter
	ceremonies ceremonies
}

const (
	sessionLasts = 14 * 24 * time.Hour
	mostSignIns  = 10 // in signInTime
	signInTime   = 10 * time.Minute
	mostRequests = 3000 // in a minute, by one address
)

// NamedByAccount takes the name of the person at work from the session.
func (s *Server) NamedByAccount() {
	s.Who = func(r *http.Request) string {
		if p := personOf(r); p != nil {
			return p.Name
		}
		return ""
	}
}

// open is what anyone may fetch: what the browser needs to show a sign-in.
func open(path string) bool {
	return path == "/sign-in" || strings.HasPrefix(path, "/sign-in/") || path == "/worker.js" || path == "/manifest.webmanifest" || strings.HasPrefix(path, "/assets/") || strings.HasPrefix(path, "/bundle/")
}

// Handler stands before the pages.
func (d *Door) Handler(pages http.Handler) http.Handler {
	inside := http.NewServeMux()
	inside.Handle("/", pages)
	inside.Handle("GET /sign-in", d.Server.page(d.signInPage))
	inside.Handle("POST /sign-in", d.Server.page(d.signIn))
	inside.Handle("POST /sign-in/passkey/begin", d.Server.data(d.beginPasskeySignIn))
	inside.Handle("POST /sign-in/passkey", d.Server.data(d.passkeySignIn))
	inside.Handle("POST /sign-out", d.Server.page(d.signOut))
	inside.Handle("GET /me", d.Server.page(d.account))
	inside.Handle("POST /account/password", d.Server.page(d.changePassword))
	inside.Handle("POST /account/passkey/begin", d.Server.data(d.beginPasskey))
	inside.Handle("POST /account/passkey", d.Server.data(d.addPasskey))
	inside.Handle("POST /account/passkey/remove", d.Server.page(d.removePasskey))
	inside.Handle("POST /account/session/end", d.Server.page(d.endSessions))
	inside.Handle("GET /people", d.Server.page(d.people))
	inside.Handle("POST /people", d.Server.page(d.putPerson))
	inside.Handle("POST /people/remove", d.Server.page(d.removePerson))
	inside.Handle("GET /audit", d.Server.page(d.audit))
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if !d.requests.allows(d.address(r), mostRequests, time.Minute, d.Server.Now()) {
			w.Header().Set("Retry-After", "60")
			http.Error(w, "Too many requests from here. Wait a minute.", http.StatusTooManyRequests)
			return
		}
		if p, err := d.whose(r); err == nil {
			r = r.WithContext(context.WithValue(r.Context(), personKey{}, p))
		} else if !errors.Is(err, store.ErrNotFound) {
			d.Server.Log.Error("look up a session", "err", err)
			http.Error(w, "Something broke on our side. What you saved before is still there.", http.StatusInternalServerError)
			return
		}
		switch p := personOf(r); {
		case p == nil && !open(r.URL.Path):
			d.turnAway(w, r)
		case p != nil && !p.may(r):
			d.note(r, p.Name, "refused "+r.Method+" "+r.URL.Path)
			d.Server.page(func(http.ResponseWriter, *http.Request) error {
				return refuse(http.StatusForbidden, "Your account may read this, not change it.")
			}).ServeHTTP(w, r)
		default:
			inside.ServeHTTP(w, r)
		}
	})
}

// may says what each role may do.
func (p *Person) may(r *http.Request) bool {
	path := r.URL.Path
	if path == "/people" || strings.HasPrefix(path, "/people/") || path == "/audit" {
		return p.Supervises()
	}
	reads := r.Method == http.MethodGet || r.Method == http.MethodHead || storesNothing(path)
	return reads || path == "/sign-out" || path == "/sign-in" || strings.HasPrefix(path, "/sign-in/") || strings.HasPrefix(path, "/account/") || p.Role == electrician || p.Supervises()
}

func (d *Door) turnAway(w http.ResponseWriter, r *http.Request) {
	if strings.HasPrefix(r.URL.Path, "/api/") || r.Method != http.MethodGet {
		d.Server.data(func(http.ResponseWriter, *http.Request) error {
			return refuse(http.StatusUnauthorized, "Sign in first.")
		}).ServeHTTP(w, r)
		return
	}
	http.Redirect(w, r, "/sign-in", http.StatusSeeOther)
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
	h := store.Happening{At: stamp(d.Server.Now()), Who: who, What: what, Whence: d.address(r)}
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

func (d *Door) whose(r *http.Request) (*Person, error) {
	hash := d.token(r)
	if hash == "" {
		return nil, store.ErrNotFound
	}
	p, err := d.Register.SessionOf(r.Context(), hash, d.Server.Now())
	if err != nil {
		return nil, err
	}
	return &Person{p.Name, p.Role}, nil
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
	return render(w, status, "signin.html", struct {
		frame
		Says, Name string
		Passkeys   bool
	}{d.Server.frame(r, "Sign in"), says, r.PostFormValue("name"), why == nil})
}

// mayTry counts a try to sign in, and reports whether it is one too many.
func (d *Door) mayTry(r *http.Request, name string) bool {
	now := d.Server.Now()
	ok := d.signIns.allows("from "+d.address(r), mostSignIns, signInTime, now) && d.signIns.allows("as "+name, mostSignIns, signInTime, now)
	if !ok {
		d.note(r, name, "sign-in: too many tries")
	}
	return ok
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
		d.note(r, name, "sign-in refused")
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
	err := d.Register.BeginSession(r.Context(), store.Session{Hash: hashed(text), Person: name, Begun: now, Until: now.Add(sessionLasts), Whence: d.whence(r), How: how})
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

func (d *Door) signOut(w http.ResponseWriter, r *http.Request) error {
	who := d.Server.Who(r)
	if err := d.Register.EndSession(r.Context(), who, d.token(r)); err != nil {
		return err
	}
	d.note(r, who, "signed out")
	d.setCookie(w, d.cookie(), "", -1)
	http.Redirect(w, r, "/sign-in", http.StatusSeeOther)
	return nil
}

func (d *Door) people(w http.ResponseWriter, r *http.Request) error {
	people, err := d.Register.People(r.Context())
	if err != nil {
		return err
	}
	return render(w, http.StatusOK, "people.html", struct {
		frame
		People []store.Person
		Roles  []string
	}{d.Server.frame(r, "People"), people, []string{electrician, supervisor, office}})
}

// PutPerson adds an account or changes it.
func PutPerson(ctx context.Context, register Register, name, role, password string) error {
	name = strings.Join(strings.Fields(name), " ")
	switch {
	case name == "" || len(name) > 80:
		return refuse(http.StatusUnprocessableEntity, "A name of 1 to 80 letters is wanted.")
	case role != electrician && role != supervisor && role != office:
		return refuse(http.StatusUnprocessableEntity, "The role is electrician, supervisor or office.")
	case tooWeak(password):
		return weakPassword
	}
	return register.PutPerson(ctx, store.Person{Name: name, Role: role, Password: kept(password)})
}

func (d *Door) putPerson(w http.ResponseWriter, r *http.Request) error {
	name, role := r.PostFormValue("name"), r.PostFormValue("role")
	if name == d.Server.Who(r) && role != supervisor {
		return refuse(http.StatusConflict, "You cannot take your own role away: another supervisor must.")
	}
	if err := PutPerson(r.Context(), d.Register, name, role, r.PostFormValue("password")); err != nil {
		return err
	}
	d.note(r, d.Server.Who(r), "account of "+name+": "+role)
	http.Redirect(w, r, "/people", http.StatusSeeOther)
	return nil
}

func (d *Door) removePerson(w http.ResponseWriter, r *http.Request) error {
	name := r.PostFormValue("name")
	if name == d.Server.Who(r) {
		return refuse(http.StatusConflict, "You cannot take your own account away: another supervisor must.")
	}
	if err := d.Register.RemovePerson(r.Context(), name); err != nil {
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
	return render(w, http.StatusOK, "audit.html", struct {
		frame
		Happenings []store.Happening
	}{d.Server.frame(r, "At the door"), happenings})
}
