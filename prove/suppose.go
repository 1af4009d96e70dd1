package prove

import (
	"cmp"
	"math"
	"slices"
	"sort"

	"chargewright/finding"
)

// supposed is a cause at a place.
type supposed struct {
	cause *cause
	where where
}

// hypothesis is what may be the matter: nothing, one cause, two, or something
// that is on no list.
type hypothesis struct {
	parts  []supposed
	none   bool    // it is on no list
	odd    []int   // then: the readings that nothing on it explains
	prior  float64 // log odds against nothing being the matter
	pieces []piece
	moved  []int   // readings it alters, at some size
	beyond float64 // log of the best chance it gives readings off the end of a range
	log    float64 // log of prior × likelihood
	chance float64 // posterior probability
}

// piece is a hypothesis with its sizes each within one narrow range, in one
// state of the place.
type piece struct {
	ground int
	sizes  []size
	log    float64 // log of prior share × likelihood
}

// ground is a state that a sound place may be in, such as a weak supply: no
// fault, and any fault may come on top.
type ground struct {
	parts   []supposed
	sizes   []size
	log     float64 // of its share of all places
	state   *state
	sides   [][2]*state // one deviation of each size above and below; nil where it has none
	rows    []row       // what it makes of the readings
	at      []int       // those of which it makes something else than the sound job
	chances []float64   // log of the chance of each that is off the end of a range
	chance  float64     // and of all of them
	joint   *joint      // of its rows, where it is likely enough for many causes to be weighed on it
	whole   float64     // log likelihood of its rows
}

// groundFit is how the readings fit a state with nothing wrong.
type groundFit struct {
	whole, chance, score float64 // logs; of all readings, of those off the end of a range, and with one of them in error
	alone                []float64
	outlooks             []outlook
}

// lay works out what a state makes of the readings.
func (b *bench) lay(g *ground) {
	g.state, _ = b.state(g.parts, g.sizes)
	g.rows, g.sides = slices.Clone(b.soundRows), make([][2]*state, len(g.sizes))
	for n, z := range g.sizes {
		if z.deviation == 0 {
			continue
		}
		high, ok1 := b.state(g.parts, shifted(g.sizes, n, 1))
		low, ok2 := b.state(g.parts, shifted(g.sizes, n, -1))
		if ok1 && ok2 {
			g.sides[n] = [2]*state{high, low}
		}
	}
	for k, i := range b.exact {
		q := b.asked[i]
		if g.state.untouched(q, b.supportOf(q)) {
			continue
		}
		g.rows[k], _ = g.state.row(q)
		for n, side := range g.sides {
			if side[0] != nil {
				g.rows[k].give(b.sizeUnknown(mostCauses+n), (side[0].mean(q)-side[1].mean(q))/2)
			}
		}
		if !g.rows[k].same(&b.soundRows[k]) {
			g.at = append(g.at, k)
		}
	}
	for _, i := range b.beyond {
		r, _ := g.state.row(b.asked[i])
		g.chances = append(g.chances, logBeyond(b.asked[i], b.values[i], &r))
		g.chance += g.chances[len(g.chances)-1]
	}
	if len(g.at) == 0 {
		g.joint = b.joint
	}
	g.whole = b.fit(g, predictions{}).logLikelihood
}

// fit solves the readings under a state of the place with more changed.
func (b *bench) fit(g *ground, p predictions) *fit { return b.fitInto(&fit{}, g, p) }

func (b *bench) fitInto(f *fit, g *ground, p predictions) *fit {
	if g.joint != nil {
		return g.joint.fitInto(f, p.at, p.rows)
	}
	at, rows := slices.Clone(p.at), slices.Clone(p.rows)
	for _, k := range g.at {
		if !slices.Contains(p.at, k) {
			at, rows = append(at, k), append(rows, g.rows[k])
		}
	}
	return b.joint.fitInto(f, at, rows)
}

// How many causes there may be at once, and how many of them and of states have
// a size of their own.
const mostCauses, mostParts = 2, 4

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

// predictions is what a hypothesis makes of the readings, beside the state it
// stands on.
type predictions struct {
	at     []int   // of exact: those it makes something else of
	rows   []row   // and what
	chance float64 // log, of the readings off the end of a range
}

