package web

// The list of jobs, a new job, and a job file brought in.

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"strconv"

	"chargewright/bounds"
	"chargewright/job"
	"chargewright/store"
)

// jobRow is one job in the list.
type jobRow struct {
	ID, Name, Stage, Address string
	Invented                 bool
	Last                     string // when it was last added to
	LastWhat                 string
}

func (s *Server) jobs(w http.ResponseWriter, r *http.Request) error {
	from, _ := strconv.Atoi(r.URL.Query().Get("from")) // anything else is the beginning
	from = max(0, from)
	rows, more, err := s.jobRows(r, from, jobsOnAPage)
	if err != nil {
		return err
	}
	next := ""
	if more {
		next = "/?from=" + whole(from+jobsOnAPage)
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
		Jobs   []jobRow
		Offers []offer
		Named  bool // the person at work is known, or cannot be said here
		Next   string
	}{s.Frame(r, "Jobs"), rows, offers, s.Who(r) != "" || s.SetWho == nil, next})
}

// jobsOnAPage is how many jobs a page shows: each is read for it.
const jobsOnAPage = 50

// jobRows reads as many jobs as are asked for, and says whether there are more.
func (s *Server) jobRows(r *http.Request, from, most int) (rows []jobRow, more bool, err error) {
	list, err := s.Store.Jobs(r.Context())
	if err != nil {
		return nil, false, err
	}
	list = list[min(from, len(list)):]
	if more = len(list) > most; more {
		list = list[:most]
	}
	for _, j := range list {
		if err := r.Context().Err(); err != nil {
			return nil, false, err
		}
		acts, err := s.Store.Acts(r.Context(), j.ID, 0)
		if err != nil {
			return nil, false, err
		}
		rows = append(rows, rowOf(j.ID, acts))
	}
	return rows, more, nil
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
