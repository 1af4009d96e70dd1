package prove

// What loop testers and voltmeters read, given the wiring.

import "math"

// place returns the ends read at and the line to them.
func (s *state) place(q *question) (ends, []int) {
	w := s.wiring
	switch {
	case q.run != nil:
		return q.run.to, w.path(q.run, nil, q.phase)
	case q.board != nil:
		at, feed, _ := w.board(q.board)
		return at, w.path(feed, q.board, q.phase)
	}
	if t, ok := w.tailsOf(); ok && s.today {
		return ends{w.stretches[t.neutral].a, w.means}, []int{w.lineSource, t.line}
	}
	return ends{w.cutOut.n, w.means}, []int{w.lineSource}
}

// atOrigin adds the tails to the line of the service: the trade reads at the
// incoming terminals of the main switch.
func (s *state) atOrigin(line int) []int {
	if t, ok := s.wiring.tailsOf(); ok && s.today {
		return []int{line, t.line}
	}
	return []int{line}
}

// tailsOf returns the tails of the first board.
func (w *wiring) tailsOf() (tails, bool) {
	for _, b := range w.model.Boards {
		if t, ok := w.tails[b]; ok {
			return t, true
		}
	}
	return tails{}, false
}

// open reports a loop that an open contactor interrupts.
func (s *state) open(q *question) bool {
	return q.run != nil && s.dead[q.run] && (!q.closed || s.never[q.run])
}

// predictZe: line to the means of earthing, the earthing conductor off and the
// main switch open, so that nothing of the installation is in parallel.
func predictZe(s *state, q *question) (value, bool) {
	w := s.wiring
	off := []int{w.earthing}
	for _, t := range w.tails {
		off = append(off, t.neutral)
	}
	back, weights := s.between(w.means, w.star.n, off...)
	return s.loop(s.parts(s.atOrigin(w.lineSource), weights, back), q), true
}

func predictZs(s *state, q *question) (value, bool) {
	if s.open(q) {
		return value{amount: openOhms}, true
	}
	at, line := s.place(q)
	end := at.e
	if s.exchanged[q.run] {
		end = at.n
	}
	back, weights := s.between(end, s.wiring.star.n)
	v := s.loop(s.withLead(s.parts(line, weights, back), q), q)
	if q.noTrip {
		v.amount += s.noTrip
		if q.uplift >= 0 {
			v.drifts = append(v.drifts, drift{q.uplift, 0.03})
		}
	}
	return v, true
}

func predictNeutralLoop(s *state, q *question) (value, bool) {
	if s.open(q) {
		return value{amount: openOhms}, true
	}
	return s.loop(s.withLead(s.neutralLoop(q), q), q), true
}

// neutralLoop is the loop of line and neutral where a reading is taken.
func (s *state) neutralLoop(q *question) value {
	at, line := s.place(q)
	end := at.n
	if s.exchanged[q.run] {
		end = at.e
	}
	back, weights := s.between(end, s.wiring.star.n)
	return s.parts(line, weights, back)
}

// loop adds what the leads and the calibration of a loop tester do.
func (s *state) loop(v value, q *question) value {
	v = s.gained(v, q)
	v.amount += s.fused[q.instrument]
	return v
}

// withLead adds the tethered lead of a point that is read at its end.
func (s *state) withLead(v value, q *question) value {
	if s.today && q.run != nil && q.run.leadBy >= 0 && !q.atTerminals {
		v.amount += leadOhms
		v.drifts = append(v.drifts, drift{q.run.leadBy, leadOhmsSpread})
	}
	return v
}

// predictIpf: the greater of line to neutral and line to earth, doubled for a
// three-phase place, as the trade does with a single-phase instrument.
//
//	formula  Ipf = U0 / Z; three-phase 2 × U0 / Z(line-neutral)
//	source   IET Guidance Note 3 by way of published question papers
func predictIpf(s *state, q *question) (value, bool) {
	n := s.neutralLoop(q)
	at, line := s.place(q)
	back, weights := s.between(at.e, s.wiring.star.n)
	z, times, doubt := n, 1.0, 0.0
	if q.threePhase(s.wiring) {
		times = 2
	}
	e := s.parts(line, weights, back)
	if q.threePhase(s.wiring) && e.amount < n.amount { // some double whichever is the greater
		doubt = 0.5 * min(1, n.amount/e.amount-1)
	}
	if times/n.amount < 1/e.amount {
		z, times = e, 1
	}
	i := times * q.u0 / max(z.amount, 1e-4)
	out := value{amount: i, weights: z.weights, times: -i / max(z.amount, 1e-4)}
	out.drifts = append(out.drifts, drift{s.wiring.volts, i * 6 / q.u0})
	out.extra = i * math.Hypot(doubt, 0.012/max(z.amount, 0.012)) // the loop is read to a hundredth of an ohm
	return out, true
}

