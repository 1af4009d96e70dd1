package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"

	"chargewright/design"
	"chargewright/paper"
	"chargewright/prove"
)

type issueCmd struct {
	Job  string `arg:"" help:"Job file."`
	Out  string `short:"o" default:"out" help:"Folder to write the certificate into."`
	JSON bool   `name:"json" help:"Print what is missing as JSON."`
	keyFolder
}

// Run issues the certificate of a job, or says what keeps it from being
// issued: exit 1 where something fails, 3 where something is missing.
func (c *issueCmd) Run(out io.Writer) error {
	m, err := open(c.Job)
	if err != nil {
		return err
	}
	found, expected, now := design.Check(m), prove.Expect(m), time.Now()
	if gaps := paper.Missing(m, found, expected, now); len(gaps) > 0 {
		return c.refuse(out, gaps)
	}
	keyName, content, err := c.keyFile()
	if err != nil {
		return err
	}
	if content == nil {
		return fmt.Errorf("there is no key in %s: chargewright key --firm \"NAME OF THE FIRM\" makes one", filepath.Dir(keyName))
	}
	p, err := passphrase(false)
	if err != nil {
		return err
	}
	k, err := paper.Unlock(content, p)
	if err != nil {
		return fmt.Errorf("%s: %w", keyName, err)
	}
	at, s, err := c.issue(func(r paper.Register) (*paper.Issued, error) {
		return paper.IssueCertificate(m, found, expected, now, k, r)
	})
	if err != nil {
		return err
	}
	fmt.Fprintf(out, "issued %s %s, issue %d, to %s\n", s.Kind, s.Number, s.Issue, at)
	if s.Replaces != "" {
		fmt.Fprintf(out, "it takes the place of %s: give the new one to all who have the old\n", s.Replaces)
	}
	fmt.Fprintln(out, wrap("next: ", "print it, sign by hand where it has room for it, give the original to the client and keep the file; chargewright verify "+at+" checks it", 6))
	return nil
}

// issue takes the next number, writes the certificate and enters it into the
// register, with nobody else at the register meanwhile.
func (c *issueCmd) issue(of func(paper.Register) (*paper.Issued, error)) (at string, s paper.SignedStatement, err error) {
	free, err := c.hold()
	if err != nil {
		return "", s, err
	}
	defer free()
	name, register, err := c.register()
	if err != nil {
		return "", s, err
	}
	issued, err := of(register)
	if err != nil {
		return "", s, err
	}
	s = issued.Statement
	at = filepath.Join(c.Out, fmt.Sprintf("certificate-%s-issue-%d.pdf", s.Number, s.Issue))
	if err := os.MkdirAll(c.Out, 0o755); err != nil {
		return "", s, fmt.Errorf("make the folder for the certificate: %w", err)
	}
	if _, err := os.Stat(at); !errors.Is(err, os.ErrNotExist) {
		return "", s, fmt.Errorf("%s is there already: choose another folder with -o", at)
	}
	if err := enter(name, issued.Line); err != nil { // first: a number is never given twice
		return "", s, err
	}
	if err := replace(at, issued.File); err != nil {
		return "", s, fmt.Errorf("write the certificate: %w", err)
	}
	return at, s, nil
}

// refuse lists what keeps a certificate from being issued, and how to get it.
func (c *issueCmd) refuse(out io.Writer, gaps []paper.Gap) error {
	code := exitOpen
	for _, g := range gaps {
		if g.Kind == "fails" {
			code = exitFails
		}
	}
	if c.JSON {
		if err := writeJSON(out, struct {
			Issued bool        `json:"issued"`
			Gaps   []paper.Gap `json:"gaps"`
		}{false, gaps}); err != nil {
			return err
		}
		return outcome{code}
	}
	fmt.Fprintf(out, "not issued: %d things are missing or fail\n", len(gaps))
	kind := ""
	for _, g := range gaps {
		if g.Kind != kind {
			kind = g.Kind
			fmt.Fprintf(out, "\n%s\n", kind)
		}
		line := g.About + ": " + g.What
		if g.Clause != "" {
			line += " (" + g.Clause + ")"
		}
		fmt.Fprintln(out, wrap("  ", line, 4))
		fmt.Fprintln(out, wrap("    → ", g.Get, 6))
	}
	return outcome{code}
}

// abandoned is the age at which a hold on the register was left by an issue
// that was broken off: one takes a second.
const abandoned = time.Minute

// hold keeps a second issue from taking the same number at the same time.
func (c *issueCmd) hold() (free func(), err error) {
	name, err := c.path("register.lock")
	if err != nil {
		return nil, err
	}
	if info, err := os.Stat(name); err == nil && time.Since(info.ModTime()) > abandoned {
		os.Remove(name)
	}
	f, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return nil, fmt.Errorf("another issue is at the register (%s): try again in a minute", name)
	}
	f.Close()
	return func() { os.Remove(name) }, nil
}

// enter appends a line to the register.
func enter(name string, line []byte) error {
	f, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_APPEND, 0o600)
	if err != nil {
		return fmt.Errorf("write the register: %w", err)
	}
	if _, err := f.Write(line); err != nil {
		f.Close()
		return fmt.Errorf("write the register: %w", err)
	}
	if err := f.Sync(); err != nil {
		f.Close()
		return fmt.Errorf("write the register: %w", err)
	}
	return f.Close()
}
