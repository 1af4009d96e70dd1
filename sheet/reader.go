package sheet

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf16"
	"unicode/utf8"
)

// Bounds is how much of a table is read; what is zero is as usual. What passes
// a bound is refused by its name.
type Bounds struct {
	Rows    int
	Columns int
	Cell    int   // bytes
	Bytes   int64 // of the whole
	OneLine bool  // a row is one line: a cell in quotes does not run over its end
}

// Usual bounds: a year of seconds for the rows.
const (
	usualRows    = 32_000_000
	usualColumns = 1000
	usualCell    = 64 << 10
	usualBytes   = 4 << 30
	window       = 256 << 10 // longest row
)

// marks is what may part the cells of a row.
const marks = ",;\t|"

// Reader reads the rows of a table one after the other, in one pass and with
// the memory of one row. What the encoding and the separator are is found in
// its first lines, and so is its head.
type Reader struct {
	File    string
	Head    Head
	Above   []string // what stands above the head: titles
	Over    []string // the cells of the row next above it
	Beside  []string // sheets of the workbook that are not read
	Skipped int      // lines without a row: empty, or remarks
	Lines   int      // lines read
	Rows    int

	Line  int      // of the row
	Cells [][]byte // of the row, until the next
	Wrong string   // why the row cannot be read; its cells are nothing

	bounds Bounds
	mark   byte
	src    io.Reader
	raw    []byte // of UTF-16, half a character
	decode func([]byte) []byte
	buf    []byte
	at     int
	taken  int64
	last   int  // lines of the row that was read last
	old    bool // lines end with a carriage return alone
	long   bool // it is longer than a row may be
	eof    bool
	err    error
}

// Open reads up to the head of a table, which is the first of its lines that
// fits best: fits says how many of the columns it looks for are there. Where
// nothing fits, it is the first of the most lines that are equally wide. Without
// fits, every line is a row.
func Open(file string, src io.Reader, b Bounds, fits func(Head) int) (*Reader, error) {
	r := &Reader{File: file, src: src, bounds: b}
	r.bounds.Rows, r.bounds.Columns = or(b.Rows, usualRows), or(b.Columns, usualColumns)
	r.bounds.Cell, r.bounds.Bytes = or(b.Cell, usualCell), or(b.Bytes, usualBytes)
	if err := r.unpack(fits); err != nil {
		return r, Faults{err.(Fault)}
	}
	for len(r.buf) < window/4 && r.more() {
	}
	if r.old = bytes.IndexByte(r.buf, '\n') < 0; r.old { // lines that end as they did on old machines
		ends(r.buf)
	}
	line, _ := r.sniff(fits)
	if line == 0 {
		r.Skipped = bytes.Count(r.buf, []byte{'\n'})
		if r.err != nil {
			return r, r.stopped()
		}
		return r, Faults{{File: file, Line: 1, Want: "a line of headings is wanted, then a row on each line; the table is empty"}}
	}
	if fits == nil {
		return r, nil
	}
	for r.Line < line && r.Next() {
		if r.Line < line {
			r.Skipped += r.last
			r.Over = nil
			if r.Line+r.last == line {
				r.Over = texts(r.Cells)
			}
			if _, said := saidMark(bytes.Join(r.Cells, nil)); !said {
				r.Above = append(r.Above, strings.Trim(strings.Join(texts(r.Cells), " "), " "))
			}
		}
	}
	r.Rows = 0
	r.Head = newHead(file, r.Line, r.Cells)
	switch {
	case r.Wrong != "":
		return r, Faults{{File: file, Line: line, Field: "head of the table", Want: r.Wrong}}
	case r.err != nil:
		return r, r.stopped()
	}
	return r, nil
}

func or[N int | int64](a, b N) N {
	if a > 0 {
		return a
	}
	return b
}

// Mark is what parts the cells of a row.
func (r *Reader) Mark() byte { return r.mark }

