package network

// Parts of the solver that the house has no use for, and its tests have: they
// let it be held to feeders, transformers and readings published elsewhere.

import (
	"errors"
	"math"
	"math/cmplx"

	"chargewright/quantity"
)

// Coupled returns the matrix of conductors that share a cable or a pole.
//
//	r    resistances, in Ω; beside the diagonal that of a shared return path
//	x    reactances, in Ω; beside the diagonal the mutual ones
//
// It returns an error if r and x are not square and of one size.
func Coupled(r, x [][]float64) (Matrix, error) {
	n := len(r)
	m := Matrix{n, make([]complex128, 0, n*n)}
	for i := range r {
		if len(r[i]) != n || len(x) != n || len(x[i]) != n {
			return Matrix{}, problem("impedance matrix", "resistance and reactance must each have %d rows of %d", n, n)
		}
		for j := range r[i] {
			m.z = append(m.z, complex(r[i][j], x[i][j]))
		}
	}
	return m, nil
}

// FromSequence returns the matrix of three lines whose neutral is earthed all
// along and so folded into them.
//
//	z1, z0   positive and zero sequence impedance, in Ω
//	self     (z0 + 2 z1) / 3
//	mutual   (z0 − z1) / 3
func FromSequence(z1, z0 quantity.Impedance) Matrix {
	m := Series(z1, z1, z1)
	for i := range m.z {
		m.z[i] += complex128(z0-z1) / 3
	}
	return m
}

// FromSequenceWithReturn returns the matrix of three lines and the conductor
// that carries their sum back. Between lines and return it is the same as the
// folded matrix; it also shows what voltage the return takes up.
//
//	z1, z0   positive and zero sequence impedance, in Ω
//	line     z1
//	return   (z0 − z1) / 3
func FromSequenceWithReturn(z1, z0 quantity.Impedance) Matrix {
	return Series(z1, z1, z1, (z0-z1)/3)
}

// Times returns the matrix multiplied by f: per kilometre to whole length, one
// cable to several in parallel, a voltage factor.
func (m Matrix) Times(f float64) Matrix {
	t := Matrix{m.size, make([]complex128, len(m.z))}
	for i, z := range m.z {
		t.z[i] = z * complex(f, 0)
	}
	return t
}

// SetImpedance changes the impedance of a branch: another temperature, another
// length. What is zero or not coupled must stay so.
func (f *Faults) SetImpedance(b BranchID, z Matrix) error {
	if err := f.sys.setImpedance(b, z); err != nil {
		return err
	}
	if err := f.sys.refactor(); err != nil {
		return err
	}
	f.settle()
	return nil
}

// MeterReading returns what a loop meter shows that loads the loop with a
// resistance and compares the magnitudes of the voltage before and after.
//
//	formula   (|U open| − |U loaded|) / |I|
//	load      the meter's own resistance, in Ω, above zero
//
// Such a meter sees little of a reactance: near a transformer it reads below
// the magnitude of LoopImpedance.
func (f *Faults) MeterReading(a, b Terminal, load quantity.Ohms) (quantity.Ohms, error) {
	if !(load > 0) || math.IsInf(float64(load), 0) {
		return 0, problem("loop meter", "its resistance is %v: it must be above zero", load)
	}
	z, err := f.LoopImpedance(a, b)
	if err != nil {
		return 0, err
	}
	r := complex(float64(load), 0)
	loaded := cmplx.Abs(r / (r + complex128(z))) // of the open voltage
	return quantity.Ohms((1 - loaded) / loaded * float64(load)), nil
}

// SetImpedance changes the impedance of a branch: another temperature, another
// length. What is zero or not coupled must stay so.
func (f *Flow) SetImpedance(b BranchID, z Matrix) error { return f.sys.setImpedance(b, z) }

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

// Star adds three equal loads from each line to a star point.
//
//	l   S is the power of all three; Rated is line to star
func (b *Builder) Star(l Load, lines [3]Terminal, star Terminal) [3]LoadID {
	var ids [3]LoadID
	l.S /= 3
	for k, line := range lines {
		l.From, l.To = line, star
		ids[k] = b.Load(l)
	}
	return ids
}

// Delta adds three equal loads between the lines.
//
//	l   S is the power of all three; Rated is line to line
func (b *Builder) Delta(l Load, lines [3]Terminal) [3]LoadID {
	var ids [3]LoadID
	l.S /= 3
	for k, line := range lines {
		l.From, l.To = line, lines[(k+1)%3]
		ids[k] = b.Load(l)
	}
	return ids
}

