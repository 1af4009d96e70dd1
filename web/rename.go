package web

// Another name for an item: all that is known of it goes with it, and what
// names it follows.

import (
	"net/http"
	"slices"
	"strings"

	"chargewright/job"
)

func (s *Server) renameItem(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	path, name := r.PostFormValue("item"), strings.Join(strings.Fields(r.PostFormValue("name")), " ")
	list := above(path)
	f := job.FieldAt(list)
	switch {
	case f == nil || !f.List() || f.Of == nil || f.Of.Key == nil || list == photosList || !o.Record.Has(path):
		return notInJob
	case name == "":
		return Refuse(http.StatusUnprocessableEntity, "Say what the %s is to be called.", f.One)
	case slices.Contains(o.Record.Items(list), name):
		return Refuse(http.StatusUnprocessableEntity, "There is a %s of that name already.", f.One)
	}
	to := job.Under(list, name)
	entries, err := o.renamed(list, path, to)
	if err != nil {
		return err
	}
	return s.enter(w, r, o, s.act(r, o.ID, spoken(path)+" is now called "+name, entries...), sheetURL(o.ID, to))
}

// called is what a part will be called that is not there yet.
func (o *opened) called(path string) string {
	if name := noteAbout(path); len(o.Job.PathsOf(name)) == 0 {
		return name
	}
	return path
}

// renamed is the entries that give an item another name.
func (o *opened) renamed(list, from, to string) ([]job.Entry, error) {
	old, name := last(from), last(to)
	entries := o.Record.TakenOut(from)
	// Whoever found a fact out, and when, stays beside it.
	put := func(path, value string, e job.Entry) {
		if list == "instruments" && e.Instrument == old {
			e.Instrument = name
		}
		entries = append(entries, job.Entry{Path: path, Value: value, Who: e.Who, When: e.When, Instrument: e.Instrument, Follows: o.Record.Shown(path)})
	}
	for _, p := range o.Record.Paths() {
		e := o.Record.Now(p)
		rest, own := strings.CutPrefix(p, from)
		own = own && (rest == "" || rest[0] == '/')
		differ := o.Record.Differ(p) != nil
		f := job.FieldAt(p)
		switch {
		case own && differ:
			return nil, Refuse(http.StatusConflict, "Two people entered different values of it. Settle that first.")
		case e.Value == "":
		case own:
			put(to+rest, e.Value, e)
		case p == job.Under("certificate/circuits", old) && list == "circuits":
			put(p, "", e)
			put(job.Under("certificate/circuits", name), e.Value, e)
		case f == nil || !f.Single():
		case f.Name == "about" && (job.Within(p, "judgements") || job.Within(p, "departures")):
			if of := o.Job.PathsOf(e.Value); len(of) == 1 && job.Within(of[0], from) {
				put(p, o.called(to+of[0][len(from):]), e)
			}
		case strings.HasPrefix(p, "notes/") && f.Name == "about", strings.HasPrefix(p, photosList+"/") && f.Name == "of":
			if rest, about := strings.CutPrefix(e.Value, noteAbout(from)); about && (rest == "" || rest[0] == ',') {
				put(p, noteAbout(to)+rest, e)
			}
		case strings.HasPrefix(p, photosList+"/") && f.Name == "of" && partOf(e.Value, noteAbout(from)):
			put(p, noteAbout(to)+strings.TrimPrefix(e.Value, noteAbout(from)), e)
		case list == "supply/main bonding" && e.Value == "bonding to "+old && f.Name == "at":
			put(p, "bonding to "+name, e)
		default:
			value := e.Value
			if lists, _ := o.listsFor(p); value == old && slices.Contains(lists, list) {
				value = name
			}
			if value != e.Value || list == "instruments" && e.Instrument == old {
				put(p, value, e)
			}
		}
	}
	return o.anew(to, entries), nil
}
