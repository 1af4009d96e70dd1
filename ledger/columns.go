package ledger

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"chargewright/job"
)

// field is what a column of a record says.
type field uint8

const (
	fieldStart field = iota
	fieldStop
	fieldLength
	fieldEnergy
	fieldFrom
	fieldTo
	fieldSolar
	fieldCharging
	fieldLimited
	fieldID
	fieldPoint
	fieldCard
	fieldPerson
	fieldVehicle
	fieldCentre
	fieldReason
	fieldCount
)

// fields is how each is called, and the plain words it is known by. The first
// word is the name used in messages and to map a column.
var fields = [fieldCount][]string{
	fieldStart:    {"start", "started", "plugged in", "plug in", "start time", "begin", "begun"},
	fieldStop:     {"stop", "stopped", "unplugged", "plug out", "stop time", "end", "ended", "end time"},
	fieldLength:   {"length", "duration", "plugged in for"},
	fieldEnergy:   {"energy", "delivered", "consumption"},
	fieldFrom:     {"register at start", "meter at start", "meter start"},
	fieldTo:       {"register at stop", "meter at stop", "meter stop"},
	fieldSolar:    {"solar", "solar surplus", "from solar"},
	fieldCharging: {"charging time", "charging", "charging for"},
	fieldLimited:  {"held back", "limited", "limited for"},
	fieldID:       {"session", "session id", "id", "transaction", "transaction id"},
	fieldPoint:    {"point", "charge point", "connector", "socket"},
	fieldCard:     {"card", "token", "tag", "card id"},
	fieldPerson:   {"person", "driver", "user", "name"},
	fieldVehicle:  {"vehicle", "registration", "car", "van"},
	fieldCentre:   {"cost centre", "department", "cost code"},
	fieldReason:   {"reason", "stop reason", "why stopped"},
}

func (f field) String() string { return fields[f][0] }

// FieldNames returns the names by which columns can be mapped.
func FieldNames() []string {
	var out []string
	for _, f := range fields {
		out = append(out, f[0])
	}
	return out
}

// columns says which column of a table says what.
type columns struct {
	at     [fieldCount]int // −1 for none
	places [fieldCount]int // decimal places of an energy without unit; 0 not known
	unit   [fieldCount]int // seconds of a length's unit
	width  int
	mark   byte
	names  []string
	unused []string
}

// What keeps the head of a table from being understood, as the cause of a
// job.Problem.
var (
	ErrColumns = errors.New("which column says what is not known")
	ErrUnit    = errors.New("the unit of a column is not known")
)

// Head is the head of a table of sessions.
type Head struct {
	Columns []string          // as the table calls them
	Known   map[string]string // which of them says what, by field
}

// ReadHead returns the head of a record as far as it is understood. Messages
// of points have none.
func ReadHead(r io.Reader, s Settings) Head {
	in := newLines(r)
	for {
		line, more := in.next()
		switch {
		case !more || AreMessages(line):
			return Head{}
		case in.long || isRemark(line):
			continue
		}
		c, _ := readHead("", in.number, line, s) // what is wrong with it is said by ReadRecord
		h := Head{Columns: c.names, Known: map[string]string{}}
		for f, at := range c.at {
			if at >= 0 && at < len(c.names) {
				h.Known[field(f).String()] = c.names[at]
			}
		}
		return h
	}
}

