package model

import (
	"math"
	"math/cmplx"

	"chargewright/finding"
	"chargewright/network"
	"chargewright/quantity"
	"chargewright/works"
)

// thirdHarmonic is the share of third harmonic a vehicle's charger is taken to
// draw where its data does not say: a round figure on the high side of what
// chargers are measured at (engineering judgement, no published source).
const thirdHarmonic = 0.10

// apparent returns s volt-amperes at a lagging power factor.
func apparent(s, pf float64) complex128 {
	return complex(s*pf, s*math.Sqrt(max(0, 1-pf*pf)))
}

// FlowAt is the state at the far end of a circuit with every point on, each
// held to what its limiter leaves.
type FlowAt struct {
	Circuit      *Circuit
	Volts        [3]quantity.Volts   // line to neutral; only the lines the circuit has
	Lines        [3]quantity.Amperes // in each line
	Neutral      quantity.Amperes    // fundamental and third harmonic together, r.m.s.
	NeutralThird quantity.Amperes    // the third harmonic alone
	Loss         quantity.Watts
}

// Lowest returns the lowest voltage line to neutral.
func (f FlowAt) Lowest() quantity.Volts {
	low := quantity.Volts(math.Inf(1))
	for _, v := range f.Volts {
		if v > 0 {
			low = min(low, v)
		}
	}
	return low
}

// Flow is the load flow of the whole job.
type Flow struct {
	Origin [3]quantity.Volts // line to neutral at the origin
	At     []FlowAt          // in the order of the circuits; those that could be laid out
	Losses quantity.Watts    // in the job's own conductors
	Lacks  finding.Lacks
}

// Shares is what part of its full current each point takes, all points on, and
// held so that no limiter's limit is passed.
func (m *Model) Shares() map[*Point]float64 {
	out := map[*Point]float64{}
	for _, p := range m.Points {
		out[p] = 1
	}
	for i := range m.Job.Limiters {
		l := &m.Job.Limiters[i]
		limit, ok := l.Limit.Get()
		if !ok {
			continue
		}
		at := m.AtLimiter(l)
		held, least := at.HeldBy(l), 1.0
		for k, others := range at.Without(l).Phase {
			if held[k] > 0 {
				least = min(least, max(0, float64(limit-others))/float64(held[k]))
			}
		}
		for _, p := range m.Points {
			if through, _ := m.Through(l, p); through && p.Record.Limiter == l.Name {
				out[p] = least
			}
		}
	}
	return out
}

// Placed is a load where it is connected.
type Placed struct {
	Name        string
	At          network.NodeID
	Phase       [3]quantity.Amperes
	PowerFactor float64
}

// OtherLoads are the loads besides the points: existing loads where they are
// connected, the rest of the existing demand at the origin.
func (m *Model) OtherLoads() []Placed { return m.others }

// placeLoads shares the existing demand out. Loads that come to more than the
// demand never all draw at once: they are taken in proportion.
func (m *Model) placeLoads() []Placed {
	demand := m.ExistingDemand()
	var out []Placed
	var full [3]quantity.Amperes
	for i := range m.Job.Loads {
		l := &m.Job.Loads[i]
		cur := m.LoadCurrents(l)
		if node, laid := m.Layout.nodeOf(l); cur.Known() && laid && node != m.Layout.Origin {
			out = append(out, Placed{"load " + l.Name, node, cur.Phase, l.PowerFactor.Or(1)})
			for k, i := range cur.Phase {
				full[k] += i
			}
		}
	}
	rest := Placed{Name: "existing demand", At: m.Layout.Origin, PowerFactor: 1}
	for k := range full {
		if demand.Known() && full[k] > demand.Phase[k] {
			m.assume("existing loads draw together what the existing demand is, each in proportion to its full current")
			for i := range out {
				out[i].Phase[k] *= demand.Phase[k] / full[k]
			}
		}
		rest.Phase[k] = max(0, demand.Phase[k]-full[k])
	}
	return append(out, rest)
}

// nodeOf returns where a load is connected.
func (l *Layout) nodeOf(load *works.Load) (network.NodeID, bool) {
	for c, end := range l.Ends {
		if c.Load == load {
			return end, true
		}
	}
	for b, node := range l.Boards {
		if b.Record.Name == load.Board {
			return node, true
		}
	}
	return 0, false
}

// loaded returns the network with its loads on, the points at a share of their
// full current. The caller finishes it.
func (m *Model) loaded(at Temperature, model network.LoadModel, share map[*Point]float64, factor float64) *Network {
	n := m.newNetwork(at, resistive, factor)
	if n.builder == nil {
		return n
	}
	for _, l := range m.others {
		n.place(l.Name, l.At, l.Phase, l.PowerFactor, model)
	}
	for _, p := range m.Points {
		if p.Circuit == nil {
			continue
		}
		end, laid := n.Ends[p.Circuit]
		cur := m.PointCurrents(p)
		if !laid || !cur.Known() {
			continue
		}
		i := cur.Greatest() * quantity.Amperes(share[p])
		if i <= 0 {
			continue
		}
		if model == network.ConstantImpedance {
			n.place("point "+p.Record.Name, end, spread(i, p.Circuit.Lines()), 1, model)
			continue
		}
		n.Points[p] = n.builder.ChargePoint(network.ChargePoint{Name: "point " + p.Record.Name, Lines: end.All(m.linesOf(p.Circuit)...),
			Neutral: end.At(network.N), Current: i, PowerFactor: 1, Third: thirdHarmonic})
	}
	return n
}