// Electrodes adds earth electrodes near enough to influence each other.
//
//	at   what each of them earths
//	r    resistances to true earth, in Ω; beside the diagonal the potential one
//	     takes up for each ampere the other puts into the ground
func (b *Builder) Electrodes(name string, at []Terminal, r Matrix) BranchID {
	ground := make([]Terminal, len(at))
	for i := range ground {
		ground[i].Conductor = Earth
	}
	return b.Branch(Branch{Name: name, From: at, To: ground, Z: r})
}

// LoadVolts returns the magnitude of the voltage across a load.
func (s *State) LoadVolts(l LoadID) quantity.Volts {
	if l < 0 || int(l) >= len(s.sys.net.loads) {
		return quantity.Volts(math.NaN())
	}
	return s.Volts(s.sys.net.loads[l].From, s.sys.net.loads[l].To)
}

// Sum returns the vector sum of the currents in all conductors of a branch, in
// A: what flows back some other way, through other cables or through the ground.
func (s *State) Sum(b BranchID) complex128 {
	if b < 0 || int(b) >= len(s.sys.net.elements) {
		return cmplx.NaN()
	}
	sum := complex128(0)
	for k := range s.sys.net.elements[b].legs {
		sum += s.Current(b, k)
	}
	return sum
}

// Losses returns the power the given branches turn into heat together.
func (s *State) Losses(branches ...BranchID) quantity.Watts {
	sum := quantity.Watts(0)
	for _, b := range branches {
		sum += s.Loss(b)
	}
	return sum
}

// A Balance says where the power goes, in VA: P + jQ.
type Balance struct {
	Supplied complex128 // by the ideal voltages inside the sources
	Loads    complex128
	Lost     complex128 // in branches, transformers, electrodes and sources
}

// Balance returns the power balance of the whole network. Supplied is the sum
// of the other two but for what the solution is inaccurate by.
func (s *State) Balance() Balance {
	var b Balance
	for i := range s.sys.net.elements {
		e := &s.sys.net.elements[i]
		if e.load < 0 {
			b.Lost += s.lost(i)
		} else if s.sys.loads {
			b.Loads += s.lost(i)
		}
		for k := range e.emf {
			b.Supplied += s.scale * s.sys.emf(e, k) * cmplx.Conj(s.legCurrent(i, k))
		}
	}
	for i := range s.sys.net.loads {
		l := &s.sys.net.loads[i]
		if s.drawn[i] != 0 {
			b.Loads += (s.V(l.From) - s.V(l.To)) * cmplx.Conj(s.drawn[i])
		}
	}
	return b
}

// YearlyLoss returns the energy lost in a year of 8,760 hours like the span
// that was looked at.
//
//	losses   power lost at equally spaced moments of that span
func YearlyLoss(losses []quantity.Watts) quantity.WattHours {
	if len(losses) == 0 {
		return 0
	}
	sum := quantity.Watts(0)
	for _, w := range losses {
		sum += w
	}
	return quantity.WattHours(float64(sum) / float64(len(losses)) * 8760)
}

// Rod returns the resistance to true earth of a rod driven from the surface
// into uniform soil.
//
//	symbol   R, in Ω
//	formula  ρ / (2πL) × (ln(8L/d) − 1)
//	rho      resistivity of the soil, in Ω·m
//	length   L, in m; many times d
//	d        diameter, in m
//	source   BS 7430 (formula from memory)
func Rod(rho quantity.OhmMetres, length, d quantity.Metres) (quantity.Ohms, error) {
	if !(rho > 0) || !(d > 0) || !(length > 4*d) || math.IsInf(float64(rho)+float64(length), 0) {
		return 0, problem("rod", "soil of %v, length %v and diameter %v: all must be above zero and the rod much longer than thick", rho, length, d)
	}
	return quantity.Ohms(float64(rho) / (2 * math.Pi * float64(length)) * (math.Log(8*float64(length/d)) - 1)), nil
}

// RodTransfer returns the resistance that couples a rod with a point on the
// surface: the potential the point takes up for each ampere the rod puts into
// uniform soil. It goes beside the diagonal of the matrix of Electrodes.
//
//	symbol    R12, in Ω
//	formula   ρ / (2πL) × asinh(L/x)
//	rho       resistivity of the soil, in Ω·m
//	length    L, of the rod, in m
//	distance  x, from the rod, in m
//	source    field of a line source; circuit theory
func RodTransfer(rho quantity.OhmMetres, length, distance quantity.Metres) (quantity.Ohms, error) {
	if !(rho > 0) || !(length > 0) || !(distance > 0) || math.IsInf(float64(rho)+float64(length)+float64(distance), 0) {
		return 0, problem("rod", "soil of %v, length %v and distance %v: all must be above zero", rho, length, distance)
	}
	return quantity.Ohms(float64(rho) / (2 * math.Pi * float64(length)) * math.Asinh(float64(length/distance))), nil
}
