package design

import (
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"chargewright/finding"
	"chargewright/job"
	"chargewright/model"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/trade"
	"chargewright/works"
)

// house reads the test house, lets edit change it, and returns its model.
func house(t testing.TB, edit func(*job.Job)) *model.Model {
	t.Helper()
	text, err := os.ReadFile("testdata/house.yaml")
	if err != nil {
		t.Fatal(err)
	}
	j, err := job.Read("house.yaml", text)
	if err != nil {
		t.Fatal(err)
	}
	if edit != nil {
		edit(j)
	}
	rules, err := standard.Open(j.Edition)
	if err != nil {
		t.Fatal(err)
	}
	return model.New(j, rules)
}

// checked returns the findings of the edited house.
func checked(t testing.TB, edit func(*job.Job)) findings {
	t.Helper()
	return Check(house(t, edit))
}

type findings []finding.Finding

// about returns the finding with a key whose subject holds a text.
func (fs findings) about(t testing.TB, key, subject string) finding.Finding {
	t.Helper()
	for _, f := range fs {
		if f.Key == key && strings.Contains(f.Subject, subject) {
			return f
		}
	}
	t.Fatalf("no finding %q about %q", key, subject)
	return finding.Finding{}
}

// wants checks a finding's verdict and, where given, its value, limit and margin.
func wants(t testing.TB, source string, f finding.Finding, verdict finding.Verdict, value, limit, tolerance float64) {
	t.Helper()
	if f.Verdict != verdict {
		t.Errorf("%s: %s is %q (%s), want %q", source, f.Key, f.Verdict, f.Why, verdict)
	}
	if !math.IsNaN(value) && math.Abs(f.Value.Number-value) > tolerance {
		t.Errorf("%s: %s has %v, want %v", source, f.Key, f.Value.Number, value)
	}
	if !math.IsNaN(limit) && math.Abs(f.Limit.Number-limit) > tolerance {
		t.Errorf("%s: %s has limit %v, want %v", source, f.Key, f.Limit.Number, limit)
	}
}

var none = math.NaN()

func ev(j *job.Job) *works.Circuit { return &j.Circuits[1] }
func cp(j *job.Job) *works.Point   { return &j.Points[0] }

func known[Q any](q Q) quantity.Maybe[Q] { return quantity.Known(q) }

func TestHouseMeetsEveryRule(t *testing.T) {
	for _, f := range checked(t, nil) {
		switch {
		case f.Verdict == finding.Fails:
			t.Errorf("%s, %s: fails: %s", f.Subject, f.What, f.Why)
		case f.Verdict == finding.NotKnown && !strings.Contains(f.Subject, "kitchen ring"):
			t.Errorf("%s, %s: %s", f.Subject, f.What, f.Why)
		case f.Clause.Name == "":
			t.Errorf("%s, %s: no clause", f.Subject, f.Key)
		case f.Verdict != finding.Meets && f.Next == "":
			t.Errorf("%s, %s: says nothing to do next", f.Subject, f.Key)
		case strings.Contains(f.Why.String(), "rulebook:"):
			t.Errorf("%s, %s: %s", f.Subject, f.Key, f.Why)
		}
	}
}

// TestEmptyJobPassesNothing: what nobody entered is not known.
func TestEmptyJobPassesNothing(t *testing.T) {
	j := &job.Job{Points: []works.Point{{Name: "CP1"}}, Edition: standard.DefaultEdition()}
	rules, err := standard.Open(j.Edition)
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range Check(model.New(j, rules)) {
		if f.Verdict == finding.Meets || f.Verdict == finding.Fails {
			t.Errorf("%s, %s: %q for a job that says nothing", f.Subject, f.What, f.Verdict)
		}
	}
}

// The cases below are situations met in the trade, each with figures that
// follow from arithmetic and the clause named.

