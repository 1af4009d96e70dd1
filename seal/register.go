package seal

import (
	"bytes"
	"encoding/json"
	"fmt"
	"strings"
	"time"
)

// Entry is one line of a firm's register of issued papers. Every line is
// signed, and holds the sum of the line before it, so that none can be taken
// out of the middle unseen.
type Entry struct {
	Number    string `json:"number"`
	Issue     int    `json:"issue"`
	Kind      string `json:"kind"`
	Job       string `json:"job"`
	Address   string `json:"address"`
	Issued    string `json:"issued"`
	Record    string `json:"record,omitempty"` // journal of the job, where it is kept in one
	Order     string `json:"order,omitempty"`  // what asked for the issue; asked again, it is this one
	File      string `json:"file"`             // SHA-256 of the whole signed file
	Ends      string `json:"ends,omitempty"`   // of a line that ends a key: that key, and since when is Issued
	Why       string `json:"why,omitempty"`    // and why
	Before    string `json:"before"`           // SHA-256 of the line before, empty in the first
	Key       string `json:"key"`
	Signature string `json:"signature,omitempty"`
}

// Kinds of lines that issue no paper. A key that another took the place of is
// good for what it signed before; one that was lost or seen by others for
// nothing but what stands in the register.
const (
	KeyReplaced = "key replaced"
	KeyRevoked  = "key revoked"
)

// FileName is what an issued paper is called as a file.
func (e Entry) FileName() string { return FileName(e.Number, e.Issue) }

func FileName(number string, issue int) string {
	return fmt.Sprintf("certificate-%s-issue-%d.pdf", number, issue)
}

// Holds reports that a file is the one that was entered.
func (e Entry) Holds(file []byte) bool { return e.File == Sum(file) }

// Register is the papers a firm has issued, oldest first.
type Register []Entry

// Order says which job an issue is asked for, and what asks for it. A job file
// is in no journal, and its order may be left out.
type Order struct{ Record, ID string }

// Ordered returns the issue that an order brought about.
func (r Register) Ordered(o Order) (Entry, bool) {
	for _, e := range r {
		if o.ID != "" && e.Order == o.ID && e.Record == o.Record {
			return e, true
		}
	}
	return Entry{}, false
}

// Of returns the issues of a job, oldest first. A job keeps its issues when it
// is given another name, where it is kept in a journal.
func (r Register) Of(record, job, address string) Register {
	var out Register
	for _, e := range r {
		if e.of(record, job, address) {
			out = append(out, e)
		}
	}
	return out
}

func (e Entry) of(record, job, address string) bool {
	return e.Ends == "" && (record != "" && e.Record == record || e.Job == job && e.Address == address)
}

func (e Entry) says() []byte {
	e.Signature = ""
	b, _ := json.Marshal(e) // texts and a number: cannot fail
	return append([]byte("chargewright register 1\n"), b...)
}

func (e Entry) line() []byte {
	b, _ := json.Marshal(e)
	return b
}

// ReadRegister reads a register and refuses one that was changed, or in which a
// line is signed by a key that is not the firm's or was ended further up. firm
// is the key now in use, with the signed links that lead to it from those before
// it; nil where there is none at hand to hold the lines against.
func ReadRegister(text []byte, firm *Key) (Register, error) {
	var r Register
	before := ""
	for i, line := range bytes.Split(bytes.TrimRight(text, "\n"), []byte("\n")) {
		if len(line) == 0 {
			continue
		}
		var e Entry
		if err := json.Unmarshal(line, &e); err != nil {
			return nil, fmt.Errorf("register line %d cannot be read: restore the register from a copy", i+1)
		}
		if e.Before != before || !signatureHolds(e.Key, e.says(), e.Signature) || !bytes.Equal(e.line(), line) {
			return nil, fmt.Errorf("register line %d is not what was written: restore the register from a copy", i+1)
		}
		if firm != nil && e.Key != firm.Public && !leadsTo(firm.Former, e.Key, firm.Public) {
			return nil, fmt.Errorf("register line %d is signed by %.16s…, and the firm's key at hand neither is that key nor follows it: one that was replaced "+
				"is put back, and it signs nothing more; or restore the register from a copy", i+1, e.Key)
		}
		if end, ended := r.Ended(e.Key); ended {
			return nil, fmt.Errorf("register line %d is signed by a key that was ended before it (%s): restore the register from a copy", i+1, end.Kind)
		}
		before = Sum(line)
		r = append(r, e)
	}
	return r, nil
}

// Next returns the number and issue that a paper of a job gets: its number
// again and one issue more where it was issued before, else the next number of
// the year.
func (r Register) Next(kind, record, job, address string, at time.Time) (number string, issue int, supersedes string) {
	year := at.UTC().Format("2006")
	highest := 0
	for _, e := range r {
		if e.Kind == kind && e.of(record, job, address) {
			number, issue = e.Number, e.Issue
		}
		if n, of, ok := strings.Cut(e.Number, "-"); ok && n == year {
			var k int
			if _, err := fmt.Sscanf(of, "%d", &k); err == nil {
				highest = max(highest, k)
			}
		}
	}
	if issue > 0 {
		return number, issue + 1, fmt.Sprintf("%s, issue %d", number, issue)
	}
	return fmt.Sprintf("%s-%04d", year, highest+1), 1, ""
}

// Add returns the line that enters a signed file into the register.
func (r Register) Add(s Statement, o Order, file []byte, k *Key) []byte {
	return r.line(Entry{Number: s.Number, Issue: s.Issue, Kind: s.Kind, Job: s.Job, Address: s.Address, Issued: s.Issued, Record: o.Record, Order: o.ID,
		File: Sum(file)}, k)
}

// End returns the line that ends a key: replaced or revoked, and why.
func (r Register) End(kind, public, why string, at time.Time, k *Key) []byte {
	return r.line(Entry{Kind: kind, Ends: public, Why: why, Issued: at.UTC().Format(time.RFC3339)}, k)
}

// Ended returns the line that ends a key; its being revoked outweighs its being
// replaced.
func (r Register) Ended(public string) (end Entry, ended bool) {
	for _, e := range r {
		if e.Ends == public && (!ended || e.Kind == KeyRevoked) {
			end, ended = e, true
		}
	}
	return end, ended
}

// Allows refuses to sign with a key that was ended.
func (r Register) Allows(k *Key) error {
	if end, ended := r.Ended(k.Public); ended {
		return fmt.Errorf("%s on %s (%s): it signs nothing more; sign with the key that took its place", end.Kind, end.Issued, end.Why)
	}
	return nil
}

// Entered returns the issue that a file claims to be, and whether it is that
// file.
func (r Register) Entered(s Statement, file []byte) (e Entry, there, same bool) {
	for _, e := range r {
		if e.Ends == "" && e.Number == s.Number && e.Issue == s.Issue && e.Kind == s.Kind {
			return e, true, e.Holds(file)
		}
	}
	return Entry{}, false, false
}

func (r Register) line(e Entry, k *Key) []byte {
	e.Key = k.Public
	if len(r) > 0 {
		e.Before = Sum(r[len(r)-1].line())
	}
	e.Signature = k.sign(e.says())
	return append(e.line(), '\n')
}

// Later returns the latest issue that takes the place of a statement's.
func (r Register) Later(s Statement) (Entry, bool) {
	var later Entry
	for _, e := range r {
		if e.Number == s.Number && e.Kind == s.Kind && e.Issue > max(s.Issue, later.Issue) {
			later = e
		}
	}
	return later, later.Issue > 0
}
