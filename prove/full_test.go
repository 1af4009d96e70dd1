package prove

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"chargewright/invent"
	"chargewright/model"
	"chargewright/network"
	"chargewright/quantity"
	"chargewright/standard"
)

// TestWiringIsTheNetwork: what a meter reads is worked out on stretches, and
// thousands of times; it must be what the network solved in full gives. Random
// jobs, each sound and with changes drawn at random, conductor by conductor and
// leg by leg from the model's layout. Reference: the solver, itself held to an
// outside simulator.
func TestWiringIsTheNetwork(t *testing.T) {
	rules, err := standard.Open(standard.DefaultEdition())
	if err != nil {
		t.Fatal(err)
	}
	jobs := 1000
	if testing.Short() {
		jobs = 60
	}
	compared, shared := 0, 0
	for seed := range jobs {
		r := invent.Rand(uint64(seed))
		j, _, err := invent.Read(invent.Job(r, invent.Options{Missing: 0.01 * float64(seed%3)}))
		if err != nil {
			t.Fatal(err)
		}
		b, err := newBench(model.New(j, rules), UsualPriors())
		if err != nil {
			t.Fatal(err)
		}
		var places []supposed
		for _, c := range b.priors.causes {
			for _, at := range b.placesOf(c) {
				places = append(places, supposed{c, at})
			}
		}
		for change := range 4 {
			s, what := b.wiring.sound(), "sound"
			if change > 0 && len(places) > 0 {
				p := places[r.IntN(len(places))]
				what = p.cause.key + " at " + p.where.name
				if !p.cause.change(s, p.where, p.cause.low*math.Pow(p.cause.high/p.cause.low, r.Float64())) {
					continue
				}
			}
			if s.whole || len(s.alters) > 0 {
				continue
			}
			runs := slices.DeleteFunc(slices.Clone(b.wiring.runs), func(r *run) bool { return len(r.gap) > 0 })
			for range min(4, len(runs)) {
				run := runs[r.IntN(len(runs))]
				if len(run.core)+len(run.armour) > 1 {
					shared++
				}
				compared += againstFull(t, fmt.Sprintf("job %d, %s, %s", seed, what, run.circuit.Name()), s, run)
			}
		}
	}
	t.Logf("%d loops compared, %d of them through core and armour", compared, shared)
	if compared < 15*jobs || shared < jobs/2 {
		t.Errorf("only %d loops compared, %d of them through core and armour", compared, shared)
	}
}

// againstFull compares what is read at the end of a run, and returns how many
// readings that was.
func againstFull(t *testing.T, what string, s *state, r *run) int {
	t.Helper()
	w := s.wiring
	whole := fullNetwork(t, s, -1)
	legs := w.model.Layout.Circuit[r.circuit]
	from, to := legs[0].From, legs[len(legs)-1].To
	compared := 0
	check := func(reading string, got float64, f *network.Faults, a, b network.Terminal) {
		if got >= openOhms/10 {
			return
		}
		z, err := f.LoopImpedance(a, b)
		if err != nil {
			t.Errorf("%s: %s reads %.7f and the network says %v", what, reading, got, err)
			return
		}
		compared++
		if want := real(complex128(z)); math.Abs(got-want) > 1e-6*math.Max(want, 1) {
			t.Errorf("%s: %s reads %.8f, the network makes it %.8f", what, reading, got, want)
		}
	}
	if len(r.upstream) == 0 && len(legs) > 0 && !legs[0].Adrift {
		line := to.At(r.carries[0])
		for _, k := range []string{"Zs", "line-neutral loop"} {
			back := to.At(network.N)
			if k == "Zs" {
				back = to.At(network.PE)
			}
			v, _ := kindOf(k).predict(s, &question{kind: kindOf(k), run: r, u0: 230, uplift: -1})
			check(k, v.amount, whole, line, back)
		}
	}
	if r.earthed() {
		back, _ := s.between(r.to.e, r.from.e, r.neutral)
		check("R2", back, fullNetwork(t, s, r.neutral), to.At(network.PE), from.At(network.PE))
	}
	return compared
}

