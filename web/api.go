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
	Takes, Gives string // schemas of the OpenAPI document, or media types
	answer       func(http.ResponseWriter, *http.Request) error
}

// api is every address there is.
func (s *Server) api() []endpoint {
	const jobs, job = "/api/v1/jobs", "/api/v1/jobs/{job}"
	return []endpoint{
		{"GET", "/api/v1/openapi.json", "This description", "", "application/json", s.apiDescription},
		{"GET", "/api/v1/me", "Who is at work, and whether the key of a device is known as theirs", "", "Me", s.apiMe},
		{"GET", jobs, "The jobs, the one added to last first", "", "Jobs", s.apiJobs},
		{"POST", jobs, "Begin a job, from a name, from a job file (application/yaml) or from one with its photos (application/zip)", "NewJob", "Done", s.apiNewJob},
		{"GET", job, "What a job's entries say, fact by fact", "", "Job", s.apiJob},
		{"GET", job + "/file", "The job as a job file", "", "application/yaml", s.jobFile},
		{"GET", job + "/parcel", "The job file with its photos, as one ZIP", "", "application/zip", s.parcel},
		{"GET", job + "/acts", "The journal of a job after a place", "", "Acts", s.apiActs},
		{"POST", "/api/v1/acts", "Acts made elsewhere, in order; those kept already are left as they are", "Acts", "Kept", s.apiKeep},
		{"POST", job + "/entries", "Enter facts in one act", "NewEntries", "Done", s.apiEnter},
		{"POST", job + "/readings", "Enter a reading", "NewReading", "Done", s.apiReading},
		{"GET", job + "/check", "Every rule the job touches, checked", "", "Findings", s.apiCheck},
		{"GET", job + "/expect", "What each reading should be", "", "Expectations", s.apiExpect},
		{"GET", job + "/choose", "What the job leaves open, chosen, with reasons and with what would flip it", "", "Choice", s.apiChoose},
		{"POST", job + "/choose", "Choose, and put it into the job in one act: every part, or those named", "NewChoice", "Done", s.apiApplyChoice},
		{"GET", job + "/options", "The ways the job may be done, side by side", "", "Options", s.apiOptions},
		{"GET", job + "/earthing", "Electrodes that reach a resistance, and the earthing measures side by side", "", "Earthing", s.apiEarthing},
		{"GET", job + "/route", "What each cable asks of the way it takes", "", "Routes", s.apiRoute},
		{"GET", job + "/flow", "Voltages and currents with every point on", "", "Flow", s.apiFlow},
		{"GET", job + "/fault", "One fault", "", "Fault", s.apiFault},
		{"GET", job + "/lost-pen", "What metalwork stands at when the supply's PEN conductor is lost", "", "LostPEN", s.apiLostPEN},
		{"GET", job + "/demand", "Maximum demand three ways, and whether the network operator is told or asked", "", "Demand", s.apiDemand},
		{"POST", job + "/demand", "The same with a recording of the supply", "text/csv", "Demand", s.apiDemand},
		{"GET", job + "/limit", "The limiters put to the proof, and the job run through time", "", "Limits", s.apiLimit},
		{"POST", job + "/limit", "The same with a recording of the supply", "text/csv", "Limits", s.apiLimit},
		{"POST", job + "/charging", "Charging records, answered with their statement; nothing is stored", "NewStatement", "Statement", s.apiCharging},
		{"POST", job + "/clamp", "A current clamp put to the proof; nothing is stored", "NewClamp", "Clamp", s.apiClamp},
		{"POST", job + "/pilot", "A measurement of the control pilot, held against IEC 61851-1 and the design", "Pilot", "Findings", s.apiPilot},
		{"POST", job + "/meter", "What a meter on Modbus shows now; it is read from the server's own network", "Meter", "MeterReading", s.apiMeter},
		{"POST", job + "/hear", "What a recorded OCPP log tells", "text/plain", "Heard", s.apiHear},
		{"GET", job + "/papers", "The papers that can be made", "", "Papers", s.apiPapers},
		{"GET", job + "/papers/{name}", "One paper", "", "application/octet-stream", s.paper},
		{"GET", job + "/commissioning", "The commissioning run of a job that is under way, or its last one", "", "Run", s.apiRun},
		{"POST", job + "/commissioning", "Begin a run of one point. A password that is made for the link is in the answer, and nowhere else", "NewRun", "BegunRun", s.apiBeginRun},
		{"POST", job + "/commissioning/end", "End the run that is under way", "", "Done", s.apiEndRun},
		{"GET", job + "/commissioning/past", "The runs that the record tells of, point by point, the newest first", "", "PastRuns", s.apiPastRuns},
		{"GET", job + "/commissioning/evidence", "The evidence of the last run, with its messages step by step, while the server holds it", "", "application/json", s.commissioningEvidence},
		{"GET", job + "/commissioning/messages", "Every message of the last run, a JSON object a line, while the server holds them", "", "application/jsonl", s.commissioningMessages},
		{"GET", job + "/issued", "The certificates that were issued, the newest first, and what is found of the copy of each", "", "IssuedList", s.apiIssued},
		{"GET", job + "/issued/{name}", "One issued certificate", "", "application/pdf", s.issuedFile},
		{"POST", job + "/issued", "Issue the certificate, with the passphrase of the firm's key", "NewIssue", "Issue", s.apiIssue},
		{"POST", "/api/v1/verify", "What is known of an issued certificate, sent as it is", "application/pdf", "Verified", s.apiVerify},
		{"GET", job + "/photos", "The photos of a job, and which are chosen for its papers", "", "Photos", s.apiPhotos},
		{"GET", job + "/photos/{photo}", "One photo as it was taken, by its name or by the act that brought it", "", "image/*", s.apiPhoto},
		{"POST", job + "/photos/{photo}", "Choose a photo for the papers or not, and caption it", "PhotoChoice", "Done", s.apiChoosePhoto},
	}
}

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
	known := false
	if p != nil && s.SignerOf != nil && key != "" {
		whose, err := s.SignerOf(r.Context(), key)
		if err != nil && !errors.Is(err, store.ErrNotFound) {
			return err
		}
		known = err == nil && whose == p.Name
	}
	return give(w, http.StatusOK, map[string]any{"who": s.Who(r), "account": p != nil, "signs": p != nil && s.SignerOf != nil && p.Role != Office, "known": known})
}

