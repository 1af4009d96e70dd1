package network

import (
	"math/cmplx"
)

// purpose says what a system of equations is set up for.
type purpose struct {
	harmonic float64 // multiple of the supply frequency
	loads    bool    // constant impedances are part of the network
	lenient  bool    // a part connected to nothing is held at zero instead of refused
}

// A system is a network's nodal equations, factored: admittances × potentials
// = currents put in. Potentials are of groups of joined terminals, in the order
// of elimination; true earth comes after the last of them and stays zero.
type system struct {
	net *Network
	purpose
	z        []Matrix     // of each element; SetImpedance changes it
	s        []complex128 // VA of each load; SetPower changes it
	position []int32      // terminal → unknown; n for true earth
	offset   []complex128 // V of a terminal above its unknown
	part     []int32      // terminal → a terminal that stands for all it is connected with
	joins    []join
	live     []uint32 // legs of each element that have an admittance
	coupled  []bool
	y        []complex128 // admittances of each element's legs, row by row
	yStart   []int32
	slots    []int32 // where each stamp of y goes in the matrix
	pins     []int32 // unknowns held at zero
	f        *factor
	stale    bool         // an admittance was changed since the last refactor
	drive    []complex128 // currents the sources put in
	scratch  []complex128
}

// A join is a leg without impedance.
type join struct {
	element, leg int32
	news         bool // false if its ends were joined already another way
}

func (n *Network) system(p purpose) (*system, error) {
	s := &system{net: n, purpose: p}
	s.z = make([]Matrix, len(n.elements))
	s.s = make([]complex128, len(n.loads))
	for i := range n.loads {
		s.s[i] = n.loads[i].S
	}
	for e := range n.elements {
		s.z[e] = n.elements[e].z
	}
	roots, err := s.merge()
	if err != nil {
		return nil, err
	}
	if err := s.admit(); err != nil {
		return nil, err
	}
	if err := s.connect(roots); err != nil {
		return nil, err
	}
	s.number(roots)
	s.shape()
	return s, s.refactor()
}

// use reports whether element e is part of these equations.
func (s *system) use(e int) bool { return s.loads || s.net.elements[e].load < 0 }

// emf returns the voltage source k of an element, in V.
func (s *system) emf(e *element, k int) complex128 {
	if e.emf == nil || s.harmonic != 1 {
		return 0
	}
	return e.emf[k]
}

// admit makes room for the admittances and computes them.
func (s *system) admit() error {
	n := s.net
	s.coupled = make([]bool, len(n.elements))
	s.yStart = make([]int32, len(n.elements)+1)
	for i := range n.elements {
		m := len(n.elements[i].legs)
		s.coupled[i] = s.z[i].coupled()
		s.yStart[i+1] = s.yStart[i] + int32(m*m)
	}
	s.y = make([]complex128, s.yStart[len(n.elements)])
	for i := range n.elements {
		if err := s.invertElement(i); err != nil {
			return err
		}
	}
	return nil
}

// invertElement computes the admittances of element i.
func (s *system) invertElement(i int) error {
	e := &s.net.elements[i]
	m := len(e.legs)
	y := s.y[s.yStart[i]:s.yStart[i+1]]
	if e.load >= 0 {
		l := &s.net.loads[e.load]
		y[0] = cmplx.Conj(s.s[e.load]) / complex(float64(l.Rated)*float64(l.Rated), 0)
		if s.harmonic != 1 && y[0] != 0 {
			y[0] = 1 / atHarmonic(1/y[0], s.harmonic)
		}
		return nil
	}
	if !s.coupled[i] {
		for k := range m {
			if s.live[i]&(1<<k) != 0 {
				y[k*m+k] = 1 / atHarmonic(s.z[i].z[k*m+k], s.harmonic)
			}
		}
		return nil
	}
	a, work := make([]complex128, m*m), make([]complex128, m*m)
	legs := make([]int, 0, m)
	for k := range m {
		if s.live[i]&(1<<k) != 0 {
			legs = append(legs, k)
		}
	}
	for p, j := range legs {
		for q, k := range legs {
			a[p*len(legs)+q] = atHarmonic(s.z[i].z[j*m+k], s.harmonic)
		}
	}
	if !invert(a, work, len(legs)) {
		return problem(e.name, "its conductors couple so tightly that no current is determined: check the mutual impedances")
	}
	for p, j := range legs {
		for q, k := range legs {
			y[j*m+k] = a[p*len(legs)+q]
		}
	}
	return nil
}

// refactor puts the present admittances into the matrix and factors it.
func (s *system) refactor() error {
	clear(s.f.ax)
	next := 0
	s.stamps(func(_, _ int32, y complex128) {
		s.f.ax[s.slots[next]] += y
		next++
	})
	for _, k := range s.pins {
		s.f.ax[s.f.ap[k+1]-1] += 1 // no current flows in it, so its size does not matter
	}
	if at := s.f.refactor(); at >= 0 {
		for t := range s.net.terminals {
			if s.position[t] == int32(at) {
				return problem(s.net.Describe(s.net.terminals[t]),
					"what holds it to the supply and to earth is too weak to compute with: check for impedances that are far too high or too low")
			}
		}
	}
	s.stale = false
	s.driven()
	return nil
}

// driven computes the currents that sources put in.
func (s *system) driven() {
	clear(s.drive)
	for i := range s.net.elements {
		e := &s.net.elements[i]
		m := len(e.legs)
		for k := range e.legs {
			if s.live[i]&(1<<k) == 0 {
				continue
			}
			current := complex128(0)
			for j := range e.legs {
				if y := s.y[int(s.yStart[i])+k*m+j]; y != 0 {
					current += y * (s.legVoltage(&e.legs[j], nil) + s.emf(e, j))
				}
			}
			if current == 0 {
				continue
			}
			terms, weight := e.legs[k].terms()
			for a := range terms {
				s.drive[s.position[e.legs[k].terminal[a]]] -= complex(weight[a], 0) * current
			}
		}
	}
	s.drive[s.f.n] = 0
}

// legVoltage returns the voltage along a leg for potentials x, or, when x is
// nil, what offsets alone make of it.
func (s *system) legVoltage(l *leg, x []complex128) complex128 {
	terms, weight := l.terms()
	v := complex128(0)
	for a := range terms {
		t := l.terminal[a]
		u := s.offset[t]
		if x != nil {
			u += x[s.position[t]]
		}
		v += u * complex(weight[a], 0)
	}
	return v
}
