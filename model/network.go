package model

import (
	"fmt"

	"chargewright/finding"
	"chargewright/job"
	"chargewright/network"
	"chargewright/quantity"
	"chargewright/standard"
)

// Network is the job as nodes and conductors, from the street to the vehicle,
// at one conductor temperature.
type Network struct {
	*network.Network
	Main    network.BranchID // the main in the street, ahead of the neighbours
	Supply  network.BranchID // the service, from the main to the origin
	Street  network.NodeID
	Origin  network.NodeID
	Boards  map[*Board]network.NodeID
	Ends    map[*Circuit]network.NodeID
	Legs    map[*Leg]network.BranchID
	Points  map[*Point][]network.LoadID
	Lacks   finding.Lacks // what kept part of the job out of it
	lines   []network.Conductor
	builder *network.Builder
	model   *Model
}

// sourceAngle says what the impedance outside the installation is taken to be.
// Only its magnitude is known; each study takes the angle that is worse for it.
type sourceAngle complex128

const (
	resistive sourceAngle = 1  // adds most to the resistance of cables: greatest Zs, least fault
	reactive  sourceAngle = 1i // adds least: greatest fault
)

// conductors maps a set of lines to the network's conductors.
func conductors(lines job.PhaseSet) []network.Conductor {
	switch lines {
	case job.L2:
		return []network.Conductor{network.L2}
	case job.L3:
		return []network.Conductor{network.L3}
	case job.ThreePhase:
		return []network.Conductor{network.L1, network.L2, network.L3}
	}
	return []network.Conductor{network.L1}
}

// linesOf returns the line conductors of a circuit; a single-phase supply has
// but one.
func (n *Network) linesOf(c *Circuit) []network.Conductor {
	if len(n.lines) == 1 {
		return n.lines
	}
	return conductors(c.Lines())
}

// newNetwork lays the job out, its source at a factor of the nominal voltage.
// What is not known is left out and named.
func (m *Model) newNetwork(at Temperature, angle sourceAngle, factor float64) *Network {
	n := &Network{builder: network.NewBuilder(), model: m,
		Boards: map[*Board]network.NodeID{}, Ends: map[*Circuit]network.NodeID{},
		Legs: map[*Leg]network.BranchID{}, Points: map[*Point][]network.LoadID{}}
	if !n.laySupply(angle, factor) {
		return n
	}
	for _, b := range m.Boards {
		if b.Feed == nil {
			n.Boards[b] = n.layTails(b, at)
		}
	}
	for _, c := range m.Circuits {
		n.layCircuit(c, at)
	}
	n.layElectrodes()
	return n
}

// finish builds the network; a part that cannot be built is a gap.
func (n *Network) finish() *Network {
	if n.Origin == 0 {
		return n
	}
	built, err := n.builder.Build()
	if err != nil {
		n.Lacks = append(n.Lacks, finding.Cannot(err.Error())...)
		return n
	}
	n.Network = built
	return n
}

