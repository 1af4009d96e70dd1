package paper

import (
	"bytes"
	"fmt"
	"time"

	"chargewright/document"
	"chargewright/drawing"
	"chargewright/finding"
	"chargewright/job"
	"chargewright/model"
	"chargewright/prove"
	"chargewright/seal"
	"chargewright/trade"
)

// Issue is what makes a draft a certificate: its number, when it was issued,
// and whose key signs it.
type Issue struct {
	Number     string    // "2026-0007"
	Times      int       // 1 the first time, 2 when it is issued again
	At         time.Time // when
	Firm       string    // as the key names it
	Key        string    // public key, in hexadecimal
	Data       string    // SHA-256 of the job data attached, in hexadecimal
	Supersedes string    // the issue it takes the place of, if any
}

// Named is number and issue in words.
func (i *Issue) Named() string { return fmt.Sprintf("%s, issue %d", i.Number, i.Times) }

// mark says at the head of every page what the paper is.
func (i *Issue) mark(d *document.Document) {
	if i != nil {
		d.Mark = "certificate " + i.Named()
		d.Made = i.At
	}
}

// blocks is what an issued paper says of its signature.
func (i *Issue) blocks() []document.Block {
	if i == nil {
		return []document.Block{document.Paragraph{Text: "When it is issued it is numbered and signed with the firm's key, and the whole of the job is carried " +
			"inside the file."}}
	}
	facts := document.Fields{
		{What: "Number", Value: i.Named(), Note: before("takes the place of ", i.Supersedes)},
		{What: "Issued", Value: i.At.UTC().Format("2 January 2006 15:04 UTC")},
		{What: "Signed by the key of", Value: i.Firm, Note: "as the key names the firm"},
	}
	sums := document.Facts{
		{What: "Public key (Ed25519)", Value: seal.Grouped(i.Key)},
		{What: "Job data (SHA-256)", Value: seal.Grouped(i.Data)},
	}
	out := []document.Block{facts, sums, document.Paragraph{Text: "This file carries the whole of the job as job.json. Its signature covers every byte of the " +
		"file; chargewright verify says, without any network, whether one was changed, and whether a later issue is known. Whether the key is the firm's is " +
		"for you to check: ask the firm, or hold it against a key sheet it gave you. This is a signature over the file, not one that a reader program shows by " +
		"itself."}}
	if code := i.code(); code != nil {
		out = append(out, document.Picture{Scenes: []drawing.Scene{*code}})
	}
	return out
}

// code is number, key and job data to be read with a camera; nil of a draft.
func (i *Issue) code() *drawing.Scene {
	if i == nil {
		return nil
	}
	code, err := document.QR("code", "Number, key and job data as a QR code",
		fmt.Sprintf("certificate %s issue %d\nkey %s\ndata %s", i.Number, i.Times, i.Key, i.Data))
	if err != nil {
		return nil
	}
	return &code
}

// Kinds of paper that are issued.
const (
	InstallationCertificate = "electrical installation certificate"
	MinorWorksCertificate   = "minor works certificate"
)

// Issued is a paper that was issued: the signed file and the line for the
// register.
type Issued struct {
	Statement seal.Statement
	File      []byte
	Line      []byte // to append to the register
}

// FileName is what the paper is called as a file.
func (i *Issued) FileName() string { return seal.FileName(i.Statement.Number, i.Statement.Issue) }

// Refusal is why a certificate is not issued.
type Refusal struct{ Gaps []Gap }

func (r *Refusal) Error() string {
	return fmt.Sprintf("not issued: %d things are missing or fail", len(r.Gaps))
}

// IssueCertificate freezes the certificate of a job: numbered after the
// register, set, with the whole job inside, signed. It refuses with a *Refusal
// while anything required is missing or fails.
func IssueCertificate(m *model.Model, fs []finding.Finding, es []prove.Expectation, at time.Time, k *seal.Key, r seal.Register, o seal.Order) (*Issued, error) {
	if gaps := Missing(m, fs, es, at); len(gaps) > 0 {
		return nil, &Refusal{gaps}
	}
	if err := r.Allows(k); err != nil {
		return nil, err
	}
	kind, set := InstallationCertificate, certificatePaper
	if m.Job.Certificate.Work.Or("") == trade.MinorWorks {
		kind, set = MinorWorksCertificate, minorPaper
	}
	at = at.UTC().Truncate(time.Second)
	data := job.JSON(m.Job)
	number, times, supersedes := r.Next(kind, o.Record, m.Job.Name, m.Job.Site.Address, at)
	issue := &Issue{Number: number, Times: times, At: at, Firm: k.Firm, Key: k.Public, Data: seal.Sum(data), Supersedes: supersedes}
	d := set(m, fs, es, at, issue)
	d.Attached = []document.File{{Name: "job.json", Content: data}}
	var pdf bytes.Buffer
	if err := d.PDF(&pdf); err != nil {
		return nil, err
	}
	s := seal.Statement{Kind: kind, Number: number, Issue: times, Issued: at.Format(time.RFC3339), Replaces: supersedes, Job: m.Job.Name,
		Address: m.Job.Site.Address, Data: issue.Data}
	file, err := seal.Seal(pdf.Bytes(), s, k)
	if err != nil {
		return nil, err
	}
	return &Issued{s, file, r.Add(s, o, file, k)}, nil
}
