package ledger

import (
	"bytes"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"chargewright/job"
)

// said is what one line of a table says about a session, before it is weighed.
type said struct {
	start, stop             stamp
	hasStart, hasStop       bool
	length                  int64
	hasLength, hasEnergy    bool
	energyFound, startFound []byte
}

// table reads one record of sessions.
type table struct {
	l      *Ledger
	file   uint8
	tally  *Tally
	c      columns
	cells  [][]byte
	number int32
	told   struct{ comma, either, rounded, register bool }
}

// ReadTable reads a record of sessions, one a line, under a head that names
// the columns. Lines that cannot be read are kept as notes; an error means that
// nothing of the record can be used.
func (l *Ledger) ReadTable(file string, r io.Reader) error {
	index, err := l.open(file)
	if err != nil {
		return err
	}
	t := &table{l: l, file: index, tally: &l.Tallies[index]}
	in := newLines(r)
	headed := false
	for {
		line, more := in.next()
		if !more {
			break
		}
		t.number = in.number
		t.tally.Lines++
		if t.number == 1 && (bytes.HasPrefix(line, []byte("\xff\xfe")) || bytes.HasPrefix(line, []byte("\xfe\xff"))) {
			return job.Problem{File: file, Line: 1, Want: "it is in UTF-16: save it as CSV in UTF-8"}
		}
		switch {
		case in.long:
			t.fault("", "", "the line is longer than any session: is a line ending missing?")
		case isRemark(line):
			t.tally.Blank++
		case !headed:
			if t.c, err = readHead(file, t.number, line, l.Settings); err != nil {
				return err
			}
			t.tally.Head++
			headed = true
			if len(t.c.unused) > 0 {
				l.note(t.file, t.number, Noticed, "columns", "", "not used: "+strings.Join(t.c.unused, ", "))
			}
		default:
			t.session(line)
		}
	}
	switch {
	case in.err != nil:
		return fmt.Errorf("%s: reading stopped after line %d: %w", file, in.number, in.err)
	case !headed:
		return job.Problem{File: file, Line: int(in.number), Want: "there is no head that names the columns, and no session"}
	}
	return nil
}

// open begins the tally of a record.
func (l *Ledger) open(file string) (uint8, error) {
	if len(l.Tallies) == 255 {
		return 0, job.Problem{File: file, Want: "that is more than 255 records: put them together first"}
	}
	l.settled = false
	l.Tallies = append(l.Tallies, Tally{File: file})
	return uint8(len(l.Tallies) - 1), nil
}

func (t *table) fault(field, found, text string) {
	t.tally.Faulty++
	t.l.note(t.file, t.number, Faulty, field, found, text)
}

func (t *table) note(k Kind, field, found, text string) {
	t.l.note(t.file, t.number, k, field, found, text)
}

// session reads one line. It becomes a session or a fault.
func (t *table) session(line []byte) {
	var whole bool
	t.cells, whole = split(line, t.c.mark, t.cells)
	switch {
	case !whole:
		t.fault("line", "", "a quote is opened and not closed on the line, or text follows it")
		return
	case len(t.cells) < t.c.width:
		t.fault("line", "", fmt.Sprintf("it has %d fields and the head has %d: is it cut off?", len(t.cells), t.c.width))
		return
	case len(t.cells) > t.c.width:
		t.fault("line", "", fmt.Sprintf("it has %d fields and the head has %d: is a field with a %q in it not in quotes?", len(t.cells), t.c.width, string(t.c.mark)))
		return
	}
	s := Session{Line: t.number, File: t.file, Energy: none, From: none, To: none, Solar: none, Limited: -1, said: -1, fine: 1}
	var d said
	if !t.times(&s, &d) || !t.energies(&s, &d) || !t.lengths(&s, &d) {
		return
	}
	s.Point, s.Card = t.text(fieldPoint), t.text(fieldCard)
	s.Person, s.Vehicle, s.Centre = t.text(fieldPerson), t.text(fieldVehicle), t.text(fieldCentre)
	s.Reason = t.text(fieldReason)
	if b, is := t.cell(fieldID); is {
		s.id = fingerprint(b)
	}
	if s.Point == 0 && t.l.Point != "" {
		s.Point = t.l.names.number(t.l.Point)
	}
	t.l.weigh(t.l.add(s), d)
}

// cell returns what a column says on this line.
func (t *table) cell(f field) ([]byte, bool) {
	i := t.c.at[f]
	if i < 0 || missing(t.cells[i]) {
		return nil, false
	}
	return t.cells[i], true
}

func (t *table) text(f field) name {
	b, is := t.cell(f)
	if !is {
		return 0
	}
	if n, known := t.l.names.known[string(b)]; known {
		return n
	}
	if !utf8.Valid(b) {
		t.note(Corrected, f.String(), "", "it is not UTF-8; its letters are read as ISO 8859-1")
		latin := make([]rune, len(b))
		for i, c := range b {
			latin[i] = rune(c)
		}
		b = []byte(string(latin))
	}
	return t.l.names.numberOf(bytes.Map(printable, b))
}

