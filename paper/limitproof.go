package paper

import (
	"strings"
	"time"

	"chargewright/demand"
	"chargewright/document"
	"chargewright/drawing"
	"chargewright/finding"
	"chargewright/model"
)

// limitProofs is the proof of every limiter of the job.
func limitProofs(m *model.Model) []demand.Proof {
	var out []demand.Proof
	for i := range m.Job.Limiters {
		out = append(out, demand.Prove(m, &m.Job.Limiters[i]))
	}
	return out
}

// limitProof sets the proof that load limiting holds, or what keeps it from
// being proved.
func limitProof(m *model.Model, proofs []demand.Proof, made time.Time) *document.Document {
	d := newDocument(m, made, "Proof of load limiting", "How late the limiting can be, what it leaves the vehicles, and what its loss does. On paper: the "+
		"test with the clamp unplugged is done at commissioning as well.")
	if len(proofs) == 0 {
		d.Sections = []document.Section{{Blocks: []document.Block{document.Paragraph{Text: "This job has no load limiting."}}}}
	}
	src := &sources{}
	d.Sections = append(d.Sections, provedLimits(proofs, src)...)
	if len(src.list) > 0 {
		d.Sections = append(d.Sections, document.Section{Heading: "Where the figures stand", Blocks: sourceBlocks(src)})
	}
	return d
}

// provedLimits is the proofs of limiters, a section each.
func provedLimits(proofs []demand.Proof, src *sources) []document.Section {
	var out []document.Section
	for _, p := range proofs {
		t := document.Table{Small: true, Columns: []document.Column{{Head: "Clause", Share: 21}, {Head: "What must hold", Share: 82},
			{Head: "Value", Share: 17, Right: true},
			{Head: "Limit", Share: 16, Right: true}, {Head: "Margin", Share: 16, Right: true}, {Head: "Verdict", Share: 28}}}
		for _, f := range p.Findings {
			row := document.Row{Cells: []document.Cell{{Text: f.Clause.Name}, {Text: capital(f.What) + bracketed(src.cite(f.Source))},
				{Text: f.Value.String()}, {Text: f.Limit.String()}, {Text: f.Margin.String()}, document.VerdictCell(f.Verdict)}}
			for _, n := range []document.Note{{Label: "why", Text: f.Why.String()}, {Label: "next", Text: nextOf(f)}} {
				if n.Text != "" {
					row.Under = append(row.Under, n)
				}
			}
			t.Rows = append(t.Rows, row)
		}
		var facts document.Fields
		if len(p.Lacks) == 0 {
			facts = append(facts, document.Fact{What: "Must not be passed", Value: p.Holds.String(), Note: p.HoldsWhat},
				document.Fact{What: "Others, at most", Value: p.Others.String(), Note: "in the line it is hardest in"},
				document.Fact{What: "Points, at most", Value: p.Points.String(), Note: "in that line"})
		}
		blocks := []document.Block{facts, t}
		if len(p.Lacks) == 0 {
			var given []string
			for _, a := range p.Assumptions {
				given = append(given, capital(a)+".")
			}
			blocks = append(blocks, document.Paragraph{Text: "The proof takes as given: " + strings.Join(given, " "), Small: true})
		}
		out = append(out, document.Section{Heading: "Proof of load limiting: " + drawing.Named("limiter", p.Limiter), Blocks: blocks})
	}
	return out
}

func nextOf(f finding.Finding) string {
	if f.Verdict == finding.Meets {
		return ""
	}
	return f.Next
}
