package paper

import (
	"os"
	"slices"
	"strings"
	"testing"

	"chargewright/job"
	"chargewright/seal"
	"chargewright/works"
)

// elsewhere is the fields of the forms table that stand on a paper in another
// way than as an item of their own: where, in words a reader can check.
var elsewhere = map[string]string{
	"schedule_counts":           "counted on the last page",
	"insp_outcome_codes":        "a rule: TestDefectsCannotStand",
	"eic_copy_record":           "copies",
	"wiring_code_A":             "a value of wiring_type_code",
	"wiring_code_B":             "a value of wiring_type_code",
	"wiring_code_C":             "a value of wiring_type_code",
	"wiring_code_D":             "a value of wiring_type_code",
	"wiring_code_E":             "a value of wiring_type_code",
	"wiring_code_F":             "a value of wiring_type_code",
	"wiring_code_G":             "a value of wiring_type_code",
	"wiring_code_H":             "a value of wiring_type_code",
	"wiring_code_O":             "a value of wiring_type_code",
	"reading_qualifier":         "kept as written: > 200 MΩ",
	"reading_prediction_margin": "beside each reading: expected, and its limit",
}

// carried is every key that the papers of a job carry, and what stands there.
func carried(p packed) map[string]string {
	out := map[string]string{}
	for _, i := range everyItem(p) {
		out[i.key] = join(out[i.key], i.value)
	}
	for _, i := range newCertificate(p.m, p.fs, p.es, nil).contents().inspections {
		out[i.key] = string(i.found.Outcome.Or(""))
	}
	return out
}

// everyItem is what all papers of a job carry together.
func everyItem(p packed) items {
	c := newCertificate(p.m, p.fs, p.es, nil)
	all, w := c.contents(), c.minor()
	use, trouble, papers, upkeep := (&handover{p.m, made, settings(p.m, p.fs)}).items()
	out := slices.Concat(all.particulars, all.supply, all.earthing, all.decisions, all.signing, all.copies, all.instruments,
		w.general, w.earthing, w.signing, operatorItems(p.m), buildingItems(p.m), use, trouble, papers, upkeep)
	for _, s := range all.schedules {
		out = append(out, s.items...)
		for _, one := range s.circuits {
			out = append(append(out, one.details...), one.results...)
		}
	}
	for _, one := range w.circuits {
		out = append(append(out, one.circuit...), one.tests...)
	}
	return out
}

// TestEveryFieldOfTheModelForms holds the papers against the forms table, row
// by row (BS 7671:2018+A2:2022 Appendix 6, and the other sources it names).
func TestEveryFieldOfTheModelForms(t *testing.T) {
	p := minorJob(t)
	there := carried(p)
	byPaper := map[string][2]int{}
	for _, f := range p.m.Rules.FormFields() {
		switch f.Paper {
		case "EV record", "Smart charge point statement": // the commissioning record; printed row by row in the owner's paper
			continue
		}
		n := byPaper[f.Paper]
		n[0]++
		_, has := there[f.Key]
		if !has && elsewhere[f.Key] != "" {
			has = true
		}
		if !has {
			t.Errorf("%s: no paper carries %s: %s", f.Paper, f.Key, f.Meaning)
		} else {
			n[1]++
		}
		byPaper[f.Paper] = n
	}
	for paper, n := range byPaper {
		t.Logf("%s: %d of %d", paper, n[1], n[0])
	}
}

