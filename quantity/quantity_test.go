package quantity

import (
	"math"
	"strings"
	"testing"
)

func TestParseWhatPeopleWrite(t *testing.T) {
	for _, tt := range []struct {
		parse func(string) (float64, error)
		text  string
		want  float64
	}{
		{ohms, "0.13", 0.13},
		{ohms, "0.13Ω", 0.13},
		{ohms, "0.13 \u2126", 0.13}, // the ohm sign, not the Greek letter
		{ohms, "130 mΩ", 0.13},
		{ohms, "200 MΩ", 200e6},
		{ohms, "200 Mohm", 200e6},
		{ohms, " .5 ohms ", 0.5},
		{ohms, "1e-3", 0.001},
		{amperes, "1.9kA", 1900},
		{amperes, "30 mA", 0.030},
		{amperes, "-40 A", -40},
		{amperes, "−40 A", -40},
		{amperes, "32 amps", 32},
		{watts, "7.4kW", 7400},
		{watts, "7.4 KW", 7400},
		{csa, "6mm2", 6},
		{csa, "6 mm²", 6},
		{csa, "2.5 mm^2", 2.5},
		{csa, "16", 16},
		{metres, "750 mm", 0.75},
		{metres, "25m", 25},
		{celsius, "30 °C", 30},
		{celsius, "-5C", -5},
		{seconds, "300 ms", 0.3},
		{seconds, "5 min", 300},
	} {
		got, err := tt.parse(tt.text)
		if err != nil || got != tt.want {
			t.Errorf("parse %q = %v, %v, want %v", tt.text, got, err, tt.want)
		}
	}
}

func TestParseRefusesByName(t *testing.T) {
	for _, tt := range []struct {
		parse func(string) (float64, error)
		text  string
		says  string
	}{
		{ohms, "7.4kW", "is a power in watts: a resistance in ohms is wanted"},
		{metres, "6 mm²", "is a cross-sectional area in square millimetres: a length in metres is wanted"},
		{amperes, "0.13 Ω", "is a resistance in ohms: a current in amperes is wanted"},
		{ohms, "", "is empty"},
		{ohms, "about half", "has no number"},
		{ohms, "0,13", "has a comma"},
		{ohms, "-1", "is below zero"},
		{ohms, "1e999", "out of all range"},
		{ohms, "NaN", "has no number"},
		{ohms, "0.9 ohm at 32", `has the unit "ohm at 32"`},
		{csa, "0 mm²", "is not above zero"},
		{celsius, "-300", "below absolute zero"},
	} {
		got, err := tt.parse(tt.text)
		if err == nil || !strings.Contains(err.Error(), tt.says) {
			t.Errorf("parse %q = %v, %v, want an error saying %q", tt.text, got, err, tt.says)
		}
	}
}

func TestStringUsesSensibleDigits(t *testing.T) {
	for _, tt := range []struct {
		got  interface{ String() string }
		want string
	}{
		{Ohms(1.365625), "1.37 Ω"},
		{Ohms(0.128), "0.128 Ω"},
		{Ohms(1666.67), "1667 Ω"},
		{Ohms(200e6), "200 MΩ"},
		{Ohms(0), "0 Ω"},
		{Amperes(32), "32 A"},
		{Amperes(21.739), "21.74 A"},
		{Amperes(0.03), "30 mA"},
		{Amperes(6000), "6 kA"},
		{Volts(216.2), "216.2 V"},
		{Volts(6.8696), "6.87 V"},
		{Watts(7360), "7.36 kW"},
		{SquareMillimetres(2.5), "2.5 mm²"},
		{Seconds(0.04), "40 ms"},
		{Seconds(0.4), "0.4 s"},
		{Celsius(20), "20 °C"},
		{OhmsPerMetreAt20(0.00308), "3.08 mΩ/m"},
		{Impedance(complex(0.2, -0.1)), "0.2 − j0.1 Ω"},
	} {
		if got := tt.got.String(); got != tt.want {
			t.Errorf("String() = %q, want %q", got, tt.want)
		}
	}
}

