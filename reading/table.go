package reading

// Readings from a table: one reading a row, or one circuit a row with a column
// for each reading. All of it is read, or what is not is a fault of its cell.

import (
	"errors"
	"fmt"
	"io"
	"maps"
	"regexp"
	"slices"
	"strings"
	"time"

	"chargewright/quantity"
	"chargewright/sheet"
)

// Bounds of a table of readings: a very large installation.
const (
	mostRows    = 20_000
	mostColumns = 300
	mostCell    = 4000
)

// Table is a table of readings, read.
type Table struct {
	Rows []Row
	Told []string // what of the table is no reading: titles, rows in which nothing was read
}

// Row is one reading of a table.
type Row struct {
	At, Way, Board string // where, by its name or by its way
	Kind           *Kind
	Value          string // with its unit
	Function       string
	Instrument     string
	Who, When      string
	Note           string
	LeadsNulled    quantity.Maybe[bool]
	Temperature    quantity.Maybe[quantity.Celsius]

	file  string
	line  int
	cells map[string]written
}

// written is a cell: what its column is headed, and its text.
type written struct{ heading, text string }

// Fault is a fault of the cell that says a field of the reading.
func (r Row) Fault(field, want string) sheet.Fault {
	c := r.cells[field]
	if c.heading == "" {
		c = r.cells["value"]
	}
	return sheet.Fault{File: r.file, Line: r.line, Field: c.heading, Found: c.text, Want: want}
}

// Asked is what a person says of a table beforehand.
type Asked struct {
	Columns map[string]string // the heading that a field, or a reading by its name, stands under
	Rest    bool              // headings that are of no reading go into its note
}

// Fields lists what a column of a table may say, beside the readings themselves.
func Fields() []string {
	out := slices.Clone(fields)
	return slices.DeleteFunc(out, func(f string) bool { return f == "aside" || f == "who or instrument" || f == "date" })
}

var fields = []string{"at", "reading", "value", "unit", "function", "way", "board", "between", "multiple", "phase", "half-wave", "voltage", "instrument",
	"leads nulled", "temperature", "who", "when", "date", "note", "who or instrument", "aside"}

// NoColumn says that a field a table must have stands under no heading.
type NoColumn struct {
	Field    string
	Headings []string
}

func (e *NoColumn) Error() string {
	return fmt.Sprintf("no column is headed %q: say which one it is; the headings are %s", e.Field, strings.Join(e.Headings, ", "))
}

// heads is what the columns of a table are.
type heads struct {
	names  []string // as written
	titles []title
	field  map[string]int
	kind   map[int]*Kind // columns that are a reading each
	ways   map[int]string
	aside  []int // into the note
}

// title is a heading with its unit apart.
type title struct{ text, unit string }

// bracketed is a unit that ends a heading: in brackets, after a stroke or a
// comma, or by itself where it cannot be another word.
var bracketed = regexp.MustCompile(`^(.*?)\s*(?:[\[(]\s*(?:in )?([^\])]*)[\])]|` +
	`[/,:]\s*(m?s|[mkMG]?(?:Ω|[Oo]hms?|OHMS?)|[mk]?[AV]|°C|%)|\s+(?:in\s+)?(ms|[mkMG]?(?:Ω|[Oo]hms?|OHMS?)|mA|kA|mV|kV|°C))$`)

func titleOf(name string) title {
	if Of(name) != nil {
		return title{name, ""}
	}
	if m := bracketed.FindStringSubmatch(strings.ReplaceAll(name, "\u2126", "Ω")); m != nil && m[1] != "" {
		unit := strings.TrimSpace(m[2] + m[3] + m[4])
		if isUnit(unit) {
			return title{strings.TrimSpace(m[1]), unit}
		}
	}
	return title{name, ""}
}

