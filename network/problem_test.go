package network_test

import (
	"math"
	"strings"
	"testing"

	"chargewright/network"
	"chargewright/quantity"
)

// two returns a supply and a node it does not reach yet.
func two() (b *network.Builder, sub, point network.NodeID) {
	b = network.NewBuilder()
	sub, point = b.Node("supply"), b.Node("point CP3")
	b.Source(network.Source{Name: "source", Star: sub.At(network.N), Lines: sub.All(network.L1), EMF: []complex128{230}, Z: network.Series(0.1)})
	b.Electrode("supply electrode", sub.At(network.N), 1)
	return b, sub, point
}

// solve builds and solves, and returns the first error met.
func solve(b *network.Builder) error {
	net, err := b.Build()
	if err != nil {
		return err
	}
	flow, err := net.Flow()
	if err != nil {
		return err
	}
	return flow.Solve(flow.NewState())
}

func TestProblemsNameThePlaceAndTheRemedy(t *testing.T) {
	nan := quantity.Impedance(complex(math.NaN(), 0))
	for _, tt := range []struct {
		name string
		make func(b *network.Builder, sub, point network.NodeID)
		want []string
	}{
		{"broken neutral", func(b *network.Builder, sub, point network.NodeID) {
			b.Branch(network.Branch{Name: "leg", From: sub.All(network.L1, network.N), To: point.All(network.L1, network.N), Z: network.Series(0.1, 0.1), Broken: []network.Conductor{network.N}})
		}, []string{"point CP3, neutral: nothing connects it to the supply"}},
		{"only a charge point on it", func(b *network.Builder, sub, point network.NodeID) {
			b.Load(network.Load{Name: "charge point", From: point.At(network.L1), To: sub.At(network.N), Model: network.ConstantPower, S: 1000})
		}, []string{"point CP3, line 1: nothing connects it"}},
		{"supply not earthed", func(b *network.Builder, _, point network.NodeID) {
			b.Source(network.Source{Name: "generator", Star: point.At(network.N), Lines: point.All(network.L1), EMF: []complex128{230}, Z: network.Series(0.1)})
		}, []string{"generator: nothing connects it to earth: give its star point an electrode"}},
		{"asks too much", func(b *network.Builder, sub, _ network.NodeID) {
			b.Load(network.Load{Name: "kiln", From: sub.At(network.L1), To: sub.At(network.N), Model: network.ConstantPower, S: 140000})
		}, []string{"kiln: no steady voltage", "more than the network can carry"}},
		{"not a number", func(b *network.Builder, sub, point network.NodeID) {
			b.Branch(network.Branch{Name: "leg 7", From: sub.All(network.L1), To: point.All(network.L1), Z: network.Series(nan)})
		}, []string{"leg 7: an impedance is not a number"}},
		{"infinite", func(b *network.Builder, sub, _ network.NodeID) {
			b.Electrode("rod", sub.At(network.N), quantity.Ohms(math.Inf(1)))
		}, []string{"rod: an impedance is not a number"}},
		{"below zero", func(b *network.Builder, sub, _ network.NodeID) {
			b.Electrode("rod", sub.At(network.N), -4)
		}, []string{"rod: conductor 1 has a resistance of -4 Ω"}},
		{"gives power out", func(b *network.Builder, sub, point network.NodeID) {
			z, err := network.Coupled([][]float64{{0.1, 0.2}, {0.2, 0.1}}, [][]float64{{0, 0}, {0, 0}})
			if err != nil {
				t.Fatal(err)
			}
			b.Branch(network.Branch{Name: "leg", From: sub.All(network.L1, network.N), To: point.All(network.L1, network.N), Z: z})
		}, []string{"leg: the conductors couple more strongly than they resist"}},
		{"no such node", func(b *network.Builder, sub, _ network.NodeID) {
			b.Branch(network.Branch{Name: "leg", From: sub.All(network.L1), To: network.NodeID(99).All(network.L1), Z: network.Series(1)})
		}, []string{"leg: it is connected to a node that was never added"}},
		{"no conductor", func(b *network.Builder, sub, _ network.NodeID) {
			b.Load(network.Load{Name: "heater", From: sub.At(network.L1), Model: network.ConstantPower, S: 1})
		}, []string{"heater: it is connected to a node that was never added"}},
		{"numbers differ, all told at once", func(b *network.Builder, sub, point network.NodeID) {
			b.Branch(network.Branch{Name: "leg 1", From: sub.All(network.L1, network.N), To: point.All(network.L1), Z: network.Series(1)})
			b.Load(network.Load{Name: "oven", From: sub.At(network.L1), To: sub.At(network.N), S: 1})
		}, []string{"leg 1: 2 conductors leave, 1 arrive and 1 have an impedance", "oven: it is not said whether"}},
		{"source shorted", func(b *network.Builder, sub, point network.NodeID) {
			b.Source(network.Source{Name: "ideal", Star: point.At(network.N), Lines: point.All(network.L1), EMF: []complex128{230}})
			b.Branch(network.Branch{Name: "strap", From: point.All(network.L1), To: point.All(network.N), Z: network.Series(0)})
		}, []string{"strap: it has no impedance and joins point CP3, line 1 and point CP3, neutral"}},
		{"transformer without leakage", func(b *network.Builder, sub, point network.NodeID) {
			b.Transformer(network.Transformer{Name: "TX", Z: network.Series(0), Windings: []network.Winding{{
				Primary: [2]network.Terminal{sub.At(network.L1), sub.At(network.N)}, Secondary: [2]network.Terminal{point.At(network.L1), point.At(network.N)}, Ratio: 1}}})
		}, []string{"TX: it has no impedance"}},
		{"secondary not earthed", func(b *network.Builder, sub, point network.NodeID) {
			b.Transformer(network.Transformer{Name: "TX", Z: network.Series(0.1), Windings: []network.Winding{{
				Primary: [2]network.Terminal{sub.At(network.L1), sub.At(network.N)}, Secondary: [2]network.Terminal{point.At(network.L1), point.At(network.N)}, Ratio: 1}}})
		}, []string{"point CP3, line 1: nothing connects it to the supply or to earth"}},
		{"power factor", func(b *network.Builder, sub, _ network.NodeID) {
			b.ChargePoint(network.ChargePoint{Name: "CP1", Lines: sub.All(network.L1), Neutral: sub.At(network.N), Current: 32})
		}, []string{"CP1: its power factor is 0"}},
		{"break what is not there", func(b *network.Builder, sub, point network.NodeID) {
			b.Branch(network.Branch{Name: "leg", From: sub.All(network.L1), To: point.All(network.L1), Z: network.Series(1), Broken: []network.Conductor{network.PE}})
		}, []string{"leg: it has no protective conductor to break"}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			b, sub, point := two()
			tt.make(b, sub, point)
			err := solve(b)
			for _, want := range tt.want {
				if err == nil || !strings.Contains(err.Error(), want) {
					t.Errorf("error = %v, want it to say %q", err, want)
				}
			}
		})
	}
	if _, err := network.NewBuilder().Build(); err == nil || !strings.Contains(err.Error(), "add the supply first") {
		t.Errorf("an empty network: error = %v", err)
	}
}

