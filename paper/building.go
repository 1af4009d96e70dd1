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
	nation := field("bc_nation", j.Site.Nation)
	rule := field(": what holds there", map[string]string{
		"England":          "Building Regulations 2010, Part P: a new circuit at a dwelling is notified (from memory)",
		"Wales":            "Welsh building regulations: their list of what is notified differs from England's (from memory)",
		"Scotland":         "building warrant, or a certifier of construction: another system (from memory)",
		"Northern Ireland": "no rule like Part P (from memory)"}[j.Site.Nation])
	deadline := field("bc_deadline", "")
	if t, err := time.Parse(time.DateOnly, j.Certificate.Completed); err == nil {
		deadline.value = "by " + t.AddDate(0, 0, 30).Format("2 January 2006") + ", within 30 days of completion (from memory)"
	}
	return items{
		field("bc_notifiable", known(n.Notifiable)),
		field("bc_route", ifKnown("%s", n.Route)),
		need(field("bc_scheme_member", n.Scheme)),
		field("bc_before_start", ""),
		field("bc_third_party_time", ""),
		deadline, nation, rule,
		field("bc_scotland", ""), field("bc_wales", ""), field("bc_ni", ""),
		field("bc_property", j.Site.Address).noted(join(before("UPRN ", n.UPRN), ifKnown("%s", j.Site.Premises))),
		field("bc_owner_occupier", join(j.Site.Client, n.Occupier)),
		field("bc_work_description", j.Certificate.Extent),
		field("bc_completion_date", j.Certificate.Completed),
		need(field("bc_statement", confirmed(n.Regulations, "yes, stated by the installer"))),
		field("bc_part_s", known(n.NewOrRenewed)),
		field("bc_eic_attached", ""),
		field("bc_certificate_sent", n.BuildingSent),
	}
}
