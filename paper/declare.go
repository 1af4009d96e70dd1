package paper

import (
	"fmt"
	"strconv"
	"strings"

	"chargewright/document"
	"chargewright/job"
)

func itoa(n int) string { return strconv.Itoa(n) }

// particulars is what the certificate says of the work, its client and place.
func (c *certificate) particulars() items {
	j, cert := c.m.Job, &c.m.Job.Certificate
	work := string(cert.Work.Or(""))
	old := cert.Work.Or("") != job.NewInstallation
	reference := "given when it is issued"
	if c.issue != nil {
		reference = c.issue.Named()
	}
	existing := item{key: "existing_installation_comments", what: "Existing installation", value: cert.Existing, of: "certificate/existing installation", get: "say what was seen of the part not worked on; enter certificate, existing installation", waive: !old}
	records := item{key: "records_available", what: "Earlier records", value: cert.Records, of: "certificate/earlier records", get: "ask for earlier certificates and reports; enter certificate, earlier records, with their dates, or none", waive: !old}
	return items{
		{key: "eic_reference", what: "Number", value: reference},
		{key: "client_name", what: "Client", value: j.Site.Client, of: "site/client", get: "enter site, client"},
		{key: "client_address", what: "Client's address", value: j.Site.ClientAddress, of: "site/client address", get: "enter site, client address"},
		{key: "installation_address", what: "Address of the installation", value: j.Site.Address, of: "site/address", get: "enter site, address"},
		{key: "work_kind", what: "Kind of work", value: work, of: "certificate/work", get: "enter certificate, work: new installation, addition, alteration or replacement of a distribution board"},
		{key: "work_extent", what: "Extent", value: cert.Extent, of: "certificate/extent", get: "say what the certificate covers; enter certificate, extent"},
		{key: "standard_edition", what: "Designed, built and tested to", value: statedEdition(j), of: "edition", get: "enter edition: the certificate names the edition worked to"},
		{key: "", what: "Completed", value: cert.Completed, of: "certificate/completed", get: "enter certificate, completed"},
		records, existing,
		c.departuresItem(),
		c.nextItem(),
		{key: "eic_schedules_attached_rule", what: "Valid only with", value: "its schedule of inspections and its schedule of circuits and test results, which follow", waive: true},
	}
}

func statedEdition(j *job.Job) string {
	if !j.EditionStated {
		return ""
	}
	return string(j.Edition)
}

func (c *certificate) departuresItem() item {
	cert := &c.m.Job.Certificate
	i := item{key: "departures", what: "Departures (120.3, 133.1.3, 133.5)", of: "certificate/no departures", get: "enter departures, each with its reason; or certificate, no departures: yes"}
	switch n := len(c.m.Job.Departures); {
	case n > 0:
		i.value = fmt.Sprintf("%d, listed under departures", n)
	case cert.NoDepartures.Or(false):
		i.value = "none"
	}
	return i
}

func (c *certificate) nextItem() item {
	cert := &c.m.Job.Certificate
	i := item{key: "next_inspection", what: "Inspect again", of: "certificate", get: "decide it by use, place and upkeep; enter certificate, inspect again within months, and the reason for the interval"}
	if months, ok := cert.InspectAgain.Get(); ok && cert.InspectAgainWhy != "" {
		i.value, i.note = "within "+inYears(months), cert.InspectAgainWhy
		if due, ok := dueDate(cert); ok {
			i.value += ", by " + due.Format("2 January 2006")
		}
	}
	return i
}

// inYears prints an interval in years and months.
func inYears(n int) string {
	plural := func(n int, of string) string {
		switch n {
		case 0:
			return ""
		case 1:
			return "1 " + of
		}
		return fmt.Sprintf("%d %ss", n, of)
	}
	return join(plural(n/12, "year"), plural(n%12, "month"))
}

