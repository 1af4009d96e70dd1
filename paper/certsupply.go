package paper

import (
	"fmt"
	"slices"
	"strings"

	"chargewright/finding"
	"chargewright/quantity"
	"chargewright/trade"
	"chargewright/works"
)

// supplyItems is the supply as the certificate states it, each value with how
// it is known.
func (c *certificate) supplyItems() items {
	s := &c.m.Job.Supply
	phases := s.Phases.Or(0)
	list := items{
		field("earthing_arrangement", ifKnown("%s", s.Earthing)),
		field("live_conductors_kind", liveConductors(phases)),
		field("nominal_voltage", nominalVoltage(s, phases)).noted("by enquiry"),
		field("nominal_frequency", s.Frequency).noted("by enquiry"),
		field("supply_polarity_confirmed", confirmed(s.Polarity, "as marked")),
		statedItem(field("prospective_fault_current", ""), s.Ipf),
		statedItem(field("external_loop_impedance", ""), s.Ze),
		field("supply_device_standard_type_rating", allOf(ifKnown("%s", s.CutOut.Type), ifKnown("%v", s.CutOut.Rating))).noted(ifKnown("breaks %v",
			s.CutOut.BreakingCapacity)),
		field("other_sources", strings.Join(c.m.SourceWords(), "; ")),
	}
	known := field("eic_supply_value_origin", "")
	if !s.Ze.KnownBy.IsKnown() || !s.Ipf.KnownBy.IsKnown() {
		known = field("eic_supply_value_origin: not said", "")
	}
	for _, v := range []quantity.Maybe[trade.HowKnown]{s.Ze.KnownBy, s.Ipf.KnownBy} {
		if v.Or("") == trade.Assumed {
			known = field("eic_supply_value_origin: assumed", "")
		}
	}
	return append(list, known)
}

func liveConductors(phases int) string {
	switch phases {
	case 1:
		return "a.c., single-phase, two-wire"
	case 3:
		return "a.c., three-phase, four-wire"
	}
	return ""
}

// nominalVoltage prints U0 and, where it is the standard voltage, U as
// BS EN 60038 names it.
func nominalVoltage(s *works.Supply, phases int) string {
	v, ok := s.Voltage.Get()
	switch {
	case !ok:
		return ""
	case phases == 3 && v == 230:
		return "U 400 V between lines, U0 230 V line to neutral"
	case phases == 1:
		return "U and U0 " + v.String()
	}
	return "U0 " + v.String() + " line to neutral"
}

// earthingItems is the means of earthing, bonding, main switch and demand.
// A conductor seen connected and one whose continuity was read are two facts:
// both stand. What keeps a reading from standing is added to the gaps.
func (c *certificate) earthingItems(gaps *[]Gap) items {
	s := &c.m.Job.Supply
	list := items{
		field("means_of_earthing", meansOfEarthing(s)),
		c.demandItem(),
		field("eic_demand_unit", ""),
	}
	list = append(list, c.electrodeItems()...)
	e := &s.EarthingConductor
	list = append(list, field("earthing_conductor_material_csa_verified",
		allOf(csaOf(e.CSA), confirmed(e.Connected, seenConnected))).noted(ifKnown("%v long", e.Length)),
		c.continuity(field("earthing_conductor_continuity", ""), works.TheEarthingConductor, gaps))
	list = append(list, c.bondingItems(gaps)...)
	return append(list, c.mainSwitchItems()...)
}

const seenConnected = "seen connected"

// continuity is the reading of a protective conductor on its own.
func (c *certificate) continuity(i item, of works.Thing, gaps *[]Gap) item {
	return c.reading([]string{of.Name}, of.Name, i, gaps, "continuity")
}

func meansOfEarthing(s *works.Supply) string {
	switch e, ok := s.Earthing.Get(); {
	case !ok:
		return ""
	case e.IsTN():
		return "the distributor's facility"
	default:
		return join("earth electrode of the installation", s.Electrode)
	}
}

func (c *certificate) demandItem() item {
	i := field("maximum_demand", "")
	d := c.m.SupplyDemand()
	if !d.Total.Known() {
		i.get = join(d.Total.Lacks.String(), i.get)
		return i
	}
	i.value = d.Total.Greatest().String()
	if d.Limiter != nil {
		i.note = "held by " + d.Limiter.Name + "; " + d.Unlimited.String() + " without it"
	}
	return i
}

func (c *certificate) electrodeItems() items {
	var list items
	for i := range c.m.Job.Electrodes {
		e := &c.m.Job.Electrodes[i]
		ra := ifKnown("RA %v", e.Resistance.Value)
		if n := c.readings.taken([]string{e.Name}, "RA"); n >= 0 {
			ra = "RA " + c.m.Job.Readings[n].Value
		}
		list = append(list, field("electrode_type_location_resistance",
			allOf(ifKnown("%s", e.Kind), e.Place, ra)).named(e.Name).under(works.Under("electrodes", e.Name)).noted(join(ifKnown("%d in parallel", e.Number),
			ifKnown("%v long", e.Length))))
	}
	if len(list) == 0 {
		list = append(list, field("electrode_type_location_resistance: none", ""))
		if c.m.Job.Supply.Earthing.Or("") == trade.TT {
			list[0] = field("electrode_type_location_resistance: TT", "")
		}
	}
	return list
}

// services are what may have to be bonded (411.3.1.2).
var services = []string{"water", "gas", "oil", "structural steel", "lightning protection"}

