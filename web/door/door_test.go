package door

import (
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"chargewright/store"
	"chargewright/web"
)

func post(t testing.TB, h http.Handler, address string, form url.Values) *http.Response {
	t.Helper()
	return as(h, nil, "POST", address, form).Result()
}

// guardedServer is the pages behind a door, with one person of each role.
func guardedServer(t *testing.T) (http.Handler, *Door) {
	t.Helper()
	journal, err := store.Open(t.Context(), filepath.Join(t.TempDir(), "journal.sqlite"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { journal.Close() })
	clock := time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC)
	s := &web.Server{Store: journal, Log: slog.New(slog.NewTextHandler(t.Output(), nil)), Now: func() time.Time { clock = clock.Add(time.Second); return clock }}
	s.NamedByAccount()
	for name, role := range map[string]string{"Ann": web.Electrician, "Sue": web.Supervisor, "Olga": web.Office} {
		if err := PutPerson(t.Context(), journal, name, role, "correct horse "+name); err != nil {
			t.Fatal(err)
		}
	}
	d := &Door{Server: s, Register: journal}
	return web.Secure(d.Handler(s.Handler())), d
}

func signedIn(t *testing.T, h http.Handler, name, password string) (*http.Cookie, int) {
	t.Helper()
	resp := post(t, h, "/sign-in", url.Values{"name": {name}, "password": {password}})
	for _, c := range resp.Cookies() {
		return c, resp.StatusCode
	}
	return nil, resp.StatusCode
}

func as(h http.Handler, c *http.Cookie, method, path string, form url.Values) *httptest.ResponseRecorder {
	r := httptest.NewRequest(method, path, strings.NewReader(form.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	if c != nil {
		r.AddCookie(c)
	}
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w
}

func TestEachRoleMayDoItsOwn(t *testing.T) {
	h, _ := guardedServer(t)
	if w := as(h, nil, "GET", "/", nil); w.Code != http.StatusSeeOther || w.Header().Get("Location") != "/sign-in" {
		t.Errorf("nobody sees the jobs: %d to %q", w.Code, w.Header().Get("Location"))
	}
	if w := as(h, nil, "GET", "/api/v1/jobs", nil); w.Code != http.StatusUnauthorized {
		t.Errorf("nobody reads the interface: %d, want 401", w.Code)
	}
	for _, tt := range []struct {
		who, method, path string
		want              int
	}{
		{"Ann", "GET", "/", 200}, {"Ann", "POST", "/jobs", 303}, {"Ann", "GET", "/people", 403}, {"Ann", "GET", "/audit", 403},
		{"Olga", "GET", "/", 200}, {"Olga", "POST", "/jobs", 403}, {"Olga", "POST", "/api/v1/acts", 403},
		{"Sue", "POST", "/jobs", 303}, {"Sue", "GET", "/people", 200}, {"Sue", "GET", "/audit", 200},
	} {
		c, code := signedIn(t, h, tt.who, "correct horse "+tt.who)
		if c == nil {
			t.Fatalf("%s cannot sign in: %d", tt.who, code)
		}
		if w := as(h, c, tt.method, tt.path, url.Values{"name": {"Barn"}}); w.Code != tt.want {
			t.Errorf("%s: %s %s answers %d, want %d", tt.who, tt.method, tt.path, w.Code, tt.want)
		}
	}
}

func TestWhoEntersIsWhoIsSignedIn(t *testing.T) {
	h, d := guardedServer(t)
	c, _ := signedIn(t, h, "Ann", "correct horse Ann")
	if !c.HttpOnly || c.SameSite != http.SameSiteLaxMode {
		t.Errorf("the cookie is %v", c)
	}
	as(h, c, "POST", "/jobs", url.Values{"name": {"Barn"}})
	jobs, _ := d.Server.Store.Jobs(t.Context())
	acts, _ := d.Server.Store.Acts(t.Context(), jobs[0].ID, 0)
	if acts[0].Who != "Ann" {
		t.Errorf("the job was begun by %q, want Ann", acts[0].Who)
	}
	as(h, c, "POST", "/sign-out", nil)
	if w := as(h, c, "GET", "/", nil); w.Code != http.StatusSeeOther {
		t.Errorf("after signing out the session still answers %d", w.Code)
	}
}

func TestGuessingIsSlow(t *testing.T) {
	h, d := guardedServer(t)
	code := 0
	for range mostSignIns + 1 {
		_, code = signedIn(t, h, "Ann", "wrong")
	}
	if code != http.StatusTooManyRequests {
		t.Errorf("try %d answers %d, want 429", mostSignIns+1, code)
	}
	happenings, err := d.Register.Happenings(t.Context(), 100)
	if err != nil || len(happenings) != mostSignIns+1 {
		t.Errorf("the audit list has %d lines, %v", len(happenings), err)
	}
	for _, one := range happenings {
		if strings.Contains(one.What+one.Who, "wrong") {
			t.Error("a password reached the audit list")
		}
	}
}

func TestPasswordsAreNotKept(t *testing.T) {
	a, b := kept("correct horse"), kept("correct horse")
	if a == b || strings.Contains(a, "correct") {
		t.Error("two people of one password are kept alike, or the password itself is kept")
	}
	if !matches(a, "correct horse") || matches(a, "correct hors") || matches(noPassword, "") || matches("", "") {
		t.Error("a password is not told from another")
	}
}

// TestTheOfficeMayAsk: whoever may read may send what is answered and forgotten.
func TestTheOfficeMayAsk(t *testing.T) {
	h, _ := guardedServer(t)
	c, _ := signedIn(t, h, "Olga", "correct horse Olga")
	for path, want := range map[string]int{"/jobs/none/charging": http.StatusNotFound, "/jobs/none/clamp": http.StatusNotFound, "/api/v1/jobs/none/entries": http.StatusForbidden, "/jobs/none/fact": http.StatusForbidden} {
		if w := as(h, c, "POST", path, nil); w.Code != want {
			t.Errorf("the office posts to %s: %d, want %d", path, w.Code, want)
		}
		if w := as(h, nil, "POST", path, nil); w.Code != http.StatusUnauthorized {
			t.Errorf("nobody posts to %s: %d, want 401", path, w.Code)
		}
	}
}
