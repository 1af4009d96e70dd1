package demand

// Voltage along the line, for every step of a long run.
//
// Loads are taken as currents in step with their own line's voltage at no
// load; then voltages follow the currents in proportion, and the four-wire
// network needs to be solved once for each place a current is drawn, not once
// for each step. A test compares this with the full solution.

import (
	"math"
	"math/cmplx"

	"chargewright/finding"
	"chargewright/job"
	"chargewright/model"
	"chargewright/network"
	"chargewright/quantity"
)

// Drops tells how the voltages at watched places follow the currents.
type Drops struct {
	Places []Place
	site   [][3]complex128 // V at place for each A of the other loads in each line
	bays   [][]complex128  // V at place for each A per line of each charge point
}

// Place is where a voltage is watched: one line to neutral.
type Place struct {
	Name string
	Line int // from 0
	idle complex128
}

// Watch finds the proportions of a network.
//
//	site    loads that stand for the other loads, one a line; fewer for a single-phase supply
//	bays    the loads of each charge point
//	places  where to watch, as line and neutral terminals
func Watch(net *network.Network, site []network.LoadID, bays [][]network.LoadID, places []Place, at [][2]network.Terminal, u0 quantity.Volts) (*Drops, error) {
	flow, err := net.Flow()
	if err != nil {
		return nil, err
	}
	st := flow.NewState()
	all := append([]network.LoadID{}, site...)
	for _, b := range bays {
		all = append(all, b...)
	}
	const step = 10 // A, large enough to stand clear of rounding
	volts := func(on ...network.LoadID) ([]complex128, error) {
		for _, id := range all {
			if err := flow.SetPower(id, 0); err != nil {
				return nil, err
			}
		}
		for _, id := range on {
			if err := flow.SetPower(id, complex(float64(u0)*step, 0)); err != nil {
				return nil, err
			}
		}
		if err := flow.Solve(st); err != nil {
			return nil, err
		}
		out := make([]complex128, len(at))
		for i, t := range at {
			out[i] = st.V(t[0]) - st.V(t[1])
		}
		return out, nil
	}
	idle, err := volts()
	if err != nil {
		return nil, err
	}
	d := &Drops{Places: append([]Place(nil), places...), site: make([][3]complex128, len(places)), bays: make([][]complex128, len(places))}
	for i := range d.Places {
		d.Places[i].idle = idle[i]
		d.bays[i] = make([]complex128, len(bays))
	}
	for k, id := range site {
		v, err := volts(id)
		if err != nil {
			return nil, err
		}
		for i := range v {
			d.site[i][k] = (v[i] - idle[i]) / step
		}
	}
	for b, ids := range bays {
		v, err := volts(ids...)
		if err != nil {
			return nil, err
		}
		for i := range v {
			d.bays[i][b] = (v[i] - idle[i]) / step
		}
	}
	return d, nil
}

