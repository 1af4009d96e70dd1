package ledger

import (
	"bytes"
	"fmt"
	"io"
	"slices"
	"strings"

	"chargewright/job"
)

// sheet is a small table of data with named columns: tariffs, rates, factors,
// journeys, inspections. Every fault in it is reported at once.
type sheet struct {
	file     string
	columns  []string
	rows     []sheetRow
	problems job.Problems
}

type sheetRow struct {
	s     *sheet
	line  int
	cells []string
}

// mostRows bounds a sheet: a year of half hours has 17,568.
const mostRows = 2_000_000

// readSheet reads a table whose head holds at least the columns named.
func readSheet(file string, r io.Reader, need ...string) (*sheet, error) {
	s := &sheet{file: file}
	in := newLines(r)
	var fields [][]byte
	mark := byte(',')
	for {
		line, more := in.next()
		if !more {
			break
		}
		if len(bytes.TrimSpace(line)) == 0 || line[0] == '#' {
			continue
		}
		if s.columns == nil {
			mark = separator(line)
		}
		var whole bool
		fields, whole = split(line, mark, fields)
		cells := make([]string, len(fields))
		for i, f := range fields {
			cells[i] = string(f)
		}
		switch {
		case in.long || !whole:
			s.problem(int(in.number), "line", "", "a quote is opened and not closed on the line, or the line is far too long")
		case s.columns == nil:
			for _, c := range cells {
				s.columns = append(s.columns, strings.ToLower(c))
			}
			for _, n := range need {
				if !slices.Contains(s.columns, n) {
					s.problem(int(in.number), "head of the table", "", fmt.Sprintf("a column called %q is wanted; there are %s", n, strings.Join(s.columns, ", ")))
				}
			}
			if len(s.problems) > 0 {
				return s, s.problems
			}
		case len(cells) > len(s.columns):
			s.problem(int(in.number), "line", "", fmt.Sprintf("it has %d fields and the head has %d", len(cells), len(s.columns)))
		case len(s.rows) == mostRows:
			s.problem(int(in.number), "line", "", "the table is longer than any of its kind")
			return s, s.problems
		default:
			s.rows = append(s.rows, sheetRow{s, int(in.number), cells})
		}
	}
	switch {
	case in.err != nil:
		return s, fmt.Errorf("%s: reading stopped after line %d: %w", file, in.number, in.err)
	case s.columns == nil:
		s.problem(1, "", "", "there is no head that names the columns: "+strings.Join(need, ", "))
	}
	return s, nil
}

func (s *sheet) problem(line int, field, found, want string) {
	s.problems = append(s.problems, job.Problem{File: s.file, Line: line, Field: field, Found: found, Want: want})
}

// err returns the faults found, or nil.
func (s *sheet) err() error {
	if len(s.problems) == 0 {
		return nil
	}
	return s.problems
}

func (s *sheet) has(column string) bool { return slices.Contains(s.columns, column) }

// get returns a cell; a column that is not there is empty.
func (r sheetRow) get(column string) string {
	if i := slices.Index(r.s.columns, column); i >= 0 && i < len(r.cells) {
		return r.cells[i]
	}
	return ""
}

func (r sheetRow) problem(field, found, want string) { r.s.problem(r.line, field, found, want) }

// number reads a number to so many places; a finer one is refused, since a
// price is never rounded.
func (r sheetRow) number(column string, places int, want string) (int64, bool) {
	text := r.get(column)
	n, cut, ok := number([]byte(text), places)
	if !ok || n < 0 {
		r.problem(column, text, want)
		return 0, false
	}
	if cut > 0 {
		r.problem(column, text, fmt.Sprintf("%d places behind the point are kept and nothing is rounded here: %s", places, want))
		return 0, false
	}
	return n, true
}

// Validity is the days on which a row holds, both included.
type Validity struct{ from, until int64 }

// always is a validity without end.
const always = 1 << 40

// validity reads the columns "valid from" and "valid until".
func (r sheetRow) validity() (v Validity, ok bool) {
	v, ok = Validity{-always, always}, true
	for _, one := range []struct {
		column string
		to     *int64
	}{{"valid from", &v.from}, {"valid until", &v.until}} {
		text := r.get(one.column)
		if text == "" {
			continue
		}
		day, is := readDate([]byte(text), false)
		if !is {
			r.problem(one.column, text, "a date is wanted, like 2026-04-01")
			ok = false
			continue
		}
		*one.to = day
	}
	if ok && v.until < v.from {
		r.problem("valid until", r.get("valid until"), "it lies before the day it is valid from")
		ok = false
	}
	return v, ok
}

func (v Validity) holds(day int64) bool { return day >= v.from && day <= v.until }
