package bench

import "math"

// Fault is one thing that can be wrong with a place, its instrument or the way
// it was read: a change to the place as it is.
type Fault struct {
	Name   string
	Is     []string // causes of the table of causes that name it; none where no list would
	Danger bool
	fits   func(*Site) bool
	make   func(*Site)
}

// Faults are those the bench knows that some list may have. None learned its size from the rates or
// the sizes that the inference uses.
var Faults = []Fault{
	// Joints of the point's run.
	{"line joint at the point", is("line joint"), true, nil, func(s *Site) { s.ohms["run L1"] += s.spread(0.08, 3) }},
	{"line joint in the sub-main", is("line joint"), true, sub, func(s *Site) { s.ohms["sub L1"] += s.spread(0.08, 3) }},
	{"line conductor broken", is("line broken"), true, nil, func(s *Site) { s.ohms["run L1"] = broken }},
	{"neutral joint at the point", is("neutral joint"), true, nil, func(s *Site) { s.ohms["run N"] += s.spread(0.08, 3) }},
	{"neutral joint in the sub-main", is("neutral joint"), true, sub, func(s *Site) { s.ohms["sub N"] += s.spread(0.08, 3) }},
	{"neutral conductor broken", is("neutral broken"), true, nil, func(s *Site) { s.ohms["run N"] = broken }},
	{"neutral of the sub-main broken", is("neutral broken"), true, sub, func(s *Site) { s.ohms["sub N"] = broken }},
	{"cpc joint at the point", is("cpc joint"), true, coreOnly, func(s *Site) { s.ohms["core E"] += s.spread(0.1, 5) }},
	{"poor gland of the armour", is("cpc joint"), true, armourOnly, func(s *Site) { s.ohms["armour E"] += s.spread(0.1, 5) }},
	{"poor gland of the sub-main", is("cpc joint"), true, sub, func(s *Site) { s.ohms["sub E"] += s.spread(0.1, 5) }},
	{"cpc broken", is("cpc broken"), true, coreOnly, func(s *Site) { s.ohms["core E"] = broken }},
	{"gland of the armour open", is("cpc broken", "gland open"), true, armourOnly, func(s *Site) { s.ohms["armour E"] = broken }},
	{"gland of the sub-main open", is("cpc broken", "gland open"), true, sub, func(s *Site) { s.ohms["sub E"] = broken }},
	{"cpc broken, metal beside it", is("cpc broken"), true, coreOnly,
		func(s *Site) { s.ohms["core E"] = broken; s.put[[2]string{"point.E", "ground"}] = s.spread(15, 80) }},
	{"armour open beside the core", is("armour open"), true, coreAndArmour, func(s *Site) { s.ohms["armour E"] = broken }},
	{"core of the cpc open beside the armour", is("cpc joint", "cpc broken", "core open"), true, coreAndArmour, func(s *Site) { s.ohms["core E"] = broken }},
	// Origin.
	{"main earthing terminal loose", is("main earth"), true, tn, func(s *Site) { s.ohms["terminal"] += s.spread(0.1, 5) }},
	{"earthing conductor loose", is("main earth"), true, tn, func(s *Site) { s.ohms["earthing conductor"] += s.spread(0.1, 5) }},
	{"earth terminal at the cut-out loose", is("earth terminal"), true, pme, func(s *Site) { s.ohms["cut-out link"] = s.spread(0.2, 4) }},
	{"service line joint", is("service line"), true, nil, func(s *Site) { s.ohms["service L1"] += s.spread(0.1, 1.5) }},
	{"PEN going high", is("pen"), true, pme, func(s *Site) { s.ohms["service N"] += s.spread(0.15, 3) }},
	{"PEN lost", is("pen"), true, pme, func(s *Site) { s.ohms["service N"] = broken }},
	{"service neutral joint", is("service neutral"), true, notPME, func(s *Site) { s.ohms["service N"] += s.spread(0.12, 3) }},
	{"service neutral lost", is("service neutral"), true, notPME, func(s *Site) { s.ohms["service N"] = broken }},
	{"supply sheath corroded", is("sheath"), true, tns, func(s *Site) { s.ohms["sheath"] += s.spread(0.6, 4) }},
	{"supply earth lost", is("no supply earth", "sheath"), true, tns, func(s *Site) { s.ohms["sheath"] = s.spread(15, 200) }},
	{"tail of the line loose", is("tail line", "service line"), true, nil, func(s *Site) { s.ohms["tails L1"] += s.spread(0.08, 1) }},
	{"tail of the neutral loose", is("tail neutral", "service neutral"), true, nil, func(s *Site) { s.ohms["tails N"] += s.spread(0.08, 1) }},
	{"neutral of the cut-out loose behind its earth", is("tail neutral"), true, pme, func(s *Site) { s.ohms["tails N"] += s.spread(0.15, 3) }},
	{"recorded as TN-S, is TN-C-S", is("other earthing system"), false, pme, func(s *Site) { s.odd["said TN-S"] = 1 }},
	{"recorded as TN-C-S, has only a rod", is("no supply earth", "other earthing system"), true, pme, func(s *Site) {
		s.ohms["cut-out link"] = broken
		s.put[[2]string{"cut.E", "ground"}] = s.spread(20, 150)
	}},
	{"recorded as TT, is TN", is("hidden path", "other earthing system"), false, tt, func(s *Site) { s.put[[2]string{"cut.E", "cut.N"}] = s.spread(0.01, 0.3) }},
	{"pipes beside the electrode", is("hidden path"), false, tt, func(s *Site) { s.put[[2]string{"cut.E", "ground"}] = s.spread(0.2, 3) }},
	{"electrode dry", is("dry electrode"), true, tt, func(s *Site) { s.ohms["rod"] *= s.spread(2, 8) }},
	{"electrode clamp open", is("dry electrode", "electrode open"), true, tt, func(s *Site) { s.ohms["rod"] = s.spread(2500, 1e5) }},
	// Other paths.
	{"point stands on bonded steel", is("parallel path"), false, tn, func(s *Site) { s.put[[2]string{"point.E", "met"}] = s.spread(0.02, 0.3) }},
	{"bonded steel hides a poor cpc", is("cpc joint", "parallel path"), true, func(s *Site) bool { return tn(s) && coreOnly(s) }, func(s *Site) {
		s.put[[2]string{"point.E", "met"}] = s.spread(0.05, 0.3)
		s.ohms["core E"] += s.spread(1, 5)
	}},
	// Instrument and person.
	{"leads not nulled", is("leads"), false, nil, func(s *Site) { s.meter.null, s.meter.nulled = s.uniform(0.06, 0.3), false }},
	{"nulled with a long lead left out", is("leads", "wrong null"), false, nil, func(s *Site) { s.meter.null = -s.uniform(0.06, 0.25) }},
	{"nulled through a poor clip", is("leads", "wrong null"), false, nil, func(s *Site) { s.meter.null = -s.uniform(0.2, 0.6) }},
	{"coil of the RCD in the no-trip test", is("no-trip"), false, nil, func(s *Site) { s.meter.coil = s.uniform(0.15, 0.6) }},
	{"fused leads on the loop test", is("fused leads"), false, nil, func(s *Site) { s.meter.fused = s.uniform(0.15, 0.6) }},
	{"continuity range out of calibration", is("meter gain"), false, nil, func(s *Site) { s.meter.lowGain *= one(s.rand, 0.8, 1.22, 1.3) }},
	{"loop range out of calibration", is("meter gain"), false, nil, func(s *Site) { s.meter.loopGain *= one(s.rand, 0.75, 1.25, 1.35) }},
	{"loop tested at the board, written for the point", is("other place", "slip"), false, longRun, func(s *Site) { s.misplaced = true }},
	{"decimal point slipped", is("slip"), false, nil, func(s *Site) { s.odd["slip ten"] = 1 }},
	{"digits turned", is("slip", "digits turned"), false, nil, func(s *Site) { s.odd["slip turned"] = 1 }},
	{"one reading with a poor probe", is("slip"), false, nil, func(s *Site) { s.odd["slip probe"] = s.spread(0.3, 4) }},
	{"two readings written in each other's place", is("slip", "other place"), false, unequal, func(s *Site) { s.odd["slip crossed"] = 1 }},
	{"insulation written in kilohms", is("slip", "wrong unit"), false, nil, func(s *Site) { s.odd["slip unit"] = 1 }},
	// Cable.
	{"neutral linked in place of the cpc", is("wrong link"), false, unequal, func(s *Site) { s.nolink = true }},
	{"cpc a size smaller", is("small cpc"), true, flat, func(s *Site) { s.ohms["core E"] *= one(s.rand, 1.56, 1.61) }},
	{"line and neutral a size smaller", is("small cores", "other csa"), true, nil, func(s *Site) { s.scale(1.55, "run L1", "run N") }},
	{"whole cable a size smaller", is("small cable", "small cores", "other csa"), true, coreOnly,
		func(s *Site) { s.scale(1.55, "run L1", "run L2", "run L3", "run N", "core E") }},
	{"whole cable a size larger", is("large cable", "shorter", "other csa"), false, coreOnly,
		func(s *Site) { s.scale(0.61, "run L1", "run L2", "run L3", "run N", "core E") }},
	{"run longer than recorded", is("longer"), false, nil, func(s *Site) { s.stretch(s.uniform(1.3, 2.2)) }},
	{"run shorter than recorded", is("shorter"), false, nil, func(s *Site) { s.stretch(s.uniform(0.4, 0.72)) }},
	{"aluminium", is("aluminium", "small cable", "small cores"), true, coreOnly, func(s *Site) { s.scale(1.64, "run L1", "run L2", "run L3", "run N", "core E") }},
	{"conductors warm from load or sun", is("warm"), false, nil, func(s *Site) { s.stretch(1 + 0.00393*s.uniform(25, 45)) }},
	// Neutral, earth and order.
	{"neutral joined to earth beyond the RCD", is("neutral to earth"), true, nil, func(s *Site) { s.put[[2]string{"point.N", "point.E"}] = s.spread(0.02, 0.4) }},
	{"line and neutral exchanged at the point", is("reversed at point"), true, onePhase, func(s *Site) { s.reversed = "point" }},
	{"line and neutral exchanged in the supply", is("reversed supply"), true, func(s *Site) bool { return s.Phases == 1 },
		func(s *Site) { s.reversed = "supply" }},
	{"neutral and earth exchanged at the point", is("neutral earth exchanged"), true, nil, func(s *Site) { s.swapped = true }},
	{"two lines exchanged", is("rotated"), false, threePhase, func(s *Site) { s.crossed = true }},
	// Outlet.
	{"contactor does not close", is("contactor"), false, nil, func(s *Site) { s.shut = false }},
	{"point opens its earth while dead", is("earth contact"), false, func(s *Site) bool { return !s.opens }, func(s *Site) { s.opens = true }},
	// Insulation.
	{"surge device left in", is("surge left"), false, func(s *Site) bool { return s.Surge }, func(s *Site) { s.surgeLeft = true }},
	{"electronics left in", is("electronics"), false, nil, func(s *Site) { s.pointLeft = true }},
	{"neutral not lifted", is("neutral left", "other circuits"), false, nil, func(s *Site) { s.neutralLeft = true }},
	{"lamp or load left in", is("load left"), false, nil, func(s *Site) { s.lampLeft = true }},
	{"moisture in a gland", is("moisture"), true, nil, func(s *Site) { s.moist = s.spread(5e4, 8e6) }},
	{"line touches earth", is("damage"), true, nil, func(s *Site) { s.put[[2]string{"point.L1", "point.E"}] = s.spread(2, 2e4) }},
	{"line touches neutral", is("damage", "damage between live"), true, nil, func(s *Site) { s.put[[2]string{"point.L1", "point.N"}] = s.spread(500, 2e4) }},
	// Residual current.
	{"standing leakage", is("leakage"), false, nil, func(s *Site) { s.standing += s.uniform(0.006, 0.013) }},
	{"core held by direct current", is("blinded"), true, nil, func(s *Site) { s.held, s.slow = s.uniform(1.25, 1.9), s.spread(5, 40) }},
	{"RCD dead", is("RCD dead"), true, nil, func(s *Site) { s.trip, s.button = 0, false }},
	{"RCD slow", is("RCD slow", "blinded"), true, nil, func(s *Site) { s.slow = s.spread(11, 20) }},
	{"RCD trips early", is("RCD early", "leakage"), false, nil, func(s *Site) { s.trip = s.uniform(0.006, 0.012) }},
	{"test button dead", is("button dead"), false, nil, func(s *Site) { s.button = false }},
	{"6 mA device dead", is("direct dead"), true, nil, func(s *Site) { s.dc = 0 }},
	{"6 mA device late", is("direct dead", "direct late"), true, nil, func(s *Site) { s.dc = s.uniform(0.0075, 0.02) }},
	{"6 mA device early", is("direct early"), false, nil, func(s *Site) { s.dc = s.uniform(0.0008, 0.0022) }},
	// Pilot and setting.
	{"pilot open", is("pilot open"), false, nil, func(s *Site) { s.pilot.open = true }},
	{"pilot joined to earth", is("pilot short"), false, nil, func(s *Site) { s.pilot.shorted = true }},
	{"second resistor not switched", is("pilot switch"), false, nil, func(s *Site) { s.pilot.noSwitch = true }},
	{"no diode behind the pilot", is("pilot diode"), true, nil, func(s *Site) { s.pilot.noDiode = true }},
	{"pilot leaks to earth", is("pilot leak"), false, nil, func(s *Site) { s.pilot.leak = s.spread(600, 8000) }},
	{"point set above the record", is("wrong setting", "set above"), true, nil, func(s *Site) { s.setting = s.uniform(1.15, 1.5) }},
	{"point set below the record", is("wrong setting"), false, nil, func(s *Site) { s.setting = s.uniform(0.25, 0.8) }},
	// Clamp of a limiter.
	{"clamp turned", is("clamp reversed"), true, nil, func(s *Site) { s.clamp = -1 }},
	{"clamp on another phase's voltage", is("clamp phase"), true, threePhase, func(s *Site) { s.clamp = complex(math.Cos(2*math.Pi/3), 0) }},
	{"clamp elsewhere", is("clamp elsewhere"), true, nil, func(s *Site) { s.clamp = 0 }},
	{"clamp ratio halved", is("clamp ratio"), true, nil, func(s *Site) { s.clamp = complex(one(s.rand, 0.5, 0.4, 0.67), 0) }},
	// Supply voltage.
	{"transformer tap high", is("tap high"), false, nil, func(s *Site) { s.volts = s.uniform(256, 264) }},
	{"transformer tap low", is("tap low"), false, nil, func(s *Site) { s.volts = s.uniform(205, 214) }},
}

