package model

import (
	"math"
	"testing"

	"chargewright/finding"
	"chargewright/job"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/trade"
	"chargewright/works"
)

func known[Q any](q Q) quantity.Maybe[Q] { return quantity.Known(q) }

// single is a single-phase TN-C-S job with one circuit to one point.
func single(cable works.Cable, length quantity.Metres) *job.Job {
	return &job.Job{
		Name: "test", Edition: standard.DefaultEdition(),
		Site: works.Site{Temperature: known(quantity.Celsius(20)), Premises: known(trade.Dwelling)},
		Supply: works.Supply{Earthing: known(trade.TNCS), Phases: known(1), Voltage: known(quantity.Volts(230)),
			Ze: works.Stated[quantity.Ohms]{Value: known(quantity.Ohms(0.35))}, Ipf: works.Stated[quantity.Amperes]{Value: known(quantity.Amperes(657))},
			Demand: works.Stated[quantity.Amperes]{Value: known(quantity.Amperes(20))}},
		Boards: []works.Board{{Name: "board", FedFrom: "supply"}},
		Circuits: []works.Circuit{{Name: "EV", From: "board", To: "CP1", Phases: known(trade.L1), Cable: cable,
			Legs: []works.Leg{{Length: known(length), Method: known(standard.MethodC)}}}},
		Points: []works.Point{{Name: "CP1", Current: known(quantity.Amperes(32)), Phases: known(1)}},
	}
}

func cable(c standard.Construction, ins standard.Insulation, csa quantity.SquareMillimetres, cpc trade.CPC, cpcCSA quantity.SquareMillimetres, cores int) works.Cable {
	out := works.Cable{Construction: known(c), Insulation: known(ins), Material: known(standard.Copper), CSA: known(csa), CPC: known(cpc)}
	if cpcCSA > 0 {
		out.CPCCSA = known(cpcCSA)
	}
	if cores > 0 {
		out.Cores = known(cores)
	}
	return out
}

func built(t testing.TB, j *job.Job) *Model {
	t.Helper()
	rules, err := standard.Open(j.Edition)
	if err != nil {
		t.Fatal(err)
	}
	return New(j, rules)
}

func near(t *testing.T, source string, got, want, tolerance float64) {
	t.Helper()
	if math.Abs(got-want) > tolerance {
		t.Errorf("%s: %v, want %v ± %v", source, got, want, tolerance)
	}
}

func TestR1R2AgainstPrint(t *testing.T) {
	const tp, ts = standard.Thermoplastic70, standard.Thermosetting90
	for _, tt := range []struct {
		source    string
		cable     works.Cable
		length    quantity.Metres
		at        Temperature
		want, tol float64
	}{
		{"Guide to the Wiring Regulations (17th ed.) App 4: 50 m of 1.5/1", cable(standard.FlatTwin, tp, 1.5, trade.CPCCore, 0, 0), 50, At20, 1.51, 0.005},
		{"same: 50 m of 2.5/1.5", cable(standard.FlatTwin, tp, 2.5, trade.CPCCore, 0, 0), 50, At20, 0.98, 0.005},
		{"same: 50 m of 4/1.5", cable(standard.FlatTwin, tp, 4, trade.CPCCore, 0, 0), 50, At20, 0.84, 0.005},
		{"same: 50 m of 6/2.5", cable(standard.FlatTwin, tp, 6, trade.CPCCore, 0, 0), 50, At20, 0.52, 0.005},
		{"same: 50 m of 10/4", cable(standard.FlatTwin, tp, 10, trade.CPCCore, 0, 0), 50, At20, 0.32, 0.005},
		{"same: 50 m of 16/6", cable(standard.FlatTwin, tp, 16, trade.CPCCore, 0, 0), 50, At20, 0.2115, 0.0005},
		{"trade-forum answer sheet: 4/1.5, 12 m", cable(standard.FlatTwin, tp, 4, trade.CPCCore, 0, 0), 12, At20, 0.20, 0.005},
		{"same: 4/1.5, 18 m", cable(standard.FlatTwin, tp, 4, trade.CPCCore, 0, 0), 18, At20, 0.30, 0.005},
		{"same: 4/1.5, 20.5 m", cable(standard.FlatTwin, tp, 4, trade.CPCCore, 0, 0), 20.5, At20, 0.34, 0.005},
		{"trade-forum reply: 4/2.5, 23 m, cold", cable(standard.Singles, tp, 4, trade.CPCCore, 2.5, 0), 23, At20, 0.276, 0.001},
		{"same, hot by 1.20", cable(standard.Singles, tp, 4, trade.CPCCore, 2.5, 0), 23, AtOperating, 0.331, 0.001},
		{"engineering-forum shower: 6/2.5, 30 m, hot by 1.2", cable(standard.FlatTwin, tp, 6, trade.CPCCore, 0, 0), 30, AtOperating, 0.3776, 0.001},
		{"trade forum: 22 m of 2.5/1.5", cable(standard.FlatTwin, tp, 2.5, trade.CPCCore, 0, 0), 22, At20, 0.429, 0.001},
		{"BS 5467 and IEC 60228: 25 m of 3-core 6 mm², core as cpc", cable(standard.Armoured, ts, 6, trade.CPCCore, 0, 3), 25, At20, 0.154, 0.0005},
		{"BS 5467 (one source): the same, armour as cpc", cable(standard.Armoured, ts, 6, trade.CPCArmour, 0, 3), 25, At20, 0.2445, 0.0005},
		{"1/(1/0.077 + 1/0.1675) of the two rows above", cable(standard.Armoured, ts, 6, trade.CPCCoreAndArmour, 0, 3), 25, At20, 0.077 + 0.05275, 0.0005},
		{"IET On-Site Guide Table I3: 90 °C cable, factor 1.28", cable(standard.Armoured, ts, 6, trade.CPCCore, 0, 3), 25, AtOperating, 0.154 * 1.28, 0.0005},
	} {
		m := built(t, single(tt.cable, tt.length))
		loop := m.Circuits[0].R1R2(tt.at)
		if !loop.Known() {
			t.Errorf("%s: %v", tt.source, loop.Lacks)
			continue
		}
		near(t, tt.source, float64(loop.Magnitude()), tt.want, tt.tol)
	}
}

