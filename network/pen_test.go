package network_test

import (
	"fmt"
	"math"
	"math/cmplx"
	"testing"

	"chargewright/network"
	"chargewright/quantity"
)

// No worked example of a lost PEN was found in print. The cases below were
// worked by hand with the node-voltage formula
//
//	V = Σ Yk Ek / (Σ Yk + 1/RA)
//
// and, for three phases, with I_N of BS 7671:2018 Annex A722.1 (as quoted in
// the trade). They are arithmetic of others than this program, not a
// publication; the last digit shown is the tolerance.
const byHand = "lost PEN, worked by hand with the node-voltage formula"

// A street is a star-connected supply and houses on one PEN main. Line
// impedances are left out. A load of I amperes is a resistance of 230 V / I.
type street struct {
	b          *network.Builder
	substation network.NodeID
	main       network.NodeID // beyond the place where the PEN breaks
	pen        network.BranchID
	loads      int
}

// newStreet has voltage u line to star point and an electrode of rb there; 0
// stands for a star point at true earth.
func newStreet(u quantity.Volts, rb quantity.Ohms) *street {
	b := network.NewBuilder()
	s := &street{b: b, substation: b.Node("substation"), main: b.Node("main")}
	b.Source(network.Source{Name: "supply", Star: s.substation.At(network.PEN), Lines: s.substation.All(lines...), EMF: network.ThreePhase(u)})
	b.Electrode("supply electrode", s.substation.At(network.PEN), rb)
	b.Branch(network.Branch{Name: "lines of the main", From: s.substation.All(lines...), To: s.main.All(lines...), Z: network.Series(0, 0, 0)})
	s.pen = b.Branch(network.Branch{Name: "PEN of the main", From: s.substation.All(network.PEN), To: s.main.All(network.PEN), Z: network.Series(0.05)})
	return s
}

func (s *street) load(line network.Conductor, to network.Terminal, amps float64) network.LoadID {
	s.loads++
	return s.b.Load(network.Load{
		Name: fmt.Sprint("load ", s.loads), From: s.main.At(line), To: to,
		Model: network.ConstantImpedance, S: complex(230*amps, 0), Rated: 230,
	})
}

func (s *street) three(amps [3]float64) {
	for k, a := range amps {
		if a > 0 {
			s.load(network.Conductor(k+1), s.met(), a)
		}
	}
}

// met is the metalwork: everything joined to the PEN beyond the break.
func (s *street) met() network.Terminal { return s.main.At(network.PEN) }

func (s *street) lose(t *testing.T) *network.LostPEN {
	t.Helper()
	net, err := s.b.Build()
	if err != nil {
		t.Fatal(err)
	}
	lost, err := net.LosePEN(s.pen)
	if err != nil {
		t.Fatal(err)
	}
	return lost
}

func (s *street) lineNeutral(st *network.State, line network.Conductor) float64 {
	return float64(st.Volts(s.main.At(line), s.met()))
}

// want checks a value as printed: to half of the last of its decimals.
func want(t *testing.T, source, what string, got, printed float64, decimals int) {
	t.Helper()
	if tolerance := 0.501 * math.Pow10(-decimals); !(math.Abs(got-printed) <= tolerance) {
		t.Errorf("%s = %.6g, want %v ± %.2g: %s", what, got, printed, tolerance, source)
		return
	}
	match(source, 1)
}

