package web

// The certificate: what keeps it from being issued, and its issue.

import (
	"context"
	"errors"
	"fmt"
	"mime"
	"net/http"
	"net/url"
	"slices"
	"time"

	"chargewright/document"
	"chargewright/finding"
	"chargewright/job"
	"chargewright/model"
	"chargewright/paper"
	"chargewright/prove"
	"chargewright/seal"
	"chargewright/works"
)

// Issuer has the firm's key and register, issues certificates with them, and
// keeps a copy of each. A record is the journal of a job.
type Issuer interface {
	// Issue issues the certificate of a job. What was ordered before is handed
	// out again.
	Issue(ctx context.Context, o seal.Order, m *model.Model, fs []finding.Finding, es []prove.Expectation, at time.Time, passphrase string) (*paper.Issued, error)
	// Issued lists the issues of a job, the newest first.
	Issued(record string, m *model.Model) ([]IssuedCertificate, error)
	// Verify says what is known of files, by the firm's key and register.
	Verify(files []document.File) ([]seal.Verified, error)
	// File returns an issue by the name of its file.
	File(record string, m *model.Model, name string) ([]byte, error)
}

// ErrNoKey says that the passphrase opens no key, ErrHeld that another issue
// is being made.
var (
	ErrNoKey = errors.New("the passphrase does not open the firm's key")
	ErrHeld  = errors.New("another issue is at the register")
)

// IssuedCertificate is one issue of a job's certificate, and what is found of
// the copy that is kept of it.
type IssuedCertificate struct {
	Name      string      `json:"name"` // of the file
	Kind      string      `json:"kind"`
	Number    string      `json:"number"`
	Issue     int         `json:"issue"`
	When      string      `json:"when"`
	Later     int         `json:"later"`     // the issue that took its place; 0 for none
	Kept      bool        `json:"kept"`      // a copy is kept
	Unchanged bool        `json:"unchanged"` // the copy is what was signed and entered
	Current   bool        `json:"current"`   // the record of the job is still the one it was made from
	Says      []seal.Said `json:"says"`      // what is found of it, in words
}

// gapsOf is what keeps a certificate from being issued, for one reason.
type gapsOf struct {
	Kind string
	Gaps []gapRow
}

// gapRow is one of them, and where it is settled.
type gapRow struct {
	paper.Gap
	URL string
}

// settledAt is the address at which a gap is settled; from there the way leads
// back to the certificate.
func (o *opened) settledAt(g paper.Gap) string {
	next := "/jobs/" + o.ID + "/certificate"
	f := job.FieldAt(g.Of)
	switch {
	case g.Reading != "":
		return readingURL(o.ID, prove.Expectation{At: g.At, Reading: g.Reading})
	case g.Of == "inspections":
		return "/jobs/" + o.ID + "/inspections?" + url.Values{"next": {next}}.Encode()
	case g.Of == "readings":
		return "/jobs/" + o.ID + "/readings"
	case g.Of == "certificate/signing" && len(o.Record.Items("people")) == 0:
		return addURL(o.ID, "people", next)
	case g.Of == "people" && len(o.ofSignatories()) > 0:
		return fillURL(o.ID, next, o.ofSignatories()...)
	case f != nil && f.Single():
		return "/jobs/" + o.ID + "/fact?" + url.Values{"path": {g.Of}, "next": {next}}.Encode()
	case f != nil && f.List() && f.Of == nil:
		return fillURL(o.ID, next, g.Of)
	case f != nil && f.List() && len(o.Record.Items(g.Of)) == 0:
		return addURL(o.ID, g.Of, next)
	case f != nil && f.List():
		return sheetURL(o.ID, sheetOfPath(g.Of))
	case g.Of != "":
		return fillURL(o.ID, next, g.Of)
	}
	if facts := o.factsFor(g.Lacks); len(facts) > 0 {
		return o.enterURL(facts, next)
	}
	switch f := g.Finding; {
	case f == nil:
		return sheetURL(o.ID, "street")
	case f.Verdict == finding.JudgeOnSite:
		return o.judgementURL(*f, next)
	default:
		return sheetURL(o.ID, o.sheetOf(f.Path))
	}
}

