package web

// The same facts as JSON for a program: versioned, described by an OpenAPI
// document, errors as problem details (RFC 9457), entity tags for what was
// seen, idempotency keys for what is done.

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"strconv"
	"strings"

	"chargewright/finding"
	"chargewright/job"
	"chargewright/prove"
	"chargewright/store"
)

// endpoint is one line of the list of addresses, and of the OpenAPI document.
type endpoint struct {
	Method, Path string
	Summary      string
	Takes, Gives any // a value whose shape is the body's, or a media type
	answer       func(http.ResponseWriter, *http.Request) error
}

// api is every address there is: the journal and its photos, for the phone, and
// what a program needs to enter a job's facts and to read what comes of them.
func (s *Server) api() []endpoint {
	const jobs, job = "/api/v1/jobs", "/api/v1/jobs/{job}"
	return []endpoint{
		{"GET", "/api/v1/openapi.json", "This description", nil, "application/json", s.apiDescription},
		{"GET", "/api/v1/me", "Who is at work", nil, me{}, s.apiMe},
		{"GET", jobs, "The jobs, the one added to last first", nil, jobList{}, s.apiJobs},
		{"POST", jobs, "Begin a job, from a name, from a job file (application/yaml) or from one with its photos (application/zip)",
			newJob{}, done{}, s.apiNewJob},
		{"GET", job, "What a job's entries say, fact by fact", nil, jobFacts{}, s.apiJob},
		{"GET", job + "/file", "The job as a job file", nil, "application/yaml", s.jobFile},
		{"GET", job + "/parcel", "The job file with its photos, as one ZIP", nil, "application/zip", s.parcel},
		{"GET", job + "/acts", "The journal of a job after a place", nil, actList{}, s.apiActs},
		{"POST", "/api/v1/acts", "Acts made elsewhere, in order; those kept already are left as they are", actList{}, actsKept{}, s.apiKeep},
		{"POST", job + "/entries", "Enter facts in one act", newEntries{}, done{}, s.apiEnter},
		{"POST", job + "/readings", "Enter a reading", newReading{}, done{}, s.apiReading},
		{"GET", job + "/check", "Every rule the job touches, checked", nil, finding.Report{}, s.apiCheck},
		{"GET", job + "/expect", "What each reading should be", nil, expectations{}, s.apiExpect},
		{"GET", job + "/papers", "The papers that can be made", nil, paperList{}, s.apiPapers},
		{"GET", job + "/papers/{name}", "One paper", nil, "application/octet-stream", s.paper},
		{"GET", job + "/photos", "The photos of a job, and which are chosen for its papers", nil, photoList{}, s.apiPhotos},
		{"GET", job + "/photos/{photo}", "One photo as it was taken, by its name or by the act that brought it", nil, "image/*", s.apiPhoto},
	}
}

