package paper

import (
	"fmt"
	"slices"
	"strconv"

	"chargewright/document"
	"chargewright/job"
	"chargewright/trade"
	"chargewright/works"
)

func itoa(n int) string { return strconv.Itoa(n) }

// particulars is what the certificate says of the work, its client and place.
func (c *certificate) particulars() items {
	j, cert := c.m.Job, &c.m.Job.Certificate
	work := string(cert.Work.Or(""))
	old := cert.Work.Or("") != trade.NewInstallation
	reference := "given when it is issued"
	if c.issue != nil {
		reference = c.issue.Named()
	}
	existing := field("existing_installation_comments", cert.Existing).waived(!old)
	records := field("records_available", cert.Records).waived(!old)
	return items{
		field("eic_reference", reference),
		field("client_name", j.Site.Client),
		field("client_address", j.Site.ClientAddress),
		field("installation_address", j.Site.Address),
		field("work_kind", work),
		field("work_extent", cert.Extent),
		field("standard_edition", statedEdition(j)),
		field(": completed", asWritten(cert.Completed)),
		records, existing,
		c.departuresItem(),
		c.nextItem(),
		field("eic_schedules_attached_rule", ""),
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
	i := field("departures", "")
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
	i := field("next_inspection", "")
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
	duty trade.Duty
	key  string
	says string
}{
	{trade.Designing, "designer_name_date_sign", "I answer for the design, made with reasonable skill and care. As far as it is mine, and with the " +
		"departures listed here, it is to the best of my " +
		"knowledge and belief in accordance with the edition named above."},
	{trade.Constructing, "constructor_name_date_sign", "I answer for the construction, done with reasonable skill and care. As far as it is mine, and " +
		"with the departures listed here, it is to the best of my knowledge and belief in accordance with the edition named above, and it does not impair " +
		"the existing installation it is joined to."},
	{trade.Testing, "inspector_name_date_sign", "I answer for the inspection and testing, done with reasonable skill and care. As far as they " +
		"are mine, and within the limitations listed here, " +
		"what was inspected and tested is to the best of my knowledge and belief in accordance with the edition named above."},
}

// signatures is who answers for what, and who they are, as sections to print and
// as items to hold against the forms table.
func (c *certificate) signatures() (sections []document.Section, who document.Block, list items) {
	people := map[string]*works.Person{}
	for i := range c.m.Job.People {
		people[c.m.Job.People[i].Name] = &c.m.Job.People[i]
	}
	signed := map[string]bool{}
	form := "each part by the one who answers for it"
	for _, d := range duties {
		i := field(d.key, "")
		var rows []document.Row
		for _, s := range c.m.Job.Certificate.Sign {
			duty := s.For.Or("")
			if duty != d.duty && duty != trade.AllThree {
				continue
			}
			if duty == trade.AllThree {
				form = "one person answers for all three parts and signs once"
			}
			if s.Name == "" || s.Date == "" {
				continue
			}
			i.value = join(i.value, s.Name+" "+asWritten(s.Date))
			signed[s.Name] = true
			rows = append(rows, signatureRow(&s))
		}
		if len(rows) == 0 {
			rows = []document.Row{{Cells: document.Cells(notKnown, notKnown, "", ""), Least: 12}}
		}
		list = append(list, i)
		sections = append(sections, document.Section{Heading: "Declaration: " + string(d.duty), Whole: true,
			Blocks: []document.Block{document.Paragraph{Text: d.says}, signatureTable(rows, true)}})
	}
	particulars := field("signatory_company_address_phone", "")
	t := document.Table{Columns: []document.Column{{Head: "Signatory", Share: 34}, {Head: "Firm", Share: 44}, {Head: "Address", Share: 52},
		{Head: "Telephone, e-mail", Share: 42}, {Head: "Registration", Share: 30}}}
	complete, known := true, 0
	for i := range c.m.Job.People {
		p := &c.m.Job.People[i]
		if !signed[p.Name] {
			continue
		}
		known++
		complete = complete && p.Firm != "" && p.Address != "" && p.Phone != ""
		t.Rows = append(t.Rows, document.Row{Cells: document.Cells(p.Name, written(p.Firm), written(p.Address), orNotKnown(join(p.Phone, p.Email)),
			orElse(p.Registration, "none stated"))})
	}
	if complete && known > 0 && known == len(signed) {
		particulars.value = "as printed"
	}
	if alone := c.answersForAll(); alone != nil && len(c.m.Job.Certificate.Sign) == 1 {
		sections = []document.Section{{Heading: "Declaration", Whole: true, Blocks: []document.Block{document.Paragraph{Text: "I answer for design, " +
			"construction, inspection and testing of this work. I did it with reasonable skill and care. As far as it is mine, with the departures and within " +
			"the limitations listed here, it is to the best of my knowledge and belief in accordance with the edition named above, and it does not impair the " +
			"existing installation it is joined to."}, signatureTable([]document.Row{signatureRow(alone)}, false)}}}
	}
	list = append(list, particulars, field("eic_signature_form", form),
		field("eic_second_designer", ""))
	if len(t.Rows) == 0 {
		return sections, document.Paragraph{Text: "Who they are: " + notKnown + "."}, list
	}
	return sections, t, list
}

// signatureRow is the place of one signature.
func signatureRow(s *works.Signing) document.Row {
	return document.Row{Cells: []document.Cell{{Text: s.Name, Bold: true}, {Text: asWritten(s.Date)}, {Text: orElse(s.Part, "all")}, {}}, Least: 12}
}

// signatureTable is places to sign; in parts, where several people answer.
func signatureTable(rows []document.Row, parts bool) document.Table {
	t := document.Table{Columns: []document.Column{{Head: "Name", Share: 44}, {Head: "Date", Share: 32}, {Head: "Part", Share: 32},
		{Head: "Signature", Share: 62, Boxed: true}}, Rows: rows}
	if parts {
		return t
	}
	t.Columns = slices.Delete(slices.Clone(t.Columns), 2, 3)
	for i := range t.Rows {
		t.Rows[i].Cells = slices.Delete(t.Rows[i].Cells, 2, 3)
	}
	return t
}

// copies says who has the certificate.
func (c *certificate) copies() items {
	return items{field("eic_copy_record", join("the original goes to the one who ordered the work, a copy stays with the firm", c.m.Job.Certificate.Copies))}
}

// installer is who installs, as the operator is told: the person named for it,
// or else who answers for the construction.
func installer(j *job.Job) string {
	name := j.Notification.Installer
	for _, s := range j.Certificate.Sign {
		if d := s.For.Or(""); name == "" && (d == trade.Constructing || d == trade.AllThree) {
			name = s.Name
		}
	}
	for _, p := range j.People {
		if p.Name == name && name != "" {
			return join(p.Name, p.Firm, p.Phone)
		}
	}
	return name
}
