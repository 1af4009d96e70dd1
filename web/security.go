package web

// What every answer to a network is wrapped in: headers that keep the browser
// to this program alone, requests from other sites refused, sizes bounded.

import (
	"net"
	"net/http"
	"slices"
	"strings"

	"chargewright/bounds"
)

// policy lets a page load from this server and from nowhere else, and run no
// script or style that is written into it.
const policy = "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self'; img-src 'self'; font-src 'self'; " +
	"connect-src 'self'; worker-src 'self'; manifest-src 'self'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'"

// Bounds of what is sent here.
const (
	mostForm = 1 << 20
	mostSent = 64 << 20 // photos and acts that wait on a device
)

// Secure wraps the handler for a network.
func Secure(h http.Handler) http.Handler {
	elsewhere := http.NewCrossOriginProtection()
	return elsewhere.Handler(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		head := w.Header()
		head.Set("Content-Security-Policy", policy)
		head.Set("X-Content-Type-Options", "nosniff")
		head.Set("Referrer-Policy", "same-origin")
		head.Set("Cross-Origin-Opener-Policy", "same-origin")
		head.Set("Cross-Origin-Resource-Policy", "same-origin")
		head.Set("Permissions-Policy", "camera=(), microphone=(), geolocation=()")
		if r.TLS != nil {
			head.Set("Strict-Transport-Security", "max-age=31536000")
		}
		r.Body = http.MaxBytesReader(w, r.Body, mostBody(r))
		h.ServeHTTP(w, r)
	}))
}

func mostBody(r *http.Request) int64 {
	switch {
	case r.URL.Path == "/api/v1/acts":
		return mostSent
	case strings.HasSuffix(r.URL.Path, "/photo"):
		return int64(bounds.Photo.Most()) + mostForm
	case storesNothing(r.URL.Path), strings.HasSuffix(r.URL.Path, "/pilot/keep"), strings.HasSuffix(r.URL.Path, "/meter"):
		return mostTables + mostForm
	case strings.HasSuffix(r.URL.Path, "/commissioning"):
		return 4 * mostForm // steps and registers of one's own come with it
	case r.URL.Path == "/api/v1/jobs":
		return int64(bounds.JobFile.Most()) + 1 // one more is read, to say which bound it passes
	case r.URL.Path == "/jobs/bring":
		return mostParcel + mostForm
	}
	return mostForm
}

// storesNothing reports that what is sent to a page is answered and forgotten,
// so that whoever may read may send it.
func storesNothing(path string) bool {
	if path == "/verify" {
		return true
	}
	rest, ofJob := strings.CutPrefix(path, "/jobs/")
	_, what, _ := strings.Cut(rest, "/")
	return ofJob && slices.Contains(answered, what)
}

// answered is what stores nothing, under a job.
var answered = []string{"charging", "clamp", "demand", "limit", "pilot", "hear"}

// whoCookie names the person at a device where there are no accounts.
const whoCookie = "who"

// NamedByCookie lets whoever is at the device give a name, kept in a cookie.
func (s *Server) NamedByCookie(secure bool) {
	s.Who = func(r *http.Request) string {
		c, err := r.Cookie(whoCookie)
		if err != nil {
			return ""
		}
		name, err := decoded(c.Value)
		if err != nil || len(name) > 80 {
			return ""
		}
		return name
	}
	s.SetWho = func(w http.ResponseWriter, name string) error {
		http.SetCookie(w, &http.Cookie{Name: whoCookie, Value: encoded(name), Path: "/", MaxAge: 400 * 24 * 3600, HttpOnly: true, Secure: secure,
			SameSite: http.SameSiteStrictMode})
		return nil
	}
}

// ForHosts answers only for the names that a program is reached by: a name that
// somebody else points at this computer is none of them, and a page under it
// reads nothing here.
func ForHosts(h http.Handler, ours func(host string) bool) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		host, _, err := net.SplitHostPort(r.Host)
		if err != nil {
			host = r.Host
		}
		if !ours(strings.Trim(strings.ToLower(strings.TrimSuffix(host, ".")), "[]")) {
			http.Error(w, "These pages are not reached by that name. Who runs the program can say by which: --address.", http.StatusMisdirectedRequest)
			return
		}
		h.ServeHTTP(w, r)
	})
}