// Err is why reading stopped before the end.
func (r *Reader) Err() error {
	if r.err == nil {
		return nil
	}
	return r.stopped()
}

func (r *Reader) stopped() error {
	var f Fault
	if errors.As(r.err, &f) {
		return Faults{f}
	}
	return fmt.Errorf("%s: reading stopped after line %d: %w", r.File, r.Lines, r.err)
}

func (r *Reader) refuse(format string, args ...any) {
	if r.err == nil {
		r.err = Fault{File: r.File, Line: r.Line, Want: fmt.Sprintf(format, args...)}
	}
	r.eof = true
}

// more reads on; what is left of the buffer moves to its front.
func (r *Reader) more() bool {
	if r.eof {
		return false
	}
	if r.at > 0 {
		r.buf = r.buf[:copy(r.buf, r.buf[r.at:])]
		r.at = 0
	}
	if cap(r.buf)-len(r.buf) < 4096 {
		r.buf = append(make([]byte, 0, max(16<<10, 2*cap(r.buf))), r.buf...)
	}
	first := r.taken == 0
	if r.decode == nil && !first {
		n, err := r.src.Read(r.buf[len(r.buf):cap(r.buf)])
		r.buf = r.buf[:len(r.buf)+n]
		if r.old {
			ends(r.buf[len(r.buf)-n:])
		}
		r.count(n, err)
		return n > 0 || !r.eof
	}
	chunk := make([]byte, 4096)
	n, err := io.ReadAtLeast(r.src, chunk, 4)
	if errors.Is(err, io.ErrUnexpectedEOF) {
		err = io.EOF
	}
	if chunk = chunk[:n]; first {
		chunk = r.encoding(chunk)
	}
	if r.decode != nil {
		chunk = r.decode(chunk)
	}
	if r.old {
		ends(chunk)
	}
	r.buf = append(r.buf, chunk...)
	r.count(n, err)
	return n > 0
}

// ends turns carriage returns into line ends.
func ends(b []byte) {
	for i, c := range b {
		if c == '\r' {
			b[i] = '\n'
		}
	}
}

func (r *Reader) count(n int, err error) {
	r.taken += int64(n)
	switch {
	case errors.Is(err, io.EOF):
		r.eof = true
	case err != nil:
		r.eof, r.err = true, err
	case r.taken > r.bounds.Bytes:
		r.refuse("the table is larger than %d bytes: split it", r.bounds.Bytes)
	}
}

// encoding finds UTF-16 by its mark, or by a zero in every other byte.
func (r *Reader) encoding(b []byte) []byte {
	wide := func(order func(a, b byte) uint16) func([]byte) []byte {
		return func(chunk []byte) []byte {
			chunk = append(r.raw, chunk...)
			var units []uint16
			i := 0
			for ; i+1 < len(chunk); i += 2 {
				units = append(units, order(chunk[i], chunk[i+1]))
			}
			if n := len(units); n > 0 && units[n-1] >= 0xd800 && units[n-1] < 0xdc00 { // half of a pair
				units, i = units[:n-1], i-2
			}
			r.raw = append([]byte(nil), chunk[i:]...)
			return []byte(string(utf16.Decode(units)))
		}
	}
	little := func(a, b byte) uint16 { return uint16(a) | uint16(b)<<8 }
	big := func(a, b byte) uint16 { return uint16(b) | uint16(a)<<8 }
	switch {
	case bytes.HasPrefix(b, []byte("\xef\xbb\xbf")):
		return b[3:]
	case bytes.HasPrefix(b, []byte("\xff\xfe")):
		r.decode = wide(little)
		return b[2:]
	case bytes.HasPrefix(b, []byte("\xfe\xff")):
		r.decode = wide(big)
		return b[2:]
	case len(b) >= 4 && b[0] != 0 && b[1] == 0 && b[2] != 0 && b[3] == 0:
		r.decode = wide(little)
	case len(b) >= 4 && b[0] == 0 && b[1] != 0 && b[2] == 0 && b[3] != 0:
		r.decode = wide(big)
	}
	return b
}