func TestConductorTemperature(t *testing.T) {
	for _, tt := range []struct {
		source string
		at     Celsius
		want   Ohms
	}{
		{"IET On-Site Guide Table I3, 70 °C, factor 1.20", 70, 1.20},
		{"IET On-Site Guide Table I3, 90 °C, factor 1.28", 90, 1.28},
		{"IET On-Site Guide Table I2, 5 °C, factor 0.94", 5, 0.94},
		{"IET On-Site Guide Table I2, 25 °C, factor 1.02", 25, 1.02},
	} {
		if got := OhmsAt20(1).At(tt.at); math.Abs(float64(got-tt.want)) > 1e-12 {
			t.Errorf("%s: OhmsAt20(1).At(%v) = %v, want %v", tt.source, tt.at, float64(got), tt.want)
		}
		if back := OhmsAt20(3).At(tt.at).At20(tt.at); math.Abs(float64(back-3)) > 1e-12 {
			t.Errorf("At20 does not undo At at %v: %v", tt.at, float64(back))
		}
	}
}

func TestMaybeZeroValueIsNotKnown(t *testing.T) {
	var ze Maybe[Ohms]
	if _, known := ze.Get(); known || ze.String() != "not known" {
		t.Errorf("zero Maybe is known: %v", ze)
	}
	if v, known := Known(Ohms(0)).Get(); !known || v != 0 {
		t.Errorf("Known(0 Ω).Get() = %v, %v, want 0 Ω, true", v, known)
	}
}

// FuzzParse states what holds for any text: no panic; what is accepted prints
// exactly and reads back as the same number; and rounding twice rounds once.
func FuzzParse(f *testing.F) {
	for _, s := range []string{"0.13", "0.13Ω", "130 mΩ", "6mm2", "6 mm²", "1.9kA", "7.4kW", "", "-1", ">1999", "NaN", "1e309", "1e-320 Ω", "5 min", "−40 A", "999.9996 A", "0.0999999 s"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		for _, k := range kinds {
			v, err := k.parse(s)
			if err != nil {
				continue
			}
			back, err := k.parse(k.exact(v))
			if err != nil || back != v {
				t.Fatalf("%s: parse(%q) = %v, exact %q reads back as %v, %v", k.name, s, v, k.exact(v), back, err)
			}
			shown := k.show(v)
			again, err := k.parse(shown)
			if err != nil {
				t.Fatalf("%s: cannot read back our own %q: %v", k.name, shown, err)
			}
			if twice := k.show(again); twice != shown {
				t.Fatalf("%s: %v prints as %q, which prints as %q", k.name, v, shown, twice)
			}
		}
	})
}

type kind struct {
	name  string
	parse func(string) (float64, error)
	exact func(float64) string
	show  func(float64) string
}

func kindOf[Q interface {
	Quantity
	Exact() string
}](name string, parse func(string) (Q, error)) kind {
	return kind{
		name:  name,
		parse: func(s string) (float64, error) { q, err := parse(s); return float64(q), err },
		exact: func(v float64) string { return Q(v).Exact() },
		show:  func(v float64) string { return Q(v).String() },
	}
}

var kinds = []kind{
	kindOf("ohms", ParseOhms),
	kindOf("amperes", ParseAmperes),
	kindOf("volts", ParseVolts),
	kindOf("watts", ParseWatts),
	kindOf("watt-hours", ParseWattHours),
	kindOf("metres", ParseMetres),
	kindOf("square millimetres", ParseSquareMillimetres),
	kindOf("celsius", ParseCelsius),
	kindOf("seconds", ParseSeconds),
	kindOf("ampere-squared seconds", ParseAmpereSquaredSeconds),
	kindOf("ohm metres", ParseOhmMetres),
	kindOf("kelvin metres per watt", ParseKelvinMetresPerWatt),
	kindOf("percent", ParsePercent),
}

func ohms(s string) (float64, error)    { v, err := ParseOhms(s); return float64(v), err }
func amperes(s string) (float64, error) { v, err := ParseAmperes(s); return float64(v), err }
func watts(s string) (float64, error)   { v, err := ParseWatts(s); return float64(v), err }
func csa(s string) (float64, error)     { v, err := ParseSquareMillimetres(s); return float64(v), err }
func metres(s string) (float64, error)  { v, err := ParseMetres(s); return float64(v), err }
func celsius(s string) (float64, error) { v, err := ParseCelsius(s); return float64(v), err }
func seconds(s string) (float64, error) { v, err := ParseSeconds(s); return float64(v), err }
