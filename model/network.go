package model

import (
	"fmt"

	"chargewright/finding"
	"chargewright/network"
	"chargewright/quantity"
)

// Network is the layout at one conductor temperature, to be solved.
type Network struct {
	*network.Network
	*Layout
	Main    network.BranchID // the main in the street, ahead of the neighbours
	Supply  network.BranchID // the service, from the main to the cut-out
	Legs    map[*Span]network.BranchID
	Points  map[*Point][]network.LoadID
	Lacks   finding.Lacks // what kept part of the job out of it
	lines   []network.Conductor
	builder *network.Builder
	model   *Model
}

// newNetwork builds the layout at a temperature, its source at a factor of the
// nominal voltage. What is not known is left out and named; where that is the
// supply, there is no builder.
func (m *Model) newNetwork(at Temperature, angle sourceAngle, factor float64) *Network {
	o, l := &m.Outside, m.Layout
	n := &Network{Layout: l, model: m, lines: o.Lines, Legs: map[*Span]network.BranchID{}, Points: map[*Point][]network.LoadID{}}
	if n.Lacks = append(n.Lacks, o.Lacks...); len(n.Lacks) > 0 {
		return n
	}
	n.Lacks = append(n.Lacks, l.Lacks...)
	n.builder = network.NewBuilder()
	for _, name := range l.Nodes[1:] {
		n.builder.Node(name)
	}
	back := o.back()
	if len(back) > 1 {
		n.builder.Join("star point", l.Source, back[0], back[1:]...)
	}
	n.builder.Join("source earth", l.Source, back[0], network.Earth)
	emf := network.ThreePhase(o.Volts * quantity.Volts(factor))[:len(n.lines)]
	n.builder.Source(network.Source{Name: "source", Star: l.Source.At(back[0]), Lines: l.Source.All(n.lines...), EMF: emf})
	z := o.impedances(angle)
	for _, s := range l.Spans {
		if !s.Adrift {
			n.build(s, at, z)
		}
	}
	return n
}

// build adds a span.
func (n *Network) build(s *Span, at Temperature, outside [3]quantity.Impedance) {
	switch s.Kind {
	case CutOut:
		n.builder.Join(s.Name, s.From, network.PEN, network.N, network.PE)
		return
	case Electrode:
		r := s.Ohms
		if s.From == n.CutOut { // the electrode's resistance has no angle
			r = quantity.Ohms(outside[2].Magnitude())
		}
		n.builder.Electrode(s.Name, s.From.At(network.PE), r)
		return
	}
	from, to := make([]network.Terminal, len(s.Wires)), make([]network.Terminal, len(s.Wires))
	z := make([]quantity.Impedance, len(s.Wires))
	for k, w := range s.Wires {
		from[k], to[k] = s.From.At(w.Conductor), s.To.At(w.Conductor)
		z[k] = s.Impedance(k, at, n.model.TestTemperature())
		if s.Kind == Service {
			z[k] = outside[max(0, k-len(n.lines)+1)]
		}
	}
	id := n.builder.Branch(network.Branch{Name: s.Name, From: from, To: to, Z: network.Series(z...)})
	switch s.Kind {
	case Main:
		n.Main = id
	case Service:
		n.Supply = id
	case Cable:
		n.Legs[s] = id
	}
}

// finish builds the network; a part that cannot be built is a lack.
func (n *Network) finish() *Network {
	if n.builder == nil {
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

// place puts a load on the network: a current per line at power factor pf.
func (n *Network) place(name string, at network.NodeID, phase [3]quantity.Amperes, pf float64, model network.LoadModel) {
	u0 := n.model.Outside.Volts
	for k, line := range n.lines {
		if phase[k] <= 0 {
			continue
		}
		s := float64(u0) * float64(phase[k])
		n.builder.Load(network.Load{Name: fmt.Sprintf("%s, %s", name, line), From: at.At(line), To: at.At(network.N),
			Model: model, S: apparent(s, pf), Rated: u0})
	}
}
