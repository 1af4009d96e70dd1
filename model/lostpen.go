package model

import (
	"math"

	"chargewright/finding"
	"chargewright/network"
	"chargewright/quantity"
	"chargewright/trade"
	"chargewright/works"
)

// LostPEN is what happens when the supply's combined neutral and protective
// conductor breaks: ahead of the neighbours where they are recorded, else in
// the service.
type LostPEN struct {
	Terminal    quantity.Volts            // main earthing terminal to true earth
	LineNeutral [3]quantity.Volts         // at the origin; only the lines there are
	Points      map[string]quantity.Volts // metal of each point, and of its vehicle, to true earth
	// Electrode is the greatest that by itself keeps the terminal at the limit,
	// by the network and by the formula of the annex, which leaves the
	// conductors out; not known where none would do.
	Electrode quantity.Maybe[quantity.Ohms]
	Needed    bool // without an electrode the terminal passes the limit
	Lacks     finding.Lacks
}

// Known reports whether the study could be made.
func (l LostPEN) Known() bool { return len(l.Lacks) == 0 }

// LosePEN breaks the PEN conductor of the supply with the recorded loads on.
//
//	factor    of the nominal voltage, 1.1 for the highest lawful supply
//	pointsOn  whether every point is on, in full, or none
//	most      voltage of the main earthing terminal to true earth that an
//	          electrode shall keep, 70 V in BS 7671 722.411.4.1
//
// Loads are constant resistances at nominal voltage, and the source's own
// electrode has no resistance: the worse case for the vehicle. Electrodes at
// the main earthing terminal count; bonded pipes in the ground do not, since
// what they are worth is not known.
func (m *Model) LosePEN(factor float64, pointsOn bool, most quantity.Volts) LostPEN {
	out := LostPEN{Points: map[string]quantity.Volts{}}
	demand := m.ExistingDemand()
	out.Lacks = finding.Gather(demand.Lacks, m.Outside.Unknown)
	share := map[*Point]float64{}
	for _, p := range m.Points {
		if pointsOn {
			share[p] = 1
			out.Lacks = finding.Gather(out.Lacks, m.PointCurrents(p).Lacks)
		}
	}
	if system, ok := m.Job.Supply.Earthing.Get(); !ok || system != trade.TNCS {
		out.Lacks = append(out.Lacks, works.TheSupply.Lack("earthing", "a TN-C-S supply, for its PEN conductor to be lost")...)
	}
	if !out.Known() {
		return out
	}
	n, lost := m.breakPEN(share, factor, true)
	if lost == nil {
		out.Lacks = n.Lacks
		return out
	}
	terminal := n.Origin.At(network.PE)
	out.Terminal = touch(lost.State, terminal)
	for k, line := range n.lines {
		out.LineNeutral[k] = lost.State.Volts(n.Origin.At(line), n.Origin.At(network.N))
	}
	for _, p := range m.Points {
		if p.Circuit == nil {
			continue
		}
		if end, laid := n.Ends[p.Circuit]; laid && n.Has(end.At(network.PE)) {
			out.Points[p.Record.Name] = touch(lost.State, end.At(network.PE))
		}
	}
	if _, lost = m.breakPEN(share, factor, false); lost == nil {
		return out
	}
	currents := demand
	for _, p := range m.Points {
		for k, i := range m.PointCurrents(p).Phase {
			currents.Phase[k] += i * quantity.Amperes(share[p])
		}
	}
	byFormula := GreatestElectrode(m.Outside.Volts, factor, currents, most)
	r, needed, err := lost.ElectrodeFor(terminal, most)
	if !needed {
		r = byFormula
	}
	out.Needed = needed || !math.IsInf(float64(byFormula), 1)
	if err == nil && out.Needed {
		out.Electrode = quantity.Known(min(r, byFormula))
	}
	return out
}

