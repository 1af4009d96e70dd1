package paper

import (
	"fmt"
	"strings"
	"time"

	"chargewright/design"
	"chargewright/document"
	"chargewright/job"
	"chargewright/model"
	"chargewright/quantity"
)

// operatorItems is what the network operator asks for, under the keys of the
// forms table.
func operatorItems(m *model.Model) items {
	j, s, n := m.Job, &m.Job.Supply, &m.Job.Notification
	d := m.SupplyDemand()
	total, existing, points := "", "", ""
	if d.Total.Known() {
		total = d.Total.Greatest().String() + " in the most loaded line"
	}
	if d.Existing.Known() {
		existing = d.Existing.Greatest().String()
	}
	if d.Points.Known() {
		points = d.Points.Greatest().String() + " in the most loaded line, if nothing held them back"
	}
	limit := "no load limiting"
	if d.Limiter != nil {
		limit = join(d.Limiter.Name, ifKnown("%v each line", d.Limiter.Limit), ifKnown("fail-safe %v", d.Limiter.FailSafe))
	}
	completed := item{key: "dno_install_date", what: "Date of installation", value: j.Certificate.Completed, get: "enter certificate, completed; planned date where leave is asked first"}
	route, reasons, lacks := design.Notification(m, d)
	kind := item{key: "dno_form_kind", what: "Ask first, or tell after", get: lacks.String()}
	switch route {
	case design.TellAfter:
		kind.value, kind.note = "tell after", strings.Join(reasons, "; ")
	case design.AskBefore:
		kind.value, kind.note = "ask before the work", strings.Join(reasons, "; ")
	case design.AskBeforeDoNotEnergise:
		kind.value, kind.note = "ask before, and do not energise", strings.Join(reasons, "; ")
	}
	deadline := item{key: "dno_notify_deadline", what: "To be told by", value: "before the work", waive: true}
	if days, _, err := m.Rules.Limit("lct tell days"); err == nil && route == design.TellAfter {
		deadline.value = fmt.Sprintf("within %.0f days of the installation", days)
		if t, err := time.Parse(time.DateOnly, j.Certificate.Completed); err == nil {
			deadline.value += ", by " + t.AddDate(0, 0, int(days)).Format("2 January 2006")
		}
	}
	others, _ := s.Sources()
	return append(items{kind,
		{key: "dno_decision", what: "Why", value: orElse(strings.Join(reasons, "; "), "the demand is within the limits and the service is known and sound"), waive: true},
		{key: "dno_reasons_to_ask_first", what: "Reasons to ask first", value: "demand above the cut-out, or above 60 A at a dwelling; cut-out unknown; looped; unsafe; unmetered; points not to their standards", waive: true},
		deadline, completed,
		{key: "dno_address", what: "Address", value: j.Site.Address, get: "enter site, address"},
		{key: "dno_mpan", what: "Supply number", value: n.MPAN, get: "read it from the bill; enter notification, supply number"},
		{key: "dno_site_kind", what: "Kind of place", value: ifKnown("%s", j.Site.Premises), get: "enter site, premises"},
		{key: "dno_owner", what: "Owner", value: j.Site.Client, note: join(j.Site.ClientPhone, j.Site.ClientEmail), get: "enter site, client"},
		{key: "dno_installer", what: "Installer", value: orElse(withRole(j, "installer"), withRole(j, "designer")), get: "enter the installer under people, with telephone and e-mail"},
		{key: "dno_supply_phases", what: "Phases at the cut-out", value: ifKnown("%d", s.Phases), get: "enter supply, phases"},
		{key: "dno_cutout_rating", what: "Cut-out", value: ifKnown("%v", s.CutOut.Rating), note: ifKnown("%s", s.CutOut.Type), get: "read the carrier; enter supply, cut-out, rating"},
		{key: "dno_cutout_condition", what: "Cut-out, fuse and tails", value: ifKnown("%s", s.ServiceCondition), get: "look at them; enter supply, service equipment"},
		{key: "dno_looped", what: "Looped service", value: known(s.Looped), note: "add a photograph of the cut-out", get: "see it or ask; enter supply, looped"},
		{key: "dno_unmetered", what: "Unmetered supply", value: known(s.Unmetered), get: "enter supply, unmetered"},
		{key: "dno_earthing", what: "Earthing of the points", value: earthingOfPoints(m), get: "enter the earthing measure of each point"},
		{key: "dno_existing_demand", what: "Demand before", value: existing, get: "measure or assess it; enter supply, maximum demand"},
		{key: "dno_ev_demand", what: "Demand of all charging equipment", value: points, get: "enter power or current of each point"},
		{key: "dno_other_ev_included", what: "Older charging equipment", value: "counted where it is entered among the points or loads", waive: true},
		{key: "dno_max_demand", what: "Demand with the points", value: total, get: d.Total.Lacks.String()},
		{key: "dno_demand_unit", what: "Demand is stated in", value: "A, each line", waive: true},
		{key: "dno_demand_method", what: "How the demand was found", value: n.DemandMethod, get: "enter notification, demand method"},
		{key: "dno_load_limit", what: "Load limiting", value: limit, waive: true},
		{key: "dno_other_lct", what: "Other sources, heat pumps", value: orElse(strings.Join(append(others, heatPumps(m)...), ", "), "none recorded"), waive: true},
	}, deviceItems(m)...)
}

