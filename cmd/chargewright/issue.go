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
	"chargewright/seal"
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
	k, err := seal.Unlock(content, p)
	if err != nil {
		return fmt.Errorf("%s: %w", keyName, err)
	}
	var at string
	issued, err := c.issue(seal.Order{}, func(r seal.Register) (*paper.Issued, error) {
		issued, err := paper.IssueCertificate(m, found, expected, now, k, r, seal.Order{})
		if err != nil {
			return nil, err
		}
		at = filepath.Join(c.Out, issued.FileName())
		if _, err := os.Stat(at); !errors.Is(err, os.ErrNotExist) {
			return nil, fmt.Errorf("%s is there already: choose another folder with -o", at)
		}
		if err := os.MkdirAll(c.Out, 0o755); err != nil {
			return nil, fmt.Errorf("make the folder for the certificate: %w", err)
		}
		return issued, nil
	})
	if err != nil {
		return err
	}
	s := issued.Statement
	if err := replace(at, issued.File); err != nil {
		return fmt.Errorf("write %s %s, issue %d: %w; it was issued, and its copy is in %s", s.Kind, s.Number, s.Issue, err, copies)
	}
	fmt.Fprintf(out, "issued %s %s, issue %d, to %s\n", s.Kind, s.Number, s.Issue, at)
	if s.Replaces != "" {
		fmt.Fprintf(out, "it takes the place of %s: give the new one to all who have the old\n", s.Replaces)
	}
	fmt.Fprintln(out, wrap("next: ",
		"print it, sign by hand where it has room for it, give the original to the client and keep the file; chargewright verify "+at+" checks it", 6))
	return nil
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
