package quantity

import (
	"math"
	"strconv"
	"strings"
)

// Measure is how a quantity is printed: its unit, and what a person can use of
// its digits.
type Measure struct {
	unit             string
	digits, decimals int
	prefixes         []prefix
}

// Unit returns the symbol of the unit a quantity is held in.
func (m *Measure) Unit() string { return m.unit }

// prefix is a power of ten that a unit is printed with from a given size on.
type prefix struct {
	from     float64
	exponent int
	symbol   string
}

var (
	ohmMeasure      = &Measure{"Ω", 3, 3, []prefix{{1e6, 6, "MΩ"}, {1e4, 3, "kΩ"}, {0, 0, "Ω"}}}
	ampereMeasure   = &Measure{"A", 4, 2, []prefix{{1e3, 3, "kA"}, {0.5, 0, "A"}, {1e-12, -3, "mA"}, {0, 0, "A"}}}
	voltMeasure     = &Measure{"V", 4, 2, []prefix{{1e3, 3, "kV"}, {0, 0, "V"}}}
	wattMeasure     = &Measure{"W", 4, 2, []prefix{{1e6, 6, "MW"}, {1e3, 3, "kW"}, {0, 0, "W"}}}
	energyMeasure   = &Measure{"Wh", 5, 2, []prefix{{1e6, 6, "MWh"}, {1e3, 3, "kWh"}, {0, 0, "Wh"}}}
	metreMeasure    = &Measure{"m", 4, 2, []prefix{{1e4, 3, "km"}, {0, 0, "m"}}}
	secondMeasure   = &Measure{"s", 4, 2, []prefix{{0.1, 0, "s"}, {1e-12, -3, "ms"}, {0, 0, "s"}}}
	areaMeasure     = &Measure{"mm²", 4, 2, []prefix{{0, 0, "mm²"}}}
	celsiusMeasure  = &Measure{"°C", 4, 1, []prefix{{0, 0, "°C"}}}
	i2tMeasure      = &Measure{"A²s", 4, 0, []prefix{{0, 0, "A²s"}}}
	ohmMetreMeasure = &Measure{"Ω·m", 4, 1, []prefix{{0, 0, "Ω·m"}}}
	soilMeasure     = &Measure{"K·m/W", 3, 2, []prefix{{0, 0, "K·m/W"}}}
	percentMeasure  = &Measure{"%", 3, 2, []prefix{{0, 0, "%"}}}
	perMetreMeasure = &Measure{"Ω/m", 4, 4, []prefix{{0, -3, "mΩ/m"}}}
)

// Show prints v to the measure's significant digits, at most its decimal
// places, trailing zeros taken off, in the unit that suits its size.
func (m *Measure) Show(v float64) string {
	p := choose(v, m.prefixes)
	text := trim(v/math.Pow10(p.exponent), m.digits, m.decimals)
	// Rounding may carry into the next prefix: 999.9996 A is 1 kA.
	if shown, err := strconv.ParseFloat(text+"e"+strconv.Itoa(p.exponent), 64); err == nil {
		if carried := choose(shown, m.prefixes); carried != p {
			p, text = carried, trim(shown/math.Pow10(carried.exponent), m.digits, m.decimals)
		}
	}
	return text + " " + p.symbol
}

func choose(v float64, ps []prefix) prefix {
	for _, p := range ps {
		if math.Abs(v) >= p.from {
			return p
		}
	}
	return ps[len(ps)-1]
}

func trim(v float64, digits, decimals int) string {
	if v == 0 || math.IsNaN(v) || math.IsInf(v, 0) {
		return strconv.FormatFloat(v+0, 'f', -1, 64)
	}
	if a := math.Abs(v); a < 1e-9 || a >= 1e15 { // no reading is this small or large; still no zero
		return strconv.FormatFloat(v, 'e', digits-1, 64)
	}
	places := digits - 1 - int(math.Floor(math.Log10(math.Abs(v))))
	places = max(0, min(places, decimals))
	if v != 0 && math.Abs(v) < math.Pow10(-places) { // too small for the places: keep two digits
		places = min(15, 1-int(math.Floor(math.Log10(math.Abs(v)))))
	}
	s := strconv.FormatFloat(v, 'f', places, 64)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	if s == "-0" {
		return "0"
	}
	return s
}