// put has a reading predicted otherwise.
func (p *predictions) put(k int, r row) {
	if i := slices.Index(p.at, k); i >= 0 {
		p.rows[i] = r
		return
	}
	p.at, p.rows = append(p.at, k), append(p.rows, r)
}

// of is what a reading is predicted as.
func (p *predictions) of(g *ground, k int) row {
	if i := slices.Index(p.at, k); i >= 0 {
		return p.rows[i]
	}
	return g.rows[k]
}

// predictions makes the rows of a hypothesis on top of a state of the place, the
// sizes being unknowns of their own: the readings are straight lines over each
// narrow range.
func (b *bench) predictions(on int, parts []supposed, sizes []size) (predictions, bool) {
	g := &b.grounds[on]
	p := predictions{chance: g.chance}
	if len(parts) == 0 {
		return p, true
	}
	s, ok := applied(g.state, parts, sizes)
	if !ok {
		return predictions{}, false
	}
	touched := b.touchedBy(s)
	var sides [mostCauses][2]*state
	for n, z := range sizes {
		if z.deviation == 0 || len(touched) == 0 {
			continue
		}
		high, ok1 := applied(g.state, parts, shifted(sizes, n, 1))
		low, ok2 := applied(g.state, parts, shifted(sizes, n, -1))
		if !ok1 || !ok2 {
			return predictions{}, false
		}
		sides[n] = [2]*state{high, low}
	}
	var under [mostParts][2]*state
	if wide(parts) {
		for n, side := range g.sides {
			if side[0] != nil {
				high, _ := applied(side[0], parts, sizes)
				low, _ := applied(side[1], parts, sizes)
				if high != nil && low != nil {
					under[n] = [2]*state{high, low}
				}
			}
		}
	}
	for _, i := range touched {
		q := b.asked[i]
		r, _ := s.row(q)
		k := b.slot[i]
		if k < 0 {
			p.chance += logBeyond(q, b.values[i], &r) - g.chances[-1-k]
			continue
		}
		for n, side := range sides {
			if side[0] != nil {
				r.give(b.sizeUnknown(n), (side[0].mean(q)-side[1].mean(q))/2)
			}
		}
		for n := range g.sides { // the size of a state itself
			at := b.sizeUnknown(mostCauses + n)
			if under[n][0] != nil {
				r.give(at, (under[n][0].mean(q)-under[n][1].mean(q))/2)
			} else if m := slices.Index(g.rows[k].unknown, int32(at)); m >= 0 { // counts alike with a cause elsewhere on top
				r.give(at, g.rows[k].by[m])
			}
		}
		if !r.same(&g.rows[k]) {
			p.at, p.rows = append(p.at, k), append(p.rows, r)
		}
	}
	for _, part := range parts {
		if part.cause.key == "other place" {
			b.misplace(&p, g, s, part.where)
		}
	}
	return p, true
}

// applied is a state with more changed; what was changed before counts no more.
func applied(on *state, parts []supposed, sizes []size) (*state, bool) {
	s := on.clone()
	s.touched, s.alters, s.whole = nil, nil, false
	for i, p := range parts {
		if !p.cause.change(s, p.where, sizes[i].x) {
			return nil, false
		}
	}
	return s, true
}

