package network_test

import (
	"fmt"
	"math"
	"math/cmplx"
	"testing"

	"pgregory.net/rapid"

	"chargewright/network"
	"chargewright/quantity"
)

// What must hold for any network, whatever its numbers. The networks are those
// of the comparison with ngspice: meshes, transformers, broken conductors.

var seeds = rapid.Uint64Range(0, 1<<40)

func solved(t *rapid.T, w *twin) (*network.Network, *network.State) {
	net, err := w.b.Build()
	if err != nil {
		t.Fatal(err)
	}
	flow, err := net.Flow()
	if err != nil {
		t.Fatal(err)
	}
	flow.Tolerance = 1e-9 // so that what is left over is not the last round
	st := flow.NewState()
	if err := flow.Solve(st); err != nil {
		t.Skip(err) // a charge point behind a broken conductor
	}
	return net, st
}

func TestPowerBalances(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		_, st := solved(t, newTwin(seeds.Draw(t, "seed"), rapid.Bool().Draw(t, "charging")))
		b := st.Balance()
		if left := cmplx.Abs(b.Supplied - b.Loads - b.Lost); left > 1e-8*cmplx.Abs(b.Supplied) {
			t.Errorf("supplied %v VA, loads %v, lost %v: %.3g VA left over", b.Supplied, b.Loads, b.Lost, left)
		}
		if real(b.Lost) < 0 {
			t.Errorf("lost %v W, want none gained", real(b.Lost))
		}
	})
}

func TestCurrentsSumToZeroAtEachTerminal(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := newTwin(seeds.Draw(t, "seed"), rapid.Bool().Draw(t, "charging"))
		net, st := solved(t, w)
		sum, size := map[network.Terminal]complex128{}, map[network.Terminal]float64{}
		for _, m := range w.meets {
			i := st.Current(m.branch, m.k)
			if m.load {
				i = st.LoadCurrent(network.LoadID(m.branch))
			}
			sum[m.at] += complex(m.sign, 0) * i
			size[m.at] += cmplx.Abs(i)
		}
		for at, i := range sum {
			if at.Conductor != network.Earth && !(cmplx.Abs(i) <= 1e-7*size[at]+1e-9) {
				t.Errorf("%s: %v A left over of %.4g", net.Describe(at), i, size[at])
			}
		}
	})
}

func TestReciprocity(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := newTwin(seeds.Draw(t, "seed"), false)
		net, err := w.b.Build()
		if err != nil {
			t.Fatal(err)
		}
		faults, err := net.Faults()
		if err != nil {
			t.Fatal(err)
		}
		var at [4]network.Terminal
		for i := range at {
			n := rapid.SampledFrom(w.nodes).Draw(t, "node")
			at[i] = n.At(rapid.SampledFrom([]network.Conductor{network.L1, network.L2, network.L3, network.PE, network.Earth}).Draw(t, "conductor"))
			if !net.Has(at[i]) {
				at[i] = n.At(network.L1)
			}
		}
		there, err := faults.Transfer(at[0], at[1], at[2], at[3])
		if err != nil {
			t.Skip(err)
		}
		back, err := faults.Transfer(at[2], at[3], at[0], at[1])
		if err != nil {
			t.Fatal(err)
		}
		if cmplx.Abs(there-back) > 1e-7*cmplx.Abs(there)+1e-9 {
			t.Errorf("1 A through %v makes %v V across %v, and back %v V", at[:2], there, at[2:], back)
		}
	})
}