// TestNetworkIsTheTrade holds the network to the trade's sum where both apply.
func TestNetworkIsTheTrade(t *testing.T) {
	m := built(t, single(cable(standard.FlatTwin, standard.Thermoplastic70, 6, trade.CPCCore, 0, 0), 30))
	zs, ok := m.Circuits[0].Zs(AtOperating)
	if !ok {
		t.Fatalf("no Zs: %v", m.NetworkLacks)
	}
	near(t, "Zs = Ze + R1 + R2 (BS 7671 643.7.3)", float64(zs), 0.35+0.3776, 0.001)
	drop, ok := m.Circuits[0].Drop()
	if !ok {
		t.Fatal("no volt drop")
	}
	near(t, "7.3 mV/A/m (BS 7671 Table 4D5, 6 mm²)", float64(drop), 0.0073*32*30, 0.1)
}

func TestFaultCurrents(t *testing.T) {
	m := built(t, single(cable(standard.FlatTwin, standard.Thermoplastic70, 6, trade.CPCCore, 0, 0), 30))
	near(t, "230 V / 0.35 Ω = 657 A (Ohm's law)", float64(m.GreatestFault(m.Boards[0]).Current), 657, 0.5)
	least := m.Circuits[0].LeastEarthFault()
	near(t, "U0 × Cmin / Zs (BS 7671 411.4.4)", float64(least.Current), 230*0.95/(0.35+0.3776), 0.5)
	study, err := m.StudyFault("L1-PE@CP1")
	if err != nil || len(study.Lacks) > 0 {
		t.Fatal(err, study.Lacks)
	}
	near(t, "the study agrees with the finding", float64(study.Least), float64(least.Current), 0.01)
	for _, wrong := range []string{"", "L1@CP1", "L1-PE", "L1-Q@CP1", "L1-PE@nowhere", "L2-PE@CP1"} {
		if _, err := m.StudyFault(wrong); err == nil {
			t.Errorf("StudyFault(%q) found no fault with it", wrong)
		}
	}
}

