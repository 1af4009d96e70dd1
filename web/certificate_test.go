package web

import (
	"bytes"
	"context"
	"errors"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"chargewright/document"
	"chargewright/finding"
	"chargewright/model"
	"chargewright/paper"
	"chargewright/prove"
	"chargewright/seal"
)

// standInDesk issues what is no certificate, to any passphrase but "wrong".
type standInDesk struct {
	orders []seal.Order
	broken error
}

func (d *standInDesk) Issue(_ context.Context, o seal.Order, _ *model.Model, _ []finding.Finding, _ []prove.Expectation, _ time.Time, passphrase string) (*paper.Issued, error) {
	if passphrase == "wrong" {
		return nil, ErrNoKey
	}
	for i, known := range d.orders {
		if known == o {
			return d.issue(i, nil), nil
		}
	}
	d.orders = append(d.orders, o)
	return d.issue(len(d.orders)-1, []byte("entered")), nil
}

func (d *standInDesk) issue(i int, line []byte) *paper.Issued {
	return &paper.Issued{Statement: seal.Statement{Kind: paper.InstallationCertificate, Number: "2026-0001", Issue: i + 1, Issued: "2026-11-25T10:00:00Z"}, File: []byte("issue " + whole(i+1)), Line: line}
}

func (d *standInDesk) Issued(string, *model.Model) ([]IssuedCertificate, error) {
	var out []IssuedCertificate
	for i := range d.orders {
		one := IssuedCertificate{Name: d.issue(i, nil).FileName(), Number: "2026-0001", Issue: i + 1, When: "2026-11-25T10:00:00Z", Kept: true, Unchanged: true, Says: []seal.Said{{What: "unchanged", Lines: []string{"yes"}}}}
		if i+1 < len(d.orders) {
			one.Later = len(d.orders)
		}
		out = append([]IssuedCertificate{one}, out...)
	}
	return out, d.broken
}

func (d *standInDesk) Verify(files []document.File) ([]seal.Verified, error) {
	return seal.Verify(files, nil, nil, d.broken), nil
}

func (d *standInDesk) File(_ string, _ *model.Model, name string) ([]byte, error) {
	for i := range d.orders {
		if d.issue(i, nil).FileName() == name {
			return d.issue(i, nil).File, nil
		}
	}
	return nil, errors.New("no such file")
}

// TestTheOfficeTakesWhatWasIssued reads and takes as the office and as the
// electrician, and lets neither issue.
func TestTheOfficeTakesWhatWasIssued(t *testing.T) {
	s := served(t, "bakery/complete.yaml")
	s.Issuer = &standInDesk{}
	h := s.Handler()
	page := "/jobs/" + jobOf(t, s)
	post(t, h, page+"/issue", url.Values{"act": {"a"}, "passphrase": {"p"}})
	if r := httptest.NewRequest("POST", "/verify", nil); !(&Person{Name: "Olga", Role: Office}).May(r) {
		t.Error("the office may not send a certificate")
	}
	for _, role := range []string{Office, Electrician} {
		as := func(method, address string) int {
			p := &Person{Name: "Olga", Role: role}
			r := httptest.NewRequest(method, address, nil)
			r = SignedIn(r, p)
			if !p.May(r) {
				return http.StatusForbidden
			}
			w := httptest.NewRecorder()
			h.ServeHTTP(w, r)
			return w.Code
		}
		for _, address := range []string{page + "/papers", page + "/issued/certificate-2026-0001-issue-1.pdf"} {
			if got := as("GET", address); got != http.StatusOK {
				t.Errorf("%s answers the %s %d", address, role, got)
			}
		}
		if got := as("POST", page+"/issue"); got != http.StatusForbidden {
			t.Errorf("an issue by the %s answers %d", role, got)
		}
	}
}

