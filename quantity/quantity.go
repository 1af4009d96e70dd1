// Package quantity holds the units an electrician writes: ohms, amperes, volts,
// watts, metres, square millimetres, degrees Celsius, seconds and a few more.
//
// Every quantity is a type of its own over float64, in the SI unit its name
// says (square millimetres and watt-hours excepted, since the trade has no use
// for the SI ones). Prefixes exist only at the edges: Parse… reads them,
// String writes them. A wrong dimension is refused by name: asking for ohms
// and being given "7.4kW" is an error that says both.
//
// String rounds to the digits a person can use. Exact prints the shortest text
// that reads back as the very same number; a file is written with Exact.
package quantity

import (
	"fmt"
	"math"
)

// Ohms is a resistance, or the magnitude of an impedance, in ohms (Ω).
type Ohms float64

// OhmsAt20 is a conductor's d.c. resistance in ohms (Ω) at 20 °C. It is a type
// of its own so that a cold table value cannot be used as a hot one by mistake.
type OhmsAt20 float64

// OhmsPerMetreAt20 is a conductor's d.c. resistance per metre, in Ω/m at 20 °C.
type OhmsPerMetreAt20 float64

// OhmsPerMetre is a reactance per metre, in Ω/m; it does not move with temperature.
type OhmsPerMetre float64

// OhmMetres is the electrical resistivity of soil, in Ω·m.
type OhmMetres float64

// KelvinMetresPerWatt is the thermal resistivity of soil, in K·m/W.
type KelvinMetresPerWatt float64

// Amperes is a current, in amperes (A).
type Amperes float64

// Volts is a voltage, in volts (V).
type Volts float64

// Watts is a power, in watts (W).
type Watts float64

// WattHours is an energy, in watt-hours (Wh).
type WattHours float64

// Metres is a length, in metres (m).
type Metres float64

// SquareMillimetres is a conductor's cross-sectional area (csa), in mm².
type SquareMillimetres float64

// Celsius is a temperature, in °C.
type Celsius float64

// Seconds is a time, in seconds (s).
type Seconds float64

// AmpereSquaredSeconds is a let-through energy I²t, in A²s.
type AmpereSquaredSeconds float64

// Percent is a share in hundredths; 5 means 5 %.
type Percent float64

// Impedance is a complex impedance R + jX, in ohms (Ω).
type Impedance complex128

// Magnitude returns |Z|, in Ω.
func (z Impedance) Magnitude() Ohms { return Ohms(math.Hypot(real(z), imag(z))) }

// perDegree is the simplified temperature coefficient of copper and aluminium
// at 20 °C; 1 + 0.004 × 50 = 1.20 is the factor 20 to 70 °C of IET On-Site
// Guide Table I3 (confirmed by published worked examples).
const perDegree = 0.004

// By returns the resistance r has at temperature t where it rises by a share of
// its own for each degree, as steel does.
//
//	formula  R(t) = R20 × (1 + α20 × (t − 20))
func (r OhmsAt20) By(t Celsius, perDegree float64) Ohms {
	return Ohms(float64(r) * (1 + perDegree*float64(t-20)))
}

// At returns the resistance r has at conductor temperature t.
//
//	formula  R(t) = R20 × (1 + 0.004 × (t − 20))
//	t        conductor temperature, in °C
//	source   BS 7671:2018 Appendix 4; IET On-Site Guide Tables I2 and I3
func (r OhmsAt20) At(t Celsius) Ohms {
	return Ohms(float64(r) * (1 + perDegree*float64(t-20)))
}

// At20 returns the 20 °C resistance of a conductor that reads r at temperature t.
func (r Ohms) At20(t Celsius) OhmsAt20 {
	return OhmsAt20(float64(r) / (1 + perDegree*float64(t-20)))
}

// Over returns the resistance of length l of a conductor.
func (r OhmsPerMetreAt20) Over(l Metres) OhmsAt20 { return OhmsAt20(float64(r) * float64(l)) }

// Over returns the reactance of length l of a conductor.
func (x OhmsPerMetre) Over(l Metres) Ohms { return Ohms(float64(x) * float64(l)) }

// Maybe is a quantity, or any fact, that may not have been measured or chosen
// yet. The zero value is "not known".
type Maybe[Q any] struct {
	q     Q
	known bool
}

// Known returns a Maybe that holds q.
func Known[Q any](q Q) Maybe[Q] { return Maybe[Q]{q, true} }

// Get returns the quantity and whether it is known.
func (m Maybe[Q]) Get() (Q, bool) { return m.q, m.known }

// IsKnown reports whether the quantity is known.
func (m Maybe[Q]) IsKnown() bool { return m.known }

// Or returns the quantity, or q when it is not known. Use it only where the
// caller shows the reader that q was assumed.
func (m Maybe[Q]) Or(q Q) Q {
	if m.known {
		return m.q
	}
	return q
}

// String prints the quantity, or "not known".
func (m Maybe[Q]) String() string {
	if !m.known {
		return "not known"
	}
	return fmt.Sprint(m.q)
}