// Next reads the next row that holds something. False is the end, or Err.
func (r *Reader) Next() bool {
	for {
		r.Lines += r.last
		r.last = 0
		row, more := r.row()
		if !more {
			return false
		}
		r.Line = r.Lines + 1
		r.Wrong = ""
		if r.long {
			r.long, r.Cells = false, r.Cells[:0]
			r.Wrong = fmt.Sprintf("the line is longer than %d bytes: is a line ending missing?", window)
			return true
		}
		if isRemark(row) {
			r.Skipped += r.last
			continue
		}
		r.cut(row)
		if r.Wrong == "" && r.empty() {
			r.Skipped += r.last
			continue
		}
		if r.Rows++; r.Rows > r.bounds.Rows {
			r.refuse("the table has more than %d rows: split it", r.bounds.Rows)
			return false
		}
		return true
	}
}

func isRemark(line []byte) bool {
	line = bytes.TrimSpace(line)
	return len(line) == 0 || line[0] == '#'
}

func (r *Reader) empty() bool {
	for _, c := range r.Cells {
		if len(c) > 0 {
			return false
		}
	}
	return true
}

// row returns the bytes of the next row without its ending: one line, or as
// many as its quotes run over.
func (r *Reader) row() (row []byte, more bool) {
	line, next := r.line(0)
	if next == 0 {
		return nil, false
	}
	if r.last = 1; next < 0 { // too long: passed over up to its end
		for r.long = true; ; {
			if r.at = len(r.buf); !r.more() {
				return nil, true
			}
			if i := bytes.IndexByte(r.buf[r.at:], '\n'); i >= 0 {
				r.at += i + 1
				return nil, true
			}
		}
	}
	if !r.bounds.OneLine && bytes.IndexByte(line, '"') >= 0 && quotes(line, r.mark, false) == open {
		end, state := next, open
		for n := 2; state == open; n++ {
			longer, after := r.line(end)
			if after <= 0 || len(longer) > r.bounds.Cell+len(line) {
				break
			}
			if state = quotes(longer[end:], r.mark, true); state == shut {
				r.at += after
				r.last = n
				return longer, true
			}
			end = after
		}
		line, next = r.line(0) // never closed: the fault of its first line alone
	}
	r.at += next
	return line, true
}

// line returns the bytes up to the end of the line that stands so many bytes
// on, and where the next begins: 0 at the end, below 0 where it is too long.
func (r *Reader) line(after int) (line []byte, next int) {
	for from := after; ; {
		rest := r.buf[r.at:]
		if i := bytes.IndexByte(rest[from:], '\n'); i >= 0 {
			line, next = rest[:from+i], from+i+1
			break
		}
		if from = len(rest); from >= window {
			return nil, -1
		}
		if !r.more() {
			line, next = rest, len(rest)
			if next == after {
				return nil, 0
			}
			break
		}
	}
	if n := len(line); n > after && line[n-1] == '\r' {
		line = line[:n-1]
	}
	return line, next
}

// What the quotes of a row come to at its end.
const (
	shut = iota
	open
	broken // text follows a closing quote
)

// quotes follows the quotes of a line, which may begin within some.
func quotes(line []byte, mark byte, within bool) int {
	for {
		if !within {
			line = bytes.TrimLeft(line, " ")
			if len(line) == 0 {
				return shut
			}
			if line[0] != '"' {
				i := bytes.IndexByte(line, mark)
				if i < 0 {
					return shut
				}
				line = line[i+1:]
				continue
			}
			line = line[1:]
		}
		for within = true; within; {
			i := bytes.IndexByte(line, '"')
			if i < 0 {
				return open
			}
			line = line[i+1:]
			if within = len(line) > 0 && line[0] == '"'; within {
				line = line[1:]
			}
		}
		switch line = bytes.TrimLeft(line, " "); {
		case len(line) == 0:
			return shut
		case line[0] != mark:
			return broken
		}
		line = line[1:]
	}
}

