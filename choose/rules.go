package choose

// The rules a pair of cable and device must meet in its place. Each is the
// closed form of a requirement of package design, and never stricter than it.

import (
	"math"
	"math/cmplx"

	"chargewright/quantity"
)

// place is what a circuit finds at the board it starts from: everything that
// the feeders chosen above it make of it.
type place struct {
	path       []*pair    // feeders from the origin
	drop       [3]float64 // tabulated, V in each line
	line, back complex128 // Ω at operating temperature, supply included
	line20     complex128
	neutral20  complex128
	back20     complex128
	fault      float64 // greatest prospective, A
}

// origin is the place of the board at the origin.
func (s *site) origin() *place {
	p := &s.supply
	return &place{line: complex(p.line, 0), back: complex(p.earth, 0), line20: p.faultLine, neutral20: p.faultNeutral, back20: p.faultEarth, fault: p.ipf}
}

// beyond returns the place at the far end of feeder c with a pair in it.
func (s *site) beyond(c *circuit, x *pair, at *place) *place {
	next := &place{path: append(at.path[:len(at.path):len(at.path)], x), drop: at.drop,
		line: at.line + x.line, back: at.back + x.run.cpc, line20: at.line20 + x.line20, neutral20: at.neutral20 + x.neutral20, back20: at.back20 + x.cpc20}
	for k := range next.drop {
		i := c.current[k]
		if c.phases == 1 {
			i = c.ib
		}
		next.drop[k] += x.perAmp * i
	}
	next.fault = s.supply.u0 / cmplx.Abs(next.line20+next.neutral20)
	next.fault = max(next.fault, s.supply.u0/cmplx.Abs(next.line20+next.back20))
	if c.phases == 3 {
		next.fault = max(next.fault, s.supply.u0/cmplx.Abs(next.line20))
	}
	return next
}

// drop returns the tabulated volt drop from the origin to the end of c, as
// package design has it: along L1 for a three-phase circuit. What an unbalanced
// feeder adds on another line is the solved drop's to say.
func (c *circuit) drop(x *run, at *place) float64 {
	k := c.lines[0]
	i := c.current[k]
	if c.phases == 1 {
		i = c.ib
	}
	return at.drop[k] + x.perAmp*i
}

// modest is what the estimate of the solved volt drop is multiplied by, so that
// it never says more than the network does: the estimate adds resistive drops
// along one line and leaves out reactance and angles. A test compares the two.
const modest = 0.96

// solvedDrop returns an estimate of the volt drop that the network gives, on
// the low side, the unbalance of the feeders' lines in it.
func (s *site) solvedDrop(c *circuit, x *run, at *place) float64 {
	worst := 0.0
	for _, k := range c.lines {
		f := c.flows[k]
		v := s.supply.tail * (f[0].line + f[0].neutral)
		for n, up := range at.path {
			v += real(up.run.line)*f[n+1].line + real(up.neutral)*f[n+1].neutral
		}
		v += real(x.line) * c.ib
		if c.phases == 1 {
			v += real(x.neutral) * c.ib
		}
		worst = max(worst, v)
	}
	return modest * worst
}

// loop returns the earth fault loop at the end of c.
func (s *site) loop(x *run, at *place, m *mode) float64 {
	if m.own {
		return cmplx.Abs(at.line + x.line + complex(m.ra, 0))
	}
	return cmplx.Abs(at.line + x.line + at.back + x.cpc)
}

// suits holds a pair to the rules that need nothing of what stands above it.
func (c *circuit) suits(x *pair) bool {
	carries := x.carries
	if x.guard.semi {
		carries = x.run.semi
	}
	if !(c.ib <= x.rated*(1+slack)) || !(x.rated <= carries*(1+slack)) {
		return false
	}
	if c.model.Point != nil && (!(c.ib <= x.rated*c.diversity*(1+slack)) || !(x.rated <= c.greatest*(1+slack))) {
		return false
	}
	return !c.final() || x.perAmp*c.ib <= c.dropLimit*(1+slack)
}

// slack is the rounding within which two sums count as equal.
const slack = 1e-9