// TestTakingOutTheFactOfARow holds the rows of our own table to their paths:
// with its fact taken out of a finished job an item says nothing any more, unless
// its row is waived.
func TestTakingOutTheFactOfARow(t *testing.T) {
	for name, row := range formFields() {
		if row.source == "" {
			t.Errorf("%s has no source", name)
		}
	}
	waived := func(what string) bool {
		for _, row := range formFields() {
			if row.what == what && row.waived != "" {
				return true
			}
		}
		return false
	}
	tried := map[string]bool{}
	for name, text := range map[string]string{"finished": finished(t, "bakery"), "minor works": finished(t, "bakery", minorWorks...)} {
		file, err := job.ReadRecord(name, []byte(text))
		if err != nil {
			t.Fatal(err)
		}
		entries := file.Record().Entries()
		without := map[string]items{}
		j, _ := file.Job()
		for _, i := range everyItem(of(t, name, j)) {
			if i.value == "" || i.waive || i.at != "" || i.of == "" || waived(i.what) || testing.Short() && len(without) > 12 {
				continue
			}
			left, done := without[i.of]
			if !done {
				kept := slices.DeleteFunc(slices.Clone(entries), func(e job.Entry) bool {
					return e.Path == i.of || strings.HasPrefix(e.Path, i.of+"/") || strings.HasPrefix(e.Path, i.of+" ")
				})
				if len(kept) == len(entries) {
					t.Errorf("%s: nothing is entered under %q, where %s says its fact is", name, i.of, i.what)
				}
				j, _ := job.NewRecord(kept...).Job(name) // what no longer fits together is said, and read all the same
				left = everyItem(of(t, name, j))
				without[i.of] = left
			}
			for _, l := range left {
				if l.key == i.key && l.what == i.what && l.of == i.of && !l.missing() && !l.waive {
					t.Errorf("%s: without %q, %s is still %q", name, i.of, i.what, l.value)
				}
			}
			tried[i.of] = true
		}
	}
	if least := 12; len(tried) < least || !testing.Short() && len(tried) < 40 {
		t.Errorf("only %d facts were taken out", len(tried))
	}
}

// minorJob is the finished bakery once more, as minor works on its sub-main.
func minorJob(t testing.TB) packed {
	return edited(t, "bakery", minorWorks...)
}

var minorWorks = []string{"work: addition", "work: minor works\n  circuits: [van point]\n  existing found adequate: earthing and bonding seen and measured"}

// edited is a finished example with texts in its file replaced, in pairs.
func edited(t testing.TB, name string, pairs ...string) packed {
	t.Helper()
	j, err := job.Read(name, []byte(finished(t, name, pairs...)))
	if err != nil {
		t.Fatal(err)
	}
	return of(t, name+" edited", j)
}

func finished(t testing.TB, name string, pairs ...string) string {
	t.Helper()
	file := "../examples/" + name + "/complete.yaml"
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	s := string(text)
	for i := 0; i < len(pairs); i += 2 {
		if !strings.Contains(s, pairs[i]) {
			t.Fatalf("%s does not say %q", file, pairs[i])
		}
		s = strings.Replace(s, pairs[i], pairs[i+1], 1)
	}
	return s
}

