package web

// The same facts as JSON for a program: versioned, described by an OpenAPI
// document, errors as problem details (RFC 9457), entity tags for what was
// seen, idempotency keys for what is done.

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"hash"
	"io"
	"net/http"
	"slices"
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
		{"GET", "/api/v1/me", "Who is at work, and whether the key of a device is known as theirs", nil, me{}, s.apiMe},
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
		Who     string `json:"who"`
		Account bool   `json:"account"` // the name comes from an account
		Signs   bool   `json:"signs"`   // a device of theirs may sign what is entered on it
		Known   bool   `json:"known"`   // and the key that was asked about is known as theirs
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
	h := sha256.New()
	d := json.NewDecoder(io.TeeReader(r.Body, h))
	d.DisallowUnknownFields()
	if err := d.Decode(v); err != nil {
		return refuse(http.StatusBadRequest, "The body is not the JSON that is wanted: %v", err)
	}
	noteBody(r, h)
	return nil
}

// noteBody keeps what was sent for a key to be known by.
func noteBody(r *http.Request, h hash.Hash) {
	if r.PostForm != nil {
		r.PostForm.Set("body", hex.EncodeToString(h.Sum(nil)))
	}
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
	p, key := PersonOf(r), r.URL.Query().Get("key")
	out := me{Who: s.Who(r), Account: p != nil, Signs: p != nil && s.SignerOf != nil && p.Role != Office}
	if p != nil && s.SignerOf != nil && key != "" {
		whose, err := s.SignerOf(r.Context(), key)
		if err != nil && !errors.Is(err, store.ErrNotFound) {
			return err
		}
		out.Known = err == nil && whose == p.Name
	}
	return give(w, http.StatusOK, out)
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
		sentText(r, whole)
		acts, err := s.parcelActs(r, "job begun with its photos", bytes.NewReader(whole), int64(len(whole)))
		if err != nil {
			return err
		}
		return s.apiBegun(w, r, acts...)
	case strings.HasPrefix(kind, "application/yaml"):
		var err error
		if text, err = io.ReadAll(io.LimitReader(r.Body, mostJobFile+1)); err != nil {
			return refuse(http.StatusBadRequest, "The job file could not be read.")
		}
		sentText(r, text)
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
	return s.apiBegun(w, r, a)
}

func sentText(r *http.Request, text []byte) {
	h := sha256.New()
	h.Write(text)
	noteBody(r, h)
}

// otherContent refuses a key that was used for something else: whoever sends it
// would take what was kept under it for what is sent now (422, as the draft of
// the IETF on the Idempotency-Key header has it).
func otherContent(begins, id string, known []string) error {
	for _, k := range known {
		if strings.HasPrefix(k, begins) && !strings.HasPrefix(k, id) {
			return refuse(http.StatusUnprocessableEntity, "Not entered: that Idempotency-Key was used for something else. Send this under a key of its own.")
		}
	}
	return nil
}

// apiBegun keeps the first acts of a job.
func (s *Server) apiBegun(w http.ResponseWriter, r *http.Request, acts ...store.Act) error {
	if r.PostFormValue("act") != "" {
		jobs, err := s.Store.Jobs(r.Context())
		if err != nil {
			return err
		}
		var known []string
		for _, j := range jobs {
			known = append(known, j.ID)
		}
		if err := otherContent(s.keyID(r, ""), acts[0].ID, known); err != nil {
			return err
		}
	}
	return s.apiDone(w, r, acts...)
}

// apiKept tries an act and keeps it, once under its key.
func (s *Server) apiKept(w http.ResponseWriter, r *http.Request, o *opened, a store.Act) error {
	if r.PostFormValue("act") != "" {
		var known []string
		for _, k := range o.Acts {
			known = append(known, k.ID)
		}
		if slices.Contains(known, a.ID) {
			return give(w, http.StatusOK, done{a.ID, o.ID}) // it was done before
		}
		if err := otherContent(s.keyID(r, o.ID), a.ID, known); err != nil {
			return err
		}
	}
	if err := o.try(a.Entries); err != nil {
		return err
	}
	if err := store.Check([]store.Act{a}); err != nil {
		return refuse(http.StatusUnprocessableEntity, "%v", err)
	}
	return s.apiDone(w, r, a)
}

func (s *Server) apiDone(w http.ResponseWriter, r *http.Request, acts ...store.Act) error {
	kept, err := s.keep(r.Context(), acts...)
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
	if err := s.speak(r, in.Acts); err != nil {
		return err
	}
	n, err := s.keep(r.Context(), in.Acts...)
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
	return s.apiKept(w, r, o, s.act(r, o.ID, in.What, entries...))
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
	return s.apiKept(w, r, o, a)
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
