package network

import (
	"errors"
	"fmt"
	"math/cmplx"
	"slices"
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
	slots    []int32 // where each stamp of y goes in the matrix, −1 for nowhere
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

// merge joins terminals that no impedance separates and returns the groups.
func (s *system) merge() (*potentials, error) {
	n := s.net
	p := newPotentials(len(n.terminals))
	s.live = make([]uint32, len(n.elements))
	for i := range n.elements {
		e := &n.elements[i]
		if !s.use(i) {
			continue
		}
		for k := range e.legs {
			switch {
			case e.broken&(1<<k) != 0:
			case e.load < 0 && s.z[i].none(k):
				a, b := e.legs[k].terminal[0], e.legs[k].terminal[1]
				news, agrees := p.fix(a, b, s.emf(e, k))
				if !agrees {
					return nil, problem(e.name, "it has no impedance and joins %s and %s, between which there is a source: give it its impedance", n.Describe(n.terminals[a]), n.Describe(n.terminals[b]))
				}
				s.joins = append(s.joins, join{int32(i), int32(k), news})
			default:
				s.live[i] |= 1 << k
			}
		}
	}
	return p, nil
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

// connect finds what is connected with what, and refuses, or holds at zero,
// what has no connection to true earth.
func (s *system) connect(roots *potentials) error {
	n := s.net
	whole := newPotentials(len(n.terminals))
	for t := range n.terminals {
		r, _ := roots.root(int32(t))
		whole.fix(r, int32(t), 0)
	}
	for i := range n.elements {
		e := &n.elements[i]
		m := len(e.legs)
		for k := range e.legs {
			if s.live[i]&(1<<k) == 0 || s.y[int(s.yStart[i])+k*m+k] == 0 {
				continue
			}
			l := &e.legs[k]
			whole.fix(l.terminal[0], l.terminal[1], 0)
			if l.ratio != 0 {
				whole.fix(l.terminal[2], l.terminal[3], 0)
			}
		}
	}
	s.part = make([]int32, len(n.terminals))
	first := map[int32]int32{} // of each part connected to nothing, its first terminal
	for t := range n.terminals {
		s.part[t], _ = whole.root(int32(t))
		if _, seen := first[s.part[t]]; s.part[t] != 0 && !seen {
			first[s.part[t]] = int32(t)
		}
	}
	for _, t := range first {
		s.pins = append(s.pins, t)
	}
	slices.Sort(s.pins)
	if s.lenient {
		return nil
	}
	supply := map[int32]string{}
	for i := range n.elements {
		if e := &n.elements[i]; e.emf != nil {
			supply[s.part[e.legs[0].terminal[0]]] = e.name
		}
	}
	var errs []error
	for _, t := range s.pins {
		if len(errs) == 5 {
			errs = append(errs, fmt.Errorf("and %d more", len(s.pins)-5))
			break
		}
		if name, ok := supply[s.part[t]]; ok {
			errs = append(errs, problem(name, "nothing connects it to earth: give its star point an electrode"))
		} else {
			errs = append(errs, s.afloat(t))
		}
	}
	return errors.Join(errs...)
}

func (s *system) afloat(t int32) error {
	return problem(s.net.Describe(s.net.terminals[t]), "nothing connects it to the supply or to earth")
}

// number puts the unknowns in the order of elimination.
func (s *system) number(roots *potentials) {
	n := s.net
	s.offset = make([]complex128, len(n.terminals))
	root := make([]int32, len(n.terminals))
	vertex := make([]int32, len(n.terminals)) // node of the root, less one; −1 for true earth
	for t := range n.terminals {
		root[t], s.offset[t] = roots.root(int32(t))
		vertex[t] = int32(n.terminals[root[t]].Node) - 1
		if root[t] == 0 {
			vertex[t] = -1
		}
	}
	neighbours := make([][]int32, len(n.nodes)-1)
	var around []int32
	for i := range n.elements {
		e := &n.elements[i]
		around = around[:0]
		for k := range e.legs {
			if s.live[i]&(1<<k) == 0 {
				continue
			}
			terms, _ := e.legs[k].terms()
			for _, t := range e.legs[k].terminal[:terms] {
				if v := vertex[t]; v >= 0 && !slices.Contains(around, v) {
					around = append(around, v)
				}
			}
		}
		for _, u := range around {
			for _, v := range around {
				if u != v {
					neighbours[u] = append(neighbours[u], v)
				}
			}
		}
	}
	late := make([]bool, len(neighbours))
	if s.loads {
		for i := range n.loads {
			if n.loads[i].Model == ConstantImpedance {
				continue
			}
			for _, t := range []Terminal{n.loads[i].From, n.loads[i].To} {
				if at, _ := n.find(t); vertex[at] >= 0 {
					late[vertex[at]] = true
				}
			}
		}
	}
	members := make([][]int32, len(neighbours))
	for t := range n.terminals {
		if root[t] == int32(t) && t != 0 {
			members[vertex[t]] = append(members[vertex[t]], int32(t))
		}
	}
	s.position = make([]int32, len(n.terminals))
	next := int32(0)
	for _, v := range minimumDegree(neighbours, late) {
		for _, t := range members[v] {
			s.position[t] = next
			next++
		}
	}
	for t := range n.terminals {
		if root[t] == 0 {
			s.position[t] = next
		} else {
			s.position[t] = s.position[root[t]]
		}
	}
	for i, t := range s.pins {
		s.pins[i] = s.position[t]
	}
	s.f = &factor{n: int(next)}
	s.drive = make([]complex128, next+1)
	s.scratch = make([]complex128, next+1)
}

// stamps calls visit for each place in the matrix that an element's admittance
// between two legs goes to, always in the same order.
func (s *system) stamps(visit func(row, column int32, y complex128)) {
	for i := range s.net.elements {
		e := &s.net.elements[i]
		m := len(e.legs)
		y := s.y[s.yStart[i]:]
		for j := range e.legs {
			for k := range e.legs {
				if s.live[i]&(1<<j) == 0 || s.live[i]&(1<<k) == 0 || (j != k && !s.coupled[i]) {
					continue
				}
				nj, weightJ := e.legs[j].terms()
				nk, weightK := e.legs[k].terms()
				for a := range nj {
					for b := range nk {
						row, column := s.position[e.legs[j].terminal[a]], s.position[e.legs[k].terminal[b]]
						if row <= column && int(column) < s.f.n {
							visit(row, column, y[j*m+k]*complex(weightJ[a]*weightK[b], 0))
						}
					}
				}
			}
		}
	}
}

// shape lays out the matrix and its factors.
func (s *system) shape() {
	n := s.f.n
	count := make([]int32, n+1)
	total := 0
	s.stamps(func(_, column int32, _ complex128) {
		count[column]++
		total++
	})
	start := make([]int32, n+1)
	for k := range n {
		start[k+1] = start[k] + count[k]
	}
	rows := make([]int32, total)
	fill := slices.Clone(start)
	s.stamps(func(row, column int32, _ complex128) {
		rows[fill[column]] = row
		fill[column]++
	})
	ap := make([]int32, n+1)
	ai := make([]int32, 0, total/4)
	for k := range n {
		column := rows[start[k]:start[k+1]]
		slices.Sort(column)
		ai = append(ai, slices.Compact(column)...)
		if len(ai) == int(ap[k]) || ai[len(ai)-1] != int32(k) { // a terminal with nothing but loads
			ai = append(ai, int32(k))
		}
		ap[k+1] = int32(len(ai))
	}
	s.slots = make([]int32, 0, total)
	s.stamps(func(row, column int32, _ complex128) {
		at, _ := slices.BinarySearch(ai[ap[column]:ap[column+1]], row)
		s.slots = append(s.slots, ap[column]+int32(at))
	})
	s.f = newFactor(n, ap, ai)
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
				return problem(s.net.Describe(s.net.terminals[t]), "what holds it to the supply and to earth is too weak to compute with: check for impedances that are far too high or too low")
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

// setImpedance changes an element's impedance; it takes effect with the next
// refactor.
func (s *system) setImpedance(b BranchID, z Matrix) error {
	if b < 0 || int(b) >= len(s.z) || s.net.elements[b].load >= 0 {
		return problem("impedance", "there is no branch %d", b)
	}
	name := s.net.elements[b].name
	if z.size != s.z[b].size {
		return problem(name, "it has %d conductors: %d impedances were given", s.z[b].size, z.size)
	}
	if why := z.check(); why != "" {
		return problem(name, "%s", why)
	}
	for k := range z.size {
		if z.none(k) != s.z[b].none(k) {
			return problem(name, "a conductor cannot turn into a perfect join, nor a join into a conductor: build the network anew")
		}
	}
	if z.coupled() && !s.coupled[b] {
		return problem(name, "its conductors did not couple when it was built: build the network anew")
	}
	old := s.z[b]
	s.z[b] = z
	s.stale = true
	if err := s.invertElement(int(b)); err != nil {
		s.z[b] = old
		return errors.Join(err, s.invertElement(int(b)))
	}
	return nil
}
