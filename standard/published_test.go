package standard

import (
	"math"
	"testing"

	"chargewright/quantity"
)

func seconds(v float64) quantity.Seconds { return quantity.Seconds(v) }

// value takes what a look-up returns and fails the test if it failed.
func value[Q ~float64](t *testing.T) func(Q, Citation, error) float64 {
	return func(q Q, c Citation, err error) float64 {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		if c.IsZero() {
			t.Fatal("the value has no citation")
		}
		return float64(q)
	}
}

// Each row is a figure printed outside the project, with the place it is
// printed at; the name of the row is the citation.
func TestPublishedValues(t *testing.T) {
	b := open(t)
	amperes, ohms, metre, plainly, volts := value[quantity.Amperes](t), value[quantity.Ohms](t), value[quantity.OhmsPerMetreAt20](t), value[float64](t), value[quantity.OhmMetres](t)
	zs := func(f Family, in quantity.Amperes, within float64) float64 {
		return ohms(b.MaxZs(Device{Family: f, Rating: in}, seconds(within), 230))
	}
	printed := func(f Family, in quantity.Amperes, within float64) float64 {
		z, _, c, err := b.PrintedMaxZs(Device{Family: f, Rating: in}, seconds(within))
		return ohms(z, c, err)
	}
	measured := func(f Family, in quantity.Amperes, within float64) float64 {
		_, z, c, err := b.PrintedMaxZs(Device{Family: f, Rating: in}, seconds(within))
		return ohms(z, c, err)
	}
	r20 := func(mm2 quantity.SquareMillimetres) float64 { return 1000 * metre(b.Resistance(Copper, Stranded, mm2)) }
	twin := func(mm2 quantity.SquareMillimetres, l float64) float64 {
		cpc, _, err := b.FlatTwinCPC(mm2)
		if err != nil {
			t.Fatal(err)
		}
		return (r20(mm2) + r20(cpc)) * l / 1000
	}
	drop := func(c Construction, ins Insulation, phases int, mm2 quantity.SquareMillimetres) float64 {
		d, cite, err := b.VoltDrop(Copper, c, ins, MethodC, phases, mm2)
		return plainly(d.Z, cite, err)
	}
	it := func(c Construction, ins Insulation, m Method, loaded int, mm2 quantity.SquareMillimetres) float64 {
		return amperes(b.Rating(Copper, c, ins, m, loaded, mm2))
	}
	longest := func(mm2 quantity.SquareMillimetres, i float64) float64 {
		return 11.5 * 1000 / (drop(Armoured, Thermosetting90, 1, mm2) * i)
	}
	limit := func(key string) float64 { return plainly(b.Limit(key)) }
	k := func(m Material, ins Insulation, role Role) float64 { return plainly(b.K(m, ins, role)) }
	duty := func(i quantity.Amperes) float64 {
		d, c, err := b.PilotDuty(i)
		return value[quantity.Percent](t)(d, c, err)
	}
	pilot := func(d quantity.Percent) float64 { return amperes(b.PilotCurrent(d)) }
	bonding := func(pme bool, mm2 quantity.SquareMillimetres) float64 {
		s, c := b.MainBonding(pme, mm2)
		return value[quantity.SquareMillimetres](t)(s, c, nil)
	}
	ca := func(ins Insulation, at quantity.Celsius) float64 { return plainly(b.AmbientFactor(ins, false, at)) }

	for _, tt := range []struct {
		source string
		got    float64
		want   float64
		within float64
	}{
		// Greatest Zs.
		{"trade article on Cmin: type B, 10 A, 218.5/50", zs(BreakerB, 10, 0.4), 4.37, 0.005},
		{"trade forum: type B, 45 A, 218.5/225", zs(BreakerB, 45, 0.4), 0.97, 0.005},
		{"BS 7671 Table 41.3, type B, 32 A", printed(BreakerB, 32, 0.4), 1.37, 0},
		{"BS 7671 Table 41.3, type B, 40 A", printed(BreakerB, 40, 5), 1.09, 0},
		{"BS 7671 Table 41.3, type C, 32 A (from memory)", printed(BreakerC, 32, 0.4), 0.68, 0},
		{"BS 7671 Table 41.3, type C, 40 A (from memory)", printed(RCBOC, 40, 0.4), 0.55, 0},
		{"BS 7671 Table 41.3, type D, 32 A, 0.4 s (from memory)", printed(BreakerD, 32, 0.4), 0.34, 0},
		{"BS 7671 Table 41.3, type D, 32 A, 5 s (from memory)", printed(BreakerD, 32, 5), 0.68, 0},
		{"certification-body magazine, spring 2015: BS 88-3, 32 A, 0.4 s, reading 0.72", measured(FuseBS88_3, 32, 0.4), 0.72, 0},
		{"trade press on loop testing: type B, 32 A, reading about 1.1 (0.8 × 1.37, rounded down)", measured(BreakerB, 32, 0.4), 1.09, 0.011},
		{"trade journal, winter 2011-12: BS 88-2, 6 A, 230/Ia", 230 / amperes(b.OperatingCurrent(Device{Family: FuseGG, Rating: 6}, 0.4)), 8.21, 0.005},
		{"trade journal, winter 2011-12: BS 88-2, 10 A", 230 / amperes(b.OperatingCurrent(Device{Family: FuseGG, Rating: 10}, 0.4)), 4.89, 0.005},
		{"trade journal, winter 2011-12: BS 88-2, 16 A", 230 / amperes(b.OperatingCurrent(Device{Family: FuseGG, Rating: 16}, 0.4)), 2.56, 0.005},
		{"trade journal, winter 2011-12: BS 88-2, 20 A", 230 / amperes(b.OperatingCurrent(Device{Family: FuseGG, Rating: 20}, 0.4)), 1.77, 0.005},
		{"trade journal, winter 2011-12: BS 88-2, 25 A", 230 / amperes(b.OperatingCurrent(Device{Family: FuseGG, Rating: 25}, 0.4)), 1.35, 0.005},
		{"trade journal, winter 2011-12: BS 88-2, 32 A (prints 1.04, cut off)", 230 / amperes(b.OperatingCurrent(Device{Family: FuseGG, Rating: 32}, 0.4)), 1.04, 0.01},
		{"a loop-tester manual: gG 63 A operates within 5 s at 320 A", float64(b.devices[FuseGG].gates[6].value.operates5s), 320, 0},
		{"a loop-tester manual: gG 100 A operates within 5 s at 580 A", float64(b.devices[FuseGG].gates[8].value.operates5s), 580, 0},
		// Conductors.
		{"IEC 60228 Table 2, 1.5 mm² copper", r20(1.5), 12.1, 0},
		{"IEC 60228 Table 2, 10 mm² copper", r20(10), 1.83, 0},
		{"IEC 60228 Table 2, 25 mm² copper", r20(25), 0.727, 0},
		{"IEC 60228 Table 3, 6 mm² class 5", 1000 * metre(b.Resistance(Copper, Flexible, 6)), 3.30, 0},
		{"IEC 60228 Table 2, 25 mm² aluminium", 1000 * metre(b.Resistance(Aluminium, Stranded, 25)), 1.20, 0},
		{"IET On-Site Guide Table I1, 6/2.5 mm²", twin(6, 1000), 10.49, 0.0005},
		{"IET On-Site Guide Table I1, 4/1.5 mm²", twin(4, 1000), 16.71, 0.0005},
		{"Guide to the Wiring Regulations 17th ed., Appendix 4: 50 m of 1.5/1", twin(1.5, 50), 1.51, 0.005},
		{"Guide to the Wiring Regulations 17th ed., Appendix 4: 50 m of 2.5/1.5", twin(2.5, 50), 0.98, 0.005},
		{"Guide to the Wiring Regulations 17th ed., Appendix 4: 50 m of 4/1.5", twin(4, 50), 0.84, 0.005},
		{"Guide to the Wiring Regulations 17th ed., Appendix 4: 50 m of 6/2.5", twin(6, 50), 0.52, 0.005},
		{"Guide to the Wiring Regulations 17th ed., Appendix 4: 50 m of 10/4", twin(10, 50), 0.32, 0.0025},
		{"Guide to the Wiring Regulations 17th ed., Appendix 4: 50 m of 16/6", twin(16, 50), 0.211, 0.0006},
		{"trade forum: 22 m of 2.5/1.5 mm²", twin(2.5, 22), 0.429, 0.0005},
		{"trade forum: 10 m of 1.5/1 mm², × 1.2", twin(1.5, 10) * limit("hot factor 70"), 0.36, 0.005},
		{"practice question on a trade forum: 12 m of 4/1.5 mm²", twin(4, 12), 0.20, 0.005},
		{"practice question on a trade forum: 20.5 m of 4/1.5 mm²", twin(4, 20.5), 0.34, 0.005},
		{"engineering forum: 30 m of 6/2.5 mm² × 1.2 + 0.15 (prints 0.52 for 0.528)", 0.15 + twin(6, 30)*limit("hot factor 70"), 0.53, 0.005},
		{"trade-forum reply: 23 m of 4/2.5 mm², × 1.2 + 0.6", 0.6 + (r20(4)+r20(2.5))*0.023*limit("hot factor 70"), 0.931, 0.0015},
		{"trade-forum solution: longest run of 1/1 mm² for 9.58 × 0.75 Ω, Ze 0.45 (prints 185)", (9.58*0.75 - 0.45) / twin(1, 1), 186, 1},
		{"do-it-yourself forum: 1.6 Ω of 2.5 mm² is 216 m", 1600 / r20(2.5), 216, 0.5},
		// Ratings and volt drop.
		{"Basic Electrical Installation Work: method A, 10 mm² carries 46 A", it(Singles, Thermoplastic70, MethodA, 2, 10), 46, 0},
		{"Basic Electrical Installation Work: method A, 6 mm² carries 34 A", it(Singles, Thermoplastic70, MethodA, 2, 6), 34, 0},
		{"Basic Electrical Installation Work: It of 32 A at 35 °C", 32 / ca(Thermoplastic70, 35), 34.04, 0.005},
		{"Basic Electrical Installation Work p. 207: 10 mm², 26.09 A, 18 m (prints 2.06)", drop(Multicore, Thermoplastic70, 1, 10) * 26.09 * 18 / 1000, 2.066, 0.01},
		{"exercise sheet: BS 3036 30 A at 35 °C", 30 / (ca(Thermoplastic70, 35) * first(b.OverloadFactor(true, false))), 44.0, 0.05},
		{"exercise sheet: 10 mm² multicore, method C, three-phase", it(Multicore, Thermoplastic70, MethodC, 3, 10), 57, 0},
		{"exercise sheet: 4 mm² multicore, method C, three-phase", it(Multicore, Thermoplastic70, MethodC, 3, 4), 32, 0},
		{"exercise sheet: 4 mm² three-phase, mV/A/m", drop(Multicore, Thermoplastic70, 3, 4), 9.5, 0},
		{"exercise sheet: 10 mm² three-phase, mV/A/m", drop(Multicore, Thermoplastic70, 3, 10), 3.8, 0},
		{"contractor's page: 20 m, 4 mm², 30 A", drop(Armoured, Thermoplastic70, 1, 4) * 30 * 20 / 1000, 6.6, 0.005},
		{"contractor's page: 40 m, 6 mm², 45 A", drop(Armoured, Thermoplastic70, 1, 6) * 45 * 40 / 1000, 13.14, 0.005},
		{"contractor's page: 10 m, 1.5 mm², 16 A", drop(Armoured, Thermoplastic70, 1, 1.5) * 16 * 10 / 1000, 4.64, 0.005},
		{"contractor's page: 40 m, 10 mm², 45 A", drop(Armoured, Thermoplastic70, 1, 10) * 45 * 40 / 1000, 7.92, 0.005},
		{"cable distributor's page: 150 m, 35 mm² three-phase, 100 A", drop(Armoured, Thermoplastic70, 3, 35) * 100 * 150 / 1000, 16.5, 0.005},
		{"cable distributor's page: 70 mm² three-phase is within 0.7 mV/A/m", math.Min(0.7, drop(Armoured, Thermoplastic70, 3, 70)), 0.57, 0},
		{"The Electrician's Guide ch. 4: 4 mm², 25 A, 16 m", drop(FlatTwin, Thermoplastic70, 1, 4) * 25 * 16 / 1000, 4.4, 0.005},
		{"BS 7671 Table 4E4B, 4 mm² two-core, as the trade quotes it", drop(Armoured, Thermosetting90, 1, 4), 12, 0},
		{"BS 7671 Table 4E4B, 6 mm² two-core, as the trade quotes it", drop(Armoured, Thermosetting90, 1, 6), 7.9, 0},
		{"40 m of 6 mm² at 21.74 A, worked from Table 4E4B", drop(Armoured, Thermosetting90, 1, 6) * 21.74 * 40 / 1000, 6.87, 0.005},
		{"40 m of 10 mm² at 32 A, worked from Table 4E4B", drop(Armoured, Thermosetting90, 1, 10) * 32 * 40 / 1000, 6.02, 0.005},
		{"longest run of 4 mm² at 32 A for 5 %, worked from Table 4E4B", longest(4, 32), 29.9, 0.06},
		{"longest run of 6 mm² at 32 A for 5 %, worked from Table 4E4B", longest(6, 32), 45.5, 0.06},
		{"longest run of 10 mm² at 32 A for 5 %, worked from Table 4E4B", longest(10, 32), 76.5, 0.06},
		{"longest run of 16 mm² at 32 A for 5 %, worked from Table 4E4B", longest(16, 32), 123.9, 0.06},
		{"longest run of 25 mm² at 32 A for 5 %, worked from Table 4E4B", longest(25, 32), 189, 0.5},
		{"Basic Electrical Installation Work p. 298: 3 % of 230 V", 230 * limit("volt drop lighting public"), 6.9, 1e-9},
		{"Basic Electrical Installation Work p. 298: 5 % of 230 V", 230 * limit("volt drop other public"), 11.5, 1e-9},
		{"wholesaler's table: six 4 mm² singles in a short straight conduit", 6 * plainly(b.SpaceTerm(ShortConduitStranded, 4)), 348, 0},
		{"wholesaler's table: 20 mm conduit, short and straight", plainly(b.ConduitFactor(20, 3, 0)), 460, 0},
		// Thermal.
		{"Basic Electrical Installation Work p. 250: 200 A, 0.4 s", math.Sqrt(200*200*0.4) / k(Copper, Thermoplastic70, CPCInCable), 1.10, 0.005},
		{"Basic Electrical Installation Work p. 251: 90 A, 0.4 s", math.Sqrt(90*90*0.4) / k(Copper, Thermoplastic70, CPCInCable), 0.49, 0.006},
		{"certification-body pocket guide, Table 54.4: steel armour of 90 °C cable", k(Steel, Thermosetting90, ArmourAsCPC), 46, 0},
		{"certification-body pocket guide, Table 54.2: separate copper, 90 °C thermosetting", k(Copper, Thermosetting90, CPCSeparate), 176, 0},
		// Earthing.
		{"BS 7671 Table 41.5: 30 mA", limit("touch voltage") / limit("rcd point"), 1667, 0.5},
		{"BS 7671 Table 41.5: 100 mA", limit("touch voltage") / 0.1, 500, 1e-9},
		{"IET On-Site Guide p. 78: RA 200 Ω, greatest IΔn", limit("touch voltage") / limit("electrode stability"), 0.25, 1e-9},
		{"wiring-regulations handbook, Table 54.8: neutral 35 mm²", bonding(true, 35), 10, 0},
		{"wiring-regulations handbook, Table 54.8: neutral 50 mm²", bonding(true, 50), 16, 0},
		{"wiring-regulations handbook, Table 54.8: neutral 70 mm²", bonding(true, 70), 25, 0},
		{"wiring-regulations handbook, Table 54.8: neutral 120 mm²", bonding(true, 120), 35, 0},
		{"wiring-regulations handbook, Table 54.8: neutral 185 mm²", bonding(true, 185), 50, 0},
		{"industry pocket guide, 544.1.1: earthing conductor 16 mm², not PME", bonding(false, 16), 8, 0},
		{"industry pocket guide, 544.1.1: never less than 6 mm²", bonding(false, 6), 6, 0},
		{"substation design manual of a national utility, Table B-3, 1 m", volts(b.Wenner(1, 21.1)), 132.59, 0.05},
		{"substation design manual of a national utility, Table B-3, 2 m", volts(b.Wenner(2, 10.96)), 137.75, 0.05},
		{"substation design manual of a national utility, Table B-3, 3 m", volts(b.Wenner(3, 6.52)), 122.92, 0.05},
		// Control pilot.
		{"pilot test-adapter manual: 10 %", pilot(10), 6, 0},
		{"pilot test-adapter manual: 16 %", pilot(16), 9.6, 1e-9},
		{"pilot test-adapter manual: 25 %", pilot(25), 15, 1e-9},
		{"pilot test-adapter manual: 50 %", pilot(50), 30, 1e-9},
		{"pilot test-adapter manual: 80 %", pilot(80), 48, 1e-9},
		{"pilot test-adapter manual: 85 %", pilot(85), 51, 1e-9},
		{"pilot test-adapter manual: 86 %", pilot(86), 55, 1e-9},
		{"pilot test-adapter manual: 90 %", pilot(90), 65, 1e-9},
		{"pilot test-adapter manual: 95 %", pilot(95), 77.5, 1e-9},
		{"pilot test-adapter manual: 96 %", pilot(96), 80, 1e-9},
		{"pilot test-adapter manual: 97 %", pilot(97), 80, 0},
		{"pilot test-adapter manual: 9 %", pilot(9), 6, 0},
		{"open-source charger notes: 32 A is about 53 %", duty(32), 53.33, 0.005},
		{"IEC 61851-1 Annex A, inverse: 63 A", duty(63), 89.20, 0.005},
		// Demand.
		{"trade forum after the On-Site Guide: 16 kW cooker at 240 V", cooker(t, b, 16000.0/240), 27.0, 0.05},
		{"ENA form: 60 A is 13.8 kVA", limit("lct ask above") * limit("nominal voltage"), 13800, 0},
		// Supply.
		{"institution journal on voltage: 230 V + 10 %", limit("supply voltage high"), 253, 0},
		{"institution journal on voltage: 230 V − 6 %", limit("supply voltage low"), 216.2, 0},
		{"Ohm's law and EREC P23/1: 0.35 Ω gives 657 A", 230 / limit("ze tn-c-s"), 657, 0.5},
	} {
		if !(math.Abs(tt.got-tt.want) <= tt.within+1e-9) {
			t.Errorf("%s: got %v, want %v", tt.source, tt.got, tt.want)
		}
	}
}

