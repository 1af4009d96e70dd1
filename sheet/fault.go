package sheet

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strings"
)

// Fault is one fault in a file. It is safe to show to anyone.
type Fault struct {
	File  string
	Line  int    // counted from 1; 0 when the fact came from no file
	Field string // where: a heading, or `circuit "van point", leg 1 (yard wall), length`
	Found string // what stands there; empty when quoting it says nothing
	Want  string // what would be right, in the trade's words
	Err   error  // the cause, for the log; may be nil
}

// Error returns the fault on one line:
//
//	barn.yaml:41: circuit "van point", leg 1 (yard wall), length is "25 mm²": a length in metres is wanted, like 25 m
func (f Fault) Error() string {
	var b strings.Builder
	if f.File != "" {
		b.WriteString(f.File)
	}
	if f.Line > 0 {
		fmt.Fprintf(&b, ":%d", f.Line)
	}
	if b.Len() > 0 {
		b.WriteString(": ")
	}
	if f.Field != "" {
		b.WriteString(f.Field)
	}
	if f.Found != "" {
		if f.Field != "" {
			b.WriteString(" is ")
		}
		fmt.Fprintf(&b, "%q", Shorten(f.Found))
	}
	if f.Field != "" || f.Found != "" {
		b.WriteString(": ")
	}
	b.WriteString(f.Want)
	return b.String()
}

// Unwrap returns the cause.
func (f Fault) Unwrap() error { return f.Err }

// ErrUnfinished is the cause of a fault in which nothing written is wrong:
// something that must stand beside it is still missing, such as the circuit
// that feeds a point.
var ErrUnfinished = errors.New("something is still missing beside it")

// Unfinished reports that the fault is of that kind.
func (f Fault) Unfinished() bool { return errors.Is(f.Err, ErrUnfinished) }

// Shorten keeps a quoted text to a length a person would read.
func Shorten(s string) string {
	const most = 60
	if r := []rune(s); len(r) > most {
		return string(r[:most]) + "…"
	}
	return s
}

// Faults is every fault of a file. As an error it reads one line each.
type Faults []Fault

// Error returns the faults, one a line.
func (fs Faults) Error() string {
	lines := make([]string, len(fs))
	for i, f := range fs {
		lines[i] = f.Error()
	}
	return strings.Join(lines, "\n")
}

// Unwrap returns the faults one by one.
func (fs Faults) Unwrap() []error {
	errs := make([]error, len(fs))
	for i, f := range fs {
		errs[i] = f
	}
	return errs
}

// mostFaults is how many faults are written out. A file with more is not what
// it was taken for.
const mostFaults = 200

// Err returns the faults as an error in the order of their lines, nil where
// there are none.
func (fs Faults) Err() error {
	if len(fs) == 0 {
		return nil
	}
	fs = slices.Clone(fs)
	slices.SortStableFunc(fs, func(a, b Fault) int { return cmp.Compare(a.Line, b.Line) })
	if more := len(fs) - mostFaults; more > 0 {
		last := fs[mostFaults-1]
		fs = append(fs[:mostFaults], Fault{File: last.File, Line: last.Line, Want: fmt.Sprintf("%d more faults follow: put these right first", more)})
	}
	return fs
}