// headed finds what the columns are; nothing is refused here.
func headed(h sheet.Head, over []string, asked Asked) heads {
	c := heads{names: h.Names, field: map[string]int{}, kind: map[int]*Kind{}, ways: map[int]string{}}
	for i, name := range h.Names {
		t := titleOf(name)
		if group := groupOf(over, i); group != "" {
			if whole := titleOf(strings.TrimSpace(group + " " + name)); t.text == "" {
				t = titleOf(group)
			} else if k, _ := Told(whole.text); k != nil || !known(t.text) {
				t = whole
			}
		}
		c.titles = append(c.titles, t)
	}
	named := map[int]bool{}
	for _, f := range slices.Sorted(maps.Keys(asked.Columns)) {
		i, _ := h.Find(sheet.Column{Field: f, Named: asked.Columns[f]})
		if i < 0 || named[i] {
			continue
		}
		named[i] = true
		if k := Of(f); k != nil && !slices.Contains(fields, f) {
			c.kind[i] = k
		} else {
			c.field[f] = i
		}
	}
	words := tables().headings
	take := func(f string, words []string) {
		if _, is := c.field[f]; is {
			return
		}
		for _, w := range words {
			for i, t := range c.titles {
				if !named[i] && Plain(t.text) == Plain(w) && (t.unit == "" || f == "value" || f == "temperature" || f == "voltage") {
					c.field[f], named[i] = i, true
					return
				}
			}
		}
	}
	// What was read is the column that is called so, where another says which reading it is.
	strong := slices.DeleteFunc(slices.Clone(words["value"]), func(w string) bool { return slices.Contains(words["reading"], w) })
	take("value", strong)
	if _, is := c.field["value"]; !is && c.several(words["reading"], named) {
		take("value", []string{"measurement", "reading"})
	}
	for _, f := range fields {
		if f != "value" && f != "aside" {
			take(f, words[f])
		}
	}
	if i, is := c.field["who or instrument"]; is {
		_, who := c.field["who"]
		_, instrument := c.field["instrument"]
		switch {
		case instrument && !who:
			c.field["who"] = i
			delete(c.field, "who or instrument")
		case who && !instrument:
			c.field["instrument"] = i
			delete(c.field, "who or instrument")
		}
	}
	for i, t := range c.titles {
		if named[i] || t.text == "" {
			continue
		}
		if k, ways := Told(t.text); k != nil {
			c.kind[i], c.ways[i] = k, ways
		}
	}
	return c
}

// groupOf is the heading of a group of columns, which stands over the first of
// them.
func groupOf(over []string, i int) string {
	for ; i >= 0 && i < len(over); i-- {
		if over[i] != "" {
			return over[i]
		}
	}
	return ""
}

// known reports whether a heading says something by itself.
func known(text string) bool {
	for f, words := range tables().headings {
		if f != "aside" && slices.ContainsFunc(words, func(w string) bool { return Plain(w) == Plain(text) }) {
			return true
		}
	}
	k, _ := Told(text)
	return k != nil
}

// several reports whether more than one column goes by one of the words.
func (c *heads) several(words []string, named map[int]bool) bool {
	n := 0
	for i, t := range c.titles {
		if !named[i] && slices.ContainsFunc(words, func(w string) bool { return Plain(w) == Plain(t.text) }) {
			n++
		}
	}
	return n > 1
}

// score is how well a line does for the head of a table.
func (c *heads) score() int { return len(c.field) + len(c.kind) }

// in reports whether a column has been made out to be something.
func (c *heads) in(i int) bool {
	for _, at := range c.field {
		if at == i {
			return true
		}
	}
	return c.kind[i] != nil
}

