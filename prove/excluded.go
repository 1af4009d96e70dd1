package prove

// What was excluded, and by which reading.

import (
	"cmp"
	"math"
	"slices"
)

// Exclusion is a cause that one reading has taken off the list: it would stand
// there without it.
type Exclusion struct {
	Cause, Danger string
	Reading, At   string // by which
	Taken         string
	Was           float64 // chance it would have without that reading
}

// excluded lists the causes that a reading excludes, dangers first. What all the
// others say of a reading comes from the inverse that is there already:
//
//	formula  P(h without r) ∝ P(h) × Σ over sizes p(size | all) / p(r | all others, h, size)
//
// In a long record only the last reading is asked: it is the answer just given.
func (b *bench) excluded(all []hypothesis) []Exclusion {
	const long, listed, gone, likely, most = 40, 0.03, 0.005, 0.01, 8
	of := make([]bool, len(b.asked))
	for i := range of {
		of[i] = len(of) <= long || i == len(of)-1
	}
	without := make([]map[int]float64, len(all)) // log of each hypothesis without each reading
	total := make([]float64, len(b.asked))
	for i := range total {
		total[i] = math.Inf(-1)
	}
	for n := range all {
		h := &all[n]
		ofReading := slices.ContainsFunc(h.parts, func(p supposed) bool { return p.where.about != "" })
		if h.chance <= likely && (len(h.parts) > 1 || ofReading) || len(h.parts) == 1 && h.parts[0].cause.key == "dry electrode" && b.soil > 0 {
			continue
		}
		without[n] = b.without(h, of)
		for i, log := range without[n] {
			total[i] = logSum(total[i], log)
		}
	}
	var out []Exclusion
	for n := range all {
		h := &all[n]
		if h.chance >= gone || len(h.parts) != 1 || h.parts[0].where.about != "" {
			continue
		}
		by, was := -1, listed
		for i, log := range without[n] {
			if p := math.Exp(log - total[i]); p > was || p == was && i > by {
				by, was = i, p
			}
		}
		if by < 0 {
			continue
		}
		r := b.readings[b.reading[by]].record
		words := (&group{members: []*hypothesis{h}}).words()
		if !slices.ContainsFunc(out, func(e Exclusion) bool { return e.Cause == words }) {
			out = append(out, Exclusion{words, h.parts[0].cause.danger, b.asked[by].kind.Name, r.At, r.Value, was})
		}
	}
	slices.SortStableFunc(out, func(x, y Exclusion) int {
		if (x.Danger == "") != (y.Danger == "") {
			return map[bool]int{true: 1, false: -1}[x.Danger == ""]
		}
		return cmp.Compare(y.Was, x.Was)
	})
	return out[:min(most, len(out))]
}

// without is the log of a hypothesis with each reading left out, in its likeliest
// state of the place. What it does not speak of weighs alike at all its sizes.
func (b *bench) without(h *hypothesis, of []bool) map[int]float64 {
	best := h.best()
	ground := h.pieces[best].ground
	g := &b.grounds[ground]
	all, out := math.Inf(-1), map[int]float64{}
	for n := range h.pieces {
		if h.pieces[n].ground == ground {
			all = logSum(all, h.pieces[n].log)
		}
	}
	for n := range h.pieces {
		p := &h.pieces[n]
		if p.ground != ground {
			continue
		}
		s, ok := applied(g.state, h.parts, p.sizes)
		if !ok {
			continue
		}
		f, _ := b.fitOf(h, n)
		touched := b.touchedBy(s)
		alone := func(i int) float64 {
			k := b.slot[i]
			switch {
			case k >= 0:
				return f.alone(k)
			case slices.Contains(touched, i):
				r, _ := s.row(b.asked[i])
				return logBeyond(b.asked[i], b.values[i], &r)
			}
			return g.chances[-1-k]
		}
		for i := range of {
			switch {
			case !of[i]:
			case slices.Contains(touched, i):
				was, known := out[i]
				if !known {
					was = math.Inf(-1)
				}
				out[i] = logSum(was, p.log-alone(i))
			case n == best:
				out[i] = all - alone(i)
			}
		}
	}
	for i := range out {
		out[i] += h.log - all
	}
	return out
}
