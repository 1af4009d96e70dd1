package ledger

import (
	"fmt"
	"strconv"
	"strings"

	"chargewright/sheet"
)

// Energy is an energy in thousandths of a watt-hour.
type Energy int64

// KWh is one kilowatt-hour.
const KWh Energy = 1_000_000

// String prints the energy in kWh to a hundredth, half up, as statements do.
func (e Energy) String() string {
	if e == none {
		return "not known"
	}
	return decimal(int64(divide(int64(e), int64(KWh)/100)), 2) + " kWh"
}

// Exact prints the energy in kWh with all its places.
func (e Energy) Exact() string {
	text := decimal(int64(e), 6)
	text = strings.TrimRight(text, "0")
	return strings.TrimSuffix(text, ".")
}

// MarshalJSON writes the energy as a number in kWh.
func (e Energy) MarshalJSON() ([]byte, error) {
	if e == none {
		return []byte("null"), nil
	}
	return []byte(e.Exact()), nil
}

// Money is an amount in hundredths of a penny.
type Money int64

// Penny is one penny, Pound one pound.
const (
	Penny Money = 100
	Pound Money = 10_000
)

// Pence returns the amount in whole pence, half up (away from zero).
func (m Money) Pence() int64 { return divide(int64(m), int64(Penny)) }

// String prints the amount in pounds and pence, half up.
func (m Money) String() string {
	if p := m.Pence(); p < 0 {
		return "−£" + decimal(-p, 2)
	}
	return "£" + decimal(m.Pence(), 2)
}

// Exact prints the amount in pounds with all its places.
func (m Money) Exact() string { return decimal(int64(m), 4) }

// MarshalJSON writes the amount as a number in pounds, to a hundredth of a penny.
func (m Money) MarshalJSON() ([]byte, error) { return []byte(m.Exact()), nil }

// unitPrice is a price of energy in ten-thousandths of a penny per kWh.
type unitPrice int64

// String prints the price in pence per kWh.
func (p unitPrice) String() string {
	text := strings.TrimSuffix(strings.TrimRight(decimal(int64(p), 4), "0"), ".")
	return text + " p/kWh"
}

// finest is how many of the smallest units of energy times price make a
// hundredth of a penny: thousandths of a watt-hour (a millionth of a kWh) times
// ten-thousandths of a penny.
const finest = 1_000_000 * 10_000 / 100

// divide divides and rounds half away from zero; by is above zero.
func divide(n, by int64) int64 {
	if n < 0 {
		return -divide(-n, by)
	}
	q, r := n/by, n%by
	if r >= by-r {
		q++
	}
	return q
}

// decimal prints n with its last digits behind the point.
func decimal(n int64, places int) string {
	sign := ""
	if n < 0 {
		sign, n = "-", -n
	}
	digits := strconv.FormatInt(n, 10)
	for len(digits) <= places {
		digits = "0" + digits
	}
	return sign + digits[:len(digits)-places] + "." + digits[len(digits)-places:]
}

// units of energy, as how many thousandths of a watt-hour they are.
var energyUnits = []struct {
	word   string
	places int // of the decimal number kept
}{{"mwh", 9}, {"kwh", 6}, {"wh", 3}}

// readEnergy reads an energy with or without its unit; places says what a bare
// number counts: 6 for kWh, 3 for Wh, 9 for MWh, 0 when that is not known.
func readEnergy(text []byte, places int) (e Energy, unit string, cut int, err error) {
	end := len(text)
	for end > 0 && !(text[end-1] >= '0' && text[end-1] <= '9') {
		end--
	}
	if word := strings.ToLower(strings.TrimSpace(string(text[end:]))); word != "" {
		places = 0
		for _, u := range energyUnits {
			if word == u.word {
				places, unit = u.places, u.word
			}
		}
		if places == 0 {
			return 0, "", 0, fmt.Errorf("an energy is wanted, in kWh or Wh, like 12.76 kWh")
		}
		for end > 0 && text[end-1] == ' ' {
			end--
		}
	}
	if places == 0 {
		return 0, "", 0, fmt.Errorf("an energy with its unit is wanted, like 12.76 kWh: the head of the column names none")
	}
	n, cut, ok := sheet.Number(text[:end], places)
	const most = 1_000_000_000 * int64(KWh) // a register of a thousand million kWh
	switch {
	case !ok:
		return 0, "", 0, fmt.Errorf("an energy is wanted, like 12.76")
	case n > most || n < -most:
		return 0, "", 0, fmt.Errorf("no meter counts so much: an energy is wanted, like 12.76 kWh")
	}
	return Energy(n), unit, cut, nil
}