func (s *Server) apiJobs(w http.ResponseWriter, r *http.Request) error {
	rows, err := s.jobRows(r)
	if err != nil {
		return err
	}
	type jobOut struct {
		ID       string `json:"id"`
		Name     string `json:"name"`
		Stage    string `json:"stage"`
		Address  string `json:"address"`
		Invented bool   `json:"invented"`
	}
	out := []jobOut{}
	for _, row := range rows {
		out = append(out, jobOut{row.ID, row.Name, row.Stage, row.Address, row.Invented})
	}
	return give(w, http.StatusOK, map[string]any{"jobs": out})
}

// done is the answer to something entered.
type done struct {
	Act string `json:"act"`
	Job string `json:"job"`
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
		var in struct{ Name string }
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

// usedBefore returns the act that was kept under the key of a request; nothing
// where it is new, or has no key.
func (s *Server) usedBefore(r *http.Request, o *opened) (id string, err error) {
	if r.PostFormValue("act") == "" {
		return "", nil
	}
	var known []string
	for _, k := range o.Acts {
		known = append(known, k.ID)
	}
	id = s.actID(r, o.ID)
	if slices.Contains(known, id) {
		return id, nil
	}
	return "", otherContent(s.keyID(r, o.ID), id, known)
}

// apiKept tries an act and keeps it, once under its key.
func (s *Server) apiKept(w http.ResponseWriter, r *http.Request, o *opened, a store.Act) error {
	switch id, err := s.usedBefore(r, o); {
	case err != nil:
		return err
	case id != "":
		return give(w, http.StatusOK, done{id, o.ID})
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
	return give(w, http.StatusOK, map[string]any{"id": o.ID, "name": o.Job.Name, "edition": o.Job.Edition, "stage": o.Job.Stage,
		"invented": o.Job.Invented, "facts": facts, "differences": differ, "faults": faults})
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
	return give(w, http.StatusOK, map[string]any{"acts": acts})
}

func (s *Server) apiKeep(w http.ResponseWriter, r *http.Request) error {
	var in struct{ Acts []store.Act }
	if err := take(r, &in); err != nil {
		return err
	}
	if err := store.Check(in.Acts); err != nil {
		return refuse(http.StatusUnprocessableEntity, "%v", err)
	}
	if err := s.speak(r, in.Acts); err != nil {
		return err
	}
	kept, err := s.keep(r.Context(), in.Acts...)
	if err != nil {
		return err
	}
	return give(w, http.StatusOK, map[string]int{"kept": kept, "known": len(in.Acts) - kept})
}

func (s *Server) apiEnter(w http.ResponseWriter, r *http.Request) error {
	o, over, err := s.toChange(w, r)
	if over || err != nil {
		return err
	}
	var in struct {
		What    string
		Entries []struct{ Path, Value, Instrument string }
	}
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
	var in struct {
		At, Reading, Value, Instrument, Function, Temperature, Note string
		LeadsNulled                                                 *bool
	}
	if err := take(r, &in); err != nil {
		return err
	}
	nulled := ""
	if in.LeadsNulled != nil {
		nulled = map[bool]string{true: "yes", false: "no"}[*in.LeadsNulled]
	}
	a, wrong := s.readingAct(r, o, taken{at: in.At, reading: in.Reading, value: in.Value, function: in.Function, instrument: in.Instrument, nulled: nulled, temperature: in.Temperature, note: in.Note})
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
	return give(w, http.StatusOK, map[string]any{"papers": names})
}
