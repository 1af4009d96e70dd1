package web

// People, where the journal serves a network.

import "net/http"

// Person is someone with an account.
type Person struct{ Name, Role string }

type personKey struct{}

// personOf returns who is signed in, nil where there are no accounts.
func personOf(r *http.Request) *Person {
	p, _ := r.Context().Value(personKey{}).(*Person)
	return p
}

type Accounts struct{}
