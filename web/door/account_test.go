package door

import (
	"chargewright/web"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"os/exec"
	"slices"
	"strings"
	"testing"
)

const annsPassword = "correct horse Ann"

// stays reports whether a session still lets its holder in.
func stays(h http.Handler, c *http.Cookie) bool {
	return as(h, c, "GET", "/", nil).Code == http.StatusOK
}

func in(t *testing.T, h http.Handler, name, password string) *http.Cookie {
	t.Helper()
	c, code := signedIn(t, h, name, password)
	if c == nil {
		t.Fatalf("%s cannot sign in: %d", name, code)
	}
	return c
}

func TestAChangedPasswordEndsTheOtherSessions(t *testing.T) {
	h, _ := guardedServer(t)
	here, there, sues := in(t, h, "Ann", annsPassword), in(t, h, "Ann", annsPassword), in(t, h, "Sue", "correct horse Sue")
	change := func(old, fresh string) *httptest.ResponseRecorder {
		return as(h, here, "POST", "/account/password", url.Values{"password": {old}, "new": {fresh}})
	}
	if w := change("not it, not it", "four other plain words"); w.Code != http.StatusForbidden || !stays(h, there) {
		t.Errorf("a wrong password changes it: %d", w.Code)
	}
	if w := change(annsPassword, "short"); w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), "at least 12") {
		t.Errorf("a short password is taken: %d", w.Code)
	}
	if w := change(annsPassword, "four other plain words"); w.Code != http.StatusSeeOther {
		t.Fatalf("the change answers %d: %s", w.Code, w.Body)
	}
	if !stays(h, here) || stays(h, there) || !stays(h, sues) {
		t.Errorf("here %v, elsewhere %v, somebody else %v; want true, false, true", stays(h, here), stays(h, there), stays(h, sues))
	}
	if c, _ := signedIn(t, h, "Ann", annsPassword); c != nil {
		t.Error("the old password still serves")
	}
	in(t, h, "Ann", "four other plain words")
	as(h, sues, "POST", "/people", url.Values{"name": {"Ann"}, "role": {web.Electrician}, "password": {"set anew by Sue"}})
	if stays(h, here) {
		t.Error("a password set by another leaves a session")
	}
}

func TestAPersonEndsTheirOtherSessions(t *testing.T) {
	h, d := guardedServer(t)
	here, first, second, sues := in(t, h, "Ann", annsPassword), in(t, h, "Ann", annsPassword), in(t, h, "Ann", annsPassword), in(t, h, "Sue", "correct horse Sue")
	page := as(h, here, "GET", "/me", nil).Body.String()
	if strings.Count(page, "End it") != 2 || strings.Count(page, "This device: ") != 1 {
		t.Errorf("the page shows %d other sessions, want 2", strings.Count(page, "End it"))
	}
	end := func(c *http.Cookie, which string) {
		as(h, c, "POST", "/account/session/end", url.Values{"session": {which}})
	}
	end(sues, hashed(first.Value))
	if !stays(h, first) {
		t.Error("somebody else ended the session")
	}
	end(here, hashed(first.Value))
	if stays(h, first) || !stays(h, second) {
		t.Error("the one session was not ended, or another with it")
	}
	end(here, "others")
	if stays(h, second) || !stays(h, here) || !stays(h, sues) {
		t.Error("ending the others ended too few or too many")
	}
	happenings, err := d.Register.Happenings(t.Context(), 1)
	if err != nil || happenings[0].Who != "Ann" || happenings[0].What != "other sessions ended" {
		t.Errorf("the audit list says %v, %v", happenings, err)
	}
}

// TestWhereAPasskeyMayBe: a passkey belongs to a name that is reached by https,
// or to localhost (Web Authentication Level 3, W3C: 5.1.2 on the effective
// domain, and Secure Contexts, W3C, 3.1).
func TestWhereAPasskeyMayBe(t *testing.T) {
	for _, tt := range []struct {
		what, host, address string
		secure, proxied     bool
		want                string // the name it belongs to; nothing for nowhere
	}{
		{"this computer by name", "localhost:8470", "", false, false, "localhost"},
		{"this computer by number", "127.0.0.1:8470", "", false, false, ""},
		{"this computer by number, IPv6", "[::1]:8470", "", false, false, ""},
		{"a name by http", "jobs.example", "", false, false, ""},
		{"a name by https", "jobs.example:8470", "", true, false, "jobs.example"},
		{"a number by https", "192.0.2.7", "", true, false, ""},
		{"a proxy that is not told of", "jobs.example", "", true, true, ""},
		{"a proxy", "whatever", "https://jobs.example", true, true, "jobs.example"},
	} {
		d := &Door{Secure: tt.secure, Proxied: tt.proxied, Address: tt.address}
		r := httptest.NewRequest("GET", "/me", nil)
		r.Host = tt.host
		got := ""
		if party, err := d.party(r); err == nil {
			got = party.Config.RPID
		}
		if got != tt.want {
			t.Errorf("%s: passkeys for %q, want %q", tt.what, got, tt.want)
		}
	}
	for text, want := range map[string]bool{"https://jobs.example": true, "http://localhost:8470": true, "jobs.example": false, "https://jobs.example/": false, "https://": false, "ftp://jobs.example": false, "https://a@jobs.example": false} {
		if IsAddress(text) != want {
			t.Errorf("IsAddress(%q) = %v", text, !want)
		}
	}
}

