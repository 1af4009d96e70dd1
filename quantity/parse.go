package quantity

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode"
)

// dimension is what a unit measures. The words stand in error messages.
type dimension struct {
	name     string // "a resistance"
	unit     string // "ohms"
	symbol   string // "Ω", assumed where only a number is written
	example  string // "0.13 Ω"
	signed   bool   // may be below zero
	positive bool   // must be above zero
}

var (
	resistance  = &dimension{name: "a resistance", unit: "ohms", symbol: "Ω", example: "0.13 Ω"}
	current     = &dimension{name: "a current", unit: "amperes", symbol: "A", example: "32 A", signed: true}
	voltage     = &dimension{name: "a voltage", unit: "volts", symbol: "V", example: "230 V", signed: true}
	power       = &dimension{name: "a power", unit: "watts", symbol: "W", example: "7.4 kW", signed: true}
	energy      = &dimension{name: "an energy", unit: "watt-hours", symbol: "Wh", example: "12.5 kWh", signed: true}
	length      = &dimension{name: "a length", unit: "metres", symbol: "m", example: "25 m"}
	area        = &dimension{name: "a cross-sectional area", unit: "square millimetres", symbol: "mm²", example: "6 mm²", positive: true}
	temperature = &dimension{name: "a temperature", unit: "degrees Celsius", symbol: "°C", example: "30 °C", signed: true}
	duration    = &dimension{name: "a time", unit: "seconds", symbol: "s", example: "0.4 s"}
	letThrough  = &dimension{name: "a let-through energy", unit: "ampere-squared seconds", symbol: "A²s", example: "18000 A²s"}
	resistivity = &dimension{name: "a soil resistivity", unit: "ohm metres", symbol: "Ω·m", example: "100 Ω·m", positive: true}
	soilThermal = &dimension{name: "a soil thermal resistivity", unit: "kelvin metres per watt", symbol: "K·m/W", example: "2.5 K·m/W", positive: true}
	share       = &dimension{name: "a percentage", unit: "per cent", symbol: "%", example: "5 %", signed: true}
	perMetre    = &dimension{name: "a resistance per metre", unit: "ohms per metre", symbol: "Ω/m", example: "3.08 mΩ/m"}
)

// unit is one way to write a dimension: value = number × 10^exponent × times.
type unit struct {
	of       *dimension
	exponent int
	times    float64 // 1 unless the unit is no power of ten, such as minutes
}

// units maps what people write, with spaces, dots and carets taken out, to
// what it means. Where case tells milli from mega it is kept; words and the
// rest are also found in lower case.
var units = func() map[string]unit {
	m := map[string]unit{}
	put := func(d *dimension, exponent int, times float64, spellings ...string) {
		for _, s := range spellings {
			m[s] = unit{d, exponent, times}
		}
	}
	put(resistance, 0, 1, "Ω", "ohm", "ohms")
	put(resistance, -3, 1, "mΩ", "mohm", "mohms", "milliohm", "milliohms")
	put(resistance, 3, 1, "kΩ", "KΩ", "kohm", "kohms", "Kohm")
	put(resistance, 6, 1, "MΩ", "Mohm", "Mohms", "megohm", "megohms", "megaohm")
	put(resistance, 9, 1, "GΩ", "Gohm", "Gohms", "gigohm", "gigohms")
	put(current, 0, 1, "A", "a", "amp", "amps", "ampere", "amperes")
	put(current, -3, 1, "mA", "ma", "milliamp", "milliamps")
	put(current, 3, 1, "kA", "KA", "ka", "kiloamp", "kiloamps")
	put(voltage, 0, 1, "V", "v", "volt", "volts")
	put(voltage, -3, 1, "mV", "mv", "millivolts")
	put(voltage, 3, 1, "kV", "KV", "kv", "kilovolts")
	put(power, 0, 1, "W", "w", "watt", "watts")
	put(power, 3, 1, "kW", "KW", "kw", "kilowatt", "kilowatts")
	put(power, 6, 1, "MW", "megawatt", "megawatts")
	put(energy, 0, 1, "Wh", "wh", "watthours")
	put(energy, 3, 1, "kWh", "KWh", "KWH", "kwh", "kilowatthours")
	put(energy, 6, 1, "MWh")
	put(length, 0, 1, "m", "metre", "metres", "meter", "meters")
	put(length, -3, 1, "mm", "millimetre", "millimetres")
	put(length, -2, 1, "cm", "centimetre", "centimetres")
	put(length, 3, 1, "km", "kilometre", "kilometres")
	put(area, 0, 1, "mm²", "mm2", "sqmm", "MM2", "squaremillimetres")
	put(temperature, 0, 1, "°C", "C", "c", "°", "degC", "degc", "deg", "degrees", "celsius")
	put(duration, 0, 1, "s", "S", "sec", "secs", "second", "seconds")
	put(duration, -3, 1, "ms", "millisecond", "milliseconds")
	put(duration, 0, 60, "min", "mins", "minute", "minutes")
	put(duration, 0, 3600, "h", "hour", "hours")
	put(letThrough, 0, 1, "A²s", "A2s", "a2s", "A2S")
	put(letThrough, 3, 1, "kA²s", "kA2s")
	put(resistivity, 0, 1, "Ωm", "ohmm", "ohmmetre", "ohmmetres")
	put(soilThermal, 0, 1, "Km/W", "km/w", "K·m/W")
	put(share, 0, 1, "%", "percent", "pc")
	put(perMetre, 0, 1, "Ω/m", "ohm/m")
	put(perMetre, -3, 1, "mΩ/m", "mohm/m", "Ω/km", "ohm/km")
	return m
}()