// DropsOf lays out lines and neutral of a job from the source to each point
// that has a circuit, conductors at operating temperature, and watches the
// voltage at every point. It returns what is missing, or taken for granted.
func DropsOf(m *model.Model) (d *Drops, lacks finding.Lacks, assumed []string) {
	u0, known := m.U0().Get()
	if !known {
		return nil, m.U0().Lacks, nil
	}
	s := &m.Job.Supply
	loop, ok := s.LineNeutralLoop.Value.Get()
	if !ok {
		if loop, ok = s.Ze.Value.Get(); !ok {
			return nil, job.TheSupply.Lack("line-neutral loop", "line-neutral loop, or Ze", "Ze"), nil
		}
		assumed = append(assumed, "voltage along the line: the supply's line-neutral loop is as Ze, half of it in the line and half in the neutral")
	}
	lines := []network.Conductor{network.L1, network.L2, network.L3}
	if n, ok := s.Phases.Get(); ok && n == 1 {
		lines = lines[:1]
	}
	four := append(append([]network.Conductor{}, lines...), network.N)
	b := network.NewBuilder()
	street, origin := b.Node("source"), b.Node("origin")
	b.Source(network.Source{Name: "source", Star: street.At(network.N), Lines: street.All(lines...), EMF: network.ThreePhase(u0)[:len(lines)]})
	b.Join("source earth", street, network.N, network.Earth)
	half := make([]quantity.Impedance, len(four))
	for i := range half {
		half[i] = quantity.Impedance(complex(float64(loop)/2, 0))
	}
	b.Branch(network.Branch{Name: "supply", From: street.All(four...), To: origin.All(four...), Z: network.Series(half...)})
	load := func(name string, n network.NodeID, k int) network.LoadID {
		return b.Load(network.Load{Name: name, From: n.At(lines[k]), To: n.At(network.N), Model: network.ConstantCurrent, Rated: u0})
	}
	var site []network.LoadID
	for k := range lines {
		site = append(site, load("other loads", origin, k))
	}
	boards := map[*model.Board]network.NodeID{}
	var bays [][]network.LoadID
	var places []Place
	var at [][2]network.Terminal
	ends := map[*model.Point]network.NodeID{}
	for _, board := range m.Boards {
		if board.Feed == nil {
			boards[board] = origin
		}
	}
	for _, c := range m.Circuits {
		from, ok := boards[c.From]
		if !ok || len(c.Legs) == 0 || c.Board == nil && c.Point == nil {
			continue
		}
		for _, leg := range c.Legs {
			l, known := leg.Record.Length.Get()
			if !known || !leg.Line.Known() || !leg.Neutral.Known() {
				lacks = finding.Gather(lacks, leg.Thing().Unless(known, "length", "length"), leg.Line.Lacks, leg.Neutral.Lacks)
				break
			}
			z := make([]quantity.Impedance, len(four))
			for i := range z {
				z[i] = leg.Line.Impedance(l, model.AtOperating, 0)
			}
			z[len(z)-1] = leg.Neutral.Impedance(l, model.AtOperating, 0)
			next := b.Node(leg.Name())
			b.Branch(network.Branch{Name: leg.Name(), From: from.All(four...), To: next.All(four...), Z: network.Series(z...)})
			from = next
		}
		if c.Board != nil {
			boards[c.Board] = from
		} else {
			ends[c.Point] = from
		}
	}
	for _, p := range m.Points {
		n, laid := ends[p]
		var ids []network.LoadID
		if laid {
			for k, i := range m.PointCurrents(p).Phase {
				if i > 0 && k < len(lines) {
					ids = append(ids, load("point "+p.Record.Name, n, k))
					places = append(places, Place{Name: p.Record.Name, Line: k})
					at = append(at, [2]network.Terminal{n.At(lines[k]), n.At(network.N)})
				}
			}
		} else {
			lacks = append(lacks, m.NotLed(p)...)
		}
		bays = append(bays, ids)
	}
	net, err := b.Build()
	if err == nil {
		d, err = Watch(net, site, bays, places, at, u0)
	}
	if err != nil {
		lacks = append(lacks, finding.Cannot(err.Error())...)
	}
	return d, lacks, assumed
}

// Volts returns the voltage at every place for currents of the other loads and
// of the charge points, each per line.
func (d *Drops) Volts(site Lines, bays []quantity.Amperes) []quantity.Volts {
	out := make([]quantity.Volts, len(d.Places))
	for i := range out {
		v := d.Places[i].idle
		for k, a := range site {
			v += d.site[i][k] * complex(float64(a), 0)
		}
		for b, a := range bays {
			v += d.bays[i][b] * complex(float64(a), 0)
		}
		out[i] = quantity.Volts(cmplx.Abs(v))
	}
	return out
}

// voltmeter follows the lowest voltages through a run.
type voltmeter struct {
	*Drops
	now    []complex128 // idle and charge points together, at each place
	lowest []float64    // V squared
	when   []int64      // step
}

func newVoltmeter(d *Drops) *voltmeter {
	v := &voltmeter{Drops: d, now: make([]complex128, len(d.Places)), lowest: make([]float64, len(d.Places)), when: make([]int64, len(d.Places))}
	for i, p := range d.Places {
		v.now[i], v.lowest[i] = p.idle, math.Inf(1)
	}
	return v
}

// change moves the current of a charge point by mA.
func (v *voltmeter) change(bay int, by int64) {
	a := complex(float64(by)/1000, 0)
	for i := range v.now {
		v.now[i] += v.bays[i][bay] * a
	}
}

// read takes the voltages of steps in which the points draw the same.
func (v *voltmeter) read(others []Present, first int64) {
	for i := range v.now {
		s, re, im := &v.site[i], real(v.now[i]), imag(v.now[i])
		for n := range others {
			a, b, c := float64(others[n][0])*1e-3, float64(others[n][1])*1e-3, float64(others[n][2])*1e-3
			x := re + a*real(s[0]) + b*real(s[1]) + c*real(s[2])
			y := im + a*imag(s[0]) + b*imag(s[1]) + c*imag(s[2])
			if u := x*x + y*y; u < v.lowest[i] {
				v.lowest[i], v.when[i] = u, first+int64(n)
			}
		}
	}
}
