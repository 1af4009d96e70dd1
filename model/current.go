package model

import (
	"fmt"
	"math"
	"math/cmplx"
	"sort"

	"chargewright/finding"
	"chargewright/job"
	"chargewright/quantity"
)

// Currents is the design current in each line of a circuit or supply.
type Currents struct {
	Phase [3]quantity.Amperes // in L1, L2, L3; all in Phase[0] where the phase of a single-phase circuit does not matter
	Why   []string            // what it is made of
	Lacks finding.Lacks       // what keeps it from being known
}

// Known reports whether the currents are known.
func (c Currents) Known() bool { return len(c.Lacks) == 0 }

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

func (c *Currents) add(o Currents) {
	for k := range c.Phase {
		c.Phase[k] += o.Phase[k]
	}
	c.Why = append(c.Why, o.Why...)
	c.Lacks = append(c.Lacks, o.Lacks...)
}

// spread returns current i in the given lines.
func spread(i quantity.Amperes, lines job.PhaseSet) [3]quantity.Amperes {
	switch lines {
	case job.L2:
		return [3]quantity.Amperes{0, i, 0}
	case job.L3:
		return [3]quantity.Amperes{0, 0, i}
	case job.ThreePhase:
		return [3]quantity.Amperes{i, i, i}
	}
	return [3]quantity.Amperes{i, 0, 0}
}

// U0 returns the nominal voltage of line to neutral.
func (m *Model) U0() Answer[quantity.Volts] {
	v, ok := m.Job.Supply.Voltage.Get()
	return Answer[quantity.Volts]{Value: v, Lacks: job.TheSupply.Unless(ok, "voltage", "nominal voltage")}
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
func (m *Model) RatedCurrent(p *job.Point) Answer[quantity.Amperes] {
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
				quantity.Watts(float64(phases)*float64(u0)*float64(preferred)), u0)}
		}
	}
	return Answer[quantity.Amperes]{Value: i, Why: fmt.Sprintf("%v over %d × %v", power, phases, u0)}
}

// PointCurrents returns the design current of a charge point, in full: no
// diversity is allowed (BS 7671 722.311). A point set to a lower limit counts
// with that limit.
func (m *Model) PointCurrents(p *Point) Currents {
	rated := m.RatedCurrent(p.Record)
	if !rated.Known() {
		return Currents{Lacks: rated.Lacks}
	}
	i, why := rated.Value, rated.Why
	if limit, ok := p.Record.Limit.Get(); ok && limit < i {
		i, why = limit, fmt.Sprintf("set to %v, below its rating of %v", limit, i)
	}
	return Currents{Phase: spread(i, m.lines(p)), Why: []string{fmt.Sprintf("%s: %v (%s)", p.Record.Name, i, why)}}
}

// lines returns the line conductors that serve a point.
func (m *Model) lines(p *Point) job.PhaseSet {
	if p.Circuit != nil {
		if l, ok := p.Circuit.Record.Phases.Get(); ok {
			return l
		}
	}
	if n, ok := p.Record.Phases.Get(); ok && n == 3 {
		return job.ThreePhase
	}
	return job.L1
}

// LoadCurrents returns the full-load current of an existing load.
func (m *Model) LoadCurrents(l *job.Load) Currents {
	lines, ok := l.Phases.Get()
	if !ok {
		if n, known := m.Job.Supply.Phases.Get(); known && n == 1 {
			lines = job.L1
		} else {
			return Currents{Lacks: l.Thing().Lack("phases", "which phases it is on")}
		}
	}
	if i, ok := l.Current.Get(); ok {
		return Currents{Phase: spread(i, lines), Why: []string{fmt.Sprintf("%s: %v", l.Name, i)}}
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
		switch l.Kind.Or(job.OtherLoad) {
		case job.Cooker, job.Shower, job.WaterHeater, job.Storage, job.Heating:
			pf = 1 // a heating element
		default:
			return Currents{Lacks: l.Thing().Lack("power factor", "power factor, or the current on its plate", "current", "kind")}
		}
	}
	i := quantity.Amperes(float64(power) / (float64(lines.Count()) * float64(u0) * pf))
	return Currents{Phase: spread(i, lines), Why: []string{fmt.Sprintf("%s: %v at power factor %.2g is %v", l.Name, power, pf, i)}}
}

// DesignCurrents returns the design current Ib of a circuit in each line: what
// is entered for it; else what it feeds, points in full and loads at full
// load, held to a limiter's limit where one limits the board it feeds.
func (c *Circuit) DesignCurrents() Currents { return c.ib }