// A meter across a broken conductor reads over its range; everything else can
// still be read.
func TestFaultsBeyondABreak(t *testing.T) {
	b, sub, point := two()
	b.Branch(network.Branch{Name: "leg", From: sub.All(network.L1, network.N), To: point.All(network.L1, network.N), Z: network.Series(0.1, 0.1), Broken: []network.Conductor{network.N}})
	net, err := b.Build()
	if err != nil {
		t.Fatal(err)
	}
	faults, err := net.Faults()
	if err != nil {
		t.Fatal(err)
	}
	if _, err := faults.LoopImpedance(point.At(network.L1), point.At(network.N)); err == nil || !strings.Contains(err.Error(), "point CP3, neutral: nothing connects it") {
		t.Errorf("loop through a broken neutral: error = %v", err)
	}
	if _, err := faults.LoopImpedance(point.At(network.L1), point.At(network.PE)); err == nil || !strings.Contains(err.Error(), "the network does not have it") {
		t.Errorf("loop through a conductor that is not there: error = %v", err)
	}
	z, err := faults.LoopImpedance(point.At(network.L1), sub.At(network.N))
	if err != nil || math.Abs(float64(z.Magnitude())-0.2) > 1e-9 {
		t.Errorf("loop by way of the supply's neutral = %v, %v, want 0.2 Ω", z, err)
	}
	if _, _, err := faults.Solve(network.Fault{Terminals: []network.Terminal{point.At(network.L1), sub.At(network.N)}}, 0); err == nil {
		t.Error("a voltage factor of 0 is accepted")
	}
}