// Read reads a table of readings. An error is all that is wrong with it, each
// with its line and the heading of its cell; the rows beside it are those that
// were read all the same.
func Read(file string, from io.Reader, asked Asked) (Table, error) {
	for f := range asked.Columns {
		if !slices.Contains(fields, f) && Of(f) == nil {
			return Table{}, fmt.Errorf("a reading has no field %q; %s", f, Nearest(f, slices.Concat(Fields(), Names())))
		}
	}
	in, err := openTable(file, from, asked)
	if err != nil {
		return Table{}, err
	}
	t := &reader{file: file, mark: in.Mark(), asked: asked, heads: headed(in.Head, in.Over, asked)}
	t.names = in.Head.Names
	for _, f := range slices.Sorted(maps.Keys(asked.Columns)) {
		if _, fault := in.Head.Find(sheet.Column{Field: f, Named: asked.Columns[f]}); fault != nil {
			t.faults = append(t.faults, *fault)
		}
	}
	for in.Next() {
		if width := len(in.Head.Names); len(in.Cells) >= width {
			in.Fits()
		}
		if in.Wrong != "" {
			t.faults = append(t.faults, sheet.Fault{File: file, Line: in.Line, Field: "line", Want: in.Wrong})
			continue
		}
		cells := make([]string, len(in.Head.Names))
		for i, c := range in.Cells {
			cells[i] = sheet.Text(c)
		}
		if len(t.lines) == 0 && t.units == nil && unitRow(cells) {
			t.units = cells
			continue
		}
		t.lines, t.rows = append(t.lines, in.Line), append(t.rows, cells)
	}
	if err := in.Err(); err != nil {
		return Table{}, err
	}
	if err := t.judgeHead(in.Head); err != nil {
		return Table{}, err
	}
	out := Table{}
	for _, above := range in.Above {
		if above != "" && above != strings.TrimSpace(strings.Join(in.Over, " ")) {
			out.Told = append(out.Told, fmt.Sprintf("above the headings, not taken: %s", sheet.Shorten(above)))
		}
	}
	t.commas = t.decimalCommas()
	for n := range t.rows {
		t.line(n, &out)
	}
	if len(t.faults) > 0 {
		return out, t.faults
	}
	if len(out.Rows) == 0 {
		return out, fmt.Errorf("%s: no readings stand in it", file)
	}
	return out, nil
}

// Headings returns the head of a table of readings.
func Headings(from io.Reader) (sheet.Head, error) {
	in, err := openTable("", from, Asked{})
	return in.Head, err
}

// Meant returns the heading that a field, or a reading by its name, is found
// under.
func Meant(h sheet.Head, field string) string {
	c := headed(h, nil, Asked{})
	for i, name := range h.Names {
		if k := c.kind[i]; k != nil && k.Name == field {
			return name
		}
	}
	if i, is := c.field[field]; is {
		return h.Names[i]
	}
	return ""
}

func openTable(file string, from io.Reader, asked Asked) (*sheet.Reader, error) {
	return sheet.Open(file, from, sheet.Bounds{Rows: mostRows, Columns: mostColumns, Cell: mostCell}, func(h sheet.Head) int {
		c := headed(h, nil, asked)
		return c.score()
	})
}

// reader is a table being read.
type reader struct {
	heads
	file   string
	mark   byte
	asked  Asked
	units  []string // a row of units below the headings
	lines  []int
	rows   [][]string
	commas bool // decimals follow a comma
	faults sheet.Faults
}

// unitRow reports whether a row holds units alone.
func unitRow(cells []string) bool {
	n := 0
	for _, c := range cells {
		if c = strings.Trim(c, "()[] "); c == "" {
			continue
		}
		if !isUnit(c) {
			return false
		}
		n++
	}
	return n > 0
}

