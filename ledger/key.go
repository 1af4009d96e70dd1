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
	ByMonth   Key = "month"
	ByDay     Key = "day"
	ByPoint   Key = "point"
	ByVehicle Key = "vehicle"
	ByCard    Key = "card"
	ByPerson  Key = "person"
	ByCentre  Key = "cost centre"
)

// Keys is every key there is.
var Keys = []Key{ByMonth, ByDay, ByPoint, ByVehicle, ByCard, ByPerson, ByCentre}

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
	case by == ByMonth:
		return fmt.Sprintf("%04d-%02d", k/12, k%12+1)
	case by == ByDay:
		return dayText(k)
	case k == 0:
		return "not said"
	}
	return l.names.text(name(k))
}

func dayText(day int64) string {
	y, m, d := sheet.DateOf(day)
	return fmt.Sprintf("%04d-%02d-%02d", y, m, d)
}