// behindJoint is a conductor of the test's own: the protective conductor ahead
// of the joint at its far end.
const behindJoint network.Conductor = 9

// fullNetwork builds the layout of a state, each stretch shared out over the
// wires it is made of, one of them left out.
func fullNetwork(t *testing.T, s *state, off int) *network.Faults {
	t.Helper()
	w, l, o := s.wiring, s.wiring.model.Layout, &s.wiring.model.Outside
	ohms, without, joints := map[wire]float64{}, map[wire]bool{}, map[*model.Span]int{}
	for i, st := range w.stretches {
		base := make([]float64, len(st.of))
		total := 0.0
		for k, x := range st.of {
			base[k] = baseOhms(w, x, st.ohms)
			total += base[k]
		}
		for k, x := range st.of {
			ohms[x], without[x] = s.ohms[i]/float64(len(st.of)), i == off
			if total > 0 {
				ohms[x] = base[k] * (s.ohms[i] / total)
			}
		}
	}
	today := func(x wire) float64 { // what no stretch is made of is as the layout has it
		if r, known := ohms[x]; known {
			return r
		}
		return baseOhms(w, x, 0)
	}
	for _, r := range w.runs {
		if legs := l.Circuit[r.circuit]; len(r.gap) == 0 && r.earthed() && w.stretches[r.joint].of == nil {
			joints[legs[len(legs)-1]] = r.joint
		}
	}
	b := network.NewBuilder()
	for _, name := range l.Nodes[1:] {
		b.Node(name)
	}
	resistor := func(name string, from, to network.Terminal, r float64) {
		b.Branch(network.Branch{Name: name, From: []network.Terminal{from}, To: []network.Terminal{to}, Z: network.Series(quantity.Impedance(complex(r, 0)))})
	}
	lines := o.Lines
	for _, c := range []network.Conductor{network.N, network.PE, network.PEN} {
		resistor("source earth", l.Source.At(c), network.Terminal{Conductor: network.Earth}, 0)
	}
	b.Source(network.Source{Name: "source", Star: l.Source.At(network.N), Lines: l.Source.All(lines...), EMF: network.ThreePhase(230)[:len(lines)]})
	for _, span := range l.Spans {
		switch span.Kind {
		case model.CutOut:
			resistor("PEN and neutral", span.From.At(network.PEN), span.From.At(network.N), 0)
			resistor("earth terminal", span.From.At(network.PEN), span.From.At(network.PE), s.ohms[w.earthTerminal])
			continue
		case model.Electrode:
			resistor(span.Name, span.From.At(network.PE), network.Terminal{Conductor: network.Earth}, ohms[wire{span, 0, false}])
			continue
		}
		for k, x := range span.Wires {
			at := wire{span, k, false}
			if _, of := ohms[at]; !of && x.Conductor <= network.L3 {
				at.at = 0
			}
			to := span.To.At(x.Conductor)
			joint, jointed := joints[span]
			if jointed && x.Conductor == network.PE {
				to = span.To.At(behindJoint)
				resistor("joint", to, span.To.At(network.PE), s.ohms[joint])
			}
			if !without[at] {
				resistor(span.Name, span.From.At(x.Conductor), to, today(at))
			}
			if x.Of != nil && x.Of.Beside != nil {
				resistor(span.Name+", armour", span.From.At(x.Conductor), to, today(wire{span, k, true}))
			}
		}
	}
	terminal := map[node]network.Terminal{w.star.n: l.Source.At(network.N)}
	for at, n := range w.at {
		terminal[n] = at
	}
	for _, x := range s.links {
		resistor("link", terminal[x.a], terminal[x.b], x.ohms)
	}
	n, err := b.Build()
	if err != nil {
		t.Fatal(err)
	}
	f, err := n.Faults()
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// baseOhms is the resistance of a wire with nothing the matter.
func baseOhms(w *wiring, x wire, stretch float64) float64 {
	c := x.span.Wires[x.at].Of
	if c == nil {
		return stretch
	}
	one := *c
	if x.armour {
		one = *c.Beside
	}
	one.Beside = nil
	return real(one.Impedance(x.span.Length, model.AtTest, w.model.TestTemperature()))
}
