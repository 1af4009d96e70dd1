package web

// Who a request comes from, where there are accounts.

import "net/http"

// Roles a person may have.
const (
	electrician = "electrician" // enters and reads
	supervisor  = "supervisor"  // the same, and says who may do what
	office      = "office"      // reads
)

// Person is someone who is signed in.
type Person struct{ Name, Role string }

// Supervises reports that the person says who may do what.
func (p *Person) Supervises() bool { return p.Role == supervisor }

type personKey struct{}

// personOf returns who is signed in, nil where there are no accounts.
func personOf(r *http.Request) *Person {
	p, _ := r.Context().Value(personKey{}).(*Person)
	return p
}
