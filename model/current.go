package model

import (
	"fmt"
	"math"
	"math/cmplx"
	"slices"
	"strings"

	"chargewright/finding"
	"chargewright/quantity"
	"chargewright/trade"
	"chargewright/works"
)

// Currents is the design current in each line of a circuit or supply.
type Currents struct {
	Phase [3]quantity.Amperes // in L1, L2, L3; all in Phase[0] where the phase of a single-phase circuit does not matter
	Why   []Share             // what it is made of
	Lacks finding.Lacks       // what keeps it from being known

	line finding.Lacks // of one line's current: what keeps that line from being known
	held []heldBack
}

// Share is a part of a current: what draws it, and how it came about. What is
// not of one load has no Of.
type Share struct{ Of, Says string }

// heldBack is the part of a current that a limiter may hold back: of the points
// that name it, and of nothing else.
type heldBack struct {
	by    string
	phase [3]quantity.Amperes
}

// Known reports whether the currents are known.
func (c Currents) Known() bool { return len(c.Lacks) == 0 }

// Unplaced is what keeps the current, or the line it is in, from being known.
func (c Currents) Unplaced() finding.Lacks { return finding.Gather(c.Lacks, c.line) }

// Greatest returns the current in the most loaded line.
func (c Currents) Greatest() quantity.Amperes { return max(c.Phase[0], c.Phase[1], c.Phase[2]) }

// Neutral returns the fundamental current in the neutral, all loads taken at
// one power factor:
//
//	formula  IN = |I1∠0° + I2∠−120° + I3∠120°|
func (c Currents) Neutral() quantity.Amperes {
	a := cmplx.Rect(1, 2*math.Pi/3)
	sum := complex(float64(c.Phase[0]), 0) + complex(float64(c.Phase[1]), 0)*cmplx.Conj(a) + complex(float64(c.Phase[2]), 0)*a
	return quantity.Amperes(cmplx.Abs(sum))
}

// Says is what the current is made of, one share after the other. Shares that
// are the same of several loads are said once: "CP1, CP2: 32 A".
func (c Currents) Says() string {
	var order []string
	of := map[string][]string{}
	for _, s := range c.Why {
		if of[s.Says] == nil {
			order = append(order, s.Says)
		}
		of[s.Says] = append(of[s.Says], s.Of)
	}
	for i, says := range order {
		if who := strings.Join(of[says], ", "); who != "" {
			order[i] = who + ": " + says
		}
	}
	return strings.Join(order, "; ")
}

func (c *Currents) add(o Currents) {
	for k := range c.Phase {
		c.Phase[k] += o.Phase[k]
	}
	c.Why = append(c.Why, o.Why...)
	c.Lacks = append(c.Lacks, o.Lacks...)
	c.line = append(c.line, o.line...)
	for _, h := range o.held {
		c.mayHold(h.by, h.phase)
	}
}

func (c *Currents) mayHold(by string, phase [3]quantity.Amperes) {
	for i := range c.held {
		if h := &c.held[i]; h.by == by {
			for k := range phase {
				h.phase[k] += phase[k]
			}
			return
		}
	}
	c.held = append(c.held, heldBack{by, phase})
}

// HeldBy returns the part of the current that a limiter may hold back.
func (c Currents) HeldBy(l *works.Limiter) [3]quantity.Amperes {
	for _, h := range c.held {
		if h.by == l.Name {
			return h.phase
		}
	}
	return [3]quantity.Amperes{}
}

// Without returns the part of the current that a limiter cannot hold back.
func (c Currents) Without(l *works.Limiter) Currents {
	for k, i := range c.HeldBy(l) {
		c.Phase[k] -= i
	}
	return c
}