// readHead finds the columns in the head of a table, and says everything that
// keeps it from being used.
func readHead(file string, line int32, head []byte, s Settings) (columns, error) {
	c := columns{mark: separator(head)}
	for f := range c.at {
		c.at[f] = -1
	}
	var faults job.Problems
	problem := func(cause error, field, found, want string) {
		faults = append(faults, job.Problem{File: file, Line: int(line), Field: field, Found: found, Want: want, Err: cause})
	}
	const place = "head of the table"
	cells, whole := split(slices.Clone(head), c.mark, nil)
	if !whole {
		problem(nil, place, string(head), "a quote is opened and not closed")
		return c, faults
	}
	c.width = len(cells)
	for _, cell := range cells {
		c.names = append(c.names, string(cell))
	}
	list := strings.Join(c.names, ", ")
	doubled := map[field]bool{}
	for f := range fieldCount {
		own, mapped := s.Columns[f.String()]
		for i, n := range c.names {
			plain, unit := apartUnit(n)
			fits := slices.Contains(fields[f], plain) || slices.Contains(fields[f], strings.TrimSpace(plain+" "+unit))
			if mapped {
				fits = n == own
			}
			if !fits {
				continue
			}
			if c.at[f] >= 0 {
				doubled[f] = true
				problem(ErrColumns, place, c.names[c.at[f]]+" and "+n, fmt.Sprintf("both could be the %s: say which of them is", f))
				c.at[f] = -1
				break
			}
			c.at[f] = i
			c.places[f], c.unit[f] = unitOf(unit, s.Unit)
		}
		if mapped && c.at[f] < 0 && !doubled[f] {
			doubled[f] = true
			problem(ErrColumns, place, own, fmt.Sprintf("no column is called so for the %s: the columns are %s", f, list))
		}
	}
	for i, n := range c.names {
		if !slices.Contains(c.at[:], i) && n != "" {
			c.unused = append(c.unused, n)
		}
	}
	if c.at[fieldStart] < 0 && !doubled[fieldStart] {
		problem(ErrColumns, place, "", "no column says when a session started: say which one does; the columns are "+list)
	}
	if c.at[fieldEnergy] < 0 && (c.at[fieldFrom] < 0 || c.at[fieldTo] < 0) && !doubled[fieldEnergy] {
		problem(ErrColumns, place, "", "no column says the energy, nor the registers at start and stop: say which one does; the columns are "+list)
	}
	for _, f := range []field{fieldEnergy, fieldFrom, fieldTo, fieldSolar} {
		if c.at[f] >= 0 && c.places[f] == 0 {
			problem(ErrUnit, "column "+c.names[c.at[f]], "", "it does not say its unit: write it into the head, like \"energy kWh\", or say the unit of energies that name none")
		}
	}
	for _, f := range []field{fieldLength, fieldCharging, fieldLimited} {
		if c.at[f] >= 0 && c.unit[f] == 0 {
			c.unit[f] = -1 // only times written like 7:36:00 can be read
		}
	}
	if len(faults) > 0 {
		return c, faults
	}
	return c, nil
}

// isRemark reports whether a line holds nothing to read.
func isRemark(line []byte) bool { return len(bytes.TrimSpace(line)) == 0 || line[0] == '#' }

// apartUnit splits "Energy (kWh)" into "energy" and "kwh".
func apartUnit(head string) (plain, unit string) {
	plain = strings.ToLower(strings.TrimSpace(head))
	plain = strings.NewReplacer("_", " ", "-", " ", "(", " ", ")", " ", "[", " ", "]", " ").Replace(plain)
	words := strings.Fields(plain)
	if n := len(words); n > 1 {
		switch words[n-1] {
		case "kwh", "wh", "mwh", "h", "hours", "min", "minutes", "s", "seconds":
			return strings.Join(words[:n-1], " "), words[n-1]
		}
	}
	return strings.Join(words, " "), ""
}

// unitOf returns the decimal places an energy in the unit is kept to, or the
// seconds of a unit of time.
func unitOf(unit, otherwise string) (places, seconds int) {
	switch unit {
	case "h", "hours":
		return 0, 3600
	case "min", "minutes":
		return 0, 60
	case "s", "seconds":
		return 0, 1
	case "":
		unit = strings.ToLower(otherwise)
	}
	for _, u := range energyUnits {
		if u.word == unit {
			return u.places, 0
		}
	}
	return 0, 0
}