func (q *question) threePhase(w *wiring) bool {
	switch {
	case q.run != nil:
		return len(q.run.lines) > 1
	case q.board != nil:
		return q.board.Record.Phases.Or(w.model.Job.Supply.Phases.Or(1)) == 3
	}
	return w.model.Job.Supply.Phases.Or(1) == 3
}

// usualLoad is the current that an installation takes while somebody reads a
// voltage in it, give or take as much.
const usualLoad = 4.0 // A, engineering judgement

// predictVoltage: between two of line, neutral and earth, whatever runs in the
// installation running.
//
//	formula  UNE = I × ½ (R(n,s) + R(n,e) − R(e,s)), the current going back over n to the star s
func predictVoltage(between string) func(*state, *question) (value, bool) {
	return func(s *state, q *question) (value, bool) {
		if s.open(q) {
			return value{extra: 3}, true
		}
		w := s.wiring
		at, _ := s.place(q)
		reversed := s.reversedIn != (q.run != nil && s.reversed[q.run])
		u0 := q.u0
		if s.today && u0 == 230 {
			u0 = usualVolts
		}
		full := value{amount: u0 + s.volts, drifts: []drift{{w.volts, voltSpread}}}
		if s.volts != 0 { // what the tap gives is its own spread
			full.drifts = nil
			full.extra = 1
		}
		neutral, _ := s.between(at.n, w.star.n)
		earth, _ := s.between(at.e, w.star.n)
		apart, weights := s.between(at.n, at.e)
		apart = (neutral + apart - earth) / 2
		low := value{amount: 1 + usualLoad*apart, extra: math.Hypot(1, usualLoad*apart)}
		if q.known > 0 { // under a known load
			low = value{amount: 1 + q.known*apart, weights: weights, times: q.known, extra: 1}
		}
		floating := value{amount: 110, extra: 90} // what a meter of high resistance shows of a conductor that ends
		lost := neutral > 5 && neutral < openOhms/2
		if lost || s.today && neutral >= openOhms/2 { // it stands where the loads put it
			full.amount, full.extra = 150, 90
		} else if neutral > 0.5 {
			full.extra = math.Hypot(full.extra, usualLoad*neutral)
		}
		switch between {
		case "LN":
			if neutral > 1e4 {
				return floating, true
			}
			return full, true
		case "LE":
			switch {
			case earth > 1e5:
				return floating, true
			case reversed:
				return low, true
			case w.pen < 0 || earth < neutral-1:
				full.amount, full.extra = u0+s.volts, 1
			}
			return full, true
		}
		switch {
		case neutral > 1e4 || earth > 1e5:
			return floating, true
		case reversed:
			return full, true
		case lost && apart > 5:
			return floating, true
		}
		return low, true
	}
}

// predictFall: the voltage line to neutral falls by I × loop when a known load
// is switched on.
func predictFall(s *state, q *question) (value, bool) {
	if q.known == 0 {
		return value{}, false
	}
	if s.open(q) {
		return value{extra: 0.5}, true
	}
	v := s.withLead(s.neutralLoop(q), q)
	v.amount, v.times, v.extra = v.amount*q.known, q.known, 0.5
	return v, true
}

// predictSpike: the main earthing terminal of a TN-C-S supply stands above the
// ground by what a load drops in the PEN conductor.
func predictSpike(s *state, q *question) (value, bool) {
	if s.wiring.pen < 0 || q.known == 0 {
		return value{}, false
	}
	v := s.parts([]int{s.wiring.pen}, nil, 0)
	// what the conductor drops stands partly between the other earths of the network and the ground there
	const part = 0.8
	v.amount, v.times, v.extra = 0.5+part*v.amount*q.known, part*q.known, math.Hypot(0.4, 0.2*v.amount*q.known)
	return v, true
}