// ofSignatories is what a certificate says of who signs and nobody has entered:
// of those who sign, or of who may before anybody has.
func (o *opened) ofSignatories() []string {
	var out []string
	for i := range o.Job.People {
		p := &o.Job.People[i]
		signs := slices.ContainsFunc(o.Job.Certificate.Sign, func(s works.Signing) bool { return s.Name == p.Name })
		if !signs && (len(o.Job.Certificate.Sign) > 0 || len(o.Job.People) > 1) {
			continue
		}
		for _, name := range []string{"firm", "address", "telephone"} {
			if path := works.Under("people", p.Name) + "/" + name; o.Record.Now(path).Value == "" {
				out = append(out, path)
			}
		}
	}
	return out
}

// saidParts are the parts of the record that no station stands for.
var saidParts = []string{"edition", "site", "certificate", "notification", "handover"}

func (s *Server) certificate(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	return s.renderCertificate(w, r, o, http.StatusOK, nil)
}

func (s *Server) renderCertificate(w http.ResponseWriter, r *http.Request, o *opened, status int, problems []string) error {
	gaps := paper.Missing(o.Model, o.Found, o.Expected, s.Now())
	var kinds []*gapsOf
	for _, g := range gaps {
		if n := len(kinds); n == 0 || kinds[n-1].Kind != g.Kind {
			kinds = append(kinds, &gapsOf{Kind: g.Kind})
		}
		last := kinds[len(kinds)-1]
		last.Gaps = append(last.Gaps, gapRow{g, o.settledAt(g)})
	}
	var wanted []string // facts that one form can take together
	for _, g := range gaps {
		facts := append(o.factsFor(g.Lacks), g.Of)
		if g.Of == "people" {
			facts = o.ofSignatories()
		}
		for _, path := range facts {
			if f := job.FieldAt(path); f != nil && (f.Single() || f.Of == nil) && !slices.Contains(wanted, path) && o.Record.Seen(path) == nil {
				wanted = append(wanted, path)
			}
		}
	}
	fill := ""
	if len(wanted) > 1 {
		fill = fillURL(o.ID, "/jobs/"+o.ID+"/certificate", wanted...)
	}
	page := struct {
		Frame
		Fill     string
		Wanted   int
		Said     []job.Assumption // what it is to say, until a person says so
		Parts    []string         // that those are of
		Judge    int              // how much is left to a person
		Signs    string           // who may sign for all of it here, when nobody has
		Gaps     []*gapsOf
		Says     string
		CanIssue bool
		Last     *IssuedCertificate
		Wrong    string
		Problems []string
		Fresh    bool // it was issued just now, from here
		Today    string
	}{Frame: o.frame(s, r, "Certificate", "papers"), Problems: problems, Fill: fill, Wanted: len(wanted), Gaps: kinds, Parts: saidParts,
		Said: o.assumedIn(saidParts...), Judge: len(o.toJudge()),
		Says: fmt.Sprintf("Not to be issued yet: %d things are missing or fail.", len(gaps)), CanIssue: s.mayIssue(r)}
	// Who answers for the work says so when all else of it is settled.
	signing := func(g paper.Gap) bool { return g.Of == "certificate/signing" || g.Of == "people" }
	if who := s.Who(r); slices.Contains(o.Record.Items("people"), who) && len(o.Record.Items("certificate/signing")) == 0 &&
		!slices.ContainsFunc(gaps, func(g paper.Gap) bool { return !signing(g) }) && len(gaps) > 0 {
		page.Signs = who
	}
	page.Today = s.Now().Format(time.DateOnly)
	var all []IssuedCertificate
	if all, page.Wrong = s.issuedOf(o); len(all) > 0 {
		page.Last = &all[0]
		page.Fresh = r.URL.Query().Get("issued") == all[0].Name
	}
	return render(w, status, "certificate.html", page)
}