// TestLostPENOfAJob holds the job's own network to the arithmetic of a broken
// PEN (first principles, Millman's theorem; no publication).
func TestLostPENOfAJob(t *testing.T) {
	j := single(cable(standard.FlatTwin, standard.Thermoplastic70, 6, trade.CPCCore, 0, 0), 0.001)
	j.Supply.Ze.Value = known(quantity.Ohms(0.0001))
	j.Supply.Ipf.Value = known(quantity.Amperes(1e6))
	j.Supply.Demand.Value = known(quantity.Amperes(0))
	j.Supply.Electrode = "rod"
	j.Electrodes = []works.Electrode{{Name: "rod", Resistance: works.Stated[quantity.Ohms]{Value: known(quantity.Ohms(5))}}}
	m := built(t, j)
	near(t, "32 A, 5 Ω, 230 V: 94.36 V", float64(m.LosePEN(1, true, 70).Terminal), 94.36, 0.02)
	near(t, "32 A, 5 Ω, 253 V: 103.79 V", float64(m.LosePEN(1.1, true, 70).Terminal), 103.79, 0.02)
	j.Supply.Electrode = ""
	lost := built(t, j).LosePEN(1.1, true, 70)
	near(t, "no electrode: the whole 253 V", float64(lost.Terminal), 253, 0.01)
	r, _ := lost.Electrode.Get()
	near(t, "32 A at 1.1: 2.749 Ω", float64(r), 2.749, 0.002)

	j.Supply.Phases = known(3)
	j.Points[0].Phases = known(3)
	j.Circuits[0].Phases = known(trade.ThreePhase)
	j.Loads = []works.Load{
		{Name: "a", Board: "board", Phases: known(trade.L1), Current: known(quantity.Amperes(40))},
		{Name: "b", Board: "board", Phases: known(trade.L2), Current: known(quantity.Amperes(30))},
		{Name: "c", Board: "board", Phases: known(trade.L3), Current: known(quantity.Amperes(20))},
	}
	j.Supply.Demand = works.Stated[quantity.Amperes]{}
	j.Boards[0].AllLoads, j.Site.Premises = known(true), known(trade.Workplace)
	lost = built(t, j).LosePEN(1.1, false, 70)
	near(t, "40/30/20 A, 253 V: 48.69 V", float64(lost.Terminal), 48.69, 0.02)
	if lost.Needed {
		t.Error("48.69 V is under 70 V: no electrode is needed")
	}
}

func TestNeighbourLiftsTheTerminal(t *testing.T) {
	j := single(cable(standard.FlatTwin, standard.Thermoplastic70, 6, trade.CPCCore, 0, 0), 10)
	j.Supply.Demand.Value = known(quantity.Amperes(5))
	j.Supply.Electrode = "rod"
	j.Electrodes = []works.Electrode{{Name: "rod", Resistance: works.Stated[quantity.Ohms]{Value: known(quantity.Ohms(20))}}}
	alone := built(t, j).LosePEN(1, false, 70).Terminal
	j.Supply.Neighbours = []works.Neighbour{{Name: "next door", Phases: known(trade.L1), Current: known(quantity.Amperes(60))}}
	if with := built(t, j).LosePEN(1, false, 70).Terminal; with <= alone {
		t.Errorf("a neighbour's 60 A on the broken main moves the terminal from %v to %v, want it higher", alone, with)
	}
}

// TestLacksAreNamed: what the record does not say is named, and gives no number.
func TestLacksAreNamed(t *testing.T) {
	m := built(t, &job.Job{Edition: standard.DefaultEdition(), Circuits: []works.Circuit{{Name: "EV"}}, Points: []works.Point{{Name: "CP1"}}})
	c := m.Circuits[0]
	if _, ok := c.Zs(AtOperating); ok || c.R1R2(At20).Known() || c.DesignCurrents().Known() || m.Circuits[0].GreatestFault().Known() {
		t.Error("an empty job has a number")
	}
	for _, lacks := range []finding.Lacks{c.R1R2(At20).Lacks, c.DesignCurrents().Lacks, m.Circuits[0].GreatestFault().Lacks, m.NetworkLacks, m.ExistingDemand().Lacks} {
		if len(lacks) == 0 {
			t.Error("nothing is named as missing")
		}
	}
}

func TestRoundNamesOfPoints(t *testing.T) {
	for _, tt := range []struct {
		source string
		power  quantity.Watts
		phases int
		want   quantity.Amperes
	}{
		{"common practice, no source: 7.4 kW is a 32 A point", 7400, 1, 32},
		{"32 A × 230 V", 7360, 1, 32},
		{"common practice: 7 kW", 7000, 1, 32},
		{"common practice: 3.7 kW", 3700, 1, 16},
		{"common practice: 11 kW", 11000, 3, 16},
		{"common practice: 22 kW", 22000, 3, 32},
		{"9.2 kW is 40 A", 9200, 1, 40},
		{"no round name: 5 kW", 5000, 1, 5000. / 230},
	} {
		j := single(works.Cable{}, 1)
		j.Points[0] = works.Point{Name: "CP1", Power: known(tt.power), Phases: known(tt.phases)}
		i := built(t, j).RatedCurrent(&j.Points[0])
		if !i.Known() || math.Abs(float64(i.Value-tt.want)) > 1e-9 {
			t.Errorf("%s: %v (%v), want %v", tt.source, i.Value, i.Lacks, tt.want)
		}
	}
}

func BenchmarkNewModel(b *testing.B) {
	j := single(cable(standard.FlatTwin, standard.Thermoplastic70, 6, trade.CPCCore, 0, 0), 30)
	rules, err := standard.Open(j.Edition)
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		New(j, rules)
	}
}
