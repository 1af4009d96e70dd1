package web

// Another name for an item: all that is known of it goes with it, and what
// names it follows.

import (
	"net/http"
	"slices"
	"strings"

	"chargewright/job"
	"chargewright/works"
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
	to := works.Under(list, name)
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
		own := works.Within(p, from)
		differ := o.Record.Differ(p) != nil
		f := job.FieldAt(p)
		switch {
		case own && differ:
			return nil, Refuse(http.StatusConflict, "Two people entered different values of it. Settle that first.")
		case e.Value == "":
		case own:
			put(to+p[len(from):], e.Value, e)
		case p == works.Under("certificate/circuits", old) && list == "circuits":
			put(p, "", e)
			put(works.Under("certificate/circuits", name), e.Value, e)
		case f == nil || !f.Single():
		case f.Name == "about" && (works.Within(p, "judgements") || works.Within(p, "departures")):
			if of := o.Job.PathsOf(e.Value); len(of) == 1 && works.Within(of[0], from) {
				put(p, o.called(to+of[0][len(from):]), e)
			}
		case f.Name == "about" && works.Within(p, "notes"), f.Name == "of" && works.Within(p, photosList):
			of := o.Job.PathsOf(e.Value)
			if i := slices.IndexFunc(of, func(part string) bool { return works.Within(part, from) && noteAbout(part) == e.Value }); i >= 0 {
				put(p, noteAbout(to+of[i][len(from):]), e)
			}
		case list == "supply/main bonding" && e.Value == (&works.Bonding{To: old}).Thing().Name && f.Name == "at":
			put(p, (&works.Bonding{To: name}).Thing().Name, e)
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
