package ledger

import (
	"fmt"
	"io"
	"strings"

	"chargewright/sheet"
)

// priceList is what electricity costs and when, as data.
//
// Two forms of CSV are read. The first has a row a price:
//
//	what,band,valid from,valid until,days,from,to,clock,value,unit,source,confidence
//	energy,night,2026-01-01,,every day,00:30,05:30,local,9.5,p/kWh,…,…
//	standing charge,,2026-01-01,,,,,,52.1,p/day,…,…
//	VAT,,2026-01-01,,,,,,5,%,…,…
//
// A window that ends before it begins runs over midnight and belongs to the
// day it begins on. Clock is "local" or "UTC"; a meter that does not move with
// summer time keeps UTC. The second form has a row a half-hour: "starting" and
// "p/kWh", the start written with its offset or in local time.
//
// Prices say whether VAT is in them by their unit: "p/kWh" is without,
// "p/kWh with VAT" is with; all prices of a tariff say the same.
type priceList struct {
	Name     string
	File     string
	WithVAT  bool // the prices hold VAT
	rates    []rate
	standing []dated // hundredths of a penny a day
	vat      []dated // hundredths of a per cent
	halves   []half
	schedule bool     // these are windows of a schedule, which may overlap
	Sources  []string // where the prices stand, each once, with its confidence
}

type rate struct {
	validDays
	days       uint8 // bit 0 Monday … bit 6 Sunday
	begin, end int   // minutes after midnight; end is above begin, beyond 1440 for the next day
	utc        bool
	price      unitPrice
	band       string
	line       int
}

type dated struct {
	validDays
	value int64
	line  int
}

type half struct {
	at    sheet.Stamp
	price unitPrice
	line  int
}

// readPriceList reads a tariff; all its faults are reported at once.
func readPriceList(file, name string, r io.Reader) (*priceList, error) {
	s, err := sheet.ReadAny(file, r, nil, "starting", "what", "value", "unit")
	if err != nil {
		return nil, err
	}
	t := &priceList{Name: name, File: file}
	switch {
	case s.Has("starting"):
		t.readHalves(s)
	case s.Has("what") && s.Has("value") && s.Has("unit"):
		t.readRates(s)
	case len(s.Faults) == 0:
		s.Fault(s.Head.Line, "head of the table", "", "a tariff has the columns what, band, valid from, valid until, days, from, to, clock, value, unit, "+
			"source, confidence; or, by half-hours, starting and p/kWh")
	}
	if err := s.Faults.Err(); err != nil {
		return nil, err
	}
	return t, nil
}

// source keeps where a row's value stands.
func (t *priceList) source(r sheet.Row) {
	text := r.Get("source")
	if text == "" {
		text = "no source given"
	}
	if c := r.Get("confidence"); c != "" && c != text {
		text += " (" + c + ")"
	}
	for _, known := range t.Sources {
		if known == text {
			return
		}
	}
	t.Sources = append(t.Sources, text)
}

func (t *priceList) readRates(s *sheet.Table) {
	vatSaid := false
	for _, r := range s.Rows {
		v, ok := validity(r)
		if !ok {
			continue
		}
		unit := r.Get("unit")
		base, withVAT := strings.CutSuffix(unit, " with VAT")
		switch what := r.Get("what"); {
		case what == "energy" && base == "p/kWh":
			t.readRate(r, v)
		case what == "standing charge" && base == "p/day":
			if n, ok := number(r, "value", 2, "pence a day, like 52.1"); ok && n < 1e7 {
				t.standing = append(t.standing, dated{v, n, r.Line})
			}
		case what == "VAT" && unit == "%":
			if n, ok := number(r, "value", 2, "a rate in per cent, like 5"); ok && n <= 10000 {
				t.vat = append(t.vat, dated{v, n, r.Line})
			}
			t.source(r)
			continue
		case what == "energy":
			r.Fault("unit", unit, "a price of energy is in p/kWh, or p/kWh with VAT")
			continue
		case what == "standing charge":
			r.Fault("unit", unit, "a standing charge is in p/day, or p/day with VAT")
			continue
		case what == "VAT":
			r.Fault("unit", unit, "a rate of VAT is in %")
			continue
		default:
			r.Fault("what", what, "energy, standing charge or VAT")
			continue
		}
		if vatSaid && withVAT != t.WithVAT {
			r.Fault("unit", unit, "all prices of a tariff are with VAT, or none is")
		}
		vatSaid, t.WithVAT = true, withVAT
		t.source(r)
	}
	if len(t.rates) == 0 && len(s.Faults) == 0 {
		s.Fault(1, "", "", "the tariff has no price of energy")
	}
	for _, one := range []struct {
		what string
		list []dated
	}{{"standing charge", t.standing}, {"VAT", t.vat}} {
		for i, a := range one.list {
			for _, b := range one.list[:i] {
				if a.from <= b.until && b.from <= a.until {
					s.Fault(a.line, one.what, "", fmt.Sprintf("line %d gives another for the same days", b.line))
				}
			}
		}
	}
}

