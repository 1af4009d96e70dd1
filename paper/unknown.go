package paper

import (
	"slices"
	"time"

	"chargewright/document"
	"chargewright/finding"
	"chargewright/model"
)

// openSheet is the statement of what is assumed and what is not known.
func openSheet(m *model.Model, fs []finding.Finding, made time.Time) *document.Document {
	d := newDocument(m, made, "Assumed, and not known",
		"What the papers of this job rest on without proof, and what nobody has found out yet. Whoever signs should have read it.")
	d.Sections = []document.Section{{Heading: "Assumed", Blocks: assumed(m)}}
	src := &sources{}
	if open := openTable(m.Job, parts(m, fs), &sources{}); len(open.Rows) > 0 {
		d.Sections = append(d.Sections, document.Section{Heading: "Not known, or to judge on site", Blocks: []document.Block{open}})
	} else {
		d.Sections = append(d.Sections, document.Section{Heading: "Not known",
			Blocks: []document.Block{document.Paragraph{Text: "No requirement that was checked is open. What was not checked stands in the README of the program: " +
				"it checks no ring circuits, no generation and nothing an inspector must see."}}})
	}
	for _, f := range fs {
		src.cite(f.Source)
	}
	doubtful := &sources{list: slices.DeleteFunc(src.list, func(s finding.Source) bool { return s.Doubt == "" })}
	if len(doubtful.list) > 0 {
		d.Sections = append(d.Sections, document.Section{Heading: "Figures whose source is in doubt", Blocks: sourceBlocks(doubtful)})
	}
	d.Sections = append(d.Sections, document.Section{Heading: "Seen and noted", Blocks: []document.Block{document.Lines{"Read by", "Date"}}})
	return d
}