// heldTo is c with a limiter at work: what names it gives way to the rest, down
// to nothing; the rest does not, nor does anything in a line without a clamp.
//
//	counted  the part of c that the current at the limiter's place has besides
func (c Currents) heldTo(l *works.Limiter, counted [3]quantity.Amperes) Currents {
	limit, ok := l.Limit.Get()
	held := c.HeldBy(l)
	if !ok || held == [3]quantity.Amperes{} {
		return c
	}
	c.held = slices.Clone(c.held)
	before := c.Phase
	for k := range c.Phase {
		if free := c.Phase[k] - held[k]; c.Phase[k]+counted[k] > limit && sees(l, k) {
			c.Phase[k] = max(free, limit-counted[k])
			held[k] = c.Phase[k] - free
		}
	}
	for i := range c.held {
		if c.held[i].by == l.Name {
			c.held[i].phase = held
		}
	}
	if c.Phase != before {
		c.Why = append(slices.Clone(c.Why), Share{Says: fmt.Sprintf("held to %v by %s, which is load control and no overload protection", limit, l.Name)})
	}
	return c
}

// sees reports whether a limiter has a clamp on a line, as far as it is said.
func sees(l *works.Limiter, line int) bool {
	on, ok := l.ClampPhases.Get()
	return !ok || on == trade.ThreePhase || LineNumber(on) == line
}

// through is what c comes to in circuit up, which carries it: in one line, all
// of it in that one.
func (c Currents) through(up *Circuit) Currents {
	switch up.PhaseCount() {
	case 3:
		c.Lacks = append(slices.Clone(c.Lacks), c.line...)
		c.line = nil
	case 1:
		var set trade.PhaseSet
		set, c.line = up.lines()
		c.Phase = together(c.Phase, set)
		c.held = slices.Clone(c.held)
		for i := range c.held {
			c.held[i].phase = together(c.held[i].phase, set)
		}
	default:
		c.Lacks = append(slices.Clone(c.Lacks), up.thing.Lack("phases", "phases")...)
	}
	return c
}

func together(phase [3]quantity.Amperes, in trade.PhaseSet) [3]quantity.Amperes {
	return spread(phase[0]+phase[1]+phase[2], in)
}

// spread returns current i in the given lines.
func spread(i quantity.Amperes, lines trade.PhaseSet) [3]quantity.Amperes {
	switch lines {
	case trade.L2:
		return [3]quantity.Amperes{0, i, 0}
	case trade.L3:
		return [3]quantity.Amperes{0, 0, i}
	case trade.ThreePhase:
		return [3]quantity.Amperes{i, i, i}
	}
	return [3]quantity.Amperes{i, 0, 0}
}

// U0 returns the nominal voltage of line to neutral.
func (m *Model) U0() Answer[quantity.Volts] {
	v, ok := m.Job.Supply.Voltage.Get()
	return Answer[quantity.Volts]{Value: v, Lacks: finding.Gather(works.TheSupply.Unless(ok, "voltage", "nominal voltage"), m.Doubted("supply/voltage"))}
}

// preferredCurrents are the ratings charge points are made for, in A per
// phase (IEC 62196-2 and IEC 61851-1 pilot ratings; common practice).
var preferredCurrents = [...]quantity.Amperes{6, 8, 10, 13, 16, 20, 25, 32, 40, 48, 63, 80}