// judgeHead refuses headings that say too little, or that are nearly a reading
// and none.
func (t *reader) judgeHead(h sheet.Head) error {
	fault := func(i int, want string) {
		t.faults = append(t.faults, sheet.Fault{File: t.file, Line: h.Line, Field: "heading", Found: t.names[i], Want: want})
	}
	if i, is := t.field["who or instrument"]; is {
		fault(i, "the instrument, or the person? say which of them this column is")
	}
	first := map[string]int{}
	for i := range t.names {
		k := t.kind[i]
		if k == nil {
			continue
		}
		key := k.Name + "|" + t.ways[i]
		if j, twice := first[key]; twice {
			fault(i, fmt.Sprintf("%s is headed %s already: say what this column is", k.Name, t.names[j]))
		}
		first[key] = i
	}
	t.nameNotNumber()
	for i, title := range t.titles {
		if t.in(i) {
			continue
		}
		figures, any := 0, false
		for _, r := range t.rows {
			any = any || r[i] != ""
			if _, _, rest := figure(r[i]); r[i] != rest {
				figures++
			}
		}
		unit := title.unit
		if unit == "" && t.units != nil {
			unit = t.units[i]
		}
		switch {
		case !any:
		case t.names[i] == "" && title.text == "":
			fault(i, fmt.Sprintf("column %d has cells and no heading", i+1))
		case t.asked.Rest || aside(title.text) || unit != "" && !electrical(unit):
			t.aside = append(t.aside, i)
		case unit != "" || figures > 0 && Near(title.text, spellings()) != "":
			fault(i, "no reading is called so; "+Wanted(title.text)+"; say what the column is, or that it goes into the note")
		default:
			t.aside = append(t.aside, i)
		}
	}
	if err := t.faults.Err(); err != nil {
		return err
	}
	_, value := t.field["value"]
	_, which := t.field["reading"]
	_, at := t.field["at"]
	_, way := t.field["way"]
	switch {
	case !at && !way:
		return &NoColumn{"at", t.names}
	case len(t.kind) > 0 && !(value && which):
		for _, f := range []string{"value", "reading"} { // beside readings of their own they are a remark
			if i, is := t.field[f]; is {
				delete(t.field, f)
				t.aside = append(t.aside, i)
			}
		}
	case !which:
		return &NoColumn{"reading", t.names}
	case !value:
		return &NoColumn{"value", t.names}
	}
	return nil
}

// nameNotNumber takes the column of numbers for the way, where another column
// names what they number.
func (t *reader) nameNotNumber() {
	at, is := t.field["at"]
	if _, way := t.field["way"]; !is || way {
		return
	}
	for _, r := range t.rows {
		if !digits(r[at]) {
			return
		}
	}
	for _, w := range tables().headings["at"] {
		for i, title := range t.titles {
			if !t.in(i) && title.unit == "" && Plain(title.text) == Plain(w) {
				t.field["way"], t.field["at"] = at, i
				return
			}
		}
	}
}

// aside reports a heading of what was wanted or fitted and not of what was read.
func aside(heading string) bool {
	for word := range strings.FieldsFuncSeq(strings.ToLower(heading), func(r rune) bool { return strings.ContainsRune(" -_()[].,:#", r) }) {
		if slices.Contains(tables().headings["aside"], word) {
			return true
		}
	}
	return slices.Contains(tables().headings["aside"], strings.ToLower(heading))
}

// electrical reports a unit of readings.
func electrical(unit string) bool {
	base, per, known := quantity.Unit(unit)
	return known && slices.Contains([]string{"Ω", "A", "V", "s", "%"}, base) && !(base == "s" && per > 1)
}

func isUnit(text string) bool {
	_, _, known := quantity.Unit(text)
	return known
}

func sameUnit(a, b string) bool {
	base, per, _ := quantity.Unit(a)
	other, size, _ := quantity.Unit(b)
	return base == other && per == size
}

func spellings() []string {
	var all []string
	for _, k := range tables().kinds {
		all = append(append(all, k.Name), k.Also...)
	}
	return all
}