func (t *priceList) readRate(r sheet.Row, v validDays) {
	x := rate{validDays: v, band: r.Get("band"), line: r.Line, days: 127, end: 1440}
	p, ok := number(r, "value", 4, "pence per kWh, like 9.5")
	const most = 1000 * 10_000 // £10 a kWh
	if !ok {
		return
	}
	if p > most {
		r.Fault("value", r.Get("value"), "no tariff asks more than £10 a kWh: pence per kWh, like 9.5")
		return
	}
	x.price = unitPrice(p)
	if x.band == "" {
		x.band = "all hours"
	}
	if x.days, ok = readDays(r.Get("days")); !ok {
		r.Fault("days", r.Get("days"), "every day, Mon-Fri, Sat-Sun, or days like Mon Wed Sat")
		return
	}
	for _, one := range []struct {
		column string
		to     *int
	}{{"from", &x.begin}, {"to", &x.end}} {
		if text := r.Get(one.column); text != "" {
			if *one.to, ok = sheet.ReadMinute([]byte(text)); !ok {
				r.Fault(one.column, text, "a time of day, like 00:30")
				return
			}
		}
	}
	if x.end <= x.begin {
		x.end += 1440
	}
	switch clock := r.Get("clock"); clock {
	case "", "local":
	case "UTC":
		x.utc = true
	default:
		r.Fault("clock", clock, "local, or UTC for a meter that does not move with summer time")
		return
	}
	t.rates = append(t.rates, x)
}

var dayNames = [...]string{"mon", "tue", "wed", "thu", "fri", "sat", "sun"}

// readDays reads days of the week as a set.
func readDays(text string) (set uint8, ok bool) {
	text = strings.ToLower(strings.TrimSpace(text))
	if text == "" || text == "every day" {
		return 127, true
	}
	dayOf := func(word string) int {
		for i, n := range dayNames {
			if len(word) >= 3 && strings.HasPrefix(word, n) {
				return i
			}
		}
		return -1
	}
	for _, word := range strings.FieldsFunc(text, func(r rune) bool { return r == ' ' || r == '+' || r == '/' }) {
		first, last, span := strings.Cut(word, "-")
		a := dayOf(first)
		b := a
		if span {
			b = dayOf(last)
		}
		if a < 0 || b < 0 {
			return 0, false
		}
		for i := a; ; i = (i + 1) % 7 {
			set |= 1 << i
			if i == b {
				break
			}
		}
	}
	return set, set != 0
}

// readHalves reads a tariff of half-hours.
func (t *priceList) readHalves(s *sheet.Table) {
	column := "p/kwh"
	if s.Has("p/kwh with vat") {
		column, t.WithVAT = "p/kwh with vat", true
	} else if !s.Has(column) {
		s.Fault(s.Head.Line, "head of the table", "", "a tariff by half-hours has the columns starting and p/kWh, or p/kWh with VAT")
		return
	}
	for _, r := range s.Rows {
		at, ok := sheet.ReadStamp([]byte(r.Get("starting")), false)
		if !ok || int64(at.Wall)%1800 != 0 {
			r.Fault("starting", r.Get("starting"), "the start of a half-hour is wanted, like 2026-11-25T14:30:00Z")
			continue
		}
		n, _, ok := sheet.Number([]byte(r.Get(column)), 4)
		if !ok || n > 1000*10_000 || n < -1000*10_000 {
			r.Fault(column, r.Get(column), "pence per kWh, like 21.4; a price below nothing is written like -3.2")
			continue
		}
		t.halves = append(t.halves, half{at, unitPrice(n), r.Line})
		t.source(r)
	}
	if len(t.halves) == 0 && len(s.Faults) == 0 {
		s.Fault(1, "", "", "the tariff has no half-hour")
	}
}

// valueOn returns the one value that holds on a day.
func valueOn(list []dated, day int64) (int64, bool) {
	for _, d := range list {
		if d.holds(day) {
			return d.value, true
		}
	}
	return 0, false
}

// clash is the problem of two prices that hold at once.
func (t *priceList) clash(line, other int, when string) error {
	return sheet.Fault{File: t.File, Line: line, Field: "energy", Want: fmt.Sprintf("line %d gives another price for %s: one price holds at a time", other, when)}
}
