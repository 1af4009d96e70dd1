package main

import (
	"fmt"
	"io"
	"os"

	"chargewright/document"
	"chargewright/seal"
)

type verifyCmd struct {
	Files []string `arg:"" name:"file" help:"Issued PDFs, or the text of the code on an issued paper. Several PDFs are held against each other: a later issue among them is named."`
	JSON  bool     `name:"json" help:"Print what was found as JSON, one object a file."`
	keyFolder
}

// Run says of each file first whether the register at hand has it, then who
// signed it, when, whether that key was good then, whether it is unchanged and
// whether a later issue is known. It exits 1 where one was changed, superseded
// or denied, 3 where it cannot tell whose it is.
func (c *verifyCmd) Run(out io.Writer) error {
	k, err := c.publicKey()
	if err != nil {
		return err
	}
	_, register, registerProblem := c.register()
	var files []document.File
	code := exitMet
	for _, name := range c.Files {
		file, err := os.ReadFile(name)
		if err != nil {
			return fmt.Errorf("cannot read the file: %w", err)
		}
		if seal.IsSlip(file) {
			of, err := c.slip(out, name, file, k, register)
			if err != nil {
				return err
			}
			code = worse(code, of)
			continue
		}
		files = append(files, document.File{Name: name, Content: file})
	}
	for i, v := range seal.Verify(files, k, register, registerProblem) {
		code = worse(code, verifiedCode(v))
		if c.JSON {
			if err := writeJSON(out, v); err != nil {
				return err
			}
			continue
		}
		if i > 0 {
			fmt.Fprintln(out)
		}
		printVerified(out, v)
	}
	if code != exitMet {
		return outcome{code}
	}
	return nil
}

// slip says what is known of the code of a paper, as it was read with a camera.
func (c *verifyCmd) slip(out io.Writer, name string, text []byte, k *seal.Key, r seal.Register) (int, error) {
	s, err := seal.ReadSlip(text)
	if err != nil {
		return 0, fmt.Errorf("%s: %w", name, err)
	}
	said, ours, denied := s.Said(k, r)
	code := exitOpen
	switch {
	case denied:
		code = exitFails
	case ours:
		code = exitMet
	}
	if c.JSON {
		return code, writeJSON(out, struct {
			File string `json:"file"`
			seal.Slip
			Said []seal.Said `json:"said"`
		}{name, s, said})
	}
	fmt.Fprintln(out, name)
	printSaid(out, said)
	return code, nil
}

func worse(a, b int) int {
	if a == exitFails || b == exitFails {
		return exitFails
	}
	return max(a, b)
}

// verifiedCode is 1 where a file was changed, superseded or denied, 3 where it cannot be
// told whose it is.
func verifiedCode(v seal.Verified) int {
	switch {
	case v.Sealed && !v.Unchanged, v.Later, v.False:
		return exitFails
	case !v.Sealed, !v.Ours:
		return exitOpen
	}
	return exitMet
}

func printVerified(out io.Writer, v seal.Verified) {
	fmt.Fprintln(out, v.File)
	printSaid(out, v.Says())
}

func printSaid(out io.Writer, said []seal.Said) {
	for _, s := range said {
		what := s.What
		for _, line := range s.Lines {
			fmt.Fprintln(out, wrap(fmt.Sprintf("  %-11s", what), line, 13))
			what = ""
		}
	}
}
