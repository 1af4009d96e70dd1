package prove

// Two causes at once.

import (
	"math"
	"slices"
	"sort"
)

// pairs weighs two causes at once: each of the likeliest single ones with every
// other that alters a reading it leaves unexplained.
func (b *bench) pairs(singles []hypothesis) []hypothesis {
	const most, unexplained = 3, 2.5
	var firsts []*hypothesis
	for i := range singles {
		if h := &singles[i]; len(h.parts) == 1 && h.parts[0].where.about == "" {
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
		outlooks := b.outlooks(f)
		left := map[int]bool{}
		for k := range off {
			r := f.row(k)
			if math.Abs(off[k]) > unexplained || math.Abs(b.joint.y[k]-r.mean) > unexplained*r.deviation() { // two that are off alike seem right to each other
				left[k] = true
			}
		}
		for i := range singles {
			if b.model.Left() != nil {
				return nil // and Explain says so
			}
			c := &singles[i]
			if len(c.parts) == 0 || c == a || done[[2]int{index(singles, a), i}] {
				continue
			}
			h := hypothesis{parts: []supposed{a.parts[0], c.parts[0]}, prior: a.prior + c.prior}
			switch {
			case c.parts[0].cause.key == "slip":
				i := c.parts[0].where.reading
				k := b.slot[i]
				if k >= 0 && !left[k] { // it fits as it is
					continue
				}
				var o outlook
				var was float64
				if k >= 0 {
					o, was = outlooks[k], alone[k]
				} else {
					was = b.off(a, best, i)
				}
				b.andSlip(&h, a.pieces[best], f.logLikelihood+chance, b.slipped(i, o)-was)
			case slices.ContainsFunc(c.moved, func(k int) bool { return left[k] }), chance < -3 && c.beyond > b.soundChance+2:
				b.weighOver(&h, []int{a.pieces[best].ground}, joinSizes(a, c))
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
func logOfShare(p piece) float64 {
	share := 1.0
	for _, z := range p.sizes {
		share *= z.share
	}
	return math.Log(share)
}
