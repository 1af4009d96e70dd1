package seal

import (
	"bytes"
	"encoding/json"
	"fmt"
	"strings"
)

// Checked is what can be said of a file by itself.
type Checked struct {
	Sealed    bool      `json:"sealed"`    // it carries a seal that can be read
	Signature bool      `json:"signature"` // the key in the seal did sign its statement
	Unchanged bool      `json:"unchanged"` // every byte is the one that was signed
	Statement Statement `json:"statement"`
	Changed   []string  `json:"changed,omitempty"` // parts that are not what was signed
	Why       string    `json:"why"`               // what was found, in words
}

// Check looks at any bytes and says what it knows: whether they carry a seal,
// whether the key in it signed it, and whether anything was changed since. It
// cannot know whose key it is.
func Check(file []byte) Checked {
	var c Checked
	at := bytes.LastIndex(file, []byte(Mark))
	if at < 0 {
		c.Why = "there is no seal of this program in the file: it was not issued by it, or the seal was taken off"
		return c
	}
	line := file[at+len(Mark):]
	end := bytes.IndexByte(line, '\n')
	rest := []byte(nil)
	if end >= 0 {
		rest, line = line[end+1:], line[:end]
	}
	space := bytes.LastIndexByte(line, ' ')
	if space < 0 {
		c.Why = "the seal is damaged: who signed it cannot be said"
		return c
	}
	statement, signature := line[:space], line[space+1:]
	var s Statement
	d := json.NewDecoder(bytes.NewReader(statement))
	d.DisallowUnknownFields()
	if err := d.Decode(&s); err != nil || d.More() {
		c.Why = "the seal is damaged: what was signed cannot be read"
		return c
	}
	c.Sealed, c.Statement = true, s
	if !signatureHolds(s.Key, signedText(statement), string(signature)) {
		c.Why = "the signature does not belong to what the seal says: the seal was changed, or made by another"
		return c
	}
	c.Signature = true
	before := file[:at]
	switch {
	case end < 0 || !bytes.Equal(rest, ending(before)):
		c.Changed = append(c.Changed, "something was changed, added or taken away after the seal")
	case len(before) != s.Length:
		c.Changed = append(c.Changed, fmt.Sprintf("the file has %d bytes before the seal, and %d were signed", len(before), s.Length))
	}
	if Sum(before) != s.SHA256 {
		c.Changed = append(c.Changed, changedParts(before, s)...)
	}
	if len(c.Changed) > 0 {
		c.Why = "it was changed since it was signed: " + strings.Join(c.Changed, "; ")
		return c
	}
	c.Unchanged = true
	c.Why = fmt.Sprintf("the data and all %d pages are unchanged since they were signed", s.Pages())
	return c
}

func (s Statement) Pages() int {
	n := 0
	for _, p := range s.Parts {
		if strings.HasPrefix(p.Name, "page ") {
			n++
		}
	}
	return n
}

// changedParts names the parts that are not what was signed.
func changedParts(before []byte, s Statement) []string {
	var out []string
	for _, p := range s.Parts {
		if p.From < 0 || p.To < p.From || p.To > len(before) {
			out = append(out, p.Name+" is cut off")
		} else if Sum(before[p.From:p.To]) != p.SHA256 {
			out = append(out, p.Name+" was changed")
		}
	}
	if len(out) == 0 {
		out = append(out, "neither the job data nor the contents of a page, but the file around them")
	}
	return out
}

// Signer says of a key what the history of a known key says of it, and whether
// that makes it the firm's.
func (s Statement) Signer(known *Key) (says string, its bool) {
	switch {
	case known == nil:
		return "whether that key is the firm's is for you to check: hold it against a key sheet the firm gave you", false
	case s.Key == known.Public:
		return "it is the key of " + known.Firm + " in your key folder", true
	case leadsTo(known.Former, s.Key, known.Public):
		return "it is a former key of " + known.Firm + ": signed links lead from it to the key in your key folder", true
	case leadsTo(s.Former, known.Public, s.Key):
		return "it is a later key of " + known.Firm + ": signed links lead to it from the key in your key folder", true
	}
	return "it is not the key in your key folder, nor one before or after it; whether it is the firm's is for you to check", false
}

// Supersedes reports that a statement takes the place of an earlier one, by the
// same key or one that follows it.
func (s Statement) Supersedes(earlier Statement) bool {
	return s.Number == earlier.Number && s.Kind == earlier.Kind && s.Issue > earlier.Issue &&
		(s.Key == earlier.Key || leadsTo(s.Former, earlier.Key, s.Key))
}

// leadsTo reports that one key hands over to another, link by signed link.
func leadsTo(chain []Succession, from, to string) bool {
	at := from
	for _, s := range chain {
		if s.Old == at && s.Holds() {
			at = s.New
		}
	}
	return at == to && from != to
}
