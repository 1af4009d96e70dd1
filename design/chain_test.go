package design

import (
	"strings"
	"testing"

	"chargewright/finding"
	"chargewright/job"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/trade"
	"chargewright/works"
)

func unsaid[Q any]() quantity.Maybe[Q] { return quantity.Maybe[Q]{} }

// sub puts the point behind a second board, fed by a circuit of its own.
func sub(edit func(j *job.Job, feeder *works.Circuit)) func(*job.Job) {
	return func(j *job.Job) {
		j.Boards = append(j.Boards, works.Board{Name: "garage", Phases: known(1), AllLoads: known(true), Rated: known(quantity.Amperes(63)), DiversityFactor: known(1.0), ShortCircuitRating: known(quantity.Amperes(6000))})
		ev(j).From = "garage"
		feeder := *ev(j)
		feeder.Name, feeder.From, feeder.To = "garage feeder", "consumer unit", "garage"
		feeder.Device.Rating, feeder.Device.Type, feeder.RCD = known(quantity.Amperes(63)), known(standard.FuseGG), works.RCD{}
		feeder.Cable.CSA = known(quantity.SquareMillimetres(16))
		j.Circuits = append(j.Circuits, feeder)
		edit(j, &j.Circuits[2])
	}
}

// behind puts an RCD into the feeder of the second board.
func behind(r works.RCD) func(*job.Job) {
	return sub(func(_ *job.Job, feeder *works.Circuit) { feeder.RCD = r })
}

func residual(t trade.RCDType, milliamperes float64, delayed quantity.Maybe[bool]) works.RCD {
	return works.RCD{Type: known(t), Residual: known(quantity.Amperes(milliamperes / 1000)), Rating: known(quantity.Amperes(63)), Delayed: delayed, Poles: known(trade.AllLive)}
}

func (fs findings) has(key, subject string) (finding.Finding, bool) {
	for _, f := range fs {
		if f.Key == key && (subject == "" || strings.Contains(f.Subject, subject)) {
			return f, true
		}
	}
	return finding.Finding{}, false
}

