package job

// What is refused before a job file is read as YAML: files that are no text,
// or larger and deeper than any job.

import (
	"bytes"
	"fmt"
	"strings"
	"unicode/utf8"
)

const (
	mostBytes      = 8 << 20
	mostFields     = 5_000  // set in alike, under one field or in one item
	mostItems      = 50_000 // of one list
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
	if len(text) > mostBytes {
		return "", &Problem{Want: fmt.Sprintf("the file is larger than %d MiB: a job file is a few kilobytes of text", mostBytes>>20)}
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
		if fields, items := together.add(line); fields > mostFields || items > mostItems {
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
