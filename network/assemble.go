package network

import "slices"

// Where each admittance goes in the matrix. It is worked out once, so that a
// changed impedance only has to be added up again.

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