func TestNotificationRoute(t *testing.T) {
	for _, tt := range []struct {
		source string
		edit   func(*job.Job)
		demand quantity.Amperes
		want   finding.Verdict
		says   string
	}{
		{"ENA form: 58 A on 100 A", nil, 58, finding.Meets, "tell after"},
		{"ENA form: 60 A on 100 A is not more than 60 A", nil, 60, finding.Meets, "tell after"},
		{"ENA form: 63 A on 100 A", nil, 63, finding.JudgeOnSite, "ask before"},
		{"ENA form: 75 A on 60 A", func(j *job.Job) { j.Supply.CutOut.Rating = known(quantity.Amperes(60)) }, 75, finding.JudgeOnSite, "ask before"},
		{"ENA form: 50 A, cut-out unknown", func(j *job.Job) { j.Supply.CutOut.Rating = quantity.Maybe[quantity.Amperes]{} }, 50, finding.JudgeOnSite, "ask before"},
		{"ENA FAQ: looped", func(j *job.Job) { j.Supply.Looped = known(true) }, 50, finding.JudgeOnSite, "looped"},
		{"ENA FAQ: looped not known", func(j *job.Job) { j.Supply.Looped = quantity.Maybe[bool]{} }, 50, finding.NotKnown, "looped"},
		{"ENA FAQ: damaged service head", func(j *job.Job) { j.Supply.ServiceCondition = known(trade.Damaged) }, 50, finding.Fails, "do not energise"},
		{"ENA FAQ: unmetered", func(j *job.Job) { j.Supply.Unmetered = known(true) }, 50, finding.JudgeOnSite, "unmetered"},
	} {
		t.Run(tt.source, func(t *testing.T) {
			f := checked(t, func(j *job.Job) {
				j.Supply.CutOut.Rating = known(quantity.Amperes(100))
				j.Supply.Demand.Value = known(tt.demand - 32)
				if tt.edit != nil {
					tt.edit(j)
				}
			}).about(t, "notification", "")
			wants(t, tt.source, f, tt.want, none, none, 0)
			if !strings.Contains(f.Why.String(), tt.says) {
				t.Errorf("says %q, want it to say %q", f.Why.String(), tt.says)
			}
		})
	}
}

func TestHighElectrodeReading(t *testing.T) {
	fs := checked(t, func(j *job.Job) {
		j.Supply.Earthing = known(trade.TT)
		j.Supply.Ze.Value = known(quantity.Ohms(190))
	})
	const source = "BS 7671 411.5.3, Table 41.5: 190 Ω with 30 mA"
	f := fs.about(t, "disconnection", "EV")
	wants(t, source, f, finding.Meets, 190, 1666.67, 0.3)
	if !strings.Contains(f.Why.String(), "5.7") {
		t.Errorf("touch voltage of 5.7 V is not shown: %s", f.Why)
	}
	wants(t, "BS 7671 Table 41.5 note: 200 Ω", fs.about(t, "electrode stability", "installation"), finding.Meets, 190, 200, 1e-9)
	wants(t, "the PME rule is not engaged", fs.about(t, "open PEN", "CP1"), finding.Meets, none, none, 0)
	bare := checked(t, func(j *job.Job) {
		j.Supply.Earthing = known(trade.TT)
		j.Circuits[0].SharedRCD = ""
	})
	wants(t, "BS 7671 411.5: circuits without an RCD are listed", bare.about(t, "TT circuit RCD", "kitchen ring"), finding.Fails, none, none, 0)
}

func TestElectrodeOnTheMainTerminal(t *testing.T) {
	// Rod 1.0 m × 16 mm in 100 Ω·m, joined to the main earthing terminal.
	m := house(t, func(j *job.Job) {
		j.Electrodes = []works.Electrode{{Name: "rod", Kind: known(trade.Rod), Length: known(quantity.Metres(1)), Diameter: known(quantity.Metres(0.016)), Soil: known(quantity.OhmMetres(100))}}
		j.Supply.Demand.Value = known(quantity.Amperes(0))
		cp(j).Earthing = works.PointEarthing{Measure: known(trade.LowElectrode), Electrode: "rod"}
	})
	electrode := m.ElectrodeResistance(&m.Job.Electrodes[0])
	ra := electrode.Value
	if !electrode.Known() || math.Abs(float64(ra)-83) > 0.5 {
		t.Errorf("BS 7430 rod formula: RA = %v (%v), want 83 Ω", ra, electrode.Lacks)
	}
	single := model.Currents{Phase: [3]quantity.Amperes{32, 0, 0}}
	if v := model.LostPENVoltage(230, 1, single, ra); math.Abs(float64(v)-212) > 0.5 {
		t.Errorf("first principles: lost-PEN voltage = %v, want 212 V", v)
	}
	f := findings(Check(m)).about(t, "open PEN", "CP1")
	wants(t, "BS 7671 Annex A722.3 at 253 V: 2.749 Ω", f, finding.Fails, float64(ra), 2.749, 0.001)
}

