package demand

// Which columns of a recording hold what, and the rows under them.

import (
	"bytes"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"chargewright/sheet"
)

// What a recording may be of, with the units it may be written in.
const (
	whatCurrent  = "current of each line"
	whatPower    = "power"
	whatEnergy   = "energy"
	whatRegister = "register of a meter"
)

var measures = map[string]sheet.Measure{whatCurrent: sheet.Amperes, whatPower: sheet.Kilowatts, whatEnergy: sheet.KilowattHours,
	whatRegister: sheet.KilowattHours}

// columns is where things are, by number; −1 for nowhere.
type columns struct {
	time, date, clock int
	values            []int
	what              string
}

// openLog opens a recording and settles which of its columns is what.
func openLog(file string, text []byte, c Columns) (*sheet.Reader, *columns, error) {
	in, err := sheet.Open(file, bytes.NewReader(text), sheet.Bounds{}, func(h sheet.Head) (n int) {
		var out columns
		if findTime(h, c, &out) == nil {
			n++
		}
		if findValues(h, c, &out) == nil {
			n++
		}
		return n
	})
	if err != nil {
		return in, nil, err
	}
	cols := &columns{}
	var faults sheet.Faults
	for _, f := range []*sheet.Fault{findTime(in.Head, c, cols), findValues(in.Head, c, cols)} {
		if f != nil {
			faults = append(faults, *f)
		}
	}
	return in, cols, faults.Err()
}

func findValues(h sheet.Head, c Columns, out *columns) *sheet.Fault {
	type named struct{ what, heading string }
	for _, one := range []named{{whatPower, c.Power}, {whatEnergy, c.Energy}, {whatRegister, c.Register}, {whatCurrent, c.Current[0]},
		{whatCurrent, c.Current[1]}, {whatCurrent, c.Current[2]}} {
		if one.heading == "" || out.what != "" && one.what != whatCurrent {
			continue
		}
		i, fault := h.Find(sheet.Column{Field: one.what, Named: one.heading})
		if fault != nil {
			return fault
		}
		if out.what == "" || out.what == one.what {
			out.what, out.values = one.what, append(out.values, i)
		}
	}
	if out.what != "" {
		return nil
	}
	return out.guess(h)
}