// holds reports whether a pair meets every rule in its place.
func (s *site) holds(c *circuit, x *pair, at *place, m *mode) bool {
	if x.guard.row.Capacity < at.fault*(1-slack) {
		return false
	}
	if c.final() {
		if c.drop(x.run, at) > c.dropLimit*(1+slack) || s.solvedDrop(c, x.run, at) > c.dropLimit*(1+slack) {
			return false
		}
	}
	zs := s.loop(x.run, at, m)
	if !(zs <= s.greatestLoop(x.guard, m)*(1+slack)) {
		return false
	}
	if s.farEnergy(x.guard, zs) > x.withstands*(1+slack) || s.nearEnergy(x.guard, at.fault) > x.withstands*(1+slack) {
		return false
	}
	return len(s.struck) == 0 || !s.struck[s.mark(c, x, at, m)]
}

// greatestLoop returns the greatest Zs at which the fault is cut off in time.
func (s *site) greatestLoop(g *guard, m *mode) float64 {
	if !m.own && s.supply.system.IsTN() {
		return g.maxZs
	}
	if g.trips <= 0 {
		return 0
	}
	return s.supply.touch / g.trips
}

// Margin is how a rule stands in one circuit.
type Margin struct {
	Rule  string  `json:"rule"`
	Value float64 `json:"value"`
	Limit float64 `json:"limit"`
	Room  float64 `json:"room"` // negative where the rule is not met
	Unit  string  `json:"unit"`
}

// Show prints a figure of the rule as the trade writes it.
func (m Margin) Show(v float64) string {
	switch m.Unit {
	case "A":
		return quantity.Amperes(v).String()
	case "V":
		return quantity.Volts(v).String()
	case "Ω":
		return quantity.Ohms(v).String()
	case "s":
		return quantity.Seconds(v).String()
	}
	return quantity.AmpereSquaredSeconds(v).String()
}

// String prints the rule with its value and its limit.
func (m Margin) String() string {
	return m.Rule + " " + m.Show(m.Value) + " of " + m.Show(m.Limit)
}

// share returns the room as a share of the limit, which ranks rules of
// different units.
func (m Margin) share() float64 {
	if m.Limit == 0 {
		return m.Room
	}
	return m.Room / math.Abs(m.Limit)
}

// margins returns every rule of a pair in its place, met or not.
func (s *site) margins(c *circuit, x *pair, at *place, m *mode) []Margin {
	carries := x.carries
	if x.guard.semi {
		carries = x.run.semi
	}
	var out []Margin
	most := func(rule string, value, limit float64, unit string) {
		out = append(out, Margin{rule, value, limit, limit - value, unit})
	}
	most("design current", c.ib, x.rated, "A")
	most("cable rating", x.rated, carries, "A")
	if c.model.Point != nil {
		most("heat beside its neighbours", c.ib, x.rated*c.diversity, "A")
		most("point's greatest device", x.rated, c.greatest, "A")
	}
	if c.final() {
		most("volt drop", max(c.drop(x.run, at), s.solvedDrop(c, x.run, at)), c.dropLimit, "V")
	}
	zs := s.loop(x.run, at, m)
	rule := "disconnection"
	if m.own || !s.supply.system.IsTN() {
		rule = "disconnection by RCD"
	}
	most(rule, zs, s.greatestLoop(x.guard, m), "Ω")
	most("breaking capacity", at.fault, x.guard.row.Capacity, "A")
	far := s.farEnergy(x.guard, zs)
	if math.IsInf(far, 1) {
		most("time to cut off a fault at the far end", s.cutOff(x.guard, zs), s.limit("adiabatic longest"), "s")
		far = 0
	}
	near := s.nearEnergy(x.guard, at.fault)
	if math.IsInf(near, 1) { // nothing tabulated settles it
		near = at.fault * at.fault * 0.1
		out = append(out, Margin{"let-through energy known for so small a conductor", near, x.withstands, min(-1, x.withstands-near), "A²s"})
	}
	most("fault energy", max(far, near), x.withstands, "A²s")
	return out
}

// short returns the rule of ms that is missed by the greatest share.
func short(ms []Margin) (Margin, bool) {
	var worst Margin
	found := false
	for _, m := range ms {
		if m.Room < -slack*math.Abs(m.Limit) && (!found || m.share() < worst.share()) {
			worst, found = m, true
		}
	}
	return worst, found
}