func is(causes ...string) []string { return causes }

func sub(s *Site) bool           { return s.Sub > 0 }
func tn(s *Site) bool            { return s.Earthing != "TT" }
func tt(s *Site) bool            { return s.Earthing == "TT" }
func pme(s *Site) bool           { return s.Earthing == "TN-C-S" }
func tns(s *Site) bool           { return s.Earthing == "TN-S" }
func notPME(s *Site) bool        { return s.Earthing != "TN-C-S" }
func coreOnly(s *Site) bool      { return s.Flat || s.CPC == "core" }
func armourOnly(s *Site) bool    { return !s.Flat && s.CPC == "armour" }
func coreAndArmour(s *Site) bool { return !s.Flat && s.CPC == "core and armour" }
func flat(s *Site) bool          { return s.Flat }
func onePhase(s *Site) bool      { return !s.Three && s.Phases == 1 }
func threePhase(s *Site) bool    { return s.Phases == 3 }
func longRun(s *Site) bool       { return s.Length > 15 }
func unequal(s *Site) bool       { return s.Length > 10 && (s.Flat || armourOnly(s)) }

// scale multiplies conductors.
func (s *Site) scale(by float64, names ...string) {
	for _, name := range names {
		if ohms, known := s.ohms[name]; known && ohms < broken {
			s.ohms[name] = ohms * by
		}
	}
}

// stretch makes the whole run longer than it is written.
func (s *Site) stretch(by float64) {
	s.scale(by, "run L1", "run L2", "run L3", "run N", "core E", "armour E")
}
