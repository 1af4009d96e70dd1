package web

// A job opened for one request: its journal folded, checked and predicted.

import (
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"chargewright/design"
	"chargewright/finding"
	"chargewright/job"
	"chargewright/model"
	"chargewright/prove"
	"chargewright/standard"
	"chargewright/store"
)

// opened is a job as one request sees it.
type opened struct {
	ID       string
	Acts     []store.Act
	Record   *job.Record
	Job      *job.Job
	Faults   job.Problems
	Model    *model.Model
	Found    []finding.Finding
	Expected []prove.Expectation
	said     *facts
}

// open reads the journal of the job that a request is about.
func (s *Server) open(r *http.Request) (*opened, error) {
	id := r.PathValue("job")
	acts, err := s.Store.Acts(r.Context(), id, 0)
	if err != nil {
		return nil, err
	}
	if len(acts) == 0 {
		return nil, refuse(http.StatusNotFound, "No job of that number is here. If it was opened on another device, open it here once while the server can be reached.")
	}
	return fold(id, acts)
}

// fold reads acts together as a job.
func fold(id string, acts []store.Act) (*opened, error) {
	o := &opened{ID: id, Acts: acts, Record: store.Record(acts)}
	var err error
	o.Job, err = o.Record.Job("")
	if err != nil && !errors.As(err, &o.Faults) {
		return nil, fmt.Errorf("read the job: %w", err)
	}
	o.unsettled()
	rules, err := standard.Open(o.Job.Edition)
	if err != nil {
		return nil, refuse(http.StatusUnprocessableEntity, "The rules of %s are not held here: %v", o.Job.Edition, err)
	}
	o.Model = model.New(o.Job, rules)
	o.Found = design.Check(o.Model)
	o.Expected = prove.Expect(o.Model)
	return o, nil
}

// facts returns what the entries say, put in order when it is first asked for.
func (o *opened) facts() facts {
	if o.said == nil {
		f := factsOf(o.Record)
		o.said = &f
	}
	return *o.said
}

// frame is the frame of a page about the job.
func (o *opened) frame(s *Server, r *http.Request, title, here string) frame {
	f := s.frame(r, title)
	f.Here, f.Job, f.Name, f.Invented = here, o.ID, o.Job.Name, o.Job.Invented
	f.Edition, f.Stage, f.Faults = string(o.Job.Edition), string(o.Job.Stage), o.Faults
	f.Differences = len(o.facts().differ)
	if f.Name == "" {
		f.Name = "job without a name"
	}
	if done := r.URL.Query().Get("done"); done != "" {
		for i := range o.Acts {
			if o.Acts[i].ID == done {
				f.Done = &o.Acts[i]
			}
		}
	}
	return f
}

// facts is what the entries of a job say, path by path.
type facts struct {
	now    map[string]job.Entry
	differ map[string][]job.Entry
	paths  []string
}

func factsOf(r *job.Record) facts {
	f := facts{now: map[string]job.Entry{}, differ: map[string][]job.Entry{}}
	followed := map[string]bool{}
	all := r.Entries()
	for _, e := range all {
		for _, id := range strings.Fields(e.Follows) {
			followed[id] = true
		}
	}
	for _, e := range all { // by path, and then in the order they were made
		if _, seen := f.now[e.Path]; !seen {
			f.paths = append(f.paths, e.Path)
			f.now[e.Path] = e
		}
		if !followed[e.ID] {
			f.now[e.Path] = e
		}
	}
	for _, c := range r.Conflicts() {
		f.differ[c.Path] = c.Entries
		f.now[c.Path] = c.Entries[len(c.Entries)-1]
	}
	return f
}

// items returns the names of the items of a list that have not been taken out,
// in their order.
func (f facts) items(list string) []string {
	type item struct {
		name  string
		place int
		when  string
	}
	var found []item
	seen := map[string]bool{}
	for _, p := range f.paths {
		rest, ok := strings.CutPrefix(p, list+"/")
		if !ok {
			continue
		}
		name, _, _ := strings.Cut(rest, "/")
		if seen[name] {
			continue
		}
		seen[name] = true
		it := item{name: job.NamesOf(name)[0], place: 1 << 30, when: f.now[p].When}
		if e, own := f.now[list+"/"+name]; own {
			if strings.TrimSpace(e.Value) == "" {
				continue
			}
			if n, err := strconv.Atoi(e.Value); err == nil {
				it.place = n
			}
		}
		found = append(found, it)
	}
	slices.SortStableFunc(found, func(a, b item) int {
		if a.place != b.place {
			return a.place - b.place
		}
		return strings.Compare(a.when, b.when)
	})
	out := make([]string, len(found))
	for i, it := range found {
		out[i] = it.name
	}
	return out
}

// has reports that a path's item, and every item it lies in, is in its list.
func (f facts) has(path string) bool {
	all := job.NamesOf(path)
	at := ""
	s := published
	for i := 0; i < len(all); i++ {
		d := s.named(all[i])
		if d == nil {
			return false
		}
		at = job.Under(at, all[i])
		if d.List && i+1 < len(all) {
			i++
			if !slices.Contains(f.items(at), all[i]) {
				return false
			}
			at = job.Under(at, all[i])
		}
		if s = d.Of; s == nil {
			break
		}
	}
	return true
}
