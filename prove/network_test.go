package prove

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"chargewright/network"
	"chargewright/quantity"
	"chargewright/standard"
)

// TestAgainstNetwork gives the wiring of random jobs, sound and with every
// cause in turn, to the network solver, an independent program of the house
// that is itself held to an outside simulator, and wants the same loops.
func TestAgainstNetwork(t *testing.T) {
	rules, err := standard.Open(standard.DefaultEdition())
	if err != nil {
		t.Fatal(err)
	}
	compared := 0
	for i := range 40 {
		truth, _ := newTruth(rand.New(rand.NewPCG(7, uint64(i))), 0, rules, UsualPriors())
		b := truth.bench
		states := map[string]*state{"sound": b.wiring.sound()}
		for _, c := range b.priors.causes {
			for _, at := range b.placesOf(c) {
				s := b.wiring.sound()
				if c.change(s, at, math.Sqrt(c.low*c.high)) {
					states[fmt.Sprint(c.key, " at ", at.name)] = s
				}
			}
		}
		for name, s := range states {
			for _, reading := range []struct{ name, at string }{{"Zs", "CP1"}, {"line-neutral loop", "CP1"}, {"line-neutral loop", "supply"}, {"Zs", "main board"}} {
				q := b.ask(kindOf(reading.name), reading.at, how("high current"), "")
				v, ok := q.kind.predict(s, q)
				if !ok || len(q.gap) > 0 || v.amount >= openOhms {
					continue
				}
				at, line := s.place(q)
				back := at.n
				if (reading.name == "Zs") != s.exchanged[q.run] { // exchanged conductors end at each other's terminal
					back = at.e
				}
				want := byNetwork(t, s, line, back)
				if want > openOhms/10 {
					continue
				}
				if math.Abs(v.amount-want) > 1e-4*want+1e-5 {
					t.Errorf("job %d, %s: %s at %s = %.6f, the network makes it %.6f", i, name, reading.name, reading.at, v.amount, want)
				}
				compared++
			}
		}
	}
	if compared < 4000 {
		t.Errorf("only %d loops compared", compared)
	}
}

// byNetwork lays a state out as a network of its own and reads the loop.
func byNetwork(t *testing.T, s *state, line []int, back node) float64 {
	t.Helper()
	b := network.NewBuilder()
	ids := make([]network.NodeID, s.wiring.nodes)
	for i := range ids {
		ids[i] = b.Node(fmt.Sprint("node ", i))
	}
	star := ids[s.wiring.star.n].At(network.PE)
	street := b.Node("street")
	b.Source(network.Source{Name: "source", Star: star, Lines: []network.Terminal{street.At(network.L1)}, EMF: []complex128{230}})
	b.Electrode("source earth", star, 1)
	from := street
	for n, i := range line {
		to := b.Node(fmt.Sprint("line ", n))
		b.Branch(network.Branch{Name: "line", From: from.All(network.L1), To: to.All(network.L1), Z: network.Series(quantity.Impedance(complex(s.ohms[i], 0)))})
		from = to
	}
	for _, e := range s.net().ties {
		if e.a != e.b {
			b.Branch(network.Branch{Name: "return", From: ids[e.a].All(network.PE), To: ids[e.b].All(network.PE), Z: network.Series(quantity.Impedance(complex(s.ohmsOf(e.id), 0)))})
		}
	}
	net, err := b.Build()
	if err != nil {
		t.Fatal(err)
	}
	f, err := net.Faults()
	if err != nil {
		t.Fatal(err)
	}
	z, err := f.LoopImpedance(from.At(network.L1), ids[back].At(network.PE))
	if err != nil {
		t.Fatal(err)
	}
	return float64(z.Magnitude())
}

// TestAgainstModel wants the sound wiring to agree with the loops the model
// reads off its own network. That takes the earthing conductor at 30 °C, which
// is the whole difference.
func TestAgainstModel(t *testing.T) {
	rules, err := standard.Open(standard.DefaultEdition())
	if err != nil {
		t.Fatal(err)
	}
	compared := 0
	for i := range 60 {
		truth, _ := newTruth(rand.New(rand.NewPCG(8, uint64(i))), 0, rules, UsualPriors())
		sound := truth.bench.wiring.sound()
		for _, r := range truth.bench.wiring.runs {
			want, ok := r.circuit.Zs(1) // on the day of the test
			if !ok || len(r.gap) > 0 {
				continue
			}
			got := reads(t, truth.bench, sound, "Zs", farEnd(r.circuit), "high current")
			closeTo(t, fmt.Sprintf("job %d, Zs at %s", i, farEnd(r.circuit)), got, float64(want), 0.003+0.01*float64(want))
			compared++
		}
	}
	if compared < 60 {
		t.Errorf("only %d loops compared", compared)
	}
}