// together is the units that are offered together, the usual one first.
var together = [][]string{{"Ω", "mΩ", "kΩ", "MΩ"}, {"A", "mA", "kA"}, {"V", "mV", "kV"}, {"W", "kW"}, {"m", "mm"}, {"mm²"}, {"s", "ms", "min"}, {"°C"},
	{"%"}, {"K·m/W"}, {"Ω·m"}, {"A²s"}, {"Wh", "kWh"}}

// Units returns the units that go with an example such as "25 m", the example's
// own first; nothing where it has none.
func Units(like string) []string {
	unit := strings.TrimLeft(like, "<>≤≥+-−0123456789., ")
	if i := strings.IndexAny(unit, ", "); i >= 0 {
		unit = unit[:i]
	}
	if unit == "" {
		return nil
	}
	for _, set := range together {
		if i := slices.Index(set, unit); i >= 0 {
			return slices.Concat(set[i:i+1], set[:i], set[i+1:])
		}
	}
	return []string{unit}
}

// tidyUnit takes out what does not change a unit's meaning.
var tidyUnit = strings.NewReplacer(" ", "", "\u00a0", "", "\u2009", "", "\u202f", "", "^", "", "·", "", "⋅", "", "*", "", "\u2126", "Ω", "ω", "Ω", "º", "°",
	"-", "")

// An Error says why a text is not the quantity that was wanted. It is safe to
// show to anyone.
type Error struct {
	Found string // what was written
	Wrong string // what is wrong with it: "is below zero"
	Right string // what would be right, after what is wrong: "resistance cannot be, write it like 0.13 Ω"
	Alone string // what would be right, where what is wrong is not said before it; Right where it is empty
}

func (e *Error) Error() string { return fmt.Sprintf("%q %s: %s", e.Found, e.Wrong, e.Right) }

// Wanted is what would be right, said alone.
func (e *Error) Wanted() string { return cmp.Or(e.Alone, e.Right) }

func parse(s string, want *dimension) (float64, error) {
	fail := func(wrong, right string) (float64, error) {
		return 0, &Error{Found: s, Wrong: wrong, Right: right + ", like " + want.example}
	}
	write := fmt.Sprintf("write %s in %s", want.name, want.unit)
	text := strings.TrimSpace(s)
	if text == "" {
		return fail("is empty", write)
	}
	mantissa, exponent, rest, ok := splitNumber(text)
	if !ok {
		return fail("has no number", write)
	}
	if strings.HasPrefix(strings.TrimSpace(rest), ",") {
		return fail("has a comma in its number", "write a point for the decimals and no comma for the thousands")
	}
	written := tidyUnit.Replace(strings.TrimSpace(rest))
	if written == "" {
		written = tidyUnit.Replace(want.symbol)
	}
	u, known := units[written]
	if !known {
		u, known = units[strings.ToLower(written)]
	}
	if !known {
		return fail(fmt.Sprintf("has the unit %q, which is not one of ours", strings.TrimSpace(rest)), write)
	}
	if u.of != want {
		return fail(fmt.Sprintf("is %s in %s", u.of.name, u.of.unit), fmt.Sprintf("%s in %s is wanted", want.name, want.unit))
	}
	// The decimal point is moved in the text, so that 130 mΩ is exactly 0.13 Ω.
	v, err := strconv.ParseFloat(mantissa+"e"+strconv.Itoa(exponent+u.exponent), 64)
	v *= u.times
	like := ", write it like " + want.example
	switch {
	case err != nil || math.IsInf(v, 0) || math.IsNaN(v):
		all := "out of all range for " + want.name
		right := fmt.Sprintf("write it in %s, like %s", want.unit, want.example)
		return 0, &Error{s, "is " + all, right, "it is " + all + "; " + right}
	case v < 0 && !want.signed:
		return 0, &Error{s, "is below zero", want.name + " cannot be" + like, want.name + " cannot be below zero" + like}
	case v <= 0 && want.positive:
		return 0, &Error{s, "is not above zero", want.name + " must be" + like, want.name + " must be above zero" + like}
	}
	return v, nil
}