// RatedCurrent returns the current per phase a charge point takes at its
// rating.
//
// A power on a plate is a round name: 7.4 kW, 7.36 kW and 7 kW all name a 32 A
// point. Where the power comes within 6 % below or 1.5 % above a rating that
// charge points are made for, that rating is the current.
func (m *Model) RatedCurrent(p *works.Point) Answer[quantity.Amperes] {
	if i, ok := p.Current.Get(); ok {
		return Answer[quantity.Amperes]{Value: i, Why: "rated current as entered"}
	}
	power, ok := p.Power.Get()
	if !ok {
		return lacking[quantity.Amperes](p.Thing().Lack("power", "rated power or current", "current"))
	}
	phases, ok := p.Phases.Get()
	if !ok {
		return lacking[quantity.Amperes](p.Thing().Lack("phases", "phases, 1 or 3", "current"))
	}
	u0, known := m.U0().Get()
	if !known {
		lacks := m.U0().Lacks
		lacks[0].Or = []string{p.Thing().Path + "/current"} // which settles it without
		return lacking[quantity.Amperes](lacks)
	}
	i := quantity.Amperes(float64(power) / (float64(phases) * float64(u0)))
	for _, preferred := range preferredCurrents {
		if ratio := float64(preferred / i); ratio >= 1/1.015 && ratio <= 1.06 {
			return Answer[quantity.Amperes]{Value: preferred, Why: fmt.Sprintf("%v is the round name of a %v point (%v at %v)", power, preferred,
				PowerAt(phases, u0, preferred), u0)}
		}
	}
	return Answer[quantity.Amperes]{Value: i, Why: fmt.Sprintf("%v over %d × %v", power, phases, u0)}
}

// PowerAt returns the power of a balanced load at unity power factor:
//
//	formula  P = n × U0 × I
func PowerAt(phases int, u0 quantity.Volts, i quantity.Amperes) quantity.Watts {
	return quantity.Watts(float64(phases) * float64(u0) * float64(i))
}

// PointCurrents returns the design current of a charge point, in full: no
// diversity is allowed (BS 7671 722.311). A point set to a lower limit counts
// with that limit.
func (m *Model) PointCurrents(p *Point) Currents {
	rated, at := m.RatedCurrent(p.Record), p.Record.Thing().Path
	if lacks := finding.Gather(rated.Lacks, m.Doubted(at+"/phases"), m.Doubted(at+"/current")); len(lacks) > 0 {
		return Currents{Lacks: lacks}
	}
	i, why := rated.Value, rated.Why
	if limit, ok := p.Record.Limit.Get(); ok && limit < i {
		i, why = limit, fmt.Sprintf("set to %v, below its rating of %v", limit, i)
	}
	set, unplaced := m.lines(p)
	out := Currents{Phase: spread(i, set), Why: []Share{{p.Record.Name, fmt.Sprintf("%v (%s)", i, why)}}, line: unplaced}
	if name := p.Record.Limiter; name != "" && name != "none" {
		out.held = []heldBack{{name, out.Phase}}
	}
	return out
}

// lines returns the line conductors that serve a point, and what keeps them
// from being known.
func (m *Model) lines(p *Point) (trade.PhaseSet, finding.Lacks) {
	n, said := p.Record.Phases.Get()
	switch {
	case p.Circuit != nil:
		return p.Circuit.lines()
	case said && n == 3:
		return trade.ThreePhase, nil
	case m.oneLine():
		return trade.L1, nil
	}
	return trade.L1, m.NoCircuit(p)
}

// oneLine reports that the supply has one line, whatever the record calls it
// further in.
func (m *Model) oneLine() bool { return m.Job.Supply.Phases.Or(0) == 1 }

// LoadCurrents returns the full-load current of an existing load.
func (m *Model) LoadCurrents(l *works.Load) Currents {
	if lacks := finding.Gather(m.Doubted(l.Thing().Path+"/phases"), m.Doubted(l.Thing().Path+"/current")); len(lacks) > 0 {
		return Currents{Lacks: lacks}
	}
	lines, ok := l.Phases.Get()
	var unplaced finding.Lacks
	switch feed := m.feedOf[l]; {
	case lines == trade.ThreePhase:
	case m.oneLine():
		lines = trade.L1
	case feed != nil && feed.PhaseCount() == 1:
		lines, unplaced = feed.lines()
	case !ok:
		return Currents{Lacks: l.Thing().Lack("phases", "which phases it is on")}
	}
	if i, ok := l.Current.Get(); ok {
		return Currents{Phase: spread(i, lines), Why: []Share{{l.Name, i.String()}}, line: unplaced}
	}
	power, ok := l.Power.Get()
	if !ok {
		return Currents{Lacks: l.Thing().Lack("current", "current or power", "power")}
	}
	u0, known := m.U0().Get()
	if !known {
		return Currents{Lacks: m.U0().Lacks}
	}
	pf, ok := l.PowerFactor.Get()
	if !ok {
		switch l.Kind.Or(trade.OtherLoad) {
		case trade.Cooker, trade.Shower, trade.WaterHeater, trade.Storage, trade.Heating:
			pf = 1 // a heating element
		default:
			return Currents{Lacks: l.Thing().Lack("power factor", "power factor, or the current on its plate", "current", "kind")}
		}
	}
	i := quantity.Amperes(float64(power) / (float64(lines.Count()) * float64(u0) * pf))
	return Currents{Phase: spread(i, lines), Why: []Share{{l.Name, fmt.Sprintf("%v at power factor %.2g is %v", power, pf, i)}}, line: unplaced}
}