// exact prints the shortest text that parses back to v, in the unit unprefixed.
func exact(v float64, symbol string) string {
	format := byte('f')
	if a := math.Abs(v); a != 0 && (a < 1e-6 || a >= 1e15) {
		format = 'e'
	}
	return strconv.FormatFloat(v, format, -1, 64) + " " + symbol
}

// String prints the quantity as a person reads it.
func (q Ohms) String() string                 { return ohmMeasure.Show(float64(q)) }
func (q OhmMetres) String() string            { return ohmMetreMeasure.Show(float64(q)) }
func (q KelvinMetresPerWatt) String() string  { return soilMeasure.Show(float64(q)) }
func (q Amperes) String() string              { return ampereMeasure.Show(float64(q)) }
func (q Volts) String() string                { return voltMeasure.Show(float64(q)) }
func (q Watts) String() string                { return wattMeasure.Show(float64(q)) }
func (q WattHours) String() string            { return energyMeasure.Show(float64(q)) }
func (q Metres) String() string               { return metreMeasure.Show(float64(q)) }
func (q SquareMillimetres) String() string    { return areaMeasure.Show(float64(q)) }
func (q Celsius) String() string              { return celsiusMeasure.Show(float64(q)) }
func (q Seconds) String() string              { return secondMeasure.Show(float64(q)) }
func (q AmpereSquaredSeconds) String() string { return i2tMeasure.Show(float64(q)) }
func (q Percent) String() string              { return percentMeasure.Show(float64(q)) }
func (q OhmsAt20) String() string             { return ohmMeasure.Show(float64(q)) }
func (q OhmsPerMetreAt20) String() string     { return perMetreMeasure.Show(float64(q)) }
func (q OhmsPerMetre) String() string         { return perMetreMeasure.Show(float64(q)) }

// String prints an impedance as R + jX.
func (z Impedance) String() string {
	sign, x := " + j", imag(z)
	if x < 0 {
		sign, x = " − j", -x
	}
	return strings.TrimSuffix(Ohms(real(z)).String(), " Ω") + sign + Ohms(x).String()
}

// Quantity is any of the quantities a person may enter.
type Quantity interface {
	~float64
	String() string
	Measure() *Measure
}

// Measure returns how the quantity is printed, and so its unit.
func (Ohms) Measure() *Measure                 { return ohmMeasure }
func (OhmMetres) Measure() *Measure            { return ohmMetreMeasure }
func (KelvinMetresPerWatt) Measure() *Measure  { return soilMeasure }
func (Amperes) Measure() *Measure              { return ampereMeasure }
func (Volts) Measure() *Measure                { return voltMeasure }
func (Watts) Measure() *Measure                { return wattMeasure }
func (WattHours) Measure() *Measure            { return energyMeasure }
func (Metres) Measure() *Measure               { return metreMeasure }
func (SquareMillimetres) Measure() *Measure    { return areaMeasure }
func (Celsius) Measure() *Measure              { return celsiusMeasure }
func (Seconds) Measure() *Measure              { return secondMeasure }
func (AmpereSquaredSeconds) Measure() *Measure { return i2tMeasure }
func (Percent) Measure() *Measure              { return percentMeasure }

// Exact prints the quantity without rounding; its Parse function reads it back.
func (q Ohms) Exact() string                 { return exact(float64(q), q.Measure().unit) }
func (q OhmMetres) Exact() string            { return exact(float64(q), q.Measure().unit) }
func (q KelvinMetresPerWatt) Exact() string  { return exact(float64(q), q.Measure().unit) }
func (q Amperes) Exact() string              { return exact(float64(q), q.Measure().unit) }
func (q Volts) Exact() string                { return exact(float64(q), q.Measure().unit) }
func (q Watts) Exact() string                { return exact(float64(q), q.Measure().unit) }
func (q WattHours) Exact() string            { return exact(float64(q), q.Measure().unit) }
func (q Metres) Exact() string               { return exact(float64(q), q.Measure().unit) }
func (q SquareMillimetres) Exact() string    { return exact(float64(q), q.Measure().unit) }
func (q Celsius) Exact() string              { return exact(float64(q), q.Measure().unit) }
func (q Seconds) Exact() string              { return exact(float64(q), q.Measure().unit) }
func (q AmpereSquaredSeconds) Exact() string { return exact(float64(q), q.Measure().unit) }
func (q Percent) Exact() string              { return exact(float64(q), q.Measure().unit) }
