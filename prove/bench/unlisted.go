package bench

import (
	"math"
)

// Unlisted are faults that no list has: what nobody thought of when it was
// written. Each was made up by what can be joined, fed, shown or read otherwise
// than it should be, and none to suit how diagnosis looks for them.
var Unlisted = []Fault{
	// Fed otherwise.
	{"fed from a generator, its star not earthed", nil, true, onePhase, func(s *Site) {
		s.scale(6, "service L1", "service N")
		s.ohms["star earth"], s.ohms["network earth"] = 3e3, 3e3
		s.volts = 214
	}},
	{"fed from an inverter on its own, soft in both conductors", nil, true, nil, func(s *Site) {
		s.scale(1, "service L1")
		s.ohms["service L1"] += s.spread(0.7, 2.5)
		s.ohms["service N"] += 1.1 * s.ohms["service L1"]
		s.volts = 230
	}},
	{"fed from a transformer with its middle earthed", nil, true, onePhase, func(s *Site) { s.odd["centre tap"] = 1 }},
	{"star of the transformer pulled away from earth", nil, true, nil, func(s *Site) { s.odd["star volts"] = s.uniform(25, 60) }},
	{"another line in place of the neutral", nil, true, func(s *Site) bool { return s.Phases == 3 && !s.Three }, func(s *Site) { s.odd["line for neutral"] = 1 }},
	{"voltage swings with a welder next door", nil, false, nil, func(s *Site) { s.odd["swing"] = s.uniform(18, 30) }},
	// Joined otherwise.
	{"the point's neutral comes back over another circuit", nil, true, nil, func(s *Site) {
		s.ohms["run N"] = broken
		s.odd["borrowed neutral"] = s.spread(0.1, 0.4) // in use; dead, the other circuit is off with its neutral
	}},
	{"a second line feeds the point", nil, true, longRun, func(s *Site) { s.put[[2]string{"main.L1", "point.L1"}] = 0.6 * s.ohms["run L1"] }},
	{"cpc of the point landed on the neutral bar", nil, true, coreOnly, func(s *Site) {
		s.put[[2]string{s.board() + ".N", "point.E"}] = s.ohms["core E"]
		s.ohms["core E"] = broken
	}},
	{"neutral of the point landed on the earth bar", nil, true, nil, func(s *Site) {
		s.put[[2]string{s.board() + ".E", "point.N"}] = s.ohms["run N"]
		s.ohms["run N"] = broken
	}},
	{"pole of the main switch burnt", nil, true, nil, func(s *Site) { s.odd["main pole"] = s.spread(0.15, 1.2) }},
	{"line contact of the outlet worn", nil, true, nil, func(s *Site) { s.ohms["lead L1"] += s.spread(0.25, 3) }},
	{"neutral contact of the outlet worn", nil, true, nil, func(s *Site) { s.ohms["lead N"] += s.spread(0.25, 3) }},
	{"earth contact of the outlet worn", nil, true, nil, func(s *Site) { s.ohms["lead E"] += s.spread(0.25, 3) }},
	{"choke left in the line and the earth of the run", nil, false, coreOnly, func(s *Site) {
		s.ohms["run L1"] += 0.9
		s.ohms["core E"] += 0.5
		s.ohms["run N"] *= 0.5
	}},
	{"film on the terminals that a high current burns through", nil, true, nil, func(s *Site) { s.odd["film"] = s.spread(0.25, 2) }},
	// Insulation.
	{"insulation falls between live conductors and to earth alike, oil in a joint", nil, true, nil, func(s *Site) {
		s.put[[2]string{"point.L1", "point.E"}], s.put[[2]string{"point.N", "point.E"}], s.put[[2]string{"point.L1", "point.N"}] = 3e5, 3e5, 3e5
	}},
	{"cable aged between its live cores", nil, false, nil, func(s *Site) { s.put[[2]string{"point.L1", "point.N"}] = s.spread(4e5, 9e5) }},
	// The instrument.
	{"everything low in step, meter's battery spent", nil, false, nil, func(s *Site) {
		s.meter.lowGain *= 0.55
		s.meter.loopGain *= 0.6
		s.meter.gain *= 0.02
	}},
	{"display hangs at one figure", nil, false, nil, func(s *Site) { s.meter.hangs = s.spread(0.25, 3) }},
	{"null drifts from reading to reading", nil, false, nil, func(s *Site) { s.meter.wanders = s.uniform(0.15, 0.5) }},
	{"noise on the supply scatters the loop readings", nil, false, nil, func(s *Site) { s.meter.scatters = s.uniform(0.35, 0.8) }},
	{"loop readings doubled, both half-waves counted", nil, false, nil, func(s *Site) { s.meter.loopGain *= 2 }},
	// Pilot, clamp, devices.
	{"resistor in the pilot", nil, false, nil, func(s *Site) { s.odd["pilot"] = 700 }},
	{"source of the pilot at fifteen volts", nil, false, nil, func(s *Site) { s.odd["pilot source"] = 15.0 / 12 }},
	{"voltage put on the pilot by a core beside it", nil, false, nil, func(s *Site) { s.odd["pilot induced"] = s.uniform(1.6, 3) }},
	{"line passes the clamp twice", nil, true, nil, func(s *Site) { s.clamp = 2 }},
	{"clamp shows what is not there", nil, true, nil, func(s *Site) { s.odd["clamp offset"] = s.uniform(6, 20) }},
}

