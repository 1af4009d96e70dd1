package model

// What the network says of each circuit, read off once when the model is made.

import (
	"fmt"
	"math"

	"chargewright/finding"
	"chargewright/network"
	"chargewright/quantity"
)

// readLoops reads the earth fault loop at the far end of every circuit.
func (m *Model) readLoops(n *Network, at Temperature) {
	if n.Network == nil || !m.External().Known() {
		return
	}
	faults, err := n.Faults()
	if err != nil {
		return
	}
	for c, end := range n.Ends {
		if !n.Has(end.At(network.PE)) {
			continue
		}
		var worst quantity.Ohms
		for _, line := range m.linesOf(c) {
			z, err := faults.LoopImpedance(end.At(line), end.At(network.PE))
			if err != nil {
				worst = 0
				break
			}
			worst = max(worst, z.Magnitude())
		}
		if worst > 0 {
			c.zs[at] = quantity.Known(worst)
		}
	}
}

// readFaults reads the greatest fault currents at the far end of every circuit.
func (m *Model) readFaults(n *Network) {
	if n.Network == nil || len(m.NoIpf()) > 0 {
		return
	}
	faults, err := n.Faults()
	if err != nil {
		return
	}
	for c, end := range n.Ends {
		if p, err := faults.At(end, 1); err == nil {
			c.fault = quantity.Known(p)
		}
	}
}

// Zs returns the earth fault loop impedance at the far end of the circuit by
// the network: every conductor from the source and back, at a temperature.
func (c *Circuit) Zs(at Temperature) (quantity.Ohms, bool) { return c.zs[at].Get() }

// Drop returns the volt drop line to neutral from the origin to the end of the
// circuit by the network, with this circuit at its full design current.
func (c *Circuit) Drop() (quantity.Volts, bool) { return c.drop.Get() }

// Greatest returns the greatest of a node's fault currents and its kind.
func greatest(p network.Prospective) (quantity.Amperes, string) {
	most, kind := quantity.Amperes(0), ""
	see := func(i quantity.Maybe[quantity.Amperes], what string) {
		if v, ok := i.Get(); ok && v > most {
			most, kind = v, what
		}
	}
	see(p.ThreePhase, "all three lines together")
	for k := range p.LineN {
		see(p.LineN[k], "line to neutral")
		see(p.LinePE[k], "line to earth")
		see(p.LineLine[k], "line to line")
	}
	return most, kind
}

// GreatestFault returns the greatest prospective fault current at board b by
// the network: the value entered for the origin, reduced by the conductors on
// the way at 20 °C.
//
// The angle of the source impedance is not known; it is taken at a right angle
// to the cables', which makes their sum the least it can be, so that the
// current is never understated.
func (m *Model) GreatestFault(b *Board) FaultCurrent { return b.greatest }

// GreatestFault returns the greatest prospective fault current where the circuit
// begins.
func (c *Circuit) GreatestFault() FaultCurrent {
	if c.From != nil {
		return c.From.greatest
	}
	return FaultCurrent{Most: c.model.Job.Supply.Ipf.Value.Or(0), Lacks: finding.Gather(c.model.NoIpf(), c.model.U0().Lacks, c.NoOrigin())}
}

func (m *Model) findGreatestFault(b *Board) FaultCurrent {
	ipf := m.Job.Supply.Ipf.Value.Or(0)
	f := FaultCurrent{Most: ipf, Lacks: finding.Gather(m.NoIpf(), m.U0().Lacks)}
	if !f.Known() {
		return f
	}
	origin := ipf.String() + " at the origin, " + m.Job.Supply.Ipf.KnownBy.String()
	if b.Feed == nil {
		f.Current, f.Why = ipf, origin
		if b.Record.FedFrom == "" {
			f.Lacks = m.Unfed(b)
		}
		return f
	}
	p, ok := b.Feed.fault.Get()
	if !ok {
		for _, c := range b.Feed.Path() {
			f.Lacks = append(f.Lacks, c.R1R2(At20).Lacks...)
			f.Lacks = append(f.Lacks, c.thing.Unless(c.From != nil, "from", "board it starts at")...)
		}
		f.Lacks = besides(f.Lacks, m.leaning())
		if f.Known() {
			at := b.Feed.path[0].thing.Path + "/from"
			f.Lacks = append(finding.Lacks{{Path: at, Of: "network", What: b.Record.Name + " could not be laid out"}}, m.NetworkLacks...)
		}
		return f
	}
	var kind string
	f.Current, kind = greatest(p)
	f.Why = fmt.Sprintf("%s, and %s by the network", origin, kind)
	return f
}

// LeastEarthFault returns the least earth fault current at the far end of c:
//
//	formula  If = U0 × Cmin / Zs, Zs with the conductors at operating temperature
//	clause   BS 7671 411.4.4 (Cmin)
func (c *Circuit) LeastEarthFault() FaultCurrent { return c.least }

func (m *Model) findLeastEarthFault(c *Circuit) FaultCurrent {
	var f FaultCurrent
	u0 := m.U0()
	f.Lacks = append(f.Lacks, u0.Lacks...)
	cmin, _, err := m.Rules.Limit("cmin")
	if err != nil {
		f.Lacks = append(f.Lacks, finding.Cannot(err.Error())...)
	}
	zs, ok := c.Zs(AtOperating)
	if !ok {
		f.Lacks = append(f.Lacks, c.ZsLacks()...)
	}
	if f.Known() && zs > 0 {
		f.Current = quantity.Amperes(cmin * float64(u0.Value) / float64(zs))
		f.Why = fmt.Sprintf("%.2f × %v over Zs %v", cmin, u0.Value, zs)
	}
	return f
}

// ZsLacks says why the circuit has no Zs.
func (c *Circuit) ZsLacks() finding.Lacks {
	switch {
	case !c.earth.Known():
		return besides(c.earth.Lacks, c.model.leaning())
	case len(c.model.NetworkLacks) > 0:
		return c.model.NetworkLacks
	case !c.model.External().Known():
		return c.model.External().Lacks
	}
	top := c.path[0] // where it is fed from, if not from the origin, nobody knows
	return finding.Lacks{{Path: top.thing.Path + "/from", Of: c.thing.Name, What: "an earth return at its far end"}}
}

// Difference says in words how a figure of the network stands to the sum by
// the tables, and why they differ.
func Difference[Q quantity.Quantity](byNetwork, byTable Q, why string) string {
	d := byNetwork - byTable
	if math.Abs(float64(d)) <= 0.002*math.Abs(float64(byTable)) {
		return fmt.Sprintf("%v by the table, and the network agrees", byTable)
	}
	if d > 0 {
		return fmt.Sprintf("%v by the table; the network gives %v more: %s", byTable, d, why)
	}
	return fmt.Sprintf("%v by the table; the network gives %v less: %s", byTable, -d, why)
}
