package network_test

import (
	"testing"

	"chargewright/network"
	"chargewright/quantity"
)

// Situations of the trade, restated with their numbers and worked by hand.

// A rod on a PME earthing terminal: 7.36 kW point, 1.0 m × 16 mm rod in
// 100 Ω·m. Formula of BS 7430 (from memory).
func TestRodOnPMEEarthingTerminal(t *testing.T) {
	const source = "situations of the trade, worked by hand"
	ra, err := network.Rod(100, 1, 0.016)
	if err != nil {
		t.Fatal(err)
	}
	want(t, source, "RA", float64(ra), 83, 0)
	for _, c := range []struct{ amps, needed float64 }{{32, 3.14}, {60, 1.68}} {
		s := newStreet(230, 0)
		s.load(network.L1, s.met(), c.amps)
		r, needed, err := s.lose(t).ElectrodeFor(s.met(), 70)
		if err != nil || !needed {
			t.Fatal(needed, err)
		}
		want(t, source, "electrode needed", float64(r), c.needed, 2)
	}
	s := newStreet(230, 0)
	s.load(network.L1, s.met(), 32)
	s.b.Electrode("rod", s.met(), ra)
	want(t, source, "touch voltage with the PEN open", float64(s.lose(t).State.Touch(s.met())), 212, 0)
}

// A core as protective conductor with the armour in parallel: 25 m of 3 × 6 mm²,
// cores 0.077 Ω, armour 0.150 Ω. R1 + R2 is read with an ohmmeter at the far
// end, line and protective conductor linked at the board.
func TestCoreAndArmour(t *testing.T) {
	const source = "situations of the trade, worked by hand"
	read := func(armour bool, joint quantity.Impedance) float64 {
		t.Helper()
		b := network.NewBuilder()
		board, point := b.Node("board"), b.Node("point")
		const core = 0.077 // 25 m × 3.08 mΩ/m, BS EN 60228
		// The link at the board, and an ideal voltage that the loop is seen against.
		b.Source(network.Source{Name: "ohmmeter's link", Star: board.At(network.PE), Lines: board.All(network.L1), EMF: []complex128{0}})
		b.Electrode("reference", board.At(network.PE), 1)
		b.Branch(network.Branch{Name: "line", From: board.All(network.L1), To: point.All(network.L1), Z: network.Series(core + joint)})
		b.Branch(network.Branch{Name: "protective core", From: board.All(network.PE), To: point.All(network.PE), Z: network.Series(core)})
		b.Branch(network.Branch{Name: "armour", From: board.All(network.PE), To: point.All(network.PE), Z: network.Series(0.150), Open: !armour})
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
		return float64(z.Magnitude())
	}
	want(t, source, "R1 + R2, core alone", read(false, 0), 0.154, 3)
	want(t, source, "R1 + R2, core and armour", read(true, 0), 0.128, 3)
	want(t, source, "R1 + R2, a joint of 0.077 Ω in the line", read(true, 0.077), 0.205, 3)
}