func TestLostPEN(t *testing.T) {
	inf := quantity.Ohms(math.Inf(1))
	for _, tt := range []struct {
		source   string
		c        float64
		currents [3]quantity.Amperes
		ra       quantity.Ohms
		want     quantity.Volts
	}{
		{"first principles: 32 A, 5 Ω, 230 V", 1, [3]quantity.Amperes{32, 0, 0}, 5, 94.36},
		{"first principles: 32 A, 5 Ω, 253 V", 1.1, [3]quantity.Amperes{32, 0, 0}, 5, 103.79},
		{"Annex A722 form: 40/30/20 A, 253 V, no electrode", 1.1, [3]quantity.Amperes{40, 30, 20}, inf, 48.69},
		{"Annex A722 form: 60/20/20 A, 253 V, no electrode", 1.1, [3]quantity.Amperes{60, 20, 20}, inf, 101.20},
		{"Annex A722 form: 60/20/20 A, 253 V, 5 Ω", 1.1, [3]quantity.Amperes{60, 20, 20}, 5, 69.32},
		{"Annex A722 form: 100/60/40 A, 253 V, no electrode", 1.1, [3]quantity.Amperes{100, 60, 40}, inf, 66.94},
		{"Annex A722 form: 20/32/8 A, 230 V, no electrode", 1, [3]quantity.Amperes{20, 32, 8}, inf, 79.67},
		{"balanced loads leave the star point at earth", 1, [3]quantity.Amperes{32, 32, 32}, inf, 0},
	} {
		if got := model.LostPENVoltage(230, tt.c, model.Currents{Phase: tt.currents}, tt.ra); math.Abs(float64(got-tt.want)) > 0.005 {
			t.Errorf("%s: %v V, want %v V", tt.source, float64(got), float64(tt.want))
		}
	}
	for _, tt := range []struct {
		source   string
		c        float64
		currents [3]quantity.Amperes
		want     quantity.Ohms
	}{
		{"32 A, C 1.1", 1.1, [3]quantity.Amperes{32, 0, 0}, 2.749},
		{"32 A, C 1.0", 1, [3]quantity.Amperes{32, 0, 0}, 3.145},
		{"60 A, C 1.0", 1, [3]quantity.Amperes{60, 0, 0}, 1.677},
		{"80 A, C 1.1", 1.1, [3]quantity.Amperes{80, 0, 0}, 1.100},
		{"60/20/20 A, C 1.1", 1.1, [3]quantity.Amperes{60, 20, 20}, 5.160},
	} {
		if got := model.GreatestElectrode(230, tt.c, model.Currents{Phase: tt.currents}, 70); math.Abs(float64(got-tt.want)) > 0.0006 {
			t.Errorf("%s: %v Ω, want %v Ω", tt.source, float64(got), float64(tt.want))
		}
	}
}

func TestWindowDeviceAndVoltDrop(t *testing.T) {
	for _, tt := range []struct {
		source string
		length quantity.Metres
		csa    quantity.SquareMillimetres
		drop   float64
		want   finding.Verdict
	}{
		{"207 V window, 216.2 V supply (ESQCR 2002 reg 27): 6 mm², 40 m drops 10.11 V", 40, 6, 10.11, finding.JudgeOnSite},
		{"10 mm², 40 m drops 6.02 V", 40, 10, 6.02, finding.Meets},
	} {
		f := checked(t, func(j *job.Job) {
			cp(j).OpenPEN = known(trade.MeasuresWindow)
			ev(j).Cable.CSA = known(tt.csa)
			ev(j).Legs[0].Length = known(tt.length)
			j.Supply.Tails = works.Tails{CSA: j.Supply.Tails.CSA} // the case has none
		}).about(t, "voltage window", "CP1")
		wants(t, tt.source, f, tt.want, tt.drop, 9.2, 0.01)
	}
	f := checked(t, func(j *job.Job) {
		j.Supply.Phases = known(3)
		cp(j).OpenPEN = known(trade.MeasuresWindow)
	}).about(t, "open PEN", "CP1")
	wants(t, "BS 7671 722.411.4.1(iv) is for single-phase installations only", f, finding.Fails, none, none, 0)
}

