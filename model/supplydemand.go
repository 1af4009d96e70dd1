package model

// What flows where the circuits come together: at a board, at the place of a
// limiter, and at the supply before and with the charge points.

import (
	"fmt"
	"slices"
	"sort"

	"chargewright/finding"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/trade"
	"chargewright/works"
)

// boardCurrents sums what the circuits and loads of a board draw by design.
func (m *Model) boardCurrents(b *Board) Currents {
	var sum Currents
	for _, c := range b.Circuits {
		if c.Source() == nil { // what it gives is no demand
			sum.add(c.ib)
		}
	}
	for _, l := range b.Loads {
		sum.add(m.LoadCurrents(l))
	}
	sum.Lacks = append(sum.Lacks, m.unplaced(b)...)
	return sum
}

// unplaced is what may be fed from board b, for all the record says: circuits
// without a beginning, points without a circuit, loads on no board.
func (m *Model) unplaced(b *Board) finding.Lacks {
	var lacks finding.Lacks
	for _, c := range m.Circuits {
		if c.From == nil && (c.Board != nil || c.Point != nil || c.Load != nil) && (c.Board == nil || !feeds(b, c.Board)) {
			lacks = append(lacks, c.thing.Lack("from", "the board it starts at")...)
		}
	}
	for _, p := range m.Points {
		if p.Circuit == nil {
			lacks = append(lacks, m.NoCircuit(p)...)
		}
	}
	for i := range m.Job.Loads {
		if l := &m.Job.Loads[i]; !m.isPlaced[l] {
			lacks = append(lacks, l.Thing().Lack("board", "the board it is fed from")...)
		}
	}
	return lacks
}

// limiterAt returns the limiter at a place; of several the first, since what
// two do together is not reckoned.
func (m *Model) limiterAt(place string) *works.Limiter {
	for i := range m.Job.Limiters {
		if m.Job.Limiters[i].At == place {
			return &m.Job.Limiters[i]
		}
	}
	return nil
}

// SupplyLimiter returns the limiter that holds the supply's current, if any:
// one at the supply, or at the board that carries all of it.
func (m *Model) SupplyLimiter() *works.Limiter {
	if l := m.limiterAt("supply"); l != nil {
		return l
	}
	var only *Board
	for _, b := range m.Boards {
		if b.Feed == nil {
			if only != nil {
				return nil
			}
			only = b
		}
	}
	if only == nil || only.Record.FedFrom != "supply" {
		return nil
	}
	return m.limiterAt(only.Record.Name)
}

// boardLimiter returns the limiter at a board, unless it is the supply's.
func (m *Model) boardLimiter(b *Board) *works.Limiter {
	if l := m.limiterAt(b.Record.Name); l != m.SupplyLimiter() {
		return l
	}
	return nil
}

// AtLimiter returns the greatest current at the place of a limiter with nothing
// held back by it: what it cannot hold back, loads and points, and its own
// points in full.
func (m *Model) AtLimiter(l *works.Limiter) Currents {
	if l.At == "" {
		return Currents{Lacks: l.Thing().Lack("at", "the supply or the board it is at")}
	}
	if b := m.board(l.At); b != nil && m.SupplyLimiter() != l {
		sum := m.boardCurrents(b)
		if b.Feed != nil {
			sum = sum.through(b.Feed)
		}
		if !m.allLoads(b) {
			sum.Lacks = append(sum.Lacks, b.Record.Thing().Lack("all loads entered", "whether every load it feeds is entered under loads")...)
		}
		return sum
	}
	sum := m.atSupply()
	sum.add(m.ExistingDemand())
	return sum
}

// Through reports whether the current of a point passes the place of a limiter,
// and what keeps that from being known.
func (m *Model) Through(l *works.Limiter, p *Point) (bool, finding.Lacks) {
	switch {
	case l == m.SupplyLimiter() || l.At == "supply":
		return true, nil
	case l.At == "":
		return false, l.Thing().Lack("at", "the supply or the board it is at")
	case p.Circuit == nil:
		return false, m.NoCircuit(p)
	}
	for c := p.Circuit; c != nil; c = c.Feed() {
		if c.From == nil {
			return false, c.thing.Lack("from", "the board it starts at")
		}
		if c.From.Record.Name == l.At {
			return true, nil
		}
	}
	return false, nil
}

func (m *Model) board(name string) *Board {
	for _, b := range m.Boards {
		if b.Record.Name == name {
			return b
		}
	}
	return nil
}

