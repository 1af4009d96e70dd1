package design

import (
	"slices"
	"testing"

	"chargewright/finding"
	"chargewright/job"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/trade"
	"chargewright/works"
)

const (
	meets_ = finding.Meets
	open_  = finding.NotKnown
	judge_ = finding.JudgeOnSite
	fails_ = finding.Fails
)

// TestContradictions plants one contradiction in the house and, beside it, the
// nearest record that is none. What rests on it is not known, or the record
// asks back; both places are named.
func TestContradictions(t *testing.T) {
	type facts = func(*job.Job)
	three := func(j *job.Job) { // the whole house on three phases
		j.Supply.Phases, j.Boards[0].Phases = known(3), known(3)
		j.Supply.Ipf.Value = known[quantity.Amperes](2300)
	}
	together := func(n int, name string, method standard.Method) facts {
		return func(j *job.Job) {
			leg := ev(j).Legs[0]
			leg.Name, leg.Method, leg.Together = name, known(method), known(n)
			leg.Arrangement = known(standard.Bunched)
			j.Circuits[0].Legs = []works.Leg{leg}
		}
	}
	for _, tt := range []struct {
		source          string
		with            facts
		agree           string // key of the finding that says so; empty where there is none
		rests, on       string // a finding that rests on it, and its subject
		verdict, within finding.Verdict
		path            string // one of those that are named
		without         facts  // just beside it
	}{
		{"a point of three phases on one line (arithmetic: 3 lines are not 1)", func(j *job.Job) { cp(j).Phases = known(3) },
			"agree phases", "cable rating", "EV", open_, meets_, "points/CP1/phases", nil},
		{"one of the supply's phases: a board of three at a supply of one", func(j *job.Job) { j.Boards[0].Phases = known(3) },
			"agree phases", "supply demand", "supply", open_, meets_, "supply/phases", nil},
		{"2 cores with one as cpc: line, neutral and cpc take 3", func(j *job.Job) { ev(j).Cable.Cores = known(2) },
			"agree cores", "disconnection", "EV", open_, meets_, "circuits/EV/cable/cpc", func(j *job.Job) { ev(j).Cable.Cores = known(3) }},
		{"2 cores with the armour as cpc: line and neutral take 2", func(j *job.Job) { ev(j).Cable.Cores = known(1); ev(j).Cable.CPC = known(trade.CPCArmour) },
			"agree cores", "cable rating", "EV", open_, meets_, "circuits/EV/phases",
			func(j *job.Job) { ev(j).Cable.Cores = known(2); ev(j).Cable.CPC = known(trade.CPCArmour) }},
		{"3 cores on three phases: three lines and neutral take 4, and a cpc the fifth", func(j *job.Job) {
			three(j)
			ev(j).Phases, cp(j).Phases, cp(j).Power = known(trade.ThreePhase), known(3), known[quantity.Watts](22080)
		}, "agree cores", "cable rating", "EV", open_, meets_, "circuits/EV/cable/cores", func(j *job.Job) {
			three(j)
			ev(j).Phases, cp(j).Phases, cp(j).Power, ev(j).Cable.Cores = known(trade.ThreePhase), known(3), known[quantity.Watts](22080), known(5)
		}},
		{"ESQCR 2002 reg 27: 230 V + 10 %", func(j *job.Job) { j.Supply.Voltage = known[quantity.Volts](254) },
			"agree voltage", "volt drop", "EV", open_, meets_, "supply/voltage", func(j *job.Job) { j.Supply.Voltage = known[quantity.Volts](253) }},
		{"Ipf ≥ U0/Ze: 230 V / 0.23 Ω × 0.9 is 900 A", func(j *job.Job) { j.Supply.Ipf.Value = known[quantity.Amperes](899) },
			"agree fault current", "disconnection", "EV", open_, meets_, "supply/Ipf",
			func(j *job.Job) { j.Supply.Ipf.Value = known[quantity.Amperes](901) }},
		{"three lines together: 1.2 × 230 V / 0.2 Ω is 1380 A", func(j *job.Job) { three(j); j.Supply.Ipf.Value = known[quantity.Amperes](1370) },
			"agree fault current", "breaking capacity", "EV", open_, meets_, "supply/Ze",
			func(j *job.Job) { three(j); j.Supply.Ipf.Value = known[quantity.Amperes](1390) }},
		{"Im below Ir", func(j *job.Job) {
			ev(j).Device.Type, ev(j).Device.LongSetting, ev(j).Device.ShortSetting = known(standard.MCCB), known[quantity.Amperes](32), known[quantity.Amperes](31)
		}, "agree settings", "cable rating", "EV", open_, meets_, "circuits/EV/device/short-time setting", func(j *job.Job) {
			ev(j).Device.Type, ev(j).Device.LongSetting, ev(j).Device.ShortSetting = known(standard.MCCB), known[quantity.Amperes](32), known[quantity.Amperes](160)
		}},
		{"Ir above the frame", func(j *job.Job) {
			ev(j).Device.Type, ev(j).Device.LongSetting = known(standard.MCCB), known[quantity.Amperes](33)
		}, "agree settings", "cable rating", "EV", open_, meets_, "circuits/EV/device/rating", func(j *job.Job) {
			ev(j).Device.Type, ev(j).Device.LongSetting = known(standard.MCCB), known[quantity.Amperes](32)
		}},
		{"BS EN 61009: no settings", func(j *job.Job) { ev(j).Device.LongSetting = known[quantity.Amperes](32) },
			"agree settings", "design current", "EV", open_, meets_, "circuits/EV/device/type", nil},
		{"BS 7671 Table 4C1: circuits on a wall are not in ducts", func(j *job.Job) {
			ev(j).Legs[0].Together, ev(j).Legs[0].Arrangement = known(2), known(standard.DuctsTouching)
		}, "agree method", "cable rating", "EV", open_, meets_, "circuits/EV/legs/side wall/arrangement", func(j *job.Job) {
			ev(j).Legs[0].Together, ev(j).Legs[0].Arrangement = known(2), known(standard.SingleLayerWall)
		}},
		{"Method C is not in the ground", func(j *job.Job) { ev(j).Legs[0].Depth = known[quantity.Metres](0.6) },
			"agree method", "cable rating", "EV", open_, meets_, "circuits/EV/legs/side wall/depth", nil},
		{"two circuits through one place, one said to be alone", together(1, "side wall", standard.MethodC),
			"agree together", "cable rating", "EV", open_, meets_, "circuits/kitchen ring/legs/side wall/circuits together", together(1, "kitchen wall", standard.MethodC)},
		{"a stretch of 501 m", func(j *job.Job) { ev(j).Legs[0].Length = known[quantity.Metres](501) },
			"agree length", "agree length", "EV", judge_, meets_, "", func(j *job.Job) { ev(j).Legs[0].Length = known[quantity.Metres](25) }},
		{"a line that a supply of one phase has not", func(j *job.Job) { ev(j).Phases = known(trade.L2) },
			"agree lines", "agree lines", "EV", judge_, meets_, "", nil},
		{"a circuit that was there before: a spur from a ring looks the same on paper (common practice, no source)",
			func(j *job.Job) { ev(j).Existing = true }, "", "dedicated circuit", "CP1", judge_, meets_, "", nil},
		{"a reading of Ze against the one measured: 0.20 × 1.15 + 0.03 Ω is 0.26 Ω", reads("Ze", "supply", "0.27 Ω"),
			"agree Ze read", "disconnection", "EV", open_, meets_, "readings/1/value", reads("Ze", "supply", "0.25 Ω")},
		{"a circuit with no beginning", func(j *job.Job) { ev(j).From = "" }, "", "volt drop", "EV", open_, meets_, "", nil},
	} {
		t.Run(tt.source, func(t *testing.T) {
			fs := checked(t, tt.with)
			if tt.agree != "" {
				f := fs.about(t, tt.agree, "")
				if f.Verdict == finding.Meets || f.Next == "" || f.Why == nil {
					t.Errorf("%s is %v, next %q", tt.agree, f.Verdict, f.Next)
				}
				if tt.path != "" && !slices.ContainsFunc(f.Lacks, func(l finding.Lack) bool { return slices.Contains(l.Paths(), tt.path) }) {
					t.Errorf("%s does not name %s: %v", tt.agree, tt.path, f.Lacks)
				}
			}
			if f := fs.about(t, tt.rests, tt.on); f.Verdict != tt.verdict {
				t.Errorf("%s is %v on facts that contradict each other: %v", tt.rests, f.Verdict, f.Why)
			}
			for _, f := range checked(t, tt.without) {
				if f.Key == tt.agree {
					t.Errorf("beside it, %s: %v", f.Key, f.Why)
				}
				if f.Key == tt.rests && f.Subject == fs.about(t, tt.rests, tt.on).Subject && f.Verdict != tt.within {
					t.Errorf("beside it, %s is %v: %v", tt.rests, f.Verdict, f.Why)
				}
			}
		})
	}
}

