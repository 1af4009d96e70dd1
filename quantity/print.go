package quantity

import (
	"math"
	"strconv"
	"strings"
)

// prefix is a power of ten that a unit is printed with from a given size on.
type prefix struct {
	from     float64
	exponent int
	symbol   string
}

var (
	ohmPrefixes     = []prefix{{1e6, 6, "MΩ"}, {1e4, 3, "kΩ"}, {0, 0, "Ω"}}
	amperePrefixes  = []prefix{{1e3, 3, "kA"}, {0.5, 0, "A"}, {1e-12, -3, "mA"}, {0, 0, "A"}}
	voltPrefixes    = []prefix{{1e3, 3, "kV"}, {0, 0, "V"}}
	wattPrefixes    = []prefix{{1e6, 6, "MW"}, {1e3, 3, "kW"}, {0, 0, "W"}}
	energyPrefixes  = []prefix{{1e6, 6, "MWh"}, {1e3, 3, "kWh"}, {0, 0, "Wh"}}
	metrePrefixes   = []prefix{{1e4, 3, "km"}, {0, 0, "m"}}
	secondPrefixes  = []prefix{{0.1, 0, "s"}, {1e-12, -3, "ms"}, {0, 0, "s"}}
	areaPrefixes    = []prefix{{0, 0, "mm²"}}
	celsiusPrefixes = []prefix{{0, 0, "°C"}}
	energyI2t       = []prefix{{0, 0, "A²s"}}
	ohmMetreUnit    = []prefix{{0, 0, "Ω·m"}}
	soilUnit        = []prefix{{0, 0, "K·m/W"}}
	percentUnit     = []prefix{{0, 0, "%"}}
	perMetrePrefix  = []prefix{{0, -3, "mΩ/m"}}
)

// show prints v to the given number of significant digits, at most decimals
// places, trailing zeros taken off, in the unit that suits its size.
func show(v float64, digits, decimals int, ps []prefix) string {
	p := choose(v, ps)
	text := trim(v/math.Pow10(p.exponent), digits, decimals)
	// Rounding may carry into the next prefix: 999.9996 A is 1 kA.
	if shown, err := strconv.ParseFloat(text+"e"+strconv.Itoa(p.exponent), 64); err == nil {
		if carried := choose(shown, ps); carried != p {
			p, text = carried, trim(shown/math.Pow10(carried.exponent), digits, decimals)
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

func (q Ohms) String() string                 { return show(float64(q), 3, 3, ohmPrefixes) }
func (q OhmsAt20) String() string             { return Ohms(q).String() }
func (q OhmsPerMetreAt20) String() string     { return show(float64(q), 4, 4, perMetrePrefix) }
func (q OhmsPerMetre) String() string         { return show(float64(q), 4, 4, perMetrePrefix) }
func (q OhmMetres) String() string            { return show(float64(q), 4, 1, ohmMetreUnit) }
func (q KelvinMetresPerWatt) String() string  { return show(float64(q), 3, 2, soilUnit) }
func (q Amperes) String() string              { return show(float64(q), 4, 2, amperePrefixes) }
func (q Volts) String() string                { return show(float64(q), 4, 2, voltPrefixes) }
func (q Watts) String() string                { return show(float64(q), 4, 2, wattPrefixes) }
func (q WattHours) String() string            { return show(float64(q), 5, 2, energyPrefixes) }
func (q Metres) String() string               { return show(float64(q), 4, 2, metrePrefixes) }
func (q SquareMillimetres) String() string    { return show(float64(q), 4, 2, areaPrefixes) }
func (q Celsius) String() string              { return show(float64(q), 4, 1, celsiusPrefixes) }
func (q Seconds) String() string              { return show(float64(q), 4, 2, secondPrefixes) }
func (q AmpereSquaredSeconds) String() string { return show(float64(q), 4, 0, energyI2t) }
func (q Percent) String() string              { return show(float64(q), 3, 2, percentUnit) }

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
	Unit() string
}

// Unit returns the symbol of the unit a quantity is held in.
func (Ohms) Unit() string                 { return "Ω" }
func (OhmMetres) Unit() string            { return "Ω·m" }
func (KelvinMetresPerWatt) Unit() string  { return "K·m/W" }
func (Amperes) Unit() string              { return "A" }
func (Volts) Unit() string                { return "V" }
func (Watts) Unit() string                { return "W" }
func (WattHours) Unit() string            { return "Wh" }
func (Metres) Unit() string               { return "m" }
func (SquareMillimetres) Unit() string    { return "mm²" }
func (Celsius) Unit() string              { return "°C" }
func (Seconds) Unit() string              { return "s" }
func (AmpereSquaredSeconds) Unit() string { return "A²s" }
func (Percent) Unit() string              { return "%" }

// Exact prints the quantity without rounding; its Parse function reads it back.
func (q Ohms) Exact() string                 { return exact(float64(q), q.Unit()) }
func (q OhmMetres) Exact() string            { return exact(float64(q), q.Unit()) }
func (q KelvinMetresPerWatt) Exact() string  { return exact(float64(q), q.Unit()) }
func (q Amperes) Exact() string              { return exact(float64(q), q.Unit()) }
func (q Volts) Exact() string                { return exact(float64(q), q.Unit()) }
func (q Watts) Exact() string                { return exact(float64(q), q.Unit()) }
func (q WattHours) Exact() string            { return exact(float64(q), q.Unit()) }
func (q Metres) Exact() string               { return exact(float64(q), q.Unit()) }
func (q SquareMillimetres) Exact() string    { return exact(float64(q), q.Unit()) }
func (q Celsius) Exact() string              { return exact(float64(q), q.Unit()) }
func (q Seconds) Exact() string              { return exact(float64(q), q.Unit()) }
func (q AmpereSquaredSeconds) Exact() string { return exact(float64(q), q.Unit()) }
func (q Percent) Exact() string              { return exact(float64(q), q.Unit()) }
