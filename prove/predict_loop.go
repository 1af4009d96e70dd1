package prove

// What loop testers and voltmeters read, given the wiring.

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
	return ends{w.cutOut.n, w.means}, []int{w.lineSource}
}

// open reports a loop that an open contactor interrupts.
func (s *state) open(q *question) bool { return q.run != nil && s.dead[q.run] && !q.closed }

// predictZe: line to the means of earthing, the earthing conductor off and the
// main switch open, so that nothing of the installation is in parallel.
func predictZe(s *state, q *question) (value, bool) {
	w := s.wiring
	off := []int{w.earthing}
	for _, t := range w.tails {
		off = append(off, t.neutral)
	}
	back, weights := s.between(w.means, w.star.n, off...)
	return s.parts([]int{w.lineSource}, weights, back), true
}

func predictZs(s *state, q *question) (value, bool) {
	if s.open(q) {
		return value{amount: openOhms}, true
	}
	at, line := s.place(q)
	back, weights := s.between(at.e, s.wiring.star.n)
	v := s.parts(line, weights, back)
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
	at, line := s.place(q)
	back, weights := s.between(at.n, s.wiring.star.n)
	return s.parts(line, weights, back), true
}

// predictIpf: the greater of line to neutral and line to earth, doubled for a
// three-phase place, as the trade does with a single-phase instrument.
//
//	formula  Ipf = U0 / Z; three-phase 2 × U0 / Z(line-neutral)
//	source   IET Guidance Note 3 by way of published question papers
func predictIpf(s *state, q *question) (value, bool) {
	n, _ := predictNeutralLoop(s, q)
	at, line := s.place(q)
	back, weights := s.between(at.e, s.wiring.star.n)
	e := s.parts(line, weights, back)
	times := 1.0
	if q.threePhase(s.wiring) {
		times = 2
	}
	z := n
	if times/n.amount < 1/e.amount {
		z, times = e, 1
	}
	i := times * q.u0 / max(z.amount, 1e-4)
	out := value{amount: i, weights: z.weights, times: -i / max(z.amount, 1e-4)}
	out.drifts = append(out.drifts, drift{s.wiring.volts, i * voltSpread / q.u0})
	out.extra = i * 0.012 / max(z.amount, 0.012) // the loop is read to a hundredth of an ohm
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

// predictVoltage: between two of line, neutral and earth, idle.
func predictVoltage(between string) func(*state, *question) (value, bool) {
	return func(s *state, q *question) (value, bool) {
		if s.open(q) {
			return value{extra: 3}, true
		}
		w := s.wiring
		at, _ := s.place(q)
		reversed := s.reversedIn != (q.run != nil && s.reversed[q.run])
		full := value{amount: q.u0, drifts: []drift{{w.volts, voltSpread}}}
		low := value{amount: 1, extra: 1}
		if between == "NE" && q.known > 0 { // under a known load
			ohms, weights := s.between(at.n, w.cutOut.n)
			low = value{amount: 1 + q.known*ohms, weights: weights, times: q.known, extra: 1}
		}
		neutral, _ := s.between(at.n, w.star.n)
		earth, _ := s.between(at.e, w.star.n)
		floating := value{amount: 70, extra: 50} // what a meter of high resistance shows of a conductor that ends
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
			}
			return full, true
		}
		switch {
		case neutral > 1e4 || earth > 1e5:
			return floating, true
		case reversed:
			return full, true
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
	v, ok := predictNeutralLoop(s, q)
	v.amount, v.times, v.extra = v.amount*q.known, q.known, 0.5
	return v, ok
}

// predictSpike: the main earthing terminal of a TN-C-S supply stands above the
// ground by what a load drops in the PEN conductor.
func predictSpike(s *state, q *question) (value, bool) {
	if s.wiring.pen < 0 || q.known == 0 {
		return value{}, false
	}
	v := s.parts([]int{s.wiring.pen}, nil, 0)
	v.amount, v.times, v.extra = 0.5+v.amount*q.known, q.known, 0.4
	return v, true
}