func (c *Circuit) designCurrents() Currents {
	if i, ok := c.Record.Current.Get(); ok {
		return Currents{Phase: spread(i, c.Lines()), Why: []string{fmt.Sprintf("design current as entered: %v", i)}}
	}
	return c.FedCurrents()
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
		if l := c.model.limiterAt(c.Board.Record.Name); l != nil {
			if limit, ok := l.Limit.Get(); ok && limit < sum.Greatest() {
				for k := range sum.Phase {
					sum.Phase[k] = min(sum.Phase[k], limit)
				}
				sum.Why = append(sum.Why, fmt.Sprintf("held to %v by %s", limit, l.Name))
				sum.Lacks = nil
			}
		}
		return sum
	}
	return Currents{Lacks: c.thing.Lack("to", "what it feeds", "design current")}
}

// Lines returns the line conductors of the circuit.
func (c *Circuit) Lines() job.PhaseSet {
	if l, ok := c.Record.Phases.Get(); ok {
		return l
	}
	if c.PhaseCount() == 3 {
		return job.ThreePhase
	}
	return job.L1
}

// LineNumber returns which line a single-phase set is, counted from 0.
func LineNumber(p job.PhaseSet) int {
	switch p {
	case job.L2:
		return 1
	case job.L3:
		return 2
	}
	return 0
}

func (m *Model) boardCurrents(b *Board) Currents {
	var sum Currents
	for _, c := range b.Circuits {
		sum.add(c.ib)
	}
	for _, l := range b.Loads {
		sum.add(m.LoadCurrents(l))
	}
	return sum
}

func (m *Model) limiterAt(place string) *job.Limiter {
	for i := range m.Job.Limiters {
		if m.Job.Limiters[i].At == place {
			return &m.Job.Limiters[i]
		}
	}
	return nil
}

// SupplyLimiter returns the limiter that holds the supply's current, if any.
func (m *Model) SupplyLimiter() *job.Limiter {
	if l := m.limiterAt("supply"); l != nil {
		return l
	}
	if b := m.OriginBoard(); b != nil {
		return m.limiterAt(b.Record.Name)
	}
	return nil
}

// ExistingDemand returns the current in each line before the charge points:
// as measured or declared at the origin; else the loads of the record reduced
// by the published allowances for the premises.
func (m *Model) ExistingDemand() Currents { return m.existing }

func (m *Model) findExisting() Currents {
	if i, ok := m.Job.Supply.Demand.Value.Get(); ok {
		how := m.Job.Supply.Demand.KnownBy.String()
		n := job.L1
		if p, ok := m.Job.Supply.Phases.Get(); ok && p == 3 {
			n = job.ThreePhase
		}
		return Currents{Phase: spread(i, n), Why: []string{fmt.Sprintf("maximum demand before the charge points %v (how known: %s)", i, how)}}
	}
	if len(m.Job.Loads) == 0 {
		return Currents{Lacks: job.TheSupply.Lack("maximum demand", "maximum demand, measured or declared, or the loads it is made of")}
	}
	return m.allowedDemand()
}

// allowedDemand reduces the loads by the published allowances, phase by phase.
func (m *Model) allowedDemand() Currents {
	var out Currents
	premises := string(m.Job.Site.Premises.Or(job.Workplace))
	if !m.Job.Site.Premises.IsKnown() {
		m.assume("diversity of existing loads: a workplace, since the kind of premises is not said")
	}
	byKind := map[job.LoadKind][][3]quantity.Amperes{}
	for i := range m.Job.Loads {
		l := &m.Job.Loads[i]
		cur := m.LoadCurrents(l)
		if !cur.Known() {
			out.Lacks = append(out.Lacks, cur.Lacks...)
			continue
		}
		kind := l.Kind.Or(job.OtherLoad)
		byKind[kind] = append(byKind[kind], cur.Phase)
		out.Why = append(out.Why, cur.Why...)
	}
	for _, kind := range sortedKinds(byKind) {
		for phase := range 3 {
			var full []quantity.Amperes
			for _, p := range byKind[kind] {
				if p[phase] > 0 {
					full = append(full, p[phase])
				}
			}
			sort.Slice(full, func(i, k int) bool { return full[i] > full[k] })
			out.Phase[phase] += m.allow(premises, kind, full)
		}
	}
	return out
}

func sortedKinds(byKind map[job.LoadKind][][3]quantity.Amperes) []job.LoadKind {
	var kinds []job.LoadKind
	for k := range byKind {
		kinds = append(kinds, k)
	}
	sort.Slice(kinds, func(i, k int) bool { return kinds[i] < kinds[k] })
	return kinds
}