// duties are the three declarations, under the keys of the forms table.
var duties = []struct {
	duty job.Duty
	key  string
	says string
}{
	{job.Designing, "designer_name_date_sign", "I answer for the design. As far as it is mine, and with the departures listed here, it is to the best of my knowledge and belief in accordance with the edition named above."},
	{job.Constructing, "constructor_name_date_sign", "I answer for the construction. As far as it is mine, and with the departures listed here, it is to the best of my knowledge and belief in accordance with the edition named above."},
	{job.Testing, "inspector_name_date_sign", "I answer for the inspection and testing. As far as they are mine, and within the limitations listed here, what was inspected and tested is to the best of my knowledge and belief in accordance with the edition named above."},
}

// signatures is who answers for what, and who they are, as sections to print and
// as items to hold against the forms table.
func (c *certificate) signatures() (sections []document.Section, who document.Block, list items) {
	people := map[string]*job.Person{}
	for i := range c.m.Job.People {
		people[c.m.Job.People[i].Name] = &c.m.Job.People[i]
	}
	signed := map[string]bool{}
	form := "each part by the one who answers for it"
	for _, d := range duties {
		i := item{key: d.key, what: capital(string(d.duty)), of: "certificate/signing", get: "enter under certificate, signing: for, name and date"}
		t := document.Table{Columns: []document.Column{{Head: "Name", Share: 44}, {Head: "Date", Share: 26}, {Head: "Part", Share: 38}, {Head: "Signature", Share: 62, Boxed: true}}}
		for _, s := range c.m.Job.Certificate.Sign {
			duty := s.For.Or("")
			if duty != d.duty && duty != job.AllThree {
				continue
			}
			if duty == job.AllThree {
				form = "one person answers for all three parts and signs once"
			}
			if s.Name == "" || s.Date == "" {
				continue
			}
			i.value = join(i.value, s.Name+" "+s.Date)
			signed[s.Name] = true
			t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: s.Name, Bold: true}, {Text: s.Date}, {Text: orElse(s.Part, "all")}, {}}, Least: 12})
		}
		if len(t.Rows) == 0 {
			t.Rows = []document.Row{{Cells: document.Cells(notKnown, notKnown, "", ""), Least: 12}}
		}
		list = append(list, i)
		sections = append(sections, document.Section{Heading: "Declaration: " + string(d.duty), Whole: true, Blocks: []document.Block{document.Paragraph{Text: d.says}, t}})
	}
	particulars := item{key: "signatory_company_address_phone", what: "Particulars of the signatories", of: "people", get: "enter firm, address and telephone of each signatory under people"}
	t := document.Table{Columns: []document.Column{{Head: "Signatory", Share: 34}, {Head: "Firm", Share: 44}, {Head: "Address", Share: 52}, {Head: "Telephone, e-mail", Share: 42}, {Head: "Registration", Share: 30}}}
	complete := len(signed) > 0
	for i := range c.m.Job.People {
		p := &c.m.Job.People[i]
		if !signed[p.Name] {
			continue
		}
		complete = complete && p.Firm != "" && p.Address != "" && p.Phone != ""
		t.Rows = append(t.Rows, document.Row{Cells: document.Cells(p.Name, written(p.Firm), written(p.Address), orNotKnown(join(p.Phone, p.Email)), orElse(p.Registration, "none stated"))})
	}
	if complete {
		particulars.value = "as printed"
	}
	list = append(list, particulars, item{key: "eic_signature_form", what: "Signed by", value: form, waive: true},
		item{key: "eic_second_designer", what: "Shared duties", value: "the part each answers for stands beside the name", waive: true})
	if len(t.Rows) == 0 {
		return sections, document.Paragraph{Text: "Who they are: " + notKnown + "."}, list
	}
	return sections, t, list
}

// copies says who has the certificate.
func (c *certificate) copies() items {
	return items{{key: "eic_copy_record", what: "Copies", value: join("the original goes to the one who ordered the work, a copy stays with the firm", c.m.Job.Certificate.Copies), waive: true}}
}

// people is the names under a role, for papers that name who to ask.
func withRole(j *job.Job, role string) string {
	var names []string
	for _, p := range j.People {
		if strings.Contains(p.Role, role) {
			names = append(names, join(p.Name, p.Firm, p.Phone))
		}
	}
	return strings.Join(names, "; ")
}
