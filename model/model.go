// Package model makes one electrical model of a job: which circuit feeds what,
// which conductor has which impedance at which temperature, what current flows
// by design, and what loops a fault closes.
//
// It knows no verdicts. What the job does not say stays not known: every
// answer carries what the record lacks for it.
package model

import (
	"context"
	"fmt"
	"slices"

	"chargewright/finding"
	"chargewright/job"
	"chargewright/network"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/works"
)

// Model is the installation of one job, read against one edition of the rules.
type Model struct {
	Job      *job.Job
	Rules    *standard.Rulebook
	Boards   []*Board
	Circuits []*Circuit // from the origin outwards: a circuit comes after the one that feeds it
	Points   []*Point
	Sources  []*Source
	Outside  Outside // the supply, decided once
	Layout   *Layout // the installation, laid out once
	Doubts   []Doubt // where the record contradicts itself
	// Assumptions is what the record leaves unsaid and the model took, each in
	// words for the design sheet, where it can be challenged.
	Assumptions  []string
	Flow         Flow          // every point on, held to what its limiter leaves
	NetworkLacks finding.Lacks // what kept part of the job out of the network

	// While is for how long somebody waits for what is worked out of the model; nil
	// for to the end. Whoever works long asks Left between its parts.
	While context.Context

	doubted  map[string]finding.Lacks // facts that the record contradicts, by path
	reads    map[[2]string]numberRead // the last number of each kind at each place
	feedOf   map[*works.Load]*Circuit // a load's own circuit, or the one that feeds its board
	isPlaced map[*works.Load]bool     // whether the record says where it is fed from
	hot      *Network                 // with every point on
	existing Currents
	others   []Placed
}

// Network returns the installation at operating temperature with every point
// on, each held to what its limiter leaves.
func (m *Model) Network() *Network { return m.hot }

// Left says that nobody waits any more for what is worked out of the model.
func (m *Model) Left() error {
	if m.While == nil {
		return nil
	}
	return m.While.Err()
}

// assume notes an assumption once, while the model is made. Nothing is noted
// later: a model does not change when it is asked.
func (m *Model) assume(text string) {
	if !slices.Contains(m.Assumptions, text) {
		m.Assumptions = append(m.Assumptions, text)
	}
}

// Board is a distribution board and what hangs on it.
type Board struct {
	Record   *works.Board
	Feed     *Circuit // nil at the origin, or where nothing is said to feed it
	Circuits []*Circuit
	Loads    []*works.Load // loads said to be on the board without a circuit of their own
	greatest FaultCurrent
}

// Circuit is a circuit, its legs and what it feeds.
type Circuit struct {
	Record *works.Circuit
	From   *Board // nil when the record names none
	Board  *Board // the board it feeds, if it feeds one
	Point  *Point // the point it feeds, if it feeds one
	Load   *works.Load
	Legs   []*Leg
	model  *Model
	thing  works.Thing
	zs     [AtFaultEnd + 1]quantity.Maybe[quantity.Ohms] // at its far end, by the network
	fault  quantity.Maybe[network.Prospective]           // greatest, at its far end
	drop   quantity.Maybe[quantity.Volts]                // at full design current
	ib     Currents
	path   []*Circuit
	earth  Loop // earth fault loop at operating temperature, by the tables
	least  FaultCurrent
}

// Leg is a stretch of a circuit, and the conductors of the cable it is run in.
type Leg struct {
	Record  *works.Leg
	Cable   *works.Cable // the circuit's, unless the leg is run in another
	Line    Conductor
	Neutral Conductor
	CPC     Conductor
	Doubts  finding.Lacks // contradictions in what is said of it
	circuit *Circuit
	number  int // along the circuit, counted from 0
	thing   works.Thing
}

// Point is a charge point and the circuit that feeds it.
type Point struct {
	Record  *works.Point
	Circuit *Circuit // nil when no circuit ends at it
	model   *Model
}

