package web

// Adding to a journal: what a form asks for is tried first, and kept only if
// the job can say it.

import (
	"net/http"

	"chargewright/job"
	"chargewright/store"
)

// entry returns a new entry at a path. It follows what the person saw: what
// the form says was shown, or else what there is now.
func (o *opened) entry(r *http.Request, path, value string) job.Entry {
	follows := o.Record.Shown(path)
	if seen, given := r.PostForm["follows"]; given && r.PostFormValue("path") == path {
		follows = seen[0]
	}
	return job.Entry{Path: path, Value: value, Instrument: r.PostFormValue("instrument"), Follows: follows}
}

// anew returns the entries that put an item in its list, and with them those
// that empty what an item of that name, taken out before, left and the entries
// do not say anew.
func (o *opened) anew(item string, entries []job.Entry) []job.Entry {
	said := map[string]bool{item: true}
	for i, e := range entries {
		said[e.Path] = true
		if e.Follows == "" {
			entries[i].Follows = o.Record.Shown(e.Path)
		}
	}
	for _, e := range o.Record.TakenOut(item) {
		if !said[e.Path] {
			entries = append(entries, e)
		}
	}
	return entries
}

// backIn returns the entries that put back in their lists what a path lies in
// and was taken out.
func (o *opened) backIn(r *http.Request, path string) []job.Entry {
	var out []job.Entry
	for at := above(path); at != ""; at = above(at) {
		if list := job.FieldAt(above(at)); list != nil && list.List() && !o.Record.Has(at) && o.Record.Now(at).Value == "" {
			out = append(out, o.entry(r, at, whole(len(o.Record.Items(above(at)))+1)))
		}
	}
	return out
}

// try returns what would be wrong with the job if the entries were added: only
// what is wrong with them, not what was wrong before or is still missing.
func (o *opened) try(entries []job.Entry) error {
	_, err := job.Merge(o.Record, job.NewRecord(entries...)).Job("")
	after, _ := err.(job.Problems)
	type what struct{ field, found, want string }
	had := map[what]int{}
	for _, p := range o.Faults {
		had[what{p.Field, p.Found, p.Want}]++
	}
	var fresh job.Problems
	for _, p := range after {
		w := what{p.Field, p.Found, p.Want}
		if had[w]--; had[w] < 0 && !p.Unfinished() {
			p.Field = ""
			fresh = append(fresh, p)
		}
	}
	if len(fresh) > 0 {
		return fresh
	}
	return nil
}

// act returns what a form does, under the ID that was made with the form, so
// that sending it twice does it once.
func (s *Server) act(r *http.Request, jobID, what string, entries ...job.Entry) store.Act {
	id := r.PostFormValue("act")
	if id == "" {
		id = newID()
	}
	a := store.Act{ID: id, Job: jobID, What: what, Who: s.Who(r), When: Stamp(s.Now()), Entries: entries}
	if s.Away != nil {
		a.Device = "browser"
	}
	return a.Stamped()
}

// enter tries entries, keeps them and goes on to a page that shows them.
func (s *Server) enter(w http.ResponseWriter, r *http.Request, o *opened, a store.Act, next string) error {
	if err := o.try(a.Entries); err != nil {
		return err
	}
	if _, err := s.Store.Keep(r.Context(), a); err != nil {
		return err
	}
	return goOn(w, r, next, a.ID)
}

// goOn sends the browser to the next page, which says what was done.
func goOn(w http.ResponseWriter, r *http.Request, next, done string) error {
	sep := "?"
	for _, c := range next {
		if c == '?' {
			sep = "&"
		}
	}
	http.Redirect(w, r, next+sep+"done="+done, http.StatusSeeOther)
	return nil
}