// cut parts a row into its cells, which are parts of the row. A cell may stand
// in double quotes, doubled within.
func (r *Reader) cut(row []byte) {
	r.Cells = r.Cells[:0]
	if bytes.IndexByte(row, '"') < 0 {
		for {
			i := bytes.IndexByte(row, r.mark)
			if i < 0 {
				r.keep(row)
				return
			}
			r.keep(row[:i])
			row = row[i+1:]
		}
	}
	for {
		if c := bytes.TrimLeft(row, " "); len(c) > 0 && c[0] == '"' {
			end, written := 1, 0
			for ; end < len(c); end++ {
				if c[end] == '"' {
					if end+1 >= len(c) || c[end+1] != '"' {
						break
					}
					end++
				}
				c[written] = c[end]
				written++
			}
			if end >= len(c) {
				r.Wrong = "a quote is opened and not closed on the line"
				return
			}
			rest := bytes.TrimLeft(c[end+1:], " ")
			r.keep(c[:written])
			if len(rest) == 0 {
				return
			}
			if rest[0] != r.mark {
				r.Wrong = "text follows a closing quote: a quote within a cell is doubled"
				return
			}
			row = rest[1:]
			continue
		}
		i := bytes.IndexByte(row, r.mark)
		if i < 0 {
			r.keep(row)
			return
		}
		r.keep(row[:i])
		row = row[i+1:]
	}
}

func (r *Reader) keep(cell []byte) {
	cell = bytes.TrimSpace(cell)
	switch {
	case len(cell) > r.bounds.Cell:
		r.Wrong = fmt.Sprintf("cell %d is longer than %d bytes: is a quote or a line ending missing?", len(r.Cells)+1, r.bounds.Cell)
	case len(r.Cells) == r.bounds.Columns:
		r.Wrong = fmt.Sprintf("it has more than %d cells", r.bounds.Columns)
		return
	}
	r.Cells = append(r.Cells, cell)
}

// Fits reports whether the row is as wide as the head, give or take empty cells
// at its end, and says how it is not.
func (r *Reader) Fits() bool {
	width := len(r.Head.Names)
	for len(r.Cells) > width && len(r.Cells[len(r.Cells)-1]) == 0 {
		r.Cells = r.Cells[:len(r.Cells)-1]
	}
	switch {
	case r.Wrong != "":
	case len(r.Cells) < width:
		r.Wrong = fmt.Sprintf("it has %d fields and the head has %d: is it cut off?", len(r.Cells), width)
	case len(r.Cells) > width:
		r.Wrong = fmt.Sprintf("it has %d fields and the head has %d: is a field with a %q in it not in quotes?", len(r.Cells), width, string(r.mark))
	}
	return r.Wrong == ""
}

// IsTotal reports whether the row sums up those above, by its first text.
func (r *Reader) IsTotal() bool {
	for _, c := range r.Cells {
		if len(c) > 0 {
			switch strings.ToLower(strings.TrimRight(string(c[:min(len(c), 20)]), " :.")) {
			case "total", "totals", "sum", "grand total", "subtotal", "sub-total", "average", "mean":
				return true
			}
			return false
		}
	}
	return false
}

