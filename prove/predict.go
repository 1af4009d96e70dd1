package prove

// What every reading is, given the wiring. Each function is one circuit law;
// the same one serves the sound job and every fault.

import (
	"math"
	"math/cmplx"
)

// parts collects stretches of line, each counted in full.
func (s *state) parts(line []int, back []weight, loop float64) value {
	v := value{amount: loop, times: 1}
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
	case (s.dead[r] || s.earthOff[r]) && !q.atTerminals:
		return value{amount: openOhms}, true
	}
	line := r.lines[min(q.phase, len(r.lines)-1)]
	back, w := s.between(r.to.e, r.from.e, r.neutral)
	return s.lowOhm(s.parts([]int{line}, w, back), q)
}

func predictR2(s *state, q *question) (value, bool) {
	switch {
	case q.run.ownEarth:
		return value{}, false
	case s.earthOff[q.run] && !q.atTerminals:
		return value{amount: openOhms}, true
	}
	back, w := s.between(q.run.to.e, q.run.from.e, q.run.neutral)
	return s.lowOhm(s.parts(nil, w, back), q)
}

func predictR1Rn(s *state, q *question) (value, bool) {
	r := q.run
	if s.dead[r] && !q.atTerminals {
		return value{amount: openOhms}, true
	}
	line := r.lines[min(q.phase, len(r.lines)-1)]
	return s.lowOhm(s.parts([]int{line, r.neutral}, nil, 0), q)
}

func predictEarthing(s *state, q *question) (value, bool) {
	return s.lowOhm(s.parts([]int{s.wiring.earthing}, nil, 0), q)
}

func predictLeads(s *state, q *question) (value, bool) { return s.lowOhm(value{}, q) }

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
	return ends{w.cutOut.n, w.means.e}, []int{w.lineSource}
}

// open reports a loop that an open contactor interrupts.
func (s *state) open(q *question) bool { return q.run != nil && s.dead[q.run] && !q.closed }