// voltages are the three of a socket.
var voltages = []string{"voltage line to neutral", "voltage line to earth", "voltage neutral to earth"}

// tellingUnlisted are the readings that would show each, as for the others.
var tellingUnlisted = map[string][]string{
	"fed from a generator, its star not earthed":                                  {"Ze", "line-neutral loop", "voltage line to neutral"},
	"fed from an inverter on its own, soft in both conductors":                    {"Ze", "line-neutral loop"},
	"fed from a transformer with its middle earthed":                              voltages,
	"star of the transformer pulled away from earth":                              voltages,
	"another line in place of the neutral":                                        {"voltage line to neutral", "voltage line to earth"},
	"voltage swings with a welder next door":                                      voltages,
	"the point's neutral comes back over another circuit":                         {"R1+Rn"},
	"a second line feeds the point":                                               {"R1+Rn", "Zs"},
	"cpc of the point landed on the neutral bar":                                  {"R2", "Zs"},
	"neutral of the point landed on the earth bar":                                {"R1+Rn"},
	"pole of the main switch burnt":                                               {"Ze", "line-neutral loop", "Zs"},
	"line contact of the outlet worn":                                             {"Zs", "R1+Rn"},
	"neutral contact of the outlet worn":                                          {"R1+Rn"},
	"earth contact of the outlet worn":                                            {"Zs", "R2"},
	"film on the terminals that a high current burns through":                     {"R1+Rn", "Zs"},
	"insulation falls between live conductors and to earth alike, oil in a joint": {"insulation live to earth", "insulation between live"},
	"cable aged between its live cores":                                           {"insulation between live", "insulation live to earth"},
	"display hangs at one figure":                                                 {"R1+Rn", "R2"},
	"null drifts from reading to reading":                                         {"R1+Rn", "R2"},
	"noise on the supply scatters the loop readings":                              {"Zs", "line-neutral loop", "Ze"},
	"loop readings doubled, both half-waves counted":                              {"Zs", "line-neutral loop", "Ze"},
	"resistor in the pilot":                                                       {"pilot voltage in state B", "pilot voltage in state C"},
	"source of the pilot at fifteen volts":                                        {"pilot voltage in state B", "pilot voltage in state C"},
	"voltage put on the pilot by a core beside it":                                {"pilot voltage in state B", "pilot voltage in state C"},
	"line passes the clamp twice":                                                 {"clamp step"},
	"clamp shows what is not there":                                               {"clamp step"},
}

// centre is the share of a phase's voltage that stands on the neutral's side of
// earth.
func (s *Site) centre() float64 {
	if s.odd["centre tap"] > 0 {
		return 0.5
	}
	return 0
}

// swung is what a voltage shows of a supply that swings.
func (s *Site) swung() float64 { return s.odd["swing"] * math.Round(2*s.rand.Float64()-1) }