// An earth path never raises the voltage of what it earths, if
//
//   - the network is linear: sources and impedances, no constant power or current;
//   - the path is a resistance, and goes from that very terminal to true earth.
//
// Then |U'| = |U| R / |R + Z|, and Re Z ≥ 0 in a network that only takes power
// in, so |R + Z| ≥ R. Elsewhere the voltage may rise: see the next test.
func TestEarthPathNeverRaisesWhatItEarths(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		seed := seeds.Draw(t, "seed")
		w := newTwin(seed, false)
		_, before := solved(t, w)
		at := rapid.SampledFrom(w.nodes).Draw(t, "node").At(network.PE)
		earthed := newTwin(seed, false)
		earthed.b.Electrode("added", at, quantity.Ohms(math.Exp(rapid.Float64Range(-5, 8).Draw(t, "ln ohms"))))
		if math.IsNaN(float64(before.Touch(at))) {
			t.Skip("no protective conductor there")
		}
		_, after := solved(t, earthed)
		if after.Touch(at) > before.Touch(at)*(1+1e-9)+1e-9 {
			t.Errorf("an electrode raised the voltage from %v to %v", before.Touch(at), after.Touch(at))
		}
	})
}

// Behind a broken PEN an electrode at the house lifts the star point off true
// earth: the voltage goes from the one to the other.
func TestEarthPathMayRaiseTheStarPoint(t *testing.T) {
	star := func(electrode bool) quantity.Volts {
		s := newStreet(230, 2)
		s.load(network.L1, s.met(), 32)
		if electrode {
			s.b.Electrode("electrode", s.met(), 5)
		}
		return s.lose(t).State.Touch(s.substation.At(network.PEN))
	}
	if without, with := star(false), star(true); without > 1e-6 || with < 30 {
		t.Errorf("star point to true earth = %v without, %v with an electrode at the house, want 0 and 32 V", without, with)
	}
}

func TestHalvingEveryBranchChangesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		seed, charging := seeds.Draw(t, "seed"), rapid.Bool().Draw(t, "charging")
		whole := newTwin(seed, charging)
		halves := &twin{split: true}
		halves.grow(seed, charging)
		net, a := solved(t, whole)
		_, b := solved(t, halves)
		for i, n := range whole.nodes {
			for c := network.L1; c < network.Earth; c++ {
				if !net.Has(n.At(c)) {
					continue
				}
				before, after := a.V(n.At(c)), b.V(halves.nodes[i].At(c))
				if cmplx.Abs(before-after) > 1e-5 { // what hangs on 100 kΩ of insulation alone is known no better
					t.Errorf("%s: %v V whole, %v V in halves", net.Describe(n.At(c)), before, after)
				}
			}
		}
	})
}

// Three equal charge points on three lines: the fundamental cancels in the
// neutral, the third harmonic triples (common practice; symmetrical components).
func TestBalancedThirdHarmonicTriplesInTheNeutral(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		amps := rapid.Float64Range(6, 63).Draw(t, "amperes")
		share := rapid.Float64Range(0, 0.4).Draw(t, "third")
		s := newSite(1)
		s.b.ChargePoint(network.ChargePoint{
			Name: "point", Lines: s.points[0].All(lines...), Neutral: s.points[0].At(network.N),
			Current: quantity.Amperes(amps), PowerFactor: 0.98, Third: complex(share, 0),
		})
		net, st := flowOf(t, s.b)
		third, err := net.ThirdHarmonic()
		if err != nil {
			t.Fatal(err)
		}
		st3 := third.NewState()
		if err := third.Solve(st, st3); err != nil {
			t.Fatal(err)
		}
		leg := s.legs[0]
		if i := st.Amperes(leg, 3); i > 1e-6 {
			t.Errorf("fundamental in the neutral = %v, want none", i)
		}
		neutral := network.RMS(st.Current(leg, 3), st3.Current(leg, 3))
		if math.Abs(neutral-3*share*amps) > 1e-6 {
			t.Errorf("neutral = %v A, want %v", neutral, 3*share*amps)
		}
		line := network.RMS(st.Current(leg, 0), st3.Current(leg, 0))
		if want := amps * math.Hypot(1, share); math.Abs(line-want) > 1e-6 {
			t.Errorf("line = %v A, want %v", line, want)
		}
	})
}

// A site is a TN-C-S supply, a board and points on a leg each, half of them by
// way of a joint box: an invented car park.
type site struct {
	b          *network.Builder
	pen        network.BranchID
	board      network.NodeID
	points     []network.NodeID
	legs       []network.BranchID // the last stretch to each point
	nodes      int
	loads      []network.LoadID
	everything []network.BranchID
}

