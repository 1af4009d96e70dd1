// Package seal makes an issued paper hold: a firm's key signs every byte of the
// file, a register numbers what was issued and names what takes its place, and
// anyone can tell, without a network, what was changed since. It says whose key
// signed, never whether what the paper says is so.
//
// Its parts: the key and its successions, the seal and its statement, the
// register, the checking of files.
package seal

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"regexp"
	"strconv"

	"chargewright/job"
	"chargewright/model"
)

// A signed file is a PDF followed by one line, which PDF programs take for a
// comment:
//
//	%chargewright-seal-1 STATEMENT SIGNATURE
//
// The statement is JSON without a space in its frame; it says what was issued
// and holds the SHA-256 of every byte before the line, and of the job data and
// each page by where they stand in the file. The signature is Ed25519 over the
// statement. After the line stands the PDF's own ending once more, where
// programs look for it, and nothing else: a byte changed anywhere, or one more,
// is seen.

const Mark = "\n%chargewright-seal-1 "

// SignedStatement is what a key signs.
type Statement struct {
	Kind     string       `json:"kind"`   // "electrical installation certificate"
	Number   string       `json:"number"` // "2026-0007"
	Issue    int          `json:"issue"`
	Issued   string       `json:"issued"`             // RFC 3339, UTC
	Replaces string       `json:"replaces,omitempty"` // the issue whose place it takes
	Job      string       `json:"job"`
	Address  string       `json:"address"`
	Firm     string       `json:"firm"`
	Key      string       `json:"key"`
	Former   []Succession `json:"former,omitempty"`
	Length   int          `json:"length"` // bytes before the seal
	SHA256   string       `json:"sha256"` // of them
	Data     string       `json:"data"`   // SHA-256 of the job as JSON
	Parts    []Part       `json:"parts"`
}

// Part is a stretch of the file that a reader knows by name.
type Part struct {
	Name   string `json:"name"` // "job data", "page 3"
	From   int    `json:"from"`
	To     int    `json:"to"`
	SHA256 string `json:"sha256"`
}

func Sum(b []byte) string {
	h := sha256.Sum256(b)
	return hex.EncodeToString(h[:])
}

// Seal signs a PDF: it fills in what follows from the file and appends the
// seal.
func Seal(pdf []byte, s Statement, k *Key) ([]byte, error) {
	parts, err := partsOf(pdf)
	if err != nil {
		return nil, err
	}
	s.Firm, s.Key, s.Former = k.Firm, k.Public, k.Former
	s.Length, s.SHA256, s.Parts = len(pdf), Sum(pdf), parts
	statement, err := json.Marshal(s)
	if err != nil {
		return nil, fmt.Errorf("write the statement: %w", err)
	}
	out := append(bytes.Clone(pdf), Mark...)
	out = append(out, statement...)
	out = append(out, ' ')
	out = append(out, k.sign(signedText(statement))...)
	out = append(out, '\n')
	return append(out, ending(pdf)...), nil
}

// ending is how a PDF ends: where its table of objects stands.
func ending(pdf []byte) []byte { return pdf[max(0, bytes.LastIndex(pdf, []byte("startxref\n"))):] }

// signedText keeps a signature over a statement from standing for anything
// else.
func signedText(statement []byte) []byte {
	return append([]byte("chargewright statement 1\n"), statement...)
}

var (
	pageContents = regexp.MustCompile(`/Contents (\d+) 0 R`)
	xrefAt       = regexp.MustCompile(`startxref\n(\d+)\n`)
)

// partsOf finds the page contents and the attached data in a PDF this program
// wrote: a plain table of places, each object whole.
func partsOf(pdf []byte) ([]Part, error) {
	unknown := errors.New("seal: the PDF is laid out in a way this program does not write")
	at := xrefAt.FindSubmatch(pdf[max(0, len(pdf)-200):])
	if at == nil {
		return nil, unknown
	}
	start, err := strconv.Atoi(string(at[1]))
	if err != nil || start > len(pdf) {
		return nil, unknown
	}
	var places []int
	for i, line := range bytes.Split(pdf[start:], []byte("\n")) {
		if i < 2 {
			continue // "xref" and the number of objects
		}
		if len(line) < 18 || (line[17] != 'n' && line[17] != 'f') {
			break
		}
		n, err := strconv.Atoi(string(line[:10]))
		if err != nil {
			return nil, unknown
		}
		places = append(places, n)
	}
	object := func(n int) (from, to int, ok bool) {
		if n <= 0 || n >= len(places) || places[n] <= 0 || places[n] >= len(pdf) {
			return 0, 0, false
		}
		end := bytes.Index(pdf[places[n]:], []byte("endobj"))
		return places[n], places[n] + end + len("endobj"), end >= 0
	}
	var parts []Part
	add := func(name string, from, to int) {
		parts = append(parts, Part{name, from, to, Sum(pdf[from:to])})
	}
	pages := 0
	for n := 1; n < len(places); n++ {
		from, to, ok := object(n)
		if !ok {
			continue
		}
		head := pdf[from:min(to, from+400)]
		switch {
		case bytes.Contains(head, []byte("/Type /EmbeddedFile")):
			add("job data", from, to)
		case bytes.Contains(head, []byte("/Type /Page\n")) || bytes.Contains(head, []byte("/Type /Page ")):
			found := pageContents.FindSubmatch(pdf[from:to])
			if found == nil {
				continue
			}
			content, _ := strconv.Atoi(string(found[1]))
			if from, to, ok := object(content); ok {
				pages++
				add("page "+strconv.Itoa(pages), from, to)
			}
		}
	}
	if pages == 0 {
		return nil, unknown
	}
	return parts, nil
}

// Carries reports that the record of a job is the one an issue was made from.
func (s Statement) Carries(m *model.Model) bool { return s.Data == Sum(job.JSON(m.Job)) }
