package model

// The installation laid out, once: nodes from the street to the vehicle, and
// the spans of conductor between them. The network that is solved is built of
// it at one temperature; what a meter reads is worked out on it.

import (
	"chargewright/finding"
	"chargewright/network"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/trade"
	"chargewright/works"
)

// SpanKind says what a span is.
type SpanKind uint8

// The kinds of span, from the street inwards.
const (
	Main              SpanKind = iota // in the street, ahead of the neighbours
	Service                           // from the main to the cut-out
	CutOut                            // of TN-C-S: joins neutral and earth to the PEN conductor
	Intake                            // lines and neutral from the cut-out to the origin: perfect joins
	EarthingConductor                 // from the means of earthing to the main earthing terminal
	Tails                             // from the origin to a board
	Cable                             // a leg of a circuit
	Earthing                          // from a point to an electrode of its own
	Electrode                         // to true earth
)

// Wire is one conductor of a span, present at both ends of it.
type Wire struct {
	Conductor network.Conductor
	Of        *Conductor // nil where it is a perfect join, or the supply's
}

// Span is a run of conductors between two nodes.
type Span struct {
	Kind      SpanKind
	Name      string
	From, To  network.NodeID
	Wires     []Wire
	Length    quantity.Metres
	Adrift    bool // of a circuit that nothing is said to feed: it can be tested dead
	Circuit   *Circuit
	Board     *Board
	Electrode *works.Electrode
	Ohms      quantity.Ohms  // of an electrode
	How       trade.HowKnown // the same
}

// Impedance returns the series impedance of wire k of the span.
func (s *Span) Impedance(k int, at Temperature, test quantity.Celsius) quantity.Impedance {
	if c := s.Wires[k].Of; c != nil {
		return c.Impedance(s.Length, at, test)
	}
	return 0
}

// Layout is the whole of it.
type Layout struct {
	Nodes   []string // names by NodeID; the first is not used
	Spans   []*Span  // from the source outwards
	Source  network.NodeID
	Street  network.NodeID
	CutOut  network.NodeID // its PE is the means of earthing
	Origin  network.NodeID // its PE is the main earthing terminal
	Boards  map[*Board]network.NodeID
	Ends    map[*Circuit]network.NodeID
	Circuit map[*Circuit][]*Span // leg by leg; those adrift too
	Lacks   finding.Lacks        // what kept part of the job out of it
}

func (l *Layout) node(name string) network.NodeID {
	l.Nodes = append(l.Nodes, name)
	return network.NodeID(len(l.Nodes) - 1)
}

func (l *Layout) span(s Span) *Span {
	l.Spans = append(l.Spans, &s)
	return &s
}

// joins are wires that are perfect joins, or the supply's.
func joins(cs ...network.Conductor) []Wire {
	wires := make([]Wire, len(cs))
	for i, c := range cs {
		wires[i].Conductor = c
	}
	return wires
}

func concat(lines []network.Conductor, more ...network.Conductor) []network.Conductor {
	return append(append([]network.Conductor{}, lines...), more...)
}

// conductors maps a set of lines to the network's conductors.
func conductors(lines trade.PhaseSet) []network.Conductor {
	switch lines {
	case trade.L2:
		return []network.Conductor{network.L2}
	case trade.L3:
		return []network.Conductor{network.L3}
	case trade.ThreePhase:
		return []network.Conductor{network.L1, network.L2, network.L3}
	}
	return []network.Conductor{network.L1}
}

// linesOf returns the line conductors of a circuit; a single-phase supply has
// but one.
func (m *Model) linesOf(c *Circuit) []network.Conductor {
	if len(m.Outside.Lines) == 1 && c.PhaseCount() != 3 {
		return m.Outside.Lines
	}
	return conductors(c.Lines())
}

// back lists what the supply brings besides the lines.
func (o *Outside) back() []network.Conductor {
	switch o.System {
	case trade.TNCS:
		return []network.Conductor{network.PEN}
	case trade.TNS:
		return []network.Conductor{network.N, network.PE}
	}
	return []network.Conductor{network.N}
}

// layOut lays the job out.
func (m *Model) layOut() *Layout {
	l := &Layout{Nodes: []string{""}, Boards: map[*Board]network.NodeID{}, Ends: map[*Circuit]network.NodeID{}, Circuit: map[*Circuit][]*Span{}}
	m.laySupply(l)
	for _, b := range m.Boards {
		if b.Feed == nil {
			l.Boards[b] = m.layTails(l, b)
		}
	}
	for _, c := range m.Circuits {
		m.layCircuit(l, c)
	}
	m.layElectrodes(l)
	return l
}

func (m *Model) laySupply(l *Layout) {
	o := &m.Outside
	l.Source, l.Street, l.CutOut, l.Origin = l.node("source"), l.node("main in the street"), l.node("cut-out"), l.node("origin")
	all := concat(o.Lines, o.back()...)
	l.span(Span{Kind: Main, Name: "main in the street", From: l.Source, To: l.Street, Wires: joins(all...)})
	l.span(Span{Kind: Service, Name: "service", From: l.Street, To: l.CutOut, Wires: joins(all...)})
	switch o.System {
	case trade.TNCS:
		l.span(Span{Kind: CutOut, Name: "cut-out", From: l.CutOut, To: l.CutOut, Wires: joins(network.N, network.PE)})
	case trade.TNS:
	default:
		l.span(Span{Kind: Electrode, Name: "installation electrode", From: l.CutOut, Wires: joins(network.PE), Electrode: o.Electrode, Ohms: o.Earth.Ohms,
			How: o.Earth.How})
	}
	l.span(Span{Kind: Intake, Name: "intake", From: l.CutOut, To: l.Origin, Wires: joins(concat(o.Lines, network.N)...)})
	s := &m.Job.Supply
	earthing := Span{Kind: EarthingConductor, Name: "earthing conductor", From: l.CutOut, To: l.Origin, Wires: joins(network.PE)}
	earthing.Wires[0].Of, earthing.Length = m.separate(s.EarthingConductor.CSA, s.EarthingConductor.Length, 30)
	l.span(earthing)
}

