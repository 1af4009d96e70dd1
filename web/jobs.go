package web

// The list of jobs, a new job, and a job file brought in.

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"chargewright/bounds"
	"chargewright/job"
	"chargewright/store"
	"chargewright/trade"
)

// jobsOnAPage is how many jobs are shown at a time.
const jobsOnAPage = 50

// waitsFor is what jobs of each rank wait for, the most urgent first.
var waitsFor = []struct{ Key, Label string }{
	{"fails", "fail"}, {"look", "to look at"}, {"read", "to read"}, {"judge", "to judge"}, {"sign", "to sign"}, {"issue", "ready"},
}

// shownJobs is the part of the list that is asked for.
type shownJobs struct {
	Q, Stage, Who, Waits string
	Rows                 []store.Listed
	Stages               []string
	Groups               []waiting
	More                 string // address of the next page
	All                  int
}

// waiting is how many jobs wait for one thing.
type waiting struct {
	Key, Label string
	N          int
	Chosen     bool
}

// list reads the page of the list that is asked for.
func (s *Server) list(r *http.Request) (*shownJobs, error) {
	q := r.URL.Query()
	l := &shownJobs{Q: strings.TrimSpace(q.Get("q")), Stage: q.Get("stage"), Who: q.Get("who"), Waits: q.Get("waits"), Stages: trade.Stage("").Values()}
	w := store.Wanted{Words: l.Q, Stage: l.Stage, Who: l.Who, Rank: -1, Most: jobsOnAPage + 1}
	w.Before, _ = strconv.ParseInt(q.Get("before"), 10, 64)
	for i, g := range waitsFor {
		if g.Key == l.Waits {
			w.Rank = i
		}
	}
	keeps, can := s.Store.(store.Lister)
	if !can {
		keeps = s.lister(r.Context())
	}
	count, err := keeps.Count(r.Context())
	if err != nil {
		return nil, err
	}
	for i, g := range waitsFor {
		if count[i] > 0 {
			l.Groups = append(l.Groups, waiting{g.Key, g.Label, count[i], g.Key == l.Waits})
		}
	}
	for _, n := range count {
		l.All += n
	}
	if l.Rows, err = keeps.List(r.Context(), w); err != nil {
		return nil, err
	}
	if len(l.Rows) > jobsOnAPage {
		l.Rows = l.Rows[:jobsOnAPage]
		q.Set("before", strconv.FormatInt(l.Rows[jobsOnAPage-1].Last, 10))
		l.More = "/?" + q.Encode()
	}
	return l, nil
}

// lister lists the jobs of a journal that keeps no list: those of a device.
func (s *Server) lister(ctx context.Context) store.Lister {
	m := store.NewMemory()
	jobs, err := s.Store.Jobs(ctx)
	for i := len(jobs) - 1; i >= 0 && err == nil; i-- {
		var acts []store.Act
		if acts, err = s.Store.Acts(ctx, jobs[i].ID, 0); err == nil {
			_, err = m.Keep(ctx, acts...)
		}
	}
	if err != nil {
		s.Log.Error("list the jobs", "err", err)
	}
	return m
}

// note keeps what the list shows of a job that was opened, where it was added
// to since it was opened last.
func (s *Server) note(r *http.Request, o *opened) {
	keeps, can := s.Store.(store.Lister)
	if !can {
		return
	}
	end := o.Acts[len(o.Acts)-1]
	l := store.Listed{Job: o.ID, Last: end.Place, Noted: end.Place, At: end.When, Who: end.Who, What: end.What, Name: o.Job.Name, Address: o.Job.Site.Address,
		Client: o.Job.Site.Client, Stage: string(o.stage()), Invented: o.Job.Invented}
	say := o.saying(s, r)
	l.Waits, l.Rank = say.State, slices.IndexFunc(waitsFor, func(g struct{ Key, Label string }) bool { return g.Key == say.Kind })
	if err := keeps.Opened(r.Context(), l); err != nil {
		s.Log.Error("keep the list of jobs", "job", o.ID, "err", err)
	}
}

// stage is how far a job has come: as somebody said, or further by what was done.
func (o *opened) stage() trade.Stage {
	all := trade.Stage("").Values()
	at := max(slices.Index(all, string(o.Job.Stage)), 0)
	reached := func(stage string) { at = max(at, slices.Index(all, stage)) }
	for _, r := range o.Job.Readings {
		if k := r.Kind(); k != nil {
			reached(map[bool]string{true: "dead", false: "live"}[k.Dead])
		}
	}
	for i := range o.Job.Runs {
		if r := &o.Job.Runs[i]; r.Program == trade.Commissioning && !r.Trained() {
			reached("commission")
		}
	}
	if len(o.Job.Certificate.Sign) > 0 {
		reached("hand over")
	}
	return trade.Stage(all[at])
}

