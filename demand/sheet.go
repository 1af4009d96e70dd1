package demand

// Reading the CSV files that meters and loggers write: commas, semicolons or
// tabs; decimal points or commas; comments after #; missing values as nothing,
// NA, ? or a dash.

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"time"
)

// sheet is a CSV file with its headings.
type sheet struct {
	file  string
	comma rune
	heads []string
	rows  [][]string
	lines []int // where each row stands in the file
	last  int
}

func readSheet(file string, text []byte) (*sheet, error) {
	text = bytes.TrimPrefix(text, []byte("\xef\xbb\xbf"))
	s := &sheet{file: file, comma: ','}
	first := firstLine(text)
	for _, c := range ";\t" {
		if strings.Count(first, string(c)) > strings.Count(first, string(s.comma)) {
			s.comma = c
		}
	}
	r := csv.NewReader(bytes.NewReader(text))
	r.Comma, r.Comment, r.FieldsPerRecord, r.TrimLeadingSpace, r.LazyQuotes = s.comma, '#', -1, true, true
	for {
		row, err := r.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			line := 0
			var at *csv.ParseError
			if errors.As(err, &at) {
				line = at.Line
			}
			return nil, &LogError{file, line, "", "the line cannot be read as a row of a table"}
		}
		line, _ := r.FieldPos(0)
		s.last = line
		if s.heads == nil {
			for _, h := range row {
				s.heads = append(s.heads, strings.TrimSpace(h))
			}
			continue
		}
		s.rows, s.lines = append(s.rows, row), append(s.lines, line)
	}
	if s.heads == nil {
		return nil, &LogError{file, 1, "", "a line of headings is wanted, then a reading on each line"}
	}
	return s, nil
}

func firstLine(text []byte) string {
	for _, line := range strings.Split(string(text[:min(len(text), 1<<16)]), "\n") {
		if t := strings.TrimSpace(line); t != "" && t[0] != '#' {
			return t
		}
	}
	return ""
}

// What a recording may be of.
const (
	whatCurrent  = "current of each line"
	whatPower    = "power"
	whatEnergy   = "energy"
	whatRegister = "register of a meter"
)

// columns is where things are, by number; −1 for nowhere.
type columns struct {
	time, date, clock int
	values            []int
	what              string
}

func (s *sheet) column(heading string) int {
	for i, h := range s.heads {
		if strings.EqualFold(h, strings.TrimSpace(heading)) {
			return i
		}
	}
	return -1
}

// named returns the column of a heading that was given.
func (s *sheet) named(heading, as string) (int, error) {
	if i := s.column(heading); i >= 0 {
		return i, nil
	}
	return -1, &LogError{s.file, 1, heading, fmt.Sprintf("there is no column of that heading for the %s: the headings are %s", as, strings.Join(s.heads, ", "))}
}

// find settles which column is what.
func (s *sheet) find(c Columns) (*columns, error) {
	out := &columns{time: -1, date: -1, clock: -1}
	if err := s.findTime(c, out); err != nil {
		return nil, err
	}
	if err := s.findValues(c, out); err != nil {
		return nil, err
	}
	return out, nil
}

func (s *sheet) findValues(c Columns, out *columns) error {
	for _, kind := range []struct{ what, heading string }{{whatPower, c.Power}, {whatEnergy, c.Energy}, {whatRegister, c.Register}} {
		if kind.heading != "" {
			i, err := s.named(kind.heading, kind.what)
			if err != nil {
				return err
			}
			out.what, out.values = kind.what, []int{i}
			return nil
		}
	}
	for _, heading := range c.Current {
		if heading != "" {
			i, err := s.named(heading, "current")
			if err != nil {
				return err
			}
			out.what, out.values = whatCurrent, append(out.values, i)
		}
	}
	if out.what != "" {
		return nil
	}
	return s.guess(out)
}

func (s *sheet) findTime(c Columns, out *columns) error {
	var err error
	switch {
	case c.Time != "":
		out.time, err = s.named(c.Time, "time")
	case c.Date != "":
		if out.date, err = s.named(c.Date, "date"); err == nil {
			out.clock, err = s.named(c.Clock, "time of day")
		}
	default:
		date, clock := -1, -1
		for i, h := range s.heads {
			switch h := strings.ToLower(h); {
			case strings.Contains(h, "datetime") || strings.Contains(h, "timestamp"):
				out.time = i
			case h == "date":
				date = i
			case strings.HasPrefix(h, "time") && clock < 0:
				clock = i
			case strings.Contains(h, "time") && clock < 0 || strings.HasPrefix(h, "date") && date < 0 && clock < 0:
				clock = i
			}
		}
		switch {
		case out.time >= 0:
		case date >= 0 && clock >= 0:
			out.date, out.clock = date, clock
		case clock >= 0:
			out.time = clock
		case date >= 0:
			out.time = date
		default:
			err = &LogError{s.file, 1, "", "no column is headed time or date: name the one that holds the time; the headings are " + strings.Join(s.heads, ", ")}
		}
	}
	return err
}

