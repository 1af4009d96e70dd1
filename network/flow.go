package network

import (
	"math"
	"math/cmplx"
	"slices"

	"chargewright/quantity"
)

// A Flow finds voltages and currents under load.
//
// Constant impedances are part of the equations. Constant powers and currents
// are put in as currents and corrected, round by round, for the voltage that
// comes of them. For a single load the rounds settle wherever a steady voltage
// exists (up to the most the network can carry). They begin with a
// Tolerance of 0.1 µV and 500 Rounds.
type Flow struct {
	Tolerance quantity.Volts // a round that moves no load's voltage further is the last
	Rounds    int            // the most rounds before giving up

	sys    *system
	draws  []draw
	active []int32      // unknowns that loads reach, in order
	base   []complex128 // the sources' part, after the forward step
	idle   []complex128 // voltage across each draw with no load on
}

// A draw is a load that is no impedance, as the rounds see it.
type draw struct {
	load     LoadID
	from, to int32      // unknowns
	offset   complex128 // V between the terminals beyond that between unknowns
	power    bool       // else constant current
	s        complex128 // conj(S), or conj(S) over the rated voltage
	v, i     complex128
}

// Flow sets up the equations of the network under load. It returns an error
// that names every part connected to nothing.
func (n *Network) Flow() (*Flow, error) {
	s, err := n.system(purpose{harmonic: 1, loads: true})
	if err != nil {
		return nil, err
	}
	f := &Flow{Tolerance: 1e-7, Rounds: 500, sys: s, base: make([]complex128, s.f.n+1)}
	reached := make([]bool, s.f.n)
	for i := range n.loads {
		l := &n.loads[i]
		if l.Model == ConstantImpedance {
			continue
		}
		from, _ := n.find(l.From)
		to, _ := n.find(l.To)
		d := draw{load: LoadID(i), from: s.position[from], to: s.position[to], offset: s.offset[from] - s.offset[to], power: l.Model == ConstantPower}
		for _, at := range []int32{d.from, d.to} {
			for k := at; k >= 0 && int(k) < s.f.n && !reached[k]; k = s.f.parent[k] {
				reached[k] = true
			}
		}
		f.draws = append(f.draws, d)
		f.setDraw(len(f.draws)-1, l.S)
	}
	for k, r := range reached {
		if r {
			f.active = append(f.active, int32(k))
		}
	}
	f.idle = make([]complex128, len(f.draws))
	f.prime()
	return f, nil
}

// prime does once what does not depend on the draws.
func (f *Flow) prime() {
	copy(f.base, f.sys.drive)
	f.sys.f.forward(f.base)
	x := f.sys.scratch
	copy(x, f.base)
	for k, d := range f.sys.f.inverse {
		x[k] *= d
	}
	f.sys.f.backward(x)
	x[f.sys.f.n] = 0
	for i := range f.draws {
		d := &f.draws[i]
		f.idle[i] = x[d.from] - x[d.to] + d.offset
	}
}

func (f *Flow) setDraw(i int, s complex128) {
	d := &f.draws[i]
	d.s = cmplx.Conj(s)
	if !d.power {
		d.s /= complex(float64(f.sys.net.loads[d.load].Rated), 0)
	}
}

// NewState returns a State for Solve to fill.
func (f *Flow) NewState() *State { return newState(f.sys) }