// solveFlow finds voltages and currents with every point on, and the volt drop
// of each final circuit at its full current.
func (m *Model) solveFlow(n *Network, share map[*Point]float64) Flow {
	lacks := []finding.Lacks{n.Lacks, m.Outside.Unknown, m.ExistingDemand().Lacks}
	for _, p := range m.Points {
		if cur := m.PointCurrents(p); !cur.Known() {
			lacks = append(lacks, cur.Lacks)
		} else if len(n.Points[p]) == 0 && share[p] > 0 {
			lacks = append(lacks, m.NotLed(p))
		}
	}
	for _, c := range m.Circuits {
		if c.Record.To == "" && !c.Record.Existing {
			lacks = append(lacks, c.thing.Lack("to", "what it feeds"))
		}
	}
	out := Flow{Lacks: finding.Gather(lacks...)}
	if n.Network == nil {
		return out
	}
	flow, err := n.Flow()
	if err != nil {
		out.Lacks = append(out.Lacks, finding.Cannot(err.Error())...)
		return out
	}
	st := flow.NewState()
	harmonic, err := n.ThirdHarmonic()
	if err == nil {
		err = flow.Solve(st)
	}
	if err != nil {
		out.Lacks = append(out.Lacks, finding.Cannot(err.Error())...)
		return out
	}
	third := harmonic.NewState()
	if err := harmonic.Solve(st, third); err != nil {
		out.Lacks = append(out.Lacks, finding.Cannot(err.Error())...)
		return out
	}
	for k, line := range n.lines {
		out.Origin[k] = st.Volts(n.Origin.At(line), n.Origin.At(network.N))
	}
	for _, c := range m.Circuits {
		if end, laid := n.Ends[c]; laid {
			f := n.flowAt(c, end, st, third)
			out.Losses += f.Loss
			out.At = append(out.At, f)
		}
	}
	drops := fullDrops{n, flow, st, share, map[*Point]float64{}, map[network.LoadID]complex128{}, false}
	for _, p := range m.Points {
		drops.full[p] = float64(m.PointCurrents(p).Greatest())
	}
	for _, c := range m.Circuits {
		if c.Point != nil && len(n.Points[c.Point]) > 0 {
			c.drop = drops.of(c)
		}
	}
	if len(m.Outside.Unknown) > 0 { // a drop along the job's own conductors is one on any supply; a voltage is not
		return Flow{Lacks: out.Lacks}
	}
	return out
}

// flowAt reads the state at the far end of a circuit.
func (n *Network) flowAt(c *Circuit, end network.NodeID, st, third *network.State) FlowAt {
	f := FlowAt{Circuit: c}
	legs := n.Circuit[c]
	last := n.Legs[legs[len(legs)-1]]
	lines := n.model.linesOf(c)
	for i, line := range lines {
		k := int(line - network.L1)
		f.Volts[k] = st.Volts(end.At(line), end.At(network.N))
		f.Lines[k] = st.Amperes(last, i)
	}
	i1, i3 := st.Current(last, len(lines)), third.Current(last, len(lines))
	f.Neutral, f.NeutralThird = quantity.Amperes(network.RMS(i1, i3)), quantity.Amperes(cmplx.Abs(i3))
	for _, leg := range legs {
		f.Loss += st.Loss(n.Legs[leg])
	}
	return f
}

// fullDrops finds volt drops, one circuit after the other at its full design
// current. Where two ask for the same loads, they are solved for once.
type fullDrops struct {
	*Network
	flow   *network.Flow
	st     *network.State
	share  map[*Point]float64
	full   map[*Point]float64            // current of each point
	powers map[network.LoadID]complex128 // as set
	solved bool                          // for these
}

// of returns the volt drop line to neutral from the origin to the end of a final
// circuit that carries its full design current, the other points holding back so
// that no limit is passed.
func (d *fullDrops) of(c *Circuit) quantity.Maybe[quantity.Volts] {
	m := d.model
	u0, rest := m.U0().Value, d.restShare(c.Point)
	for p, loads := range d.Points {
		part := d.share[p]
		if part < 1 && p != c.Point && sameLimiter(p, c.Point) {
			part = rest
		}
		i := part * d.full[p]
		if p == c.Point {
			i = float64(c.DesignCurrents().Greatest())
		}
		s := complex(float64(u0)*i, 0)
		for _, id := range loads {
			if was, set := d.powers[id]; set && was == s {
				continue
			}
			if d.flow.SetPower(id, s) != nil {
				return quantity.Maybe[quantity.Volts]{}
			}
			d.powers[id], d.solved = s, false
		}
	}
	if !d.solved {
		if d.flow.Solve(d.st) != nil {
			return quantity.Maybe[quantity.Volts]{}
		}
		d.solved = true
	}
	end := d.Ends[c]
	var worst quantity.Volts
	for _, line := range m.linesOf(c) {
		worst = max(worst, d.st.Volts(d.Origin.At(line), d.Origin.At(network.N))-d.st.Volts(end.At(line), end.At(network.N)))
	}
	return quantity.Known(worst)
}

func sameLimiter(a, b *Point) bool {
	return a.Record.Limiter != "" && a.Record.Limiter == b.Record.Limiter
}

// restShare returns the share left for each other point of its limiter while one
// takes its full current: the same total, less what that one takes.
func (d *fullDrops) restShare(full *Point) float64 {
	var total, others float64
	for _, q := range d.model.Points {
		if sameLimiter(q, full) {
			total += d.share[q] * d.full[q]
			if q != full {
				others += d.full[q]
			}
		}
	}
	if others <= 0 {
		return 0
	}
	return min(1, max(0, total-d.full[full])/others)
}
