package prove

// What an earth tester reads of an electrode, by spikes, by a clamp or by a loop
// tester, given the wiring.

import (
	"fmt"
	"math"

	"chargewright/quantity"
	"chargewright/reading"
	"chargewright/trade"
	"chargewright/works"
)

// spiked is what is wrong with a test of an electrode by spikes.
type spiked struct {
	times  float64 // what it makes of the electrode; 0 for what it is
	beside float64 // Ω of other metal left joined to it; 0 for none
	lead   float64 // Ω of leads that count
}

// byClamp reports a reading by a clamp that puts a current round the loop.
func (q *question) byClamp() bool { return q.how.Has("electrode clamp") }

// bySpikes reports a reading by spikes whose places nobody has checked.
func (q *question) bySpikes() bool {
	return q.kind.Name == "RA" && !q.byClamp() && !q.how.Has("loop tester") && !q.how.Has("three readings agree") && q.how.PotentialSpike == 0
}

// predictElectrode: the electrode's resistance by spikes, as far as they stand
// away from each other; by a clamp with all the rest of the earth in series,
// which is what the injected current comes back through; by a loop tester with
// the line and the earth of the transformer.
//
//	by spikes  R × share, the share from where they stand
//	by clamp   R + R(rest), the network between its ends without it
func predictElectrode(s *state, q *question) (value, bool) {
	i := -1
	var e *works.Electrode
	for of, n := range s.wiring.electrodes {
		if of.Name == q.at {
			e, i = of, n
		}
	}
	if i < 0 {
		return value{}, false
	}
	wire := s.wiring.stretches[i]
	if q.byClamp() {
		back, weights := s.between(wire.a, wire.b, i)
		if back >= openOhms/2 {
			return value{amount: openOhms}, true
		}
		return s.parts([]int{i}, weights, back), true
	}
	v := s.parts([]int{i}, nil, 0)
	switch {
	case q.how.Has("loop tester"):
		v = s.parts([]int{s.wiring.lineSource, i}, nil, 0)
	case s.today && i == s.wiring.earthSource: // the loop takes the transformer's own earth with it
		ground := min(groundEarth, 0.2*v.amount)
		v.amount -= ground
		v.drifts = append(v.drifts, drift{s.wiring.ground, -ground * groundSpread / groundEarth})
	}
	if q.how.Has("with parallel paths") {
		back, _ := s.between(wire.a, wire.b, i)
		v = beside(v, back)
	}
	share, doubt := s.wiring.spikes(e, q.how)
	v.amount, v.times = v.amount*share, v.times*share
	v.extra = math.Hypot(v.extra, doubt*v.amount)
	if w := s.spiked[q.at]; q.bySpikes() {
		if w.beside > 0 {
			v = beside(v, w.beside)
		}
		if w.times > 0 {
			v.amount, v.times = v.amount*w.times, v.times*w.times
		}
		v.amount += w.lead
	}
	return v, true
}

// beside puts a resistance in parallel with what is read.
func beside(v value, ohms float64) value {
	f := ohms / (v.amount + ohms)
	v.amount, v.times = v.amount*f, v.times*f*f
	for i := range v.drifts {
		v.drifts[i].by *= f * f
	}
	return v
}

// spikes is the share of its resistance that a test by spikes reads of an
// electrode, and what is not known of that.
func (w *wiring) spikes(e *works.Electrode, how reading.Ways) (share, doubt float64) {
	if how.CurrentSpike <= 0 || how.PotentialSpike <= 0 {
		return 1, 0
	}
	length, known := e.Length.Get()
	diameter, thick := e.Diameter.Get()
	if !known || !thick || e.Kind.Or(trade.Rod) != trade.Rod || e.Number.Or(1) > 1 {
		return 1, spikesAnywhere
	}
	f, _, err := w.model.Rules.FallOfPotential(length, diameter, how.CurrentSpike, how.PotentialSpike)
	if err != nil || f > 3 {
		return 1, spikesAnywhere
	}
	return f, 0.03 + 0.2*math.Abs(f-1) // the soil is in layers
}

// spikesAnywhere is how far a test by spikes may be out where the shape of the
// electrode is not known, as a share (engineering judgement).
const spikesAnywhere = 0.15

// spikesNear says of readings that their spikes stood too near.
func (b *bench) spikesNear() (out []string) {
	for _, q := range b.asked {
		if q.kind.Name != "RA" {
			continue
		}
		for e := range b.wiring.electrodes {
			f, _ := b.wiring.spikes(e, q.how)
			const out5 = 0.05 // as three readings are to agree
			if e.Name != q.at || math.Abs(f-1) <= out5 {
				continue
			}
			out = append(out, fmt.Sprintf("RA at %s: with its spikes at %v and %v it reads about %.0f %% of the electrode: put the current spike %v away "+
				"or more, the other at 62 %% of that", q.at, q.how.PotentialSpike, q.how.CurrentSpike, 100*f, 10*e.Length.Or(quantity.Metres(0))))
		}
	}
	return out
}

// inSpikes is a change of the test of an electrode.
func inSpikes(set func(w *spiked, x float64)) change {
	return func(s *state, at where, x float64) bool {
		w := s.spiked[at.name]
		set(&w, x)
		s.spiked = with(s.spiked, at.name, w)
		s.alter("electrode", nil)
		return true
	}
}

// bySpikes lists the electrodes read by spikes that nobody has moved.
func (b *bench) bySpikes() (out []where) {
	seen := map[string]bool{}
	for _, q := range b.asked {
		if q.bySpikes() && !seen[q.at] {
			seen[q.at] = true
			out = append(out, where{name: q.at})
		}
	}
	return out
}
