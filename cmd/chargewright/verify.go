package main

import (
	"fmt"
	"io"
	"os"

	"chargewright/paper"
	"chargewright/web"
)

type verifyCmd struct {
	Files []string `arg:"" name:"file" help:"Issued PDFs. Several are held against each other: a later issue among them is named."`
	JSON  bool     `name:"json" help:"Print what was found as JSON, one object a file."`
	keyFolder
}

// verified is what is known of one file.
type verified struct {
	File string `json:"file"`
	paper.Checked
	Signer     string `json:"signer,omitempty"`
	Superseded string `json:"superseded"`
	known      bool   // the key is one of the folder's
	later      bool
}

// Run says of each file who signed it, when, whether it is unchanged and
// whether a later issue is known. It exits 1 where one was changed or
// superseded, 3 where it cannot tell whose it is.
func (c *verifyCmd) Run(out io.Writer) error {
	k, err := c.publicKey()
	if err != nil {
		return err
	}
	_, register, registerProblem := c.register()
	var all []verified
	for _, name := range c.Files {
		file, err := os.ReadFile(name)
		if err != nil {
			return fmt.Errorf("cannot read the file: %w", err)
		}
		all = append(all, checked(name, file, k))
	}
	code := exitMet
	for i := range all {
		v := &all[i]
		v.supersede(register, registerProblem, all)
		code = worse(code, v.code())
		if c.JSON {
			if err := writeJSON(out, v); err != nil {
				return err
			}
			continue
		}
		if i > 0 {
			fmt.Fprintln(out)
		}
		v.print(out)
	}
	if code != exitMet {
		return outcome{code}
	}
	return nil
}

// checked is what is known of a file by itself and by a key.
func checked(name string, file []byte, known *paper.Key) verified {
	v := verified{File: name, Checked: paper.Check(file)}
	if v.Signature {
		v.Signer, v.known = v.Statement.Signer(known)
	}
	return v
}

func worse(a, b int) int {
	if a == exitFails || b == exitFails {
		return exitFails
	}
	return max(a, b)
}

// supersede names a later issue, from the register and from the other files.
func (v *verified) supersede(register paper.Register, problem error, all []verified) {
	if !v.Signature {
		return
	}
	if later, ok := register.Later(v.Statement); ok {
		v.later = true
		v.Superseded = fmt.Sprintf("superseded by issue %d of %s, by the register in your key folder", later.Issue, later.Issued)
		return
	}
	for _, other := range all {
		if other.Unchanged && other.Statement.Supersedes(v.Statement) {
			v.later = true
			v.Superseded = fmt.Sprintf("superseded by issue %d of %s, in %s", other.Statement.Issue, other.Statement.Issued, other.File)
			return
		}
	}
	switch {
	case problem != nil:
		v.Superseded = "whether a later issue exists is not known: " + problem.Error()
	case len(register) == 0:
		v.Superseded = "whether a later issue exists is not known here: ask the firm"
	default:
		v.Superseded = "no later issue in the register in your key folder"
	}
}

func (v *verified) code() int {
	switch {
	case v.Sealed && !v.Unchanged, v.later:
		return exitFails
	case !v.Sealed, !v.known:
		return exitOpen
	}
	return exitMet
}

func (v *verified) print(out io.Writer) {
	fmt.Fprintln(out, v.File)
	for _, s := range v.says() {
		what := s.What
		for _, line := range s.Lines {
			fmt.Fprintln(out, wrap(fmt.Sprintf("  %-11s", what), line, 13))
			what = ""
		}
	}
}

// says is what is known of the file, in words.
func (v *verified) says() []web.Said {
	var out []web.Said
	if v.Signature {
		s := v.Statement
		out = append(out,
			web.Said{What: "what", Lines: []string{fmt.Sprintf("%s %s, issue %d", s.Kind, s.Number, s.Issue)}},
			web.Said{What: "job", Lines: []string{s.Job + ", " + s.Address}},
			web.Said{What: "signed", Lines: []string{"by the key of " + s.Firm + ", as the key names itself", s.Key, v.Signer}},
			web.Said{What: "when", Lines: []string{s.Issued + ", by the firm's own clock"}})
	}
	unchanged := "no: "
	switch {
	case v.Unchanged:
		unchanged = "yes: "
	case !v.Sealed:
		unchanged = "not known: "
	}
	out = append(out, web.Said{What: "unchanged", Lines: []string{unchanged + v.Why}})
	if v.Superseded != "" {
		out = append(out, web.Said{What: "later", Lines: []string{v.Superseded}})
	}
	return out
}