// reads adds a reading to a job.
func reads(kind, at, value string) func(*job.Job) {
	return func(j *job.Job) { j.Readings = append(j.Readings, works.Reading{At: at, Reading: kind, Value: value}) }
}

// TestAReadingAnswersTheDesign: what was measured need not be entered twice.
func TestAReadingAnswersTheDesign(t *testing.T) {
	without := func(j *job.Job) { j.Supply.Ze = works.Stated[quantity.Ohms]{} }
	wants(t, "no Ze", checked(t, without).about(t, "disconnection", "EV"), open_, none, none, 0)
	read := checked(t, func(j *job.Job) { without(j); reads("Ze", "supply", "0.20 Ω")(j) })
	entered := checked(t, nil).about(t, "disconnection", "EV")
	wants(t, "Ze as read", read.about(t, "disconnection", "EV"), meets_, entered.Value.Number, entered.Limit.Number, 1e-9)
	if f := read.about(t, "supply Ze", "supply"); f.Verdict != finding.Meets || f.Why.String() != "as read" {
		t.Errorf("supply Ze is %v: %v", f.Verdict, f.Why)
	}
	rod := func(r string) func(*job.Job) {
		return func(j *job.Job) {
			j.Supply.Earthing, j.Supply.Ze, j.Supply.Electrode = known(trade.TT), works.Stated[quantity.Ohms]{}, "rod"
			j.Electrodes = []works.Electrode{{Name: "rod"}}
			reads("RA", "rod", r)(j)
		}
	}
	wants(t, "RA as read", checked(t, rod("83 Ω")).about(t, "disconnection", "EV"), meets_, none, none, 0)
	wants(t, "an electrode of 1 Ω can be", checked(t, rod("1 Ω")).about(t, "disconnection", "EV"), meets_, none, none, 0)
	low := checked(t, rod("0.2 Ω"))
	wants(t, "an electrode of 0.2 Ω is none", low.about(t, "disconnection", "EV"), open_, none, none, 0)
	wants(t, "an electrode of 0.2 Ω is none", low.about(t, "agree electrode", "rod"), open_, none, none, 0)
	wants(t, "a TT loop of 0.2 Ω is none", checked(t, func(j *job.Job) { j.Supply.Earthing = known(trade.TT) }).about(t, "disconnection", "EV"), open_, none, none, 0)
}

