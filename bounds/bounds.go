// Package bounds is the most there may be of each thing, by whichever way it
// comes in: a page, the programming interface, what a device sends, a job file,
// a photo. One table for all, so that what one way takes no other refuses, and
// what one refuses no other lets in.
package bounds

import (
	"fmt"
	"strconv"
)

// Bound is one line of the table.
type Bound int

// The lines of the table.
const (
	Entries Bound = iota // of one act; a job file is one act
	Things               // items in the lists of one job, each with a name or a number
	Text                 // letters of one text
	Name                 // letters of one name in a path, and of who made an entry
	Nesting              // how deep one thing may lie in another
	Photos               // of one job
	Photo                // bytes of one picture
	JobFile              // bytes of one job file
	lastOfUs
)

// table holds them. A large depot has some 2,000 circuits; the first two leave
// room for ten times that. The others are engineering judgement.
var table = [lastOfUs]struct {
	name string
	most int
	of   string
}{
	Entries: {"entries in one act", 300_000, "entries"},
	Things:  {"things in one job", 100_000, "things"},
	Text:    {"length of one text", 4_000, "letters"},
	Name:    {"length of one name", 200, "letters"},
	Nesting: {"nesting", 16, "levels"},
	Photos:  {"photos of one job", 500, "photos"},
	Photo:   {"size of one photo", 12 << 20, "bytes"},
	JobFile: {"size of one job file", 8 << 20, "bytes"},
}

// All returns every line.
func All() []Bound {
	all := make([]Bound, lastOfUs)
	for i := range all {
		all[i] = Bound(i)
	}
	return all
}

// Most is how much there may be.
func (b Bound) Most() int { return table[b].most }

func (b Bound) String() string { return table[b].name }

// Amount is how much there may be, in words.
func (b Bound) Amount() string { return b.says(b.Most()) }

func (b Bound) says(n int) string {
	if table[b].of == "bytes" && n >= 1<<20 {
		return strconv.FormatFloat(float64(n)/(1<<20), 'f', -1, 64) + " MiB"
	}
	return grouped(n) + " " + table[b].of
}

func grouped(n int) string {
	text := strconv.Itoa(n)
	for at := len(text) - 3; at > 0; at -= 3 {
		text = text[:at] + "," + text[at:]
	}
	return text
}

// Passed says that a bound was passed, and where.
type Passed struct {
	Bound
	Where string
}

// Error names the bound, and never the length of what was sent.
func (p *Passed) Error() string {
	text := fmt.Sprintf("%s: no more than %s can be taken in", p.Bound, p.Amount())
	if p.Where != "" {
		text = p.Where + ": " + text
	}
	return text
}

// Hold refuses what passes a bound.
func (b Bound) Hold(n int, where string) error {
	if n > b.Most() {
		return &Passed{b, where}
	}
	return nil
}