// laySupply lays the source and the conductors to the origin.
func (n *Network) laySupply(angle sourceAngle, factor float64) bool {
	m, s := n.model, &n.model.Job.Supply
	u0 := m.U0()
	phases, ok := s.Phases.Get()
	system, known := s.Earthing.Get()
	n.Lacks = finding.Gather(u0.Lacks, job.TheSupply.Unless(ok, "phases", "phases"), m.NoEarthing(),
		job.TheSupply.Unless(!known || system != job.IT, "earthing", "an IT supply cannot be modelled"))
	if len(n.Lacks) > 0 {
		return false
	}
	n.lines = []network.Conductor{network.L1}
	if phases == 3 {
		n.lines = conductors(job.ThreePhase)
	}
	source := n.builder.Node("source")
	n.Street = n.builder.Node("main in the street")
	n.Origin = n.builder.Node("origin")
	z := m.externalImpedance(angle)
	back := []network.Conductor{network.PEN}
	switch system {
	case job.TNS:
		back = []network.Conductor{network.N, network.PE}
		n.builder.Join("star point", source, network.N, network.PE)
	case job.TT:
		back = []network.Conductor{network.N}
	}
	n.builder.Join("source earth", source, back[0], network.Earth)
	emf := network.ThreePhase(u0.Value * quantity.Volts(factor))[:len(n.lines)]
	n.builder.Source(network.Source{Name: "source", Star: source.At(back[0]), Lines: source.All(n.lines...), EMF: emf})
	all := append(append([]network.Conductor{}, n.lines...), back...)
	joins := make([]quantity.Impedance, len(all))
	n.Main = n.builder.Branch(network.Branch{Name: "main in the street", From: source.All(all...), To: n.Street.All(all...), Z: network.Series(joins...)})
	var series []quantity.Impedance
	for range n.lines {
		series = append(series, z.line)
	}
	series = append(series, z.neutral, z.earth)[:len(all)]
	n.Supply = n.builder.Branch(network.Branch{Name: "service", From: n.Street.All(all...), To: n.Origin.All(all...), Z: network.Series(series...)})
	switch system {
	case job.TNCS:
		n.builder.Join("cut-out", n.Origin, network.PEN, network.N, network.PE)
	case job.TT:
		n.builder.Electrode("installation electrode", n.Origin.At(network.PE), z.electrode)
	}
	return true
}

// external is what stands between the source's voltage and the origin.
type external struct {
	line, neutral, earth quantity.Impedance
	electrode            quantity.Ohms // of a TT installation, the source's own on top
}

// externalImpedance shares out what is known of the supply. The loops come out
// as entered: line and earth as Ze, or, for the greatest fault, the fault
// current as Ipf.
func (m *Model) externalImpedance(angle sourceAngle) external {
	s := &m.Job.Supply
	u0 := m.U0().Value
	ze, hasZe := s.Ze.Value.Get()
	ipf, hasIpf := s.Ipf.Value.Get()
	system := s.Earthing.Or("")
	var line, neutral, earth float64
	if hasIpf && ipf > 0 {
		line = float64(u0) / float64(ipf) // of one line for a three-phase fault, of the loop for one phase
		if s.Phases.Or(1) == 1 {
			line /= 2
		}
		neutral = line
	} else if hasZe && system != job.TT {
		line, neutral = float64(ze)/2, float64(ze)/2
	}
	if loop, ok := s.LineNeutralLoop.Value.Get(); ok && system != job.TNCS {
		neutral = max(0, float64(loop)-line)
	}
	earth = neutral
	if hasZe && system != job.TT && angle == resistive {
		line = min(line, float64(ze)/2) // Ze is what the meter read: line and earth together
		earth = float64(ze) - line
		if system == job.TNCS {
			neutral = earth
		}
	}
	out := external{line: quantity.Impedance(complex(line, 0) * complex128(angle)),
		neutral: quantity.Impedance(complex(neutral, 0) * complex128(angle)), earth: quantity.Impedance(complex(earth, 0) * complex128(angle))}
	if system == job.TT {
		loop := m.External()
		if loop.Known() {
			out.electrode = max(0, loop.Magnitude()-quantity.Ohms(line))
		}
	}
	return out
}

// layTails lays the tails and the earthing conductor to the board at the
// origin; where they are not described the board stands at the origin.
func (n *Network) layTails(b *Board, at Temperature) network.NodeID {
	s := &n.model.Job.Supply
	csa, ok1 := s.Tails.CSA.Get()
	length, ok2 := s.Tails.Length.Get()
	r, _, err := n.model.Rules.Resistance(standard.Copper, standard.Stranded, csa)
	if !ok1 || !ok2 || err != nil {
		return n.Origin
	}
	t := quantity.Celsius(20)
	switch at {
	case AtTest:
		t = n.model.TestTemperature()
	case AtOperating, AtFaultEnd:
		t = 70
		if s.Tails.Insulation.Or("") == standard.Thermosetting90 {
			t = 90
		}
	}
	tail := quantity.Impedance(complex(float64(r.Over(length).At(t)), 0))
	var earthing quantity.Impedance
	if size, ok := s.EarthingConductor.CSA.Get(); ok {
		if l, ok := s.EarthingConductor.Length.Get(); ok {
			if r, _, err := n.model.Rules.Resistance(standard.Copper, standard.Stranded, size); err == nil {
				earthing = quantity.Impedance(complex(float64(r.Over(l).At(30)), 0))
			}
		}
	}
	node := n.builder.Node("board " + b.Record.Name)
	all := append(append([]network.Conductor{}, n.lines...), network.N, network.PE)
	var z []quantity.Impedance
	for range n.lines {
		z = append(z, tail)
	}
	z = append(z, tail, earthing)
	n.builder.Branch(network.Branch{Name: "tails", From: n.Origin.All(all...), To: node.All(all...), Z: network.Series(z...)})
	return node
}

