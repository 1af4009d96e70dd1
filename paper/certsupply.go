package paper

import (
	"fmt"
	"strings"

	"chargewright/finding"
	"chargewright/job"
	"chargewright/quantity"
)

// supplyItems is the supply as the certificate states it, each value with how
// it is known.
func (c *certificate) supplyItems() items {
	s := &c.m.Job.Supply
	phases := s.Phases.Or(0)
	list := items{
		{key: "earthing_arrangement", what: "Earthing system", value: ifKnown("%s", s.Earthing), of: "supply/earthing", get: "see it at the intake, ask the network operator; enter supply, earthing"},
		{key: "live_conductors_kind", what: "Live conductors", value: liveConductors(phases), of: "supply/phases", get: "enter supply, phases"},
		{key: "nominal_voltage", what: "Nominal voltage", value: nominalVoltage(s, phases), note: "by enquiry", of: "supply/voltage", get: "ask the network operator; enter supply, voltage"},
		{key: "nominal_frequency", what: "Nominal frequency", value: s.Frequency, note: "by enquiry", of: "supply/frequency", get: "enter supply, frequency"},
		{key: "supply_polarity_confirmed", what: "Polarity of the supply", value: confirmed(s.Polarity, "as marked"), of: "supply/polarity confirmed", get: "confirm line and neutral at the intake; enter supply, polarity confirmed"},
		statedItem("supply/Ipf", "prospective_fault_current", "Prospective fault current Ipf", s.Ipf, "measure it (the greater of line-neutral and line-earth), calculate it or ask; enter supply, Ipf"),
		statedItem("supply/Ze", "external_loop_impedance", "External loop impedance Ze", s.Ze, "measure it with the earthing conductor disconnected, or ask; enter supply, Ze"),
		{key: "supply_device_standard_type_rating", what: "Cut-out fuse", value: allOf(ifKnown("%s", s.CutOut.Type), ifKnown("%v", s.CutOut.Rating)), note: ifKnown("breaks %v", s.CutOut.BreakingCapacity), of: "supply/cut-out", get: "read it from the carrier; enter supply, cut-out"},
		{key: "other_sources", what: "Other sources", value: orElse(strings.Join(s.OtherSources, ", "), "none recorded"), waive: true},
	}
	known := item{key: "eic_supply_value_origin", what: "How the values are known", waive: true, value: "beside each"}
	if !s.Ze.KnownBy.IsKnown() || !s.Ipf.KnownBy.IsKnown() {
		known = item{key: "eic_supply_value_origin", what: "How Ze and Ipf are known", of: "supply/Ze", get: "enter known by beside Ze and Ipf: measured, declared or calculated"}
	}
	for _, v := range []quantity.Maybe[job.HowKnown]{s.Ze.KnownBy, s.Ipf.KnownBy} {
		if v.Or("") == job.Assumed {
			known = item{key: "eic_supply_value_origin", what: "Ze or Ipf is assumed", of: "supply/Ze", get: "a certificate wants it measured, calculated or declared"}
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
func nominalVoltage(s *job.Supply, phases int) string {
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
func (c *certificate) earthingItems() items {
	s := &c.m.Job.Supply
	list := items{
		{key: "means_of_earthing", what: "Means of earthing", value: meansOfEarthing(s), of: "supply/earthing", get: "enter supply, earthing"},
		c.demandItem(),
		{key: "eic_demand_unit", what: "Demand is stated in", value: "A, in the most loaded line", waive: true},
	}
	list = append(list, c.electrodeItems()...)
	e := &s.EarthingConductor
	list = append(list, item{key: "earthing_conductor_material_csa_verified", what: "Earthing conductor", value: allOf(csaOf(e.CSA), confirmed(e.Connected, "continuity and connection verified")),
		note: ifKnown("%v long", e.Length), of: "supply/earthing conductor", get: "see, measure and test it; enter supply, earthing conductor: csa, connected"})
	list = append(list, c.bondingItems()...)
	return append(list, c.mainSwitchItems()...)
}

func meansOfEarthing(s *job.Supply) string {
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
	i := item{key: "maximum_demand", what: "Maximum demand", of: "supply/maximum demand", get: "measure or assess it; enter supply, maximum demand, and the points"}
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
		what := "Electrode " + e.Name
		ra := ifKnown("RA %v", e.Resistance.Value)
		if n := c.readings.taken([]string{e.Name}, "RA"); n >= 0 {
			ra = "RA " + c.m.Job.Readings[n].Value
		}
		list = append(list, item{key: "electrode_type_location_resistance", what: what, value: allOf(ifKnown("%s", e.Kind), e.Place, ra),
			note: join(ifKnown("%d in parallel", e.Number), ifKnown("%v long", e.Length)), of: job.Under("electrodes", e.Name), get: "measure its resistance; enter kind, place and resistance under electrodes"})
	}
	if len(list) == 0 {
		list = append(list, item{key: "electrode_type_location_resistance", what: "Electrode", value: "none recorded", waive: true})
		if c.m.Job.Supply.Earthing.Or("") == job.TT {
			list[0] = item{key: "electrode_type_location_resistance", what: "Electrode", of: "electrodes", get: "a TT installation has one: enter it under electrodes"}
		}
	}
	return list
}

// services are what may have to be bonded (411.3.1.2).
var services = []string{"water", "gas", "oil", "structural steel", "lightning protection"}

func (c *certificate) bondingItems() items {
	s, cert := &c.m.Job.Supply, &c.m.Job.Certificate
	var list items
	bonded := map[string]bool{}
	for i := range s.Bonding {
		b := &s.Bonding[i]
		bonded[b.To] = true
		list = append(list, item{key: "bonding_conductor_material_csa_verified", what: "Bonding to " + b.To, value: allOf(csaOf(b.CSA), confirmed(b.Connected, "continuity and connection verified")),
			note: c.bondingRule(b.To), of: job.Under("supply/main bonding", b.To), get: "see, measure and test it; enter supply, main bonding: csa, connected"})
	}
	if len(s.Bonding) == 0 {
		list = append(list, item{key: "bonding_conductor_material_csa_verified", what: "Bonding conductors", value: "none needed, as listed below", waive: len(cert.NothingToBond) > 0, of: "supply/main bonding", get: "enter supply, main bonding"})
		if len(cert.NothingToBond) == 0 {
			list[0].value = ""
		}
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
	all := item{key: "bonding_to_water_gas_oil_steel_lightning_other", what: "Each service", value: strings.Join(told, "; ")}
	if len(untold) > 0 {
		all.value, all.of, all.get = "", "certificate/nothing to bond", "see whether there is any "+strings.Join(untold, ", ")+"; enter it under supply, main bonding, or under certificate, nothing to bond"
	}
	return append(list, all,
		item{key: "eic_bonding_diameter_rule", what: "Bonding csa is judged by", value: "the rule beside each conductor, workings in the design sheet", waive: true})
}

// bondingRule is what the check found of one bonding conductor.
func (c *certificate) bondingRule(to string) string {
	for _, f := range c.fs {
		if f.Path == job.Under("supply/main bonding", to) && !f.Value.IsZero() {
			return join(f.Verdict.String()+" "+f.Clause.Name, before("asks ", f.Limit.String()))
		}
	}
	return ""
}

func (c *certificate) mainSwitchItems() items {
	origin := c.m.OriginBoard()
	if origin == nil {
		return items{{key: "main_switch_location_standard_poles_rating_voltage", what: "Main switch", of: "boards", get: "enter the board that is fed from: supply, and its main switch"}}
	}
	w := &origin.Record.MainSwitch
	list := items{{key: "main_switch_location_standard_poles_rating_voltage", what: "Main switch",
		value: allOf(origin.Record.Place, w.Standard, ifKnown("%d poles", w.Poles), ifKnown("%v", w.Rating), ifKnown("%v", w.Voltage)), note: origin.Record.Name,
		of: job.Under("boards", origin.Record.Name), get: "read it from the switch; enter place and main switch (standard, poles, rating, voltage) of board " + origin.Record.Name},
		{key: "main_switch_fuse_or_setting", what: "Its fuse or setting", value: orElse(ifKnown("%v", w.Fuse), "none recorded"), waive: true}}
	rcd := item{key: "main_rcd_type_IdeltaN_delay_time", what: "Its residual part", value: "none recorded", waive: true}
	time := item{key: "eic_rcd_main_measured", what: "Its operating time at IΔn", value: "no residual part recorded", waive: true}
	if text := rcdText(&w.RCD); text != "" {
		rcd.value = text
		time = item{key: "eic_rcd_main_measured", what: "Its operating time at IΔn", at: origin.Record.Name, reading: "RCD time at IΔn", get: "test it at IΔn; enter a reading RCD time at IΔn at " + origin.Record.Name}
		if n := c.readings.taken([]string{origin.Record.Name}, "RCD time at IΔn"); n >= 0 {
			time.value = c.m.Job.Readings[n].Value
		}
	}
	return append(list, rcd, time)
}

// decisionItems is what was decided about surges and arc faults.
func (c *certificate) decisionItems() items {
	cert := &c.m.Job.Certificate
	surge := ""
	for _, f := range c.fs {
		if strings.HasPrefix(f.Clause.Name, "443") || strings.HasPrefix(f.Clause.Name, "534") {
			surge = join(f.Verdict.String()+" "+f.Clause.Name, f.Why.String())
			if d, ok := c.m.Job.JudgementOn(f); ok {
				surge += "; " + say(d.Outcome) + " by " + d.Who
			}
			if f.Verdict != finding.Meets {
				break
			}
		}
	}
	omitted := item{key: "permitted_exception", what: "RCD omitted under 411.3.3", value: "none recorded", waive: true}
	if yes, ok := cert.RCDOmitted.Get(); ok && yes {
		omitted = item{key: "permitted_exception", what: "RCD omitted under 411.3.3", value: before("yes; risk assessment: ", cert.RiskAssessment), of: "certificate/risk assessment", get: "attach the risk assessment; enter certificate, risk assessment"}
	}
	return items{omitted,
		{key: "eic_spd_decision", what: "Surge protection", value: orElse(surge, "no rule on surges was checked"), waive: true},
		{key: "eic_afdd_decision", what: "Arc-fault protection", value: orElse(cert.ArcFault, "no decision recorded: 421.1.7 speaks of socket-outlet circuits of some premises"), waive: true}}
}

func statedItem[Q any](of, key, what string, q job.Stated[Q], get string) item {
	f := statedFact(what, q)
	return item{key: key, what: what, value: lookup(f.Value), note: f.Note, of: of, get: get}
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
