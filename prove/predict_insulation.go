package prove

// What an insulation tester reads.

import (
	"math"
)

// Insulation of a new dry cable: a thousand megohms, within a factor of four
// either way (engineering judgement).
const (
	soundInsulation  = 1e9
	insulationSpread = 0.6 // decades
)

// across is what an insulation test is made between.
type across uint8

const (
	liveToEarth    across = iota // line and neutral together
	lineToEarth                  // the neutral off its bar
	neutralToEarth               // likewise
	betweenLive
)

// predictInsulation: leakage of the cable with whatever else is connected, in
// parallel; a surge device passes current above its knee.
//
//	formula  1/R = Σ 1/Ri
//	surge    I = 1 mA × (U/U1mA)^25, the tester being a source of 1.05 Un
//	         behind 50 Ω per volt that gives no more than 1.5 mA
func predictInsulation(across across) func(*state, *question) (value, bool) {
	return func(s *state, q *question) (value, bool) {
		l := s.leaks[q.run]
		beside := l.live
		if across != betweenLive {
			beside = l.earth
			if l.lineOnly && across == neutralToEarth {
				beside = 0
			}
		}
		if across == liveToEarth || across == neutralToEarth {
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
	const most = 1.5e-3 // A; 1 mA at least at the nominal voltage (BS EN 61557-2, from memory)
	low, high := 0.0, open
	for range 60 {
		u := (low + high) / 2
		if 1e-3*math.Pow(u/knee, 25) > min((open-u)/inside, most) {
			high = u
		} else {
			low = u
		}
	}
	return 1e-3 * math.Pow(low/knee, 25) / low
}