// What is taken and given, as JSON.
type (
	me struct {
		Who string `json:"who"`
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
	newJob struct {
		Name string `json:"name"`
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
	newEntries struct {
		What    string     `json:"what,omitempty"`
		Entries []newEntry `json:"entries"`
	}
	newEntry struct {
		Path       string `json:"path"`
		Value      string `json:"value"`
		Instrument string `json:"instrument,omitempty"`
	}
	newReading struct {
		At          string `json:"at"`
		Reading     string `json:"reading"`
		Value       string `json:"value"`
		Instrument  string `json:"instrument,omitempty"`
		Function    string `json:"function,omitempty"`
		LeadsNulled *bool  `json:"leadsNulled,omitempty"`
		Temperature string `json:"temperature,omitempty"`
		Note        string `json:"note,omitempty"`
	}
	expectations prove.Report // beside the findings' report, which has the same name
	paperList    struct {
		Papers []string `json:"papers"`
	}
	photoList struct {
		Photos []photoOut `json:"photos"`
	}
	// done is the answer to something entered.
	done struct {
		Act string `json:"act"`
		Job string `json:"job"`
	}
)

// Data is Page for a program: errors are answered as problem details.
func (s *Server) Data(h func(http.ResponseWriter, *http.Request) error) http.Handler {
	return s.data(h)
}

// data turns a handler that returns errors into one that answers them as
// problem details.
func (s *Server) data(h func(http.ResponseWriter, *http.Request) error) http.Handler {
	return s.guarded(h, func(w http.ResponseWriter, r *http.Request, status int, lines []string) {
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
func Give(w http.ResponseWriter, status int, v any) error { return give(w, status, v) }

// give writes a value as JSON.
func give(w http.ResponseWriter, status int, v any) error {
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
		return refuse(http.StatusBadRequest, "The body is not the JSON that is wanted: %v", err)
	}
	return nil
}

// tag is the entity tag of a job: the place of its newest act.
func (o *opened) tag() string {
	return `"` + strconv.FormatInt(o.Acts[len(o.Acts)-1].Place, 10) + "-" + version + `"`
}

// fresh answers what the caller has already, and refuses a change to what the
// caller has not seen.
func (o *opened) fresh(w http.ResponseWriter, r *http.Request) (done bool, err error) {
	w.Header().Set("ETag", o.tag())
	if want := r.Header.Get("If-Match"); want != "" && want != "*" && want != o.tag() {
		return true, refuse(http.StatusPreconditionFailed, "The job has been added to since it was read: read it again.")
	}
	if r.Method == http.MethodGet && r.Header.Get("If-None-Match") == o.tag() {
		w.WriteHeader(http.StatusNotModified)
		return true, nil
	}
	return false, nil
}

// toRead opens the job that a program asks about. Over says that it is answered:
// the caller has that state already, or asked for one that is past.
func (s *Server) toRead(w http.ResponseWriter, r *http.Request) (o *opened, over bool, err error) {
	if o, err = s.open(r); err == nil {
		over, err = o.fresh(w, r)
	}
	return o, over, err
}

// toChange opens the job that a program adds to.
func (s *Server) toChange(w http.ResponseWriter, r *http.Request) (o *opened, over bool, err error) {
	if err := keyed(r); err != nil {
		return nil, false, err
	}
	return s.toRead(w, r)
}

func (s *Server) apiMe(w http.ResponseWriter, r *http.Request) error {
	return give(w, http.StatusOK, me{s.Who(r)})
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
	return give(w, http.StatusOK, jobList{out})
}

// keyed puts an idempotency key where a form has the ID of its act.
func keyed(r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return refuse(http.StatusBadRequest, "The query cannot be read.")
	}
	r.PostForm = map[string][]string{}
	if key := r.Header.Get("Idempotency-Key"); key != "" {
		r.PostForm.Set("act", key)
	}
	r.Form = r.PostForm
	return nil
}

func (s *Server) apiNewJob(w http.ResponseWriter, r *http.Request) error {
	if err := keyed(r); err != nil {
		return err
	}
	var text []byte
	switch kind := r.Header.Get("Content-Type"); {
	case strings.HasPrefix(kind, "application/zip"):
		whole, err := io.ReadAll(r.Body)
		if err != nil {
			return fmt.Errorf("read the ZIP: %w", err)
		}
		acts, err := s.parcelActs(r, "job begun with its photos", bytes.NewReader(whole), int64(len(whole)))
		if err != nil {
			return err
		}
		return s.apiDone(w, r, acts...)
	case strings.HasPrefix(kind, "application/yaml"):
		var err error
		if text, err = io.ReadAll(io.LimitReader(r.Body, mostJobFile+1)); err != nil {
			return refuse(http.StatusBadRequest, "The job file could not be read.")
		}
	default:
		var in newJob
		if err := take(r, &in); err != nil {
			return err
		}
		text = job.Starter(in.Name)
	}
	a, err := s.fileAct(r, "job begun", text)
	if err != nil {
		return err
	}
	return s.apiDone(w, r, a)
}

func (s *Server) apiDone(w http.ResponseWriter, r *http.Request, acts ...store.Act) error {
	kept, err := s.Store.Keep(r.Context(), acts...)
	if err != nil {
		return err
	}
	status := http.StatusCreated
	if kept == 0 {
		status = http.StatusOK // it was done before
	}
	return give(w, status, done{acts[0].ID, acts[0].Job})
}

func (s *Server) apiJob(w http.ResponseWriter, r *http.Request) error {
	o, over, err := s.toRead(w, r)
	if over || err != nil {
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
	return give(w, http.StatusOK, jobFacts{o.ID, o.Job.Name, string(o.Job.Edition), string(o.Job.Stage), o.Job.Invented, facts, differ, faults})
}

func (s *Server) apiActs(w http.ResponseWriter, r *http.Request) error {
	after, err := strconv.ParseInt(r.URL.Query().Get("after"), 10, 64)
	if err != nil && r.URL.Query().Has("after") {
		return refuse(http.StatusBadRequest, "after is a place in the journal, a whole number.")
	}
	acts, err := s.Store.Acts(r.Context(), r.PathValue("job"), after)
	if err != nil {
		return err
	}
	if acts == nil {
		acts = []store.Act{}
	}
	return give(w, http.StatusOK, actList{acts})
}

func (s *Server) apiKeep(w http.ResponseWriter, r *http.Request) error {
	var in actList
	if err := take(r, &in); err != nil {
		return err
	}
	if err := store.Check(in.Acts); err != nil {
		return refuse(http.StatusUnprocessableEntity, "%v", err)
	}
	if p := PersonOf(r); p != nil { // a device that several people use: whose session brought it is said
		for i := range in.Acts {
			if in.Acts[i].Who != p.Name {
				in.Acts[i].Device = "sent by " + p.Name
			}
		}
	}
	n, err := s.Store.Keep(r.Context(), in.Acts...)
	if err != nil {
		return err
	}
	return give(w, http.StatusOK, actsKept{n, len(in.Acts) - n})
}

func (s *Server) apiEnter(w http.ResponseWriter, r *http.Request) error {
	o, over, err := s.toChange(w, r)
	if over || err != nil {
		return err
	}
	var in newEntries
	if err := take(r, &in); err != nil {
		return err
	}
	var entries []job.Entry
	for _, e := range in.Entries {
		one := o.entry(r, e.Path, e.Value)
		one.Instrument = e.Instrument
		entries = append(entries, one)
	}
	if in.What == "" && len(entries) > 0 {
		in.What = spoken(entries[0].Path) + ": " + entries[0].Value
	}
	a := s.act(r, o.ID, in.What, entries...)
	if err := o.try(a.Entries); err != nil {
		return err
	}
	if err := store.Check([]store.Act{a}); err != nil {
		return refuse(http.StatusUnprocessableEntity, "%v", err)
	}
	return s.apiDone(w, r, a)
}

func (s *Server) apiReading(w http.ResponseWriter, r *http.Request) error {
	o, over, err := s.toChange(w, r)
	if over || err != nil {
		return err
	}
	var in newReading
	if err := take(r, &in); err != nil {
		return err
	}
	nulled := ""
	if in.LeadsNulled != nil {
		nulled = map[bool]string{true: "yes", false: "no"}[*in.LeadsNulled]
	}
	a, wrong := s.readingAct(r, o, taken{at: in.At, reading: in.Reading, value: in.Value, function: in.Function, instrument: in.Instrument, nulled: nulled,
		temperature: in.Temperature, note: in.Note})
	if wrong != "" {
		return refuse(http.StatusUnprocessableEntity, "%s", wrong)
	}
	if err := o.try(a.Entries); err != nil {
		return err
	}
	return s.apiDone(w, r, a)
}

func (s *Server) apiCheck(w http.ResponseWriter, r *http.Request) error {
	o, over, err := s.toRead(w, r)
	if over || err != nil {
		return err
	}
	return give(w, http.StatusOK, finding.Report{Job: o.Job.Name, Edition: string(o.Job.Edition), Findings: o.Found})
}

func (s *Server) apiExpect(w http.ResponseWriter, r *http.Request) error {
	o, over, err := s.toRead(w, r)
	if over || err != nil {
		return err
	}
	return give(w, http.StatusOK, prove.Report{Job: o.Job.Name, Expectations: o.Expected})
}

func (s *Server) apiPapers(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	names, err := s.paperNames(r.Context(), o)
	if err != nil {
		return err
	}
	return give(w, http.StatusOK, paperList{names})
}