// TestRequiredThingsAreAskedFor takes one required thing out of a finished job
// and wants exactly that asked for, under its field of the forms table.
func TestRequiredThingsAreAskedFor(t *testing.T) {
	for _, tt := range []struct{ field, was, is string }{
		{"client_name", "  client: The bakery (invented)\n", ""},
		{"client_address", "  client address: Mill Lane, Exampleton (invented)\n", ""},
		{"installation_address", "  address: Mill Lane, Exampleton (invented)\n  premises", "  premises"},
		{"work_kind", "  work: addition\n", ""},
		{"work_extent", "  extent: One charging circuit from the yard board to CP1 on the yard wall, and the point. Nothing else was inspected or tested but what feeds it.\n", ""},
		{"records_available", "  earlier records: report of 2023-05-11 seen at the shop (invented); nothing open on it\n", ""},
		{"existing_installation_comments", "  existing installation: Intake, main board and yard sub-main sound as far as seen; no fault noticed.\n", ""},
		{"departures", "  no departures: yes\n", ""},
		{"next_inspection", "  inspect again within months: 36\n", ""},
		{"next_inspection", "  reason for interval: outdoors, used every day by vans, looked at by the baker each week\n", ""},
		{"designer_name_date_sign", "{for: all three,", "{for: construction,"},
		{"constructor_name_date_sign", "{for: all three,", "{for: design,"},
		{"inspector_name_date_sign", "{for: all three,", "{for: design,"},
		{"signatory_company_address_phone", ", telephone: 01632 960014 (invented)", ""},
		{"standard_edition", "edition: BS 7671:2018+A4:2026\n", ""},
		{"nominal_frequency", "  frequency: 50 Hz\n", ""},
		{"supply_polarity_confirmed", "  polarity confirmed: yes\n", ""},
		{"external_loop_impedance", "  Ze: {value: 0.18 Ω, known by: measured, who: A. Spark, when: 2026-11-20, instrument: tester 1}\n", ""},
		{"eic_supply_value_origin", "Ze: {value: 0.18 Ω, known by: measured,", "Ze: {value: 0.18 Ω, known by: assumed,"},
		{"earthing_conductor_material_csa_verified", "length: 2 m, connected: yes}", "length: 2 m}"},
		{"bonding_conductor_material_csa_verified", "length: 9 m, connected: yes}", "length: 9 m}"},
		{"bonding_to_water_gas_oil_steel_lightning_other", "nothing to bond: [oil, structural steel, lightning protection]", "nothing to bond: [oil]"},
		{"main_switch_location_standard_poles_rating_voltage", "    main switch: {standard: BS EN 60947-3, poles: 4, rating: 125 A, voltage: 400 V}\n", ""},
		{"insp_722_pen", "  - {item: lost PEN conductor, outcome: satisfactory, who: A. Spark, when: 2026-11-23}\n", ""},
		{"instrument_serials", "serial: invented-1, ", ""},
		{"instrument_calibration_date", ", calibrated until: 2027-03-01}", "}"},
		{"circuit_number", "    way: 3\n", ""},
		{"ocpd_breaking_capacity", "rating: 40 A, breaking capacity: 6 kA, poles: all live}\n    RCD", "rating: 40 A, poles: all live}\n    RCD"},
		{"ambient_temperature", "  temperature: 12 °C\n", ""},
	} {
		p := edited(t, "bakery", tt.was, tt.is)
		gaps := Missing(p.m, p.fs, p.es, made)
		if !slices.ContainsFunc(gaps, func(g Gap) bool { return g.Field == tt.field && g.Get != "" }) {
			t.Errorf("without %q, %s is not asked for: %v", strings.TrimSpace(tt.was), tt.field, gaps)
		}
		if _, err := IssueCertificate(p.m, p.fs, p.es, made, aKey(t), nil, seal.Order{}); err == nil {
			t.Errorf("without %q the certificate is issued", strings.TrimSpace(tt.was))
		}
	}
}

// without takes out every reading of a name at a place.
func without(t testing.TB, name, reading, at string) packed {
	p := example(t, name+" complete.yaml")
	j := *p.m.Job
	j.Readings = slices.DeleteFunc(slices.Clone(j.Readings), func(r works.Reading) bool { return r.Reading == reading && r.At == at })
	return of(t, name, &j)
}

func TestReadingsAreAskedFor(t *testing.T) {
	for _, tt := range []struct{ field, reading, at string }{
		{"R1_plus_R2", "R1+R2", "CP1"}, {"IR_live_live", "insulation between live", "CP1"}, {"IR_live_earth", "insulation live to earth", "CP1"},
		{"IR_test_voltage", "insulation live to earth", "CP1"}, {"polarity_ok", "polarity", "CP1"}, {"Zs_max_measured", "Zs", "CP1"},
		{"rcd_time", "RCD time at IΔn", "CP1"}, {"rcd_button_ok", "RCD test button", "CP1"},
		{"board_Zdb", "Zs", "yard board"}, {"board_Ipf", "Ipf", "yard board"}, {"board_polarity_confirmed", "polarity", "yard board"}, {"board_phase_sequence_confirmed", "phase sequence", "yard board"},
	} {
		p := without(t, "bakery", tt.reading, tt.at)
		if gaps := Missing(p.m, p.fs, p.es, made); !slices.ContainsFunc(gaps, func(g Gap) bool { return g.Field == tt.field }) {
			t.Errorf("without %s at %s, %s is not asked for: %v", tt.reading, tt.at, tt.field, gaps)
		}
	}
	p := without(t, "terrace", "SPD indicator", "consumer unit")
	if gaps := Missing(p.m, p.fs, p.es, made); !slices.ContainsFunc(gaps, func(g Gap) bool { return g.Field == "spd_indicator_ok" }) {
		t.Errorf("the surge indicator is not asked for: %v", gaps)
	}
}