// allLoads reports whether every load behind a board is said to be entered, at
// the board or at one ahead of it.
func (m *Model) allLoads(b *Board) bool {
	for ; b != nil; b = b.Feed.From {
		if b.Record.AllLoads.Or(false) {
			return true
		}
		if b.Feed == nil {
			break
		}
	}
	return false
}

// NotAllLoads is what keeps the design current of a sub-main from being all that
// it carries: loads behind it that may not be entered. A design current that is
// entered is somebody's word for all of them.
func (m *Model) NotAllLoads(c *Circuit) finding.Lacks {
	if c.Board == nil || c.Record.Current.IsKnown() || m.allLoads(c.Board) {
		return nil
	}
	lacks := c.Board.Record.Thing().Lack("all loads entered", "whether every load it feeds is entered under loads")
	return besides(lacks, []string{c.thing.Path + "/design current"})
}

// ExistingDemand returns the current in each line before the charge points:
// what is entered as measured, declared or reckoned; else the loads of the
// record reduced by the published allowances, where they are all there are.
func (m *Model) ExistingDemand() Currents { return m.existing }

func (m *Model) findExisting() Currents {
	s := &m.Job.Supply
	phases, said := s.Phases.Get()
	if i, ok := s.Demand.Value.Get(); ok {
		lines := trade.L1
		if phases == 3 {
			lines = trade.ThreePhase
		}
		out := Currents{Phase: spread(i, lines), Why: []Share{{Says: fmt.Sprintf("maximum demand before the charge points %v (%s)", i, m.DemandSource())}},
			Lacks: works.TheSupply.Unless(said, "phases", "phases")}
		out.add(m.fedMeanwhile())
		return out
	}
	if len(m.Job.Loads) == 0 && !m.isAllEntered() {
		return Currents{Lacks: works.TheSupply.Lack("maximum demand", "maximum demand, measured or declared, or the loads it is made of")}
	}
	out := Currents{}
	a := m.AllowedDemand()
	out.Phase, out.Lacks = a.Sum(), finding.Gather(a.Lacks, a.Open)
	for i := range m.Job.Loads {
		out.Why = append(out.Why, m.LoadCurrents(&m.Job.Loads[i]).Why...)
	}
	return out
}

// DemandSource says how the demand before the points is known: how it was
// found, when, and by whom.
func (m *Model) DemandSource() string {
	d := &m.Job.Supply.Demand
	if !d.Value.IsKnown() {
		return "the loads entered, by the published allowances"
	}
	how, ok := d.KnownBy.Get()
	text := "how it is known is not said"
	if ok {
		text = string(how)
	}
	if d.When != "" {
		text += " " + d.When
	}
	if d.Who != "" {
		text += " by " + d.Who
	}
	return text
}

// isAllEntered reports whether the loads entered are said to be all there are.
func (m *Model) isAllEntered() bool {
	for _, b := range m.Boards {
		if b.Feed == nil && !b.Record.AllLoads.Or(false) {
			return false
		}
	}
	return len(m.Boards) > 0
}

// LessThanFound returns the greatest line current of the recorded loads, all in
// full, where they are said to be all there are and more was found to flow.
func (m *Model) LessThanFound() (quantity.Amperes, bool) {
	found, ok := m.Job.Supply.Demand.Value.Get()
	var full Currents
	for i := range m.Job.Loads {
		full.add(m.LoadCurrents(&m.Job.Loads[i]))
	}
	ok = ok && m.isAllEntered() && full.Known() && (len(full.line) == 0 || m.oneLine())
	return full.Greatest(), ok && found > full.Greatest()
}

// Allowed is the demand of the recorded loads by the published allowances.
type Allowed struct {
	Kinds []AllowedKind
	Lacks finding.Lacks // what keeps it from being known
	Open  finding.Lacks // what keeps it from being all: loads that may not be entered
}

// AllowedKind is the loads of one kind.
type AllowedKind struct {
	Kind    trade.LoadKind
	Full    [3]quantity.Amperes
	Allowed [3]quantity.Amperes
	Cite    standard.Citation
	Tabled  bool // whether an allowance is published; if not, it counts in full
}

