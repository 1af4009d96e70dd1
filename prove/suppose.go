package prove

import (
	"math"
	"sort"
)

// supposed is a cause at a place.
type supposed struct {
	cause *cause
	where where
}

// hypothesis is what may be the matter: nothing, one cause, or two.
type hypothesis struct {
	parts  []supposed
	prior  float64 // log odds against nothing being the matter
	pieces []piece
	moved  []int   // readings it alters, at some size
	beyond float64 // log of the best chance it gives readings off the end of a range
	log    float64 // log of prior × likelihood
	chance float64 // posterior probability
}

// piece is a hypothesis with its sizes each within one narrow range.
type piece struct {
	sizes []size
	log   float64 // log of prior share × likelihood
}

// sizeUnknown numbers the unknown that the size of the nth cause is.
func (b *bench) sizeUnknown(n int) int { return b.firstSize + n }

// state makes the wiring of a hypothesis at given sizes.
func (b *bench) state(parts []supposed, sizes []size) (*state, bool) {
	s := b.sound.clone()
	for i, p := range parts {
		if !p.cause.change(s, p.where, sizes[i].x) {
			return nil, false
		}
	}
	return s, true
}

// predictions is what a hypothesis makes of the readings.
type predictions struct {
	rows   []row
	moved  []int
	chance float64 // log, of the readings off the end of a range
}

// predictions makes the rows of a hypothesis, the sizes being unknowns of
// their own: the readings are straight lines over each narrow range.
func (b *bench) predictions(parts []supposed, sizes []size) (predictions, bool) {
	s, ok := b.state(parts, sizes)
	if !ok {
		return predictions{}, false
	}
	var p predictions
	p.rows, p.moved, p.chance = b.rows(s)
	for n, z := range sizes {
		if z.deviation == 0 {
			continue
		}
		high, ok1 := b.state(parts, shifted(sizes, n, 1))
		low, ok2 := b.state(parts, shifted(sizes, n, -1))
		if !ok1 || !ok2 {
			return predictions{}, false
		}
		for _, k := range p.moved {
			h, _ := high.row(b.asked[b.exact[k]])
			l, _ := low.row(b.asked[b.exact[k]])
			p.rows[k].give(b.sizeUnknown(n), (h.mean-l.mean)/2)
		}
	}
	return p, true
}

// give adds a sensitivity; the slices are not shared with other rows.
func (r *row) give(unknown int, by float64) {
	if by != 0 {
		r.unknown = append(r.unknown[:len(r.unknown):len(r.unknown)], int32(unknown))
		r.by = append(r.by[:len(r.by):len(r.by)], by)
	}
}

func shifted(sizes []size, n int, by float64) []size {
	out := append([]size(nil), sizes...)
	out[n].x += by * out[n].deviation
	return out
}

// weigh works out the likelihood of a hypothesis over all its sizes.
func (b *bench) weigh(h *hypothesis) {
	b.weighOver(h, combine(h.parts))
}

// weighOver does so over the sizes given.
func (b *bench) weighOver(h *hypothesis, choices [][]size) {
	h.log, h.beyond = math.Inf(-1), math.Inf(-1)
	for _, sizes := range choices {
		p, ok := b.predictions(h.parts, sizes)
		if !ok {
			continue
		}
		share := 1.0
		for _, z := range sizes {
			share *= z.share
		}
		log := b.joint.fitInto(&b.joint.spare, p.rows, p.moved).logLikelihood + p.chance + math.Log(share)
		h.pieces = append(h.pieces, piece{sizes, log})
		h.log = logSum(h.log, log)
		h.moved = dedup(append(h.moved, p.moved...))
		h.beyond = max(h.beyond, p.chance)
	}
	h.log += h.prior
}

// combine lists every choice of one range for each cause.
func combine(parts []supposed) [][]size {
	out := [][]size{nil}
	for _, p := range parts {
		var next [][]size
		for _, o := range out {
			for _, z := range p.cause.sizes() {
				next = append(next, append(o[:len(o):len(o)], z))
			}
		}
		out = next
	}
	return out
}

func logSum(a, b float64) float64 {
	if a < b {
		a, b = b, a
	}
	if math.IsInf(b, -1) {
		return a
	}
	return a + math.Log1p(math.Exp(b-a))
}

// odds is the log of the odds of a cause at a place.
func (b *bench) odds(c *cause, at where) float64 {
	rate := c.rate
	if c.key == "leads" && b.nulledAll(at.instrument) {
		rate *= 0.15 // it is written that they were nulled
	}
	return math.Log(rate / (1 - rate))
}

// suppose weighs nothing the matter, every cause at every place, and, where
// one cause leaves much unexplained, pairs of them.
//
//	posterior  P(h | readings) ∝ P(h) × ∫ p(readings | h, size) p(size) dsize
func (b *bench) suppose() []hypothesis {
	sound := hypothesis{}
	f := b.joint.fit(b.soundRows, nil)
	soundLog := f.logLikelihood + b.soundChance
	sound.log, b.soundLog = soundLog, soundLog
	sound.pieces = []piece{{nil, soundLog}}
	all := []hypothesis{sound}
	_, alone := f.apart()
	for _, c := range b.priors.causes {
		for _, at := range b.placesOf(c) {
			h := hypothesis{parts: []supposed{{c, at}}, prior: b.odds(c, at)}
			if c.key == "slip" {
				b.weighSlip(&h, soundLog, alone)
			} else {
				b.weigh(&h)
			}
			if !math.IsInf(h.log, -1) {
				all = append(all, h)
			}
		}
	}
	if b.wantsPairs(all) {
		all = append(all, b.pairs(all)...)
	}
	total := math.Inf(-1)
	for _, h := range all {
		total = logSum(total, h.log)
	}
	for i := range all {
		all[i].chance = math.Exp(all[i].log - total)
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].chance > all[j].chance })
	return all
}

// best returns the index of the likeliest piece.
func (h *hypothesis) best() int {
	best := 0
	for i := range h.pieces {
		if h.pieces[i].log > h.pieces[best].log {
			best = i
		}
	}
	return best
}

// fitOf solves the readings under one piece of a hypothesis. A slip leaves its
// reading out: its own noise is made to cover anything.
func (b *bench) fitOf(h *hypothesis, piece int) (*fit, float64) {
	parts, sizes := h.parts, h.pieces[piece].sizes
	slip := -1
	if n := len(parts); n > 0 && parts[n-1].cause.key == "slip" {
		slip = parts[n-1].where.reading
		parts, sizes = parts[:n-1], sizes[:n-1]
	}
	p, _ := b.predictions(parts, sizes)
	if slip >= 0 {
		for k, i := range b.exact {
			if i == slip {
				p.rows[k].noise = 1e6
				p.moved = append(p.moved, k)
			}
		}
	}
	return b.joint.fit(p.rows, dedup(p.moved)), p.chance
}

func dedup(at []int) []int {
	seen := map[int]bool{}
	out := at[:0:0]
	for _, i := range at {
		if !seen[i] {
			seen[i] = true
			out = append(out, i)
		}
	}
	return out
}