func TestLostPENWithChargePointsRefusesAnElectrode(t *testing.T) {
	s := newStreet(230, 0)
	s.b.ChargePoint(network.ChargePoint{Name: "CP1", Lines: s.main.All(network.L1), Neutral: s.met(), Current: 32, PowerFactor: 1})
	s.b.Electrode("electrode", s.met(), 5)
	lost := s.lose(t)
	// The bracket the constant current gives: 32 A × 5 Ω.
	want(t, byHand, "constant current on 5 Ω", float64(lost.State.Touch(s.met())), 160, 6)
	if _, _, err := lost.ElectrodeFor(s.met(), 70); err == nil || !strings.Contains(err.Error(), "CP1: an electrode can be found for constant impedances only") {
		t.Errorf("error = %v", err)
	}
}

// A wire of no length joins; a ring of them has no answer, and says so.
func TestCurrentInPerfectJoins(t *testing.T) {
	b, sub, point := two()
	strap := b.Branch(network.Branch{Name: "strap", From: sub.All(network.L1, network.N), To: point.All(network.L1, network.N), Z: network.Series(0, 0)})
	b.Load(network.Load{Name: "heater", From: point.At(network.L1), To: point.At(network.N), Model: network.ConstantImpedance, S: 23000, Rated: 230})
	check := func(want float64) {
		t.Helper()
		_, st := flowOf(t, b)
		got := float64(st.Amperes(strap, 1))
		if !(math.Abs(got-want) < 1e-9) && !(math.IsNaN(got) && math.IsNaN(want)) {
			t.Errorf("neutral current = %v A, want %v", got, want)
		}
	}
	check(230 / 2.4) // 0.1 Ω of source and 2.3 Ω of heater
	b.Branch(network.Branch{Name: "second strap", From: sub.All(network.N), To: point.All(network.N), Z: network.Series(0)})
	check(math.NaN())
}

func TestChangedImpedanceIsTheSameAsANewNetwork(t *testing.T) {
	build := func(scale float64) (*network.Network, network.BranchID, network.NodeID) {
		b, sub, point := two()
		leg := b.Branch(network.Branch{Name: "leg", From: sub.All(network.L1, network.N), To: point.All(network.L1, network.N), Z: network.Series(0.2+0.1i, 0.3).Times(scale)})
		b.Load(network.Load{Name: "charge point", From: point.At(network.L1), To: point.At(network.N), Model: network.ConstantCurrent, S: 7360 + 1000i, Rated: 230})
		b.Load(network.Load{Name: "heater", From: point.At(network.L1), To: point.At(network.N), Model: network.ConstantImpedance, S: complex(2000*scale, 0), Rated: 230})
		net, err := b.Build()
		if err != nil {
			t.Fatal(err)
		}
		return net, leg, point
	}
	voltage := func(flow *network.Flow, point network.NodeID) float64 {
		t.Helper()
		st := flow.NewState()
		if err := flow.Solve(st); err != nil {
			t.Fatal(err)
		}
		return float64(st.Volts(point.At(network.L1), point.At(network.N)))
	}
	old, leg, point := build(1)
	fresh, _, _ := build(1.2)
	flow, err := old.Flow()
	if err != nil {
		t.Fatal(err)
	}
	freshFlow, err := fresh.Flow()
	if err != nil {
		t.Fatal(err)
	}
	cold := voltage(flow, point)
	if err := flow.SetImpedance(leg, network.Series(0.2+0.1i, 0.3).Times(1.2)); err != nil {
		t.Fatal(err)
	}
	if err := flow.SetPower(1, 2400); err != nil {
		t.Fatal(err)
	}
	hot, want := voltage(flow, point), voltage(freshFlow, point)
	if math.Abs(hot-want) > 1e-9 || hot >= cold {
		t.Errorf("voltage at the point = %v V after %v, want %v", hot, cold, want)
	}
	faults, err := old.Faults()
	if err != nil {
		t.Fatal(err)
	}
	if err := faults.SetImpedance(leg, network.Series(0.24, 0.36)); err != nil {
		t.Fatal(err)
	}
	z, err := faults.LoopImpedance(point.At(network.L1), point.At(network.N))
	if err != nil || math.Abs(real(complex128(z))-0.7) > 1e-9 {
		t.Errorf("loop = %v, %v, want 0.7 Ω", z, err)
	}
	if err := flow.SetImpedance(leg, network.Series(0, 0)); err == nil {
		t.Error("a conductor may turn into a perfect join")
	}
}

