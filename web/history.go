package web

// The history of a job: every act, the taking back of one, and two states of
// the job side by side.

import (
	"net/http"
	"slices"
	"strings"

	"chargewright/job"
	"chargewright/store"
)

// actRow is one act in the history.
type actRow struct {
	store.Act
	Undone  bool // another act took it back
	CanUndo bool
	Large   bool // a file brought in: its entries are not listed
}

func (s *Server) history(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	undone := map[string]bool{}
	for _, a := range o.Acts {
		undone[a.Undoes] = true
	}
	var rows []actRow
	for i, a := range o.Acts {
		rows = append(rows, actRow{a, undone[a.ID], i > 0 && !undone[a.ID] && a.Undoes == "" && len(a.Entries) > 0, len(a.Entries) > 20})
	}
	slices.Reverse(rows)
	return render(w, http.StatusOK, "history.html", struct {
		Frame
		Acts []actRow
	}{o.frame(s, r, "History", "more"), rows})
}

// undo takes an act back with a new one: each of its facts returns to what it
// was before, unless something was entered after it.
func (s *Server) undo(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	i := slices.IndexFunc(o.Acts, func(a store.Act) bool { return a.ID == r.PostFormValue("undo") })
	if i < 0 {
		return notInJob
	}
	back := o.Acts[i]
	entries := o.before(back)
	if len(entries) == 0 {
		return Refuse(http.StatusConflict, "Something was entered after it. Take that back first, or enter the fact anew.")
	}
	a := s.act(r, o.ID, "taken back: "+back.What, entries...)
	a.Undoes = back.ID
	return s.enter(w, r, o, a, o.onward(r.PostFormValue("next")))
}

// before returns the entries that put back what stood before an act.
func (o *opened) before(a store.Act) []job.Entry {
	var out []job.Entry
	for _, e := range a.Entries {
		shown := o.Record.Shown(e.Path)
		if !slices.Contains(strings.Fields(shown), e.ID) {
			continue
		}
		was := ""
		follows := strings.Fields(e.Follows)
		for _, before := range o.Record.Made(e.Path) { // the last of what it follows is what counted
			if slices.Contains(follows, before.ID) {
				was = before.Value
			}
		}
		out = append(out, job.Entry{Path: e.Path, Value: was, Follows: shown})
	}
	return out
}

// change is one fact that differs between two states of a job.
type change struct{ Path, Label, Was, Is string }

func (s *Server) compare(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	from, to := o.Acts[0].ID, o.Acts[len(o.Acts)-1].ID
	if v := r.URL.Query().Get("from"); v != "" {
		from = v
	}
	if v := r.URL.Query().Get("to"); v != "" {
		to = v
	}
	return render(w, http.StatusOK, "compare.html", struct {
		Frame
		From, To string
		Acts     []store.Act
		Changes  []change
	}{o.frame(s, r, "Two versions", "more"), from, to, o.Acts, o.changes(from, to)})
}

// changes returns what differs between the job after one act and after another.
func (o *opened) changes(from, to string) []change {
	until := func(id string) *job.Record {
		i := slices.IndexFunc(o.Acts, func(a store.Act) bool { return a.ID == id })
		return store.Record(o.Acts[:i+1])
	}
	was, is := until(from), until(to)
	paths := append(slices.Clone(was.Paths()), is.Paths()...)
	slices.Sort(paths)
	var out []change
	for _, p := range slices.Compact(paths) {
		a, b := was.Now(p).Value, is.Now(p).Value
		if a == b {
			continue
		}
		c := change{p, spoken(p), a, b}
		if f := job.FieldAt(p); f == nil { // an item: there, or not
			c.Was, c.Is = there(a), there(b)
			if c.Was == c.Is {
				continue
			}
		}
		out = append(out, c)
	}
	return out
}

func there(value string) string {
	if value == "" {
		return "not there"
	}
	return "there"
}

// difference is a fact that two people entered differently.
type difference struct {
	Path, Label string
	Entries     []job.Entry
	Follows     string
}

func (s *Server) differences(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	var all []difference
	for _, c := range o.Record.Conflicts() {
		all = append(all, difference{c.Path, spoken(c.Path), c.Entries, o.Record.Shown(c.Path)})
	}
	return render(w, http.StatusOK, "differences.html", struct {
		Frame
		All []difference
	}{o.frame(s, r, "To settle", "next"), all})
}

// settle keeps one of the values that differ, by an entry that follows them all.
func (s *Server) settle(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	path, keep := r.PostFormValue("path"), r.PostFormValue("keep")
	for _, e := range o.Record.Differ(path) {
		if e.ID == keep {
			a := s.act(r, o.ID, "settled: "+spoken(path)+": "+e.Value, o.entry(r, path, e.Value))
			if e.Value != "" {
				a.Entries = append(a.Entries, o.backIn(r, path)...)
			}
			a = a.Stamped()
			return s.enter(w, r, o, a, "/jobs/"+o.ID+"/differences")
		}
	}
	return Refuse(http.StatusUnprocessableEntity, "Choose which of the values is right.")
}
