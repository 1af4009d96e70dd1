package seal

import (
	"fmt"

	"chargewright/document"
)

// Verified is what is known of a file: by itself, by a firm's key, by its
// register, and by the other files it is held against.
type Verified struct {
	File string `json:"file"`
	Checked
	Signer     string `json:"signer,omitempty"`
	Superseded string `json:"superseded"`
	Ours       bool   `json:"-"` // signed with the key that is known, or one before or after it
	Later      bool   `json:"-"` // another issue took its place
}

// Said is something found, under a word for it.
type Said struct {
	What  string   `json:"what"`
	Lines []string `json:"lines"`
}

// Verify says what is known of files. A key may be nil, a register empty; with
// a problem the register could not be read.
func Verify(files []document.File, known *Key, r Register, problem error) []Verified {
	var all []Verified
	for _, f := range files {
		v := Verified{File: f.Name, Checked: Check(f.Content)}
		if v.Signature {
			v.Signer, v.Ours = v.Statement.Signer(known)
		}
		all = append(all, v)
	}
	for i := range all {
		all[i].supersede(r, problem, all)
	}
	return all
}

// supersede names a later issue, from the register and from the other files.
func (v *Verified) supersede(r Register, problem error, all []Verified) {
	if !v.Signature {
		return
	}
	if later, ok := r.Later(v.Statement); ok {
		v.Later = true
		v.Superseded = fmt.Sprintf("superseded by issue %d of %s, by the register in your key folder", later.Issue, later.Issued)
		return
	}
	for _, other := range all {
		if other.Unchanged && other.Statement.Supersedes(v.Statement) {
			v.Later = true
			v.Superseded = fmt.Sprintf("superseded by issue %d of %s, in %s", other.Statement.Issue, other.Statement.Issued, other.File)
			return
		}
	}
	switch {
	case problem != nil:
		v.Superseded = "whether a later issue exists is not known: " + problem.Error()
	case len(r) == 0:
		v.Superseded = "whether a later issue exists is not known here: ask the firm"
	default:
		v.Superseded = "no later issue in the register in your key folder"
	}
}

// Says is what is known of the file, in words.
func (v *Verified) Says() []Said {
	var out []Said
	if v.Signature {
		s := v.Statement
		out = append(out,
			Said{"what", []string{fmt.Sprintf("%s %s, issue %d", s.Kind, s.Number, s.Issue)}},
			Said{"job", []string{s.Job + ", " + s.Address}},
			Said{"signed", []string{"by the key of " + s.Firm + ", as the key names itself", s.Key, v.Signer}},
			Said{"when", []string{s.Issued + ", by the firm's own clock"}})
	}
	unchanged := "no: "
	switch {
	case v.Unchanged:
		unchanged = "yes: "
	case !v.Sealed:
		unchanged = "not known: "
	}
	out = append(out, Said{"unchanged", []string{unchanged + v.Why}})
	if v.Superseded != "" {
		out = append(out, Said{"later", []string{v.Superseded}})
	}
	return out
}
