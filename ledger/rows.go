package ledger

// What the small tables have in common: tariffs, rates, factors, journeys,
// inspections.

import (
	"fmt"

	"chargewright/sheet"
)

// number reads a number to so many places; a finer one is refused, since a
// price is never rounded.
func number(r sheet.Row, column string, places int, want string) (int64, bool) {
	text := r.Get(column)
	n, cut, ok := sheet.Number([]byte(text), places)
	if !ok || n < 0 {
		r.Fault(column, text, want)
		return 0, false
	}
	if cut > 0 {
		r.Fault(column, text, fmt.Sprintf("%d places behind the point are kept and nothing is rounded here: %s", places, want))
		return 0, false
	}
	return n, true
}

// validDays is the days on which a row holds, both included.
type validDays struct{ from, until int64 }

// always is a validity without end.
const always = 1 << 40

// validity reads the columns "valid from" and "valid until".
func validity(r sheet.Row) (v validDays, ok bool) {
	v, ok = validDays{-always, always}, true
	for _, one := range []struct {
		column string
		to     *int64
	}{{"valid from", &v.from}, {"valid until", &v.until}} {
		text := r.Get(one.column)
		if text == "" {
			continue
		}
		day, is := sheet.ReadDate([]byte(text), false)
		if !is {
			r.Fault(one.column, text, "a date is wanted, like 2026-04-01")
			ok = false
			continue
		}
		*one.to = day
	}
	if ok && v.until < v.from {
		r.Fault("valid until", r.Get("valid until"), "it lies before the day it is valid from")
		ok = false
	}
	return v, ok
}

func (v validDays) holds(day int64) bool { return day >= v.from && day <= v.until }
