package network

import (
	"errors"
	"fmt"
	"slices"
)

// Before anything is solved: which terminals are one, which hang together, and
// which hang on nothing. A conductor with no way back to a source and to true
// earth has no voltage that could be computed, and is named instead.

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
					return nil, problem(e.name, "it has no impedance and joins %s and %s, between which there is a source: give it its impedance",
						n.Describe(n.terminals[a]), n.Describe(n.terminals[b]))
				}
				s.joins = append(s.joins, join{int32(i), int32(k), news})
			default:
				s.live[i] |= 1 << k
			}
		}
	}
	return p, nil
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
