package ledger

import (
	"bytes"
	"errors"
	"io"
	"strings"
	"unicode/utf8"

	"chargewright/sheet"
)

// said is what one line of a table says about a session, before it is weighed.
type said struct {
	start, stop          sheet.Stamp
	hasStart, hasStop    bool
	length               int64
	hasLength, hasEnergy bool
}

// table reads one record of sessions.
type table struct {
	l      *Ledger
	in     *sheet.Reader
	file   uint8
	tally  *Tally
	c      columns
	day    []byte
	number int32
	totals int
	more   rarely // what few records say, of this line
	told   struct{ comma, either, rounded, register, money, odometer bool }
}

// ReadTable reads a record of sessions, one a line, under a head that names
// the columns. Lines that cannot be read are kept as notes; an error means that
// nothing of the record can be used.
func (l *Ledger) ReadTable(file string, r io.Reader) error {
	index, err := l.open(file)
	if err != nil {
		return err
	}
	in, err := sheet.Open(file, r, sheet.Bounds{OneLine: true}, l.known)
	if err != nil {
		return err
	}
	t := &table{l: l, in: in, file: index, tally: &l.Tallies[index]}
	more := in.Next()
	if t.c, err = l.columns(in.Head, in.Cells); err != nil {
		return err
	}
	t.number = int32(in.Head.Line)
	if len(in.Above) > 0 {
		t.note(Noticed, "columns", "", "passed over, as what stands above the head: "+strings.Join(in.Above, "; "))
	}
	if len(in.Beside) > 0 {
		t.note(Noticed, "workbook", "", "only the sheet whose head fits best is read; not read: "+strings.Join(in.Beside, ", "))
	}
	if len(t.c.unused) > 0 {
		t.note(Noticed, "columns", "", "not used: "+strings.Join(t.c.unused, ", "))
	}
	for ; more; more = in.Next() {
		t.number = int32(in.Line)
		t.session()
	}
	t.tally.Lines, t.tally.Blank, t.tally.Head = in.Lines, in.Skipped+t.totals, 1
	return in.Err()
}

