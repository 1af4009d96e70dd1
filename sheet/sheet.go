// Package sheet reads tables: ours, whose columns are the fields of a Go type
// and whose rows name their source, and theirs, as meters, loggers, testers
// and back offices write them.
//
// Of a table of theirs nothing is taken for granted. The separator, the quotes,
// the encoding and the line of the headings are found in it; headings go by
// several words and in any case, with the unit in the heading or in the cell;
// figures have points or commas, times have offsets or none. What cannot be
// read is a Fault with its line and field, and all faults are told in one pass.
//
//	Open, Reader     rows one after the other, in the memory of one row
//	Read, Table      a small table as a whole, by its headings
//	Own, Rows        a table of ours
//	Head, Column     which column says what
//	Stamp, Clock     times as written, and the instants they are in a zone
//	Number, Float    figures as written; Measure, with their unit
//	Write            rows as CSV, safe to open in a spreadsheet
//
// What a cell means is for the room that asks: a tick, "999+" or "no trip" is
// handed on as the text it is.
package sheet

import (
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode"
)

// Table is a small table as a whole.
type Table struct {
	File   string
	Head   Head
	Rows   []Row
	Faults Faults
	own    bool
}

// Row is one row of a table.
type Row struct {
	Line  int
	table *Table
	cells []string
}

// mostRows bounds a small table: two years of minutes, rounded.
const mostRows = 2_000_000

// Read reads a table whose head holds at least the columns named, in any order
// and case, and others beside them. A row may end before the head does. An
// error is a head that cannot be used; faults of rows are kept.
func Read(file string, src io.Reader, need ...string) (*Table, error) {
	return ReadAny(file, src, need, need...)
}

// ReadAny is Read for a table that may have one of several heads: its head is
// looked for by any of the words.
func ReadAny(file string, src io.Reader, need []string, words ...string) (*Table, error) {
	t := &Table{File: file}
	r, err := Open(file, src, Bounds{Rows: mostRows}, func(h Head) (n int) {
		for _, w := range words {
			if slices.ContainsFunc(h.Names, func(name string) bool { return strings.EqualFold(name, w) }) {
				n++
			}
		}
		return n
	})
	if t.Head = r.Head; err != nil {
		return t, err
	}
	for _, n := range need {
		if t.column(n) < 0 {
			t.Faults = append(t.Faults, *t.Head.Wants(fmt.Sprintf("a column called %q is wanted; there are %s", n, t.Head)))
		}
	}
	if len(t.Faults) > 0 {
		return t, t.Faults
	}
	for r.Next() {
		if short := len(r.Cells) < len(t.Head.Names); r.Wrong == "" && !short {
			r.Fits()
		}
		if r.Wrong != "" {
			t.Fault(r.Line, "line", "", r.Wrong)
			continue
		}
		t.Rows = append(t.Rows, Row{r.Line, t, texts(r.Cells)})
	}
	return t, r.Err()
}

// Own reads a table of ours: commas between the cells, remarks after #, exactly
// the columns named, every row whole, and with its source where there is such
// a column. An error is a head that is not so; faults of rows are kept.
func Own(file, text string, columns ...string) (*Table, error) {
	return own(file, text, true, columns)
}

func own(file, text string, exactly bool, columns []string) (*Table, error) {
	const wanted = "the first row must be "
	t := &Table{File: file, own: true}
	r := &Reader{File: file, buf: []byte(strings.TrimPrefix(text, "\ufeff")), eof: true, mark: ','}
	r.bounds = Bounds{mostRows, usualColumns, usualCell, usualBytes, false}
	type span struct{ at, n int }
	var spans []span
	for r.Next() {
		if r.Wrong == "" && t.Head.Line > 0 {
			r.Fits()
		}
		switch {
		case r.Wrong != "":
			t.Fault(r.Line, "", "", r.Wrong)
		case t.Head.Line == 0:
			r.Head = newHead(file, r.Line, r.Cells)
			t.Head = r.Head
			missing := slices.DeleteFunc(slices.Clone(columns), t.Has)
			if len(missing) > 0 || exactly && !slices.Equal(t.Head.Names, columns) {
				t.Fault(r.Line, "", "", wanted+strings.Join(columns, ","))
				return t, t.Faults
			}
		default:
			t.Rows = append(t.Rows, Row{Line: r.Line, table: t})
			for _, c := range r.Cells {
				at := 0 // of an empty cell: anywhere
				if len(c) > 0 {
					at = cap(r.buf) - cap(c)
				}
				spans = append(spans, span{at, len(c)})
			}
		}
	}
	whole := string(r.buf) // the cells share its memory
	cells := make([]string, len(spans))
	for i, s := range spans {
		cells[i] = whole[s.at : s.at+s.n]
	}
	width, source := len(t.Head.Names), t.column("source")
	for i := range t.Rows {
		row := &t.Rows[i]
		row.cells = cells[i*width : (i+1)*width]
		if source >= 0 && row.cells[source] == "" {
			row.Fault("source", "", "where the row is from is wanted, or: common practice")
		}
	}
	if t.Head.Line == 0 {
		t.Fault(1, "", "", "the table is empty: "+wanted+strings.Join(columns, ","))
		return t, t.Faults
	}
	return t, r.Err()
}

