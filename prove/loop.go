package prove

// The resistance between two places of the return network.

import (
	"math"
	"slices"
)

// weight is one stretch and what it counts for in a reading: the square of the
// share of the meter's current that it carries.
type weight struct {
	stretch int
	share   float64
}

const (
	openOhms  = 1e7  // stands for an open circuit
	leastOhms = 1e-7 // stands for a perfect join in a loop
)

// tie is a stretch of the return network, or a path that should not be there,
// between two nodes.
type tie struct {
	a, b node
	id   int // of the stretches, then of the links
}

// net is how the return network hangs together: blocks, in each of which
// currents can divide, joined to each other at single nodes. Most are one
// stretch. A current between two nodes passes each block on the way whole, so
// that blocks add up.
type net struct {
	ties  []tie
	of    [][]int32  // ties of each block
	alone [][]weight // of each block that is one tie: what that counts for
	top   []node     // of each block: its node nearest the star
	depth []int32    // of each block
	block []int32    // of each node: that towards the star; −1 without one
	root  []node     // of each node: the star, or where its island begins
}

// netOf finds the blocks (Hopcroft and Tarjan 1973).
func netOf(nodes int, ties []tie) *net {
	n := &net{ties: ties, block: make([]int32, nodes), root: make([]node, nodes)}
	at := make([][]int32, nodes)
	for i, t := range ties {
		if t.a != t.b {
			at[t.a], at[t.b] = append(at[t.a], int32(i)), append(at[t.b], int32(i))
		}
	}
	order, low := make([]int32, nodes), make([]int32, nodes)
	var met int32
	var open []int32
	var visit func(v, root node, by int32)
	visit = func(v, root node, by int32) {
		met++
		order[v], low[v], n.root[v] = met, met, root
		for _, i := range at[v] {
			o := ties[i].a + ties[i].b - v
			switch {
			case i == by:
			case order[o] == 0:
				open = append(open, i)
				visit(o, root, i)
				low[v] = min(low[v], low[o])
				if low[o] >= order[v] {
					from := slices.Index(open, i)
					for _, k := range open[from:] {
						for _, end := range []node{ties[k].a, ties[k].b} {
							if end != v {
								n.block[end] = int32(len(n.of))
							}
						}
					}
					var alone []weight
					if len(open[from:]) == 1 {
						alone = []weight{{ties[i].id, 1}}
					}
					n.of, n.top, n.alone = append(n.of, slices.Clone(open[from:])), append(n.top, v), append(n.alone, alone)
					open = open[:from]
				}
			case order[o] < order[v]:
				open = append(open, i)
				low[v] = min(low[v], order[o])
			}
		}
	}
	for v := range n.block {
		n.block[v] = -1
	}
	for v := range order { // the star is the first node laid
		if order[v] == 0 {
			visit(node(v), node(v), -1)
		}
	}
	n.depth = make([]int32, len(n.of))
	for k := len(n.of) - 1; k >= 0; k-- { // what lies nearer the star was closed later
		n.depth[k] = 1
		if up := n.block[n.top[k]]; up >= 0 {
			n.depth[k] = n.depth[up] + 1
		}
	}
	return n
}

func (n *net) deep(v node) int32 {
	if b := n.block[v]; b >= 0 {
		return n.depth[b]
	}
	return 0
}

// passage is one block entered at one node and left at another.
type passage struct {
	block    int32
	from, to node
}

// passed is what a passage is worth.
type passed struct {
	ohms    float64
	weights []weight
}

// between returns the resistance between two nodes of the return network, and
// what each stretch counts for in it:
//
//	formula  R = Σ i² r, with i the current in each stretch for 1 A put through
//
// A stretch off is left out. Unconnected nodes are an open circuit.
func (s *state) between(a, b node, off ...int) (float64, []weight) {
	n := s.net()
	return s.along(n, a, b, func(p passage) (float64, []weight) { return s.across(n, p, off) })
}

