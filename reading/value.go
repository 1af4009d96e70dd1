package reading

import (
	"slices"
	"strconv"
	"strings"

	"chargewright/finding"
	"chargewright/quantity"
)

// Is says what kind of thing was read.
type Is uint8

// What may be read. The zero value is that nothing was.
const (
	NotDone Is = iota
	Number
	More   // than the number: off the top of a range
	Less   // than the number: off the bottom of it
	Open   // no way through, or more than the instrument shows
	NoTrip // it was to trip and did not
	Right  // seen to be as it must be
	Wrong  // seen not to be
)

// Value is what an instrument showed, or what was seen. Only a number and what
// lies beyond one have an amount, in the base unit of the kind.
type Value struct {
	Is     Is
	Amount float64
}

// HasAmount reports that a number is part of the value.
func (v Value) HasAmount() bool { return v.Is == Number || v.Is == More || v.Is == Less }

// Words written in place of a number, in small letters.
var (
	notDone = []string{"not done", "not taken", "not tested", "not measured", "not read", "n/t", "n/a", "na", "lim", "limitation", "-", "–", "—", "−"}
	open    = []string{"open", "open circuit", "open-circuit", "o/c", "no continuity", "ol", "o.l.", "o.l", "over range", "overrange", "over-range", "off scale",
		"off the scale", "infinity", "infinite", "inf", "∞", "> range", ">∞"}
	noTrip = []string{"no trip", "no-trip", "did not trip", "does not trip", "not tripped", "didn't trip", "no operation", "did not operate"}
	right  = []string{"correct", "right", "ok", "yes", "pass", "good", "works", "confirmed", "in order", "held", "holds", "no trip", "did not trip",
		"does not trip",
		"l1-l2-l3", "l1 l2 l3", "clockwise", "✓", "✔", "√", "tick", "ticked", "y", "true", "passed", "p"}
	wrong = []string{"not correct", "incorrect", "wrong", "reversed", "no", "fail", "not good", "does not work", "trips", "tripped", "l1-l3-l2", "l3 l2 l1",
		"anticlockwise", "✗", "✘", "n", "false", "failed", "f"}
)

// beyond is how a value off the end of a range is begun.
var beyond = []struct {
	text string
	is   Is
}{{">=", More}, {">", More}, {"≥", More}, {"more than ", More}, {"over ", More}, {"above ", More},
	{"<=", Less}, {"<", Less}, {"≤", Less}, {"less than ", Less}, {"under ", Less}, {"below ", Less}}

// Parse reads what an instrument showed, or what was seen. A bare number is in
// the kind's own unit: "19" of an RCD's time is 19 ms.
func (k *Kind) Parse(text string) (Value, error) {
	text = topped(strings.TrimSpace(text))
	lower := strings.Join(strings.Fields(strings.ToLower(text)), " ")
	switch {
	case slices.Contains(notDone, lower):
		return Value{}, nil
	case k.Seen():
		return k.see(text, lower)
	case k.Measure.Unit() == "Ω" && slices.Contains(open, lower):
		return Value{Is: Open}, nil
	case k.Trips && slices.Contains(noTrip, lower):
		return Value{Is: NoTrip}, nil
	case slices.Contains(open, lower) && k.Trips:
		return Value{}, &quantity.Error{Found: text, Wrong: "does not say how far the tester goes",
			Right: "write no trip, or > and the end of its range, like > 300 ms"}
	case slices.Contains(open, lower):
		return Value{}, &quantity.Error{Found: text, Wrong: "does not say how far the instrument goes",
			Right: "write > and the end of its range with its unit, like > 1000 V"}
	}
	v := Value{Is: Number}
	for _, b := range beyond {
		if strings.HasPrefix(lower, b.text) {
			v.Is, text = b.is, strings.TrimSpace(text[len(b.text):])
			break
		}
	}
	rest, below := strings.CutPrefix(strings.Replace(text, "−", "-", 1), "-")
	n, err := k.number(rest)
	if err != nil {
		return Value{}, err
	}
	if below {
		n = -n
	}
	if n < 0 && !k.signed { // the number goes along: it tells of the instrument
		const swap = "; swap the leads, or write what was shown without a sign"
		return Value{v.Is, n}, &quantity.Error{Found: text, Wrong: "is below zero", Right: k.Name + " cannot be" + swap,
			Alone: k.Name + " cannot be below zero" + swap}
	}
	v.Amount = n
	if k.least > 0 && n < k.least && v.Is != More { // nothing on the display
		v = Value{Less, k.least}
	}
	return v, nil
}