// Fault keeps a fault of the table.
func (t *Table) Fault(line int, field, found, want string) {
	t.Faults = append(t.Faults, Fault{File: t.File, Line: line, Field: field, Found: found, Want: want})
}

func (t *Table) column(name string) int {
	for i, have := range t.Head.Names {
		if strings.EqualFold(have, name) {
			return i
		}
	}
	return -1
}

// Has reports whether there is a column of that name.
func (t *Table) Has(name string) bool { return t.column(name) >= 0 }

// Fault keeps a fault of the row.
func (r Row) Fault(field, found, want string) { r.table.Fault(r.Line, field, found, want) }

// Get returns a cell; a column that is not there is empty, and a fault of ours
// in a table of ours.
func (r Row) Get(column string) string {
	i := r.table.column(column)
	switch {
	case i >= 0 && i < len(r.cells):
		return r.cells[i]
	case i < 0 && r.table.own:
		r.Fault(column, "", "there is no such column")
	}
	return ""
}

// Cells returns the cells as they stand.
func (r Row) Cells() []string { return r.cells }

// Number reads a figure written with a point; an empty cell is not a number.
func (r Row) Number(column string) float64 {
	text := r.Get(column)
	if text == "" {
		return math.NaN()
	}
	v, err := strconv.ParseFloat(text, 64)
	if err != nil || math.IsNaN(v) {
		r.Fault(column, text, "a number is wanted")
	}
	return v
}

// Filled reads a figure that must be there.
func (r Row) Filled(column string) float64 {
	v := r.Number(column)
	if r.Get(column) == "" {
		r.Fault(column, "", "a number is wanted, and the cell is empty")
	}
	return v
}

// Yes reads yes or no.
func (r Row) Yes(column string) bool {
	yes, ok := Yes(r.Get(column))
	if !ok {
		r.Fault(column, r.Get(column), "yes or no is wanted")
	}
	return yes
}

// Write writes rows as CSV. A cell that a spreadsheet would take for a formula
// is set behind an apostrophe; numbers stay as they are.
func Write(to io.Writer, rows [][]string) error {
	w := NewWriter(to)
	for _, row := range rows {
		if err := w.Write(row); err != nil {
			return err
		}
	}
	return w.Flush()
}

// Writer writes rows one after the other.
type Writer struct{ csv *csv.Writer }

// NewWriter begins a table.
func NewWriter(to io.Writer) *Writer { return &Writer{csv.NewWriter(to)} }

// signed is what may begin with a sign and is no formula, with its unit or none.
var signed = regexp.MustCompile(`^[-+][0-9.]+([eE][-+]?[0-9]+)?( [\pL%°Ω²³/]+)?$`)

// Write writes a row. Programs leave out spaces before a sign, and some take its
// wide form for it.
func (w *Writer) Write(row []string) error {
	row = slices.Clone(row)
	for i, cell := range row {
		begins := strings.TrimLeftFunc(cell, unicode.IsSpace)
		if strings.IndexAny(begins, "=+-@＝＋－＠") == 0 && !signed.MatchString(cell) || strings.IndexAny(cell, "\t\r\n") == 0 {
			row[i] = "'" + cell
		}
	}
	return w.csv.Write(row)
}

// Flush writes what is left.
func (w *Writer) Flush() error {
	w.csv.Flush()
	return w.csv.Error()
}