// Unit reads a unit as people write it: the one of its kind without a prefix,
// like Ω or s, and how many of those it is.
func Unit(text string) (base string, per float64, known bool) {
	text = tidyUnit.Replace(strings.TrimSpace(text))
	u, known := units[text]
	if !known {
		u, known = units[strings.ToLower(text)]
	}
	if !known || text == "" {
		return "", 0, false
	}
	return u.of.symbol, u.times * math.Pow10(u.exponent), true
}

// splitNumber cuts a leading decimal number off s. The exponent is kept apart
// from the mantissa. "1.5e3 A" has an exponent; "1.5 e" has not.
func splitNumber(s string) (mantissa string, exponent int, rest string, ok bool) {
	s = strings.Replace(s, "\u2212", "-", 1) // a typeset minus sign
	i := 0
	if i < len(s) && (s[i] == '+' || s[i] == '-') {
		i++
	}
	digits := 0
	for seenPoint := false; i < len(s); i++ {
		if s[i] == '.' && !seenPoint {
			seenPoint = true
		} else if unicode.IsDigit(rune(s[i])) {
			digits++
		} else {
			break
		}
	}
	if digits == 0 {
		return "", 0, s, false
	}
	mantissa, rest = s[:i], s[i:]
	if len(rest) > 1 && (rest[0] == 'e' || rest[0] == 'E') {
		j := 1
		if rest[j] == '+' || rest[j] == '-' {
			j++
		}
		k := j
		for k < len(rest) && rest[k] >= '0' && rest[k] <= '9' {
			k++
		}
		if n, err := strconv.Atoi(rest[1:k]); k > j && err == nil && n > -10000 && n < 10000 {
			exponent, rest = n, rest[k:]
		}
	}
	return mantissa, exponent, rest, true
}

// ParseOhms reads a resistance such as "0.13", "0.13Ω", "130 mΩ" or "200 MΩ".
func ParseOhms(s string) (Ohms, error) { v, err := parse(s, resistance); return Ohms(v), err }

// ParseAmperes reads a current such as "32", "32A", "30 mA" or "1.9kA".
func ParseAmperes(s string) (Amperes, error) { v, err := parse(s, current); return Amperes(v), err }

// ParseVolts reads a voltage such as "230", "230V" or "1.4 kV".
func ParseVolts(s string) (Volts, error) { v, err := parse(s, voltage); return Volts(v), err }

// ParseWatts reads a power such as "7.4kW" or "9500 W"; a bare number is watts.
func ParseWatts(s string) (Watts, error) { v, err := parse(s, power); return Watts(v), err }

// ParseWattHours reads an energy such as "12.5 kWh"; a bare number is watt-hours.
func ParseWattHours(s string) (WattHours, error) {
	v, err := parse(s, energy)
	return WattHours(v), err
}

// ParseMetres reads a length such as "25", "25 m" or "750 mm"; a bare number is metres.
func ParseMetres(s string) (Metres, error) { v, err := parse(s, length); return Metres(v), err }

// ParseSquareMillimetres reads a csa such as "6", "6mm2" or "6 mm²".
func ParseSquareMillimetres(s string) (SquareMillimetres, error) {
	v, err := parse(s, area)
	return SquareMillimetres(v), err
}

// ParseCelsius reads a temperature such as "30", "30C" or "-5 °C". Nothing is
// colder than −273.15 °C.
func ParseCelsius(s string) (Celsius, error) {
	v, err := parse(s, temperature)
	if err == nil && v < -273.15 {
		return 0, &Error{Found: s, Wrong: "is below absolute zero", Right: "write a temperature in degrees Celsius, like 30 °C"}
	}
	return Celsius(v), err
}

// ParseSeconds reads a time such as "0.4", "300 ms", "5 min" or "2 h".
func ParseSeconds(s string) (Seconds, error) { v, err := parse(s, duration); return Seconds(v), err }

// ParseAmpereSquaredSeconds reads a let-through energy such as "18000 A²s".
func ParseAmpereSquaredSeconds(s string) (AmpereSquaredSeconds, error) {
	v, err := parse(s, letThrough)
	return AmpereSquaredSeconds(v), err
}

// ParseOhmMetres reads a soil resistivity such as "100 Ω·m" or "100 ohm m".
func ParseOhmMetres(s string) (OhmMetres, error) {
	v, err := parse(s, resistivity)
	return OhmMetres(v), err
}

// ParseKelvinMetresPerWatt reads a soil thermal resistivity such as "2.5 K·m/W".
func ParseKelvinMetresPerWatt(s string) (KelvinMetresPerWatt, error) {
	v, err := parse(s, soilThermal)
	return KelvinMetresPerWatt(v), err
}

// ParsePercent reads a share such as "5 %".
func ParsePercent(s string) (Percent, error) { v, err := parse(s, share); return Percent(v), err }
