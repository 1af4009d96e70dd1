package prove

// What an adaptor reads of the control pilot, and what the clamp of a limiter
// shows.

import (
	"math"
	"math/cmplx"
)

// Resistors of the vehicle, source and diode of the pilot (IEC 61851-1 Annex
// A; levels and resistances confirmed in open documents).
const (
	pilotSource = 1000.0
	pilotVolts  = 12.0
	pilotDiode  = 0.7
	vehicleB    = 2740.0
	vehicleC    = 882.0
)

// predictPilot: source, diode and resistor in series, with a leak beside them.
//
//	formula  U = Ud + (12 V − Ud) × R/(R + 1 kΩ)
func predictPilot(level string) func(*state, *question) (value, bool) {
	return func(s *state, q *question) (value, bool) {
		p := s.pilots[q.run]
		u := pilotLevel(p, level)
		extra := 0.08
		if p.leak > 0 {
			extra += 0.2
		}
		return value{amount: u, extra: extra}, true
	}
}

func pilotLevel(p pilot, level string) float64 {
	if p.shorted {
		return 0
	}
	r := map[string]float64{"B": vehicleB, "C": vehicleC}[level]
	if p.noSwitch && level == "C" {
		r = vehicleB
	}
	diode := pilotDiode
	if p.noDiode {
		diode = 0
	}
	source, u := pilotSource, pilotVolts
	if level == "negative" {
		u = -pilotVolts
	}
	if p.leak > 0 { // as one source of its own
		u *= p.leak / (p.leak + source)
		source = source * p.leak / (p.leak + source)
	}
	switch {
	case r == 0 && level != "negative", p.open && level != "negative":
		return u
	case level == "negative" && (!p.noDiode || p.open):
		return u
	case level == "negative":
		return u * vehicleB / (vehicleB + source)
	}
	return diode + (u-diode)*r/(r+source)
}

func predictDuty(s *state, q *question) (value, bool) {
	m := s.wiring.model
	i := m.PointCurrents(q.run.circuit.Point)
	if !i.Known() {
		return value{}, false
	}
	duty, _, err := m.Rules.PilotDuty(i.Greatest())
	if err != nil {
		return value{}, false
	}
	amount := float64(duty)
	if d := s.pilots[q.run].duty; d > 0 {
		amount *= d
	}
	return value{amount: min(amount, 85), extra: 0.4}, true
}

// predictClamp: a clamp and the voltage it is paired with show active current,
// the true current times the cosine of the angle between them.
//
//	formula  shown = I × Re(a),  a = 1 right, −1 turned round, ∠120° wrong phase
func predictClamp(s *state, q *question) (value, bool) {
	if q.known == 0 {
		return value{}, false
	}
	return value{amount: q.known * s.clamp, extra: 0.03*q.known + 0.2}, true
}

// wrongPhase is what a resistive load shows on a channel paired with the
// voltage of the next phase.
func wrongPhase() float64 { return real(cmplx.Rect(1, 2*math.Pi/3)) }
