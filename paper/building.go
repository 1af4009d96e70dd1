package paper

import (
	"time"

	"chargewright/model"
)

// buildingItems is what building control asks for.
func buildingItems(m *model.Model) items {
	j, n := m.Job, &m.Job.Notification
	notifiable, said := n.Notifiable.Get()
	need := func(i item) item {
		i.waive = said && !notifiable
		return i
	}
	nation := item{key: "bc_nation", what: "Nation", value: j.Site.Nation, get: "enter site, nation"}
	rule := item{key: "", what: "What holds there", waive: true, value: map[string]string{
		"England":          "Building Regulations 2010, Part P: a new circuit at a dwelling is notified (from memory)",
		"Wales":            "Welsh building regulations: their list of what is notified differs from England's (from memory)",
		"Scotland":         "building warrant, or a certifier of construction: another system (from memory)",
		"Northern Ireland": "no rule like Part P (from memory)"}[j.Site.Nation]}
	deadline := item{key: "bc_deadline", what: "To be told by", waive: true, value: "within 30 days of completion (from memory)"}
	if t, err := time.Parse(time.DateOnly, j.Certificate.Completed); err == nil {
		deadline.value = "by " + t.AddDate(0, 0, 30).Format("2 January 2006") + ", within 30 days of completion (from memory)"
	}
	return items{
		{key: "bc_notifiable", what: "Notifiable", value: known(n.Notifiable), get: "judge it by nation and kind of work; enter notification, building control notifiable"},
		{key: "bc_route", what: "Route", value: ifKnown("%s", n.Route), get: "enter notification, building control route"},
		need(item{key: "bc_scheme_member", what: "Registered firm, or certifier", value: n.Scheme, get: "enter notification, scheme"}),
		{key: "bc_before_start", what: "Before the work begins", value: "a building notice or a certifier's appointment comes before the work; self-certification after it", waive: true},
		{key: "bc_third_party_time", what: "A third-party certifier", value: "is told within 5 days of completion (from memory)", waive: true},
		deadline, nation, rule,
		{key: "bc_scotland", waive: true}, {key: "bc_wales", waive: true}, {key: "bc_ni", waive: true},
		{key: "bc_property", what: "Property", value: j.Site.Address, note: join(before("UPRN ", n.UPRN), ifKnown("%s", j.Site.Premises)), get: "enter site, address"},
		{key: "bc_owner_occupier", what: "Ordered by, lived in by", value: join(j.Site.Client, n.Occupier), get: "enter site, client"},
		{key: "bc_work_description", what: "Work", value: j.Certificate.Extent, get: "enter certificate, extent"},
		{key: "bc_completion_date", what: "Completed", value: j.Certificate.Completed, get: "enter certificate, completed"},
		need(item{key: "bc_statement", what: "Meets regulations 4 and 7", value: confirmed(n.Regulations, "yes, stated by the installer"), get: "enter notification, meets regulations 4 and 7"}),
		{key: "bc_part_s", what: "New building or major renovation (Part S)", value: orElse(known(n.NewOrRenewed), "not stated"), waive: true},
		{key: "bc_eic_attached", what: "Certificate", value: "the electrical installation certificate of this job, by its number once issued", waive: true},
		{key: "bc_certificate_sent", what: "Sent", value: orElse(n.BuildingSent, "not sent yet"), waive: true},
	}
}
