package network

import (
	"math"
	"math/cmplx"

	"chargewright/quantity"
)

// A LostPEN is a network in which a combined neutral and protective conductor
// has broken. What is earthed beyond the break is then held by its electrodes
// and by the loads, and stands at a voltage to the ground people stand on.
//
// Metalwork that looks dead may be at that voltage: prove dead before work, and
// leave the remedy to the standard in force and a qualified person.
type LostPEN struct {
	Network *Network // with the break
	State   *State   // under the loads of the network
	flow    *Flow
}

// LosePEN returns the network under load with conductors of a branch broken;
// with none named, all of its conductors.
func (n *Network) LosePEN(b BranchID, conductors ...Conductor) (*LostPEN, error) {
	broken, err := n.Break(b, conductors...)
	if err != nil {
		return nil, err
	}
	flow, err := broken.Flow()
	if err != nil {
		return nil, err
	}
	l := &LostPEN{broken, flow.NewState(), flow}
	return l, flow.Solve(l.State)
}

// ElectrodeFor returns the greatest resistance an electrode, added at a
// terminal to all that is there, may have to keep the terminal's voltage to
// true earth at or below a limit. If no electrode is needed it says so.
//
//	formula  |U| × R / |R + Z| = limit
//	U, Z     voltage of the terminal to true earth without the electrode, and
//	         impedance seen from it, loads included
//
// The result is exact where loads are constant impedances, and an error where
// they are not: what a load does at half its voltage is then not known. It is
// an error, too, if no resistance would do.
func (l *LostPEN) ElectrodeFor(t Terminal, limit quantity.Volts) (r quantity.Ohms, needed bool, err error) {
	n := l.Network
	at, ok := n.find(t)
	switch {
	case !ok:
		return 0, false, problem(n.Describe(t), "the network does not have it")
	case !(limit > 0):
		return 0, false, problem("limit", "it is %v: it must be above zero", limit)
	case len(l.flow.draws) > 0:
		load := n.loads[l.flow.draws[0].load]
		return 0, false, problem(load.Name, "an electrode can be found for constant impedances only: give the load as one")
	}
	u, lim := cmplx.Abs(l.State.v(at)), float64(limit)
	if u <= lim {
		return 0, false, nil
	}
	s := l.flow.sys
	x := s.scratch
	clear(x)
	x[s.position[at]] = 1
	s.f.solve(x)
	z := x[s.position[at]]
	// (U² − limit²) R² − 2 limit² Re(Z) R − limit² |Z|² = 0
	a, b, c := u*u-lim*lim, lim*lim*real(z), lim*lim*(real(z)*real(z)+imag(z)*imag(z))
	root := (b + math.Sqrt(b*b+a*c)) / a
	if !(root > 0) {
		return 0, true, problem(n.Describe(t), "no electrode could hold it: it is joined to a source")
	}
	return quantity.Ohms(root), true, nil
}