// predictZe: line to the means of earthing, the earthing conductor off and the
// main switch open, so that nothing of the installation is in parallel.
func predictZe(s *state, q *question) (value, bool) {
	w := s.wiring
	off := []int{w.earthing}
	for _, t := range w.tails {
		off = append(off, t[1])
	}
	back, weights := s.between(w.means.e, w.star.n, off...)
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

func predictPolarity(s *state, q *question) (value, bool) {
	if s.reversed[q.run] {
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

func predictElectrode(s *state, q *question) (value, bool) {
	for e, i := range s.wiring.electrodes {
		if e.Name == q.at {
			return s.parts([]int{i}, nil, 0), true
		}
	}
	return value{}, false
}

// Insulation of a new dry cable: a thousand megohms, within a factor of four
// either way (engineering judgement).
const (
	soundInsulation  = 1e9
	insulationSpread = 0.6 // decades
)

// predictInsulation: leakage of the cable with whatever else is connected, in
// parallel; a surge device passes current above its knee.
//
//	formula  1/R = Σ 1/Ri
//	surge    I = 1 mA × (U/U1mA)^25, the tester being a source of 1.05 Un
//	         behind 50 Ω per volt
func predictInsulation(toEarth bool) func(*state, *question) (value, bool) {
	return func(s *state, q *question) (value, bool) {
		l := s.leaks[q.run]
		beside := l.live
		if toEarth {
			beside = l.earth
			for _, k := range s.links { // a neutral joined to earth beyond the board
				if q.run.isEnd(k) {
					beside = k.ohms
				}
			}
		}
		if l.inPoint && q.pointOff || l.inSurge && q.surgeOut {
			beside = 0
		}
		g := 1.0 / soundInsulation
		own := g
		if beside > 0 {
			g += 1 / beside
		}
		if l.knee > 0 && !(l.inSurge && q.surgeOut) && !(l.inPoint && q.pointOff) {
			g += surgeConductance(q.volts, l.knee)
		}
		r := 1 / g
		out := value{amount: r}
		if q.leakage >= 0 {
			out.drifts = []drift{{q.leakage, r * math.Ln10 * insulationSpread * own / g}}
		}
		if beside > 0 { // a leak differs from one reading to the next
			out.extra = 0.15 * r
		}
		if l.knee > 0 && own/g < 0.5 {
			out.extra = math.Hypot(out.extra, 0.3*r)
		}
		return out, true
	}
}

// isEnd reports whether a link joins neutral and earth at the end of the run.
func (r *run) isEnd(k link) bool {
	return k.a == r.to.n && k.b == r.to.e || k.a == r.to.e && k.b == r.to.n
}

// surgeConductance is what a tester of nominal voltage un finds of a varistor.
func surgeConductance(un, knee float64) float64 {
	open, inside := 1.05*un, 50*un
	low, high := 0.0, open
	for range 60 {
		u := (low + high) / 2
		if 1e-3*math.Pow(u/knee, 25) > (open-u)/inside {
			high = u
		} else {
			low = u
		}
	}
	return 1e-3 * math.Pow(low/knee, 25) / low
}

// residualOf returns the rated residual current that protects a point.
func residualOf(q *question) (float64, bool) {
	if q.run.circuit.Point == nil {
		return 0, false
	}
	own, ok := q.run.circuit.Point.OwnRCD()
	if all := q.run.circuit.Point.RCDs(); !ok && len(all) > 0 {
		own, ok = all[0], true
	}
	if !ok {
		return 0, false
	}
	i, known := own.RCD.Residual.Get()
	return float64(i), known
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

// predictRCDTime: a sound 30 mA device opens in 15 to 40 ms at its rated
// current (engineering judgement); a current partly unseen, or a core held by
// d.c., makes it slower.
func predictRCDTime(s *state, q *question) (value, bool) {
	if _, ok := residualOf(q); !ok {
		return value{}, false
	}
	seen := 1 - s.unseen(q.run)
	t := 0.025 / math.Pow(max(seen, 0.05), 1.5)
	r := s.residuals[q.at]
	if r.standing > 0 {
		t *= 0.6
	}
	if r.blinded > 0 {
		t *= r.blinded
	}
	if seen < 0.6 || t > 0.3 || s.open(q) {
		return value{amount: 3, extra: 1}, true
	}
	return value{amount: t, extra: 0.3 * t}, true
}

// predictHalf: at half its rated current the device must hold; what leaks
// already comes on top.
func predictHalf(s *state, q *question) (value, bool) {
	i, ok := residualOf(q)
	if !ok {
		return value{}, false
	}
	total := (0.5*i)*(1-s.unseen(q.run)) + s.residuals[q.at].standing
	return value{amount: 1 / (1 + math.Exp(-(total/i-0.75)/0.06))}, true
}

// predictRamp: it trips where test current and standing leakage together
// reach its threshold, between half its rated current and the whole.
func predictRamp(s *state, q *question) (value, bool) {
	i, ok := residualOf(q)
	if !ok {
		return value{}, false
	}
	r := s.residuals[q.at]
	amount := max(0.003, (0.75*i-r.standing)/max(1-s.unseen(q.run), 0.3))
	if r.blinded > 0 {
		amount *= 1 + r.blinded/6
	}
	return value{amount: amount, extra: 0.08 * i}, true
}

func predictDirect(s *state, q *question) (value, bool) {
	return value{amount: 0.0048, extra: 0.0006}, true
}

func predictLeakage(s *state, q *question) (value, bool) {
	p := q.run.circuit.Point.Record
	standing := float64(p.Leakage.Or(0.0015))
	return value{amount: standing + s.residuals[q.at].standing, extra: 0.3*standing + 0.0003}, true
}

// Resistors of the vehicle, source and diode of the pilot (IEC 61851-1 Annex
// A; levels and resistances confirmed in open documents).
const (
	pilotSource = 1000.0
	pilotVolts  = 12.0
	pilotDiode  = 0.7
	vehicleB    = 2740.0
	vehicleC    = 882.0
)

// predictPilot: source, diode and resistor in series, with a leak beside them.
//
//	formula  U = Ud + (12 V − Ud) × R/(R + 1 kΩ)
func predictPilot(level string) func(*state, *question) (value, bool) {
	return func(s *state, q *question) (value, bool) {
		p := s.pilots[q.at]
		u := pilotLevel(p, level)
		extra := 0.15
		if p.leak > 0 {
			extra += 0.2
		}
		return value{amount: u, extra: extra}, true
	}
}

func pilotLevel(p pilot, level string) float64 {
	if p.shorted {
		return 0
	}
	r := map[string]float64{"B": vehicleB, "C": vehicleC}[level]
	if p.noSwitch && level == "C" {
		r = vehicleB
	}
	diode := pilotDiode
	if p.noDiode {
		diode = 0
	}
	source, u := pilotSource, pilotVolts
	if level == "negative" {
		u = -pilotVolts
	}
	if p.leak > 0 { // as one source of its own
		u *= p.leak / (p.leak + source)
		source = source * p.leak / (p.leak + source)
	}
	switch {
	case r == 0 && level != "negative", p.open && level != "negative":
		return u
	case level == "negative" && (!p.noDiode || p.open):
		return u
	case level == "negative":
		return u * vehicleB / (vehicleB + source)
	}
	return diode + (u-diode)*r/(r+source)
}

func predictDuty(s *state, q *question) (value, bool) {
	m := s.wiring.model
	i := m.PointCurrents(q.run.circuit.Point)
	if !i.Known() {
		return value{}, false
	}
	duty, _, err := m.Rules.PilotDuty(i.Greatest())
	if err != nil {
		return value{}, false
	}
	amount := float64(duty)
	if d := s.pilots[q.at].duty; d > 0 {
		amount *= d
	}
	return value{amount: amount, extra: 0.4}, true
}

// predictClamp: a clamp and the voltage it is paired with show active current,
// the true current times the cosine of the angle between them.
//
//	formula  shown = I × Re(a),  a = 1 right, −1 turned round, ∠120° wrong phase
func predictClamp(s *state, q *question) (value, bool) {
	if q.known == 0 {
		return value{}, false
	}
	return value{amount: q.known * s.clamp, extra: 0.03*q.known + 0.2}, true
}

// wrongPhase is what a resistive load shows on a channel paired with the
// voltage of the next phase.
func wrongPhase() float64 { return real(cmplx.Rect(1, 2*math.Pi/3)) }