// DesignCurrents returns the design current Ib of a circuit in each line: what
// is entered for it; else what it feeds, points in full and loads at full
// load, held to a limiter's limit where one limits the board it feeds.
func (c *Circuit) DesignCurrents() Currents { return c.ib }

func (c *Circuit) designCurrents() Currents {
	if lacks := c.model.Doubted(c.thing.Path + "/phases"); len(lacks) > 0 {
		return Currents{Lacks: lacks}
	}
	fed := c.FedCurrents()
	i, ok := c.Record.Current.Get()
	if !ok {
		return fed
	}
	set, unplaced := c.lines()
	out := Currents{Phase: spread(i, set), Why: []Share{{Says: fmt.Sprintf("design current as entered: %v", i)}}, line: unplaced}
	if !fed.Known() {
		return out
	}
	room := out.Phase // what nothing holds back is counted first
	for k := range room {
		room[k] -= fed.Phase[k]
	}
	for _, h := range fed.held {
		for k := range room {
			room[k] += h.phase[k]
		}
	}
	for _, h := range fed.held {
		for k := range room {
			h.phase[k] = min(h.phase[k], max(0, room[k]))
			room[k] -= h.phase[k]
		}
		out.mayHold(h.by, h.phase)
	}
	return out
}

// FedCurrents returns the current of what the circuit feeds, whatever design
// current is entered for it.
func (c *Circuit) FedCurrents() Currents {
	switch {
	case c.Point != nil:
		return c.model.PointCurrents(c.Point)
	case c.Load != nil:
		return c.model.LoadCurrents(c.Load)
	case c.Board != nil:
		sum := c.model.boardCurrents(c.Board)
		if l := c.model.boardLimiter(c.Board); l != nil {
			sum = sum.heldTo(l, [3]quantity.Amperes{})
		}
		return sum.through(c)
	case c.Source() != nil:
		return c.Source().Currents()
	}
	return Currents{Lacks: c.thing.Lack("to", "what it feeds", "design current")}
}

// Lines returns the line conductors of the circuit.
func (c *Circuit) Lines() trade.PhaseSet {
	set, _ := c.lines()
	return set
}

// lines returns the line conductors of the circuit, and what keeps them from
// being known. Behind a feeder, or on a supply, of one line all is in that one,
// whatever the record calls it.
func (c *Circuit) lines() (trade.PhaseSet, finding.Lacks) {
	if c.PhaseCount() == 3 {
		return trade.ThreePhase, nil
	}
	if c.model.oneLine() {
		return trade.L1, nil
	}
	set, lacks := trade.L1, c.thing.Lack("phases", "which line it is on")
	for up := c; up != nil; up = up.Feed() {
		if p, ok := up.Record.Phases.Get(); ok && p.Count() == 1 {
			set, lacks = p, nil
		}
	}
	return set, lacks
}

// LineNumber returns which line a single-phase set is, counted from 0.
func LineNumber(p trade.PhaseSet) int {
	switch p {
	case trade.L2:
		return 1
	case trade.L3:
		return 2
	}
	return 0
}