// allow applies the published allowance for loads of one kind in one line,
// largest first. A kind without an allowance counts in full.
func (m *Model) allow(premises string, kind job.LoadKind, full []quantity.Amperes) quantity.Amperes {
	a, _, err := m.Rules.Diversity(premises, string(kind))
	var sum quantity.Amperes
	for i, load := range full {
		switch {
		case err != nil:
			sum += load
		case a.FirstAmperes > 0:
			sum += min(load, a.FirstAmperes) + quantity.Amperes(a.Excess)*max(0, load-a.FirstAmperes)
		case i == 0:
			sum += quantity.Amperes(a.Largest) * load
		case i == 1:
			sum += quantity.Amperes(a.Second) * load
		default:
			sum += quantity.Amperes(a.Rest) * load
		}
	}
	return sum
}

// SupplyDemand is the current the supply must carry, with the points on top.
type SupplyDemand struct {
	Existing  Currents
	Points    Currents // all points in full
	Total     Currents // existing and points, held to the limiter's limit where one holds it
	Limiter   *job.Limiter
	Unlimited quantity.Amperes // greatest line current if the limiter did nothing
}

// SupplyDemand returns the demand on the supply with every point in full, and
// with load limiting taken into account (BS 7671 722.311): a limiter holds back
// the points it controls and nothing else, at the supply or at a board.
func (m *Model) SupplyDemand() SupplyDemand {
	d := SupplyDemand{Existing: m.ExistingDemand(), Limiter: m.SupplyLimiter()}
	for _, p := range m.Points {
		d.Points.add(m.PointCurrents(p))
	}
	d.Total.Lacks = finding.Gather(d.Existing.Lacks, d.Points.Lacks)
	limit, limited := quantity.Amperes(math.Inf(1)), false
	if d.Limiter != nil {
		if l, ok := d.Limiter.Limit.Get(); ok {
			limit, limited = l, true
		} else {
			d.Total.Lacks = append(d.Total.Lacks, d.Limiter.Thing().Lack("limit", "limit")...)
		}
	}
	var controlled, free [3]quantity.Amperes
	for _, b := range m.Boards {
		if b.Feed == nil {
			m.pointsOn(b, d.Limiter, &controlled, &free)
		}
	}
	for _, p := range m.Points {
		if p.Circuit == nil || p.Circuit.From == nil {
			m.countPoint(p, d.Limiter, &controlled, &free)
		}
	}
	for k := range d.Total.Phase {
		others := d.Existing.Phase[k] + free[k]
		whole := others + controlled[k]
		d.Unlimited = max(d.Unlimited, d.Existing.Phase[k]+d.Points.Phase[k])
		if limited && whole > limit {
			whole = max(others, limit)
		}
		d.Total.Phase[k] = whole
	}
	return d
}

// pointsOn adds the currents of the points fed from board b to controlled,
// where the supply's limiter holds them, or to free. A limiter at the board
// itself first holds its own points to what its limit leaves.
func (m *Model) pointsOn(b *Board, supply *job.Limiter, controlled, free *[3]quantity.Amperes) {
	var mine, others [3]quantity.Amperes
	for _, c := range b.Circuits {
		switch {
		case c.Board != nil:
			m.pointsOn(c.Board, supply, &mine, &others)
		case c.Point != nil:
			m.countPoint(c.Point, supply, &mine, &others)
		}
	}
	if own := m.limiterAt(b.Record.Name); own != nil && own != supply {
		if limit, ok := own.Limit.Get(); ok {
			loads := m.LoadsOn(b)
			for k := range others {
				others[k] = min(others[k], max(0, limit-loads.Phase[k]-mine[k]))
			}
		}
	}
	for k := range mine {
		controlled[k] += mine[k]
		free[k] += others[k]
	}
}

func (m *Model) countPoint(p *Point, supply *job.Limiter, controlled, free *[3]quantity.Amperes) {
	into := free
	if supply != nil && p.Record.Limiter == supply.Name {
		into = controlled
	}
	for k, i := range m.PointCurrents(p).Phase {
		into[k] += i
	}
}

// LoadsOn sums the loads fed from board b and the boards beyond it.
func (m *Model) LoadsOn(b *Board) Currents {
	var sum Currents
	for _, l := range b.Loads {
		sum.add(m.LoadCurrents(l))
	}
	for _, c := range b.Circuits {
		switch {
		case c.Board != nil:
			sum.add(m.LoadsOn(c.Board))
		case c.Load != nil:
			sum.add(m.LoadCurrents(c.Load))
		}
	}
	return sum
}
