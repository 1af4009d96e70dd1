package network_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"testing"
	"time"

	"chargewright/network"
)

func TestSolvingAllocatesNothing(t *testing.T) {
	s := newSite(12)
	s.charge(32)
	net, err := s.b.Build()
	if err != nil {
		t.Fatal(err)
	}
	flow, err := net.Flow()
	if err != nil {
		t.Fatal(err)
	}
	third, err := net.ThirdHarmonic()
	if err != nil {
		t.Fatal(err)
	}
	st, st3 := flow.NewState(), third.NewState()
	step := 0
	if n := testing.AllocsPerRun(100, func() {
		step++
		for _, l := range s.loads {
			if err := flow.SetPower(l, complex(float64(1400+step), 100)); err != nil {
				t.Fatal(err)
			}
		}
		if err := flow.Solve(st); err != nil {
			t.Fatal(err)
		}
		if err := third.Solve(st, st3); err != nil {
			t.Fatal(err)
		}
		st.Losses(s.everything...)
		st.Amperes(s.legs[0], 3)
	}); n != 0 {
		t.Errorf("%v allocations a step, want none", n)
	}
}

// radial is a random tree of four-wire cables with a charge point on one node
// in ten: an invented estate.
func radial(tb testing.TB, nodes int) (*network.Network, []network.LoadID) {
	tb.Helper()
	rng := rand.New(rand.NewPCG(uint64(nodes), 1))
	b := network.NewBuilder()
	four := []network.Conductor{network.L1, network.L2, network.L3, network.N}
	all := []network.NodeID{b.Node("substation")}
	b.Source(network.Source{Name: "supply", Star: all[0].At(network.N), Lines: all[0].All(lines...), EMF: network.ThreePhase(230), Z: network.Series(1e-5, 1e-5, 1e-5)})
	b.Electrode("supply electrode", all[0].At(network.N), 1)
	r := [][]float64{{1e-3, 0, 0, 0}, {0, 1e-3, 0, 0}, {0, 0, 1e-3, 0}, {0, 0, 0, 1e-3}}
	x := [][]float64{{8e-4, 6e-4, 5e-4, 6e-4}, {6e-4, 8e-4, 6e-4, 5e-4}, {5e-4, 6e-4, 8e-4, 6e-4}, {6e-4, 5e-4, 6e-4, 8e-4}}
	z, err := network.Coupled(r, x)
	if err != nil {
		tb.Fatal(err)
	}
	var loads []network.LoadID
	for i := 1; i < nodes; i++ {
		n := b.Node(fmt.Sprint("node ", i+1))
		from := all[i-1-rng.IntN(min(i, max(4, nodes/100)))]
		b.Branch(network.Branch{Name: fmt.Sprint("branch ", i), From: from.All(four...), To: n.All(four...), Z: z})
		if i%10 == 5 {
			loads = append(loads, b.Load(network.Load{
				Name: fmt.Sprint("load ", i), From: n.At(lines[rng.IntN(3)]), To: n.At(network.N), Model: network.ConstantCurrent, S: complex(2e4/float64(nodes)*rng.Float64(), 50/float64(nodes)), Rated: 230,
			}))
		}
		all = append(all, n)
	}
	net, err := b.Build()
	if err != nil {
		tb.Fatal(err)
	}
	return net, loads
}

func BenchmarkEuropeanFeederStep(b *testing.B) {
	f := europeanFeeder(b)
	flow, err := f.net.Flow()
	if err != nil {
		b.Fatal(err)
	}
	n, entries := flow.Entries()
	st := flow.NewState()
	b.ReportAllocs()
	for i := 0; b.Loop(); i++ {
		f.set(b, flow, i%1440+1)
		if err := flow.Solve(st); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(entries)/float64(n), "entries/unknown")
}

func BenchmarkEuropeanFeederDay(b *testing.B) {
	f := europeanFeeder(b)
	flow, err := f.net.Flow()
	if err != nil {
		b.Fatal(err)
	}
	st := flow.NewState()
	b.ReportAllocs()
	for b.Loop() {
		for minute := range 1440 {
			f.set(b, flow, minute+1)
			if err := flow.Solve(st); err != nil {
				b.Fatal(err)
			}
		}
	}
}

