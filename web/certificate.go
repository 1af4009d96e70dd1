package web

// The certificate: what keeps it from being issued, and its issue.

import (
	"context"
	"errors"
	"fmt"
	"mime"
	"net/http"
	"time"

	"chargewright/finding"
	"chargewright/model"
	"chargewright/paper"
	"chargewright/prove"
)

// Issuer has the firm's key and register, and issues certificates with them.
type Issuer interface {
	Issue(ctx context.Context, m *model.Model, fs []finding.Finding, es []prove.Expectation, at time.Time, passphrase string) (*paper.Issued, error)
}

// ErrNoKey says that the passphrase opens no key.
var ErrNoKey = errors.New("the passphrase does not open the firm's key")

// gapsOf is what keeps a certificate from being issued, for one reason.
type gapsOf struct {
	Kind string
	Gaps []paper.Gap
}

func (s *Server) certificate(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	gaps := paper.Missing(o.Model, o.Found, o.Expected, s.Now())
	var kinds []*gapsOf
	for _, g := range gaps {
		if n := len(kinds); n == 0 || kinds[n-1].Kind != g.Kind {
			kinds = append(kinds, &gapsOf{Kind: g.Kind})
		}
		last := kinds[len(kinds)-1]
		last.Gaps = append(last.Gaps, g)
	}
	return render(w, http.StatusOK, "certificate.html", struct {
		frame
		Gaps     []*gapsOf
		Says     string
		CanIssue bool
	}{o.frame(s, r, "Certificate", "papers"), kinds, fmt.Sprintf("Not to be issued yet: %d things are missing or fail.", len(gaps)), s.mayIssue(r)})
}

// mayIssue reports whether a request comes from someone who may issue: at this
// computer whoever is at it, on a network a supervisor.
func (s *Server) mayIssue(r *http.Request) bool {
	p := personOf(r)
	return s.Issuer != nil && (p == nil || p.Supervises())
}

// issue issues the certificate and hands it out. The register remembers it; the
// file is the paper.
func (s *Server) issue(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	if !s.mayIssue(r) {
		return refuse(http.StatusForbidden, "A certificate is issued by a supervisor, where the firm's key is.")
	}
	issued, err := s.Issuer.Issue(r.Context(), o.Model, o.Found, o.Expected, s.Now(), r.PostFormValue("passphrase"))
	var missing *paper.Refusal
	switch {
	case errors.As(err, &missing):
		return refuse(http.StatusConflict, "Something is still missing: see what keeps the certificate from being issued.")
	case errors.Is(err, ErrNoKey):
		return refuse(http.StatusForbidden, "The passphrase does not open the firm's key, or there is no key yet: chargewright key makes one.")
	case err != nil:
		return err
	}
	name := fmt.Sprintf("certificate-%s-issue-%d.pdf", issued.Statement.Number, issued.Statement.Issue)
	w.Header().Set("Content-Type", "application/pdf")
	w.Header().Set("Content-Disposition", mime.FormatMediaType("attachment", map[string]string{"filename": name}))
	_, err = w.Write(issued.File)
	return err
}
