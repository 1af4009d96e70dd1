package web

// An answer from a handful of facts, before there is a job, and a job made of
// it.

import (
	"errors"
	"net/http"
	"net/url"
	"strings"

	"chargewright/reckon"
)

// reckonField is one thing that may be said, as it was typed.
type reckonField struct {
	reckon.Ask
	Value string
	Wrong string
}

// reckonPage is the form and its answer.
type reckonPage struct {
	Frame
	First, More []reckonField
	Open        bool // more was said
	Answer      *reckon.Answer
	Hidden      url.Values // what was said, for the job made of it
	Caution     string
}

// firstAsked is how many questions stand before "more".
const firstAsked = 5

func saidIn(value func(string) string) reckon.Said {
	said := reckon.Said{}
	for _, a := range reckon.Asks() {
		if v := strings.TrimSpace(value(a.Name)); v != "" {
			said[a.Name] = v
		}
	}
	return said
}

func (s *Server) reckon(w http.ResponseWriter, r *http.Request) error {
	return s.renderReckon(w, r, http.StatusOK, saidIn(r.URL.Query().Get))
}

func (s *Server) renderReckon(w http.ResponseWriter, r *http.Request, status int, said reckon.Said) error {
	page := reckonPage{Frame: s.Frame(r, "Reckon a run"), Caution: reckon.Caution, Hidden: url.Values{}}
	wrong := map[string]string{}
	if len(said) > 0 {
		a, err := reckon.Reckon(said)
		if err != nil {
			status = http.StatusUnprocessableEntity
			if wrong = wrongIn(err); len(wrong) == 0 {
				return err
			}
		}
		page.Answer = a
	}
	for i, a := range reckon.Asks() {
		f := reckonField{a, said[a.Name], wrong[a.Name]}
		if i < firstAsked {
			page.First = append(page.First, f)
		} else {
			page.More = append(page.More, f)
			page.Open = page.Open || f.Value != ""
		}
		if f.Value != "" {
			page.Hidden.Set(a.Name, f.Value)
		}
	}
	return render(w, status, "reckon.html", page)
}

// wrongIn returns what would be right, by the name of what was said.
func wrongIn(err error) map[string]string {
	out := map[string]string{}
	var many interface{ Unwrap() []error }
	if errors.As(err, &many) {
		for _, one := range many.Unwrap() {
			for name, want := range wrongIn(one) {
				out[name] = want
			}
		}
		return out
	}
	var w reckon.Wrong
	if errors.As(err, &w) {
		out[w.Name] = w.Want
	}
	return out
}

// reckonedJob makes a job of what was said.
func (s *Server) reckonedJob(w http.ResponseWriter, r *http.Request) error {
	said := saidIn(r.PostFormValue)
	name := strings.TrimSpace(r.PostFormValue("name"))
	if name == "" {
		return Refuse(http.StatusUnprocessableEntity, "A job needs a name, so that you find it again: the place, or the client.")
	}
	a, err := reckon.Reckon(said)
	if err != nil {
		return s.renderReckon(w, r, http.StatusUnprocessableEntity, said)
	}
	text, err := a.Job(name)
	if err != nil {
		return err
	}
	return s.beginFrom(w, r, "job begun from what was reckoned", text)
}