// changed is a finished bakery with one reading changed.
func changedReading(t testing.TB, reading, at, value, note string) packed {
	p := example(t, "bakery complete.yaml")
	j := *p.m.Job
	j.Readings = slices.Clone(j.Readings)
	for i := range j.Readings {
		if j.Readings[i].Reading == reading && j.Readings[i].At == at {
			j.Readings[i].Value, j.Readings[i].Note = value, note
		}
	}
	return of(t, "bakery", &j)
}

// TestReadingsAreHeldToTheirLimits: 411.4 for Zs, Table 64 for insulation (1 MΩ
// at 500 V), BS EN 61009 for the RCD (0.3 s at IΔn), as the expectations cite.
func TestReadingsAreHeldToTheirLimits(t *testing.T) {
	for _, tt := range []struct{ reading, at, value, note, kind string }{
		{"Zs", "CP1", "0.86 Ω", "with the shop's earth rod joined", ""},
		{"Zs", "CP1", "0.88 Ω", "seen", failing},
		{"Zs", "CP1", "0.86 Ω", "", unexplained},
		{"insulation live to earth", "CP1", "0.99 MΩ", "damp", failing},
		{"insulation live to earth", "CP1", "1 MΩ", "damp", ""},
		{"insulation live to earth", "CP1", "> 999 MΩ", "", ""},
		{"RCD time at IΔn", "CP1", "301 ms", "", failing},
		{"RCD time at IΔn", "CP1", "> 300 ms", "", failing},
		{"polarity", "CP1", "reversed", "", failing},
		{"R1+R2", "CP1", "0.31 Ω", "", unexplained},
		{"R1+R2", "CP1", "0.067 Ω", "", ""},
		{"R1+R2", "CP1", "low", "", open},
	} {
		p := changedReading(t, tt.reading, tt.at, tt.value, tt.note)
		kind := ""
		for _, g := range Missing(p.m, p.fs, p.es, made) {
			kind = g.Kind
		}
		if kind != tt.kind {
			t.Errorf("%s at %s = %s (%s): %q, want %q", tt.reading, tt.at, tt.value, tt.note, kind, tt.kind)
		}
	}
}

// TestHalfTheTestVoltageWantsAReason: 250 V d.c. serves only where 500 V is
// impracticable (BS 7671 643.3.2, clause from memory).
func TestHalfTheTestVoltageWantsAReason(t *testing.T) {
	p := edited(t, "bakery", "function: 500 V d.c.", "function: 250 V d.c.")
	if gaps := Missing(p.m, p.fs, p.es, made); len(gaps) != 1 || gaps[0].Kind != unexplained {
		t.Errorf("gaps = %v", gaps)
	}
}

// TestDefectsCannotStand: on new work an item passes or does not apply.
func TestDefectsCannotStand(t *testing.T) {
	p := edited(t, "bakery", "{item: boards, outcome: satisfactory", "{item: boards, outcome: not satisfactory")
	if gaps := Missing(p.m, p.fs, p.es, made); len(gaps) != 1 || gaps[0].Kind != failing {
		t.Errorf("a defect left standing: %v", gaps)
	}
	p = edited(t, "bakery", "{item: boards, outcome: satisfactory", "{item: boards, outcome: limited")
	if gaps := Missing(p.m, p.fs, p.es, made); len(gaps) != 1 {
		t.Errorf("limited without a limitation: %v", gaps)
	}
	p = edited(t, "bakery", "{item: boards, outcome: satisfactory", "{item: boards, outcome: limited", "\ncertificate:\n", "\nlimitations:\n  - {what: boards, reason: sealed by the landlord, agreed with: B. Baker}\n\ncertificate:\n")
	if gaps := Missing(p.m, p.fs, p.es, made); len(gaps) != 0 {
		t.Errorf("limited with its limitation: %v", gaps)
	}
}

