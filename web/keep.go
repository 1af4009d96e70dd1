package web

// Adding to a journal: what a form asks for is tried first, and kept only if
// the job can say it.

import (
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"maps"
	"mime/multipart"
	"net/http"
	"net/url"
	"slices"
	"strings"

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

// act returns what a form does. Its ID is made when it is sent, from the form,
// who sends it, and what is in it: sent twice it is the same act; another form,
// another value or another person makes another.
func (s *Server) act(r *http.Request, jobID, what string, entries ...job.Entry) store.Act {
	if letters := []rune(what); len(letters) > mostSaid {
		what = string(letters[:mostSaid-1]) + "…" // what was typed stands in its entry, whole
	}
	a := store.Act{ID: s.actID(r, jobID), Job: jobID, What: what, Who: s.Who(r), When: Stamp(s.Now()), Entries: entries}
	if s.Away != nil {
		a.Device = "browser"
	}
	return a.Stamped()
}

// mostSaid is how long the words for an act may be: within the bound of a text.
const mostSaid = 3_000

// actID is the ID of what a request does: it begins the same for all that is
// sent under one key, and ends by what is sent.
func (s *Server) actID(r *http.Request, jobID string) string {
	key := r.PostFormValue("act")
	if key == "" {
		return newID()
	}
	return s.keyID(r, jobID) + sentSum(r)
}

// keyID is by what all acts begin that one account sends to one job under one key.
func (s *Server) keyID(r *http.Request, jobID string) string {
	return digest(s.Who(r), jobID, r.PostFormValue("act"))[:32] + "-"
}

// sentSum tells apart what is sent under one key.
func sentSum(r *http.Request) string {
	parts := []string{r.URL.Path, r.PostFormValue("act")}
	for _, name := range slices.Sorted(maps.Keys(r.PostForm)) {
		if name != "act" && name != "next" && !strings.HasPrefix(name, "pass") { // no trace of a secret goes into an ID
			parts = append(append(parts, name), r.PostForm[name]...)
		}
	}
	if r.MultipartForm != nil {
		for _, name := range slices.Sorted(maps.Keys(r.MultipartForm.File)) {
			for _, head := range r.MultipartForm.File[name] {
				parts = append(parts, name, head.Filename, sumOf(head))
			}
		}
	}
	return digest(parts...)[:16]
}

// sumOf is the SHA-256 of a file that was sent.
func sumOf(head *multipart.FileHeader) string {
	f, err := head.Open()
	if err != nil {
		return ""
	}
	defer f.Close()
	h := sha256.New()
	io.Copy(h, f) // what cannot be read is refused by who reads it
	return hex.EncodeToString(h.Sum(nil))
}

func digest(parts ...string) string {
	h := sha256.New()
	for _, part := range parts {
		fmt.Fprintf(h, "%d:%s", len(part), part)
	}
	return hex.EncodeToString(h.Sum(nil))
}

// keep adds acts to the journal, with when they arrived where this is the
// journal of all, signed where it is a device's.
func (s *Server) keep(ctx context.Context, acts ...store.Act) (int, error) {
	for i := range acts {
		switch {
		case s.Away == nil:
			acts[i].Arrived = Stamp(s.Now())
		case s.Sign != nil:
			acts[i] = s.Sign(ctx, acts[i])
		}
	}
	for _, id := range jobsOf(acts) {
		there, err := s.Store.Acts(ctx, id, 0)
		if err == nil {
			err = store.Within(there, slices.DeleteFunc(slices.Clone(acts), func(a store.Act) bool { return a.Job != id }))
		}
		if err != nil {
			return 0, err
		}
	}
	return s.Store.Keep(ctx, acts...)
}

// jobsOf are the jobs that acts are of, each once.
func jobsOf(acts []store.Act) []string {
	var ids []string
	for _, a := range acts {
		if !slices.Contains(ids, a.Job) {
			ids = append(ids, a.Job)
		}
	}
	return ids
}

// enter tries entries, keeps them and goes on to a page that shows them.
func (s *Server) enter(w http.ResponseWriter, r *http.Request, o *opened, a store.Act, next string) error {
	if i := slices.IndexFunc(o.Acts, func(known store.Act) bool { return known.ID == a.ID }); i >= 0 {
		return s.before(w, r, o, o.Acts[i], next)
	}
	a.Entries = s.corrects(r, o, a.Entries)
	if err := o.try(a.Entries); err != nil {
		return err
	}
	if _, err := s.keep(r.Context(), a); err != nil {
		return err
	}
	return goOn(w, r, next, a.ID)
}

// corrects returns entries that follow what the same person sent from the same
// form before: who goes back to a form and sends it with another value corrects
// what they saw themselves enter.
func (s *Server) corrects(r *http.Request, o *opened, entries []job.Entry) []job.Entry {
	if r.PostFormValue("act") == "" {
		return entries
	}
	begins := s.keyID(r, o.ID)
	for _, a := range o.Acts {
		if !strings.HasPrefix(a.ID, begins) {
			continue
		}
		for _, was := range a.Entries {
			for i, e := range entries {
				if e.Path == was.Path && !slices.Contains(strings.Fields(e.Follows), was.ID) {
					entries[i].Follows = strings.TrimSpace(e.Follows + " " + was.ID)
				}
			}
		}
	}
	return entries
}

// before answers a form that was sent before and kept: it is kept once. Where
// something was entered after it, what was typed does not count now, and the
// person is told so and asked.
func (s *Server) before(w http.ResponseWriter, r *http.Request, o *opened, a store.Act, next string) error {
	for _, e := range a.Entries {
		if !slices.Contains(strings.Fields(o.Record.Shown(e.Path)), e.ID) {
			return &resend{Refuse(http.StatusConflict, "Not entered: the same was entered from this form before, %s, and something was entered after it. %s is now %s.",
				clock(a.When), capital(spoken(e.Path)), cmp.Or(o.Record.Now(e.Path).Value, "not known")), o.seen(r.PostForm)}
		}
	}
	return goOn(w, r, next, a.ID)
}

// seen is a form as it would be if it were drawn now: an act of its own, and
// what it follows is what there is now.
func (o *opened) seen(form url.Values) url.Values {
	out := maps.Clone(form)
	out.Set("act", newID())
	for name := range form {
		switch path, several := strings.CutPrefix(name, "follows "); {
		case several:
			out.Set(name, o.Record.Shown(path))
		case name == "follows":
			out.Set(name, o.Record.Shown(form.Get("path")))
		}
	}
	return out
}

// resend is a refusal after which what was typed may be sent again.
type resend struct {
	error
	form url.Values
}

func (r *resend) Unwrap() error { return r.error }

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
