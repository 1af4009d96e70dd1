package web

// The journal and what it says as JSON for a program: versioned, described by an
// OpenAPI document, errors as problem details (RFC 9457). What else the pages
// answer, the commands answer with --json.

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"net/http"
	"strconv"
	"strings"
	"time"

	"chargewright/bounds"
	"chargewright/finding"
	"chargewright/job"
	"chargewright/store"
)

// endpoint is one line of the list of addresses, and of the OpenAPI document.
type endpoint struct {
	Method, Path string
	Summary      string
	Takes, Gives any // a value whose shape is the body's, or a media type
	answer       func(http.ResponseWriter, *http.Request) error
}

// api is every address there is: jobs with what they say and what comes of it,
// and the journal with its photos, which devices keep alike.
func (s *Server) api() []endpoint {
	const jobs, job = "/api/v1/jobs", "/api/v1/jobs/{job}"
	return []endpoint{
		{"GET", "/api/v1/openapi.json", "This description", nil, "application/json", s.apiDescription},
		{"GET", "/api/v1/me", "Who is at work, and whether the key of a device is known as theirs", nil, me{}, s.apiMe},
		{"GET", jobs, "The jobs, the one added to last first", nil, jobList{}, s.apiJobs},
		{"POST", jobs, "Begin a job from a job file", "application/yaml", begun{}, s.apiNewJob},
		{"GET", job, "What a job's entries say, fact by fact", nil, jobFacts{}, s.apiJob},
		{"GET", job + "/check", "Every rule the job touches, checked", nil, finding.Report{}, s.apiCheck},
		{"GET", job + "/acts", "The journal of a job after a place", nil, actList{}, s.apiActs},
		{"POST", "/api/v1/acts", "Acts made elsewhere, in order; those kept already are left as they are", actList{}, actsKept{}, s.apiKeep},
		{"GET", job + "/photos", "The photos of a job, and which are chosen for its papers", nil, photoList{}, s.apiPhotos},
		{"GET", job + "/photos/{photo}", "One photo as it was taken, by its name or by the act that brought it", nil, "image/*", s.apiPhoto},
	}
}

// What is taken and given, as JSON.
type (
	me struct {
		Who     string `json:"who"`
		Account bool   `json:"account"` // the name comes from an account
		Signs   bool   `json:"signs"`   // a device of theirs may sign what is entered on it
		Known   bool   `json:"known"`   // and the key that was asked about is known as theirs
		AwayFor int64  `json:"awayFor"` // seconds for which a device may be used without the server; 0 for no end
	}
	jobList struct {
		Jobs []listedJob `json:"jobs"`
	}
	listedJob struct {
		ID       string `json:"id"`
		Name     string `json:"name"`
		Stage    string `json:"stage"`
		Address  string `json:"address"`
		Invented bool   `json:"invented"`
	}
	jobFacts struct {
		ID          string         `json:"id"`
		Name        string         `json:"name"`
		Edition     string         `json:"edition"`
		Stage       string         `json:"stage"`
		Invented    bool           `json:"invented"`
		Facts       []job.Entry    `json:"facts"`
		Differences []job.Conflict `json:"differences"`
		Faults      []string       `json:"faults"`
	}
	actList struct {
		Acts []store.Act `json:"acts"`
	}
	actsKept struct {
		Kept  int `json:"kept"`
		Known int `json:"known"`
	}
	photoList struct {
		Photos []photoOut `json:"photos"`
	}
	// begun is the answer to a job brought in.
	begun struct {
		Act string `json:"act"`
		Job string `json:"job"`
	}
)

// Data turns a handler that returns errors into one that answers them as
// problem details.
func (s *Server) Data(h func(http.ResponseWriter, *http.Request) error) http.Handler {
	return s.guarded(h, func(w http.ResponseWriter, r *http.Request, _ error, status int, lines []string) {
		w.Header().Set("Content-Type", "application/problem+json")
		w.WriteHeader(status)
		json.NewEncoder(w).Encode(problem{http.StatusText(status), status, strings.Join(lines, "\n"), r.URL.Path})
	})
}

// problem is an error as RFC 9457 writes it; the type is about:blank.
type problem struct {
	Title    string `json:"title"`
	Status   int    `json:"status"`
	Detail   string `json:"detail"`
	Instance string `json:"instance"`
}