// AllowedDemand reduces the loads of the record by the published allowances for
// the premises, phase by phase. It is a demand only where all are entered; it is
// no less where they are not.
func (m *Model) AllowedDemand() Allowed {
	out := m.allowed(func(*works.Load) bool { return true })
	for _, b := range m.Boards {
		if b.Feed == nil && !b.Record.AllLoads.Or(false) {
			lack := b.Record.Thing().Lack("all loads entered", "whether every load it feeds is entered under loads; or the supply's maximum demand, measured")
			lack[0].Or = []string{works.TheSupply.Path + "/maximum demand"}
			out.Open = append(out.Open, lack...)
		}
	}
	if len(m.Boards) == 0 {
		out.Open = append(out.Open, works.TheSupply.Lack("maximum demand", "maximum demand, measured or declared, or the loads it is made of")...)
	}
	return out
}

// allowed reduces some of the loads.
func (m *Model) allowed(of func(*works.Load) bool) Allowed {
	var out Allowed
	premises, said := m.Job.Site.Premises.Get()
	byKind := map[trade.LoadKind][][3]quantity.Amperes{}
	for i := range m.Job.Loads {
		l := &m.Job.Loads[i]
		if !of(l) {
			continue
		}
		cur := m.LoadCurrents(l)
		if out.Lacks = append(out.Lacks, cur.Lacks...); !m.oneLine() {
			out.Lacks = append(out.Lacks, cur.line...)
		}
		kind := l.Kind.Or(trade.OtherLoad)
		byKind[kind] = append(byKind[kind], cur.Phase)
	}
	if len(byKind) > 0 {
		out.Lacks = append(out.Lacks, works.TheSite.Unless(said, "premises", "kind of premises")...)
	}
	var kinds []trade.LoadKind
	for k := range byKind {
		kinds = append(kinds, k)
	}
	slices.Sort(kinds)
	for _, kind := range kinds {
		row := AllowedKind{Kind: kind}
		a, cite, err := m.Rules.Diversity(string(premises), string(kind))
		row.Cite, row.Tabled = cite, err == nil
		for k := range row.Full {
			var full []quantity.Amperes
			for _, p := range byKind[kind] {
				if p[k] > 0 {
					full = append(full, p[k])
					row.Full[k] += p[k]
				}
			}
			if row.Allowed[k] = row.Full[k]; row.Tabled {
				row.Allowed[k] = allow(a, full)
			}
		}
		out.Kinds = append(out.Kinds, row)
	}
	return out
}

// Sum returns the whole of it in each line.
func (a Allowed) Sum() (sum [3]quantity.Amperes) {
	for _, kind := range a.Kinds {
		for k, i := range kind.Allowed {
			sum[k] += i
		}
	}
	return sum
}

// allow applies an allowance to the loads of one kind in one line.
//
//	formula  largest × greatest + second × second greatest + rest × all others;
//	         or of their sum a first current in full and a share of what is above it
//	source   IET On-Site Guide Table A2
func allow(a standard.Diversity, loads []quantity.Amperes) quantity.Amperes {
	sort.Slice(loads, func(i, k int) bool { return loads[i] > loads[k] })
	var sum quantity.Amperes
	for i, load := range loads {
		switch {
		case a.FirstAmperes > 0:
			sum += load
		case i == 0:
			sum += quantity.Amperes(a.Largest) * load
		case i == 1:
			sum += quantity.Amperes(a.Second) * load
		default:
			sum += quantity.Amperes(a.Rest) * load
		}
	}
	if a.FirstAmperes > 0 {
		sum = min(sum, a.FirstAmperes) + quantity.Amperes(a.Excess)*max(0, sum-a.FirstAmperes)
	}
	return sum
}

// SupplyDemand is the current the supply must carry, with the points on top.
type SupplyDemand struct {
	Existing  Currents
	Points    Currents // all points in full
	Total     Currents // existing and points, each limiter holding back the points that name it
	Limiter   *works.Limiter
	Unlimited quantity.Amperes // greatest line current if the limiter did nothing
}

// SupplyDemand returns the demand on the supply with every point in full, and
// with load limiting taken into account (BS 7671 722.311): a limiter holds back
// the points it controls and nothing else, at the supply or at a board.
func (m *Model) SupplyDemand() SupplyDemand { return m.DemandWith(m.ExistingDemand()) }