// New returns the model of job j under rulebook rules. The job must have been
// read by package job, which refuses circuits in a ring and names without an
// owner; New leaves out what it cannot place rather than fail.
func New(j *job.Job, rules *standard.Rulebook) *Model {
	m := &Model{Job: j, Rules: rules, feedOf: map[*works.Load]*Circuit{}, isPlaced: map[*works.Load]bool{}}
	m.findDoubts()
	boards := map[string]*Board{}
	points := map[string]*Point{}
	loads := map[string]*works.Load{}
	for i := range j.Boards {
		b := &Board{Record: &j.Boards[i]}
		m.Boards = append(m.Boards, b)
		boards[b.Record.Name] = b
	}
	delete(boards, "") // nothing is fed from, or ends at, what has no name
	for i := range j.Points {
		p := &Point{Record: &j.Points[i], model: m}
		m.Points = append(m.Points, p)
		points[p.Record.Name] = p
	}
	delete(points, "")
	for i := range j.Loads {
		loads[j.Loads[i].Name] = &j.Loads[i]
	}
	delete(loads, "")
	var placed []*Circuit
	for i := range j.Circuits {
		c := &Circuit{Record: &j.Circuits[i], model: m, thing: j.Circuits[i].Thing()}
		c.From = boards[c.Record.From]
		c.Board, c.Point, c.Load = boards[c.Record.To], points[c.Record.To], loads[c.Record.To]
		if c.From != nil {
			c.From.Circuits = append(c.From.Circuits, c)
		}
		switch {
		case c.Board != nil && (c.Board.Feed != nil || feeds(c.From, c.Board)):
			c.Board = nil // fed twice, or a ring: package job says so; here it is left out
		case c.Board != nil:
			c.Board.Feed = c
		case c.Point != nil:
			c.Point.Circuit = c
		case c.Load != nil:
			m.feedOf[c.Load], m.isPlaced[c.Load] = c, true
		}
		c.findLegs()
		placed = append(placed, c)
	}
	for i := range j.Loads {
		l := &j.Loads[i]
		if b := boards[l.Board]; b != nil && !m.isPlaced[l] {
			b.Loads = append(b.Loads, l)
			m.feedOf[l], m.isPlaced[l] = b.Feed, true
		}
	}
	m.order(placed)
	m.findSources()
	m.solve()
	return m
}

// Unread returns the model as the record has it without some of its readings,
// for whoever holds readings against it: a reading must not vouch for itself.
// Supply and layout are made anew; what was solved stays as it was.
func (m *Model) Unread(out func(*works.Reading) bool) *Model {
	j, u := *m.Job, *m
	j.Readings = slices.DeleteFunc(slices.Clone(j.Readings), func(r works.Reading) bool { return out(&r) })
	u.Job, u.Doubts = &j, nil
	u.findDoubts()
	u.Outside = u.outside()
	u.Layout = u.layOut()
	return &u
}

// solve lays the job out as a network and takes from it what the other rooms
// ask for, so that reading it later costs nothing.
func (m *Model) solve() {
	for i := len(m.Circuits) - 1; i >= 0; i-- { // from the far ends: a circuit's current is that of what it feeds
		m.Circuits[i].ib = m.Circuits[i].designCurrents()
		m.Circuits[i].path = m.Circuits[i].findPath()
	}
	m.Outside = m.outside()
	m.Layout = m.layOut()
	if len(m.Circuits) > 0 && !m.Job.Site.Temperature.IsKnown() {
		m.assume("readings predicted at 20 °C: the temperature of the day is not said")
	}
	m.existing = m.findExisting()
	m.doubtDemand()
	m.doubtLimiters()
	m.doubtCables()
	m.others = m.placeLoads()
	share := m.Shares()
	m.hot = m.loaded(AtOperating, network.ConstantCurrent, share, 1).finish()
	m.NetworkLacks = m.hot.Lacks
	m.Flow = m.solveFlow(m.hot, share)
	m.readLoops(m.hot, AtOperating)
	m.readLoops(m.newNetwork(AtTest, resistive, 1).finish(), AtTest)
	m.readLoops(m.newNetwork(At20, resistive, 1).finish(), At20)
	if len(m.hot.Points) > 0 {
		m.assume(fmt.Sprintf("points draw a third harmonic of %.0f %% at power factor 1, since their data is not entered", 100*thirdHarmonic))
	}
	m.readFaults(m.newNetwork(At20, reactive, 1).finish())
	for _, b := range m.Boards {
		b.greatest = m.findGreatestFault(b)
	}
	for _, c := range m.Circuits {
		c.earth = m.EarthLoop(c, AtOperating)
		c.least = m.findLeastEarthFault(c)
	}
}

