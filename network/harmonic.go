package network

import "math/cmplx"

// A ThirdHarmonic finds the 150 Hz currents. Those of the three lines are in
// step, so in the neutral they add up where the fundamental cancels.
//
// Reactances are three times those at 50 Hz, sources are short-circuits, and
// each load puts in the share its Third says of the current it takes.
type ThirdHarmonic struct{ sys *system }

// ThirdHarmonic sets up the equations of the network at three times its frequency.
func (n *Network) ThirdHarmonic() (*ThirdHarmonic, error) {
	s, err := n.system(purpose{harmonic: 3, loads: true})
	if err != nil {
		return nil, err
	}
	return &ThirdHarmonic{s}, nil
}

// NewState returns a State for Solve to fill.
func (h *ThirdHarmonic) NewState() *State { return newState(h.sys) }

// Solve finds the third harmonic that goes with the given fundamental. It
// allocates nothing. Impedances are those the network was built with.
func (h *ThirdHarmonic) Solve(fundamental, st *State) error {
	if st.sys != h.sys || fundamental.sys.net != h.sys.net {
		return problem("state", "it belongs to another network: take it from NewState")
	}
	clear(st.x)
	n := h.sys.net
	for i := range n.loads {
		l := &n.loads[i]
		st.drawn[i] = 0
		if l.Third == 0 {
			continue
		}
		i1 := fundamental.LoadCurrent(LoadID(i))
		if size := cmplx.Abs(i1); size > 0 {
			unit := i1 / complex(size, 0)
			i3 := l.Third * complex(size, 0) * unit * unit * unit
			from, _ := n.find(l.From)
			to, _ := n.find(l.To)
			st.drawn[i] = i3
			st.x[h.sys.position[from]] -= i3
			st.x[h.sys.position[to]] += i3
		}
	}
	h.sys.f.solve(st.x)
	st.x[h.sys.f.n] = 0
	return nil
}
