package web

// Who a request comes from, where there are accounts.

import (
	"context"
	"net/http"
	"strings"
)

// Roles a person may have.
const (
	Electrician = "electrician" // enters and reads
	Supervisor  = "supervisor"  // the same, and says who may do what
	Office      = "office"      // reads
)

// Person is someone who is signed in.
type Person struct {
	Name, Role string
	First      bool // another person set the password: it is changed before anything else
}

// Supervises reports that the person says who may do what.
func (p *Person) Supervises() bool { return p.Role == Supervisor }

type personKey struct{}

// SignedIn is the request of someone who is signed in.
func SignedIn(r *http.Request, p *Person) *http.Request {
	return r.WithContext(context.WithValue(r.Context(), personKey{}, p))
}

// PersonOf returns who is signed in, nil where there are no accounts.
func PersonOf(r *http.Request) *Person {
	p, _ := r.Context().Value(personKey{}).(*Person)
	return p
}

// May says what each role may do.
func (p *Person) May(r *http.Request) bool {
	path := r.URL.Path
	if path == "/people" || strings.HasPrefix(path, "/people/") || path == "/audit" {
		return p.Supervises()
	}
	reads := r.Method == http.MethodGet || r.Method == http.MethodHead || storesNothing(path)
	return reads || path == "/sign-out" || path == "/sign-in" || strings.HasPrefix(path, "/sign-in/") || strings.HasPrefix(path, "/account/") ||
		path == "/api/v1/me/device" ||
		p.Role == Electrician || p.Supervises()
}

// NamedByAccount takes the name of the person at work from the session.
func (s *Server) NamedByAccount() {
	s.Who = func(r *http.Request) string {
		if p := PersonOf(r); p != nil {
			return p.Name
		}
		return ""
	}
}