func newSite(points int) *site {
	s := &site{b: network.NewBuilder()}
	node := func(name string) network.NodeID { s.nodes++; return s.b.Node(name) }
	five := []network.Conductor{network.L1, network.L2, network.L3, network.N, network.PE}
	sub, cutOut := node("substation"), node("cut-out")
	s.board = node("board")
	s.b.Source(network.Source{Name: "supply", Star: sub.At(network.PEN), Lines: sub.All(lines...), EMF: network.ThreePhase(230), Z: network.FromSequence(0.01+0.02i, 0.01+0.02i)})
	s.b.Electrode("supply electrode", sub.At(network.PEN), 10)
	service := network.FromSequenceWithReturn(0.02+0.01i, 0.08+0.03i)
	s.pen = s.b.Branch(network.Branch{Name: "service", From: append(sub.All(lines...), sub.At(network.PEN)), To: append(cutOut.All(lines...), cutOut.At(network.PEN)), Z: service})
	s.b.Join("earthing terminal", cutOut, network.PEN, network.N, network.PE)
	cable := network.Series(0.01+0.002i, 0.01+0.002i, 0.01+0.002i, 0.01+0.002i, 0.02+0.002i)
	s.everything = append(s.everything, s.b.Branch(network.Branch{Name: "main", From: cutOut.All(five...), To: s.board.All(five...), Z: cable}))
	for i := range points {
		from := s.board
		if i%6 != 0 {
			from = node(fmt.Sprint("joint box ", i+1))
			s.everything = append(s.everything, s.b.Branch(network.Branch{Name: fmt.Sprint("leg ", i+1), From: s.board.All(five...), To: from.All(five...), Z: cable.Times(4)}))
		}
		p := node(fmt.Sprint("point ", i+1))
		leg := s.b.Branch(network.Branch{Name: fmt.Sprint("leg ", i+1), From: from.All(five...), To: p.All(five...), Z: cable.Times(6)})
		s.points, s.legs, s.everything = append(s.points, p), append(s.legs, leg), append(s.everything, leg)
	}
	return s
}

// charge puts a single-phase charge point of the given current on each point.
func (s *site) charge(amps quantity.Amperes) {
	for i, p := range s.points {
		s.loads = append(s.loads, s.b.ChargePoint(network.ChargePoint{
			Name: fmt.Sprint("charge point ", i+1), Lines: p.All(lines[i%3]), Neutral: p.At(network.N), Current: amps, PowerFactor: 0.99, Third: 0.08,
		})...)
	}
}

// Clock numbers (IEC 60076-1, common practice): in Dyn11 the low voltage leads
// by 30°, in Dyn1 it lags by 30°, in YNyn0 it is in step.
func TestVectorGroups(t *testing.T) {
	for group, degrees := range map[network.VectorGroup]float64{network.Dyn11: 30, network.Dyn1: -30, network.YNyn0: 0} {
		b := network.NewBuilder()
		hv, lv := b.Node("high voltage"), b.Node("low voltage")
		b.Source(network.Source{Name: "supply", Star: hv.At(network.Earth), Lines: hv.All(lines...), EMF: network.ThreePhase(11000 / quantity.Volts(math.Sqrt(3)))})
		b.Transformer(network.Transformer{
			Name: "transformer", Z: network.Series(0.01i, 0.01i, 0.01i),
			Windings: group.Windings(lineTerminals(hv), hv.At(network.Earth), lineTerminals(lv), lv.At(network.Earth), 11000, 400),
		})
		net, err := b.Build()
		if err != nil {
			t.Fatal(err)
		}
		faults, err := net.Faults()
		if err != nil {
			t.Fatal(err)
		}
		for k, line := range lines {
			got := faults.Open().V(lv.At(line)) / faults.Open().V(hv.At(line))
			want := cmplx.Rect(400.0/11000, degrees*math.Pi/180)
			if cmplx.Abs(got-want) > 1e-12 {
				t.Errorf("%v, line %d: low over high voltage = %v, want %v", group, k+1, got, want)
			}
		}
	}
}