// Give writes a value as JSON.
func Give(w http.ResponseWriter, status int, v any) error {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	if err := e.Encode(v); err != nil {
		return err
	}
	w.Header().Set("Content-Type", "application/json")
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(status)
	_, err := w.Write(b.Bytes())
	return err
}

// take reads a value from JSON, and refuses what it does not know.
func take(r *http.Request, v any) error {
	d := json.NewDecoder(r.Body)
	d.DisallowUnknownFields()
	if err := d.Decode(v); err != nil {
		return Refuse(http.StatusBadRequest, "The body is not the JSON that is wanted: %v", err)
	}
	return nil
}

func (s *Server) apiMe(w http.ResponseWriter, r *http.Request) error {
	p, key := PersonOf(r), r.URL.Query().Get("key")
	out := me{Who: s.Who(r), Account: p != nil, AwayFor: int64(s.AwayFor / time.Second), Signs: p != nil && s.SignerOf != nil && p.Role != Office}
	if p != nil && s.SignerOf != nil && key != "" {
		whose, err := s.SignerOf(r.Context(), key)
		if err != nil && !errors.Is(err, store.ErrNotFound) {
			return err
		}
		out.Known = err == nil && whose == p.Name
	}
	return Give(w, http.StatusOK, out)
}

func (s *Server) apiJobs(w http.ResponseWriter, r *http.Request) error {
	rows, err := s.jobRows(r)
	if err != nil {
		return err
	}
	out := []listedJob{}
	for _, row := range rows {
		out = append(out, listedJob{row.ID, row.Name, row.Stage, row.Address, row.Invented})
	}
	return Give(w, http.StatusOK, jobList{out})
}

func (s *Server) apiNewJob(w http.ResponseWriter, r *http.Request) error {
	text, err := io.ReadAll(r.Body)
	if err != nil {
		return err
	}
	a, err := s.fileAct(r, "job begun", text)
	if err == nil {
		_, err = s.keep(r.Context(), a)
	}
	if err != nil {
		return err
	}
	return Give(w, http.StatusCreated, begun{a.ID, a.Job})
}

func (s *Server) apiJob(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	facts, differ := []job.Entry{}, []job.Conflict{}
	for _, p := range o.Record.Paths() {
		if o.Record.Now(p).Value != "" {
			facts = append(facts, o.Record.Now(p))
		}
	}
	differ = append(differ, o.Record.Conflicts()...)
	faults := []string{}
	for _, f := range o.Faults {
		faults = append(faults, f.Error())
	}
	return Give(w, http.StatusOK, jobFacts{o.ID, o.Job.Name, string(o.Job.Edition), string(o.Job.Stage), o.Job.Invented, facts, differ, faults})
}

func (s *Server) apiActs(w http.ResponseWriter, r *http.Request) error {
	after, err := strconv.ParseInt(r.URL.Query().Get("after"), 10, 64)
	if err != nil && r.URL.Query().Has("after") {
		return Refuse(http.StatusBadRequest, "after is a place in the journal, a whole number.")
	}
	acts, err := s.Store.Acts(r.Context(), r.PathValue("job"), after)
	if err != nil {
		return err
	}
	if acts == nil {
		acts = []store.Act{}
	}
	return Give(w, http.StatusOK, actList{acts})
}

func (s *Server) apiKeep(w http.ResponseWriter, r *http.Request) error {
	var in actList
	if err := take(r, &in); err != nil {
		return err
	}
	if err := store.Check(in.Acts); err != nil {
		var passed *bounds.Passed
		if errors.As(err, &passed) {
			return err
		}
		return Refuse(http.StatusUnprocessableEntity, "%v", err)
	}
	if err := s.speak(r, in.Acts); err != nil {
		return err
	}
	n, err := s.keep(r.Context(), in.Acts...)
	if err != nil {
		return err
	}
	return Give(w, http.StatusOK, actsKept{n, len(in.Acts) - n})
}

func (s *Server) apiCheck(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	return Give(w, http.StatusOK, finding.Report{Job: o.Job.Name, Edition: string(o.Job.Edition), Findings: o.Found})
}