// line reads the readings of one row.
func (t *reader) line(n int, out *Table) {
	cells := t.rows[n]
	row := Row{file: t.file, line: t.lines[n], cells: map[string]written{}}
	get := func(f string) string {
		i, is := t.field[f]
		if !is {
			return ""
		}
		row.cells[f] = written{t.heading(i), cells[i]}
		return strings.TrimSpace(cells[i])
	}
	faults := len(t.faults)
	refuse := func(field, want string) { t.faults = append(t.faults, row.Fault(field, want)) }
	row.At, row.Way, row.Board = get("at"), get("way"), get("board")
	row.Instrument, row.Who = get("instrument"), get("who")
	if text := get("temperature"); text != "" {
		c, err := quantity.ParseCelsius(strings.Replace(text, ",", ".", 1))
		if err != nil {
			refuse("temperature", err.Error())
		}
		row.Temperature = quantity.Known(c)
	}
	if text := get("leads nulled"); text != "" {
		yes, ok := sheet.Yes(text)
		if !ok {
			refuse("leads nulled", "write yes or no")
		}
		row.LeadsNulled = quantity.Known(yes)
	}
	if when := strings.TrimSpace(get("date") + " " + get("when")); when != "" {
		var ok bool
		if row.When, ok = whenWritten(when); !ok {
			refuse("when", "a date is wanted, year first, with the time if known, like 2026-11-25 14:05")
		}
	}
	notes := []string{}
	if note := get("note"); note != "" {
		notes = append(notes, note)
	}
	for _, i := range t.aside {
		if cells[i] != "" {
			notes = append(notes, t.heading(i)+": "+cells[i])
		}
	}
	row.Note = strings.Join(notes, "; ")
	before, ways := len(out.Rows), t.waysOf(get)
	if _, is := t.field["value"]; is {
		t.oneReading(row, get, ways, cells, out)
	}
	t.oneCircuit(row, ways, cells, out)
	if len(out.Rows) == before && len(t.faults) == faults && slices.ContainsFunc(cells, func(c string) bool { return c != "" }) {
		whole := strings.Join(strings.Fields(strings.Join(cells, " ")), " ")
		out.Told = append(out.Told, fmt.Sprintf("line %d: no reading stands in it: %s", row.line, sheet.Shorten(whole)))
	}
}

func (t *reader) heading(i int) string {
	if t.names[i] == "" {
		return t.titles[i].text
	}
	return t.names[i]
}

// oneReading reads a row that is one reading.
func (t *reader) oneReading(row Row, get func(string) string, ways []wayCell, cells []string, out *Table) {
	name, text := get("reading"), get("value")
	if name == "" && text == "" {
		return
	}
	row.cells["value"] = written{t.heading(t.field["value"]), text}
	whole := strings.TrimSpace(strings.Join([]string{name, get("between"), get("multiple")}, " "))
	if m := get("multiple"); m != "" && !strings.ContainsAny(strings.ToLower(m), "x×") && strings.Trim(m, "0123456789./½") == "" {
		whole = strings.TrimSpace(name + " " + get("between") + " " + m + "x")
	}
	k, way := Told(whole)
	if k == nil {
		t.faults = append(t.faults, row.Fault("reading", "no reading has that name"+differs(whole, name)+"; "+Wanted(whole)))
		return
	}
	unit := strings.TrimSpace(get("unit"))
	if own := t.titles[t.field["value"]].unit; unit == "" {
		unit = own
	}
	if i := t.field["value"] + 1; t.mark == ',' && i < len(cells) && whole != "" && digits(text) && digits(cells[i]) && t.remark(i) {
		t.faults = append(t.faults, row.Fault("value", fmt.Sprintf("is it %s,%s, parted at its comma? write the decimals after a point", text, cells[i])))
		return
	}
	t.add(row, k, way, ways, text, unit, out)
}

// remark reports a column that goes into the note.
func (t *reader) remark(i int) bool {
	note, is := t.field["note"]
	return slices.Contains(t.aside, i) || is && note == i
}

func differs(whole, name string) string {
	if whole == name {
		return ""
	}
	return fmt.Sprintf(" (%s)", whole)
}

// oneCircuit reads the columns that are a reading each.
func (t *reader) oneCircuit(row Row, ways []wayCell, cells []string, out *Table) {
	first := true
	for i := range t.names {
		k := t.kind[i]
		if k == nil || slices.Contains(dashes, cells[i]) {
			continue
		}
		if sheet.Missing([]byte(cells[i])) && !strings.EqualFold(cells[i], "nan") {
			out.Told = append(out.Told, fmt.Sprintf("line %d: no reading stands in it under %s: %s", row.line, t.heading(i), cells[i]))
			continue
		}
		one := row
		one.cells = maps.Clone(row.cells)
		one.cells["value"] = written{t.heading(i), cells[i]}
		if !first {
			one.Note = ""
		}
		if k.Class != "low ohm" {
			one.LeadsNulled = quantity.Maybe[bool]{}
		}
		unit := t.titles[i].unit
		if unit == "" && t.units != nil {
			unit = strings.Trim(t.units[i], "()[] ")
		}
		fitting := slices.DeleteFunc(slices.Clone(ways), func(w wayCell) bool { _, err := k.Ways(w.text); return err != nil })
		t.add(one, k, t.ways[i], fitting, cells[i], unit, out)
		first = false
	}
}

