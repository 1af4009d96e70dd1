package choose

// What stands ahead of every circuit: the impedance of the supply, as the
// network of the job has it, and the currents each feeder carries.

import (
	"math"

	"chargewright/finding"
	"chargewright/model"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/trade"
	"chargewright/works"
)

// supply is the source as seen from the board at the origin.
type supply struct {
	u0, cmin    float64
	system      trade.EarthingSystem
	phases      int
	ipf         float64
	line, earth float64 // Ω at operating temperature, tails and earthing conductor in
	tail        float64 // Ω of one tail at operating temperature
	// At 20 °C, for the greatest fault: the source a reactance, the tails not.
	faultLine, faultNeutral, faultEarth complex128
	touch, rcdTime                      float64
}

// readSupply takes what is known of the supply; what is not is a lack.
//
// The source is taken resistive for the least fault current and reactive for
// the greatest, each the worse case, and shared out between line and return as
// package model does, so that both come to the same loops.
func (s *site) readSupply() {
	j := &s.job.Supply
	p := &s.supply
	need := func(known bool, field, what string) { s.lack(works.TheSupply.Unless(known, field, what)) }
	u0, okU := j.Voltage.Get()
	system, okS := j.Earthing.Get()
	phases, okP := j.Phases.Get()
	ipf, okI := j.Ipf.Value.Get()
	ze, okZ := j.Ze.Value.Get()
	need(okU, "voltage", "nominal voltage")
	need(okS, "earthing", "earthing system")
	need(okP, "phases", "phases")
	external, unbelieved := s.model.External(), finding.Gather(s.model.Doubted("supply/voltage"), s.model.Doubted("supply/phases"))
	s.lack(s.model.NoIpf())
	s.lack(external.Lacks)
	s.lack(unbelieved)
	p.u0, p.system, p.phases, p.ipf = float64(u0), system, phases, float64(ipf)
	p.cmin, p.touch, p.rcdTime = s.limit("cmin"), s.limit("touch voltage"), math.Inf(1)
	if _, longest, _, err := s.rules.RCDTime(false, 1); err == nil {
		p.rcdTime = float64(longest)
	}
	if !okU || !okI || len(s.model.NoIpf()) > 0 || len(unbelieved) > 0 || !okP || !okS || !external.Known() {
		return
	}
	x := p.u0 / p.ipf
	if phases == 1 {
		x /= 2
	}
	neutral := x
	if loop, ok := j.LineNeutralLoop.Value.Get(); ok && system != trade.TNCS {
		neutral = max(0, float64(loop)-x)
	}
	p.faultLine, p.faultNeutral, p.faultEarth = complex(0, x), complex(0, neutral), complex(0, neutral)
	p.line, p.earth = x, neutral
	switch {
	case system == trade.TT:
		p.earth = max(0, float64(external.Magnitude())-x)
		p.faultEarth = complex(p.earth, 0)
	case okZ:
		p.line = min(x, float64(ze)/2)
		p.earth = float64(ze) - p.line
	}
	s.addTails()
}

// addTails adds the tails and the earthing conductor, where they are described.
func (s *site) addTails() {
	j, p := &s.job.Supply, &s.supply
	csa, ok1 := j.Tails.CSA.Get()
	length, ok2 := j.Tails.Length.Get()
	r, _, err := s.rules.Resistance(standard.Copper, standard.Stranded, csa)
	if !ok1 || !ok2 || err != nil {
		return
	}
	hot := quantity.Celsius(70)
	if j.Tails.Insulation.Or("") == standard.Thermosetting90 {
		hot = 90
	}
	p.tail = float64(r.Over(length).At(hot))
	cold := complex(float64(r.Over(length).At(20)), 0)
	p.line += p.tail
	p.faultLine += cold
	p.faultNeutral += cold
	size, ok1 := j.EarthingConductor.CSA.Get()
	run, ok2 := j.EarthingConductor.Length.Get()
	if r, _, err := s.rules.Resistance(standard.Copper, standard.Stranded, size); ok1 && ok2 && err == nil {
		back := float64(r.Over(run).At(30))
		p.earth += back
		p.faultEarth += complex(back, 0)
	}
}

// flow is the current of a feeder in one line, and the part of its neutral
// current that drops volts on that line.
//
//	formula  ΔU = Rline × I + Rneutral × (I − (I' + I'')/2), power factor 1
type flow struct{ line, neutral float64 }

// flows returns the flow in every circuit above final c, the tails first, with
// c at its full current and the others held back as their limiters ask.
func (s *site) flows(c *circuit, points []load) [3][]flow {
	currents := make([][3]float64, len(c.above)+1)
	rest := restOf(c.model.Point, points)
	for _, p := range points {
		part := p.share
		switch {
		case p.point == c.model.Point:
			part = 1
		case part < 1 && c.model.Point != nil && p.point.Record.Limiter == c.model.Point.Record.Limiter:
			part = rest
		}
		for k, i := range p.current {
			currents[0][k] += i * part
			for n, up := range c.above {
				if feeds(up.model, p.point.Circuit) {
					currents[n+1][k] += i * part
				}
			}
		}
	}
	for n, up := range c.above {
		add(&currents[n+1], s.model.LoadsOn(up.model.Board).Phase)
	}
	var out [3][]flow
	for k := range out {
		for _, i := range currents {
			out[k] = append(out[k], flow{i[k], i[k] - (i[(k+1)%3]+i[(k+2)%3])/2})
		}
	}
	return out
}

// load is a point with its full current in each line, and the share of it that
// its limiter leaves with all points on.
type load struct {
	point   *model.Point
	current [3]float64
	share   float64
}

// loads returns the points that have a circuit.
func (s *site) loads() []load {
	shares := s.model.Shares()
	var out []load
	for _, p := range s.model.Points {
		if p.Circuit != nil {
			out = append(out, load{p, amperes(s.model.PointCurrents(p).Phase), shares[p]})
		}
	}
	return out
}

// restOf returns the share left for the other points of a limiter while one of
// them takes its full current.
func restOf(full *model.Point, points []load) float64 {
	if full == nil {
		return 1
	}
	var total, others, own float64
	for _, q := range points {
		if q.point.Record.Limiter != full.Record.Limiter {
			continue
		}
		i := max(q.current[0], q.current[1], q.current[2])
		total += q.share * i
		if q.point == full {
			own = i
		} else {
			others += i
		}
	}
	if others <= 0 {
		return 0
	}
	return min(1, max(0, total-own)/others)
}

// feeds reports whether circuit c gets its current through up.
func feeds(up, c *model.Circuit) bool {
	for ; c != nil; c = c.Feed() {
		if c == up {
			return true
		}
	}
	return false
}