// separate returns a copper conductor on its own, such as a tail, which in use
// is no warmer than it is said to be; nil where it is not described.
func (m *Model) separate(csa quantity.Maybe[quantity.SquareMillimetres], length quantity.Maybe[quantity.Metres], inUse quantity.Celsius) (*Conductor,
	quantity.Metres) {
	size, ok1 := csa.Get()
	l, ok2 := length.Get()
	r, cite, err := m.Rules.Resistance(standard.Copper, standard.Stranded, size)
	perDegree, _, err2 := m.Rules.TemperatureCoefficient(standard.Copper)
	if !ok1 || !ok2 || err != nil || err2 != nil {
		return nil, 0
	}
	return &Conductor{Material: standard.Copper, CSA: size, Resistance: r, PerDegree: perDegree, Operating: inUse, FaultEnd: inUse, Citation: cite}, l
}

// layTails lays the tails to a board at the origin; where they are not
// described the board stands at the origin.
func (m *Model) layTails(l *Layout, b *Board) network.NodeID {
	s := &m.Job.Supply
	inUse := quantity.Celsius(70)
	if s.Tails.Insulation.Or("") == standard.Thermosetting90 {
		inUse = 90
	}
	tail, length := m.separate(s.Tails.CSA, s.Tails.Length, inUse)
	if tail == nil {
		return l.Origin
	}
	tails := Span{Kind: Tails, Name: "tails", From: l.Origin, To: l.node("board " + b.Record.Name), Length: length, Board: b}
	for _, c := range concat(m.Outside.Lines, network.N) {
		tails.Wires = append(tails.Wires, Wire{c, tail})
	}
	tails.Wires = append(tails.Wires, Wire{Conductor: network.PE})
	return l.span(tails).To
}

// layCircuit lays a circuit leg by leg, if length and conductors of all its
// legs are known.
func (m *Model) layCircuit(l *Layout, c *Circuit) {
	for _, leg := range c.Legs {
		if !leg.Record.Length.IsKnown() || !leg.Line.Known() || !leg.Neutral.Known() {
			return
		}
	}
	if len(c.Legs) == 0 {
		return
	}
	node, fed := l.Boards[c.From]
	fed = fed && c.From != nil
	if fed && len(m.Outside.Lines) == 1 && c.PhaseCount() == 3 {
		l.Lacks = append(l.Lacks, c.thing.Lack("phases", "three phases on a single-phase supply")...)
		fed = false
	}
	if !fed {
		node = l.node("start of " + c.Name())
	}
	_, own := m.ownEarth(c)
	earthed := !own
	for i, leg := range c.Legs {
		name := c.Name() + ", end of " + leg.ShortName()
		if i == len(c.Legs)-1 {
			name = c.endName()
		}
		s := Span{Kind: Cable, Name: leg.Name(), From: node, To: l.node(name), Length: leg.Record.Length.Or(0), Adrift: !fed, Circuit: c}
		for _, line := range m.linesOf(c) {
			s.Wires = append(s.Wires, Wire{line, &leg.Line})
		}
		s.Wires = append(s.Wires, Wire{network.N, &leg.Neutral})
		if earthed = earthed && leg.CPC.Known(); earthed { // beyond a leg without a cpc nothing has one
			s.Wires = append(s.Wires, Wire{network.PE, &leg.CPC})
		}
		l.Circuit[c] = append(l.Circuit[c], l.span(s))
		node = s.To
	}
	if !fed {
		return
	}
	l.Ends[c] = node
	if c.Board != nil {
		l.Boards[c.Board] = node
	}
}

// endName names the far end of a circuit.
func (c *Circuit) endName() string {
	switch {
	case c.Board != nil:
		return "board " + c.Board.Record.Name
	case c.Point != nil:
		return "point " + c.Point.Record.Name
	}
	return "end of " + c.Name()
}

func (m *Model) ownEarth(c *Circuit) (*works.Electrode, bool) {
	if c.Point == nil {
		return nil, false
	}
	return m.OwnElectrode(c.Point)
}

// layElectrodes earths the points that have an electrode of their own. Points
// on one electrode share it, with the installation where it is that one's too.
func (m *Model) layElectrodes(l *Layout) {
	placed := map[*works.Electrode]network.NodeID{}
	if m.Outside.Electrode != nil {
		placed[m.Outside.Electrode] = l.CutOut
	}
	for _, p := range m.Points {
		if p.Circuit == nil || len(l.Circuit[p.Circuit]) == 0 {
			continue
		}
		e, own := m.ownEarth(p.Circuit)
		if !own || e == nil {
			continue
		}
		legs := l.Circuit[p.Circuit]
		last := legs[len(legs)-1]
		r := m.ElectrodeResistance(e)
		if !r.Known() {
			if !last.Adrift {
				l.Lacks = append(l.Lacks, r.Lacks...)
			}
			continue
		}
		node, seen := placed[e]
		if !seen {
			node = l.node("electrode " + e.Name)
			placed[e] = node
			l.span(Span{Kind: Electrode, Name: "electrode " + e.Name, From: node, Wires: joins(network.PE), Electrode: e, Ohms: r.Value, How: r.How})
		}
		l.span(Span{Kind: Earthing, Name: "earthing of " + p.Record.Name, From: last.To, To: node, Wires: joins(network.PE), Adrift: last.Adrift, Circuit: p.Circuit})
	}
}