func TestLostPEN(t *testing.T) {
	reach := 253 / (230 * math.Sqrt(3)) // along the side from E1 to E2 until line 1 stands at 253 V
	for _, c := range []struct {
		name   string
		u      quantity.Volts
		rb, ra quantity.Ohms // ra 0: no electrode
		person float64       // mA in a person of 1,000 Ω in parallel with ra; 0: no person
		amps   [3]float64
		touch  float64    // V of metalwork to true earth
		ln     [3]float64 // V line to neutral at the load; 0: not given
		angle  float64    // degrees of touch; 0: not given
		star   float64    // V of the star point to true earth
	}{
		{name: "1 single phase, electrode", u: 230, ra: 5, amps: [3]float64{32}, touch: 94.36, ln: [3]float64{135.64}},
		{name: "2 same at 253 V", u: 253, ra: 5, amps: [3]float64{32}, touch: 103.79, ln: [3]float64{149.21}},
		{name: "3 the limit", u: 253, ra: 70 * 230. / (32 * 183), amps: [3]float64{32}, touch: 70.00, ln: [3]float64{183.00}},
		{name: "4 the supply's electrode matters", u: 230, rb: 2, ra: 5, amps: [3]float64{32}, touch: 81.06, ln: [3]float64{116.52}, star: 32.42},
		{name: "5 only a person", u: 230, person: 228, amps: [3]float64{32}, touch: 228.36},
		{name: "5 a person and 100 Ω", u: 230, ra: 100, person: 213, amps: [3]float64{32}, touch: 213.15},
		{name: "6 a person in case 1", u: 230, ra: 5, person: 94.1, amps: [3]float64{32}, touch: 94.08},
		{name: "7 three phases 40/30/20 A", u: 253, amps: [3]float64{40, 30, 20}, touch: 48.69, angle: -30, ln: [3]float64{212.23, 257.64, 296.17}},
		{name: "7 with 20 Ω", u: 253, ra: 20, amps: [3]float64{40, 30, 20}, touch: 43.17},
		{name: "8 three phases 60/20/20 A", u: 253, amps: [3]float64{60, 20, 20}, touch: 101.20, ln: [3]float64{151.80, 316.00, 316.00}},
		{name: "8 with 5 Ω", u: 253, ra: 5, amps: [3]float64{60, 20, 20}, touch: 69.32},
		{name: "10 three phases 100/60/40 A", u: 253, amps: [3]float64{100, 60, 40}, touch: 66.94},
		{name: "11 two phases", u: 230, amps: [3]float64{32, 32, 0}, touch: 115.00, angle: -60, ln: [3]float64{199.19, 199.19, 345.00}},
		{name: "11 with 5 Ω", u: 230, ra: 5, amps: [3]float64{32, 32, 0}, touch: 66.91, ln: [3]float64{204.91, 204.91, 296.91}},
		{name: "12 a window on line 1 sees nothing", u: 230, amps: [3]float64{20, 32, 8}, touch: 79.67, angle: -90, ln: [3]float64{243.41, 165.86, 301.64}},
		{name: "13 worst a window on line 1 lets through", u: 230, amps: [3]float64{100 - 100*reach, 100 * reach, 0}, touch: 126.97, angle: -85.1, ln: [3]float64{253.00}},
		{name: "15 small load", u: 230, ra: 20, amps: [3]float64{2}, touch: 34.07, ln: [3]float64{195.93}},
		{name: "15 8 A", u: 230, ra: 20, amps: [3]float64{8}, touch: 94.36},
		{name: "16 heavy load, poor electrode", u: 230, ra: 20, amps: [3]float64{80}, touch: 201.09, ln: [3]float64{28.91}},
		{name: "17 balanced", u: 230, amps: [3]float64{32, 32, 32}, touch: 0.00, ln: [3]float64{230.00, 230.00, 230.00}},
		{name: "22 a row of houses on one phase", u: 230, ra: 10, amps: [3]float64{50}, touch: 157.53},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := newStreet(c.u, c.rb)
			s.three(c.amps)
			if c.ra > 0 {
				s.b.Electrode("electrode", s.met(), c.ra)
			}
			var person network.BranchID
			if c.person > 0 {
				person = s.b.Electrode("person", s.met(), 1000)
			}
			st := s.lose(t).State
			want(t, byHand, "touch voltage", float64(st.Touch(s.met())), c.touch, 2)
			if c.person > 0 {
				want(t, byHand, "current in the person, mA", 1000*float64(st.Amperes(person, 0)), c.person, map[bool]int{true: 1}[c.person < 100])
			}
			for k, v := range c.ln {
				if v > 0 {
					want(t, byHand, fmt.Sprintf("L%d–N", k+1), s.lineNeutral(st, network.Conductor(k+1)), v, 2)
				}
			}
			if c.angle != 0 {
				want(t, byHand, "angle", cmplx.Phase(st.V(s.met()))*180/math.Pi, c.angle, 1)
			}
			if c.star > 0 {
				want(t, byHand, "star point", float64(st.Touch(s.substation.At(network.PEN))), c.star, 2)
			}
			if c.amps[1] > 0 && c.ra == 0 { // 3 U² + 3 V² = a² + b² + c²
				squares := 0.0
				for _, l := range lines {
					squares += math.Pow(s.lineNeutral(st, l), 2)
				}
				want(t, byHand, "displacement from magnitudes", math.Sqrt(max(0, squares/3-float64(c.u*c.u))), float64(st.Touch(s.met())), 4)
			}
		})
	}
}

