package web

// A job opened for one request: its journal folded, checked and predicted.

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"time"

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

	now    time.Time           // when it was asked for
	all    []element           // that have a sheet; see elements
	sheets map[string]int      // where each stands among them
	runs   []*stretch          // see line
	wants  *[]string           // see wanted
	same   map[string][]string // see alike
}

// open reads the journal of the job that a request is about.
func (s *Server) open(r *http.Request) (*opened, error) {
	id := r.PathValue("job")
	acts, err := s.Store.Acts(r.Context(), id, 0)
	if err != nil {
		return nil, err
	}
	if len(acts) == 0 {
		return nil, Refuse(http.StatusNotFound, "No job of that number is here. If it was opened on another device, open it here once while the server can be "+
			"reached.")
	}
	o, err := foldWhile(r.Context(), id, acts)
	if err == nil {
		o.now = s.Now()
	}
	return o, err
}

// fold reads acts together as a job.
func fold(id string, acts []store.Act) (*opened, error) {
	return foldWhile(context.Background(), id, acts)
}

// foldWhile does so for who waits for it: what is left half-way is no job.
func foldWhile(ctx context.Context, id string, acts []store.Act) (*opened, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	o := &opened{ID: id, Acts: acts, Record: store.Record(acts)}
	var err error
	o.Job, err = o.Record.Job("")
	if err != nil && !errors.As(err, &o.Faults) {
		return nil, fmt.Errorf("read the job: %w", err)
	}
	o.unsettled()
	rules, err := standard.Open(o.Job.Edition)
	if err != nil {
		return nil, Refuse(http.StatusUnprocessableEntity, "The rules of %s are not held here: %v", o.Job.Edition, err)
	}
	o.Model = model.New(o.Job, rules)
	o.Model.While = ctx
	o.Found = design.Check(o.Model)
	o.Expected = prove.Expect(o.Model)
	return o, ctx.Err()
}

// frame is the frame of a page about the job.
func (o *opened) frame(s *Server, r *http.Request, title, here string) Frame {
	f := s.Frame(r, title)
	f.Here, f.Job, f.Name, f.Invented = here, o.ID, o.Job.Name, o.Job.Invented
	f.Edition, f.Stage, f.Faults = string(o.Job.Edition), string(o.stage()), o.Faults
	f.Differences = len(o.Record.Conflicts())
	f.Rail, f.Saved = o.line(), savedSaid(o.Acts[len(o.Acts)-1].When, s.Now())
	for _, e := range o.Expected {
		if f.Read++; e.Taken != "" {
			f.Taken++
		}
	}
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

// savedSaid is when a job was last added to: the time today, the day before.
func savedSaid(when string, now time.Time) string {
	t, err := time.Parse(time.RFC3339, when)
	switch {
	case err != nil:
		return clock(when)
	case t.UTC().Format(time.DateOnly) == now.UTC().Format(time.DateOnly):
		return "saved " + t.UTC().Format("15:04")
	}
	return "saved " + t.UTC().Format("2 Jan")
}