// feeds reports whether board up is board b, or is fed through it.
func feeds(up, b *Board) bool {
	for up != nil && up != b && up.Feed != nil {
		up = up.Feed.From
	}
	return up == b
}

// order puts circuits so that each follows the one that feeds it, and keeps
// the record's order otherwise.
func (m *Model) order(circuits []*Circuit) {
	done := map[*Circuit]bool{}
	var visit func(c *Circuit)
	visit = func(c *Circuit) {
		if done[c] {
			return
		}
		done[c] = true
		if up := c.Feed(); up != nil {
			visit(up)
		}
		m.Circuits = append(m.Circuits, c)
	}
	for _, c := range circuits {
		visit(c)
	}
}

// OriginBoard returns the first board fed from the supply, or nil while none is.
func (m *Model) OriginBoard() *Board {
	for _, b := range m.Boards {
		if b.Record.FedFrom == "supply" {
			return b
		}
	}
	return nil
}

// NoCircuit is the lack of a circuit that ends at a point: one to add, or the
// end of one that ends nowhere.
func (m *Model) NoCircuit(p *Point) finding.Lacks {
	l := finding.Lack{Path: "circuits", Of: p.Record.Thing().Name, What: "the circuit that feeds it"}
	for _, c := range m.Circuits {
		if c.Record.To == "" {
			l.Path, l.Or = c.thing.Path+"/to", append(l.Or, "circuits")
		}
	}
	return finding.Lacks{l}
}

// NoRCD is the lack of an RCD for the point, in its circuit or in itself.
func (m *Model) NoRCD(p *Point, what string) finding.Lacks {
	inside := p.Record.RCDThing().Path
	or := []string{inside + "/IΔn", inside + "/type", inside + "/poles"}
	if c := p.Circuit; c != nil {
		lacks := c.thing.Lack("RCD/IΔn", what, "RCD/type", "RCD/poles", "shared RCD")
		lacks[0].Or = append(lacks[0].Or, or...)
		return lacks
	}
	return finding.Lacks{{Path: or[0], Or: append(or[1:], m.unled()...), Of: p.Record.Thing().Name, What: what}}
}

// OfOwnRCD is the lack of a fact of the RCD that serves a point alone. Another
// may turn out to be the one: with an IΔn that is not known, or on a way to the
// point that is not.
func (m *Model) OfOwnRCD(p *Point, own Protecting, field, what string) finding.Lacks {
	var or []string
	for c := p.Circuit; c != nil; c = c.Feed() {
		if at := c.Record.RCDThing().Path; at != own.Path && !c.Record.RCD.Residual.IsKnown() {
			or = append(or, at+"/IΔn")
		}
	}
	return besides(own.Lack(field, what), append(or, m.unled()...))
}

// unled is where the ways from the origin to points and boards are not known.
func (m *Model) unled() []string {
	var out []string
	unfed := false
	for _, b := range m.Boards {
		unfed = unfed || b.Feed == nil && b != m.OriginBoard()
	}
	for _, p := range m.Points {
		unfed = unfed || p.Circuit == nil
	}
	for _, c := range m.Circuits {
		if c.From == nil {
			out = append(out, c.thing.Path+"/from")
		}
		if unfed && c.Record.To == "" {
			out = append(out, c.thing.Path+"/to")
		}
	}
	if unfed {
		out = append(out, "circuits")
	}
	return out
}

// besides returns lacks with more places where a fact would mend the first.
func besides(lacks finding.Lacks, paths []string) finding.Lacks {
	if len(lacks) == 0 || len(paths) == 0 {
		return lacks
	}
	out := slices.Clone(lacks)
	out[0].Or = slices.Concat(out[0].Or, paths)
	return out
}