func TestLostPENElectrode(t *testing.T) {
	find := func(u quantity.Volts, amps [3]float64, limit quantity.Volts) (float64, bool) {
		t.Helper()
		s := newStreet(u, 0)
		s.three(amps)
		r, needed, err := s.lose(t).ElectrodeFor(s.met(), limit)
		if err != nil {
			t.Fatal(err)
		}
		return float64(r), needed
	}
	// R ≤ 70 U0 / (I (C U0 − 70)): the annex's formula (from memory), derived by hand.
	for _, row := range []struct{ amps, at253, at230 float64 }{
		{10, 8.798, 10.063}, {16, 5.499, 6.289}, {20, 4.399, 5.031}, {32, 2.749, 3.145},
		{40, 2.199, 2.516}, {60, 1.466, 1.677}, {80, 1.100, 1.258}, {100, 0.880, 1.006},
	} {
		r, _ := find(253, [3]float64{row.amps}, 70)
		want(t, byHand, fmt.Sprintf("electrode for %v A at 253 V", row.amps), r, row.at253, 3)
		r, _ = find(230, [3]float64{row.amps}, 70)
		want(t, byHand, fmt.Sprintf("electrode for %v A at 230 V", row.amps), r, row.at230, 3)
	}
	r, _ := find(253, [3]float64{60, 20, 20}, 70)
	want(t, byHand, "9 electrode, 60/20/20 A", r, 5.160, 3)
	if r, needed := find(253, [3]float64{100, 60, 40}, 70); needed {
		t.Errorf("10 electrode, 100/60/40 A = %v Ω, want none needed", r)
	}
	// 14: what a 207 V window lets stand untripped, single phase.
	for _, row := range []struct{ u, touch float64 }{{216.2, 9.2}, {230, 23}, {253, 46}} {
		r, _ := find(quantity.Volts(row.u), [3]float64{32}, quantity.Volts(row.touch))
		s := newStreet(quantity.Volts(row.u), 0)
		s.three([3]float64{32})
		s.b.Electrode("electrode", s.met(), quantity.Ohms(r))
		want(t, byHand, "14 L–N at the edge of the window", s.lineNeutral(s.lose(t).State, network.L1), 207, 1)
	}
}

