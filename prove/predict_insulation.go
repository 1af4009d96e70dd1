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

// predictInsulation: leakage of the cable with whatever else is connected, as
// three resistances between line, neutral and earth, seen from two of them; a
// surge device passes current above its knee.
//
//	formula  G(line to earth) = Gle + Gne Gln / (Gne + Gln), and so round
//	surge    I = 1 mA × (U/U1mA)^25, the tester being a source of 1.05 Un
//	         behind 50 Ω per volt that gives no more than 1.5 mA
func predictInsulation(across across) func(*state, *question) (value, bool) {
	return func(s *state, q *question) (value, bool) {
		own := 1.0 / soundInsulation
		var line, neutral, live, wide float64
		surge := false
		for _, l := range s.leaks[q.run] {
			if l.inPoint && q.pointOff || l.inSurge && q.surgeOut || l.outside && q.cableAlone {
				continue
			}
			line, neutral, live = line+l.line, neutral+l.neutral, live+l.live
			if l.knee > 0 {
				g := 0.5 * surgeConductance(q.volts, l.knee)
				line, neutral, surge = line+g, neutral+g, true
			}
			wide = math.Hypot(wide, l.wide)
		}
		for _, k := range s.links { // a neutral joined to earth beyond the board
			if q.run.isEnd(k) {
				neutral += 1 / k.ohms
			}
		}
		beside := across.of(line, neutral, live)
		g := own + beside
		r := 1 / g
		out := value{amount: r}
		if q.leakage >= 0 {
			out.drifts = []drift{{q.leakage, r * math.Ln10 * insulationSpread * own / g}}
		}
		if beside > 0 { // a leak differs from one reading to the next, and its parts from what they usually are
			out.extra = math.Hypot(0.15, math.Ln10*wide) * r * beside / g
		}
		if surge && own/g < 0.5 {
			out.extra = math.Hypot(out.extra, 0.3*r)
		}
		return out, true
	}
}

// of is the conductance that a test sees of three, line to earth, neutral to
// earth and between the two.
func (a across) of(line, neutral, live float64) float64 {
	through := func(a, b float64) float64 {
		if a+b == 0 {
			return 0
		}
		return a * b / (a + b)
	}
	switch a {
	case lineToEarth:
		return line + through(neutral, live)
	case neutralToEarth:
		return neutral + through(line, live)
	case betweenLive:
		return live + through(line, neutral)
	}
	return line + neutral
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