func TestFortyMetresOfArmouredCable(t *testing.T) {
	for _, tt := range []struct {
		csa  quantity.SquareMillimetres
		ib   quantity.Amperes
		drop float64
		want finding.Verdict
	}{
		{4, 21.74, 10.44, finding.Meets},
		{6, 21.74, 6.87, finding.Meets},
		{4, 32, 15.36, finding.Fails},
		{6, 32, 10.11, finding.Meets},
		{10, 32, 6.02, finding.Meets},
	} {
		f := checked(t, func(j *job.Job) {
			ev(j).Cable.CSA = known(tt.csa)
			ev(j).Current = known(tt.ib)
			ev(j).Legs[0].Length = known(quantity.Metres(40))
			j.Supply.Tails = works.Tails{CSA: j.Supply.Tails.CSA} // the case has none
		}).about(t, "volt drop", "EV")
		wants(t, fmt.Sprintf("BS 7671 Table 4E4B two-core column, %v at %v", tt.csa, tt.ib), f, tt.want, tt.drop, 11.5, 0.006)
		if tt.want == finding.Fails && !strings.Contains(f.Next, "29.9 m") {
			t.Errorf("longest run of 4 mm² at 32 A: %q, want it to name 29.9 m", f.Next)
		}
	}
}

func TestSpareWayBehindASharedRCD(t *testing.T) {
	f := checked(t, func(j *job.Job) {
		ev(j).RCD = works.RCD{}
		ev(j).Device.Type = known(standard.BreakerB)
		ev(j).SharedRCD = "RCD 1"
	}).about(t, "RCD individual", "CP1")
	wants(t, "BS 7671 722.531.3.101: individually", f, finding.Fails, none, none, 0)
	for _, option := range []string{"RCBO", "opens all live conductors", "ahead of the shared RCDs", "every other circuit off that RCD"} {
		if !strings.Contains(f.Next, option) {
			t.Errorf("options %q lack %q", f.Next, option)
		}
	}
	alone := checked(t, func(j *job.Job) {
		ev(j).RCD = works.RCD{}
		ev(j).SharedRCD = "RCD 1"
		j.Circuits[0].SharedRCD = "none"
	}).about(t, "RCD individual", "CP1")
	wants(t, "that RCD for the EV circuit alone", alone, finding.Meets, none, none, 0)
}

// points puts n like points, each with its own built-in RCD, behind one RCD of
// a given type and IΔn.
func points(n int, shared trade.RCDType, residual quantity.Amperes) func(*job.Job) {
	return func(j *job.Job) {
		circuit, point := *ev(j), *cp(j)
		circuit.RCD = works.RCD{}
		circuit.SharedRCD = "RCD 2"
		point.BuiltInRCD = works.RCD{Type: known(trade.TypeA), Residual: known(quantity.Amperes(0.03)), Poles: known(trade.AllLive)}
		j.Boards[0].RCDs = append(j.Boards[0].RCDs, works.BoardRCD{Name: "RCD 2", RCD: works.RCD{Type: known(shared), Residual: known(residual)}})
		j.Circuits, j.Points = j.Circuits[:1], nil
		for i := range n {
			point.Name = fmt.Sprintf("CP%d", i+1)
			circuit.Name, circuit.To = fmt.Sprintf("EV %d", i+1), point.Name
			j.Circuits = append(j.Circuits, circuit)
			j.Points = append(j.Points, point)
		}
	}
}