// jobRow is one job as a program is told of it.
type jobRow struct {
	ID, Name, Stage, Address string
	Invented                 bool
	Last                     string // when it was last added to
	LastWhat                 string
}

func (s *Server) jobs(w http.ResponseWriter, r *http.Request) error {
	all, err := s.list(r)
	if err != nil {
		return err
	}
	past, err := s.past(r.Context(), s.Who(r))
	if err != nil {
		return err
	}
	offers, err := s.offers(past)
	if err != nil {
		return err
	}
	return render(w, http.StatusOK, "jobs.html", struct {
		Frame
		List   *shownJobs
		Offers []offer
		Named  bool // the person at work is known, or cannot be said here
	}{s.Frame(r, "Jobs"), all, offers, s.Who(r) != "" || s.SetWho == nil})
}

// jobRows reads every job: for a program.
func (s *Server) jobRows(r *http.Request) (rows []jobRow, err error) {
	list, err := s.Store.Jobs(r.Context())
	if err != nil {
		return nil, err
	}
	for _, j := range list {
		if err := r.Context().Err(); err != nil {
			return nil, err
		}
		acts, err := s.Store.Acts(r.Context(), j.ID, 0)
		if err != nil {
			return nil, err
		}
		rows = append(rows, rowOf(j.ID, acts))
	}
	return rows, nil
}

// rowOf reads only the facts that the list shows.
func rowOf(id string, acts []store.Act) jobRow {
	var few []job.Entry
	for _, a := range acts {
		for _, e := range a.Entries {
			switch e.Path {
			case "job", "stage", "invented", "site/address":
				few = append(few, e)
			}
		}
	}
	r := job.NewRecord(few...)
	end := acts[len(acts)-1]
	row := jobRow{ID: id, Name: r.Now("job").Value, Stage: r.Now("stage").Value, Address: r.Now("site/address").Value,
		Invented: r.Now("invented").Value == "yes", Last: clock(end.When), LastWhat: end.What}
	if row.Name == "" {
		row.Name = "job without a name"
	}
	return row
}

// bringJob begins a job from a job file, or from one with its photos.
func (s *Server) bringJob(w http.ResponseWriter, r *http.Request) error {
	inMemory := int64(mostInMemory)
	if s.Away != nil {
		inMemory = mostParcel // a browser has no folder for what is on its way
	}
	if err := r.ParseMultipartForm(inMemory); err != nil && !errors.Is(err, http.ErrNotMultipart) {
		return fmt.Errorf("read the form: %w", err)
	}
	f, head, err := r.FormFile("file")
	if err != nil {
		return Refuse(http.StatusUnprocessableEntity, "Choose a job file first.")
	}
	defer f.Close()
	begins := make([]byte, len(zipBeginsWith))
	if n, _ := f.ReadAt(begins, 0); string(begins[:n]) == zipBeginsWith {
		acts, err := s.parcelActs(r, "job file brought in with its photos", f, head.Size)
		if err != nil {
			return err
		}
		return s.begin(w, r, acts...)
	}
	if err := bounds.JobFile.Hold(int(head.Size), ""); err != nil {
		return err
	}
	text, err := io.ReadAll(f)
	if err != nil {
		return Refuse(http.StatusUnprocessableEntity, "The file could not be read.")
	}
	return s.beginFrom(w, r, "job file brought in", bytes.TrimSpace(text))
}

func (s *Server) beginFrom(w http.ResponseWriter, r *http.Request, what string, text []byte) error {
	a, err := s.fileAct(r, what, text)
	if err != nil {
		return err
	}
	return s.begin(w, r, a)
}

func (s *Server) begin(w http.ResponseWriter, r *http.Request, acts ...store.Act) error {
	if _, err := s.keep(r.Context(), acts...); err != nil {
		return err
	}
	http.Redirect(w, r, "/jobs/"+acts[0].Job, http.StatusSeeOther)
	return nil
}

// fileAct is a job file as the first act of a new job.
func (s *Server) fileAct(r *http.Request, what string, text []byte) (store.Act, error) {
	f, err := job.ReadRecord("", text)
	if err != nil {
		return store.Act{}, err
	}
	a := s.act(r, "", what)
	a.Job, a.Entries = a.ID, f.Record().Entries()
	if p := PersonOf(r); p != nil { // who brings a file in speaks, whomever it names
		a = a.SpokenBy(p.Name, job.NewRecord())
	}
	return a, nil
}

// Bring begins a job from a job file that no request brought.
func (s *Server) Bring(ctx context.Context, text []byte) error {
	f, err := job.ReadRecord("", text)
	if err != nil {
		return err
	}
	id := newID()
	_, err = s.keep(ctx, store.Act{ID: id, Job: id, What: "job file brought in", When: Stamp(s.Now()), Entries: f.Record().Entries()})
	return err
}
