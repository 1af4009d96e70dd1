package job

// Faults of a job file, in words a person on site can act on.

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// Problem is one fault in a job file. It is safe to show to anyone.
type Problem struct {
	File  string
	Line  int    // counted from 1; 0 when the fact came from no file
	Field string // where: `circuit "van point", leg 1 (yard wall), length`
	Found string // what stands there; empty when quoting it says nothing
	Want  string // what would be right, in the trade's words
	Err   error  // the cause, for the log; may be nil

	unfinished bool // see Unfinished
}

// Error returns the fault on one line:
//
//	barn.yaml:41: circuit "van point", leg 1 (yard wall), length is "25 mm²": a length in metres is wanted, like 25 m
func (p Problem) Error() string {
	var b strings.Builder
	if p.File != "" {
		b.WriteString(p.File)
	}
	if p.Line > 0 {
		fmt.Fprintf(&b, ":%d", p.Line)
	}
	if b.Len() > 0 {
		b.WriteString(": ")
	}
	if p.Field != "" {
		b.WriteString(p.Field)
	}
	if p.Found != "" {
		if p.Field != "" {
			b.WriteString(" is ")
		}
		fmt.Fprintf(&b, "%q", shorten(p.Found))
	}
	if p.Field != "" || p.Found != "" {
		b.WriteString(": ")
	}
	b.WriteString(p.Want)
	return b.String()
}

// Unfinished reports that nothing written is wrong: something that must stand
// beside it is still missing, such as the circuit that feeds a point.
func (p Problem) Unfinished() bool { return p.unfinished }

// Unwrap returns the cause.
func (p Problem) Unwrap() error { return p.Err }

// shorten keeps a quoted text to a length a person would read.
func shorten(s string) string {
	const most = 60
	r := []rune(s)
	if len(r) <= most {
		return s
	}
	return string(r[:most]) + "…"
}

// Problems is every fault of a job file, sorted by line. As an error it reads
// one line each.
type Problems []Problem

// Error returns the faults, one a line.
func (ps Problems) Error() string {
	lines := make([]string, len(ps))
	for i, p := range ps {
		lines[i] = p.Error()
	}
	return strings.Join(lines, "\n")
}

// Unwrap returns the faults one by one.
func (ps Problems) Unwrap() []error {
	errs := make([]error, len(ps))
	for i, p := range ps {
		errs[i] = p
	}
	return errs
}

// sorted orders the faults by line; faults of one line keep the order found.
func (ps Problems) sorted() Problems {
	slices.SortStableFunc(ps, func(a, b Problem) int { return cmp.Compare(a.Line, b.Line) })
	return ps
}

// err returns the faults as an error, nil when there are none.
func (ps Problems) err() error {
	if len(ps) == 0 {
		return nil
	}
	return ps
}

// mostProblems is how many faults are written out. A file with more is not a
// job file with faults but something else.
const mostProblems = 200

// faults gathers problems while one file is read.
type faults struct {
	file  string
	list  Problems
	more  int // faults beyond mostProblems
	after int // line of the first of them
}

func (f *faults) add(p Problem) {
	if len(f.list) == mostProblems {
		if f.more == 0 {
			f.after = p.Line
		}
		f.more++
		return
	}
	p.File = f.file
	f.list = append(f.list, p)
}

// full reports that further faults will only be counted.
func (f *faults) full() bool { return len(f.list) == mostProblems }

// problems returns what was gathered.
func (f *faults) problems() Problems {
	ps := f.list.sorted()
	if f.more > 0 {
		last := max(f.after, ps[len(ps)-1].Line)
		ps = append(ps, Problem{File: f.file, Line: last, Want: fmt.Sprintf("%d more faults follow: put these right first", f.more)})
	}
	return ps
}