// SetPower changes the power of a load, in VA at its rated voltage.
func (f *Flow) SetPower(l LoadID, s complex128) error {
	if l < 0 || int(l) >= len(f.sys.s) {
		return problem("power", "there is no load %d", l)
	}
	if cmplx.IsNaN(s) || cmplx.IsInf(s) {
		return problem(f.sys.net.loads[l].Name, "its power is not a number")
	}
	e := f.sys.net.impedance[l]
	if e < 0 {
		i, _ := slices.BinarySearchFunc(f.draws, l, func(d draw, l LoadID) int { return int(d.load - l) })
		f.sys.s[l] = s
		f.setDraw(i, s)
		return nil
	}
	if real(s) < 0 {
		return problem(f.sys.net.loads[l].Name, "it would be a resistance below zero: make a generator a constant power or current")
	}
	if s == 0 && f.sys.s[l] != 0 || s != 0 && f.sys.s[l] == 0 {
		return problem(f.sys.net.loads[l].Name, "a constant impedance cannot be switched on or off here: build the network with or without it")
	}
	f.sys.s[l] = s
	f.sys.stale = true
	return f.sys.invertElement(int(e))
}

// Solve finds the voltages and currents for the present loads and puts them in
// st, which must come from this Flow's NewState. It allocates nothing unless
// it fails. If the loads find no steady voltage the error names the one
// furthest from it.
func (f *Flow) Solve(st *State) error {
	if st.sys != f.sys {
		return problem("state", "it belongs to another network: take it from NewState")
	}
	if f.sys.stale {
		if err := f.sys.refactor(); err != nil {
			return err
		}
		f.prime()
	}
	fac, x := f.sys.f, st.x
	for i := range f.draws {
		d := &f.draws[i]
		d.v = f.idle[i]
		d.i = d.at(d.v)
	}
	for round := 0; ; round++ {
		for _, k := range f.active {
			x[k] = 0
		}
		for i := range f.draws {
			d := &f.draws[i]
			x[d.from] -= d.i
			x[d.to] += d.i
		}
		x[fac.n] = 0
		for _, k := range f.active {
			fac.push(x, int(k))
		}
		for _, k := range f.active {
			x[k] = (x[k] + f.base[k]) * fac.inverse[k]
		}
		for q := len(f.active) - 1; q >= 0; q-- {
			fac.pull(x, int(f.active[q]))
		}
		moved, worst := 0.0, 0
		for i := range f.draws {
			d := &f.draws[i]
			v := x[d.from] - x[d.to] + d.offset
			if m := math.Abs(real(v-d.v)) + math.Abs(imag(v-d.v)); !(m <= moved) {
				moved, worst = m, i
			}
			d.v = v
		}
		if moved <= float64(f.Tolerance) {
			break
		}
		if round >= f.Rounds || math.IsNaN(moved) || math.IsInf(moved, 0) {
			return f.unsettled(round+1, worst)
		}
		for i := range f.draws {
			d := &f.draws[i]
			d.i = d.at(d.v)
		}
	}
	f.fill(x)
	for i := range f.draws {
		st.drawn[f.draws[i].load] = f.draws[i].i
	}
	return nil
}

// fill finds the potentials that loads do not reach.
func (f *Flow) fill(x []complex128) {
	fac := f.sys.f
	next := len(f.active) - 1
	for k := fac.n - 1; k >= 0; k-- {
		if next >= 0 && int(f.active[next]) == k {
			next--
			continue
		}
		x[k] = f.base[k] * fac.inverse[k]
		fac.pull(x, k)
	}
}

// at returns the current the load takes at voltage v.
func (d *draw) at(v complex128) complex128 {
	if d.s == 0 {
		return 0
	}
	square := real(v)*real(v) + imag(v)*imag(v)
	if d.power {
		return d.s * v * complex(1/square, 0) // conj(S / V)
	}
	if square == 0 {
		return 0
	}
	return d.s * v * complex(1/math.Sqrt(square), 0)
}

func (f *Flow) unsettled(rounds, worst int) error {
	d := &f.draws[worst]
	l := &f.sys.net.loads[d.load]
	n := f.sys.net
	return problem(l.Name, "no steady voltage was found in %d rounds (last %.4g V between %s and %s): with the other loads it asks for more than the "+
		"network can carry, or a conductor ahead of it is broken",
		rounds, cmplx.Abs(d.v), n.Describe(l.From), n.Describe(l.To))
}