func (c *certificate) bondingItems(gaps *[]Gap) items {
	s, cert := &c.m.Job.Supply, &c.m.Job.Certificate
	var list items
	bonded := map[string]bool{}
	for i := range s.Bonding {
		b := &s.Bonding[i]
		bonded[b.To] = true
		list = append(list, field("bonding_conductor_material_csa_verified",
			allOf(csaOf(b.CSA), confirmed(b.Connected, seenConnected))).named(b.To).under(works.Under("supply/main bonding",
			b.To)).noted(c.bondingRule(b.To)), c.continuity(field("bonding_conductor_continuity", "").named(b.To), b.Thing(), gaps))
	}
	if len(s.Bonding) == 0 {
		list = append(list, field("bonding_conductor_material_csa_verified: none",
			map[bool]string{true: "none needed, as listed below"}[len(cert.NothingToBond) > 0]))
	}
	var told, untold []string
	for _, service := range services {
		switch {
		case bonded[service]:
			told = append(told, service+": bonded")
		case contains(cert.NothingToBond, service):
			told = append(told, service+": nothing to bond")
		default:
			untold = append(untold, service)
		}
	}
	for _, other := range cert.NothingToBond {
		if !contains(services, other) {
			told = append(told, other+": nothing to bond")
		}
	}
	all := field("bonding_to_water_gas_oil_steel_lightning_other", strings.Join(told, "; "))
	if len(untold) > 0 {
		all = field("bonding_to_water_gas_oil_steel_lightning_other: untold", "").named(strings.Join(untold, ", "))
	}
	return append(list, all,
		field("eic_bonding_diameter_rule", ""))
}

// bondingRule is what the check found of one bonding conductor.
func (c *certificate) bondingRule(to string) string {
	for _, f := range c.fs {
		if f.Path == works.Under("supply/main bonding", to) && !f.Value.IsZero() {
			return join(f.Words()+" "+f.Clause.Name, before("asks ", f.Limit.String()))
		}
	}
	return ""
}

func (c *certificate) mainSwitchItems() items {
	origin := c.m.OriginBoard()
	if origin == nil {
		return items{field("main_switch_location_standard_poles_rating_voltage: no board", "")}
	}
	w := &origin.Record.MainSwitch
	list := items{field("main_switch_location_standard_poles_rating_voltage",
		allOf(origin.Record.Place, w.Standard, ifKnown("%d poles", w.Poles), ifKnown("%v", w.Rating),
			ifKnown("%v", w.Voltage))).named(origin.Record.Name).under(works.Under("boards", origin.Record.Name)).noted(origin.Record.Name),
		field("main_switch_fuse_or_setting", ifKnown("%v", w.Fuse))}
	rcd := field("main_rcd_type_IdeltaN_delay_time", "")
	time := field("eic_rcd_main_measured: no RCD", "")
	if text := rcdText(&w.RCD); text != "" {
		rcd.value = text
		time = field("eic_rcd_main_measured", "").named(origin.Record.Name).taken(origin.Record.Name, "RCD time at IΔn")
		if n := c.readings.taken([]string{origin.Record.Name}, "RCD time at IΔn"); n >= 0 {
			time.value = c.m.Job.Readings[n].Value
		}
	}
	return append(list, rcd, time)
}

// aboutSurges is the clauses of protection against overvoltage, sections 443 and 534.
var aboutSurges = []string{"surge needed", "surge conductors", "surge distance", "surge leads", "surge level", "surge backup"}

// decisionItems is what was decided about surges and arc faults.
func (c *certificate) decisionItems() items {
	cert := &c.m.Job.Certificate
	surge := ""
	for _, f := range c.fs {
		if slices.ContainsFunc(aboutSurges, func(clause string) bool { return f.Clause == c.m.Rules.Clause(clause).Cited() }) {
			surge = join(f.Words()+" "+f.Clause.Name, f.Why.String())
			if d, ok := c.m.Job.JudgementOn(f); ok {
				surge += "; " + say(d.Outcome) + " by " + d.Who
			}
			if f.Verdict != finding.Meets {
				break
			}
		}
	}
	omitted := field("permitted_exception: not used", "")
	if yes, ok := cert.RCDOmitted.Get(); ok && yes {
		omitted = field("permitted_exception", before("yes; risk assessment: ", cert.RiskAssessment))
	}
	return items{omitted,
		field("eic_spd_decision", surge),
		field("eic_afdd_decision", cert.ArcFault)}
}

func statedItem[Q any](i item, q works.Stated[Q]) item {
	f := statedFact(i.what, q)
	i.value, i.note = ifKnown("%v", q.Value), f.Note
	return i
}

// allOf joins parts that must all be there, or says nothing.
func allOf(parts ...string) string {
	for _, p := range parts {
		if p == "" {
			return ""
		}
	}
	return join(parts...)
}

func orElse(s, otherwise string) string {
	if s == "" {
		return otherwise
	}
	return s
}

// confirmed prints a thing confirmed, or nothing: on new work it may not be
// denied.
func confirmed(b quantity.Maybe[bool], as string) string {
	if b.Or(false) {
		return as
	}
	return ""
}

func csaOf(q quantity.Maybe[quantity.SquareMillimetres]) string {
	if !q.IsKnown() {
		return ""
	}
	return fmt.Sprintf("copper, %v", q)
}