// guess looks for the values by the usual words and units.
func (s *sheet) guess(out *columns) error {
	words := func(h string) []string {
		return strings.FieldsFunc(strings.ToLower(h), func(r rune) bool { return !(r >= 'a' && r <= 'z' || r >= '0' && r <= '9') })
	}
	has := func(h string, any ...string) bool {
		for _, w := range words(h) {
			for _, a := range any {
				if w == a {
					return true
				}
			}
		}
		return false
	}
	for _, line := range []string{"l1", "l2", "l3"} {
		for i, h := range s.heads {
			if has(h, line) && !has(h, "v", "kw", "w", "kwh") {
				out.values = append(out.values, i)
				break
			}
		}
	}
	if len(out.values) > 0 {
		out.what = whatCurrent
		return nil
	}
	for _, kind := range []struct {
		what string
		any  []string
	}{{whatRegister, []string{"register"}}, {whatEnergy, []string{"kwh"}}, {whatPower, []string{"kw"}}, {whatCurrent, []string{"a", "amps", "amperes", "current"}}} {
		for i, h := range s.heads {
			if i != out.time && i != out.date && i != out.clock && has(h, kind.any...) {
				if out.what == kind.what {
					return &LogError{s.file, 1, h, fmt.Sprintf("so is %q: name the column that holds the %s", s.heads[out.values[0]], kind.what)}
				}
				out.what, out.values = kind.what, []int{i}
			}
		}
		if out.what != "" {
			return nil
		}
	}
	return &LogError{s.file, 1, "", "no heading names a line (L1, L2, L3) or a unit (A, kW, kWh): name the column that holds the current, power, energy or register; the headings are " + strings.Join(s.heads, ", ")}
}

// samples reads the rows.
func (s *sheet) samples(c *columns, zone *time.Location) ([]sample, error) {
	out := make([]sample, 0, len(s.rows))
	var clock wallClock
	clock.zone = zone
	for n, row := range s.rows {
		line := s.lines[n]
		cell := func(i int) string {
			if i < 0 || i >= len(row) {
				return ""
			}
			return strings.TrimSpace(row[i])
		}
		text, field := cell(c.time), ""
		if c.time >= 0 {
			field = s.heads[c.time]
		} else {
			text, field = cell(c.date)+" "+cell(c.clock), s.heads[c.date]
		}
		at, ok := clock.read(text)
		if !ok {
			return nil, &LogError{s.file, line, field, fmt.Sprintf("%q is no time: a date with the time of day is wanted, like 2026-11-25 14:30 or 25/11/2026 14:30", text)}
		}
		r := sample{at: at, line: line, known: true}
		for k, i := range c.values {
			text := cell(i)
			if missing(text) {
				r.known = false
				continue
			}
			v, ok := s.number(text)
			if !ok {
				return nil, &LogError{s.file, line, s.heads[i], fmt.Sprintf("%q is no number: the %s is wanted as a plain figure in the unit of its heading", text, c.what)}
			}
			if k < 3 {
				r.values[k] = v
			}
		}
		out = append(out, r)
	}
	return out, nil
}

func missing(text string) bool {
	switch strings.ToLower(text) {
	case "", "na", "n/a", "?", "-", "null", "nan":
		return true
	}
	return false
}

// number reads a figure; a comma is a decimal point where it does not part columns.
func (s *sheet) number(text string) (float64, bool) {
	if s.comma != ',' && strings.Count(text, ",") == 1 && !strings.Contains(text, ".") {
		text = strings.Replace(text, ",", ".", 1)
	}
	v, err := strconv.ParseFloat(text, 64)
	return v, err == nil && math.Abs(v) < 1e9
}

// wallClock reads local times one after the other, so that the hour that comes
// twice when the clocks go back is told apart by its place.
type wallClock struct {
	zone   *time.Location
	before time.Time
	layout string
}

var layouts = []string{
	time.RFC3339, "2006-01-02 15:04:05Z07:00", "2006-01-02T15:04Z07:00", "2006-01-02 15:04:05", "2006-01-02 15:04", "2006-01-02T15:04:05", "2006-01-02T15:04",
	"2/1/2006 15:04:05", "2/1/2006 15:04", "02.01.2006 15:04:05", "02.01.2006 15:04", "2006-01-02",
}

func (w *wallClock) read(text string) (time.Time, bool) {
	t, ok := w.parse(text)
	if !ok || t.Year() < 1900 || t.Year() > 2200 {
		return t, false
	}
	// Of the moments that carry this time of day, the first after the one before.
	for _, shift := range []time.Duration{-time.Hour, 0, time.Hour} {
		same := t.Add(shift)
		if same.In(w.zone).Format(time.TimeOnly) == t.In(w.zone).Format(time.TimeOnly) && same.After(w.before) {
			t = same
			break
		}
	}
	w.before = t
	return t, true
}

func (w *wallClock) parse(text string) (time.Time, bool) {
	if w.layout != "" {
		if t, err := time.ParseInLocation(w.layout, text, w.zone); err == nil {
			return t, true
		}
	}
	for _, l := range layouts {
		if t, err := time.ParseInLocation(l, text, w.zone); err == nil {
			w.layout = l
			return t, true
		}
	}
	return time.Time{}, false
}

// Heads are the headings of a file of recordings, and which of them are taken
// for what.
type Heads struct {
	All   []string
	Found Columns
}

// ReadHeads returns the headings of a recording as far as they are understood;
// what is wrong with them is said by ReadLog.
func ReadHeads(text []byte, c Columns) Heads {
	s, err := readSheet("", text)
	if err != nil {
		return Heads{}
	}
	h := Heads{All: s.heads}
	cols := &columns{time: -1, date: -1, clock: -1}
	if s.findTime(c, cols) != nil || s.findValues(c, cols) != nil {
		return h
	}
	at := func(i int) string {
		if i < 0 {
			return ""
		}
		return s.heads[i]
	}
	h.Found.Time, h.Found.Date, h.Found.Clock = at(cols.time), at(cols.date), at(cols.clock)
	for k, i := range cols.values {
		switch cols.what {
		case whatPower:
			h.Found.Power = at(i)
		case whatEnergy:
			h.Found.Energy = at(i)
		case whatRegister:
			h.Found.Register = at(i)
		case whatCurrent:
			if k < len(h.Found.Current) {
				h.Found.Current[k] = at(i)
			}
		}
	}
	return h
}
