package prove

// What a low-ohm meter and an electrode tester read, given the wiring. Each
// function is one circuit law; the same one serves the sound job and every fault.

// parts collects stretches of line, each counted in full.
func (s *state) parts(line []int, back []weight, loop float64) value {
	v := value{amount: loop, times: 1, weights: make([]weight, 0, len(line)+len(back))}
	for _, i := range line {
		v.amount += s.ohms[i]
		v.weights = append(v.weights, weight{i, 1})
	}
	v.weights = append(v.weights, back...)
	return v
}

// lowOhm adds what the leads of a low-ohm meter add.
func (s *state) lowOhm(v value, q *question) (value, bool) {
	if !q.renulled && (!q.nulled || s.leadsAll) {
		v.amount += s.leads[q.instrument]
	}
	v = s.gained(v, q)
	if q.null >= 0 {
		v.drifts = append(v.drifts, drift{q.null, 0.008})
	}
	return v, true
}

// predictR1R2: line and cpc linked at the board, read between them at the far
// end, line and neutral of the circuit disconnected.
func predictR1R2(s *state, q *question) (value, bool) {
	r := q.run
	if s.swapped[r] && !q.linkSeen {
		return predictR1Rn(s, q)
	}
	switch {
	case r.ownEarth:
		return value{}, false
	case (s.shut[r] || s.earthOff[r]) && !q.atTerminals, s.exchanged[r], s.reversed[r]:
		return value{amount: openOhms}, true
	}
	line := r.lines[min(q.phase, len(r.lines)-1)]
	back, w := s.between(r.to.e, r.from.e, r.neutral)
	return s.lowOhm(s.parts([]int{line}, w, back), q)
}

// gained is a reading of an instrument that is out as a whole.
func (s *state) gained(v value, q *question) value {
	if g := s.gains[q.instrument+"\x00"+q.kind.Class]; g > 0 {
		v.amount *= g
		v.times *= g
	}
	return v
}

func predictR2(s *state, q *question) (value, bool) {
	switch {
	case q.run.ownEarth:
		return value{}, false
	case s.earthOff[q.run] && !q.atTerminals, s.exchanged[q.run]:
		return value{amount: openOhms}, true
	}
	back, w := s.between(q.run.to.e, q.run.from.e, q.run.neutral)
	return s.lowOhm(s.parts(nil, w, back), q)
}

func predictR1Rn(s *state, q *question) (value, bool) {
	r := q.run
	if s.shut[r] && !q.atTerminals || s.exchanged[r] {
		return value{amount: openOhms}, true
	}
	line := r.lines[min(q.phase, len(r.lines)-1)]
	return s.lowOhm(s.parts([]int{line, r.neutral}, nil, 0), q)
}

func predictEarthing(s *state, q *question) (value, bool) {
	v := s.parts([]int{s.wiring.earthing}, nil, 0)
	v.amount -= s.beyond
	return s.lowOhm(v, q)
}

func predictLeads(s *state, q *question) (value, bool) { return s.lowOhm(value{}, q) }

func predictPolarity(s *state, q *question) (value, bool) {
	if s.reversed[q.run] || s.exchanged[q.run] {
		return value{amount: 1}, true
	}
	return value{}, true
}

func predictSequence(s *state, q *question) (value, bool) {
	if s.rotated {
		return value{amount: 1}, true
	}
	return value{}, true
}

// predictInOrder: what no fault of the wiring shows in is as it must be.
func predictInOrder(*state, *question) (value, bool) { return value{}, true }