func first[T any](v T, _ Citation) T { return v }

func cooker(t *testing.T, b *Rulebook, full float64) float64 {
	d, _, err := b.Diversity("dwelling", "cooking")
	if err != nil {
		t.Fatal(err)
	}
	return float64(d.FirstAmperes) + d.Excess*(full-float64(d.FirstAmperes))
}

// Electrodes. BS 7430 could not be read; the want column is arithmetic on the
// textbook formulas, done apart from the program, so it tests the program and
// not the formulas. The Wenner survey above is a published one.
func TestElectrodes(t *testing.T) {
	b := open(t)
	ohms := value[quantity.Ohms](t)
	for _, tt := range []struct {
		source string
		got    float64
		want   float64
		within float64
	}{
		{"rod 1.2 m × 16 mm, 100 Ω·m: 13.263 × 5.397", ohms(b.Rod(100, 1.2, 0.016)), 71.58, 0.005},
		{"rod 1.2 m × 12.7 mm", ohms(b.Rod(100, 1.2, 0.0127)), 74.64, 0.005},
		{"rod 2.4 m × 16 mm", ohms(b.Rod(100, 2.4, 0.016)), 40.39, 0.005},
		{"rod 3.6 m × 16 mm", ohms(b.Rod(100, 3.6, 0.016)), 28.72, 0.005},
		{"two rods 3 m apart", ohms(b.ParallelRods(100, 2.4, 0.016, 3, 2, InLine)), 22.85, 0.005},
		{"three rods in line", ohms(b.ParallelRods(100, 2.4, 0.016, 3, 3, InLine)), 16.40, 0.005},
		{"four rods in line", ohms(b.ParallelRods(100, 2.4, 0.016, 3, 4, InLine)), 12.95, 0.005},
		{"strip 25 mm × 10 m at 0.6 m", ohms(b.Tape(100, 10, 0.025, 0.6)), 13.52, 0.005},
		{"round 10 mm × 10 m at 0.6 m", ohms(b.RoundTape(100, 10, 0.010, 0.6)), 14.51, 0.005},
		{"plate 0.9 m × 0.9 m", ohms(b.Plate(100, 0.81)), 49.23, 0.005},
		{"electrode of 350 Ω, rod 1.2 m × 9 mm: the soil is 442 Ω·m", ohms(b.Rod(442, 1.2, 0.009)), 350, 350 * 0.03},
		{"a second like rod 2.4 m away", ohms(b.ParallelRods(442, 1.2, 0.009, 2.4, 2, InLine)), 190, 190 * 0.03},
		{"one rod 2.4 m × 16 mm instead", ohms(b.Rod(442, 2.4, 0.016)), 178, 178 * 0.03},
		{"two of those 4.8 m apart", ohms(b.ParallelRods(442, 2.4, 0.016, 4.8, 2, InLine)), 97, 97 * 0.03},
		{"rod 1.0 m × 16 mm, 100 Ω·m", ohms(b.Rod(100, 1, 0.016)), 83, 0.5},
		{"share of a rod's voltage at 2 m", 100 * value[float64](t)(b.MutualShare(1.2, 0.016, 2)), 10.5, 0.05},
		{"BS 7430, earth tester handbooks: by spikes at 61.8 % a rod far away reads itself (rod 1.2 m, spikes at 200 m)", 100 * value[float64](t)(b.FallOfPotential(1.2, 0.016, 200, 123.6)), 100, 0.1},
		{"BS 7430: ten lengths away it still does, within the 5 % that three readings may differ by", 100 * value[float64](t)(b.FallOfPotential(1.2, 0.016, 12, 7.416)), 100, 2.5},
		{"share at 2.5 m", 100 * value[float64](t)(b.MutualShare(1.2, 0.016, 2.5)), 8.6, 0.05},
		{"share at 3.6 m", 100 * value[float64](t)(b.MutualShare(1.2, 0.016, 3.6)), 6.1, 0.05},
		{"a backfill like the soil changes nothing", ohms(b.RodInBackfill(100, 100, 1.2, 0.016, 0.2)), 71.58, 0.005},
		{"a triangle 1000 rods wide is three rods on their own", ohms(b.RodTriangle(100, 1.2, 0.016, 1200)), 71.58 / 3, 0.02},
	} {
		if !(math.Abs(tt.got-tt.want) <= tt.within) {
			t.Errorf("%s: got %v, want %v", tt.source, tt.got, tt.want)
		}
	}
	if _, _, err := b.ParallelRods(100, 2.4, 0.016, 1, 2, InLine); err == nil {
		t.Error("rods nearer than their length were accepted")
	}
	for _, bad := range []quantity.Metres{0, -1, quantity.Metres(math.NaN()), quantity.Metres(math.Inf(1))} {
		if r, _, err := b.Rod(100, bad, 0.016); err == nil {
			t.Errorf("Rod of length %v = %v, want an error", float64(bad), r)
		}
	}
	if r, _, err := b.Rod(100, 0.001, 0.016); err == nil {
		t.Errorf("a rod shorter than it is thick = %v, want an error", r)
	}
}

