package prove

// What an RCD tester and a leakage clamp read.

import (
	"math"

	"chargewright/model"
	"chargewright/quantity"
)

// residualOf returns the rated residual current that protects a point.
func residualOf(q *question) (float64, bool) { return q.run.residual.Get() }

// rcdOf returns the RCD of a point that a tester trips: its own, else the
// nearest.
func rcdOf(p *model.Point) (fitted bool, residual quantity.Maybe[float64]) {
	all := p.RCDs()
	if len(all) == 0 {
		return false, residual
	}
	own, ok := p.OwnRCD()
	if !ok {
		own = all[0]
	}
	if i, known := own.RCD.Residual.Get(); known {
		residual = quantity.Known(float64(i))
	}
	return true, residual
}

// seen returns the share of a line-to-earth current that the RCD of a run does
// not see, because it comes back through the neutral beyond the RCD.
func (s *state) unseen(r *run) float64 {
	_, weights := s.between(r.to.e, s.wiring.star.n)
	for _, w := range weights {
		if w.stretch == r.neutral {
			return math.Sqrt(w.share)
		}
	}
	return 0
}

// predictRCDTime: a sound 30 mA device opens in 10 to 40 ms at its rated
// current (engineering judgement); a current partly unseen, or a core held by
// d.c., makes it slower.
func predictRCDTime(s *state, q *question) (value, bool) {
	i, ok := residualOf(q)
	if !ok {
		return value{}, false
	}
	seen := 1 - s.unseen(q.run)
	if s.exchanged[q.run] || s.reversed[q.run] {
		seen = 0
	}
	t := 0.025 / math.Pow(max(seen, 0.05), 1.5)
	r := s.residuals[q.run]
	if r.standing > 0 {
		t *= 0.6
	}
	if r.early > 0 {
		t *= math.Pow(r.early/(0.75*i), 1.2)
	}
	t *= max(r.blinded, 1) * max(r.slow, 1)
	switch {
	case seen < 0.6 || t > 0.4 || r.dead || s.open(q):
		return value{amount: 3, extra: 1}, true
	case seen < 0.88: // by the device's own threshold it trips late or not at all
		return value{amount: 0.15, extra: 0.25}, true
	}
	return value{amount: t, extra: 0.4 * t}, true
}

// predictHalf: at half its rated current the device must hold; what leaks
// already comes on top.
func predictHalf(s *state, q *question) (value, bool) {
	i, ok := residualOf(q)
	if !ok {
		return value{}, false
	}
	r := s.residuals[q.run]
	total := (0.5*i)*(1-s.unseen(q.run)) + r.standing
	switch {
	case r.dead || s.open(q):
		return value{}, true
	case r.early > 0:
		total += 0.75*i - r.early
	}
	return value{amount: 1 / (1 + math.Exp(-(total/i-0.75)/0.06))}, true
}

// predictRamp: it trips where test current and standing leakage together
// reach its threshold, between half its rated current and the whole.
func predictRamp(s *state, q *question) (value, bool) {
	i, ok := residualOf(q)
	if !ok {
		return value{}, false
	}
	r := s.residuals[q.run]
	threshold := 0.75 * i
	if r.early > 0 {
		threshold = r.early
	}
	amount := max(0.003, (threshold-r.standing)/max(1-s.unseen(q.run), 0.3))
	extra := 0.08 * i
	if r.blinded > 0 { // how slow it is says little of how much more it takes
		amount *= 1.6
		extra = 0.3 * i
	}
	if r.dead || s.open(q) || s.exchanged[q.run] || s.reversed[q.run] {
		amount = 4 * i
	}
	return value{amount: amount, extra: extra}, true
}

func predictDirect(s *state, q *question) (value, bool) {
	d := s.directs[q.run]
	switch {
	case d.dead || s.open(q):
		return value{amount: 0.04, extra: 0.002}, true
	case d.at > 0:
		return value{amount: d.at, extra: 0.0003}, true
	}
	return value{amount: 0.0047, extra: 0.0006}, true
}

// predictButton: the button trips a device that can trip.
func predictButton(s *state, q *question) (value, bool) {
	if s.residuals[q.run].buttonDead {
		return value{amount: 1}, true
	}
	return value{}, true
}

func predictLeakage(s *state, q *question) (value, bool) {
	p := q.run.circuit.Point.Record
	standing := float64(p.Leakage.Or(0.0015))
	return value{amount: standing + s.residuals[q.run].standing, extra: 0.3*standing + 0.0003}, true
}