func demanded(t *testing.T, h http.Handler, c *http.Cookie, path, body string, more ...*http.Cookie) *httptest.ResponseRecorder {
	t.Helper()
	r := httptest.NewRequest("POST", "http://localhost"+path, strings.NewReader(body))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	for _, one := range append(more, c) {
		if one != nil {
			r.AddCookie(one)
		}
	}
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w
}

func TestAPasskeyIsAskedForOnceAndByItsOwner(t *testing.T) {
	h, d := guardedServer(t)
	c := in(t, h, "Ann", annsPassword)
	form := url.Values{"device": {"my phone"}, "password": {annsPassword}}.Encode()
	if w := demanded(t, h, nil, "/account/passkey/begin", form); w.Code != http.StatusUnauthorized {
		t.Errorf("nobody may begin: %d, want 401", w.Code)
	}
	if w := demanded(t, h, c, "/account/passkey/begin", "device=my+phone&password=wrong"); w.Code != http.StatusForbidden {
		t.Errorf("without the password it begins: %d, want 403", w.Code)
	}
	r := httptest.NewRequest("POST", "http://localhost/account/passkey/begin", strings.NewReader(form))
	r.AddCookie(c)
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Origin", "https://elsewhere.example")
	w := httptest.NewRecorder()
	if h.ServeHTTP(w, r); w.Code != http.StatusForbidden {
		t.Errorf("another site may begin: %d, want 403", w.Code)
	}
	begun := demanded(t, h, c, "/account/passkey/begin", form)
	if begun.Code != http.StatusOK || !strings.Contains(begun.Body.String(), `"rp":{"name":"Chargewright","id":"localhost"}`) || !strings.Contains(begun.Body.String(), `"userVerification":"required"`) {
		t.Fatalf("the beginning answers %d: %s", begun.Code, begun.Body)
	}
	ceremony := begun.Result().Cookies()[0]
	if !ceremony.HttpOnly {
		t.Error("script may read what ties the ceremony to the browser")
	}
	if w := demanded(t, h, c, "/account/passkey", "{}", ceremony); w.Code != http.StatusUnprocessableEntity {
		t.Errorf("an empty passkey answers %d, want 422", w.Code)
	}
	if w := demanded(t, h, c, "/account/passkey", "{}", ceremony); w.Code != http.StatusConflict {
		t.Errorf("answered again it answers %d, want 409", w.Code)
	}
	if keys, err := d.Register.Passkeys(t.Context(), "Ann"); err != nil || len(keys) != 0 {
		t.Errorf("%d passkeys, %v", len(keys), err)
	}
}

func TestGuessingPasskeysIsSlow(t *testing.T) {
	h, _ := guardedServer(t)
	code := 0
	for range mostFailures + 1 {
		begun := demanded(t, h, nil, "/sign-in/passkey/begin", "")
		if code = begun.Code; code == http.StatusOK {
			demanded(t, h, nil, "/sign-in/passkey", "{}", begun.Result().Cookies()[0])
		}
	}
	if code != http.StatusTooManyRequests {
		t.Errorf("after %d failures one more answers %d, want 429", mostFailures, code)
	}
	in(t, h, "Ann", annsPassword) // who knows a password is not kept out by it
}

// TestTheBrowserPartKnowsNoPasskeys: what only a server does is not carried to
// a phone.
func TestTheBrowserPartKnowsNoPasskeys(t *testing.T) {
	for _, name := range inBrowser(t) {
		if strings.Contains(name, "webauthn") || strings.Contains(name, "sqlite") {
			t.Errorf("the part for the browser takes in %s", name)
		}
	}
}

// inBrowser lists the packages of the part for the browser.
func inBrowser(t *testing.T) []string {
	t.Helper()
	c := exec.Command("go", "list", "-deps", "../worker")
	c.Env = append(os.Environ(), "GOOS=js", "GOARCH=wasm")
	out, err := c.Output()
	if err != nil {
		t.Fatal(err)
	}
	all := strings.Fields(string(out))
	if !slices.Contains(all, "chargewright/web") {
		t.Fatalf("the part for the browser is %v", all)
	}
	return all
}
