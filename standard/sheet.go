package standard

import (
	"errors"
	"fmt"
	"io/fs"
	"math"
	"sort"
	"strings"

	"chargewright/sheet"
)

// tail is the columns that end every table: where the row stands and how far
// it was checked.
var tail = []string{"source", "clause", "edition", "place", "confidence", "basis"}

// loader reads the tables of one country and gathers every fault it finds.
type loader struct {
	fsys   fs.FS
	issues []*issue
	known  map[string][]*issue // edition column → editions of the rules
	faults []error
}

// record is one row while it is read.
type record struct {
	sheet.Row
	l    *loader
	file string
	line int
	row  *row
}

func (l *loader) fault(format string, args ...any) {
	l.faults = append(l.faults, fmt.Errorf(format, args...))
}

// each reads the table in file, whose columns are the given ones followed by
// the tail, and calls f for every row. A country need not have every table.
func (l *loader) each(file string, columns string, f func(r *record)) {
	text, err := fs.ReadFile(l.fsys, file)
	if errors.Is(err, fs.ErrNotExist) {
		return
	}
	if err != nil {
		l.fault("read table: %w", err)
		return
	}
	t, err := sheet.Own(file, string(text), append(strings.Split(columns, ","), tail...)...)
	if err != nil {
		l.fault("%w", err)
		return
	}
	rows := make([]row, len(t.Rows))
	for i, one := range t.Rows {
		r := record{l: l, file: file, line: one.Line, Row: one, row: &rows[i]}
		at := one.Cells()[len(one.Cells())-len(tail):]
		c, err := parseConfidence(at[4])
		if err != nil {
			one.Fault("", "", err.Error())
		}
		rows[i] = row{source: at[0], clause: at[1], edition: at[2], place: at[3], confidence: c, basis: at[5], issues: l.issuesOf(at[2])}
		f(&r)
	}
	if err := t.Faults.Err(); err != nil {
		l.fault("%w", err)
	}
}

// issuesOf returns the editions of the rules that an edition cell names; it
// may name several, parted by semicolons, and none when it names a product
// standard.
func (l *loader) issuesOf(cell string) []*issue {
	if found, ok := l.known[cell]; ok {
		return found
	}
	var found []*issue
	for _, part := range strings.Split(cell, ";") {
		for _, i := range l.issues {
			if string(i.edition) == strings.TrimSpace(part) {
				found = append(found, i)
			}
		}
	}
	l.known[cell] = found
	return found
}

func (r *record) text(column string) string { return r.Get(column) }

// number reads a numeric cell; an empty one is not a number.
func (r *record) number(column string) float64 { return r.Number(column) }

// filled reads a numeric cell that must not be empty.
func (r *record) filled(column string) float64 { return r.Filled(column) }

// upTo reads a cell that ends a range; an empty one ends it nowhere.
func upTo(r *record, column string) float64 {
	v := r.number(column)
	if math.IsNaN(v) {
		return math.Inf(1)
	}
	return v
}

func (r *record) whole(column string) int {
	v := r.filled(column)
	if v != math.Trunc(v) {
		r.Fault(column, r.Get(column), "a whole number is wanted")
	}
	return int(v)
}

func (r *record) yes(column string) bool { return r.Yes(column) }

// listed reads a cell that names several things, parted by slashes.
func (r *record) listed(column string) []string { return strings.Split(r.text(column), "/") }

// cell is one value of a column of a printed table, at its key.
type cell[V any] struct {
	at    float64
	value V
	row   *row
}

// column is one column of a printed table, keyed by a number that ascends.
type column[V any] []cell[V]

func (c *column[V]) add(r *record, at float64, v V) {
	if n := len(*c); n > 0 && !((*c)[n-1].at < at) {
		r.l.fault("%s:%d: %v does not come after %v", r.file, r.line, at, (*c)[n-1].at)
	}
	*c = append(*c, cell[V]{at, v, r.row})
}

// exact returns the cell at exactly x.
func (c column[V]) exact(x float64) (cell[V], bool) {
	for i := range c {
		if c[i].at == x {
			return c[i], true
		}
	}
	return cell[V]{}, false
}

// upward returns the cell at x, or the next greater one if x falls between
// rows. It fails above the last row.
func (c column[V]) upward(x float64) (cell[V], bool) {
	for i := range c {
		if c[i].at >= x {
			return c[i], true
		}
	}
	return cell[V]{}, false
}

// downward returns the cell at x, or the next smaller one if x falls between
// rows. It fails below the first row.
func (c column[V]) downward(x float64) (cell[V], bool) {
	for i := len(c) - 1; i >= 0; i-- {
		if c[i].at <= x {
			return c[i], true
		}
	}
	return cell[V]{}, false
}

// keys returns the keys of c as quantities.
func keys[Q ~float64, V any](c column[V]) []Q {
	out := make([]Q, len(c))
	for i := range c {
		out[i] = Q(c[i].at)
	}
	return out
}

// sorted returns the keys of m in order.
func sorted[K ~string, V any](m map[K]V) []string {
	out := make([]string, 0, len(m))
	for k := range m {
		out = append(out, string(k))
	}
	sort.Strings(out)
	return out
}