// TestTablesWithinTheirConditions holds a verdict to the rows it is read from.
func TestTablesWithinTheirConditions(t *testing.T) {
	leg := func(j *job.Job) *works.Leg { return &ev(j).Legs[0] }
	cable := func(c standard.Construction, i standard.Insulation, m standard.Material, csa quantity.SquareMillimetres) func(*job.Job) {
		return func(j *job.Job) {
			ev(j).Cable.Construction, ev(j).Cable.Insulation, ev(j).Cable.Material, ev(j).Cable.CSA = known(c), known(i), known(m), known(csa)
		}
	}
	buried := func(depth quantity.Metres, m standard.Method) func(*job.Job) {
		return func(j *job.Job) {
			leg(j).Method, leg(j).Depth, leg(j).Soil, leg(j).Ambient = known(m), known(depth), known[quantity.KelvinMetresPerWatt](2.5), known[quantity.Celsius](20)
			leg(j).Surrounded = quantity.Maybe[quantity.Metres]{}
		}
	}
	twin := func(m standard.Method, around float64) func(*job.Job) {
		return func(j *job.Job) {
			cable(standard.FlatTwin, standard.Thermoplastic70, standard.Copper, 16)(j)
			ev(j).Cable.CPC, ev(j).Cable.Cores = quantity.Maybe[trade.CPC]{}, quantity.Maybe[int]{}
			leg(j).Method, leg(j).Surrounded = known(m), known(quantity.Metres(around))
		}
	}
	for _, tt := range []struct {
		source string
		key    string
		edit   func(*job.Job)
		want   finding.Verdict
	}{
		{"aluminium singles, 16 mm², method C, 70 °C: 66 A (IEC 60364-5-52 B.52.2)", "cable rating",
			func(j *job.Job) { cable(standard.Multicore, standard.Thermoplastic70, standard.Aluminium, 16)(j) }, meets_},
		{"aluminium armoured, 16 mm²: an estimate, for a person to hold against the maker's figure", "cable rating",
			cable(standard.Armoured, standard.Thermosetting90, standard.Aluminium, 16), judge_},
		{"aluminium armoured, 10 mm²: no row", "cable rating", cable(standard.Armoured, standard.Thermosetting90, standard.Aluminium, 10), open_},
		{"aluminium armoured, 10 mm²: no row", "volt drop", cable(standard.Armoured, standard.Thermosetting90, standard.Aluminium, 10), open_},
		{"aluminium armoured, 16 mm²: 4.9 mV/A/m", "volt drop", cable(standard.Armoured, standard.Thermosetting90, standard.Aluminium, 16), meets_},
		{"aluminium flat twin: no such table", "cable rating", cable(standard.FlatTwin, standard.Thermoplastic70, standard.Aluminium, 10), open_},
		{"BS 5467: armour of cables with copper cores alone", "disconnection", func(j *job.Job) {
			cable(standard.Armoured, standard.Thermosetting90, standard.Aluminium, 16)(j)
			ev(j).Cable.CPC = known(trade.CPCArmour)
		}, open_},
		{"material not said", "cable rating", func(j *job.Job) { ev(j).Cable.Material = quantity.Maybe[standard.Material]{} }, open_},
		{"material not said", "disconnection", func(j *job.Job) { ev(j).Cable.Material = quantity.Maybe[standard.Material]{} }, open_},
		{"insulation not said", "cable rating", func(j *job.Job) { ev(j).Cable.Insulation = quantity.Maybe[standard.Insulation]{} }, open_},
		{"thermal insulation around it not said", "cable rating", func(j *job.Job) { leg(j).Surrounded = quantity.Maybe[quantity.Metres]{} }, open_},
		{"BS 7671 Table 4B4: first row 0.5 m", "cable rating", buried(0.5, standard.MethodDBuried), meets_},
		{"BS 7671 Table 4B4: first row 0.5 m", "cable rating", buried(0.49, standard.MethodDBuried), open_},
		{"BS 7671 Table 4B4: last row 3 m", "cable rating", buried(3.01, standard.MethodDBuried), open_},
		{"BS 7671 522.8.10, 0.5 m by common practice", "burial", buried(0.5, standard.MethodDBuried), meets_},
		{"BS 7671 522.8.10, 0.5 m by common practice", "burial", buried(0.45, standard.MethodDDuct), judge_},
		{"BS 7671 522.8.10: without armour or duct", "burial", func(j *job.Job) {
			cable(standard.Multicore, standard.Thermosetting90, standard.Copper, 16)(j)
			buried(0.7, standard.MethodDBuried)(j)
		}, fails_},
		{"BS 7671 Table 4D5, 16 mm² by method 100: 57 A", "cable rating", twin(standard.Method100, 0), meets_},
		{"BS 7671 Table 4D5, method 100 touches the ceiling", "cable rating", twin(standard.Method100, 0.4), open_},
		{"BS 7671 Table 4D5, method 103 is surrounded: 43 A", "cable rating", twin(standard.Method103, 2), meets_},
		{"BS 7671 Table 4D5: no armoured cable by method 102", "cable rating", func(j *job.Job) { leg(j).Method = known(standard.Method102) }, open_},
	} {
		t.Run(tt.source+", "+tt.key, func(t *testing.T) {
			if f := checked(t, tt.edit).about(t, tt.key, "EV"); f.Verdict != tt.want {
				t.Errorf("%s is %v (%v), want %v", tt.key, f.Verdict, f.Why, tt.want)
			}
		})
	}
}