func findTime(h sheet.Head, c Columns, out *columns) (fault *sheet.Fault) {
	out.time, out.date, out.clock = -1, -1, -1
	switch {
	case c.Time != "":
		out.time, fault = h.Find(sheet.Column{Field: "time", Named: c.Time})
	case c.Date != "":
		if out.date, fault = h.Find(sheet.Column{Field: "date", Named: c.Date}); fault == nil {
			out.clock, fault = h.Find(sheet.Column{Field: "time of day", Named: c.Clock})
		}
	default:
		date, clock := -1, -1
		for i, name := range h.Names {
			switch name := strings.ToLower(name); {
			case strings.Contains(name, "datetime") || strings.Contains(name, "timestamp"):
				out.time = i
			case name == "date":
				date = i
			case strings.HasPrefix(name, "time") && clock < 0:
				clock = i
			case strings.Contains(name, "time") && clock < 0 || strings.HasPrefix(name, "date") && date < 0 && clock < 0:
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
			return &sheet.Fault{File: h.File, Line: h.Line, Want: "no column is headed time or date: name the one that holds the time; the headings are " + h.String()}
		}
	}
	return fault
}

// guess looks for the values by the usual words and units.
func (c *columns) guess(h sheet.Head) *sheet.Fault {
	has := func(i int, any ...string) bool {
		return slices.ContainsFunc(h.Words(i), func(w string) bool { return slices.Contains(any, w) })
	}
	in := func(i int, what string) bool { _, said := h.Scale(i, measures[what]); return said }
	for _, line := range []string{"l1", "l2", "l3"} {
		for i := range h.Names {
			if has(i, line) && !has(i, "v") && !in(i, whatPower) && !in(i, whatEnergy) {
				c.values = append(c.values, i)
				break
			}
		}
	}
	if len(c.values) > 0 {
		c.what = whatCurrent
		return nil
	}
	for _, kind := range []struct {
		what string
		is   func(i int) bool
	}{
		{whatRegister, func(i int) bool { return has(i, "register") }}, {whatEnergy, func(i int) bool { return in(i, whatEnergy) }},
		{whatPower, func(i int) bool { return in(i, whatPower) }}, {whatCurrent, func(i int) bool { return has(i, "current") || in(i, whatCurrent) }},
	} {
		for i, name := range h.Names {
			if i == c.time || i == c.date || i == c.clock || !kind.is(i) {
				continue
			}
			if c.what == kind.what {
				return &sheet.Fault{File: h.File, Line: h.Line, Field: name,
					Want: fmt.Sprintf("so is %q: name the column that holds the %s", h.Names[c.values[0]], kind.what)}
			}
			c.what, c.values = kind.what, []int{i}
		}
		if c.what != "" {
			return nil
		}
	}
	return &sheet.Fault{File: h.File, Line: h.Line,
		Want: "no heading names a line (L1, L2, L3) or a unit (A, kW, kWh): name the column that holds the current, power, energy or register; " +
			"the headings are " + h.String()}
}

// samples reads the rows; what cannot be read is told in one pass.
func (c *columns) samples(in *sheet.Reader, zone *time.Location) ([]sample, error) {
	var out []sample
	var faults sheet.Faults
	clock := wallClock{clock: sheet.Clock{Zone: zone}}
	bare := make([]float64, len(c.values))
	for k, i := range c.values {
		bare[k], _ = in.Head.Scale(i, measures[c.what])
	}
	fault := func(column int, want string) {
		field := "line"
		if column >= 0 {
			field = in.Head.Names[column]
		}
		faults = append(faults, sheet.Fault{File: in.File, Line: in.Line, Field: field, Want: want})
	}
	var joined []byte
	for in.Next() && len(faults) < mostFaults {
		if in.Wrong != "" {
			fault(-1, in.Wrong)
			continue
		}
		cell := func(i int) []byte {
			if i < 0 || i >= len(in.Cells) {
				return nil
			}
			return in.Cells[i]
		}
		if in.IsTotal() {
			continue
		}
		text, column := cell(c.time), c.time
		if c.time < 0 {
			joined = append(append(append(joined[:0], cell(c.date)...), ' '), cell(c.clock)...)
			text, column = joined, c.date
		}
		at, ok := clock.read(text)
		if !ok {
			fault(column, fmt.Sprintf("%q is no time: a date with the time of day is wanted, like 2026-11-25 14:30 or 25/11/2026 14:30", sheet.Shorten(string(text))))
			continue
		}
		r := sample{at: at, line: in.Line, known: true}
		for k, i := range c.values {
			text := cell(i)
			if sheet.Missing(text) {
				r.known = false
				continue
			}
			v, ok := measures[c.what].Amount(text, bare[k], in.Mark())
			if !ok || math.Abs(v) >= 1e9 {
				fault(i, fmt.Sprintf("%q is no number: the %s is wanted as a plain figure in the unit of its heading, or with its own", sheet.Shorten(string(text)),
					c.what))
			}
			if k < 3 {
				r.values[k] = v
			}
		}
		out = append(out, r)
	}
	if err := faults.Err(); err != nil {
		return nil, err
	}
	return out, in.Err()
}

// mostFaults is how many faults of one file are told.
const mostFaults = 200

// wallClock reads local times one after the other, so that the hour that comes
// twice when the clocks go back is told apart by its place.
type wallClock struct {
	clock  sheet.Clock
	before int64
}

func (w *wallClock) read(text []byte) (time.Time, bool) {
	s, ok := sheet.ReadStamp(text, false)
	if !ok {
		day, is := sheet.ReadDate(text, false)
		if !is {
			return time.Time{}, false
		}
		s = sheet.Stamp{Wall: sheet.Civil(day * 86400)}
	}
	at := s.Instant(&w.clock)
	if !s.HasZone { // of the moments that carry this time of day, the first after the one before
		if first, second, how := w.clock.Instants(s.Wall); how == sheet.Twice && first <= w.before {
			at = second
		}
	}
	w.before = at
	return time.Unix(at, 0).In(w.clock.Zone), true
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
	in, cols, err := openLog("", text, c)
	h := Heads{All: in.Head.Names}
	if err != nil {
		return h
	}
	at := func(i int) string {
		if i < 0 {
			return ""
		}
		return h.All[i]
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
