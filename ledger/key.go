package ledger

import (
	"fmt"
	"slices"
	"strings"

	"chargewright/sheet"
)

// Key is what a statement is made out by.
type Key string

// Keys.
const (
	ByYear    Key = "year"
	ByTaxYear Key = "tax year" // of a person, from 6 April (Income Tax Act 2007, section 4, from memory)
	ByMonth   Key = "month"
	ByDay     Key = "day"
	ByPoint   Key = "point"
	ByVehicle Key = "vehicle"
	ByCard    Key = "card"
	ByPerson  Key = "person"
	ByCentre  Key = "cost centre"
)

// Keys is every key there is.
var Keys = []Key{ByYear, ByTaxYear, ByMonth, ByDay, ByPoint, ByVehicle, ByCard, ByPerson, ByCentre}

// readKeys reads a list of keys: "month,person".
func readKeys(text string) ([]Key, error) {
	var out []Key
	for _, word := range strings.Split(text, ",") {
		k := Key(strings.ToLower(strings.TrimSpace(word)))
		if !slices.Contains(Keys, k) {
			return nil, fmt.Errorf("a statement is made out by %v, not by %q", joined(Keys), word)
		}
		if slices.Contains(out, k) {
			return nil, fmt.Errorf("%q is named twice", k)
		}
		out = append(out, k)
	}
	if len(out) > mostKeys {
		return nil, fmt.Errorf("a statement is made out by at most %d things at once", mostKeys)
	}
	return out, nil
}

const mostKeys = 4

func joined[T ~string](list []T) string {
	words := make([]string, len(list))
	for i, k := range list {
		words[i] = string(k)
	}
	return strings.Join(words, ", ")
}

// Selected is a choice of sessions: key and text.
type Selected struct {
	Key  Key
	Text string
}

// ReadSelected reads a choice of sessions: "person=A. Driver".
func ReadSelected(text string) (Selected, error) {
	k, value, ok := strings.Cut(text, "=")
	s := Selected{Key(strings.ToLower(strings.TrimSpace(k))), strings.TrimSpace(value)}
	if !ok || !slices.Contains(Keys, s.Key) {
		return s, fmt.Errorf("%q chooses nothing: write one of %s, an equals sign and the text, like person=A. Driver", text, joined(Keys))
	}
	return s, nil
}

// key is one line's place in a table, as numbers.
type key [mostKeys]int64

// fitting returns whether a session belongs into the statement.
func (l *Ledger) fitting(w wanted) func(*session, sheet.Civil) bool {
	return func(s *session, wall sheet.Civil) bool {
		day := wall.Day()
		if w.From != 0 && day < w.From || w.To != 0 && day > w.To {
			return false
		}
		for _, o := range w.Only {
			if l.keyText(o.Key, l.keyOne(o.Key, s, wall)) != o.Text {
				return false
			}
		}
		return true
	}
}

func (l *Ledger) keyOf(by []Key, s *session, wall sheet.Civil) (k key) {
	for i, b := range by {
		k[i] = l.keyOne(b, s, wall)
	}
	return k
}

func (l *Ledger) keyOne(by Key, s *session, wall sheet.Civil) int64 {
	switch by {
	case ByYear:
		return int64(wall.Month()) / 12
	case ByTaxYear:
		return taxYear(wall.Day())
	case ByMonth:
		return int64(wall.Month())
	case ByDay:
		return wall.Day()
	case ByPoint:
		return int64(s.Point)
	case ByVehicle:
		return int64(s.Vehicle)
	case ByCard:
		return int64(s.Card)
	case ByPerson:
		return int64(s.Person)
	}
	return int64(s.Centre)
}

func (l *Ledger) keyText(by Key, k int64) string {
	switch {
	case by == ByYear:
		return fmt.Sprintf("%04d", k)
	case by == ByTaxYear:
		return fmt.Sprintf("%04d/%02d", k, (k+1)%100)
	case by == ByMonth:
		return fmt.Sprintf("%04d-%02d", k/12, k%12+1)
	case by == ByDay:
		return dayText(k)
	case k == 0:
		return "not said"
	}
	return l.names.text(name(k))
}

// taxYear is the year in which the tax year of a day began.
func taxYear(day int64) int64 {
	y, m, d := sheet.DateOf(day)
	if m < 4 || m == 4 && d < 6 {
		y--
	}
	return int64(y)
}

// readPeriod reads a month, 2026-11, a year, 2026, or a tax year, 2026/27, as its
// first and last days.
func readPeriod(text string) (first, last int64, err error) {
	var y, m, next int
	text = strings.TrimSpace(strings.TrimPrefix(text, "tax year"))
	is := func(form string, into ...any) bool {
		n, err := fmt.Sscanf(text+" .", form+" .", into...)
		return err == nil && n == len(into)
	}
	switch {
	case is("%4d-%2d", &y, &m) && m >= 1 && m <= 12:
		first, last = sheet.DaysTo(y, m, 1), sheet.DaysTo(y, m, sheet.DaysIn(y, m))
	case is("%4d/%2d", &y, &next) && next == (y+1)%100:
		first, last = sheet.DaysTo(y, 4, 6), sheet.DaysTo(y+1, 4, 5)
	case is("%4d", &y):
		first, last = sheet.DaysTo(y, 1, 1), sheet.DaysTo(y, 12, 31)
	default:
		y = 0
	}
	if y < 2000 || y > 2100 {
		return 0, 0, fmt.Errorf("%q is no period: a month like 2026-11, a year like 2026, or a tax year like 2026/27 is wanted", text)
	}
	return first, last, nil
}

func dayText(day int64) string {
	y, m, d := sheet.DateOf(day)
	return fmt.Sprintf("%04d-%02d-%02d", y, m, d)
}