// leaning is where it is not known what leans on which conductor: were it, one
// that is lacking might not be wanted.
func (m *Model) leaning() []string {
	var out []string
	for _, l := range finding.Gather(m.NoEarthing(), works.TheSupply.Unless(m.Job.Supply.Phases.IsKnown(), "phases", "phases")) {
		out = append(out, l.Path)
	}
	out = append(out, m.unled()...)
	for _, p := range m.Points {
		if !p.Record.Earthing.Measure.IsKnown() {
			out = append(out, p.Record.Thing().Path+"/earthing/measure")
		}
	}
	return out
}

// NotLed is the lack of a way from the origin to a point, of a conductor on it
// or of what says which circuits are on it.
func (m *Model) NotLed(p *Point) finding.Lacks {
	l := finding.Lack{Path: "circuits", Of: p.Record.Thing().Name, What: "the circuits that lead to it"}
	for c := p.Circuit; c != nil; c = c.Feed() {
		switch {
		case c.From == nil:
			l.Path = c.thing.Path + "/from"
		case len(c.Legs) == 0:
			l.Path = c.thing.Path + "/legs"
		default:
			if lacks := finding.Gather(c.Length().Lacks, c.R1Rn(AtOperating).Lacks); len(lacks) > 0 {
				return lacks
			}
			continue
		}
		return finding.Lacks{l}
	}
	if p.Circuit == nil {
		l = m.NoCircuit(p)[0]
		l.What = "the circuits that lead to it"
	}
	return finding.Lacks{l}
}

// Unfed is the lack of what feeds a board: the supply, or a circuit that so far
// ends nowhere.
func (m *Model) Unfed(b *Board) finding.Lacks {
	or := []string{"circuits"}
	for _, c := range m.Circuits {
		if c.Record.To == "" {
			or = append(or, c.thing.Path+"/to")
		}
	}
	return besides(b.Record.Thing().Lack("fed from", "what feeds it"), or)
}

// NoOrigin is the lack of a beginning: of the board that the first circuit on
// the way to c starts at, or of what feeds that board.
func (c *Circuit) NoOrigin() finding.Lacks {
	first := c.path[0]
	if first.From == nil {
		return first.thing.Lack("from", "the board it starts at")
	}
	b := first.From.Record
	return besides(b.Thing().Unless(b.FedFrom == "supply", "fed from", "what feeds it"), c.model.unled())
}

// Feed returns the circuit that feeds the board c starts at, or nil at the origin.
func (c *Circuit) Feed() *Circuit {
	if c.From == nil {
		return nil
	}
	return c.From.Feed
}

// Path returns the circuits from the origin to c, c last.
func (c *Circuit) Path() []*Circuit { return c.path }

func (c *Circuit) findPath() []*Circuit {
	var path []*Circuit
	for up := c; up != nil; up = up.Feed() {
		path = append(path, up)
	}
	for i, k := 0, len(path)-1; i < k; i, k = i+1, k-1 {
		path[i], path[k] = path[k], path[i]
	}
	return path
}

// Supply returns the supply of the installation that the circuit is part of.
func (c *Circuit) Supply() *Outside { return &c.model.Outside }

// Name returns the circuit's name as findings write it.
func (c *Circuit) Name() string { return c.thing.Name }

// Thing returns the circuit with its path in the record.
func (c *Circuit) Thing() works.Thing { return c.thing }

// PhaseCount returns 1 or 3, or 0 when not known: what the record says, or
// what it follows from in what the circuit feeds.
func (c *Circuit) PhaseCount() int {
	if len(c.model.Doubted(c.thing.Path+"/phases")) > 0 {
		return 0
	}
	if p, ok := c.Record.Phases.Get(); ok {
		return p.Count()
	}
	if c.Point != nil {
		if n, ok := c.Point.Record.Phases.Get(); ok {
			return n
		}
	}
	if c.Board != nil {
		if n, ok := c.Board.Record.Phases.Get(); ok {
			return n
		}
	}
	if n, ok := c.model.Job.Supply.Phases.Get(); ok && n == 1 {
		return 1
	}
	return 0
}

// IsDistribution reports whether the circuit feeds a board rather than
// current-using equipment.
func (c *Circuit) IsDistribution() bool { return c.Board != nil }