// misplace predicts a reading as of where it was taken in fact, or two as
// written in each other's place.
func (b *bench) misplace(p *predictions, g *ground, s *state, at where) {
	k := b.slot[at.reading]
	if at.other >= 0 {
		m := b.slot[at.other]
		was, is := p.of(g, k), p.of(g, m)
		p.put(k, is)
		p.put(m, was)
		return
	}
	if r, ok := s.row(at.instead); ok {
		p.put(k, r)
	}
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
func (b *bench) weigh(h *hypothesis) { b.weighOver(h, b.groundsOf(h), combine(h.parts)) }

// weighOver does so over the states and sizes given.
func (b *bench) weighOver(h *hypothesis, grounds []int, choices [][]size) {
	h.log, h.beyond = math.Inf(-1), math.Inf(-1)
	moved := make([]bool, len(b.exact))
	for _, sizes := range choices {
		share := 1.0
		for _, z := range sizes {
			share *= z.share
		}
		var apart *predictions // of a cause whose readings no state alters: it weighs alike in all of them
		var gain float64
		for _, g := range grounds {
			on, p := &b.grounds[g], predictions{}
			if apart != nil {
				p = *apart
			} else {
				var ok bool
				if p, ok = b.predictions(g, h.parts, sizes); !ok {
					continue
				}
				gain = p.chance
				if len(p.at) > 0 {
					gain += b.fitInto(&b.spare, on, p).logLikelihood - on.whole
				}
				if len(h.parts) > 0 && b.steady && !slices.ContainsFunc(p.at, func(k int) bool { return b.stirred[k] }) {
					apart = &p
				}
				for _, k := range p.at {
					moved[k] = true
				}
			}
			log := on.whole + gain + math.Log(share) + on.log
			h.pieces = append(h.pieces, piece{g, sizes, log})
			h.log = logSum(h.log, log)
			h.beyond = max(h.beyond, p.chance)
		}
	}
	for k, is := range moved {
		if is {
			h.moved = append(h.moved, k)
		}
	}
	h.log += h.prior
}

// groundsOf lists the states that matter to a hypothesis: those that the
// readings leave open in a sound place, and all of them where it is the supply
// or the earth of the place that is wrong.
func (b *bench) groundsOf(h *hypothesis) []int {
	if wide(h.parts) {
		return b.every
	}
	return b.likely
}

// wide reports whether a cause is in the supply or the earth of the whole place.
func wide(parts []supposed) bool {
	return slices.ContainsFunc(parts, func(p supposed) bool {
		return p.where.run == nil && p.where.instrument == "" && p.cause.unit == "Ω" && p.cause.is == "fault"
	})
}

// layGrounds makes the states that a sound place may be in, and weighs them.
func (b *bench) layGrounds() hypothesis {
	b.grounds = []ground{{}}
	for _, c := range b.priors.causes {
		if c.is != "state" {
			continue
		}
		for _, at := range b.placesOf(c) {
			rate := b.rateOf(c, at)
			for _, g := range b.grounds {
				for _, z := range c.sizes() {
					b.grounds = append(b.grounds, ground{parts: append(slices.Clone(g.parts), supposed{c, at}),
						sizes: append(slices.Clone(g.sizes), z), log: g.log + math.Log(rate*z.share)})
				}
			}
			for i := range b.grounds {
				if !slices.ContainsFunc(b.grounds[i].parts, func(p supposed) bool { return p.cause == c }) {
					b.grounds[i].log += math.Log(1 - rate)
				}
			}
		}
	}
	for i := range b.grounds {
		b.lay(&b.grounds[i])
	}
	b.stirred, b.steady = make([]bool, len(b.exact)), true
	for i := range b.grounds {
		b.steady = b.steady && slices.Equal(b.grounds[i].chances, b.grounds[0].chances)
		for _, k := range b.grounds[i].at {
			b.stirred[k] = true
		}
	}
	b.every = make([]int, len(b.grounds))
	for i := range b.every {
		b.every[i] = i
	}
	var sound hypothesis
	b.weighOver(&sound, b.every, [][]size{nil})
	const far, most = 4.0, 4
	b.fits = make([]groundFit, len(b.grounds))
	for i := range sound.pieces {
		p := &sound.pieces[i]
		f, chance := b.fitOf(&sound, i)
		g := groundFit{whole: p.log, chance: chance, outlooks: b.outlooks(f)}
		_, g.alone = f.apart()
		g.score = p.log
		for k, i := range b.exact { // one reading in error must not choose the state
			g.score = logSum(g.score, p.log-g.alone[k]+b.anything(i)+math.Log(0.003))
		}
		b.fits[p.ground] = g
	}
	order := slices.Clone(b.every)
	slices.SortStableFunc(order, func(x, y int) int { return cmp.Compare(b.fits[y].score, b.fits[x].score) })
	b.likely = []int{0} // two readings in error may speak against it
	for _, g := range order[:min(most, len(order))] {
		if g != 0 && b.fits[g].score > b.fits[order[0]].score-far {
			b.likely = append(b.likely, g)
		}
	}
	for _, g := range b.likely {
		if on := &b.grounds[g]; on.joint == nil {
			on.joint = newJoint(b.joint.y, on.rows)
		}
	}
	b.apart, _ = b.fit(&b.grounds[order[0]], predictions{}).apart()
	return sound
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
	rate := b.rateOf(c, at)
	return math.Log(rate / (1 - rate))
}

// rateOf is the rate of a cause at a place, with what the record says of it.
func (b *bench) rateOf(c *cause, at where) float64 {
	switch {
	case c.key == "leads" && b.nulledAll(at.instrument): // it is written that they were nulled
		return 0.15 * c.rate
	case c.key == "earth contact" && !at.run.circuit.Point.Record.Earthing.Opens.Or(false): // a point that does is mostly recorded as one
		return 0.2 * c.rate
	case c.key == "bonded services" && len(b.wiring.model.Job.Supply.Bonding) > 0:
		return 0.8
	}
	return c.rate
}

// outlooks is what all the other readings make of each.
func (b *bench) outlooks(f *fit) []outlook {
	deviations, logs := f.apart()
	out := make([]outlook, len(deviations))
	for k, z := range deviations {
		deviation := math.Exp(-0.5*z*z-logs[k]) / math.Sqrt(2*math.Pi)
		out[k] = outlook{b.joint.y[k] - z*deviation, deviation}
	}
	return out
}

// suppose weighs nothing the matter, every cause at every place, something on
// no list, and, where one cause leaves much unexplained, pairs of them.
//
//	posterior  P(h | readings) ∝ P(h) × ∫ p(readings | h, size) p(size) dsize
func (b *bench) suppose() []hypothesis {
	sound := b.layGrounds()
	b.soundLog = sound.log + b.told(&sound)
	all := []hypothesis{sound}
	for _, c := range b.causes() {
		if c.is == "state" {
			continue
		}
		for _, p := range b.sites(c) {
			if b.model.Left() != nil {
				return nil // and Explain says so
			}
			h := hypothesis{parts: []supposed{p}, prior: b.odds(c, p.where)}
			switch {
			case c.key == "slip":
				b.weighSlip(&h)
			case c.key == "dry electrode" && b.soil > 0:
				h.pieces = []piece{{sound.pieces[sound.best()].ground, []size{{b.soil / soilMiddle, 0, 1}}, sound.log}}
				h.log = sound.log + h.prior + b.drier(c)
			default:
				b.weigh(&h)
			}
			if h.log += b.told(&h); !math.IsInf(h.log, -1) {
				all = append(all, h)
			}
		}
	}
	pairs := b.pairs(all)
	for i := range pairs {
		pairs[i].log += b.told(&pairs[i])
	}
	all = append(all, pairs...)
	if n := b.none(); !math.IsInf(n.log, -1) {
		n.log += b.told(&n)
		all = append(all, n)
	}
	if b.failing() {
		b.doubtSound(&all[0])
	}
	all[0].log += b.told(&all[0])
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

// doubtSound: a sound place meets its limits, save where its supply is weak.
func (b *bench) doubtSound(h *hypothesis) {
	const meets = 0.02
	h.log = math.Inf(-1)
	for i := range h.pieces {
		p := &h.pieces[i]
		if !slices.ContainsFunc(b.grounds[p.ground].parts, supposed.weak) {
			p.log += math.Log(meets)
		}
		h.log = logSum(h.log, p.log)
	}
}

// weak reports a supply weaker than was declared.
func (p supposed) weak() bool { return p.cause.places == "declared" }

// weakly returns the state of a supply that is weak, where nothing is wrong and
// the readings have it so.
func (b *bench) weakly(h *hypothesis) *cause {
	if len(h.parts) > 0 || h.none {
		return nil
	}
	parts := b.grounds[h.pieces[h.best()].ground].parts
	if i := slices.IndexFunc(parts, supposed.weak); i >= 0 {
		return parts[i].cause
	}
	return nil
}

// failing reports whether a reading that stands fails its limit.
func (b *bench) failing() bool {
	for i, v := range b.verdicts() {
		if v.Verdict == finding.Fails && b.readings[i].again < 0 {
			return true
		}
	}
	return false
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
	g := &b.grounds[h.pieces[piece].ground]
	p, _ := b.predictions(h.pieces[piece].ground, parts, sizes)
	aside := func(i int) {
		if k := b.slot[i]; k >= 0 {
			r := p.of(g, k)
			r.noise = aside
			p.put(k, r)
		}
	}
	for _, i := range h.odd {
		aside(i)
	}
	if slip >= 0 {
		aside(slip)
	}
	return b.fit(g, p), p.chance
}

// aside is noise that makes a reading say nothing.
const aside = 1e6