func TestDirectCurrentThroughAnUpstreamRCD(t *testing.T) {
	for _, tt := range []struct {
		n    int
		typ  trade.RCDType
		want finding.Verdict
	}{
		{2, trade.TypeA, finding.Fails},
		{3, trade.TypeA, finding.Fails},
		{2, trade.TypeB, finding.Meets},
		{3, trade.TypeB, finding.Meets},
		{2, trade.TypeAC, finding.Fails},
		{2, trade.TypeF, finding.Fails},
	} {
		f := checked(t, points(tt.n, tt.typ, 0.1)).about(t, "RCD upstream", "RCD 2")
		wants(t, fmt.Sprintf("BS 7671 531.3.3: %d × 6 mA behind a Type %s", tt.n, tt.typ), f, tt.want, float64(tt.n)*0.006, none, 1e-12)
	}
}

func TestStandingLeakage(t *testing.T) {
	for _, tt := range []struct {
		n        int
		residual quantity.Amperes
		want     finding.Verdict
	}{
		{2, 0.03, finding.Meets}, {3, 0.03, finding.Fails}, {8, 0.1, finding.Meets}, {9, 0.1, finding.Fails},
	} {
		f := checked(t, points(tt.n, trade.TypeB, tt.residual)).about(t, "leakage", "RCD 2")
		wants(t, fmt.Sprintf("BS 7671 531.3.2: %d × 3.5 mA behind %v", tt.n, tt.residual), f, tt.want, float64(tt.n)*0.0035, 0.3*float64(tt.residual), 1e-9)
	}
}

func TestThirtyTwoOrForty(t *testing.T) {
	// Zs 1.15 Ω: Ze is set so that the loop at operating temperature comes to it.
	at := func(edit func(*job.Job)) findings {
		return checked(t, func(j *job.Job) {
			r1r2 := house(t, nil).Circuits[1].R1R2(model.AtOperating).Magnitude()
			j.Supply.Ze.Value = known(1.15 - r1r2)
			edit(j)
		})
	}
	f := at(func(*job.Job) {}).about(t, "disconnection", "EV")
	wants(t, "BS 7671 Table 41.3: B32, 1.37 Ω", f, finding.Meets, 1.15, 1.37, 0.005)
	forty := func(j *job.Job) { ev(j).Device.Rating = known(quantity.Amperes(40)) }
	f = at(forty).about(t, "disconnection", "EV")
	wants(t, "BS 7671 Table 41.3: B40, 1.09 Ω, over by 0.06; the RCD disconnects", f, finding.JudgeOnSite, 1.15, 1.09, 0.005)
	if !strings.Contains(f.Why.String(), "not met by the overcurrent device") || math.Abs(f.Margin.Number+0.06) > 0.005 {
		t.Errorf("margin %v, why %q; want −0.06 Ω and the overcurrent device named", f.Margin, f.Why)
	}
	wants(t, "C32, 0.68 Ω", at(func(j *job.Job) { ev(j).Device.Type = known(standard.RCBOC) }).about(t, "disconnection", "EV"), finding.JudgeOnSite, none, 0.68, 0.005)
	f = at(func(j *job.Job) { j.Boards[0].DiversityFactor = known(0.9) }).about(t, "continuous load", "EV")
	wants(t, "BS EN 61439: 32 A device at 0.9 carries 28.8 A", f, finding.Fails, 32, 28.8, 1e-9)
	f = at(func(j *job.Job) { cp(j).GreatestDevice = quantity.Maybe[quantity.Amperes]{} }).about(t, "greatest upstream device", "CP1")
	wants(t, "maker's greatest upstream device not entered", f, finding.NotKnown, none, none, 0)
	f = at(func(j *job.Job) {
		forty(j)
		cp(j).GreatestDevice = known(quantity.Amperes(32))
	}).about(t, "greatest upstream device", "CP1")
	wants(t, "maker's figure overrides", f, finding.Fails, 40, 32, 0)
	f = at(func(j *job.Job) {
		forty(j)
		ev(j).Cable.CSA = known(quantity.SquareMillimetres(4))
		ev(j).Legs[0].Ambient = known(quantity.Celsius(40))
	}).about(t, "cable rating", "EV")
	if f.Verdict != finding.Fails {
		t.Errorf("40 A device on a cable of Iz %v: %q, want fails", f.Limit, f.Verdict)
	}
}

