package job

// Faults of a job file, in words a person on site can act on.

import (
	"cmp"
	"fmt"
	"slices"

	"chargewright/sheet"
)

// Problem is one fault in a job file. It is safe to show to anyone.
type Problem = sheet.Fault

// Problems is every fault of a job file, sorted by line.
type Problems = sheet.Faults

// sorted orders faults by line; faults of one line keep the order found.
func sorted(ps Problems) Problems {
	slices.SortStableFunc(ps, func(a, b Problem) int { return cmp.Compare(a.Line, b.Line) })
	return ps
}

// asError returns the faults as an error, nil when there are none.
func asError(ps Problems) error {
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
	ps := sorted(f.list)
	if f.more > 0 {
		last := max(f.after, ps[len(ps)-1].Line)
		ps = append(ps, Problem{File: f.file, Line: last, Want: fmt.Sprintf("%d more faults follow: put these right first", f.more)})
	}
	return ps
}
