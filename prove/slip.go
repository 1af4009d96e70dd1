package prove

// Readings that say nothing of the job: slips, and what is on no list.

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"chargewright/reading"
)

// How a reading goes wrong in a person's hands, as shares of all slips
// (engineering judgement): anything at all, or the right one with its point
// moved, its unit mistaken or two of its digits turned.
const anyShare, turnedShare = 0.45, 0.15

var movedBy = map[float64]float64{10: 0.13, 0.1: 0.13, 1000: 0.05, 0.001: 0.05, 1e6: 0.02, 1e-6: 0.02}

// outlook is what all the other readings make of one, in its scale.
type outlook struct{ mean, deviation float64 }

func normal(y, mean, deviation float64) float64 {
	z := (y - mean) / deviation
	return math.Exp(-0.5*z*z) / (deviation * math.Sqrt(2*math.Pi))
}

// slipped is the log of the chance density of a reading that is a slip.
func (b *bench) slipped(i int, o outlook) float64 {
	q, v := b.asked[i], b.values[i]
	p := anyShare * math.Exp(b.anything(i))
	if q.kind.Seen() || v.above || v.below {
		return math.Log(p)
	}
	y := q.kind.scale(v.amount)
	for by, share := range movedBy { // what it should have been, by times
		if math.Abs(q.kind.scale(v.amount*by)-y) < 3*o.deviation {
			continue
		}
		if q.kind.Compare != "number" {
			p += share * normal(q.kind.scale(v.amount*by), o.mean, o.deviation)
			continue
		}
		p += share * normal(y, o.mean/by, math.Hypot(o.deviation/by, q.acc.resolution))
	}
	for _, turned := range b.turned(i) {
		if to := q.kind.scale(turned); math.Abs(to-y) > 3*o.deviation {
			p += turnedShare * normal(to, o.mean, o.deviation)
		}
	}
	return math.Log(p)
}

// turned lists the amounts of a reading with two neighbouring digits exchanged.
func (b *bench) turned(i int) []float64 {
	text := b.readings[b.reading[i]].record.Value
	k := b.asked[i].kind
	var out []float64
	next := func(at int) int {
		for at++; at < len(text); at++ {
			switch c := text[at]; {
			case c >= '0' && c <= '9':
				return at
			case c != '.' && c != ',':
				return -1
			}
		}
		return -1
	}
	for at := range len(text) {
		if text[at] < '0' || text[at] > '9' {
			continue
		}
		to := next(at)
		if to < 0 || text[to] == text[at] {
			continue
		}
		other := []byte(text)
		other[at], other[to] = text[to], text[at]
		if v, err := k.Parse(string(other)); err == nil && v.Is == reading.Number {
			out = append(out, v.Amount)
		}
	}
	return out
}

// weighSlip: the reading says nothing of the job; all the others stand, in
// whichever state of the place.
func (b *bench) weighSlip(h *hypothesis) {
	i := h.parts[0].where.reading
	h.log = math.Inf(-1)
	for g := range b.fits {
		f := &b.fits[g]
		log := f.whole
		if k := b.slot[i]; k >= 0 {
			log += b.slipped(i, f.outlooks[k]) - f.alone[k]
		} else {
			log += b.slipped(i, outlook{}) - b.grounds[g].chances[-1-b.slot[i]]
		}
		h.pieces = append(h.pieces, piece{g, make([]size, 1), log})
		h.log = logSum(h.log, log)
	}
	h.log += h.prior
}

// andSlip is a cause at its best size, with one reading that says nothing.
func (b *bench) andSlip(h *hypothesis, p piece, fits, gained float64) {
	log := fits + b.grounds[p.ground].log + logOfShare(p) + gained
	h.pieces = []piece{{p.ground, append(slices.Clone(p.sizes), size{}), log}}
	h.log = log + h.prior
}

// off is the log of the chance that one piece of a hypothesis gives a reading
// off the end of a range.
func (b *bench) off(h *hypothesis, piece, i int) float64 {
	s, _ := applied(b.grounds[h.pieces[piece].ground].state, h.parts, h.pieces[piece].sizes)
	r, _ := s.row(b.asked[i])
	return logBeyond(b.asked[i], b.values[i], &r)
}

// anything is the log density of a reading that may be anything its instrument
// can show, spread evenly over the logarithm.
func (b *bench) anything(i int) float64 {
	q, v := b.asked[i], b.values[i]
	switch {
	case q.kind.Seen():
		return math.Log(0.5)
	case v.above || v.below:
		return math.Log(0.25)
	case q.kind.Class == "rcd time":
		return math.Log(1.0 / 3)
	case q.kind.Compare == "decades":
		return math.Log(1.0 / 6)
	case q.kind.Compare == "inverse":
		return math.Log(1 / (math.Ln10 * 3 * max(q.kind.scale(v.amount), 0.02)))
	case q.kind.Class == "low ohm" || q.kind.Class == "loop":
		return math.Log(1 / (math.Ln10 * 4 * max(math.Abs(v.amount), 0.05)))
	case q.kind.Class == "voltage":
		return math.Log(1.0 / 400)
	case q.kind.Class == "pilot":
		return math.Log(1.0 / 24)
	case q.kind.Class == "rcd current":
		return math.Log(1 / 0.05)
	}
	return math.Log(0.5 / q.acc.top)
}

