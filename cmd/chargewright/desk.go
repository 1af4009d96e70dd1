package main

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"time"

	"chargewright/document"
	"chargewright/finding"
	"chargewright/model"
	"chargewright/paper"
	"chargewright/prove"
	"chargewright/seal"
	"chargewright/web"
)

// desk issues certificates with the firm's key, one at a time, and hands out
// again what was issued.
type desk struct {
	keys keyFolder
	mu   sync.Mutex
}

// Issue issues a certificate and enters it in the firm's register. What was
// ordered before is the same issue.
func (d *desk) Issue(_ context.Context, o seal.Order, m *model.Model, fs []finding.Finding, es []prove.Expectation, at time.Time,
	passphrase string) (*paper.Issued, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	_, content, err := d.keys.keyFile()
	if err != nil {
		return nil, err
	}
	if content == nil {
		return nil, web.ErrNoKey
	}
	key, err := seal.Unlock(content, []byte(passphrase))
	if err != nil {
		return nil, web.ErrNoKey
	}
	issued, err := d.keys.issue(o, func(r seal.Register) (*paper.Issued, error) {
		return paper.IssueCertificate(m, fs, es, at, key, r, o)
	})
	if errors.Is(err, errHeld) {
		return nil, web.ErrHeld
	}
	return issued, err
}

// Issued lists the issues of a job with what is found of each, the newest
// first.
func (d *desk) Issued(record string, m *model.Model) ([]web.IssuedCertificate, error) {
	_, register, err := d.keys.register()
	if err != nil {
		return nil, err
	}
	key, err := d.keys.publicKey()
	if err != nil {
		return nil, err
	}
	var out []web.IssuedCertificate
	for _, e := range register.Of(record, m.Job.Name, m.Job.Site.Address) {
		one := web.IssuedCertificate{Name: e.FileName(), Kind: e.Kind, Number: e.Number, Issue: e.Issue, When: e.Issued}
		later, superseded := register.Later(seal.Statement{Number: e.Number, Kind: e.Kind, Issue: e.Issue})
		if superseded {
			one.Later = later.Issue
		}
		if file, err := d.keys.copyOf(e); err != nil {
			one.Says = []seal.Said{{What: "file", Lines: []string{"no copy is kept beside the register: take the file from where it was written to"}}}
		} else {
			v := seal.Verify([]document.File{{Name: e.FileName(), Content: file}}, key, register, nil)[0]
			one.Kept, one.Says = true, v.Says()
			one.Unchanged = v.Unchanged && e.Holds(file)
			if v.Unchanged && !one.Unchanged {
				one.Says = append(one.Says, seal.Said{What: "file", Lines: []string{"it is not the file that is in the register"}})
			}
			one.Current = v.Unchanged && v.Statement.Carries(m)
		}
		out = append([]web.IssuedCertificate{one}, out...)
	}
	return out, nil
}

// errRegister is what of a register that cannot be read is told to a page.
var errRegister = errors.New("the firm's register cannot be read")

// Verify says what is known of files, by the firm's key and register.
func (d *desk) Verify(files []document.File) ([]seal.Verified, error) {
	key, err := d.keys.publicKey()
	if err != nil {
		return nil, err
	}
	_, register, problem := d.keys.register()
	if problem != nil {
		problem = errRegister
	}
	return seal.Verify(files, key, register, problem), nil
}

// File returns the copy of an issue of a job.
func (d *desk) File(record string, m *model.Model, name string) ([]byte, error) {
	_, register, err := d.keys.register()
	if err != nil {
		return nil, err
	}
	for _, e := range register.Of(record, m.Job.Name, m.Job.Site.Address) {
		if e.FileName() == name {
			return d.keys.copyOf(e)
		}
	}
	return nil, fmt.Errorf("no issue of this job is called %s", name)
}