// dashes are a cell left empty.
var dashes = []string{"", "-", "–", "—", "--", "---"}

// wayCell is a cell that says how a reading was taken.
type wayCell struct{ field, text string }

func (t *reader) waysOf(get func(string) string) []wayCell {
	var out []wayCell
	for _, f := range []string{"function", "phase", "half-wave", "voltage"} {
		text := get(f)
		if sheet.Missing([]byte(text)) {
			continue
		}
		switch {
		case f == "half-wave" && digits(text):
			text += "°"
		case f == "voltage" && digits(text):
			text += " V"
		}
		out = append(out, wayCell{f, text})
	}
	return out
}

// add takes a reading, or keeps what is wrong with it.
func (t *reader) add(row Row, k *Kind, way string, ways []wayCell, text, unit string, out *Table) {
	row.Kind = k
	all := []string{}
	if way != "" {
		all = append(all, way)
	}
	for _, w := range ways {
		if _, err := k.Ways(w.text); err != nil {
			if w.field == "voltage" || w.field == "phase" { // of all readings of the circuit
				row.Note = strings.Trim(row.Note+"; "+row.cells[w.field].heading+": "+row.cells[w.field].text, "; ")
				continue
			}
			t.faults = append(t.faults, row.Fault(w.field, wantOf(err)))
			return
		}
		all = append(all, w.text)
	}
	row.Function = strings.Join(all, ", ")
	if _, err := k.Ways(row.Function); err != nil {
		t.faults = append(t.faults, row.Fault("function", wantOf(err)))
		return
	}
	if strings.TrimSpace(row.At+row.Way) == "" {
		t.faults = append(t.faults, sheet.Fault{File: t.file, Line: row.line, Field: t.heading(t.place()), Want: "where it was read is wanted"})
		return
	}
	value, wrong := t.value(k, text, unit)
	if wrong == "" {
		if _, err := k.Parse(value); err != nil {
			wrong = wantOf(err)
		}
	}
	if wrong != "" {
		t.faults = append(t.faults, row.Fault("value", k.Name+": "+wrong))
		return
	}
	row.Value = k.Written(value)
	out.Rows = append(out.Rows, row)
}

// wantOf is what would be right, without what was found.
func wantOf(err error) string {
	var e *quantity.Error
	if errors.As(err, &e) {
		return e.Wrong + ": " + e.Right
	}
	return err.Error()
}

func (t *reader) place() int {
	if i, is := t.field["at"]; is {
		return i
	}
	return t.field["way"]
}

// figure parts a cell into what stands before its figure, the figure and what
// follows.
func figure(text string) (sign, number, rest string) {
	rest = strings.TrimLeft(text, "<>≤≥=＞＜~ ")
	sign = strings.TrimSpace(text[:len(text)-len(rest)])
	for _, b := range beyond {
		if word := strings.TrimSpace(b.text); sign == "" && len(rest) > len(word) && strings.EqualFold(rest[:len(word)], word) && word[0] >= 'a' {
			sign, rest = word, strings.TrimSpace(rest[len(word):])
		}
	}
	end := 0
	for i, r := range rest {
		if r >= '0' && r <= '9' || r == '.' || r == ',' || i == 0 && (r == '-' || r == '+' || r == '−') {
			end = i + len(string(r))
			continue
		}
		break
	}
	if strings.Trim(rest[:end], ".,-+−") == "" {
		return "", "", text
	}
	return sign, rest[:end], strings.TrimSpace(rest[end:])
}