// TestABrokenRegisterBreaksNoPage shows the papers, and says what is wrong.
func TestABrokenRegisterBreaksNoPage(t *testing.T) {
	s := served(t, "bakery/complete.yaml")
	var log bytes.Buffer
	s.Log = slog.New(slog.NewTextHandler(&log, nil))
	s.Issuer = &standInDesk{broken: errors.New("line 3 is not what was written")}
	h := s.Handler()
	page := "/jobs/" + jobOf(t, s)
	if resp, body := get(t, h, page+"/papers"); resp.StatusCode != http.StatusOK || !strings.Contains(body, "cannot be read") || !strings.Contains(body, "Design sheet") {
		t.Errorf("the papers answer %s", resp.Status)
	}
	if !strings.Contains(log.String(), "line 3") {
		t.Error("the log does not say what is wrong")
	}
	s.Issuer = nil
	if _, body := get(t, h, page+"/papers"); !strings.Contains(body, "Nothing is issued here") {
		t.Error("where nothing is issued the page does not say so")
	}
	s.Away = func() int { return 0 }
	if _, body := get(t, h, page+"/papers"); !strings.Contains(body, "when the server answers") {
		t.Error("where there is no register the page does not say where it is")
	}
}

// TestAFileIsVerifiedOnThePages sends what is no certificate, and nothing, where
// a key is and where none is.
func TestAFileIsVerifiedOnThePages(t *testing.T) {
	s := served(t)
	for _, s.Issuer = range []Issuer{&standInDesk{}, nil} {
		h := s.Handler()
		if resp, body := post(t, h, "/verify", url.Values{}); resp.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(body, "Choose the PDF") {
			t.Errorf("no file answers %s", resp.Status)
		}
		_, body := get(t, h, "/verify")
		if keyless := strings.Contains(body, "key and register are not here"); keyless != (s.Issuer == nil) {
			t.Errorf("with the key: %t, the page says that there is none: %t", s.Issuer != nil, keyless)
		}
	}
}

// After an issue no form with the passphrase stands, and the file is a tap
// away; a wrong passphrase leads back to the form, with what to do.
func TestIssueGoesOn(t *testing.T) {
	s := served(t, "bakery/complete.yaml")
	s.Issuer = &standInDesk{}
	h := s.Handler()
	page := "/jobs/" + jobOf(t, s)
	resp, body := post(t, h, page+"/issue", url.Values{"act": {"a"}, "passphrase": {"wrong"}})
	if resp.StatusCode != http.StatusForbidden || !strings.Contains(body, "does not open the firm&#39;s key") || !strings.Contains(body, `id="passphrase"`) ||
		strings.Contains(body, `value="wrong"`) {
		t.Errorf("a wrong passphrase answers %s:\n%s", resp.Status, body)
	}
	resp, _ = post(t, h, page+"/issue", url.Values{"act": {"a"}, "passphrase": {"p"}})
	to, err := resp.Location()
	if resp.StatusCode != http.StatusSeeOther || err != nil {
		t.Fatalf("an issue answers %s, %v", resp.Status, err)
	}
	_, body = get(t, h, to.String())
	if !strings.Contains(body, "Issued: 2026-0001, issue 1.") || !strings.Contains(body, page+"/issued/"+to.Query().Get("issued")) {
		t.Errorf("the page after an issue says\n%s", body)
	}
	if resp, body = get(t, h, "/jobs/none"); resp.StatusCode != http.StatusNotFound || !strings.Contains(body, "<h1>That is not here</h1>") {
		t.Errorf("what is not here is titled otherwise: %s\n%s", resp.Status, body)
	}
}

// TestNoTitleIsOfTheProtocol holds every refusal to words a person would say.
func TestNoTitleIsOfTheProtocol(t *testing.T) {
	for status := 400; status < 600; status++ {
		if of := http.StatusText(status); titleOf(status) == "" || of != "" && titleOf(status) == of {
			t.Errorf("%d is titled %q", status, titleOf(status))
		}
	}
}