func BenchmarkEuropeanFeederSetUp(b *testing.B) {
	f := europeanFeeder(b)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := f.net.Flow(); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkEuropeanFeederFault(b *testing.B) {
	f := europeanFeeder(b)
	faults, err := f.net.Faults()
	if err != nil {
		b.Fatal(err)
	}
	at := f.bus["899"]
	for b.Loop() {
		if _, err := faults.LoopImpedance(at.At(network.L2), at.At(network.Earth)); err != nil {
			b.Fatal(err)
		}
	}
}

// Benchmark25NodeSiteStep is a car park of twelve charge points, 25 nodes of
// up to five conductors.
func Benchmark25NodeSiteStep(b *testing.B) {
	s := newSite(12)
	s.charge(32)
	if s.nodes != 25 {
		b.Fatalf("%d nodes, want 25", s.nodes)
	}
	net, err := s.b.Build()
	if err != nil {
		b.Fatal(err)
	}
	flow, err := net.Flow()
	if err != nil {
		b.Fatal(err)
	}
	st := flow.NewState()
	b.ReportAllocs()
	for i := 0; b.Loop(); i++ {
		if err := flow.SetPower(s.loads[i%12], complex(1400+float64(i%6000), 200)); err != nil {
			b.Fatal(err)
		}
		if err := flow.Solve(st); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkSize varies the number of nodes; each solve changes every load. The
// exponents say how time and memory grow with size: 1 is in proportion.
func BenchmarkSize(b *testing.B) {
	sizes := []int{10, 100, 1000, 10000, 100000}
	solveTime, setUpTime, memory := map[int]float64{}, map[int]float64{}, map[int]float64{}
	for _, nodes := range sizes {
		b.Run(fmt.Sprintf("nodes=%d", nodes), func(b *testing.B) {
			net, loads := radial(b, nodes)
			var before, after runtime.MemStats
			runtime.GC()
			runtime.ReadMemStats(&before)
			start := time.Now()
			flow, err := net.Flow()
			if err != nil {
				b.Fatal(err)
			}
			setUpTime[nodes] = time.Since(start).Seconds()
			st := flow.NewState()
			runtime.GC()
			runtime.ReadMemStats(&after)
			memory[nodes] = float64(after.HeapAlloc - before.HeapAlloc)
			b.ReportAllocs()
			for i := 0; b.Loop(); i++ {
				for q, l := range loads {
					if err := flow.SetPower(l, complex(2e4/float64(nodes)*float64((i+q)%7), 0)); err != nil {
						b.Fatal(err)
					}
				}
				if err := flow.Solve(st); err != nil {
					b.Fatal(err)
				}
			}
			solveTime[nodes] = b.Elapsed().Seconds() / float64(b.N)
			b.ReportMetric(1000*setUpTime[nodes], "ms-to-set-up")
			b.ReportMetric(memory[nodes]/float64(nodes), "B/node")
			runtime.KeepAlive(flow)
		})
	}
	if len(solveTime) < len(sizes) {
		return
	}
	const low, high = 1000, 100000
	exponent := func(y map[int]float64) float64 {
		return math.Log(y[high]/y[low]) / math.Log(float64(high)/low)
	}
	b.Run(fmt.Sprintf("growth/from=%d/to=%d", low, high), func(b *testing.B) {
		for b.Loop() {
		}
		b.ReportMetric(0, "ns/op")
		b.ReportMetric(exponent(solveTime), "exponent-of-solve")
		b.ReportMetric(exponent(setUpTime), "exponent-of-set-up")
		b.ReportMetric(exponent(memory), "exponent-of-memory")
	})
}

// A network of 100,000 nodes: its power balances, and no node is missed.
func TestLargeRadialNetwork(t *testing.T) {
	if testing.Short() {
		t.Skip("100,000 nodes")
	}
	net, _ := radial(t, 100000)
	start := time.Now()
	flow, err := net.Flow()
	if err != nil {
		t.Fatal(err)
	}
	ready := time.Now()
	st := flow.NewState()
	if err := flow.Solve(st); err != nil {
		t.Fatal(err)
	}
	n, entries := flow.Entries()
	t.Logf("100,000 nodes, %d unknowns: set up in %v, solved in %v, %.2f entries of L to an unknown", n, ready.Sub(start).Round(time.Millisecond), time.Since(ready).Round(time.Millisecond), float64(entries)/float64(n))
	b := st.Balance()
	if left := math.Hypot(real(b.Supplied-b.Loads-b.Lost), imag(b.Supplied-b.Loads-b.Lost)); left > 1e-6*real(b.Supplied) {
		t.Errorf("%v VA supplied, %v VA left over", b.Supplied, left)
	}
}
