package paper

import (
	"time"

	"chargewright/demand"
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
func limitProof(m *model.Model, proofs []demand.Proof, made time.Time) *Document {
	d := newDocument(m, made, "Proof of load limiting", "How late the limiting can be, what it leaves the vehicles, and what its loss does. On paper: the test with the clamp unplugged is done at commissioning as well.")
	if len(proofs) == 0 {
		d.Sections = []Section{{Blocks: []Block{Paragraph{"This job has no load limiting."}}}}
	}
	src := &sources{}
	for _, p := range proofs {
		t := Table{Columns: []Column{{Head: "Clause", Share: 29}, {Head: "What must hold", Share: 59}, {Head: "Value", Share: 20, Right: true}, {Head: "Limit", Share: 20, Right: true}, {Head: "Margin", Share: 20, Right: true}, {Head: "Verdict", Share: 33}}}
		for _, f := range p.Findings {
			row := Row{Cells: []Cell{{Text: f.Clause.Name}, {Text: capital(f.What) + bracketed(src.cite(f.Source.String()))}, {Text: f.Value.String()}, {Text: f.Limit.String()}, {Text: f.Margin.String()}, verdictCell(f.Verdict)}}
			for _, n := range []Note{{"why", f.Why.String()}, {"next", nextOf(f)}} {
				if n.Text != "" {
					row.Under = append(row.Under, n)
				}
			}
			t.Rows = append(t.Rows, row)
		}
		facts := Facts{{What: "Limiter", Value: p.Limiter}}
		if len(p.Lacks) == 0 {
			facts = append(facts, Fact{"Must not be passed", p.Holds.String(), p.HoldsWhat}, Fact{"Others, at most", p.Others.String(), "in the line it is hardest in"}, Fact{"Points, at most", p.Points.String(), "in that line"})
		}
		blocks := []Block{facts, t}
		if len(p.Lacks) == 0 {
			blocks = append(blocks, Subheading{"What the proof takes as given"})
			for _, a := range p.Assumptions {
				blocks = append(blocks, Paragraph{capital(a) + "."})
			}
		}
		d.Sections = append(d.Sections, Section{Heading: drawing.Named("Limiter", p.Limiter), Blocks: blocks})
	}
	if len(src.list) > 0 {
		d.Sections = append(d.Sections, Section{Heading: "Where the figures stand", Blocks: []Block{sourceTable(src)}})
	}
	return d
}

func nextOf(f finding.Finding) string {
	if f.Verdict == finding.Meets {
		return ""
	}
	return f.Next
}
