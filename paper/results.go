package paper

import (
	"strings"

	"chargewright/model"
)

// resultItems is the test results of one circuit.
func (c *certificate) resultItems(s *scheduled, where string) {
	r := s.circuit.Record
	read := func(key, what, get string, names ...string) item {
		return c.reading(s.at, where, key, what, get, &s.gaps, names...)
	}
	s.results = append(s.results, item{key: "ring_r1", what: "Ring r1, rn, r2", value: "none recorded", waive: true},
		item{key: "ring_rn", waive: true}, item{key: "ring_r2", waive: true}) // no ring is computed: see README
	whole := read("R1_plus_R2", "R1+R2", "measure it dead, leads nulled; enter a reading R1+R2 at "+r.To, "R1+R2")
	alone := read("R2", "R2", "measure it with a long lead; enter a reading R2 at "+r.To, "R2")
	whole.waive, alone.waive = alone.value != "", whole.value != ""
	if alone.value == "" && alone.waive {
		alone.value = "not needed: R1+R2 stands"
	}
	if whole.value == "" && whole.waive {
		whole.value = "not taken: R2 stands"
	}
	between := read("IR_live_live", "Insulation, live to live", "measure it at 500 V d.c.; enter a reading insulation between live at "+r.To, "insulation between live")
	earth := read("IR_live_earth", "Insulation, live to earth", "measure it at 500 V d.c.; enter a reading insulation live to earth at "+r.To, "insulation live to earth")
	volts := item{key: "IR_test_voltage", what: "Insulation test voltage", at: earth.at, reading: earth.reading, get: "enter the test voltage as the function of the insulation reading, like 500 V d.c."}
	if n := c.readings.taken(s.at, "insulation live to earth"); n >= 0 {
		ir := c.m.Job.Readings[n]
		volts.value = ir.Function
		if ways, _ := ir.Ways(); ways.Has("250 V") && ir.Note == "" {
			s.gaps = append(s.gaps, Gap{Kind: unexplained, About: where, What: "insulation was tested at " + ir.Function, At: earth.at, Reading: earth.reading, Get: "test at 500 V; where that is impracticable, say why in the note of the reading", Clause: "643.3.2"})
		}
	}
	s.results = append(s.results, whole, alone, volts, between, earth,
		read("polarity_ok", "Polarity", "confirm it; enter a reading polarity at "+r.To+": correct", "polarity"),
		read("Zs_max_measured", "Zs, highest", "measure it; enter a reading Zs at "+r.To, "Zs"))
	time := item{key: "rcd_time", what: "RCD time at IΔn", value: "no RCD recorded", waive: true}
	button := item{key: "rcd_button_ok", what: "RCD test button", value: "no RCD recorded", waive: true}
	if _, own := s.circuit.BoardRCD(); own {
		time = read("rcd_time", "RCD time at IΔn", "test it; enter a reading RCD time at IΔn at "+r.To, "RCD time at IΔn")
		button = read("rcd_button_ok", "RCD test button", "press it; enter a reading RCD test button at "+r.To+": works", "RCD test button")
	}
	s.results = append(s.results, time, button,
		item{key: "afdd_button_ok", what: "Arc-fault test button", value: "no device recorded", waive: true})
	c.remarkItems(s)
}

// remarkItems is what else stands beside the results of a circuit.
func (c *certificate) remarkItems(s *scheduled) {
	var notes, who, instruments []string
	var parallel []string
	for _, one := range c.m.Job.Readings {
		if !contains(s.at, one.At) {
			continue
		}
		if one.Note != "" {
			notes = append(notes, one.Reading+": "+one.Note)
		}
		if ways, _ := one.Ways(); ways.Has("with parallel paths") {
			parallel = append(parallel, one.Reading)
		}
		day, _, _ := strings.Cut(one.When, " ")
		who = append(who, join(one.Who, day))
		instruments = append(instruments, one.Instrument)
	}
	temperature := ifKnown("%v", c.m.Job.Site.Temperature)
	s.results = append(s.results,
		item{key: "ambient_temperature", what: "Air temperature", value: temperature, of: "site/temperature", get: "enter site, temperature"},
		item{key: "parallel_paths_note", what: "With parallel paths", value: orElse(strings.Join(parallel, ", "), "none noted"), waive: true},
		item{key: "vulnerable_equipment_note", what: "Vulnerable equipment", value: vulnerable(s.circuit), waive: true},
		item{key: "test_remarks", what: "Remarks", value: orElse(strings.Join(unique(notes), "; "), "none"), waive: true},
		item{key: "instrument_set", what: "Instruments", value: lookup(strings.Join(unique(nonEmpty(instruments)), ", ")), of: "readings", get: "enter the instrument of each reading"},
		item{key: "tester_name_sign_date", what: "Tested by, when", value: lookup(strings.Join(unique(nonEmpty(who)), "; ")), of: "readings", get: "enter who and when of each reading"})
}

func nonEmpty(list []string) []string {
	var out []string
	for _, s := range list {
		if s != "" {
			out = append(out, s)
		}
	}
	return out
}

// vulnerable says what must be off before an insulation test.
func vulnerable(ct *model.Circuit) string {
	if ct.Point != nil {
		return "charge point electronics"
	}
	return "none recorded"
}
