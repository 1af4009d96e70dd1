package bench

import (
	"fmt"
	"math"
	"math/rand/v2"
)

// meter is one instrument and the person who holds it.
type meter struct {
	lowGain, loopGain, gain float64 // times
	null                    float64 // Ω left in the leads of a continuity test
	coil                    float64 // Ω that a no-trip test adds
	nulled                  bool    // it is written that they were nulled
	top                     float64 // of the insulation range, MΩ
	over                    string  // what it shows beyond: a mark before the top, or a word
	fused                   float64 // Ω of fused leads on a loop test
	bare                    bool    // its user writes no units
	hangs                   float64 // Ω that a continuity test shows whatever it reads; 0 for none
	wanders                 float64 // Ω by which its null drifts from reading to reading
	scatters                float64 // share by which loop readings scatter
}

// newMeter draws a sound instrument: within some 2 % and a digit or two, as
// instruments in calibration usually are (common practice, no source).
func newMeter(r *rand.Rand) meter {
	m := meter{lowGain: 1 + 0.015*r.NormFloat64(), loopGain: 1 + 0.02*r.NormFloat64(), gain: 1 + 0.03*r.NormFloat64(),
		null: 0.006 * r.NormFloat64(), coil: 0.01 * r.Float64(), top: one(r, 200.0, 500, 999), over: one(r, "> ", ">", "over"), bare: r.Float64() < 0.3}
	m.nulled = r.Float64() < 0.7
	return m
}

// shows writes a value as the display has it: rounded to its last digit, and
// off the end of its range where it is.
func (m meter) shows(v, step, top float64, unit string) string {
	if math.IsNaN(v) || v > top {
		switch {
		case m.over == "over" && unit == "Ω":
			return "OL"
		case m.over == "over":
			return fmt.Sprintf("> %g %s", top, unit)
		}
		return fmt.Sprintf("%s%g %s", m.over, top, unit)
	}
	v = math.Round(v/step)*step + 0 // no minus before a nought
	if m.bare {
		return fmt.Sprintf("%.6g", v)
	}
	return fmt.Sprintf("%.6g %s", v, unit)
}

// low shows a continuity reading of an impedance.
func (m meter) low(r *rand.Rand, z complex128) string {
	v := real(z)*m.lowGain + m.null + 0.006*r.NormFloat64() + m.wanders*(2*r.Float64()-1)
	if m.hangs > 0 {
		v = m.hangs
	}
	return m.shows(v, 0.01, 1999, "Ω")
}

// loop shows a loop reading.
func (m meter) loop(r *rand.Rand, z complex128, noTrip bool) string {
	v := math.Hypot(real(z), imag(z))*m.loopGain + m.fused + 0.012*r.NormFloat64()
	if noTrip {
		v += m.coil + 0.02*r.NormFloat64()
	}
	if m.scatters > 0 {
		v *= 1 + m.scatters*(2*r.Float64()-1)
	}
	return m.shows(max(v, 0), 0.01, 1999, "Ω")
}

// insulation shows an insulation reading.
func (m meter) insulation(r *rand.Rand, ohms float64) string {
	v := ohms / 1e6 * (m.gain + 0.04*r.NormFloat64())
	step := 0.01
	if v >= 10 {
		step = 1
	}
	return m.shows(max(v, 0), step, m.top, "MΩ")
}