// open begins the tally of a record.
func (l *Ledger) open(file string) (uint8, error) {
	if len(l.Tallies) == 255 {
		return 0, sheet.Fault{File: file, Want: "that is more than 255 records: put them together first"}
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

// session reads one line. It becomes a session or a fault, or it is a total.
func (t *table) session() {
	if !t.in.Fits() {
		if !t.isTotal() {
			t.fault("line", "", t.in.Wrong)
		}
		return
	}
	s := session{Line: t.number, File: t.file, Energy: none, From: none, To: none, Limited: -1, said: -1, fine: 1}
	var d said
	t.more = nothingMore
	if !t.times(&s, &d) || !t.energies(&s, &d) || !t.lengths(&s, &d) || !t.rarely() {
		return
	}
	s.Point, s.Card = t.point(), t.text(fieldCard)
	s.Person, s.Vehicle, s.Centre = t.text(fieldPerson), t.text(fieldVehicle), t.text(fieldCentre)
	s.Reason = t.text(fieldReason)
	if b, is := t.cell(fieldID); is {
		s.id = fingerprint(b)
	}
	if t.more != nothingMore {
		t.l.rares = append(t.l.rares, t.more)
		s.more = int32(len(t.l.rares))
	}
	t.l.weigh(t.l.add(s), d)
}

// cell returns what a column says on this line.
func (t *table) cell(f field) ([]byte, bool) {
	i := t.c.at[f]
	if i < 0 || sheet.Missing(t.in.Cells[i]) {
		return nil, false
	}
	return t.in.Cells[i], true
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
		b = []byte(sheet.Text(b))
	}
	return t.l.names.numberOf(bytes.Map(printable, b))
}

// point names the outlet that a line is of. The first of a point goes by the
// point's name alone, as it does where messages tell of it.
func (t *table) point() name {
	p, outlet := t.text(fieldPoint), t.text(fieldOutlet)
	if p == 0 && t.l.Point != "" {
		p = t.l.names.number(t.l.Point)
	}
	said := t.l.names.text(outlet)
	switch {
	case outlet == 0 || p != 0 && said == "1" || outlet == p:
		return p
	case p == 0:
		return outlet
	}
	t.day = append(append(append(t.day[:0], t.l.names.text(p)...), '/'), said...)
	return t.l.names.numberOf(t.day)
}

// kinds is what a line may be said to be, other than a session of this site.
var kinds = map[string]sessionState{"refund": Refund, "refunded": Refund, "credit": Refund, "credit note": Refund, "reversal": Refund, "reversed": Refund,
	"chargeback": Refund, "roaming": Elsewhere, "roamed": Elsewhere, "away": Elsewhere, "elsewhere": Elsewhere}

// rarely reads what few records say: an amount, a kind, an odometer.
func (t *table) rarely() bool {
	if b, is := t.cell(fieldKind); is {
		t.more.kind = kinds[strings.ToLower(string(b))]
		if yes, said := sheet.Yes(string(b)); t.c.yes && said && yes {
			t.more.kind = Elsewhere
		}
	}
	if b, is := t.cell(fieldBilled); is {
		m, ours, ok := readAmount(b, t.c.money)
		switch {
		case !ok:
			t.fault(fieldBilled.String(), string(b), "an amount is wanted, like £3.21 or 3.21")
			return false
		case !ours && !t.told.money:
			t.told.money = true
			t.note(Noticed, fieldBilled.String(), string(b), "an amount in other money than pounds is not held against a tariff, here and below")
		case ours:
			t.more.Billed, t.more.billed = m, true
		}
	}
	if b, is := t.cell(fieldOdometer); is {
		n, _, ok := sheet.Number(b, 0)
		switch {
		case t.c.miles == 0:
			if !t.told.odometer {
				t.told.odometer = true
				t.note(Noticed, fieldOdometer.String(), string(b), "left aside, here and below: its head says neither miles nor km")
			}
		case !ok || n < 0 || n > 3_000_000:
			t.note(Noticed, fieldOdometer.String(), string(b), "left aside: what the odometer shows is wanted, like 48210")
		default:
			t.more.Odometer, t.more.odometer = divide(n*t.c.miles, 100), true
		}
	}
	return true
}

// readAmount reads an amount of money with its unit or without, and whether it
// is in pounds.
func readAmount(b []byte, places int) (m Money, ours, ok bool) {
	text := strings.TrimSpace(sheet.Text(b))
	sign := ""
	if strings.HasPrefix(text, "(") && strings.HasSuffix(text, ")") { // as accounts are written
		sign, text = "-", strings.Trim(text, "()")
	}
	for _, minus := range []string{"-", "−"} {
		if cut, is := strings.CutPrefix(text, minus); is {
			sign, text = "-", strings.TrimSpace(cut)
		}
	}
	word := strings.TrimFunc(text, func(r rune) bool { return r >= '0' && r <= '9' || r == '.' || r == ',' || r == ' ' || r == '-' })
	number := strings.TrimSpace(strings.Replace(text, word, "", 1))
	switch strings.ToLower(word) {
	case "":
	case "£", "gbp":
		places = 4
	case "p", "pence":
		places = 2
	case "€", "eur", "$", "usd", "chf", "sek", "nok", "dkk", "pln":
		_, _, ok = sheet.Number([]byte(number), 4)
		return 0, false, ok
	default:
		return 0, false, false
	}
	n, _, ok := sheet.Number([]byte(sign+number), places)
	return Money(n), true, ok && n > -1e12 && n < 1e12
}

// printable takes out what no name holds and no paper can print.
func printable(r rune) rune {
	if r < ' ' || r >= 0x7f && r < 0xa0 || r == 0x2028 || r == 0x2029 || r >= 0x202a && r <= 0x202e || r >= 0x2066 && r <= 0x2069 {
		return -1
	}
	return r
}

// isTotal reports whether the line sums up those above, which is no session.
func (t *table) isTotal() bool {
	if !t.in.IsTotal() {
		return false
	}
	t.totals++
	t.note(Noticed, "line", "", "it is a total of the lines above, and no session")
	return true
}

// times reads start and stop as written.
func (t *table) times(s *session, d *said) bool {
	for _, one := range []struct {
		f, day field
		to     *sheet.Stamp
		has    *bool
	}{{fieldStart, fieldDay, &d.start, &d.hasStart}, {fieldStop, fieldStopDay, &d.stop, &d.hasStop}} {
		b, is := t.cell(one.f)
		if !is {
			if one.f == fieldStart && t.isTotal() {
				return false
			}
			continue
		}
		st, ok := sheet.ReadStamp(b, t.l.MonthFirst)
		if !ok {
			st, ok = t.onDay(b, one.day)
			if one.f == fieldStop && t.c.at[fieldStopDay] < 0 && st.Wall < d.start.Wall { // after midnight
				st.Wall += 86400
			}
		}
		if !ok {
			if !t.isTotal() {
				t.fault(one.f.String(), string(b), "a date and a time are wanted, like 2026-11-25 14:05, 25/11/2026 14:05 or 2026-11-25T14:05:30+00:00")
			}
			return false
		}
		if st.Either && !t.told.either && !t.l.MonthFirst {
			t.told.either = true
			t.note(Noticed, one.f.String(), string(b), "read with the day before the month, here and below; if the month comes first, say so")
		}
		s.fine = max(s.fine, st.Fine)
		*one.to, *one.has = st, true
	}
	return true
}

// onDay reads a time of day whose date stands in a column of its own.
func (t *table) onDay(clock []byte, f field) (sheet.Stamp, bool) {
	day, is := t.cell(f)
	if !is {
		if day, is = t.cell(fieldDay); !is {
			return sheet.Stamp{}, false
		}
	}
	t.day = append(append(append(t.day[:0], day...), ' '), clock...)
	return sheet.ReadStamp(t.day, t.l.MonthFirst)
}

// energies reads energy and registers.
func (t *table) energies(s *session, d *said) bool {
	for _, one := range []struct {
		f  field
		to *Energy
	}{{fieldEnergy, &s.Energy}, {fieldFrom, &s.From}, {fieldTo, &s.To}, {fieldSolar, &t.more.Solar}} {
		b, is := t.cell(one.f)
		if !is {
			continue
		}
		e, unit, cut, err := readEnergy(b, t.c.places[one.f])
		if err == nil && unit == "" && t.c.places[one.f] == inWh && threeAfterMark(b) {
			err = errors.New("three digits after a lone mark: it may be a fraction of a watt-hour or thousands of them; write it whole, or with its unit")
		}
		if err != nil {
			t.fault(one.f.String(), string(b), err.Error())
			return false
		}
		if places, _ := unitOf(unit, ""); unit != "" && t.c.places[one.f] > 0 && places != t.c.places[one.f] {
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

// inWh is how many places a thousandth of a watt-hour is behind the point.
const inWh = 3

// threeAfterMark reports whether a number has one mark, up to three digits before
// it and three after it: nobody counts thousandths of a watt-hour, and 12.500 in
// a column of them is written by those who part thousands so.
func threeAfterMark(b []byte) bool {
	b = bytes.TrimSpace(bytes.TrimLeft(b, "-+"))
	at := bytes.IndexAny(b, ".,")
	return at > 0 && at <= 3 && len(b)-at == 4 && bytes.Count(b, []byte{'.'})+bytes.Count(b, []byte{','}) == 1 && b[0] != '0'
}

// lengths reads the times that are not clock times.
func (t *table) lengths(s *session, d *said) bool {
	for _, f := range []field{fieldLength, fieldCharging, fieldLimited} {
		b, is := t.cell(f)
		if !is {
			continue
		}
		seconds, ok := sheet.ReadLength(b, t.c.unit[f])
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

// fingerprint is a number for a session's identifier (FNV-1a, 64 bits).
func fingerprint(b []byte) uint64 {
	h := uint64(14695981039346656037)
	for _, c := range b {
		h = (h ^ uint64(c)) * 1099511628211
	}
	return h | 1 // 0 is no identifier
}