// layCircuit lays a circuit leg by leg, as far as it is known.
func (n *Network) layCircuit(c *Circuit, at Temperature) {
	node, fed := n.Boards[c.From]
	if c.From == nil || !fed || len(c.Legs) == 0 {
		return
	}
	if len(n.lines) == 1 && c.PhaseCount() == 3 {
		n.Lacks = append(n.Lacks, c.thing.Lack("phases", "three phases on a single-phase supply")...)
		return
	}
	_, ownEarth := n.ownEarth(c)
	t := n.model.TestTemperature()
	for i, leg := range c.Legs {
		l, ok := leg.Record.Length.Get()
		if !ok || !leg.Line.Known() {
			return
		}
		run := n.linesOf(c)
		var z []quantity.Impedance
		for range run {
			z = append(z, leg.Line.Impedance(l, at, t))
		}
		run = append(append([]network.Conductor{}, run...), network.N)
		z = append(z, leg.Neutral.Impedance(l, at, t))
		if leg.CPC.Known() && !ownEarth {
			run = append(run, network.PE)
			z = append(z, leg.CPC.Impedance(l, at, t))
		} else if !ownEarth {
			ownEarth = true // nothing beyond has a cpc either
		}
		name := c.Name() + ", end of " + leg.ShortName()
		if i == len(c.Legs)-1 {
			name = c.endName()
		}
		next := n.builder.Node(name)
		n.Legs[leg] = n.builder.Branch(network.Branch{Name: leg.Name(), From: node.All(run...), To: next.All(run...), Z: network.Series(z...)})
		node = next
	}
	n.Ends[c] = node
	if c.Board != nil {
		n.Boards[c.Board] = node
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

func (n *Network) ownEarth(c *Circuit) (*job.Electrode, bool) {
	if c.Point == nil {
		return nil, false
	}
	return n.model.OwnElectrode(c.Point)
}

// layElectrodes earths the points that have an electrode of their own. Points
// on one electrode share it.
func (n *Network) layElectrodes() {
	placed := map[*job.Electrode]network.NodeID{}
	for _, p := range n.model.Points {
		if p.Circuit == nil {
			continue
		}
		end, laid := n.Ends[p.Circuit]
		e, own := n.ownEarth(p.Circuit)
		if !laid || !own || e == nil {
			continue
		}
		r := n.model.ElectrodeResistance(e)
		if !r.Known() {
			n.Lacks = append(n.Lacks, r.Lacks...)
			continue
		}
		node, seen := placed[e]
		if !seen {
			node = n.builder.Node("electrode " + e.Name)
			placed[e] = node
			n.builder.Electrode("electrode "+e.Name, node.At(network.PE), r.Value)
		}
		n.builder.Branch(network.Branch{Name: "earthing of " + p.Record.Name, From: end.All(network.PE), To: node.All(network.PE), Z: network.Series(0)})
	}
}

// place puts a load on the network: a current per line at power factor pf.
func (n *Network) place(name string, at network.NodeID, phase [3]quantity.Amperes, pf float64, model network.LoadModel) {
	u0 := n.model.U0().Value
	for k, line := range n.lines {
		if phase[k] <= 0 {
			continue
		}
		s := float64(u0) * float64(phase[k])
		n.builder.Load(network.Load{Name: fmt.Sprintf("%s, %s", name, line), From: at.At(line), To: at.At(network.N),
			Model: model, S: apparent(s, pf), Rated: u0})
	}
}