// TestJustInsideAndJustOutside holds each requirement of the chain to a value on
// either side of its limit, and to the fact that is not said.
func TestJustInsideAndJustOutside(t *testing.T) {
	amps := func(a float64) quantity.Maybe[quantity.Amperes] { return known(quantity.Amperes(a)) }
	mm2 := func(a float64) quantity.Maybe[quantity.SquareMillimetres] {
		return known(quantity.SquareMillimetres(a))
	}
	metres := func(a float64) quantity.Maybe[quantity.Metres] { return known(quantity.Metres(a)) }
	const meets, fails, judge, open = finding.Meets, finding.Fails, finding.JudgeOnSite, finding.NotKnown
	yes, no := known(true), known(false)
	tails := func(csa float64, m standard.Method, fuse float64) func(*job.Job) {
		return func(j *job.Job) {
			j.Supply.Tails.CSA, j.Supply.Tails.Method, j.Supply.CutOut.Rating = mm2(csa), known(m), amps(fuse)
		}
	}
	mainSwitch := func(rating float64) func(*job.Job) {
		return func(j *job.Job) { j.Boards[0].MainSwitch.Rating = amps(rating) }
	}
	poles := func(n, phases int, system trade.EarthingSystem) func(*job.Job) {
		return func(j *job.Job) {
			j.Boards[0].MainSwitch.Poles, j.Supply.Phases, j.Supply.Earthing = known(n), known(phases), known(system)
		}
	}
	outlet := func(rating, power, device, most float64) func(*job.Job) {
		return func(j *job.Job) {
			cp(j).OutletRated, cp(j).Power, cp(j).GreatestDevice = amps(rating), known(quantity.Watts(power)), amps(most)
			ev(j).Device.Rating, ev(j).Device.Type = amps(device), known(standard.RCBOC)
		}
	}
	separate := func(csa float64, m standard.Method) func(*job.Job) {
		return func(j *job.Job) {
			ev(j).Cable.CPC, ev(j).Cable.CPCCSA, ev(j).Legs[0].Method = known(trade.CPCSeparate), mm2(csa), known(m)
			ev(j).Cable.CPCMaterial = known(standard.Copper)
		}
	}
	leaks := func(milliamperes, csa float64) func(*job.Job) {
		return func(j *job.Job) {
			cp(j).Leakage, ev(j).Cable.CSA = amps(milliamperes/1000), mm2(csa)
		}
	}
	hidden := func(at quantity.Maybe[quantity.Metres], r works.RCD) func(*job.Job) {
		return func(j *job.Job) {
			ev(j).Cable.Construction, ev(j).RCD, ev(j).Legs[0].InWall = known(standard.FlatTwin), r, at
			cp(j).BuiltInRCD = residual(trade.TypeA, 30, no)
		}
	}
	ground := func(csa float64, cover quantity.Maybe[trade.Cover]) func(*job.Job) {
		return func(j *job.Job) {
			j.Supply.Earthing, j.Supply.Ze.Value = known(trade.TT), known(quantity.Ohms(80))
			j.Supply.EarthingConductor = works.ProtectiveRun{CSA: mm2(csa), Buried: yes, Cover: cover, Connected: yes}
		}
	}
	pme := func(csa, neutral float64, csaOfTails float64) func(*job.Job) {
		return func(j *job.Job) {
			j.Supply.EarthingConductor.CSA, j.Supply.ServiceNeutral, j.Supply.Tails.CSA = mm2(csa), mm2(neutral), mm2(csaOfTails)
		}
	}
	bonded := func(csa, earthing float64) func(*job.Job) {
		return func(j *job.Job) {
			j.Supply.Earthing, j.Supply.EarthingConductor.CSA, j.Supply.Bonding[0].CSA = known(trade.TNS), mm2(earthing), mm2(csa)
		}
	}
	neutral := func(phases trade.PhaseSet, csa, smaller float64) func(*job.Job) {
		return func(j *job.Job) {
			ev(j).Phases, ev(j).Cable.CSA, ev(j).Cable.NeutralCSA = known(phases), mm2(csa), mm2(smaller)
			if n := known(phases.Count()); phases == trade.ThreePhase {
				j.Supply.Phases, j.Boards[0].Phases, cp(j).Phases = n, n, n
			}
		}
	}
	for _, tt := range []struct {
		source  string
		edit    func(*job.Job)
		key, of string
		want    finding.Verdict
	}{
		// Every RCD ahead of the point. Trade press on RCDs in series; 531.3.3.
		{"531.3.3: Type AC ahead of one point", behind(residual(trade.TypeAC, 100, yes)), "RCD upstream", "garage feeder", fails},
		{"531.3.3: Type A ahead of one point with 6 mA detection: 6 mA of 6 mA", behind(residual(trade.TypeA, 100, yes)), "RCD upstream", "garage feeder", meets},
		{"531.3.3: Type A ahead of one point without detection", sub(func(j *job.Job, c *works.Circuit) {
			c.RCD = residual(trade.TypeA, 100, yes)
			cp(j).DCDetection, ev(j).RCD.Type = no, known(trade.TypeB)
		}), "RCD upstream", "garage feeder", fails},
		{"531.3.3: detection not said", sub(func(j *job.Job, c *works.Circuit) {
			c.RCD, cp(j).DCDetection = residual(trade.TypeA, 100, yes), unsaid[bool]()
		}), "RCD upstream", "garage feeder", open},
		{"531.3.3: an RCD in the point does not excuse a Type AC in the board", func(j *job.Job) {
			cp(j).BuiltInRCD, ev(j).RCD = residual(trade.TypeA, 30, no), residual(trade.TypeAC, 30, no)
		}, "RCD upstream", "EV", fails},
		{"531.3.3: a Type AC main switch", func(j *job.Job) { j.Boards[0].MainSwitch.RCD = residual(trade.TypeAC, 100, yes) }, "RCD upstream", "main switch", fails},
		{"536.4.1.4: 90 mA is not made; 100 mA with delay over 30 mA", behind(residual(trade.TypeA, 100, yes)), "RCD selectivity", "garage feeder", meets},
		{"536.4.1.4: 89 mA is less than 3 × 30 mA", behind(residual(trade.TypeA, 89, yes)), "RCD selectivity", "garage feeder", judge},
		{"536.4.1.4: without delay", behind(residual(trade.TypeA, 100, no)), "RCD selectivity", "garage feeder", judge},
		{"536.4.1.4: delay not said", behind(residual(trade.TypeA, 100, unsaid[bool]())), "RCD selectivity", "garage feeder", open},
		{"531.3.2: 9 mA behind 30 mA", func(j *job.Job) { cp(j).Leakage = amps(0.009) }, "leakage", "EV", meets},
		{"531.3.2: 9.1 mA behind 30 mA", func(j *job.Job) { cp(j).Leakage = amps(0.0091) }, "leakage", "EV", fails},
		{"531.3.2: other circuits behind it leak too", func(j *job.Job) { j.Boards[0].MainSwitch.RCD = residual(trade.TypeA, 100, yes) }, "leakage", "main switch", judge},
		{"536.4.3.2: RCCB of 63 A in a feeder of 63 A", behind(residual(trade.TypeA, 100, yes)), "RCD rating", "garage feeder", meets},
		{"536.4.3.2: RCCB of 40 A in a feeder of 63 A", sub(func(_ *job.Job, c *works.Circuit) {
			c.RCD = residual(trade.TypeA, 100, yes)
			c.RCD.Rating = amps(40)
		}), "RCD rating", "garage feeder", fails},
		{"536.4.3.2: RCCB without a rating", sub(func(_ *job.Job, c *works.Circuit) {
			c.RCD = residual(trade.TypeA, 100, yes)
			c.RCD.Rating = unsaid[quantity.Amperes]()
		}), "RCD rating", "garage feeder", open},
		{"531.3.1: lines only ahead, TN", sub(func(_ *job.Job, c *works.Circuit) {
			c.RCD = residual(trade.TypeA, 100, yes)
			c.RCD.Poles = known(trade.LinesOnly)
		}), "RCD poles ahead", "garage feeder", meets},
		{"531.3.1: lines only ahead, TT", sub(func(j *job.Job, c *works.Circuit) {
			c.RCD = residual(trade.TypeA, 100, yes)
			c.RCD.Poles, j.Supply.Earthing = known(trade.LinesOnly), known(trade.TT)
		}), "RCD poles ahead", "garage feeder", fails},
		{"415.1.1: 30 mA time-delayed", func(j *job.Job) { ev(j).RCD.Delayed = yes }, "RCD delay", "CP1", fails},
		{"415.1.1: delay not said", func(j *job.Job) { ev(j).RCD.Delayed = unsaid[bool]() }, "RCD delay", "CP1", open},

		// Switches, boards and the outlet.
		{"536.4.202: 80 A switch behind 80 A", mainSwitch(80), "main switch rating", "", meets},
		{"536.4.202: 63 A switch behind 80 A, devices of the board 64 A", mainSwitch(63), "main switch rating", "", fails},
		{"536.4.202: 64 A of devices and no others: a person confirms it", mainSwitch(64), "main switch rating", "", judge},
		{"536.4.202: 63 A switch with fuses of 63 A", func(j *job.Job) {
			j.Boards[0].MainSwitch.Rating, j.Boards[0].MainSwitch.Fuse = amps(63), amps(63)
		}, "main switch rating", "", meets},
		{"536.4.202: rating not said", func(j *job.Job) { j.Boards[0].MainSwitch.Rating = unsaid[quantity.Amperes]() }, "main switch rating", "", open},
		{"462.1.201: one pole, single-phase", poles(1, 1, trade.TNCS), "main switch poles", "", fails},
		{"462.1.201: two poles, single-phase", poles(2, 1, trade.TNCS), "main switch poles", "", meets},
		{"461.2: three poles, three-phase TN", poles(3, 3, trade.TNS), "main switch poles", "", meets},
		{"461.2: three poles, three-phase TT", poles(3, 3, trade.TT), "main switch poles", "", fails},
		{"461.2: four poles, three-phase TT", poles(4, 3, trade.TT), "main switch poles", "", meets},
		{"551.7.2: a board of 80 A behind 80 A", func(j *job.Job) { j.Boards[0].Rated = amps(80) }, "assembly rating", "", meets},
		{"551.7.2: a board of 63 A behind 80 A", func(j *job.Job) { j.Boards[0].Rated = amps(63) }, "assembly rating", "", fails},
		{"551.7.2: solar on site, and not where or what it gives", func(j *job.Job) { j.Supply.OtherSources = []string{"solar"} }, "assembly rating", "", open},
		{"BS EN 61439: sub-main of 40 A at 0.8 carries 32 A for hours", sub(func(j *job.Job, c *works.Circuit) {
			c.Device.Rating, j.Boards[0].DiversityFactor = amps(40), known(0.8)
		}), "continuous load", "garage feeder", meets},
		{"BS EN 61439: sub-main of 40 A at 0.79", sub(func(j *job.Job, c *works.Circuit) {
			c.Device.Rating, j.Boards[0].DiversityFactor = amps(40), known(0.79)
		}), "continuous load", "garage feeder", fails},
		{"536.4.202: isolator of 32 A on a device of 32 A", func(j *job.Job) { ev(j).Isolator = amps(32) }, "isolator rating", "EV", meets},
		{"536.4.202: isolator of 20 A on a device of 32 A", func(j *job.Job) { ev(j).Isolator = amps(20) }, "isolator rating", "EV", fails},
		{"536.4.202: isolator not said", func(j *job.Job) { ev(j).Isolator = unsaid[quantity.Amperes]() }, "isolator rating", "EV", open},
		{"512.1.2: socket of 16 A on C16", outlet(16, 3680, 16, 16), "outlet rating", "CP1", meets},
		{"512.1.2: socket of 16 A on C20", outlet(16, 3680, 20, 16), "outlet rating", "CP1", fails},
		{"512.1.2: socket of 16 A on C20, the maker allows 20 A", outlet(16, 3680, 20, 20), "outlet rating", "CP1", meets},
		{"512.1.2: socket of 16 A of a 32 A point", outlet(16, 7360, 32, 40), "outlet rating", "CP1", fails},

		// Tails, neutral. Table 4D1A: 16 mm² 87 A by C, 76 A by B; 25 mm² 114 A, 101 A.
		{"Table 4D1A: 16 mm² clipped, 80 A", tails(16, standard.MethodC, 80), "tails rating", "", meets},
		{"Table 4D1A: 16 mm² in trunking, 80 A", tails(16, standard.MethodB, 80), "tails rating", "", fails},
		{"Table 4D1A: 16 mm² clipped, 100 A", tails(16, standard.MethodC, 100), "tails rating", "", fails},
		{"Table 4D1A: 25 mm² in trunking, 100 A", tails(25, standard.MethodB, 100), "tails rating", "", meets},
		{"Table 4D1A: method not said", func(j *job.Job) { j.Supply.Tails.Method = unsaid[standard.Method]() }, "tails rating", "", open},
		{"operators, as an electricians' page has it: 3 m", func(j *job.Job) { j.Supply.Tails.Length = metres(3) }, "tails length", "", meets},
		{"operators: 3.1 m", func(j *job.Job) { j.Supply.Tails.Length = metres(3.1) }, "tails length", "", judge},
		{"524.2: neutral of 4 mm² beside 6 mm²", neutral(trade.L1, 6, 4), "neutral size", "EV", fails},
		{"524.2: neutral as large", neutral(trade.L1, 6, 6), "neutral size", "EV", meets},
		{"524.2: three-phase, 16 mm²: no smaller", neutral(trade.ThreePhase, 16, 10), "neutral size", "EV", fails},
		{"524.2: three-phase, 25 mm²: under conditions", neutral(trade.ThreePhase, 25, 16), "neutral size", "EV", judge},

		// Protective conductors.
		{"542.3.1, Table 54.7: 16 mm² for tails of 25 mm²; Table 54.8: 10 mm²", pme(16, 25, 25), "earthing conductor", "", meets},
		{"543.1.3: 230 V × 0.95 over 0.20 Ω for the time of an 80 A fuse asks less than 10 mm²: computed, 10 mm² meets", pme(10, 25, 25), "earthing conductor", "", meets},
		{"544.1.1, Table 54.8: 6 mm² on PME is under 10 mm², whatever is computed", pme(6, 25, 25), "earthing conductor", "", fails},
		{"544.1.1, Table 54.8: neutral above 35 mm² asks 16 mm²", pme(10, 50, 25), "earthing conductor", "", fails},
		{"Table 54.1: 16 mm² sheathed in the ground", ground(16, known(trade.Sheathed)), "earthing conductor", "supply", meets},
		{"Table 54.1: 10 mm² sheathed in the ground", ground(10, known(trade.Sheathed)), "earthing conductor", "supply", fails},
		{"Table 54.1: 16 mm² bare in the ground", ground(16, known(trade.Bare)), "earthing conductor", "supply", fails},
		{"Table 54.1: 25 mm² bare in the ground", ground(25, known(trade.Bare)), "earthing conductor", "supply", meets},
		{"Table 54.1: 6 mm² sheathed and protected", ground(6, known(trade.SheathedProtected)), "earthing conductor", "supply", meets},
		{"Table 54.1: protection not said", ground(25, unsaid[trade.Cover]()), "earthing conductor", "supply", open},
		{"643.2.1: earthing conductor found loose", func(j *job.Job) { j.Supply.EarthingConductor.Connected = no }, "earthing conductor connected", "", fails},
		{"643.2.1: not said", func(j *job.Job) { j.Supply.EarthingConductor.Connected = unsaid[bool]() }, "earthing conductor connected", "", open},
		{"544.1.1: bonding not said to be connected", func(j *job.Job) { j.Supply.Bonding[0].Connected = unsaid[bool]() }, "main bonding", "water", open},
		{"544.1.1: TN-S, half of the 16 mm² required though 25 mm² is fitted", bonded(10, 25), "main bonding", "water", meets},
		{"544.1.1: TN-S, 4 mm²", bonded(4, 16), "main bonding", "water", fails},
		{"543.1.1: separate cpc of 4 mm², clipped", separate(4, standard.MethodC), "separate cpc", "EV", meets},
		{"543.1.1: separate cpc of 2.5 mm², clipped", separate(2.5, standard.MethodC), "separate cpc", "EV", fails},
		{"543.1.1: separate cpc of 2.5 mm² in conduit", separate(2.5, standard.MethodB), "separate cpc", "EV", meets},
		{"543.1.1: separate cpc of 1.5 mm² in conduit", separate(1.5, standard.MethodB), "separate cpc", "EV", fails},
		{"543.7.1: 10 mA", leaks(10, 6), "protective conductor current", "EV", meets},
		{"543.7.1: 10.1 mA in 6 mm²", leaks(10.1, 6), "protective conductor current", "EV", fails},
		{"543.7.1: 10.1 mA in 10 mm²", leaks(10.1, 10), "protective conductor current", "EV", meets},

		// 522.6.202; an RCD in the point is behind the cable.
		{"522.6.202: 49 mm, RCD in the point only", hidden(metres(0.049), works.RCD{}), "cable in wall", "EV", fails},
		{"522.6.202: 50 mm, RCD in the point only", hidden(metres(0.05), works.RCD{}), "cable in wall", "EV", meets},
		{"522.6.202: on the surface", hidden(metres(0), works.RCD{}), "cable in wall", "EV", meets},
		{"522.6.202: depth not said", hidden(unsaid[quantity.Metres](), works.RCD{}), "cable in wall", "EV", open},
		{"522.6.202: 30 mA at the board", hidden(metres(0.02), residual(trade.TypeA, 30, no)), "cable in wall", "EV", meets},
		{"522.6.202: 100 mA at the board", hidden(metres(0.02), residual(trade.TypeA, 100, no)), "cable in wall", "EV", fails},
		{"a trade forum: armour on PME earth brought to a rod", func(j *job.Job) { cp(j).Earthing.Measure = known(trade.SeparateElectrode) }, "armour to electrode", "CP1", judge},
	} {
		t.Run(tt.source, func(t *testing.T) {
			f, ok := checked(t, tt.edit).has(tt.key, tt.of)
			if !ok {
				t.Fatalf("%q is not asked", tt.key)
			}
			if f.Verdict != tt.want {
				t.Errorf("%s of %s is %q (%s; has %v, limit %v), want %q", f.Key, f.Subject, f.Verdict, f.Why, f.Value, f.Limit, tt.want)
			}
			if f.Verdict != meets && f.Next == "" {
				t.Error("says nothing to do next")
			}
			for _, l := range f.Lacks {
				if l.Path == "" {
					t.Errorf("%s lacks %s, and nothing says where that is entered", f.Key, l)
				}
			}
		})
	}
}