// A point on an electrode of its own, beside a house that lost its PEN.
func TestLostPENBesideAnElectrodeOfItsOwn(t *testing.T) {
	for _, c := range []struct{ amps, ra, between float64 }{{32, 5, 94.36}, {80, 20, 201.09}} {
		s := newStreet(230, 0)
		s.load(network.L1, s.met(), c.amps)
		s.b.Electrode("house electrode", s.met(), quantity.Ohms(c.ra))
		vehicle := s.b.Node("vehicle").At(network.PE)
		s.b.Electrode("point electrode", vehicle, 100)
		st := s.lose(t).State
		want(t, byHand, "18 vehicle to true earth", float64(st.Touch(vehicle)), 0, 6)
		want(t, byHand, "19 hand to hand", float64(st.Volts(s.met(), vehicle)), c.between, 2)
	}

	// 18: an earth fault at the point with the PEN sound.
	b := network.NewBuilder()
	sub, point := b.Node("substation"), b.Node("point")
	b.Source(network.Source{Name: "supply", Star: sub.At(network.PEN), Lines: sub.All(network.L1), EMF: []complex128{230}})
	b.Electrode("supply electrode", sub.At(network.PEN), 1)
	b.Branch(network.Branch{Name: "line", From: sub.All(network.L1), To: point.All(network.L1), Z: network.Series(0.2)})
	b.Electrode("point electrode", point.At(network.PE), 100)
	net, err := b.Build()
	if err != nil {
		t.Fatal(err)
	}
	faults, err := net.Faults()
	if err != nil {
		t.Fatal(err)
	}
	z, err := faults.LoopImpedance(point.At(network.L1), point.At(network.PE))
	if err != nil {
		t.Fatal(err)
	}
	want(t, byHand, "18 Zs", float64(z.Magnitude()), 101.2, 6)
	st, currents, err := faults.Solve(network.Fault{Terminals: point.All(network.L1, network.PE)}, 1)
	if err != nil {
		t.Fatal(err)
	}
	want(t, byHand, "18 fault current", cmplx.Abs(currents[0]), 2.273, 3)
	want(t, byHand, "18 body of the vehicle", float64(st.Touch(point.At(network.PE))), 227.3, 1)
}

// 20: a rod near another takes up part of its voltage.
func TestTransferThroughTheGround(t *testing.T) {
	own, err := network.Rod(100, 1.2, 0.016)
	if err != nil {
		t.Fatal(err)
	}
	want(t, byHand, "rod 1.2 m × 16 mm in 100 Ω·m", float64(own), 71.58, 2)
	mutual, err := network.RodTransfer(100, 1.2, 2)
	if err != nil {
		t.Fatal(err)
	}
	want(t, byHand, "transfer at 2 m", float64(mutual), 7.544, 3)
	r, err := network.Coupled([][]float64{{float64(own), float64(mutual)}, {float64(mutual), float64(own)}}, [][]float64{{0, 0}, {0, 0}})
	if err != nil {
		t.Fatal(err)
	}
	s := newStreet(230, 0)
	s.load(network.L1, s.met(), 32)
	vehicle := s.b.Node("vehicle").At(network.PE)
	s.b.Electrodes("two rods", []network.Terminal{s.met(), vehicle}, r)
	st := s.lose(t).State
	want(t, byHand, "20 share of the house's voltage, %", 100*float64(st.Touch(vehicle)/st.Touch(s.met())), 10.5, 1)
}

// 21: an isolating transformer beyond the break. Its insulation, 1 MΩ to
// earth, is what the vehicle's body is held by.
func TestLostPENBehindIsolatingTransformer(t *testing.T) {
	s := newStreet(230, 0)
	s.load(network.L1, s.met(), 80)
	s.b.Electrode("house electrode", s.met(), 20)
	point := s.b.Node("point")
	s.b.Transformer(network.Transformer{
		Name: "isolating transformer", Z: network.Series(0.1 + 0.1i),
		Windings: []network.Winding{{
			Primary:   [2]network.Terminal{s.main.At(network.L1), s.met()},
			Secondary: [2]network.Terminal{point.At(network.L1), point.At(network.N)}, Ratio: 1,
		}},
	})
	s.b.Electrode("insulation", point.At(network.N), 1e6)
	s.b.Electrode("body", point.At(network.PE), 1e6)
	st := s.lose(t).State
	want(t, byHand, "21 body of the vehicle", float64(st.Touch(point.At(network.PE))), 0, 6)
	want(t, byHand, "21 primary", s.lineNeutral(st, network.L1), 28.91, 2)
	want(t, byHand, "21 secondary", float64(st.Volts(point.At(network.L1), point.At(network.N))), 28.91, 2)
}

