package job

// What is refused before a job file is read as YAML: files that are no text,
// or larger and deeper than any job.

import (
	"bytes"
	"fmt"
	"strconv"
	"strings"
	"unicode/utf8"

	"chargewright/bounds"
	"chargewright/works"
)

const (
	mostFields     = 5_000 // set in alike, under one field or in one item
	mostLineBytes  = 10_000
	mostBrackets   = 20_000
	mostCommas     = 200_000
	mostIndicators = 16 // dashes and question marks that open one line
)

// byteOrderMark is put before the text by some editors.
var byteOrderMark = []byte("\ufeff")

// guard returns the text without its byte order mark, with every line ended by
// a newline alone, or the one fault that makes it no job file.
func guard(text []byte) (string, *Problem) {
	if bounds.JobFile.Hold(len(text), "") != nil {
		return "", &Problem{Want: fmt.Sprintf("%v: the file is larger than %v: a job file is a few kilobytes of text", bounds.JobFile, bounds.JobFile.Amount())}
	}
	if bytes.HasPrefix(text, []byte("\xff\xfe")) || bytes.HasPrefix(text, []byte("\xfe\xff")) {
		return "", &Problem{Line: 1, Want: "the file was saved as UTF-16: save it as UTF-8 text"}
	}
	text = bytes.TrimPrefix(text, byteOrderMark)
	for i, b := range text {
		if b < ' ' && b != '\t' && b != '\n' && b != '\r' || b == 0x7f {
			return "", &Problem{Line: lineAt(text, i), Want: "this is not a text file: a job file is plain UTF-8 text"}
		}
	}
	if !utf8.Valid(text) {
		i := 0
		for i < len(text) {
			r, n := utf8.DecodeRune(text[i:])
			if r == utf8.RuneError && n == 1 {
				break
			}
			i += n
		}
		return "", &Problem{Line: lineAt(text, i), Want: "a letter on this line was not saved as UTF-8: save the file as UTF-8 text"}
	}
	s := string(text)
	if strings.Contains(s, "\r") {
		s = strings.ReplaceAll(strings.ReplaceAll(s, "\r\n", "\n"), "\r", "\n")
	}
	if strings.Count(s, "[")+strings.Count(s, "{") > mostBrackets {
		return "", &Problem{Want: fmt.Sprintf("the file has more than %d brackets: write each field on its own line, without brackets", mostBrackets)}
	}
	if strings.Count(s, ",") > mostCommas {
		return "", &Problem{Want: fmt.Sprintf("the file has more than %d commas: this is no job file", mostCommas)}
	}
	n := 0
	var together counts
	for line := range strings.Lines(s) {
		n++
		switch fields, items := together.add(line); {
		case items > bounds.Things.Most():
			return "", &Problem{Line: n, Want: bounds.Things.Hold(items, "").Error()}
		case fields > mostFields:
			return "", &Problem{Line: n, Want: "more lines stand here under one field than any job has: this is no job file"}
		}
		if len(line) > mostLineBytes {
			return "", &Problem{Line: n, Want: fmt.Sprintf("the line is longer than %d letters: break it into fields of their own", mostLineBytes)}
		}
		indicators := 0
		for _, c := range []byte(line) {
			if c == '-' || c == '?' {
				indicators++
			} else if c != ' ' && c != '\t' {
				break
			}
		}
		if indicators > mostIndicators && strings.ContainsAny(line, " \t") {
			return "", &Problem{Line: n, Want: "too many dashes open this line: a list needs one"}
		}
	}
	return s, nil
}

// counts is how many lines in a row are set in alike, by how far.
type counts []struct{ indent, fields, items int }

// add counts a line, and returns how many fields and items now stand together
// where it stands.
func (c *counts) add(line string) (fields, items int) {
	text := strings.TrimLeft(line, " ")
	if text == "" || text[0] == '\n' || text[0] == '#' {
		return 0, 0
	}
	indent := len(line) - len(text)
	for len(*c) > 0 && (*c)[len(*c)-1].indent > indent {
		*c = (*c)[:len(*c)-1]
	}
	if len(*c) == 0 || (*c)[len(*c)-1].indent < indent {
		*c = append(*c, struct{ indent, fields, items int }{indent: indent})
	}
	last := &(*c)[len(*c)-1]
	if text[0] == '-' {
		last.items++
	} else {
		last.fields++
	}
	return last.fields, last.items
}

// lineAt returns the line, counted from 1, that byte i of text is on.
func lineAt(text []byte, i int) int {
	return 1 + bytes.Count(text[:i], []byte("\n"))
}

// within holds a tree to the bounds of every way in, and returns the first fault.
// things counts the items of its lists.
func within(n *node, path string, depth int, things *int) *Problem {
	passed := func(b bounds.Bound, n *node) *Problem {
		return &Problem{Line: n.at.line, Field: path, Want: b.Hold(b.Most()+1, "").Error()}
	}
	if depth > bounds.Nesting.Most() {
		return passed(bounds.Nesting, n)
	}
	switch n.kind {
	case scalar:
		if utf8.RuneCountInString(n.text) > bounds.Text.Most() {
			return passed(bounds.Text, n)
		}
	case mapping:
		for _, p := range n.fields {
			at := works.Under(path, p.key)
			if utf8.RuneCountInString(p.key) > bounds.Name.Most() {
				return passed(bounds.Name, n)
			}
			if fault := within(p.value, at, depth+1, things); fault != nil {
				return fault
			}
		}
	case list:
		switch *things += len(n.items); {
		case path == "photos" && len(n.items) > bounds.Photos.Most():
			return passed(bounds.Photos, n)
		case *things > bounds.Things.Most():
			return passed(bounds.Things, n)
		}
		for i, item := range n.items {
			name := item // of a list of words
			for _, p := range item.fields {
				if p.key == "name" {
					name = p.value
				}
			}
			if name.kind == scalar && utf8.RuneCountInString(name.text) > bounds.Name.Most() {
				return passed(bounds.Name, name)
			}
			if fault := within(item, path+"/"+strconv.Itoa(i+1), depth+1, things); fault != nil {
				return fault
			}
		}
	}
	return nil
}
