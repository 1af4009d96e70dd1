package seal

import (
	"fmt"
	"time"

	"chargewright/document"
)

// Verified is what is known of a file: by itself, by a firm's key, by its
// register, and by the other files it is held against.
type Verified struct {
	File string `json:"file"`
	Checked
	Signer     string `json:"signer,omitempty"`
	Superseded string `json:"superseded"`
	Register   string `json:"register,omitempty"` // whether that number and that very file are in it
	Ended      string `json:"ended,omitempty"`    // that its key was replaced or revoked
	Ours       bool   `json:"-"`                  // signed with the key that is known, or one before or after it
	Later      bool   `json:"-"`                  // another issue took its place
	False      bool   `json:"-"`                  // the register denies it, or its key was no longer good
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
			v.enter(f.Content, known, r, problem)
		}
		all = append(all, v)
	}
	for i := range all {
		all[i].supersede(r, problem, all)
	}
	return all
}

// enter says whether a file is in the register, and whether its key was good
// when it was issued.
func (v *Verified) enter(file []byte, known *Key, r Register, problem error) {
	s := v.Statement
	entry, there, same := r.Entered(s, file)
	switch {
	case problem != nil:
		v.Register = "not known: " + problem.Error()
	case len(r) == 0: // none at hand
	case same:
		v.Register = fmt.Sprintf("yes: %s, issue %d, of %s is this very file", entry.Number, entry.Issue, entry.Issued)
	case there:
		v.Register, v.False = fmt.Sprintf("no: %s, issue %d, is in it with another file: this is not what was issued", entry.Number, entry.Issue), true
	default:
		v.Register, v.False = fmt.Sprintf("no: %s, issue %d, is not in the register in your key folder", s.Number, s.Issue), v.Ours
		if v.Ours {
			v.Register += ": the firm did not issue it"
		}
	}
	kind, end, why := KeyReplaced, "", "as that key itself signed"
	if known != nil {
		for _, link := range known.Former {
			if link.Old == s.Key && link.Holds() {
				end = link.When
			}
		}
	}
	if e, ended := r.Ended(s.Key); ended && (e.Kind == KeyRevoked || end == "") {
		kind, end, why = e.Kind, e.Issued, e.Why
	}
	switch {
	case end == "":
	case after(s.Issued, end):
		v.Ended, v.False = fmt.Sprintf("no: %s on %s (%s), and the file says it was issued later, on %s", kind, end, why, s.Issued), true
	case kind == KeyRevoked && !same:
		v.Ended, v.False = fmt.Sprintf("no: %s on %s (%s): the date in a file is what its signer wrote, so only what the register has counts", kind, end, why), true
	default:
		v.Ended = fmt.Sprintf("yes, when it was issued: %s on %s (%s)", kind, end, why)
	}
}

// after reports that one moment lies after another. What cannot be read as one
// lies after everything.
func after(a, b string) bool {
	x, err := time.Parse(time.RFC3339, a)
	y, wrong := time.Parse(time.RFC3339, b)
	return err != nil || wrong != nil || x.After(y)
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
	if v.Register != "" {
		out = append(out, Said{"register", []string{v.Register}})
	}
	if v.Signature {
		s := v.Statement
		out = append(out,
			Said{"what", []string{fmt.Sprintf("%s %s, issue %d", s.Kind, s.Number, s.Issue)}},
			Said{"job", []string{s.Job + ", " + s.Address}},
			Said{"signed", []string{"by the key of " + s.Firm + ", as the key names itself", s.Key, v.Signer}},
			Said{"when", []string{s.Issued + ", by the firm's own clock"}})
	}
	if v.Ended != "" {
		out = append(out, Said{"key good", []string{v.Ended}})
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
