package seal

import (
	"bytes"
	"errors"
	"fmt"
	"regexp"
	"strconv"
	"strings"
)

// Slip is what the code on an issued paper says: enough to tell from the paper
// alone, when its file is not at hand, that a key stands for this number and for
// the data with this sum. What else is printed around it, it does not cover.
type Slip struct {
	Number    string `json:"number"`
	Issue     int    `json:"issue"`
	Key       string `json:"key"`
	Data      string `json:"data"` // SHA-256 of the job as JSON
	Signature string `json:"signature"`
}

// Slip signs the code of an issue.
func (k *Key) Slip(number string, issue int, data string) Slip {
	s := Slip{Number: number, Issue: issue, Key: k.Public, Data: data}
	s.Signature = k.sign(s.says())
	return s
}

const slipHead = "chargewright paper 1\n"

// says is what the key signs: the code up to its last line.
func (s Slip) says() []byte {
	return fmt.Appendf(nil, slipHead+"certificate %s issue %d\nkey %s\ndata %s\n", s.Number, s.Issue, s.Key, s.Data)
}

// Text is the code as it is read with a camera.
func (s Slip) Text() string { return string(s.says()) + "signature " + s.Signature }

// Holds reports that the key signed it.
func (s Slip) Holds() bool { return signatureHolds(s.Key, s.says(), s.Signature) }

// IsSlip reports that bytes are the text of a code and no file.
func IsSlip(b []byte) bool { return bytes.HasPrefix(b, []byte(strings.TrimSpace(slipHead))) }

var slipLine = regexp.MustCompile(`^certificate (\S+) issue (\d+)$`)

// ReadSlip reads a code as a camera or a person wrote it down.
func ReadSlip(b []byte) (Slip, error) {
	lines := strings.Split(strings.TrimSpace(strings.ReplaceAll(string(b), "\r\n", "\n")), "\n")
	wrong := errors.New("the code of a paper has five lines: what it is, certificate and issue, key, data, signature")
	if len(lines) != 5 || lines[0]+"\n" != slipHead {
		return Slip{}, wrong
	}
	named := slipLine.FindStringSubmatch(lines[1])
	if named == nil {
		return Slip{}, wrong
	}
	s := Slip{Number: named[1]}
	var err error
	if s.Issue, err = strconv.Atoi(named[2]); err != nil {
		return Slip{}, wrong
	}
	for i, to := range []*string{&s.Key, &s.Data, &s.Signature} {
		what, value, _ := strings.Cut(lines[2+i], " ")
		if what != []string{"key", "data", "signature"}[i] {
			return Slip{}, wrong
		}
		*to = value
	}
	return s, nil
}

// Said is what is known of a code: by itself, by a firm's key and its register.
// Ours is whether the key is the firm's, false whether it is denied.
func (s Slip) Said(known *Key, r Register) (said []Said, ours, denied bool) {
	said = []Said{{"code of", []string{fmt.Sprintf("certificate %s, issue %d", s.Number, s.Issue)}}}
	if !s.Holds() {
		return append(said, Said{"holds",
			[]string{"no: the key does not stand for this number and these data: the code was changed, or made by another"}}), false, true
	}
	signer, ours := Statement{Key: s.Key}.Signer(known)
	said = append(said, Said{"signed", []string{s.Key, signer}},
		Said{"holds", []string{"yes: the key stands for this number and for job data with this sum; what is printed around the code, it does not cover",
			s.Data}})
	if len(r) == 0 {
		return said, ours, false
	}
	for _, e := range r {
		if e.Ends == "" && e.Number == s.Number && e.Issue == s.Issue {
			said = append(said, Said{"register", []string{"yes: " + e.Number + ", issue " + strconv.Itoa(e.Issue) + ", was issued on " + e.Issued}})
			if later, ok := r.Later(Statement{Number: s.Number, Issue: s.Issue, Kind: e.Kind, Key: s.Key}); ok {
				return append(said, Said{"later", []string{fmt.Sprintf("superseded by issue %d of %s", later.Issue, later.Issued)}}), ours, true
			}
			return said, ours, false
		}
	}
	return append(said, Said{"register", []string{"no: it is not in the register in your key folder"}}), ours, ours
}
