package paper

import (
	"strings"

	"chargewright/document"
	"chargewright/trade"
	"chargewright/works"
)

// inspected is an item of the schedule of inspections, under the key of the
// forms table, with what it takes in.
type inspected struct {
	item  trade.InspectionItem
	key   string
	takes string
	point bool // of a charge point, not of any installation
}

// inspectionsOf is the schedule: any installation first, then a charge point.
var inspectionsOf = []inspected{
	{trade.InspectIntake, "insp_intake_equipment_condition", "cut-out, tails and meter as they look from outside", false},
	{trade.InspectSources, "insp_other_source_arrangements", "sources in parallel or switched over, and their notices", false},
	{trade.InspectADS, "insp_ads_protective_measure", "earthing, bonding, protective conductors, devices", false},
	{trade.InspectBasic, "insp_basic_protection", "insulation, barriers, enclosures", false},
	{trade.InspectOther, "insp_other_shock_measures", "double insulation, separation, SELV", false},
	{trade.InspectAdditional, "insp_additional_protection", "RCDs of 30 mA or less, supplementary bonding", false},
	{trade.InspectBoards, "insp_distribution_equipment", "access, enclosure, labels, surge and residual devices, connections", false},
	{trade.InspectCircuits, "insp_circuits", "cables identified, supported, routed, protected; cpc; fire sealing; RCDs chosen", false},
	{trade.InspectIsolation, "insp_isolation_switching", "isolators, emergency and functional switching", false},
	{trade.InspectEquipment, "insp_current_using_equipment", "fixed, enclosed, supported, rightly connected", false},
	{trade.InspectNotices, "insp_identification_notices", "labels, warnings, diagrams, instructions", false},
	{trade.InspectBath, "insp_locations_bath_shower", "Section 701", false},
	{trade.InspectSpecial, "insp_special_locations", "other sections of Part 7, charge points by 722", false},
	{trade.InspectProsumer, "insp_prosumer", "generation and storage at low voltage", false},
	{trade.InspectOwnCircuit, "insp_722_own_circuit", "a final circuit of its own", true},
	{trade.InspectDiversity, "insp_722_no_diversity", "full current counted, unless load control holds it", true},
	{trade.InspectPointRCD, "insp_722_rcd", "30 mA, Type B, or Type A or F with 6 mA d.c. detection; opens all live conductors", true},
	{trade.InspectPEN, "insp_722_pen", "the measure against a lost PEN conductor, outdoors on TN-C-S", true},
	{trade.InspectEnclosure, "insp_722_ip", "IP44 or better outdoors; impact where vehicles move", true},
	{trade.InspectHeight, "insp_722_height", "outlet between 0.5 m and 1.5 m above the ground", true},
	{trade.InspectPointOff, "insp_722_isolation", "isolation, and emergency switching where chosen, opens all live conductors", true},
	{trade.InspectMarkings, "insp_722_mode_label", "no ordinary socket in disguise; labels in place", true},
	{trade.InspectSimultaneous, "insp_722_simultaneous", "nobody touches two earthing systems at once", true},
}

// Inspectable is an item of the schedule of inspections, and what it takes in.
type Inspectable struct {
	Item    trade.InspectionItem
	TakesIn string
	OfPoint bool // one of a charge point, not of any installation
}

// Inspections lists the schedule in its order.
func Inspections() []Inspectable {
	out := make([]Inspectable, len(inspectionsOf))
	for i, one := range inspectionsOf {
		out[i] = Inspectable{one.item, one.takes, one.point}
	}
	return out
}

// inspectionRow is one item and how it was found.
type inspectionRow struct {
	inspected
	found works.Inspection
}

// inspections is the schedule of this job, and what keeps it from standing: on
// new work an item is satisfactory or does not apply.
func (c *certificate) inspections() (rows []inspectionRow, gaps []Gap) {
	by := map[trade.InspectionItem]works.Inspection{}
	for _, i := range c.m.Job.Inspections {
		by[i.Item.Or("")] = i
	}
	var unseen []string
	first := ""
	for _, one := range inspectionsOf {
		row := inspectionRow{one, by[one.item]}
		rows = append(rows, row)
		g := Gap{About: "inspection", What: string(one.item) + ": " + one.takes, Field: one.key, Of: "inspections"}
		switch outcome, known := row.found.Outcome.Get(); {
		case !known:
			unseen = append(unseen, string(one.item))
			first = orElse(first, one.key)
			continue
		case outcome == trade.NotSatisfactory:
			g.Kind, g.Get = failing, "put it right and inspect again: a defect cannot stand on new work"
		case outcome == trade.Limited && !c.limitationOn(string(one.item)):
			g.Kind, g.Get = wanting, "enter the limitation, its reason and with whom it was agreed"
		case row.found.Who == "":
			g.Kind, g.Get = wanting, "enter who inspected it"
		default:
			continue
		}
		gaps = append(gaps, g)
	}
	if len(unseen) > 0 { // as one thing to do: they are inspected in one round
		gaps = append(gaps, Gap{Kind: wanting, About: "inspection", What: "outcome of " + itoa(len(unseen)) + " items",
			Get: "inspect them; enter item, outcome and who under inspections: " + strings.Join(unseen, ", "), Field: first, Of: "inspections"})
	}
	return rows, gaps
}

func (c *certificate) limitationOn(what string) bool {
	_, ok := c.readings.limited(nil, what)
	return ok
}

// inspectionTable prints a part of the schedule, two items to a row, read down
// and then across. Who inspected and when stands beside an item only where it
// is not the same of all.
func inspectionTable(rows []inspectionRow, from, to int) document.Table {
	t := document.Table{Columns: []document.Column{{Head: "No.", Share: 10, Right: true}, {Head: "Inspected", Share: 47}, {Head: "Outcome", Share: 30},
		{Head: "No.", Share: 10, Right: true}, {Head: "Inspected", Share: 47}, {Head: "Outcome", Share: 30}}}
	of := func(i int) []document.Cell {
		if i >= to {
			return make([]document.Cell, 3)
		}
		r := rows[i]
		outcome := document.Cell{Text: notKnown}
		if o, ok := r.found.Outcome.Get(); ok {
			outcome = document.Cell{Text: join(string(o), r.found.Note), Bold: o != trade.Satisfactory}
			if o == trade.NotApplicable && r.found.Note != "" {
				outcome = document.Cell{Text: string(o) + ": " + r.found.Note}
			}
		}
		if inspectedBy(rows) == "" {
			outcome.Text = join(outcome.Text, r.found.Who, asWritten(r.found.When))
		}
		return []document.Cell{{Text: itoa(i + 1)}, {Text: capital(string(r.item)) + ": " + r.takes}, outcome}
	}
	half := (to - from + 1) / 2
	for i := from; i < from+half; i++ {
		t.Rows = append(t.Rows, document.Row{Cells: append(of(i), of(i+half)...)})
	}
	return t
}

// inspectedBy is who inspected everything, and when; nothing where that is not
// one person on one day.
func inspectedBy(rows []inspectionRow) string {
	first := rows[0].found
	for _, r := range rows {
		if r.found.Who == "" || r.found.Who != first.Who || r.found.When != first.When {
			return ""
		}
	}
	return join(first.Who, asWritten(first.When))
}
