package standard

import (
	"errors"
	"fmt"
	"io/fs"
	"math"
	"slices"
	"sort"
	"strconv"
	"strings"
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
	l     *loader
	file  string
	head  []string
	cells []string
	line  int
	row   *row
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
	head := append(strings.Split(columns, ","), tail...)
	all, err := split(string(text), len(head))
	if err != nil {
		l.fault("%s: %w", file, err)
		return
	}
	if len(all) == 0 || !slices.Equal(all[0], head) {
		l.fault("%s: the columns are not %q", file, head)
		return
	}
	rows := make([]row, len(all)-1)
	for i, cells := range all[1:] {
		r := record{l: l, file: file, head: head, cells: cells, line: i + 1, row: &rows[i]}
		at := cells[len(cells)-len(tail):]
		c, err := parseConfidence(at[4])
		if err != nil {
			l.fault("%s row %d: %w", file, i+1, err)
		}
		if at[0] == "" {
			l.fault("%s row %d: the source is empty", file, i+1)
		}
		rows[i] = row{source: at[0], clause: at[1], edition: at[2], place: at[3], confidence: c, basis: at[5], issues: l.issuesOf(at[2])}
		f(&r)
	}
}

// split cuts a table into its rows of width cells. It is comma-separated values
// as in RFC 4180, with comment lines, and with every row on one line; the
// cells share the text's memory, which keeps opening a rulebook quick.
func split(text string, width int) ([][]string, error) {
	var rows [][]string
	all := make([]string, 0, width*strings.Count(text, "\n"))
	for number := 1; text != ""; number++ {
		var line string
		line, text, _ = strings.Cut(text, "\n")
		line = strings.TrimSuffix(line, "\r")
		if line == "" || line[0] == '#' {
			continue
		}
		from := len(all)
		for more := true; more; {
			var cell string
			if strings.HasPrefix(line, `"`) {
				end := 1
				for {
					i := strings.IndexByte(line[end:], '"')
					if i < 0 {
						return nil, fmt.Errorf("line %d: a quoted cell has no end", number)
					}
					if end += i + 1; !strings.HasPrefix(line[end:], `"`) {
						break
					}
					end++ // a doubled quote stands for one
				}
				cell = strings.ReplaceAll(line[1:end-1], `""`, `"`)
				if line = line[end:]; line != "" && line[0] != ',' {
					return nil, fmt.Errorf("line %d: text after a quoted cell", number)
				}
				_, line, more = strings.Cut(line, ",")
			} else {
				cell, line, more = strings.Cut(line, ",")
			}
			all = append(all, cell)
		}
		if len(all)-from != width {
			return nil, fmt.Errorf("line %d: %d cells, want %d", number, len(all)-from, width)
		}
		rows = append(rows, all[from:len(all):len(all)])
	}
	return rows, nil
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

func (r *record) text(column string) string {
	for i, name := range r.head {
		if name == column {
			return r.cells[i]
		}
	}
	r.l.fault("%s: there is no column %q", r.file, column)
	return ""
}

// number reads a numeric cell; an empty one is not a number.
func (r *record) number(column string) float64 {
	s := r.text(column)
	if s == "" {
		return math.NaN()
	}
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		r.l.fault("%s row %d: %s is %q: it must be a number", r.file, r.line, column, s)
	}
	return v
}

// filled reads a numeric cell that must not be empty.
func (r *record) filled(column string) float64 {
	v := r.number(column)
	if math.IsNaN(v) {
		r.l.fault("%s row %d: %s is empty", r.file, r.line, column)
	}
	return v
}

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
		r.l.fault("%s row %d: %s is %v: it must be a whole number", r.file, r.line, column, v)
	}
	return int(v)
}

func (r *record) yes(column string) bool {
	switch s := r.text(column); s {
	case "yes":
		return true
	case "no":
	default:
		r.l.fault("%s row %d: %s is %q: it is yes or no", r.file, r.line, column, s)
	}
	return false
}

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
		r.l.fault("%s row %d: %v does not come after %v", r.file, r.line, at, (*c)[n-1].at)
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
