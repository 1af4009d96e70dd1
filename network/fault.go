package network

import (
	"math"
	"math/cmplx"
	"slices"

	"chargewright/quantity"
)

// Faults finds what a loop meter would read and what a fault would draw, with
// loads left out, as the trade and IEC 60909 do. For the greatest current build
// the network cold and give the upper voltage factor; for the least, hot and
// the lower one.
type Faults struct {
	sys  *system
	open *State       // no fault
	x    []complex128 // potentials on the way, found and left again
	way  []int32      // unknowns that x is found at
	on   []bool       // whether an unknown is on the way
}

// Faults sets up the equations of the network without its loads. A part that
// is connected to nothing is not refused here; asking for a loop through it is.
func (n *Network) Faults() (*Faults, error) {
	s, err := n.system(purpose{harmonic: 1, lenient: true})
	if err != nil {
		return nil, err
	}
	f := &Faults{sys: s, x: make([]complex128, s.f.n+1), on: make([]bool, s.f.n)}
	f.settle()
	return f, nil
}

func (f *Faults) settle() {
	f.open = newState(f.sys)
	copy(f.open.x, f.sys.drive)
	f.sys.f.solve(f.open.x)
}

// Open returns the state of the network with no load and no fault.
func (f *Faults) Open() *State { return f.open }

// terminals looks up terminals and makes sure that current can flow between them.
func (f *Faults) terminals(ts []Terminal) ([]int32, error) {
	n := f.sys.net
	at := make([]int32, len(ts))
	for i, t := range ts {
		var ok bool
		if at[i], ok = n.find(t); !ok {
			return nil, problem(n.Describe(t), "the network does not have it")
		}
		if f.sys.part[at[i]] != f.sys.part[at[0]] {
			if f.sys.part[at[i]] == 0 {
				return nil, f.sys.afloat(at[0])
			}
			return nil, f.sys.afloat(at[i])
		}
	}
	return at, nil
}

// Draw returns the voltages that 1 A taken out at one terminal and put back at
// another makes, the sources at rest.
func (f *Faults) Draw(from, to Terminal) (*State, error) {
	at, err := f.terminals([]Terminal{to, from})
	if err != nil {
		return nil, err
	}
	return &State{sys: f.sys, x: f.response(at[0], at[1]), drawn: make([]complex128, len(f.sys.net.loads))}, nil
}

// response returns the potentials that 1 A into a and out of b makes.
func (f *Faults) response(a, b int32) []complex128 {
	x := make([]complex128, f.sys.f.n+1)
	x[f.sys.position[a]]++
	x[f.sys.position[b]]--
	f.sys.f.solve(x)
	x[f.sys.f.n] = 0
	return x
}

// near is response as far as the given terminals need it: a current between them
// is found along the way from each to the root of the elimination tree, and no
// unknown beside it has a part in what stands on it. What it returns holds until
// the next call.
func (f *Faults) near(a, b int32, at []int32) []complex128 {
	fac := f.sys.f
	f.way = f.way[:0]
	for _, t := range at {
		for k := f.sys.position[t]; k >= 0 && int(k) < fac.n && !f.on[k]; k = fac.parent[k] {
			f.on[k] = true
			f.way = append(f.way, k)
		}
	}
	slices.Sort(f.way)
	x := f.x
	for _, k := range f.way {
		f.on[k] = false
		x[k] = 0
	}
	x[fac.n] = 0
	x[f.sys.position[a]]++
	x[f.sys.position[b]]--
	for _, k := range f.way {
		fac.push(x, int(k))
	}
	for _, k := range f.way {
		x[k] *= fac.inverse[k]
	}
	for i := len(f.way) - 1; i >= 0; i-- {
		fac.pull(x, int(f.way[i]))
	}
	x[fac.n] = 0
	return x
}

// LoopImpedance returns the impedance of the loop that closes between two
// terminals: Zs between line and protective conductor, the line–neutral loop
// between line and neutral, an electrode's reading between it and true earth.
// Every parallel path is in it.
func (f *Faults) LoopImpedance(a, b Terminal) (quantity.Impedance, error) {
	at, err := f.terminals([]Terminal{a, b})
	if err != nil {
		return 0, err
	}
	x := f.near(at[0], at[1], at)
	return quantity.Impedance(x[f.sys.position[at[0]]] - x[f.sys.position[at[1]]]), nil
}

// A Fault is terminals touching each other.
type Fault struct {
	Terminals  []Terminal
	Resistance quantity.Ohms // at the place of the fault; between two terminals only
}

// Solve returns the state during a fault, and the current that leaves the
// network at each of its terminals, in A.
//
//	c   voltage factor on every source
func (f *Faults) Solve(fault Fault, c float64) (*State, []complex128, error) {
	at, err := f.touching(fault, c)
	if err != nil {
		return nil, nil, err
	}
	responses := make([][]complex128, len(at)-1)
	for i := range responses {
		responses[i] = f.response(at[i+1], at[0])
	}
	currents, err := f.currents(fault, at, c, func(i int) []complex128 { return responses[i] })
	if err != nil {
		return nil, nil, err
	}
	st := newState(f.sys)
	st.scale = complex(c, 0)
	for i, u := range f.open.x {
		st.x[i] = u * st.scale
	}
	for i, x := range responses {
		for q, r := range x {
			st.x[q] -= currents[i+1] * r
		}
	}
	for i, t := range at {
		st.taps = append(st.taps, tap{t, currents[i]})
	}
	return st, currents, nil
}