// printable takes out what no name holds and no paper can print.
func printable(r rune) rune {
	if r < ' ' || r >= 0x7f && r < 0xa0 || r == 0x2028 || r == 0x2029 || r >= 0x202a && r <= 0x202e || r >= 0x2066 && r <= 0x2069 {
		return -1
	}
	return r
}

// times reads start and stop as written.
func (t *table) times(s *Session, d *said) bool {
	for _, one := range []struct {
		f   field
		to  *stamp
		has *bool
	}{{fieldStart, &d.start, &d.hasStart}, {fieldStop, &d.stop, &d.hasStop}} {
		b, is := t.cell(one.f)
		if !is {
			continue
		}
		st, ok := readStamp(b, t.l.MonthFirst)
		if !ok {
			t.fault(one.f.String(), string(b), "a date and a time are wanted, like 2026-11-25 14:05, 25/11/2026 14:05 or 2026-11-25T14:05:30+00:00")
			return false
		}
		if st.eitherIs && !t.told.either && !t.l.MonthFirst {
			t.told.either = true
			t.note(Noticed, one.f.String(), string(b), "read with the day before the month, here and below; if the month comes first, say so")
		}
		s.fine = max(s.fine, st.fine)
		*one.to, *one.has = st, true
	}
	return true
}

// energies reads energy and registers.
func (t *table) energies(s *Session, d *said) bool {
	for _, one := range []struct {
		f  field
		to *Energy
	}{{fieldEnergy, &s.Energy}, {fieldFrom, &s.From}, {fieldTo, &s.To}, {fieldSolar, &s.Solar}} {
		b, is := t.cell(one.f)
		if !is {
			continue
		}
		e, unit, cut, err := readEnergy(b, t.c.places[one.f])
		if err != nil {
			t.fault(one.f.String(), string(b), err.Error())
			return false
		}
		if places, _ := unitOf(unit, ""); unit != "" && places != t.c.places[one.f] {
			t.note(Corrected, one.f.String(), string(b), "its own unit is used, not the column's: "+e.Exact()+" kWh")
		}
		if cut > 0 && !t.told.rounded {
			t.told.rounded = true
			t.note(Corrected, one.f.String(), string(b), "rounded to a thousandth of a watt-hour, here and below")
		}
		if !t.told.comma && bytes.IndexByte(b, ',') >= 0 {
			t.told.comma = true
			t.note(Noticed, one.f.String(), string(b), "the comma is read as the decimal mark where it is the only mark, here and below: "+e.Exact()+" kWh")
		}
		*one.to = e
	}
	d.hasEnergy = s.Energy != none
	return true
}

// lengths reads the times that are not clock times.
func (t *table) lengths(s *Session, d *said) bool {
	for _, f := range []field{fieldLength, fieldCharging, fieldLimited} {
		b, is := t.cell(f)
		if !is {
			continue
		}
		seconds, ok := readLength(b, t.c.unit[f])
		if !ok {
			t.fault(f.String(), string(b), "a length of time is wanted, like 7:36:00, or a number in a column whose head names hours, min or s")
			return false
		}
		switch f {
		case fieldLength:
			d.length, d.hasLength = seconds, true
		case fieldCharging:
			s.Charging = int32(max(seconds, 1))
		case fieldLimited:
			s.Limited = int32(seconds)
		}
	}
	return true
}

// readLength reads a length of time in a unit of so many seconds, or as hours,
// minutes and seconds.
func readLength(b []byte, unit int) (seconds int64, ok bool) {
	const most = 366 * 86400
	if bytes.IndexByte(b, ':') < 0 {
		n, _, ok := number(b, 6)
		if !ok || unit <= 0 || n < 0 || n > most*1_000_000/int64(unit) {
			return 0, false
		}
		return divide(n*int64(unit), 1_000_000), true
	}
	p := stampReader{b: b}
	parts := 0
	for ; parts < 3; parts++ {
		n, width := p.digits(4)
		if width == 0 || parts > 0 && (width != 2 || n > 59) {
			return 0, false
		}
		seconds = seconds*60 + int64(n)
		if p.next() != ':' {
			parts++
			break
		}
	}
	if parts == 2 {
		seconds *= 60
	}
	return seconds, parts >= 2 && p.i >= len(b) && seconds <= most
}

// fingerprint is a number for a session's identifier (FNV-1a, 64 bits).
func fingerprint(b []byte) uint64 {
	h := uint64(14695981039346656037)
	for _, c := range b {
		h = (h ^ uint64(c)) * 1099511628211
	}
	return h | 1 // 0 is no identifier
}
