package paper

import (
	"fmt"
	"time"

	"chargewright/document"
	"chargewright/model"
)

// envelopes are the three of the pack, by who reads them.
var envelopes = []struct{ folder, heading, says string }{
	{ForTheCustomer, "For the customer", "Given by hand or sent when the work is done. The certificate goes in once it is issued; a draft never does."},
	{ToBeTold, "For those who must be told", "One paper for each, in the order they go. Ask first where the first says so: before the work."},
	{ForTheFirm, "For the firm", "Kept: how it was designed, isolated, tested, set and priced, and what is not known."},
}

// indexSheet says which papers lie in which envelope, for whom each envelope is
// and how many pages that makes, with room to note by hand what was put in or
// sent, and what the seller of a point files.
func indexSheet(m *model.Model, papers []packedPaper, made time.Time) *document.Document {
	d := newDocument(m, made, "What is in the pack", "Three envelopes, each by who reads it; what other programs read lies apart under "+Data+".")
	all := 0
	for _, e := range envelopes {
		t := document.Table{Columns: []document.Column{{Head: "Paper", Share: 70}, {Head: "File", Share: 62}, {Head: "Pages", Share: 14, Right: true},
			{Head: "Put in, sent", Share: 34, Boxed: true}}}
		pages := 0
		for _, p := range papers {
			if p.envelope == e.folder {
				t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: p.title}, {Text: p.name}, {Text: itoa(p.pages)}, {}}, Least: 5.5})
				pages += p.pages
			}
		}
		all += pages
		d.Sections = append(d.Sections, document.Section{Heading: fmt.Sprintf("%s: %d pages", e.heading, pages), Whole: true,
			Blocks: []document.Block{document.Paragraph{Text: e.says}, t}})
	}
	if len(m.Points) > 0 {
		d.Sections = append(d.Sections, document.Section{Heading: "Smart charge point regulations", Whole: true, Blocks: []document.Block{
			document.Paragraph{Small: true, Text: "What the Electric Vehicles (Smart Charge Points) Regulations 2021 ask where a private point is sold in Great " +
				"Britain; whoever sells it, the installer too, answers for it. What is not written in was not seen."},
			smartTable(m)}})
	}
	d.Sections = append(d.Sections, document.Section{Blocks: []document.Block{
		document.Paragraph{Text: fmt.Sprintf("%d pages in all, this one counted.", all+1)}}})
	return d
}