// issuedOf lists what was issued of a job, or says why that is not known.
func (s *Server) issuedOf(o *opened) (all []IssuedCertificate, wrong string) {
	switch {
	case s.Issuer == nil && s.Away == nil:
		return nil, "Nothing is issued here: the invented jobs of a demo are not entered in the firm's register. With a folder of its own, --keys, the demo " +
			"issues too."
	case s.Issuer == nil:
		return nil, "What was issued is listed where the firm's register is: open this page again when the server answers."
	}
	all, err := s.Issuer.Issued(o.ID, o.Model)
	if err != nil {
		s.Log.Error("read the register of issued certificates", "err", err)
		return nil, "The register of issued certificates cannot be read. Nothing is issued until it is restored from a copy; the server's log says more."
	}
	return all, ""
}

// mayIssue reports whether a request comes from someone who may issue: at this
// computer whoever is at it, on a network a supervisor.
func (s *Server) mayIssue(r *http.Request) bool {
	p := PersonOf(r)
	return s.Issuer != nil && (p == nil || p.Supervises())
}

// issue issues the certificate and goes on to the page that hands it out, so
// that no form with a passphrase is left standing. Sent again, the form is the
// same issue. A refusal leads back to the form.
func (s *Server) issue(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	issued, err := s.issued(r, o, r.PostFormValue("act"), r.PostFormValue("passphrase"))
	if err != nil {
		status, lines := explain(err)
		if status == http.StatusInternalServerError || !s.mayIssue(r) {
			return err
		}
		return s.renderCertificate(w, r, o, status, lines)
	}
	http.Redirect(w, r, "/jobs/"+o.ID+"/certificate?"+url.Values{"issued": {issued.FileName()}}.Encode(), http.StatusSeeOther)
	return nil
}

// issued issues the certificate that was ordered, or refuses in words.
func (s *Server) issued(r *http.Request, o *opened, order, passphrase string) (*paper.Issued, error) {
	if !s.mayIssue(r) {
		return nil, Refuse(http.StatusForbidden, "A certificate is issued by a supervisor, where the firm's key is.")
	}
	issued, err := s.Issuer.Issue(r.Context(), seal.Order{Record: o.ID, ID: order}, o.Model, o.Found, o.Expected, s.Now(), passphrase)
	var missing *paper.Refusal
	switch {
	case errors.As(err, &missing):
		return nil, Refuse(http.StatusConflict, "Something is still missing: see what keeps the certificate from being issued.")
	case errors.Is(err, ErrNoKey):
		return nil, Refuse(http.StatusForbidden, "The passphrase does not open the firm's key, or there is no key yet: chargewright key makes one.")
	case errors.Is(err, ErrHeld):
		return nil, Refuse(http.StatusConflict, "Another certificate is being issued: go back and send it again in a minute.")
	}
	return issued, err
}

// issuedFile hands out a certificate that was issued.
func (s *Server) issuedFile(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	all, wrong := s.issuedOf(o)
	if wrong != "" {
		return Refuse(http.StatusServiceUnavailable, "%s", wrong)
	}
	name := r.PathValue("name")
	if !slices.ContainsFunc(all, func(c IssuedCertificate) bool { return c.Kept && c.Name == name }) {
		return notInJob
	}
	file, err := s.Issuer.File(o.ID, o.Model, name)
	if err != nil {
		return err
	}
	return handOut(w, name, file)
}

func handOut(w http.ResponseWriter, name string, file []byte) error {
	w.Header().Set("Content-Type", contentType(name))
	w.Header().Set("Content-Disposition", mime.FormatMediaType("attachment", map[string]string{"filename": name}))
	_, err := w.Write(file)
	return err
}