// along adds up the blocks on the way from one node to another.
func (s *state) along(n *net, a, b node, across func(passage) (float64, []weight)) (float64, []weight) {
	if n.root[a] != n.root[b] {
		return openOhms, nil
	}
	var total float64
	var there, back []weight
	for a != b {
		into, p := &there, passage{n.block[a], a, b}
		switch {
		case n.block[a] == n.block[b]:
			a = b
		case n.deep(a) >= n.deep(b):
			a = n.top[n.block[a]]
			p.to = a
		default:
			into, p = &back, passage{n.block[b], n.top[n.block[b]], b}
			b = p.from
		}
		ohms, weights := across(p)
		if weights == nil {
			return openOhms, nil
		}
		total += ohms
		*into = append(*into, weights...)
	}
	return total, append(there, back...)
}

// across is the resistance through a block, worked out once for each way in and
// out.
func (s *state) across(n *net, p passage, off []int) (float64, []weight) {
	ties := n.of[p.block]
	out := func(k int32) bool { return slices.Contains(off, n.ties[k].id) }
	switch {
	case len(ties) == 1 && out(ties[0]):
		return openOhms, nil
	case len(ties) == 1:
		return s.through(n, p)
	case !slices.ContainsFunc(ties, out):
		known, is := s.passages[p]
		if is {
			return known.ohms, known.weights
		}
		known.ohms, known.weights = s.through(n, p)
		if s.passages == nil {
			s.passages = map[passage]passed{}
		}
		s.passages[p] = known
		return known.ohms, known.weights
	}
	var left []tie // what is left of the block hangs together in its own way
	for _, k := range ties {
		if !out(k) {
			left = append(left, n.ties[k])
		}
	}
	rest := netOf(s.wiring.nodes, left)
	return s.along(rest, p.from, p.to, func(p passage) (float64, []weight) { return s.through(rest, p) })
}

// through is the resistance through a whole block.
func (s *state) through(n *net, p passage) (float64, []weight) {
	ties := n.of[p.block]
	if alone := n.alone[p.block]; alone != nil {
		return s.ohmsOf(alone[0].stretch), alone
	}
	index := map[node]int{p.to: 0} // the reference
	for _, k := range ties {
		for _, end := range []node{n.ties[k].a, n.ties[k].b} {
			if _, known := index[end]; !known {
				index[end] = len(index)
			}
		}
	}
	size := len(index)
	y := make([]float64, size*size)
	for _, k := range ties {
		t := n.ties[k]
		a, b := index[t.a], index[t.b]
		y[a*size+b] += 1 / max(s.ohmsOf(t.id), leastOhms)
		y[b*size+a] = y[a*size+b]
	}
	v := make([]float64, size)
	v[index[p.from]] = 1
	solveStars(y, v, size)
	var out []weight
	for _, k := range ties {
		t := n.ties[k]
		current := (v[index[t.a]] - v[index[t.b]]) / max(s.ohmsOf(t.id), leastOhms)
		if math.Abs(current) > 1e-9 {
			out = append(out, weight{t.id, current * current})
		}
	}
	return v[index[p.from]], out
}

// solveStars returns in v the potentials that the currents in v, put in at each
// node and taken out at the first, make. Nodes are taken away one by one, each
// star of conductances giving way to the mesh that does the same. Nothing is
// subtracted, so that a broken conductor beside a good joint costs no digits.
//
//	formula  Yij += Yik Ykj / ΣYk
//	y        conductances between nodes, symmetric; the diagonal is not used
func solveStars(y, v []float64, n int) {
	for k := n - 1; k > 0; k-- {
		row := y[k*n : k*n+k]
		sum := 0.0
		for _, c := range row {
			sum += c
		}
		for i := 1; i < k; i++ {
			if row[i] == 0 {
				continue
			}
			f := row[i] / sum
			for j, c := range row {
				if j != i {
					y[i*n+j] += f * c
				}
			}
			v[i] += f * v[k]
		}
		v[k] /= sum
		for j := range row {
			row[j] /= sum
		}
	}
	v[0] = 0
	for k := 1; k < n; k++ {
		for j, share := range y[k*n : k*n+k] {
			v[k] += share * v[j]
		}
	}
}