// misplaced lists readings that may have been taken at another place, or
// written in each other's: only those that fit badly where they stand.
func (b *bench) misplaced() []where {
	const apart = 2.5
	if len(b.apart) == 0 {
		return nil
	}
	bad := func(k int) bool { return math.Abs(b.apart[k]) > apart && !b.asked[b.exact[k]].kind.Seen() }
	var out []where
	for k, i := range b.exact {
		if !bad(k) {
			continue
		}
		q := b.asked[i]
		for m := k + 1; m < len(b.exact); m++ {
			if o := b.asked[b.exact[m]]; bad(m) && o.kind.Class == q.kind.Class && (o.at == q.at || o.kind == q.kind) {
				out = append(out, where{name: q.at, reading: i, other: b.exact[m], about: q.kind.Name + " and " + o.kind.Name + " at " + o.at})
			}
		}
		for _, at := range b.otherPlaces(q) {
			instead := *q
			instead.at, instead.run, instead.board, instead.atSupply, instead.supported = at, nil, nil, false, false
			b.wiring.put(&instead)
			if len(instead.gap) > 0 {
				continue
			}
			if _, ok := b.sound.row(&instead); ok {
				out = append(out, where{name: q.at, reading: i, other: -1, instead: &instead, about: q.kind.Name + " at " + q.at})
			}
		}
	}
	return out
}

// otherPlaces lists where else a reading of a kind is taken.
func (b *bench) otherPlaces(q *question) []string {
	var out []string
	if q.kind.Place == "any" && q.run != nil {
		out = append(out, "supply")
		for r := q.run; r != nil; r = r.feed {
			if r.circuit.From != nil {
				out = append(out, r.circuit.From.Record.Name)
			}
		}
	}
	for _, r := range b.wiring.runs {
		if at := farEnd(r.circuit); len(r.gap) == 0 && at != q.at && q.run != nil && len(out) < 6 && !slices.Contains(out, at) {
			out = append(out, at)
		}
	}
	return out
}

// none weighs that what is the matter is on no list: some readings may then be
// anything, the others are as the sound job has them.
//
//	likelihood  ∏ over the readings of the greater of p(as the sound job) and ε p(anything)
func (b *bench) none() hypothesis {
	const rate, odd = 0.004, 0.25
	const most = 8
	h := hypothesis{none: true, prior: math.Log(rate), log: math.Inf(-1)}
	for _, g := range b.likely {
		if w := b.noneOn(g, odd, most); w.log > h.log {
			h.odd, h.pieces, h.log = w.odd, w.pieces, w.log
		}
	}
	h.log += h.prior
	return h
}

// noneOn does so in one state of the place.
func (b *bench) noneOn(ground int, odd float64, most int) hypothesis {
	h := hypothesis{log: math.Inf(-1)}
	p, ok := b.predictions(ground, nil, nil)
	if !ok {
		return h
	}
	log := b.grounds[ground].log
	left := 0
	for n, i := range b.beyond {
		was := b.grounds[ground].chances[n]
		if now := math.Log(odd) + b.anything(i); now > was {
			log += now - was
			left++
		}
	}
	on := &b.grounds[ground]
	f := b.fit(on, p)
	log += f.logLikelihood + p.chance
	var out []int
	for len(out) < most {
		deviations, alone := f.apart()
		best, gained := -1, 0.0
		for k, i := range b.exact {
			if slices.Contains(out, k) {
				continue
			}
			density := b.anything(i)
			for _, o := range out { // taken twice, it is the same thing twice
				if q, w := b.asked[b.exact[o]], b.asked[i]; q.kind == w.kind && q.at == w.at {
					density = max(density, math.Log(normal(b.joint.y[k], b.joint.y[o], 2*f.row(k).noise)))
				}
			}
			if gain := math.Log(odd) + density - alone[k]; gain > gained && math.Abs(deviations[k]) > 2 {
				best, gained = k, gain
			}
		}
		if best < 0 {
			break
		}
		log += gained
		out = append(out, best)
		r := p.of(on, best)
		r.noise = aside
		p.put(best, r)
		f = b.fit(on, p)
	}
	if len(out)+left == 0 {
		return h
	}
	for _, k := range out {
		h.odd = append(h.odd, b.exact[k])
	}
	h.pieces = []piece{{ground, nil, log}}
	h.log = log
	return h
}

// oddWords names the readings that nothing on the list explains.
func (b *bench) oddWords(h *hypothesis) string {
	var out []string
	for _, i := range h.odd {
		out = append(out, b.asked[i].kind.Name+" at "+b.asked[i].at)
	}
	slices.SortStableFunc(out, cmp.Compare[string])
	return strings.Join(slices.Compact(out), ", ")
}
