package prove

// The resistance between two places of the return network.

import "math"

// weight is one stretch and what it counts for in a reading: the square of the
// share of the meter's current that it carries.
type weight struct {
	stretch int
	share   float64
}

// room is memory that between uses again.
type room struct {
	degree []int32
	alive  []bool
	queue  []int32
	touch  [][]int32
}

const (
	openOhms  = 1e7  // stands for an open circuit
	leastOhms = 1e-7 // stands for a perfect join in a loop
)

// between returns the resistance between two nodes of the return network, and
// what each stretch counts for in it:
//
//	formula  R = Σ i² r, with i the current in each stretch for 1 A put through
//
// A stretch off is left out. Unconnected nodes are an open circuit.
func (s *state) between(a, b node, off ...int) (float64, []weight) {
	if a == b {
		return 0, nil
	}
	w := s.wiring
	sc := &w.room
	n := w.nodes
	all := s.returns()
	if cap(sc.degree) < n || cap(sc.alive) < len(all) {
		sc.degree, sc.queue = make([]int32, n+8), make([]int32, 0, n+8)
		sc.alive = make([]bool, len(all)+8)
		sc.touch = make([][]int32, n+8)
	}
	degree, alive := sc.degree[:n], sc.alive[:len(all)]
	for i := range degree {
		degree[i] = 0
		sc.touch[i] = sc.touch[i][:0]
	}
	for i, e := range all {
		alive[i] = true
		for _, o := range off {
			alive[i] = alive[i] && e.id != o
		}
		if e.a == e.b {
			alive[i] = false
		}
		if alive[i] {
			degree[e.a]++
			degree[e.b]++
			sc.touch[e.a] = append(sc.touch[e.a], int32(i))
			sc.touch[e.b] = append(sc.touch[e.b], int32(i))
		}
	}
	// Prune what leads nowhere.
	queue := sc.queue[:0]
	for i := range degree {
		if degree[i] == 1 && node(i) != a && node(i) != b {
			queue = append(queue, int32(i))
		}
	}
	for len(queue) > 0 {
		v := queue[len(queue)-1]
		queue = queue[:len(queue)-1]
		for _, i := range sc.touch[v] {
			if !alive[i] {
				continue
			}
			alive[i] = false
			other := all[i].a
			if int32(other) == v {
				other = all[i].b
			}
			degree[v]--
			degree[other]--
			if degree[other] == 1 && other != a && other != b {
				queue = append(queue, int32(other))
			}
		}
	}
	// A plain chain from a to b needs no equations.
	var chain []weight
	total, at, last := 0.0, a, int32(-1)
	for at != b {
		next := int32(-1)
		count := 0
		for _, i := range sc.touch[at] {
			if alive[i] && i != last {
				next = i
				count++
			}
		}
		if count == 0 {
			return openOhms, nil
		}
		if count > 1 || len(chain) > n {
			return s.meshed(a, b, all, alive)
		}
		e := all[next]
		total += e.ohms
		chain = append(chain, weight{e.id, 1})
		at, last = e.a+e.b-at, next
	}
	if degree[b] > 1 {
		return s.meshed(a, b, all, alive)
	}
	return total, chain
}

// meshed solves the nodal equations of the stretches that are alive, b being
// the reference. The stretches alive may include parts a cannot reach; those
// carry no current.
func (s *state) meshed(a, b node, all []laid, alive []bool) (float64, []weight) {
	index := map[node]int{b: 0}
	reach := []node{b}
	for len(reach) > 0 { // number what b reaches
		v := reach[len(reach)-1]
		reach = reach[:len(reach)-1]
		for _, i := range s.wiring.room.touch[v] {
			if !alive[i] {
				continue
			}
			o := all[i].a + all[i].b - v
			if _, seen := index[o]; !seen {
				index[o] = len(index)
				reach = append(reach, o)
			}
		}
	}
	if _, joined := index[a]; !joined {
		return openOhms, nil
	}
	n := len(index)
	y := make([]float64, n*n)
	for i, e := range all {
		if p, ok := index[e.a]; alive[i] && ok {
			q := index[e.b]
			y[p*n+q] += 1 / max(e.ohms, leastOhms)
			y[q*n+p] = y[p*n+q]
		}
	}
	v := make([]float64, n)
	v[index[a]] = 1
	solveStars(y, v, n)
	level := func(x node) float64 { return v[index[x]] }
	var out []weight
	total := level(a)
	for i, e := range all {
		if _, ok := index[e.a]; !alive[i] || !ok {
			continue
		}
		current := (level(e.a) - level(e.b)) / max(e.ohms, leastOhms)
		if math.Abs(current) > 1e-9 {
			out = append(out, weight{e.id, current * current})
		}
	}
	return total, out
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