// Lossless source, one loop, arithmetic by hand: 32 A through 0.2 Ω is 204.8 W,
// 6.4 V, and 1,794 kWh in a year if it never stops.
func TestLossesAndYear(t *testing.T) {
	b := network.NewBuilder()
	sub, point := b.Node("supply"), b.Node("point")
	b.Source(network.Source{Name: "source", Star: sub.At(network.Earth), Lines: sub.All(network.L1), EMF: []complex128{230}})
	b.Join("neutral at earth", sub, network.Earth, network.N)
	leg := b.Branch(network.Branch{Name: "leg", From: sub.All(network.L1, network.N), To: point.All(network.L1, network.N), Z: network.Series(0.1, 0.1)})
	cp := b.ChargePoint(network.ChargePoint{Name: "charge point", Lines: point.All(network.L1), Neutral: point.At(network.N), Current: 32, PowerFactor: 1})
	_, st := flowOf(t, b)
	lost := st.Losses(leg)
	for _, c := range []struct {
		what      string
		got, want float64
	}{
		{"loss, W", float64(lost), 204.8},
		{"volts at the point", float64(st.LoadVolts(cp[0])), 223.6},
		{"neutral to earth", float64(st.Touch(point.At(network.N))), 3.2},
		{"a year, half the time, kWh", float64(network.YearlyLoss([]quantity.Watts{lost, 0})) / 1000, 0.2048 * 8760 / 2},
	} {
		if math.Abs(c.got-c.want) > 1e-6 {
			t.Errorf("%s = %v, want %v", c.what, c.got, c.want)
		}
	}
}

// A resistive loop meter by a transformer: Z = 0.03 + j0.04 Ω has 0.05 Ω, but
// against a load of 10 Ω the magnitudes differ as for little more than 0.03 Ω.
func TestLoopMeterSeesLittleReactance(t *testing.T) {
	b := network.NewBuilder()
	board := b.Node("board")
	b.Source(network.Source{Name: "source", Star: board.At(network.Earth), Lines: board.All(network.L1), EMF: []complex128{230}, Z: network.Series(0.03 + 0.04i)})
	b.Join("earthing terminal", board, network.Earth, network.PE)
	net, err := b.Build()
	if err != nil {
		t.Fatal(err)
	}
	faults, err := net.Faults()
	if err != nil {
		t.Fatal(err)
	}
	z, err := faults.LoopImpedance(board.At(network.L1), board.At(network.PE))
	if err != nil || math.Abs(float64(z.Magnitude())-0.05) > 1e-12 {
		t.Errorf("loop = %v, %v, want 0.05 Ω", z, err)
	}
	reading, err := faults.MeterReading(board.At(network.L1), board.At(network.PE), 10)
	if want := math.Hypot(10.03, 0.04) - 10; err != nil || math.Abs(float64(reading)-want) > 1e-9 {
		t.Errorf("reading = %v, %v, want %v Ω", reading, err, want)
	}
}