func TestSurgeLeads(t *testing.T) {
	for _, tt := range []struct {
		live, earth quantity.Metres
		want        finding.Verdict
		says        string
	}{
		{0.20, 0.25, finding.Meets, ""},
		{0.35, 0.45, finding.Meets, "above the 0.5 m preferred"},
		{0.60, 0.55, finding.Fails, ""},
	} {
		fs := checked(t, func(j *job.Job) {
			j.Boards[0].Surge[0].LiveLead, j.Boards[0].Surge[0].EarthLead = known(tt.live), known(tt.earth)
		})
		f := fs.about(t, "surge leads", "SPD 1")
		wants(t, "BS 7671 534.4.8: 0.5 m preferred, 1 m at most", f, tt.want, float64(tt.live+tt.earth), 1, 1e-9)
		if !strings.Contains(f.Why.String(), tt.says) {
			t.Errorf("%q does not say %q", f.Why.String(), tt.says)
		}
		wants(t, "V = L di/dt: 1 kV per metre on 1.4 kV", fs.about(t, "surge level", "SPD 1"), finding.Meets+func() finding.Verdict {
			if tt.live+tt.earth > 1.1 {
				return finding.Fails - finding.Meets
			}
			return 0
		}(), 1400+1000*float64(tt.live+tt.earth), 2500, 1e-6)
	}
	for _, tt := range []struct {
		backup quantity.Amperes
		want   finding.Verdict
	}{{125, finding.Meets}, {63, finding.Fails}} {
		f := checked(t, func(j *job.Job) { j.Boards[0].Surge[0].GreatestBackup = known(tt.backup) }).about(t, "surge backup", "SPD 1")
		wants(t, "BS 7671 534.4.5: 80 A service fuse", f, tt.want, 80, float64(tt.backup), 0)
	}
}

func TestOutletHeight(t *testing.T) {
	for _, tt := range []struct {
		height             quantity.Metres
		practice, pas1899d finding.Verdict
	}{
		{0.700, finding.JudgeOnSite, finding.Fails}, {0.900, finding.Meets, finding.Meets}, {1.100, finding.Meets, finding.Fails},
	} {
		fs := checked(t, func(j *job.Job) {
			cp(j).Mounting.OutletAt = known(tt.height)
			cp(j).Public = known(true)
		})
		wants(t, "IET Code of Practice 4th edition 4.4: 750 to 1200 mm", fs.about(t, "height outlet", "CP1"), tt.practice, float64(tt.height), none, 1e-9)
		wants(t, "PAS 1899:2022 as an article gives it, 800 to 950 mm; its draft 750 to 1000 mm agrees here", fs.about(t, "height outlet public", "CP1"), tt.pas1899d, float64(tt.height), none, 1e-9)
	}
}

