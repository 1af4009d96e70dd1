package ledger

import (
	"bufio"
	"errors"
	"io"
	"slices"
	"strings"

	"chargewright/sheet"
)

// field is what a column of a record says.
type field uint8

const (
	fieldStart field = iota
	fieldDay
	fieldStopDay
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
	fieldOutlet
	fieldBilled
	fieldKind
	fieldOdometer
	fieldCount
)

// fields is how each is called, and the plain words it is known by. The first
// word is the name used in messages and to map a column.
var fields = [fieldCount][]string{
	fieldStart: {"start", "started", "plugged in", "plug in", "start time", "begin", "begun", "started at", "start at", "start timestamp", "session start",
		"charging start", "transaction start", "start datetime", "start date time", "begin time"},
	fieldDay:     {"date", "day", "start date"},
	fieldStopDay: {"stop date", "end date"},
	fieldStop: {"stop", "stopped", "unplugged", "plug out", "stop time", "end", "ended", "end time", "stopped at", "ended at", "end at", "stop at",
		"stop timestamp", "end timestamp", "session end", "charging end", "transaction stop", "transaction end", "end datetime", "end date time"},
	fieldLength:   {"length", "duration", "plugged in for"},
	fieldEnergy:   {"energy", "delivered", "consumption", "energy consumed", "energy delivered", "total energy", "charged energy", "kwh", "wh"},
	fieldFrom:     {"register at start", "meter at start", "meter start"},
	fieldTo:       {"register at stop", "meter at stop", "meter stop"},
	fieldSolar:    {"solar", "solar surplus", "from solar"},
	fieldCharging: {"charging time", "charging", "charging for"},
	fieldLimited:  {"held back", "limited", "limited for"},
	fieldID:       {"session", "session id", "id", "transaction", "transaction id"},
	fieldPoint:    {"point", "charge point", "charger", "charging station", "charge point id", "station"},
	fieldCard:     {"card", "token", "tag", "card id"},
	fieldPerson:   {"person", "driver", "user", "name"},
	fieldVehicle:  {"vehicle", "registration", "car", "van"},
	fieldCentre:   {"cost centre", "department", "cost code"},
	fieldReason:   {"reason", "stop reason", "why stopped"},
	fieldOutlet:   {"outlet", "connector", "socket", "connector id", "evse", "evse id", "plug"},
	fieldBilled:   {"billed", "amount", "amount billed", "billed amount", "cost", "total cost", "total price", "net amount", "gross amount"},
	fieldKind:     {"kind", "type", "line type", "transaction type", "record type", "roaming"},
	fieldOdometer: {"odometer", "odometer reading", "mileage"},
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
	money  int             // places of a penny's hundredth in a billed amount that names no unit: 4 for pounds, 2 for pence
	miles  int64           // thousandths of a mile in the odometer's unit; 0 not known
	yes    bool            // the kind says yes or no to roaming
	places [fieldCount]int // decimal places of an energy without unit; 0 not known
	unit   [fieldCount]int // seconds of a length's unit
	unused []string
}

// What keeps the head of a table from being understood, as the cause of a
// sheet.Fault.
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
	in := bufio.NewReader(r)
	if opening, _ := in.Peek(512); areMessages(opening) {
		return Head{}
	}
	t, err := sheet.Open("", in, sheet.Bounds{OneLine: true}, s.known)
	if err != nil {
		return Head{}
	}
	c, _ := s.columns(t.Head, nil) // what is wrong with it is said by ReadRecord
	h := Head{Columns: t.Head.Names, Known: map[string]string{}}
	for f, at := range c.at {
		if at >= 0 {
			h.Known[field(f).String()] = t.Head.Names[at]
		}
	}
	return h
}

// known is how many columns of a head are known.
func (s Settings) known(head sheet.Head) (n int) {
	c, _ := s.columns(head, nil)
	for _, at := range c.at {
		if at >= 0 {
			n++
		}
	}
	return n
}

// columns finds the columns in the head of a table, and says everything that
// keeps it from being used. Where the head names no unit, the first row may.
func (s Settings) columns(head sheet.Head, first [][]byte) (columns, error) {
	var c columns
	var faults sheet.Faults
	fault := func(cause error, f *sheet.Fault) {
		f.Err = cause
		faults = append(faults, *f)
	}
	wrong := map[field]bool{}
	for f := range fieldCount {
		at, problem := head.Find(sheet.Column{Field: f.String(), Named: s.Columns[f.String()], Words: fields[f]})
		if c.at[f] = at; problem != nil {
			wrong[f] = true
			fault(ErrColumns, problem)
		}
		if at >= 0 {
			unit := head.Unit(at)
			switch {
			case f == fieldBilled && (unit == "pence" || unit == "p"):
				c.money = 2
			case f == fieldBilled:
				c.money = 4
			case f == fieldKind:
				c.yes = strings.Contains(strings.ToLower(head.Names[at]), "roaming")
			case f == fieldOdometer && (unit == "km" || unit == "kilometres"):
				c.miles = 621 // 1 mile is 1.609344 km (Weights and Measures Act 1985, schedule 1, from memory)
			case f == fieldOdometer && (unit == "miles" || unit == "mi"):
				c.miles = 1000
			}
			if unit == "" && f == fieldEnergy {
				unit = unitAlone(head.Names[at])
			}
			c.places[f], c.unit[f] = unitOf(unit, s.Unit)
		}
	}
	for i, n := range head.Names {
		if !slices.Contains(c.at[:], i) && n != "" {
			c.unused = append(c.unused, n)
		}
	}
	if c.at[fieldStart] < 0 && !wrong[fieldStart] {
		fault(ErrColumns, head.Wants("no column says when a session started: say which one does; the columns are "+head.String()))
	}
	if c.at[fieldEnergy] < 0 && (c.at[fieldFrom] < 0 || c.at[fieldTo] < 0) && !wrong[fieldEnergy] {
		fault(ErrColumns, head.Wants("no column says the energy, nor the registers at start and stop: say which one does; the columns are "+head.String()))
	}
	for _, f := range []field{fieldEnergy, fieldFrom, fieldTo, fieldSolar} {
		if c.at[f] >= 0 && c.places[f] == 0 && !namesUnit(first, c.at[f]) {
			fault(ErrUnit, &sheet.Fault{File: head.File, Line: head.Line, Field: "column " + head.Names[c.at[f]],
				Want: "it does not say its unit: write it into the head, like \"energy kWh\", or say the unit of energies that name none"})
		}
	}
	for _, f := range []field{fieldLength, fieldCharging, fieldLimited} {
		if c.at[f] >= 0 && c.unit[f] == 0 {
			c.unit[f] = -1 // only times written like 7:36:00 can be read
		}
	}
	return c, faults.Err()
}

// namesUnit reports whether a cell of a row names the unit of its energy.
func namesUnit(row [][]byte, at int) bool {
	if at >= len(row) {
		return false
	}
	_, unit, _, err := readEnergy(row[at], 0)
	return err == nil && unit != ""
}

// unitAlone is a heading that is a unit and nothing else.
func unitAlone(head string) string {
	head = strings.ToLower(head)
	if places, _ := unitOf(head, ""); places > 0 {
		return head
	}
	return ""
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