// breakPEN loses the PEN conductor with the points at a share of their full
// current, the recorded electrodes at the terminal counted or not; nil where
// that cannot be worked out.
func (m *Model) breakPEN(share map[*Point]float64, factor float64, electrodes bool) (*Network, *network.LostPEN) {
	n := m.loaded(AtOperating, network.ConstantImpedance, share, factor)
	if n.builder == nil {
		return n, nil
	}
	if electrodes {
		n.layTerminalElectrodes()
	}
	n.layNeighbours()
	if n = n.finish(); n.Network == nil {
		return n, nil
	}
	broken := n.Supply
	if len(m.Job.Supply.Neighbours) > 0 {
		broken = n.Main
	}
	lost, err := n.Network.LosePEN(broken, network.PEN)
	if err != nil {
		n.Lacks = append(n.Lacks, finding.Cannot(err.Error())...)
		return n, nil
	}
	return n, lost
}

// touch returns the voltage of a terminal to true earth; what is left of a
// balance by rounding is none.
func touch(st *network.State, t network.Terminal) quantity.Volts {
	if v := st.Touch(t); v > 1e-6 {
		return v
	}
	return 0
}

// layTerminalElectrodes joins to the main earthing terminal the electrodes
// recorded as being there.
func (n *Network) layTerminalElectrodes() {
	names := map[string]bool{n.model.Job.Supply.Electrode: true}
	for _, p := range n.model.Points {
		if p.Record.Earthing.Measure.Or("") == trade.LowElectrode {
			names[p.Record.Earthing.Electrode] = true
		}
	}
	for i := range n.model.Job.Electrodes {
		e := &n.model.Job.Electrodes[i]
		if !names[e.Name] {
			continue
		}
		r := n.model.ElectrodeResistance(e)
		if !r.Known() {
			n.Lacks = append(n.Lacks, r.Lacks...)
			continue
		}
		n.builder.Electrode("electrode "+e.Name, n.Origin.At(network.PE), r.Value)
	}
}

// layNeighbours connects the other premises on the same main.
func (n *Network) layNeighbours() {
	for _, other := range n.model.Job.Supply.Neighbours {
		i, ok := other.Current.Get()
		if !ok {
			n.Lacks = append(n.Lacks, other.Thing().Lack("current", "current")...)
			continue
		}
		phase := spread(i, other.Phases.Or(trade.L1))
		u0 := n.model.U0().Value
		for k, line := range n.lines {
			if phase[k] > 0 {
				n.builder.Load(network.Load{Name: "neighbour " + other.Name, From: n.Street.At(line), To: n.Street.At(network.PEN),
					Model: network.ConstantImpedance, S: complex(float64(u0)*float64(phase[k]), 0), Rated: u0})
			}
		}
		if r, ok := other.Electrode.Get(); ok {
			n.builder.Electrode("neighbour "+other.Name, n.Street.At(network.PEN), r)
		}
	}
}

// LostPENVoltage returns the voltage of the main earthing terminal to true
// earth when the PEN conductor is lost.
//
//	symbol   Ut, in V
//	formula  Ut = C × U0 × IN / (ΣI + U0/RA)
//	currents design current in each line at U0; IN is their phasor sum
//	ra       resistance to earth of the electrode at the terminal, in Ω; +Inf
//	         where there is none
//	c        voltage factor, 1.1 for the highest lawful supply
//	clause   BS 7671 Annex A722 (form of IN), Millman's theorem for the rest
//
// Loads are taken as constant resistances and the source's own electrode as
// 0 Ω, which is the worse case for the vehicle.
func LostPENVoltage(u0 quantity.Volts, c float64, currents Currents, ra quantity.Ohms) quantity.Volts {
	sum := float64(currents.Phase[0] + currents.Phase[1] + currents.Phase[2])
	if sum <= 0 {
		return 0
	}
	return quantity.Volts(c * float64(u0) * float64(currents.Neutral()) / (sum + float64(u0)/float64(ra)))
}

// GreatestElectrode returns the electrode resistance that keeps the lost-PEN
// voltage at most: RA ≤ most × U0 / (C × U0 × IN − most × ΣI). No electrode is
// needed where that has no positive solution; then it returns +Inf.
func GreatestElectrode(u0 quantity.Volts, c float64, currents Currents, most quantity.Volts) quantity.Ohms {
	sum := float64(currents.Phase[0] + currents.Phase[1] + currents.Phase[2])
	below := c*float64(u0)*float64(currents.Neutral()) - float64(most)*sum
	if below <= 0 {
		return quantity.Ohms(math.Inf(1))
	}
	return quantity.Ohms(float64(most) * float64(u0) / below)
}
