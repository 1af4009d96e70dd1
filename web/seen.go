package web

// What is assumed is seen: somebody looked, and it is so.

import (
	"cmp"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"chargewright/job"
	"chargewright/prove"
	"chargewright/trade"
	"chargewright/works"
)

// assumedIn returns what is assumed of some parts or facts of the job, and can
// be seen.
func (o *opened) assumedIn(parts ...string) []job.Assumption {
	var out []job.Assumption
	for _, a := range o.Job.Assumed() {
		if slices.ContainsFunc(parts, func(part string) bool { return works.Within(a.Path, part) }) && o.Record.Seen(a.Path) != nil {
			out = append(out, a)
		}
	}
	return out
}

// enterSeen enters that somebody looked at some parts of the job, and that all
// that is assumed of them is as assumed. A part of the supply is named by its
// facts.
func (s *Server) enterSeen(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	if err := r.ParseForm(); err != nil {
		return Refuse(http.StatusBadRequest, "The form could not be read.")
	}
	var entries []job.Entry
	var names []string
	for _, a := range o.assumedIn(r.PostForm["path"]...) {
		if typed := r.PostForm["saw "+a.Path]; typed != nil && typed[0] != o.Record.Now(a.Path).Value {
			return Refuse(http.StatusConflict, "%s is %s by now: look again.", capital(spoken(a.Path)), o.Record.Now(a.Path).Value)
		}
		entries = append(entries, o.Record.Seen(a.Path)...)
		names = append(names, last(a.Path)+" "+a.Value)
	}
	next := o.onward(r.PostFormValue("next"))
	if len(entries) == 0 {
		http.Redirect(w, r, next, http.StatusSeeOther)
		return nil
	}
	const most = 4
	what := "seen, as assumed: " + strings.Join(names[:min(most, len(names))], ", ")
	if len(names) > most {
		what += " and " + whole(len(names)-most) + " more"
	}
	return s.enter(w, r, o, s.act(r, o.ID, what, entries...), next)
}

// answered returns the facts that a reading answers too, where they are not
// known or only assumed: the Ze and the Ipf of the supply, the resistance of an
// electrode. Nobody is asked twice.
func (o *opened) answered(e prove.Expectation, read []job.Entry) []job.Entry {
	path := o.factOf(e)
	if path == "" || o.Record.Now(path).Value != "" && !o.Job.IsAssumed(path) {
		return nil
	}
	for _, r := range read {
		if last(r.Path) != "value" || strings.ContainsAny(r.Value, "<>≤≥") {
			continue
		}
		fact := job.Entry{Path: path, Value: together(r.Value, string(trade.Measured), ""), Instrument: r.Instrument, Follows: o.Record.Shown(path)}
		if o.try(append(slices.Clone(read), fact)) == nil {
			return []job.Entry{fact}
		}
	}
	return nil
}

// factOf is the fact that a reading answers too; nothing for most.
func (o *opened) factOf(e prove.Expectation) string {
	switch electrode := works.Under("electrodes", e.At); {
	case e.Reading == "Ze":
		return "supply/Ze"
	case e.Reading == "Ipf" && e.At == "supply":
		return "supply/Ipf"
	case e.Reading == "Ipf":
		if b := o.Model.OriginBoard(); b != nil && e.At == b.Record.Name {
			return "supply/Ipf"
		}
	case e.Kind().Name == "RA" && o.Record.Has(electrode):
		return electrode + "/resistance"
	}
	return ""
}

// seenIn returns the entries of what a station's sheet says was seen: one thing
// that is assumed there, or all of them.
func (o *opened) seenIn(form url.Values) ([]job.Entry, error) {
	paths := form["saw"]
	if form.Get("all") != "" {
		paths = form["assumed"]
	}
	var out []job.Entry
	for _, path := range paths {
		if shown := form.Get("saw " + path); shown != o.Record.Now(path).Value {
			return nil, Refuse(http.StatusConflict, "%s is %s by now: look again.", capital(spoken(path)), cmp.Or(o.Record.Now(path).Value, "not known"))
		}
		out = append(out, o.Record.Seen(path)...)
	}
	return out, nil
}
