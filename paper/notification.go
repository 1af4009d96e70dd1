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
	"chargewright/trade"
	"chargewright/works"
)

// operatorItems is what the network operator asks for, under the keys of the
// forms table.
func operatorItems(m *model.Model) items {
	j, s, n := m.Job, &m.Job.Supply, &m.Job.Notification
	d := m.SupplyDemand()
	total, existing, method, points := "", "", "", ""
	if d.Total.Known() {
		total = d.Total.Greatest().String() + " in the most loaded line"
	}
	if d.Existing.Known() {
		existing, method = d.Existing.Greatest().String(), m.DemandSource()
	}
	if d.Points.Known() {
		points = d.Points.Greatest().String() + " in the most loaded line, if nothing held them back"
	}
	most := field("dno_max_demand", total)
	most.get = d.Total.Lacks.String()
	completed := field("dno_install_date", j.Certificate.Completed)
	route, reasons, lacks := design.Notification(m, d)
	kind := field("dno_form_kind", "")
	kind.get = lacks.String()
	switch route {
	case design.TellAfter:
		kind.value, kind.note = "tell after", strings.Join(reasons, "; ")
	case design.AskBefore:
		kind.value, kind.note = "ask before the work", strings.Join(reasons, "; ")
	case design.AskBeforeDoNotEnergise:
		kind.value, kind.note = "ask before, and do not energise", strings.Join(reasons, "; ")
	}
	deadline := field("dno_notify_deadline", "")
	if days, _, err := m.Rules.Limit("lct tell days"); err == nil && route == design.TellAfter {
		deadline.value = fmt.Sprintf("within %.0f days of the installation", days)
		if t, err := time.Parse(time.DateOnly, j.Certificate.Completed); err == nil {
			deadline.value += ", by " + t.AddDate(0, 0, int(days)).Format("2 January 2006")
		}
	}
	installs := field("dno_installer", installer(j))
	if n.Installer == "" {
		installs.of = "certificate/signing" // who answers for the construction
	}
	return append(items{kind,
		field("dno_decision", strings.Join(reasons, "; ")),
		field("dno_reasons_to_ask_first", ""),
		deadline, completed,
		field("dno_address", j.Site.Address),
		field("dno_mpan", n.MPAN),
		field("dno_site_kind", ifKnown("%s", j.Site.Premises)),
		field("dno_owner", j.Site.Client).noted(join(j.Site.ClientPhone, j.Site.ClientEmail)),
		installs,
		field("dno_supply_phases", ifKnown("%d", s.Phases)),
		field("dno_cutout_rating", ifKnown("%v", s.CutOut.Rating)).noted(ifKnown("%s", s.CutOut.Type)),
		field("dno_cutout_condition", ifKnown("%s", s.ServiceCondition)),
		field("dno_looped", known(s.Looped)).noted(cutOutPhoto(j)),
		field("dno_unmetered", known(s.Unmetered)),
		field("dno_earthing", earthingOfPoints(m)),
		field("dno_existing_demand", existing),
		field("dno_ev_demand", points),
		field("dno_other_ev_included", ""),
		most,
		field("dno_demand_unit", ""),
		field("dno_demand_method", orElse(n.DemandMethod, method)),
		limiting(m, d),
		field("dno_other_lct", strings.Join(append(m.SourceWords(), heatPumps(m)...), "; ")),
	}, deviceItems(m)...)
}

// cutOutPhoto says that a photo of the cut-out goes with the notice, or is still
// to be taken.
func cutOutPhoto(j *job.Job) string {
	for _, p := range j.Chosen() {
		if p.Of == "cut-out" {
			return "a photograph of the cut-out goes with it"
		}
	}
	return "add a photograph of the cut-out"
}

// limiting is all that holds the charging back: every limiter with where it
// stands, and every point set below its rating; beside them the demand if none did.
func limiting(m *model.Model, d model.SupplyDemand) item {
	var says []string
	for _, l := range m.Job.Limiters {
		says = append(says, join(l.Name, before("at ", l.At), orElse(ifKnown("%v each line", l.Limit), "limit not known"), ifKnown("fail-safe %v", l.FailSafe)))
	}
	for _, p := range m.Points {
		r := p.Record
		to, set := r.Limit.Get()
		if rated, known := m.RatedCurrent(r).Get(); set && known && to < rated {
			says = append(says, fmt.Sprintf("%s set to %v of its %v", r.Name, to, rated))
		}
	}
	i := field("dno_load_limit", orElse(strings.Join(says, "; "), "no load limiting"))
	if len(says) > 0 && d.Total.Known() {
		i.note = "demand without limiters " + d.Unlimited.String()
	}
	return i
}

func heatPumps(m *model.Model) []string {
	var out []string
	for _, l := range m.Job.Loads {
		if l.Kind.Or("") == trade.HeatPump {
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
	device := field("dno_device", "")
	if made && len(kinds) > 0 {
		device.value = strings.Join(unique(kinds), "; ")
	}
	count := field("dno_device_count", "")
	if counted && len(kinds) > 0 {
		count.value = fmt.Sprintf("%d, %v", len(kinds), quantity.Watts(kilowatts))
	}
	back := field("dno_v2g_capacity", known(n.ToSupply)).noted(n.ExportLimit)
	return items{device, count,
		field("dno_flicker_harmonics", n.Emissions),
		back,
		field("dno_one_form_per_device", ""),
		sent(n)}
}

// sent says on which day the notice went; without one it was not sent yet. To
// whom it goes, and what came back, stand beside it.
func sent(n *works.Notification) item {
	return field("dno_sent_proof", asWritten(n.Sent)).noted(join(before("to ", n.Operator), before("reference ", n.Reference)))
}

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

// notices sets the data for the network operator and for building control, a
// paper each, in the order they go. It is data to copy from, not either's form.
// A photo of the cut-out that is chosen for the papers is bound in with the first,
// where its file is at hand; what is wrong with one is the error.
func notices(m *model.Model, photos map[string][]byte, made time.Time) ([]*document.Document, error) {
	prints, wrong := cutOutPrints(m.Job, photos)
	var out []*document.Document
	for _, to := range []struct {
		who   string
		items items
	}{{"network operator", operatorItems(m)}, {"building control", buildingItems(m)}} {
		d := newDocument(m, made, "Notice to "+to.who, "What "+to.who+" is told, ready to copy into a form of its own, which this is not.")
		d.Sections = []document.Section{{Heading: capital(to.who), Blocks: []document.Block{to.items.fields()}}}
		if gaps := to.items.gaps(to.who); len(gaps) > 0 {
			d.Sections = append(d.Sections, document.Section{Heading: "Still wanted", Blocks: []document.Block{gapTable(gaps)}})
		}
		if len(out) == 0 && len(prints) > 0 {
			d.Sections = append(d.Sections, document.Section{Heading: "The cut-out", Blocks: []document.Block{prints}})
		}
		out = append(out, d)
	}
	return out, wrong
}

// cutOutPrints are the chosen photos of the cut-out whose files are at hand.
func cutOutPrints(j *job.Job, photos map[string][]byte) (document.Prints, error) {
	var chosen []works.Photo
	for _, p := range j.Chosen() {
		if _, there := photos[p.Name]; there && p.Of == "cut-out" {
			chosen = append(chosen, p)
		}
	}
	var prints document.Prints
	var wrong PhotoProblems
	for _, p := range printsOf(chosen, photos) {
		if p.problem != nil {
			wrong = append(wrong, *p.problem)
			continue
		}
		prints = append(prints, p.print)
	}
	if wrong != nil {
		return prints, wrong
	}
	return prints, nil
}
