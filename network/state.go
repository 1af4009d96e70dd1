package network

import (
	"math"
	"math/cmplx"

	"chargewright/quantity"
)

// A State is one solution: the voltage at every terminal and the current in
// every branch. Phasors are r.m.s.; angles are to the source's zero.
type State struct {
	sys   *system
	x     []complex128 // potentials in the order of elimination, true earth last
	scale complex128   // of the sources: a voltage factor, or 0 for none
	drawn []complex128 // A of each load that is no impedance
	taps  []tap        // currents taken out by a fault
}

type tap struct {
	terminal int32
	current  complex128
}

func newState(s *system) *State {
	return &State{sys: s, x: make([]complex128, s.f.n+1), scale: 1, drawn: make([]complex128, len(s.net.loads))}
}

// V returns the voltage of a terminal to true earth, in V. It is not a number
// if the network has no such terminal.
func (s *State) V(t Terminal) complex128 {
	i, ok := s.sys.net.find(t)
	if !ok {
		return cmplx.NaN()
	}
	return s.v(i)
}

func (s *State) v(i int32) complex128 {
	return s.x[s.sys.position[i]] + s.scale*s.sys.offset[i]
}

// Volts returns the magnitude of the voltage between two terminals.
func (s *State) Volts(a, b Terminal) quantity.Volts {
	return quantity.Volts(cmplx.Abs(s.V(a) - s.V(b)))
}

// Touch returns the magnitude of the voltage of a terminal to true earth.
func (s *State) Touch(t Terminal) quantity.Volts { return quantity.Volts(cmplx.Abs(s.V(t))) }

// Current returns the current in conductor k of a branch, in A, counted from
// its From end to its To end. Of a transformer it is that of secondary winding
// k, of a source that given to line k, of an electrode that into the ground.
//
// Where perfect joins form a ring the current in them is not determined, and
// the result is not a number; so it is for a branch that does not exist.
func (s *State) Current(b BranchID, k int) complex128 {
	if b < 0 || int(b) >= len(s.sys.net.elements) || k < 0 || k >= len(s.sys.net.elements[b].legs) {
		return cmplx.NaN()
	}
	return s.legCurrent(int(b), k)
}

// Amperes returns the magnitude of Current.
func (s *State) Amperes(b BranchID, k int) quantity.Amperes {
	return quantity.Amperes(cmplx.Abs(s.Current(b, k)))
}

// LoadCurrent returns the current a load takes at its From terminal, in A.
func (s *State) LoadCurrent(l LoadID) complex128 {
	if l < 0 || int(l) >= len(s.sys.net.loads) {
		return cmplx.NaN()
	}
	if e := s.sys.net.impedance[l]; e >= 0 {
		if !s.sys.loads {
			return 0
		}
		return s.legCurrent(int(e), 0)
	}
	return s.drawn[l]
}

// drop returns the voltage along leg k of an element, its source included.
func (s *State) drop(e *element, k int) complex128 {
	l := &e.legs[k]
	terms, weight := l.terms()
	v := s.scale * s.sys.emf(e, k)
	for a := range terms {
		v += s.v(l.terminal[a]) * complex(weight[a], 0)
	}
	return v
}

func (s *State) legCurrent(i, k int) complex128 {
	e := &s.sys.net.elements[i]
	if s.sys.live[i]&(1<<k) == 0 {
		if e.broken&(1<<k) != 0 {
			return 0
		}
		return s.joinCurrent(i, k)
	}
	m := len(e.legs)
	y := s.sys.y[int(s.sys.yStart[i])+k*m:][:m]
	sum := complex128(0)
	for j := range y {
		if y[j] != 0 {
			sum += y[j] * s.drop(e, j)
		}
	}
	return sum
}

// joinCurrent finds the current in a perfect join as what everything else takes
// away from the terminals on its near side.
func (s *State) joinCurrent(i, k int) complex128 {
	n := s.sys.net
	this := -1
	side := newPotentials(len(n.terminals))
	for q, j := range s.sys.joins {
		if int(j.element) == i && int(j.leg) == k {
			this = q
		} else if j.news {
			l := &n.elements[j.element].legs[j.leg]
			side.fix(l.terminal[0], l.terminal[1], 0)
		}
	}
	if this < 0 {
		return cmplx.NaN()
	}
	l := &n.elements[i].legs[k]
	near, _ := side.root(l.terminal[0])
	if far, _ := side.root(l.terminal[1]); far == near {
		return cmplx.NaN() // its ends are joined another way too
	}
	within := func(t int32) bool {
		r, _ := side.root(t)
		return r == near
	}
	for _, j := range s.sys.joins {
		l := &n.elements[j.element].legs[j.leg]
		if !j.news && within(l.terminal[0]) != within(l.terminal[1]) {
			return cmplx.NaN()
		}
	}
	into := complex128(0)
	for q := range n.elements {
		e := &n.elements[q]
		for j := range e.legs {
			if s.sys.live[q]&(1<<j) == 0 {
				continue
			}
			terms, weight := e.legs[j].terms()
			share := 0.0
			for a := range terms {
				if within(e.legs[j].terminal[a]) {
					share += weight[a]
				}
			}
			if share != 0 {
				into -= complex(share, 0) * s.legCurrent(q, j)
			}
		}
	}
	for q := range n.loads {
		from, _ := n.find(n.loads[q].From)
		to, _ := n.find(n.loads[q].To)
		if within(from) {
			into -= s.drawn[q]
		}
		if within(to) {
			into += s.drawn[q]
		}
	}
	for _, t := range s.taps {
		if within(t.terminal) {
			into -= t.current
		}
	}
	return into
}

// Loss returns the power a branch turns into heat.
func (s *State) Loss(b BranchID) quantity.Watts {
	if b < 0 || int(b) >= len(s.sys.net.elements) {
		return quantity.Watts(math.NaN())
	}
	return quantity.Watts(real(s.lost(int(b))))
}

func (s *State) lost(i int) complex128 {
	e := &s.sys.net.elements[i]
	sum := complex128(0)
	for k := range e.legs {
		if s.sys.live[i]&(1<<k) != 0 {
			sum += s.drop(e, k) * cmplx.Conj(s.legCurrent(i, k))
		}
	}
	return sum
}

// RMS returns the root mean square of currents or voltages of different
// frequencies: the neutral's fundamental and third harmonic, say.
func RMS(phasors ...complex128) float64 {
	sum := 0.0
	for _, p := range phasors {
		sum += real(p)*real(p) + imag(p)*imag(p)
	}
	return math.Sqrt(sum)
}