// TestPlantedFaults changes one fact at a time and wants the verdict it spoils.
func TestPlantedFaults(t *testing.T) {
	for _, tt := range []struct {
		fault string
		edit  func(*job.Job)
		key   string
		about string
	}{
		{"undersized device", func(j *job.Job) { ev(j).Device.Rating = known(quantity.Amperes(25)) }, "design current", "EV"},
		{"cable too small for the device", func(j *job.Job) { ev(j).Cable.CSA = known(quantity.SquareMillimetres(2.5)) }, "cable rating", "EV"},
		{"cable in insulation", func(j *job.Job) { ev(j).Legs[0].Surrounded = known(quantity.Metres(0.5)) }, "cable rating", "EV"},
		{"too many circuits together", func(j *job.Job) {
			ev(j).Legs[0].Together, ev(j).Legs[0].Arrangement = known(9), known(standard.Bunched)
		}, "cable rating", "EV"},
		{"long run", func(j *job.Job) { ev(j).Legs[0].Length = known(quantity.Metres(60)) }, "volt drop", "EV"},
		{"weak breaker", func(j *job.Job) {
			j.Supply.Ipf.Value = known(quantity.Amperes(9000))
			j.Boards[0].ShortCircuitRating = known(quantity.Amperes(6000))
		}, "breaking capacity", "EV"},
		{"weak assembly", func(j *job.Job) { j.Boards[0].ShortCircuitRating = known(quantity.Amperes(1000)) }, "assembly short-circuit rating", "consumer unit"},
		{"Type AC", func(j *job.Job) { ev(j).RCD.Type = known(trade.TypeAC) }, "RCD type", "CP1"},
		{"no d.c. detection", func(j *job.Job) { cp(j).DCDetection = known(false) }, "RCD type", "CP1"},
		{"neutral left in", func(j *job.Job) { ev(j).RCD.Poles = known(trade.LinesOnly) }, "RCD poles", "CP1"},
		{"100 mA RCD", func(j *job.Job) { ev(j).RCD.Residual = known(quantity.Amperes(0.1)) }, "RCD residual current", "CP1"},
		{"PME outdoors with nothing", func(j *job.Job) { cp(j).Earthing.Measure = known(trade.SupplyEarthing) }, "open PEN", "CP1"},
		{"protective conductor left connected", func(j *job.Job) { cp(j).Earthing.Opens = known(false) }, "open PEN", "CP1"},
		{"thin bonding", func(j *job.Job) { j.Supply.Bonding[0].CSA = known(quantity.SquareMillimetres(6)) }, "main bonding", "water"},
		{"bonding hanging loose", func(j *job.Job) { j.Supply.Bonding[0].Connected = known(false) }, "main bonding", "water"},
		{"thin earthing conductor", func(j *job.Job) { j.Supply.EarthingConductor.CSA = known(quantity.SquareMillimetres(6)) }, "earthing conductor", "supply"},
		{"overloaded cut-out", func(j *job.Job) { j.Supply.Demand.Value = known(quantity.Amperes(60)) }, "supply demand", "supply"},
		{"indoor enclosure outdoors", func(j *job.Job) { cp(j).IP = "IP20" }, "IP", "CP1"},
		{"Ze above what is declared", func(j *job.Job) { j.Supply.Ze.Value = known(quantity.Ohms(0.6)) }, "supply Ze", "supply"},
		{"Type 3 alone", func(j *job.Job) { j.Boards[0].Surge[0].Type = known(trade.SurgeType("3")) }, "surge type", "SPD 1"},
		{"thin earth lead of a surge device", func(j *job.Job) { j.Boards[0].Surge[0].EarthCSA = known(quantity.SquareMillimetres(4)) }, "surge earth lead", "SPD 1"},
		{"no way left", func(j *job.Job) { j.Boards[0].WaysFree = known(0) }, "ways", "consumer unit"},
		{"thin cpc behind a slow fuse", func(j *job.Job) {
			ev(j).Device = works.Device{Type: known(standard.FuseGG), Rating: known(quantity.Amperes(63)), BreakingCapacity: known(quantity.Amperes(80000))}
			ev(j).Cable = works.Cable{Construction: known(standard.Singles), Insulation: known(standard.Thermoplastic70), Material: known(standard.Copper), CSA: known(quantity.SquareMillimetres(16)), CPC: known(trade.CPCCore), CPCCSA: known(quantity.SquareMillimetres(1))}
			ev(j).RCD = works.RCD{}
			ev(j).Legs[0].Length = known(quantity.Metres(5))
		}, "adiabatic cpc", "EV"},
	} {
		t.Run(tt.fault, func(t *testing.T) {
			f := checked(t, tt.edit).about(t, tt.key, tt.about)
			if f.Verdict != finding.Fails {
				t.Errorf("%s is %q (%s; has %v, limit %v), want fails", tt.key, f.Verdict, f.Why, f.Value, f.Limit)
			}
			if f.Next == "" {
				t.Error("says nothing to do next")
			}
		})
	}
}

func BenchmarkCheckCircuit(b *testing.B) {
	m := house(b, nil)
	b.ReportAllocs()
	for b.Loop() {
		k := &checker{m: m, rules: m.Rules}
		k.circuit(m.Circuits[1])
	}
}

func BenchmarkCheckHouse(b *testing.B) {
	m := house(b, nil)
	b.ReportAllocs()
	for b.Loop() {
		Check(m)
	}
}
