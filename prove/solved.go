package prove

import (
	"cmp"
	"math"
	"slices"
)

// solved is a piece of a hypothesis with its fit, ready to predict from.
type solved struct {
	group  int
	weight float64
	grave  bool // nothing is energised under it
	state  *state
	sides  [][2]*state // one deviation of each size above and below; nil where it has none
	fit    *fit
}

// solved fits one piece of a hypothesis.
func (b *bench) solved(h *hypothesis, piece int) *solved {
	parts, sizes := h.parts, h.pieces[piece].sizes
	if n := len(parts); n > 0 && parts[n-1].cause.key == "slip" {
		parts, sizes = parts[:n-1], sizes[:n-1]
	}
	out := &solved{}
	out.fit, _ = b.fitOf(h, piece)
	g := &b.grounds[h.pieces[piece].ground]
	out.state, _ = b.state(slices.Concat(g.parts, parts), slices.Concat(g.sizes, sizes))
	out.sides = make([][2]*state, mostParts)
	for n, z := range sizes {
		if z.deviation == 0 {
			continue
		}
		high, ok1 := applied(g.state, parts, shifted(sizes, n, 1))
		low, ok2 := applied(g.state, parts, shifted(sizes, n, -1))
		if ok1 && ok2 {
			out.sides[n] = [2]*state{high, low}
		}
	}
	for n, side := range g.sides {
		if side[0] == nil {
			continue
		}
		high, ok1 := applied(side[0], parts, sizes)
		low, ok2 := applied(side[1], parts, sizes)
		if ok1 && ok2 {
			out.sides[mostCauses+n] = [2]*state{high, low}
		}
	}
	return out
}

// solve fits the likeliest pieces of each hypothesis of each group.
func (b *bench) solve(groups []group) []*solved {
	const pieces = 3
	var out []*solved
	for g := range groups {
		for _, h := range groups[g].members {
			order := make([]int, len(h.pieces))
			for i := range order {
				order[i] = i
			}
			slices.SortStableFunc(order, func(i, j int) int { return cmp.Compare(h.pieces[j].log, h.pieces[i].log) })
			order = order[:min(pieces, len(order))]
			total := math.Inf(-1)
			for _, i := range order {
				total = logSum(total, h.pieces[i].log)
			}
			for _, i := range order {
				w := h.chance * math.Exp(h.pieces[i].log-total)
				if w < 1e-3 {
					continue
				}
				s := b.solved(h, i)
				s.group, s.weight, s.grave = g, w, h.grave()
				out = append(out, s)
			}
		}
	}
	return out
}

// expect predicts a measurement under a solved piece.
func (b *bench) expect(s *solved, q *question) (mean, deviation float64, ok bool) {
	r, ok := s.state.row(q)
	if !ok {
		return 0, 0, false
	}
	for n, side := range s.sides {
		if side[0] == nil || s.state.untouched(q, b.supportOf(q)) {
			continue
		}
		r.give(b.sizeUnknown(n), (side[0].mean(q)-side[1].mean(q))/2)
	}
	mean, deviation = s.fit.predict(&r)
	top := q.kind.scale(q.acc.top)
	if q.acc.top > 0 && mean > top { // off the end of the range
		mean, deviation = top, max(0.02*top, 0.01)
	}
	return mean, deviation, true
}