// sniff finds the separator and the line of the head among the first lines; 0
// where there is no line.
func (r *Reader) sniff(fits func(Head) int) (head, score int) {
	const most = 60
	text, kept := r.buf, *r
	fixed := byte(0)
	type choice struct{ line, score int }
	var best, usual choice
	var bestMark, usualMark byte = ',', ','
	try := []byte(marks)
	if said, ok := saidMark(text); ok {
		fixed, try = said, []byte{said}
	}
	if r.mark != 0 { // of a workbook
		try = []byte{r.mark}
	}
	for _, mark := range try {
		one := kept
		one.buf, one.src, one.eof, one.mark, one.Cells = bytes.Clone(text), nil, true, mark, nil
		if !kept.eof { // the last line may be cut off
			if i := bytes.LastIndexAny(one.buf, "\r\n"); i > 0 {
				one.buf = one.buf[:i+1]
			}
		}
		first, wide := map[int]int{}, map[int]int{}
		for one.Rows < most && one.Next() {
			if fixed != 0 && one.Line == 1 {
				continue
			}
			if one.Wrong == "" && fits != nil && !slices.ContainsFunc(one.Cells, figure) {
				if n := fits(newHead(r.File, one.Line, one.Cells)); n > best.score {
					best, bestMark = choice{one.Line, n}, mark
				}
			}
			n := len(one.Cells)
			if wide[n]++; wide[n] == 1 {
				first[n] = one.Line
			}
		}
		for n, lines := range wide {
			score := min(n, 2)*1000*lines + n
			if n == 1 {
				score = 1
			}
			if score > usual.score {
				usual, usualMark = choice{first[n], score}, mark
			}
		}
	}
	if best.score > 0 {
		r.mark = bestMark
		return best.line, best.score
	}
	r.mark = usualMark
	return usual.line, 0
}

// unpack puts the sheet of a workbook in its place: the one whose head fits
// best, and the first of those.
func (r *Reader) unpack(fits func(Head) int) error {
	opening := make([]byte, 4)
	n, err := io.ReadFull(r.src, opening)
	r.src = io.MultiReader(bytes.NewReader(opening[:n]), r.src)
	if err != nil || !isBook(opening) {
		return nil
	}
	text, err := io.ReadAll(io.LimitReader(r.src, r.bounds.Bytes+1))
	switch {
	case err != nil:
		return Fault{File: r.File, Want: "the workbook cannot be read: " + err.Error()}
	case int64(len(text)) > r.bounds.Bytes:
		return Fault{File: r.File, Want: fmt.Sprintf("the workbook is larger than %d bytes: split it", r.bounds.Bytes)}
	}
	pages, err := readBook(r.File, text)
	if err != nil {
		return err
	}
	best, most := 0, -1
	for i, p := range pages {
		one := Reader{File: r.File, bounds: r.bounds, buf: bytes.Clone(p.text[:min(len(p.text), window/4)]), eof: len(p.text) <= window/4, mark: '\t'}
		if _, score := one.sniff(fits); score > most {
			best, most = i, score
		}
	}
	for i, p := range pages {
		if i != best {
			r.Beside = append(r.Beside, p.name)
		}
	}
	r.src, r.mark = bytes.NewReader(pages[best].text), '\t'
	return nil
}

// saidMark is the separator that a first line says by itself, as spreadsheets
// write it: sep=;
func saidMark(text []byte) (byte, bool) {
	line, _, _ := bytes.Cut(text, []byte("\n"))
	line = bytes.Trim(bytes.TrimRight(line, "\r"), `"`)
	if len(line) != 5 || !strings.EqualFold(string(line[:4]), "sep=") || strings.IndexByte(marks, line[4]) < 0 {
		return 0, false
	}
	return line[4], true
}

// figure reports that a cell holds a figure or a time, which no heading is.
func figure(cell []byte) bool {
	if len(cell) == 0 || cell[0] > '9' {
		return false
	}
	_, number := Float(cell, 0)
	_, stamp := ReadStamp(cell, false)
	return number || stamp
}

func texts(cells [][]byte) []string {
	out := make([]string, len(cells))
	for i, c := range cells {
		out[i] = Text(c)
	}
	return out
}

// Text is a cell as text. One that is not UTF-8 is read as ISO 8859-1.
func Text(cell []byte) string {
	if utf8.Valid(cell) {
		return string(cell)
	}
	latin := make([]rune, len(cell))
	for i, c := range cell {
		latin[i] = rune(c)
	}
	return strings.TrimSpace(string(latin))
}
