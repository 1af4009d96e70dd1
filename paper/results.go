package paper

import (
	"strings"

	"chargewright/model"
)

// resultItems is the test results of one circuit.
func (c *certificate) resultItems(s *scheduled, where string) {
	r := s.circuit.Record
	read := func(i item, names ...string) item {
		return c.reading(s.at, where, i, &s.gaps, names...)
	}
	s.results = append(s.results, field("ring_r1", ""),
		field("ring_rn", ""), field("ring_r2", "")) // no ring is computed: see README
	whole := read(field("R1_plus_R2", "").named(r.To), "R1+R2")
	alone := read(field("R2", "").named(r.To), "R2")
	whole.waive, alone.waive = alone.value != "", whole.value != ""
	if alone.value == "" && alone.waive {
		alone.value = "not needed: R1+R2 stands"
	}
	if whole.value == "" && whole.waive {
		whole.value = "not taken: R2 stands"
	}
	between := read(field("IR_live_live", "").named(r.To), "insulation between live")
	earth := read(field("IR_live_earth", "").named(r.To), "insulation live to earth")
	volts := field("IR_test_voltage", "").taken(earth.at, earth.reading)
	if n := c.readings.taken(s.at, "insulation live to earth"); n >= 0 {
		ir := c.m.Job.Readings[n]
		volts.value = ir.Function
		if ways, _ := ir.Ways(); ways.Has("250 V") && ir.Note == "" {
			s.gaps = append(s.gaps, Gap{Kind: unexplained, About: where, What: "insulation was tested at " + ir.Function, At: earth.at, Reading: earth.reading,
				Get: "test at 500 V; where that is impracticable, say why in the note of the reading", Clause: "643.3.2"})
		}
	}
	s.results = append(s.results, whole, alone, volts, between, earth,
		read(field("polarity_ok", "").named(r.To), "polarity"),
		read(field("Zs_max_measured", "").named(r.To), "Zs"))
	time := field("rcd_time: no RCD", "")
	button := field("rcd_button_ok: no RCD", "")
	if _, own := s.circuit.BoardRCD(); own {
		time = read(field("rcd_time", "").named(r.To), "RCD time at IΔn")
		button = read(field("rcd_button_ok", "").named(r.To), "RCD test button")
	}
	s.results = append(s.results, time, button,
		field("afdd_button_ok", ""))
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
		field("ambient_temperature", temperature),
		field("parallel_paths_note", strings.Join(parallel, ", ")),
		field("vulnerable_equipment_note", vulnerable(s.circuit)),
		field("test_remarks", strings.Join(unique(notes), "; ")),
		field("instrument_set", strings.Join(unique(nonEmpty(instruments)), ", ")),
		field("tester_name_sign_date", strings.Join(unique(nonEmpty(who)), "; ")))
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
