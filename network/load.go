package network

import (
	"math"
	"math/cmplx"

	"chargewright/quantity"
)

// A LoadModel says what a load holds constant when its voltage moves.
type LoadModel uint8

// The models. A heater is a constant impedance. A vehicle's charger holds the
// current its charge point allows, with a steady power factor; at light load
// it holds its power.
const (
	ConstantPower LoadModel = iota + 1
	ConstantCurrent
	ConstantImpedance
)

// A Load takes power between two terminals.
type Load struct {
	Name     string
	From, To Terminal // current goes in at From and comes out at To
	Model    LoadModel
	S        complex128     // P + jQ at the rated voltage, in VA; Q above zero lags
	Rated    quantity.Volts // not used by a constant power

	// Third is the third harmonic of the current as a share of its
	// fundamental, at the angle it has to the third multiple of the
	// fundamental's own phase.
	Third complex128
}

// Load adds a load.
func (b *Builder) Load(l Load) LoadID {
	id := LoadID(len(b.net.loads))
	switch {
	case l.Model < ConstantPower || l.Model > ConstantImpedance:
		b.reject(l.Name, "it is not said whether power, current or impedance is constant")
	case cmplx.IsNaN(l.S) || cmplx.IsInf(l.S) || cmplx.IsNaN(l.Third) || cmplx.IsInf(l.Third):
		b.reject(l.Name, "its power is not a number")
	case l.Model == ConstantImpedance && real(l.S) < 0:
		b.reject(l.Name, "it would be a resistance below zero: make a generator a constant power or current")
	case l.Model != ConstantPower && (!(l.Rated > 0) || math.IsInf(float64(l.Rated), 0)):
		b.reject(l.Name, "its rated voltage is %v: it must be above zero", l.Rated)
	}
	from, to := b.terminal(l.Name, l.From), b.terminal(l.Name, l.To)
	b.net.loads = append(b.net.loads, l)
	if l.Model == ConstantImpedance {
		b.net.impedance = append(b.net.impedance, int32(len(b.net.elements)))
		b.add(element{name: l.Name, legs: []leg{{terminal: [4]int32{from, to}}}, z: Series(0), load: id})
	} else {
		b.net.impedance = append(b.net.impedance, -1)
	}
	return id
}

// A ChargePoint draws the same current from each of its lines.
type ChargePoint struct {
	Name        string
	Lines       []Terminal // one or three
	Neutral     Terminal
	Current     quantity.Amperes // in each line, fundamental, r.m.s.
	PowerFactor float64          // lagging; 1 for none
	Third       complex128       // third harmonic, as in Load
}

// ChargePoint adds a charge point in use: a constant current from each line to
// neutral.
func (b *Builder) ChargePoint(c ChargePoint) []LoadID {
	if !(c.PowerFactor > 0) || c.PowerFactor > 1 {
		b.reject(c.Name, "its power factor is %v: it must be above 0 and not above 1", c.PowerFactor)
	}
	const volts = 230 // any voltage would do: a constant current has no other
	s := complex(c.PowerFactor, math.Sqrt(1-c.PowerFactor*c.PowerFactor)) * complex(volts*float64(c.Current), 0)
	ids := make([]LoadID, len(c.Lines))
	for k, line := range c.Lines {
		ids[k] = b.Load(Load{Name: c.Name, From: line, To: c.Neutral, Model: ConstantCurrent, S: s, Rated: volts, Third: c.Third})
	}
	return ids
}