// number reads a quantity in the kind's unit.
func (k *Kind) number(text string) (float64, error) {
	text = k.Written(text)
	switch k.Measure.Unit() {
	case "Ω":
		return float(quantity.ParseOhms(text))
	case "A":
		return float(quantity.ParseAmperes(text))
	case "V":
		return float(quantity.ParseVolts(text))
	case "s":
		return float(quantity.ParseSeconds(text))
	}
	return float(quantity.ParsePercent(text))
}

func float[Q ~float64](q Q, err error) (float64, error) { return float64(q), err }

// see reads what was seen.
func (k *Kind) see(text, lower string) (Value, error) {
	if lower == strings.ToLower(k.Wrong) || slices.Contains(wrong, lower) {
		return Value{Is: Wrong}, nil
	}
	if lower == strings.ToLower(k.Right) || slices.Contains(right, lower) {
		return Value{Is: Right}, nil
	}
	if k.timed {
		for _, b := range beyond[:6] { // more than the test lasts
			if rest, more := strings.CutPrefix(lower, b.text); more && b.is == More {
				lower = strings.TrimSpace(rest)
				if _, err := quantity.ParseSeconds(lower + bareTime(lower)); err == nil {
					return Value{Is: Right}, nil
				}
			}
		}
		if _, err := quantity.ParseSeconds(lower + bareTime(lower)); err == nil {
			return Value{Is: Wrong}, nil
		}
	}
	return Value{}, &quantity.Error{Found: text, Wrong: "says neither right nor wrong", Right: "write " + k.Right + " or " + k.Wrong}
}

// bareTime is the unit of a time that is written without one.
func bareTime(text string) string {
	if text != "" && text[len(text)-1] >= '0' && text[len(text)-1] <= '9' {
		return " ms"
	}
	return ""
}

// topped writes a figure off the top of a range, as testers show it, the way
// people say it: 999+ MΩ and 999 MΩ+ are > 999 MΩ.
func topped(text string) string {
	figure := strings.TrimLeft(text, "0123456789.,")
	if number := text[:len(text)-len(figure)]; number != "" {
		if unit, plus := strings.CutPrefix(strings.TrimSpace(figure), "+"); plus && !strings.ContainsAny(unit, "0123456789+") {
			return strings.TrimSpace("> " + number + " " + strings.TrimSpace(unit))
		} else if unit, plus := strings.CutSuffix(figure, "+"); plus && !strings.ContainsAny(unit, "0123456789+") {
			return strings.TrimSpace("> " + number + " " + strings.TrimSpace(unit))
		}
	}
	return text
}

// Written returns a value as it is to be written down: with the kind's unit
// where it is a number alone.
func (k *Kind) Written(text string) string {
	text = topped(strings.TrimSpace(text))
	if _, err := strconv.ParseFloat(strings.TrimLeft(text, "<>≤≥= "), 64); err != nil || k.Seen() {
		return text
	}
	return text + " " + k.Bare
}

// Outside reports that a value certainly lies outside a band. An amount of
// nothing is no edge.
func (v Value) Outside(low, high finding.Amount) bool {
	above := !high.IsZero() && (v.Is == Open || v.Is == NoTrip || v.HasAmount() && v.Is != Less && v.Amount > high.Number)
	below := !low.IsZero() && v.HasAmount() && v.Is != More && v.Amount < low.Number
	return above || below
}
