package prove

// Two causes at once, and readings that say nothing of the job.

import (
	"math"
	"slices"
	"sort"
)

// weighSlip: the reading says nothing of the job; all the others stand.
func (b *bench) weighSlip(h *hypothesis, rest float64, alone []float64) {
	i := h.parts[len(h.parts)-1].where.reading
	for k, e := range b.exact {
		if e == i {
			h.pieces = []piece{{make([]size, len(h.parts)), rest - alone[k] + b.anything(i)}}
			h.log = h.pieces[0].log + h.prior
			return
		}
	}
	h.log = math.Inf(-1)
}

// anything is the log density of a reading that may be anything its instrument
// can show, spread evenly over the logarithm.
func (b *bench) anything(i int) float64 {
	q, v := b.asked[i], b.values[i]
	switch {
	case q.kind.Compare == "decades":
		return math.Log(1.0 / 6)
	case q.kind.Class == "low ohm" || q.kind.Class == "loop":
		return math.Log(1 / (math.Ln10 * 4 * max(v.amount, 0.02)))
	}
	return math.Log(0.5 / q.acc.top)
}

// wantsPairs reports whether what best explains the readings still leaves more
// than chance would.
func (b *bench) wantsPairs(all []hypothesis) bool {
	best := 0
	for i := range all {
		if all[i].log > all[best].log {
			best = i
		}
	}
	n := float64(len(b.exact))
	return b.misfit(&all[best]) > n+1.5*math.Sqrt(2*n)
}

// misfit is the sum of squares of what a hypothesis leaves unexplained, at its
// best sizes.
func (b *bench) misfit(h *hypothesis) float64 {
	f, chance := b.fitOf(h, h.best())
	return f.quad() - 2*chance
}

// pairs weighs two causes at once: each of the likeliest single ones with every
// other that alters a reading it leaves unexplained.
func (b *bench) pairs(singles []hypothesis) []hypothesis {
	const most, unexplained = 3, 2.5
	var firsts []*hypothesis
	for i := range singles {
		if h := &singles[i]; len(h.parts) == 1 && h.parts[0].cause.key != "slip" {
			firsts = append(firsts, h)
		}
	}
	sort.SliceStable(firsts, func(i, j int) bool { return firsts[i].log > firsts[j].log })
	firsts = firsts[:min(most, len(firsts))]
	var out []hypothesis
	done := map[[2]int]bool{}
	for _, a := range firsts {
		best := a.best()
		f, chance := b.fitOf(a, best)
		off, alone := f.apart()
		left := map[int]bool{}
		for k := range off {
			if math.Abs(off[k]) > unexplained {
				left[k] = true
			}
		}
		for i := range singles {
			c := &singles[i]
			if len(c.parts) == 0 || c == a || done[[2]int{index(singles, a), i}] {
				continue
			}
			h := hypothesis{parts: []supposed{a.parts[0], c.parts[0]}, prior: a.prior + c.prior}
			switch {
			case c.parts[0].cause.key == "slip":
				b.weighSlip(&h, f.logLikelihood+chance, alone)
				h.log += logOfShare(a, best)
				if len(h.pieces) > 0 {
					h.pieces[0].sizes = append(slices.Clone(a.pieces[best].sizes), size{})
				}
			case slices.ContainsFunc(c.moved, func(k int) bool { return left[k] }), chance < -3 && c.beyond > b.soundChance+2:
				b.weighOver(&h, joinSizes(a, c))
			default:
				continue
			}
			done[[2]int{i, index(singles, a)}] = true
			if !math.IsInf(h.log, -1) {
				out = append(out, h)
			}
		}
	}
	return out
}

func index(singles []hypothesis, h *hypothesis) int {
	for i := range singles {
		if &singles[i] == h {
			return i
		}
	}
	return -1
}

// joinSizes pairs the likelier sizes of the first cause with every size of the
// second.
func joinSizes(a, c *hypothesis) [][]size {
	const far = 6.0 // in logs of likelihood from the best
	best := a.pieces[a.best()].log
	var out [][]size
	for _, p := range a.pieces {
		if p.log < best-far {
			continue
		}
		for _, z := range c.parts[0].cause.sizes() {
			out = append(out, append(slices.Clone(p.sizes), z))
		}
	}
	return out
}

// logOfShare is the log of the prior share of one piece.
func logOfShare(h *hypothesis, piece int) float64 {
	share := 1.0
	for _, z := range h.pieces[piece].sizes {
		share *= z.share
	}
	return math.Log(share)
}