func heatPumps(m *model.Model) []string {
	var out []string
	for _, l := range m.Job.Loads {
		if l.Kind.Or("") == job.HeatPump {
			out = append(out, join(l.Name, ifKnown("%v", l.Current)))
		}
	}
	return out
}

// deviceItems is what is told of the points themselves.
func deviceItems(m *model.Model) items {
	n := &m.Job.Notification
	var kinds []string
	var kilowatts float64
	made, counted := true, true
	for _, p := range m.Points {
		r := p.Record
		made = made && r.Make != ""
		kinds = append(kinds, join(orElse(r.Make, "make not known"), ifKnown("%v", r.Power), ifKnown("%d-phase", r.Phases)))
		w, ok := r.Power.Get()
		counted = counted && ok
		kilowatts += float64(w)
	}
	device := item{key: "dno_device", what: "Points", get: "read make and model from the plate; enter make and model of each point"}
	if made && len(kinds) > 0 {
		device.value = strings.Join(unique(kinds), "; ")
	}
	count := item{key: "dno_device_count", what: "How many, total power", get: "enter power of each point"}
	if counted && len(kinds) > 0 {
		count.value = fmt.Sprintf("%d, %v", len(kinds), quantity.Watts(kilowatts))
	}
	back := item{key: "dno_v2g_capacity", what: "Feeds back", value: known(n.ToSupply), note: n.ExportLimit, get: "enter notification, feeds back"}
	return items{device, count,
		{key: "dno_flicker_harmonics", what: "Harmonics and flicker", value: n.Emissions, get: "ask the maker for the standards declared; enter notification, harmonics and flicker"},
		back,
		{key: "dno_one_form_per_device", what: "Forms", value: "one for each device and premises; a list where there are several alike", waive: true},
		{key: "dno_sent_proof", what: "Sent", value: orElse(join(n.Sent, before("to ", n.Operator), before("reference ", n.Reference)), "not sent yet"), waive: true}}
}

// known prints yes or no, or nothing.
func known(b quantity.Maybe[bool]) string { return lookup(yesNo(b)) }

func earthingOfPoints(m *model.Model) string {
	var kinds []string
	for _, p := range m.Points {
		measure := ifKnown("%s", p.Record.Earthing.Measure)
		if measure == "" {
			return ""
		}
		kinds = append(kinds, join(measure, p.Record.Earthing.Electrode))
	}
	return strings.Join(unique(kinds), "; ")
}

// notificationPaper sets the data for the network operator and for building
// control. It is data to copy from, not either's form.
func notificationPaper(m *model.Model, made time.Time) *document.Document {
	d := newDocument(m, made, "Notices", "What the network operator and building control are told, ready to copy into their own forms, which this is not.")
	operator, building := operatorItems(m), buildingItems(m)
	d.Sections = []document.Section{
		{Heading: "Network operator", Blocks: []document.Block{operator.facts()}},
		{Heading: "Building control", NewPage: true, Blocks: []document.Block{building.facts()}},
	}
	if gaps := append(operator.gaps("network operator"), building.gaps("building control")...); len(gaps) > 0 {
		d.Sections = append(d.Sections, document.Section{Heading: "Still wanted", Blocks: []document.Block{gapTable(gaps)}})
	}
	return d
}
