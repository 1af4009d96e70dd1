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
	Slip       seal.Slip // what its code says
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

// proof is the foot of a certificate of either kind: how to tell that it was
// not changed, beside it a code that says so of the paper alone.
func (i *Issue) proof(across bool) document.Section {
	s := document.Section{Heading: "How to tell that it was not changed", Whole: true, Across: across, Corner: i.code("code at the end")}
	if i == nil {
		s.Blocks = []document.Block{document.Paragraph{Small: true, Text: "When it is issued it is numbered and signed with the firm's key, and the whole of the " +
			"job is carried inside the file."}}
		return s
	}
	s.Blocks = []document.Block{document.Fields{
		{What: "Number", Value: i.Named(), Note: before("takes the place of ", i.Supersedes)},
		{What: "Issued", Value: i.At.UTC().Format("2 January 2006 15:04 UTC")},
		{What: "Signed by the key of", Value: i.Firm, Note: "as the key names the firm"}},
		document.Paragraph{Small: true, Text: "Public key (Ed25519): " + seal.Grouped(i.Key)},
		document.Paragraph{Small: true, Text: "Job data (SHA-256): " + seal.Grouped(i.Data)},
		document.Paragraph{Small: true,
			Text: "This file carries the whole of the job as job.json, and a signature over every byte of it: chargewright verify says, without " +
				"any network, whether one was changed and whether a later issue is known. Of the paper alone the code says, signed by the same key, that number and " +
				"data belong together: give its text to chargewright verify. Whether the key is the firm's is for you to check: ask the firm, or hold it against a " +
				"key sheet it gave you. A reader program does not show this signature by itself."}}
	return s
}

// code is number, key, job data and the signature over them, to be read with a
// camera; nil of a draft.
func (i *Issue) code(name string) *drawing.Scene {
	if i == nil {
		return nil
	}
	code, err := document.QR(name, "Number, key, job data and signature as a QR code", i.Slip.Text(), 34)
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
	issue := &Issue{Number: number, Times: times, At: at, Firm: k.Firm, Key: k.Public, Data: seal.Sum(data), Supersedes: supersedes,
		Slip: k.Slip(number, times, seal.Sum(data))}
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
