package prove

// Two causes at once, and readings that say nothing of the job.

import (
	"math"
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
	case q.kind.log:
		return math.Log(1.0 / 6)
	case q.kind.class == "low ohm" || q.kind.class == "loop":
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

// pairs weighs two causes at once, of those that each explain something.
func (b *bench) pairs(singles []hypothesis, soundLog float64) []hypothesis {
	const most, worth = 9, 2.0
	var useful []*hypothesis
	for i := range singles {
		if h := &singles[i]; len(h.parts) == 1 && h.log-h.prior > soundLog+worth {
			useful = append(useful, h)
		}
	}
	sort.SliceStable(useful, func(i, j int) bool { return useful[i].log > useful[j].log })
	useful = useful[:min(most, len(useful))]
	var out []hypothesis
	for i, a := range useful {
		for _, c := range useful[i+1:] {
			if a.parts[0].cause.key == "slip" {
				a, c = c, a
			}
			if a.parts[0].cause.key == "slip" {
				continue
			}
			h := hypothesis{parts: []supposed{a.parts[0], c.parts[0]}, prior: a.prior + c.prior}
			if c.parts[0].cause.key == "slip" {
				best := a.best()
				f, chance := b.fitOf(a, best)
				_, alone := f.apart()
				b.weighSlip(&h, f.logLikelihood+chance, alone)
				h.log += logOfShare(a, best)
				if len(h.pieces) > 0 {
					h.pieces[0].sizes = append(append([]size(nil), a.pieces[best].sizes...), size{})
				}
			} else {
				b.weigh(&h)
			}
			if !math.IsInf(h.log, -1) {
				out = append(out, h)
			}
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