// DemandWith returns the same with another demand before the points.
func (m *Model) DemandWith(existing Currents) SupplyDemand {
	d := SupplyDemand{Existing: existing, Limiter: m.SupplyLimiter()}
	for _, p := range m.Points {
		d.Points.add(m.PointCurrents(p))
	}
	if !m.oneLine() {
		d.Points.Lacks = append(d.Points.Lacks, d.Points.line...)
	}
	total := m.atSupply()
	total.add(existing)
	total.Lacks = append(total.Lacks, m.Doubted("supply/phases")...)
	for i := range m.Job.Limiters {
		if l := &m.Job.Limiters[i]; l.At == "" {
			total.Lacks = append(total.Lacks, l.Thing().Lack("at", "the supply or the board it is at")...)
		}
	}
	if l := d.Limiter; l != nil {
		if total = total.heldTo(l, [3]quantity.Amperes{}); !l.Limit.IsKnown() {
			total.Lacks = append(total.Lacks, l.Thing().Lack("limit", "limit")...)
		}
	}
	total.Lacks = finding.Gather(existing.Lacks, d.Points.Lacks, total.Lacks)
	d.Total = Currents{Phase: total.Phase, Why: total.Why, Lacks: total.Lacks}
	for k := range existing.Phase {
		d.Unlimited = max(d.Unlimited, existing.Phase[k]+d.Points.Phase[k])
	}
	return d
}

// atSupply sums the points as they reach the supply, each limiter at a board
// holding back its own. What no beginning is entered for is counted there.
func (m *Model) atSupply() Currents {
	var sum Currents
	for _, b := range m.Boards {
		switch {
		case b.Feed == nil:
			sum.add(m.pointsOn(b))
		case b.Feed.From == nil:
			sum.add(m.pointsOn(b).through(b.Feed))
		}
	}
	for _, p := range m.Points {
		if p.Circuit == nil || p.Circuit.From == nil {
			sum.add(m.PointCurrents(p))
		}
	}
	if !m.oneLine() {
		sum.Lacks = append(sum.Lacks, sum.line...)
	}
	return sum
}

// pointsOn sums the points fed from board b. A limiter at the board leaves room
// for its loads only as far as the demand before the points counts them: one
// measured at the supply may have been found while they were off.
func (m *Model) pointsOn(b *Board) Currents {
	var sum Currents
	for _, c := range b.Circuits {
		switch {
		case c.Board != nil:
			sum.add(m.pointsOn(c.Board).through(c))
		case c.Point != nil:
			sum.add(m.PointCurrents(c.Point))
		}
	}
	if own := m.boardLimiter(b); own != nil {
		sum = sum.heldTo(own, m.countedOn(b))
	}
	return sum
}

// countedOn returns what the loads behind board b add to the demand before the
// points.
func (m *Model) countedOn(b *Board) [3]quantity.Amperes {
	if m.Job.Supply.Demand.Value.IsKnown() {
		return [3]quantity.Amperes{}
	}
	behind := map[*works.Load]bool{}
	m.loadsOn(b, func(l *works.Load) { behind[l] = true })
	counted := m.allowed(func(*works.Load) bool { return true }).Sum()
	for k, i := range m.allowed(func(l *works.Load) bool { return !behind[l] }).Sum() {
		counted[k] = max(0, counted[k]-i)
	}
	return counted
}

// PointsBehind returns the points fed through a circuit, in full or as limiters
// at boards behind it leave them.
func (c *Circuit) PointsBehind() Currents {
	if c.Board == nil {
		return c.FedCurrents()
	}
	return c.model.pointsOn(c.Board).through(c)
}

// AllowedBehind returns the loads fed through a circuit by the published
// allowances, all in its one line where it has one.
func (c *Circuit) AllowedBehind() Currents {
	if c.Board == nil {
		return Currents{}
	}
	behind := map[*works.Load]bool{}
	c.model.loadsOn(c.Board, func(l *works.Load) { behind[l] = true })
	a := c.model.allowed(func(l *works.Load) bool { return behind[l] })
	return Currents{Phase: a.Sum(), Lacks: append(a.Lacks, c.model.unplaced(c.Board)...)}.through(c)
}

// loadsOn visits the loads fed from board b and the boards beyond it.
func (m *Model) loadsOn(b *Board, visit func(*works.Load)) {
	for _, l := range b.Loads {
		visit(l)
	}
	for _, c := range b.Circuits {
		switch {
		case c.Board != nil:
			m.loadsOn(c.Board, visit)
		case c.Load != nil:
			visit(c.Load)
		}
	}
}

// LoadsOn sums the loads fed from board b and the boards beyond it.
func (m *Model) LoadsOn(b *Board) Currents {
	var sum Currents
	m.loadsOn(b, func(l *works.Load) { sum.add(m.LoadCurrents(l)) })
	return sum
}