// value writes a cell with a point for its decimals and with its unit.
func (t *reader) value(k *Kind, text, unit string) (value, wrong string) {
	text = strings.Join(strings.Fields(strings.TrimPrefix(text, "'")), " ")
	text = strings.NewReplacer("＞", ">", "＜", "<").Replace(text)
	text = topped(text)
	sign, number, own := figure(text)
	if number == "" {
		return text, ""
	}
	number, ok := t.plainNumber(number)
	if !ok {
		return "", "two people read that figure two ways: write its decimals after a point, and part no thousands"
	}
	switch {
	case own == "":
		own = unit
	case unit != "" && !sameUnit(k.unit(own), k.unit(unit)):
		return "", fmt.Sprintf("is in %s here and in %s by its column: write the one it is in", own, unit)
	}
	if k.Seen() && !k.timed {
		return text, ""
	}
	if own = k.unit(own); own != "" {
		number += " " + own
	}
	if sign != "" {
		number = sign + " " + number
	}
	return number, ""
}

// unit reads a unit whose letters lost their case: no insulation tester shows
// milliohms, and no other instrument megohms.
func (k *Kind) unit(unit string) string {
	unit = strings.Trim(unit, "()[] ")
	switch strings.ReplaceAll(unit, " ", "") {
	case "mohm", "mohms", "MOHM", "MOHMS":
		if k.Class == "insulation" {
			return "MΩ"
		}
		return "mΩ"
	}
	return unit
}

// plainNumber writes a figure with a point, or reports that two people would
// read it two ways.
func (t *reader) plainNumber(text string) (string, bool) {
	comma, point := strings.Count(text, ","), strings.Count(text, ".")
	switch {
	case comma == 0:
		return text, point <= 1
	case comma == 1 && point == 0:
		before, after, _ := strings.Cut(text, ",")
		if len(after) == 3 && strings.TrimLeft(before, "-+−") != "0" && !t.commas {
			return "", false
		}
		return before + "." + after, true
	case point == 1 && strings.LastIndex(text, ",") < strings.Index(text, "."):
		return strings.ReplaceAll(text, ",", ""), grouped(text[:strings.Index(text, ".")], ",")
	case comma == 1 && strings.LastIndex(text, ".") < strings.Index(text, ","):
		return strings.Replace(strings.ReplaceAll(text, ".", ""), ",", ".", 1), grouped(text[:strings.Index(text, ",")], ".")
	}
	return "", false
}

// grouped reports whether thousands are parted as they are.
func grouped(whole, by string) bool {
	parts := strings.Split(strings.TrimLeft(whole, "-+−"), by)
	for i, p := range parts {
		if i > 0 && len(p) != 3 || i == 0 && (len(p) == 0 || len(p) > 3) {
			return false
		}
	}
	return true
}

// decimalCommas reports whether the figures of the table have commas, by one
// that can be nothing else, and none has a point.
func (t *reader) decimalCommas() bool {
	sure := false
	for _, row := range t.rows {
		for i, c := range row {
			if i != t.field["value"] && t.kind[i] == nil {
				continue
			}
			_, n, _ := figure(c)
			if strings.Contains(n, ".") {
				return false
			}
			before, after, is := strings.Cut(n, ",")
			sure = sure || is && (len(after) != 3 || before == "0")
		}
	}
	return sure
}

func digits(text string) bool { return text != "" && strings.Trim(text, "0123456789") == "" }

// whenWritten writes a time year first. Days go before months, as they are
// written where the project is at home.
func whenWritten(text string) (string, bool) {
	stamp, ok := sheet.ReadStamp([]byte(text), false)
	if !ok {
		day, ok := sheet.ReadDate([]byte(text), false)
		return time.Unix(day*86400, 0).UTC().Format(time.DateOnly), ok
	}
	wall := time.Unix(int64(stamp.Wall), 0).UTC()
	switch {
	case stamp.HasZone:
		return wall.Add(-time.Duration(stamp.Offset) * time.Second).In(time.FixedZone("", int(stamp.Offset))).Format(time.RFC3339), true
	case stamp.Fine == 1:
		return wall.Format("2006-01-02 15:04:05"), true
	}
	return wall.Format("2006-01-02 15:04"), true
}
