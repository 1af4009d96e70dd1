package demand

// Voltage along the line, for every step of a long run.
//
// Loads are taken as currents at a steady angle to their own line's voltage at
// no load; then voltages follow the currents in proportion, and the model's
// network needs to be solved once for each place a current is drawn, not once
// for each step. A test compares this with the full solution.

import (
	"math"
	"math/cmplx"

	"chargewright/finding"
	"chargewright/model"
	"chargewright/network"
	"chargewright/quantity"
)

// dropModel tells how the voltages at watched places follow the currents.
type dropModel struct {
	Places []watchedPlace
	site   [][3]complex128 // V at place for each A of the other loads in each line
	bays   [][]complex128  // V at place for each A per line of each charge point
}

// watchedPlace is where a voltage is watched: one line to neutral.
type watchedPlace struct {
	Name string
	Line int // from 0
	idle complex128
}

// betweenTerminals is a part of a current, taken between two terminals.
type betweenTerminals struct {
	From, To network.Terminal
	Part     complex128 // of each ampere; 1 for the whole of it in step with the voltage there
}

// watch finds the proportions of a network.
//
//	site    where the other loads of each line draw
//	bays    where each charge point draws
//	places  where to watch, as line and neutral terminals
func watch(net *network.Network, site, bays [][]betweenTerminals, places []watchedPlace, at [][2]network.Terminal) (*dropModel, error) {
	faults, err := net.Faults()
	if err != nil {
		return nil, err
	}
	across := func(st *network.State, t [2]network.Terminal) complex128 { return st.V(t[0]) - st.V(t[1]) }
	d := &dropModel{Places: append([]watchedPlace(nil), places...), site: make([][3]complex128, len(places)), bays: make([][]complex128, len(places))}
	for i := range d.Places {
		d.Places[i].idle = across(faults.Open(), at[i])
		d.bays[i] = make([]complex128, len(bays))
	}
	draw := func(draws []betweenTerminals, put func(place int) *complex128) error {
		for _, w := range draws {
			st, err := faults.Draw(w.From, w.To)
			if err != nil {
				return err
			}
			v := across(faults.Open(), [2]network.Terminal{w.From, w.To})
			in := w.Part * v / complex(cmplx.Abs(v), 0)
			for i := range at {
				*put(i) += in * across(st, at[i])
			}
		}
		return nil
	}
	for k, draws := range site {
		if err := draw(draws, func(i int) *complex128 { return &d.site[i][k] }); err != nil {
			return nil, err
		}
	}
	for b, draws := range bays {
		if err := draw(draws, func(i int) *complex128 { return &d.bays[i][b] }); err != nil {
			return nil, err
		}
	}
	return d, nil
}

// dropsOf watches the voltage at every point of a job, in the model's own
// network. It returns what is missing, or taken for granted.
func dropsOf(m *model.Model) (d *dropModel, lacks finding.Lacks, assumed []string) {
	n, o := m.Network(), &m.Outside
	if n.Network == nil {
		return nil, n.Lacks, nil
	}
	if len(o.Unknown) > 0 {
		return nil, o.Unknown, nil
	}
	if !m.Job.Supply.LineNeutralLoop.Value.IsKnown() {
		assumed = append(assumed, "voltage along the line: the supply's line-neutral loop is "+o.Loop)
	}
	var site, bays [][]betweenTerminals
	for k, line := range o.Lines {
		site = append(site, othersOf(m, k, line))
	}
	var places []watchedPlace
	var at [][2]network.Terminal
	for _, p := range m.Points {
		var draws []betweenTerminals
		end, laid := n.Ends[p.Circuit]
		if !laid {
			lacks = append(lacks, m.NotLed(p)...)
		}
		for k, i := range m.PointCurrents(p).Phase {
			if i <= 0 || k >= len(o.Lines) || !n.Has(end.At(o.Lines[k])) {
				continue
			}
			line, neutral := end.At(o.Lines[k]), end.At(network.N)
			draws = append(draws, betweenTerminals{line, neutral, 1})
			places, at = append(places, watchedPlace{Name: p.Record.Name, Line: k}), append(at, [2]network.Terminal{line, neutral})
		}
		bays = append(bays, draws)
	}
	d, err := watch(n.Network, site, bays, places, at)
	if err != nil {
		lacks = append(lacks, finding.Cannot(err.Error())...)
	}
	return d, lacks, assumed
}

// othersOf says where an ampere of the other loads of line k is drawn: shared
// as the model shares out the existing demand.
func othersOf(m *model.Model, k int, line network.Conductor) []betweenTerminals {
	var whole quantity.Amperes
	for _, l := range m.OtherLoads() {
		whole += l.Phase[k]
	}
	if whole <= 0 {
		return []betweenTerminals{{m.Layout.Origin.At(line), m.Layout.Origin.At(network.N), 1}}
	}
	var out []betweenTerminals
	for _, l := range m.OtherLoads() {
		if part := float64(l.Phase[k] / whole); part > 0 {
			lags := complex(l.PowerFactor, -math.Sqrt(max(0, 1-l.PowerFactor*l.PowerFactor)))
			out = append(out, betweenTerminals{l.At.At(line), l.At.At(network.N), complex(part, 0) * lags})
		}
	}
	return out
}

// Volts returns the voltage at every place for currents of the other loads and
// of the charge points, each per line.
func (d *dropModel) Volts(site Lines, bays []quantity.Amperes) []quantity.Volts {
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
	*dropModel
	now    []complex128 // idle and charge points together, at each place
	lowest []float64    // V squared
	when   []int64      // step
}

func newVoltmeter(d *dropModel) *voltmeter {
	v := &voltmeter{dropModel: d, now: make([]complex128, len(d.Places)), lowest: make([]float64, len(d.Places)), when: make([]int64, len(d.Places))}
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
func (v *voltmeter) read(others []present, first int64) {
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