// 22: two houses, an electrode each, on one broken main: both stand at the
// voltage that the heavier load makes.
func TestLostPENReachesTheNeighbour(t *testing.T) {
	s := newStreet(230, 0)
	mets := make([]network.Terminal, 2)
	for i, amps := range []float64{10, 40} {
		cutOut := s.b.Node(fmt.Sprint("cut-out ", i+1))
		s.b.Branch(network.Branch{Name: "service", From: []network.Terminal{s.met()}, To: cutOut.All(network.PEN), Z: network.Series(0)})
		s.b.Join("earthing terminal", cutOut, network.PEN, network.N, network.PE)
		s.load(network.L1, cutOut.At(network.N), amps)
		mets[i] = cutOut.At(network.PE)
		s.b.Electrode("electrode", mets[i], 20)
	}
	st := s.lose(t).State
	for _, met := range mets {
		want(t, byHand, "22 touch voltage", float64(st.Touch(met)), 157.53, 2)
	}
}

// Printed by ngspice 39.3 for circuits written by hand, and the same by hand
// with the node-voltage formula.
func TestCircuitsSolvedByNgspice(t *testing.T) {
	const source = "ngspice 39.3, circuits written by hand"
	for _, c := range []struct {
		state   string
		pen, ra quantity.Ohms // 0: absent
		n       float64
		ln      [3]float64
	}{
		{"PEN broken, electrode 20 Ω", 0, 20, 67.141932, [3]float64{166.392343, 250.123164, 283.531267}},
		{"PEN sound", 0.1, 20, 1.469094, [3]float64{226.349741, 229.133820, 230.537953}},
		{"PEN broken, no electrode", 0, 0, 86.469045, [3]float64{149.555589, 259.130242, 300.069694}},
	} {
		b := network.NewBuilder()
		sub, board := b.Node("supply"), b.Node("board")
		b.Source(network.Source{Name: "supply", Star: sub.At(network.Earth), Lines: sub.All(lines...), EMF: network.ThreePhase(230)})
		b.Branch(network.Branch{Name: "lines", From: sub.All(lines...), To: board.All(lines...), Z: network.Series(0.1, 0.1, 0.1)})
		n := board.At(network.N)
		if c.pen > 0 {
			b.Electrode("PEN", n, c.pen) // the star point is at true earth
		}
		if c.ra > 0 {
			b.Electrode("electrode", n, c.ra)
		}
		for k, ohms := range []float64{10, 20, 40} {
			b.Load(network.Load{Name: fmt.Sprint("load ", k+1), From: board.At(lines[k]), To: n, Model: network.ConstantImpedance, S: complex(230*230/ohms, 0), Rated: 230})
		}
		_, st := flowOf(t, b)
		tolerance := 5
		if c.pen == 0 && c.ra == 0 {
			tolerance = 4 // there it had 1 GΩ in the place of the break
		}
		want(t, source, c.state+", neutral", float64(st.Touch(n)), c.n, tolerance)
		for k := range lines {
			want(t, source, fmt.Sprintf("%s, L%d–N", c.state, k+1), float64(st.Volts(board.At(lines[k]), n)), c.ln[k], tolerance)
		}
	}

	b := network.NewBuilder()
	sub, cutOut, point := b.Node("supply"), b.Node("cut-out"), b.Node("point")
	b.Source(network.Source{Name: "supply", Star: sub.At(network.Earth), Lines: sub.All(network.L1), EMF: []complex128{230}})
	b.Branch(network.Branch{Name: "Ze", From: sub.All(network.L1), To: cutOut.All(network.L1), Z: network.Series(quantity.Impedance(complex(0.25, 100*math.Pi*0.3183e-3)))})
	b.Join("earthing terminal", cutOut, network.Earth, network.PE)
	b.Branch(network.Branch{Name: "circuit", From: cutOut.All(network.L1, network.PE), To: point.All(network.L1, network.PE), Z: network.Series(0.3, 0.3)})
	net, err := b.Build()
	if err != nil {
		t.Fatal(err)
	}
	faults, err := net.Faults()
	if err != nil {
		t.Fatal(err)
	}
	p, err := faults.At(point, 1)
	if err != nil {
		t.Fatal(err)
	}
	want(t, source, "earth fault current", float64(p.LinePE[0].Or(0)), 268.734983, 5)
}
