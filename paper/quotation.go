package paper

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"chargewright/document"
	"chargewright/finding"
	"chargewright/model"
	"chargewright/works"
)

// money is pence; it prints as pounds.
type money int64

func (p money) String() string {
	sign := ""
	if p < 0 {
		sign, p = "−", -p
	}
	return fmt.Sprintf("%s£%d.%02d", sign, p/100, p%100)
}

// pence rounds an amount of pounds once, half up.
func pence(pounds float64) money { return money(math.Floor(pounds*100 + 0.5 + 1e-9)) }

// quoted is a quotation worked out, one for what is always done and one for
// each option.
type quoted struct {
	Option string       `json:"option"`
	Lines  []quotedLine `json:"lines"`
	Net    money        `json:"pence"` // before VAT
	VAT    money        `json:"vatPence"`
}

type quotedLine struct {
	What  string `json:"what"`
	Count string `json:"quantity"`
	Each  string `json:"each"`
	Total string `json:"total"`
}

// priceRows is a quotation as a table.
func priceRows(all []quoted) [][]string {
	rows := [][]string{{"option", "what", "quantity", "each", "total"}}
	for _, g := range all {
		for _, l := range g.Lines {
			rows = append(rows, []string{g.Option, l.What, l.Count, l.Each, l.Total})
		}
	}
	return rows
}

// quote works out the quotation; gaps are prices that are not entered.
func quote(q *works.Quotation) (out []quoted, gaps finding.Lacks) {
	of := works.Thing{Path: "quotation"}
	lacks := func(field, what string, or ...string) { gaps = append(gaps, of.Lack(field, what, or...)...) }
	by := map[string]int{}
	under := func(option string) *quoted {
		if _, ok := by[option]; !ok {
			by[option] = len(out)
			out = append(out, quoted{Option: option})
		}
		return &out[by[option]]
	}
	under("")
	rate, rated := q.Rate.Get()
	for _, l := range q.Labour {
		hours, ok := l.Hours.Get()
		if !ok || !rated {
			lacks("labour", "labour "+l.Stage+": hours, or the labour rate", "labour rate")
			continue
		}
		total := pence(hours * rate)
		g := under(l.Option)
		g.Net += total
		g.Lines = append(g.Lines, quotedLine{"Labour: " + l.Stage, strconv.FormatFloat(hours, 'f', -1, 64) + " h", pence(rate).String(), total.String()})
	}
	for _, i := range q.Items {
		n, ok1 := i.Quantity.Get()
		price, ok2 := i.Price.Get()
		if !ok1 || !ok2 {
			lacks("items", i.What+": quantity, or price")
			continue
		}
		total := pence(n * price)
		g := under(i.Option)
		g.Net += total
		g.Lines = append(g.Lines, quotedLine{capital(i.What), strconv.FormatFloat(n, 'f', -1, 64) + " " + i.Unit, pence(price).String(), total.String()})
	}
	vat, ok := q.VAT.Get()
	if !ok {
		lacks("VAT", "rate of VAT")
	}
	for i := range out {
		out[i].VAT = pence(float64(out[i].Net) / 100 * float64(vat) / 100)
	}
	return out, gaps
}

// quotationPaper sets materials, cut list and quotation.
func quotationPaper(m *model.Model, made time.Time) *document.Document {
	q := &m.Job.Quotation
	d := newDocument(m, made, "Materials and quotation", "What the work is made of, how the cable is cut, and what it costs.")
	t := document.Table{Columns: []document.Column{{Head: "Material, as the job has it", Share: 84}, {Head: "Quantity", Share: 26, Right: true},
		{Head: "For", Share: 60}}}
	for _, n := range materials(m) {
		t.Rows = append(t.Rows, document.Row{Cells: document.Cells(capital(n.What), n.count(), n.For)})
	}
	if len(t.Rows) == 0 {
		t.Rows = []document.Row{{Cells: document.Cells("The job names no materials yet.", "", "")}}
	}
	d.Sections = append(d.Sections, document.Section{Heading: "Materials",
		Blocks: []document.Block{t, document.Paragraph{Text: "Not in the list, because the job does not say: glands, clips, trays and boxes, and what is lost " +
			"in cutting. Lengths are along the route, slack included where it was entered so."}}})
	c := document.Table{Columns: []document.Column{{Head: "Cut", Share: 20, Right: true}, {Head: "Cable", Share: 76}, {Head: "For", Share: 52},
		{Head: "Length known by", Share: 28}}}
	list, missing := cuts(m)
	for _, p := range list {
		length := p.Length
		if p.Pieces > 1 {
			length = fmt.Sprintf("%d × %s", p.Pieces, p.Length)
		}
		c.Rows = append(c.Rows, document.Row{Cells: []document.Cell{{Text: length, Bold: true}, {Text: p.Cable}, {Text: p.For}, {Text: orNotKnown(p.Known)}}})
	}
	blocks := []document.Block{c,
		document.Paragraph{Text: "Measure again on site before the first cut: a length that is declared or assumed is not one to cut by."}}
	if len(missing) > 0 {
		blocks = append(blocks, document.Paragraph{Text: "Not known: " + strings.Join(missing, "; ") + "."})
	}
	d.Sections = append(d.Sections, document.Section{Heading: "Cut list", Blocks: blocks})
	all, gaps := quote(q)
	if len(q.Items)+len(q.Labour) == 0 {
		d.Sections = append(d.Sections, document.Section{Heading: "Quotation",
			Blocks: []document.Block{document.Paragraph{Text: "No prices are entered under quotation."}}})
		return d
	}
	for _, g := range all {
		heading := "Quotation"
		if g.Option != "" {
			heading = "Option: " + g.Option
		}
		d.Sections = append(d.Sections, document.Section{Heading: heading, Whole: true, Blocks: []document.Block{priceTable(g, q)}})
	}
	notes := document.Facts{{What: "Reference", Value: orNotKnown(q.Reference)}, {What: "For", Value: written(m.Job.Site.Client)},
		{What: "Holds until", Value: orNotKnown(q.Valid)}, {What: "Terms", Value: written(q.Terms)}}
	if len(gaps) > 0 {
		notes = append(notes, document.Fact{What: "Not priced yet", Value: gaps.String()})
	}
	d.Sections = append(d.Sections, document.Section{Heading: "Terms", Whole: true,
		Blocks: []document.Block{notes, document.Paragraph{Text: "Options come on top, each by itself. A price rests on the design as it stands: what is not " +
			"known may change it."}, document.Lines{"Accepted by", "Date"}}})
	return d
}

func priceTable(g quoted, q *works.Quotation) document.Table {
	t := document.Table{Columns: []document.Column{{Head: "What", Share: 88}, {Head: "Quantity", Share: 26, Right: true},
		{Head: "Each", Share: 28, Right: true}, {Head: "Total", Share: 30, Right: true}}}
	for _, l := range g.Lines {
		t.Rows = append(t.Rows, document.Row{Cells: document.Cells(l.What, l.Count, l.Each, l.Total)})
	}
	sumRow := func(what, total string) {
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: what, Bold: true}, {}, {}, {Text: total, Bold: true}}})
	}
	sumRow("Before VAT", g.Net.String())
	if !q.VAT.IsKnown() {
		sumRow("VAT", notKnown)
		return t
	}
	sumRow("VAT at "+say(q.VAT), g.VAT.String())
	sumRow("To pay", (g.Net + g.VAT).String())
	return t
}