// touching looks up the terminals of a fault that can be.
func (f *Faults) touching(fault Fault, c float64) ([]int32, error) {
	k := len(fault.Terminals) - 1
	switch {
	case k < 1:
		return nil, problem("fault", "it joins %d terminals: it takes two", k+1)
	case !(fault.Resistance >= 0) || math.IsInf(float64(fault.Resistance), 0):
		return nil, problem("fault", "its resistance is %v: it must be at or above zero", fault.Resistance)
	case k > 1 && fault.Resistance > 0:
		return nil, problem("fault", "a resistance can be given between two terminals only")
	case !(c > 0) || math.IsInf(c, 0):
		return nil, problem("fault", "the voltage factor is %v: it must be above zero", c)
	}
	return f.terminals(fault.Terminals)
}

// currents returns what leaves the network at each terminal of a fault, by its
// Thévenin matrix, each terminal against the first.
//
//	response  potentials at the terminals that 1 A into terminal i+1 and out of the first makes
func (f *Faults) currents(fault Fault, at []int32, c float64, response func(i int) []complex128) ([]complex128, error) {
	k := len(at) - 1
	scale := complex(c, 0)
	z, work := make([]complex128, k*k), make([]complex128, k*k)
	for i := range k {
		x := response(i)
		for j := range k {
			z[j*k+i] = x[f.sys.position[at[j+1]]] - x[f.sys.position[at[0]]]
		}
	}
	z[0] += complex(float64(fault.Resistance), 0)
	if !invert(z, work, k) || cmplx.IsInf(z[0]) {
		return nil, problem(f.sys.net.Describe(fault.Terminals[0]), "no impedance limits a fault here: give the source its impedance")
	}
	v := func(t int32) complex128 { return f.open.x[f.sys.position[t]]*scale + scale*f.sys.offset[t] }
	currents := make([]complex128, k+1)
	for i := range k {
		for j := range k {
			currents[i+1] += z[i*k+j] * (v(at[j+1]) - v(at[0]))
		}
	}
	for i := range k {
		currents[0] -= currents[i+1]
	}
	return currents, nil
}

// drawn returns the currents of a fault alone.
func (f *Faults) drawn(fault Fault, c float64) ([]complex128, error) {
	at, err := f.touching(fault, c)
	if err != nil {
		return nil, err
	}
	return f.currents(fault, at, c, func(i int) []complex128 { return f.near(at[i+1], at[0], at) })
}

// Current returns the magnitude of the current between two terminals that touch.
func (f *Faults) Current(a, b Terminal, c float64) (quantity.Amperes, error) {
	i, err := f.drawn(Fault{Terminals: []Terminal{a, b}}, c)
	if err != nil {
		return 0, err
	}
	return quantity.Amperes(cmplx.Abs(i[0])), nil
}

// Prospective holds the fault currents of one node. What its conductors do not
// allow is not known.
type Prospective struct {
	LinePE     [3]quantity.Maybe[quantity.Amperes] // each line to PE, or to PEN where there is no PE
	LineN      [3]quantity.Maybe[quantity.Amperes] // each line to N, or to PEN where there is no N
	LineLine   [3]quantity.Maybe[quantity.Amperes] // L1–L2, L2–L3, L3–L1
	ThreePhase quantity.Maybe[quantity.Amperes]    // in the line that carries most
}

// At returns the fault currents of a node.
//
//	c   voltage factor on every source
func (f *Faults) At(n NodeID, c float64) (Prospective, error) {
	var p Prospective
	lines := [3]Terminal{n.At(L1), n.At(L2), n.At(L3)}
	present := 0
	var failed error
	between := func(a, b Terminal) quantity.Maybe[quantity.Amperes] {
		if !f.sys.net.Has(a) || !f.sys.net.Has(b) {
			return quantity.Maybe[quantity.Amperes]{}
		}
		i, err := f.Current(a, b, c)
		if err != nil {
			failed = err
		}
		return quantity.Known(i)
	}
	or := func(c Conductor) Terminal {
		if f.sys.net.Has(n.At(c)) {
			return n.At(c)
		}
		return n.At(PEN)
	}
	for k, line := range lines {
		if f.sys.net.Has(line) {
			present++
		}
		p.LinePE[k] = between(line, or(PE))
		p.LineN[k] = between(line, or(N))
		p.LineLine[k] = between(line, lines[(k+1)%3])
	}
	if present == 3 {
		currents, err := f.drawn(Fault{Terminals: lines[:]}, c)
		if err != nil {
			failed = err
		}
		most := 0.0
		for _, i := range currents {
			most = max(most, cmplx.Abs(i))
		}
		p.ThreePhase = quantity.Known(quantity.Amperes(most))
	}
	if failed != nil {
		return Prospective{}, failed
	}
	return p, nil
}
