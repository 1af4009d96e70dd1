package paper

import (
	"time"

	"chargewright/finding"
	"chargewright/model"
)

// openSheet is the statement of what is assumed and what is not known.
func openSheet(m *model.Model, fs []finding.Finding, made time.Time) *Document {
	d := newDocument(m, made, "Assumed, and not known", "What the papers of this job rest on without proof, and what nobody has found out yet. Whoever signs should have read it.")
	d.Sections = []Section{{Heading: "Assumed", Blocks: assumed(m)}}
	if open := openTable(fs); len(open.Rows) > 0 {
		d.Sections = append(d.Sections, Section{Heading: "Not known, or to judge on site", Blocks: []Block{open}})
	} else {
		d.Sections = append(d.Sections, Section{Heading: "Not known", Blocks: []Block{Paragraph{"No requirement that was checked is open. What was not checked stands in the README of the program: it checks no ring circuits, no generation and nothing an inspector must see."}}})
	}
	src := &sources{}
	for _, f := range fs {
		src.cite(f.Source.String())
	}
	doubtful := &sources{}
	for _, s := range src.list {
		if _, doubt := doubtOf(s); doubt != "" {
			doubtful.cite(s)
		}
	}
	if len(doubtful.list) > 0 {
		d.Sections = append(d.Sections, Section{Heading: "Figures whose source is in doubt", Blocks: []Block{sourceTable(doubtful)}})
	}
	d.Sections = append(d.Sections, Section{Heading: "Seen and noted", Blocks: []Block{Lines{"Read by", "Date"}}})
	return d
}