// TestDeparturesNeedTheirReason: a rule that is not met keeps a certificate
// back until a designer answers for a departure from it.
func TestDeparturesNeedTheirReason(t *testing.T) {
	fault := []string{"rating: 40 A, breaking capacity: 6 kA, poles: all live}\n    RCD: {type: A, IΔn: 30 mA", "rating: 40 A, breaking capacity: 6 kA, poles: all live}\n    RCD: {type: AC, IΔn: 30 mA"}
	p := edited(t, "bakery", fault...)
	var failed []Gap
	for _, g := range Missing(p.m, p.fs, p.es, made) {
		if g.Kind == failing {
			failed = append(failed, g)
		}
	}
	if len(failed) == 0 {
		t.Fatal("an RCD of Type AC at a point keeps nothing back")
	}
	entries := "\ndepartures:\n"
	bare := entries
	for _, g := range failed {
		entries += "  - {clause: " + g.Clause + ", what: the point's own d.c. detection and a second device, reason: no less good by the maker's word (invented), who: A. Spark}\n"
		bare += "  - {clause: " + g.Clause + ", what: the point's own d.c. detection}\n"
	}
	p = edited(t, "bakery", append(fault, "\ncertificate:\n", entries+"\ncertificate:\n", "  no departures: yes\n", "")...)
	if gaps := Missing(p.m, p.fs, p.es, made); len(gaps) != 0 {
		t.Errorf("with its departure: %v", gaps)
	}
	if text := text(certificatePaper(p.m, p.fs, p.es, made, nil)); !strings.Contains(text, "no less good by the maker's word") {
		t.Error("the departure is not printed")
	}
	p = edited(t, "bakery", append(fault, "\ncertificate:\n", bare+"\ncertificate:\n", "  no departures: yes\n", "")...)
	if gaps := Missing(p.m, p.fs, p.es, made); len(gaps) < 2 {
		t.Errorf("a departure without reason: %v", gaps)
	}
}

func TestDatesMustFit(t *testing.T) {
	p := example(t, "bakery complete.yaml")
	if gaps := Missing(p.m, p.fs, p.es, made.AddDate(0, 0, -10)); len(gaps) == 0 || gaps[0].Kind != failing {
		t.Errorf("issued before the work was done: %v", gaps)
	}
	p = edited(t, "bakery", "calibrated until: 2027-03-01", "calibrated until: 2026-11-01")
	if gaps := Missing(p.m, p.fs, p.es, made); len(gaps) != 1 || gaps[0].Field != "instrument_calibration_date" {
		t.Errorf("an instrument out of calibration: %v", gaps)
	}
}

func TestUnfinishedJobsAreRefused(t *testing.T) {
	for _, name := range []string{"bakery job.yaml", "pool job.yaml", "terrace job.yaml", "bakery faulty.yaml"} {
		p := example(t, name)
		_, err := IssueCertificate(p.m, p.fs, p.es, made, aKey(t), nil, seal.Order{})
		refusal, ok := err.(*Refusal)
		if !ok || len(refusal.Gaps) < 20 {
			t.Errorf("%s: %v", name, err)
			continue
		}
		for _, g := range refusal.Gaps {
			if g.About == "" || g.What == "" || g.Get == "" {
				t.Errorf("%s: a gap does not say what to do: %+v", name, g)
			}
		}
	}
}

// TestMinorWorks: a change without a new circuit. A new circuit is refused.
func TestMinorWorks(t *testing.T) {
	p := minorJob(t)
	gaps := Missing(p.m, p.fs, p.es, made)
	if len(gaps) != 1 || gaps[0].Field != "minor_scope_check" {
		t.Errorf("minor works on a new circuit: %v", gaps)
	}
	p = edited(t, "bakery", "work: addition", "work: minor works\n  circuits: [van point]\n  existing found adequate: earthing and bonding seen and measured", "    to: CP1\n    phases: L2\n", "    to: CP1\n    phases: L2\n    existing: yes\n")
	i := issuedOf(t, p, aKey(t), nil)
	if c := seal.Check(i.File); !c.Unchanged || c.Statement.Kind != MinorWorksCertificate {
		t.Errorf("Check = %+v", c)
	}
}