// R1+R2 at 20 °C, in mΩ/m, by line and cpc, as IET On-Site Guide Table I1 has
// them and a textbook (Guide to the Wiring Regulations, 17th edition, Appendix
// 4) prints them. The guide's other nine pairs are sums nobody could see in
// print, and are left out.
func TestOnSiteGuideTableI1(t *testing.T) {
	b := open(t)
	for _, tt := range []struct {
		line, cpc quantity.SquareMillimetres
		want      float64
	}{
		{1, 1, 36.20}, {1.5, 1, 30.20}, {1.5, 1.5, 24.20}, {2.5, 1.5, 19.51}, {2.5, 2.5, 14.82},
		{4, 1.5, 16.71}, {4, 4, 9.22}, {6, 2.5, 10.49}, {6, 6, 6.16}, {10, 4, 6.44}, {10, 10, 3.66},
		{16, 6, 4.23}, {16, 16, 2.30}, {25, 25, 1.454}, {35, 35, 1.048},
	} {
		r1, _, err1 := b.Resistance(Copper, Stranded, tt.line)
		r2, _, err2 := b.Resistance(Copper, Stranded, tt.cpc)
		if got := 1000 * float64(r1+r2); err1 != nil || err2 != nil || math.Abs(got-tt.want) > 1e-9 {
			t.Errorf("%v/%v: %v mΩ/m, want %v", tt.line, tt.cpc, got, tt.want)
		}
	}
}
