package paper

import (
	"fmt"
	"sort"
	"strings"

	"chargewright/drawing"
	"chargewright/finding"
	"chargewright/job"
	"chargewright/model"
	"chargewright/quantity"
)

// part is a part of the job that findings are about, as the papers put them
// together: the supply, a board, a circuit with its legs, a point, the place.
type part struct {
	title    string
	names    []string // how findings name it
	circuit  *model.Circuit
	board    *model.Board
	point    *model.Point
	findings []finding.Finding
}

// parts returns the parts of a job from the street outwards, each with its
// findings in the order they were made. A finding belongs to the part whose
// name its subject holds, the longest deciding.
func parts(m *model.Model, fs []finding.Finding) []*part {
	supply := &part{title: "Supply, earthing and load limiting", names: []string{"supply", "cut-out", "network operator", "limiter ", "bonding to "}}
	place := &part{title: "Place", names: []string{"site", "installation"}}
	all := []*part{supply}
	for _, b := range m.Boards {
		all = append(all, &part{title: drawing.Named("Board", b.Record.Name), names: []string{"board " + b.Record.Name, "at " + b.Record.Name}, board: b})
	}
	for _, c := range m.Circuits {
		all = append(all, &part{title: drawing.Named("Circuit", c.Record.Name), names: []string{c.Name()}, circuit: c})
	}
	for _, p := range m.Points {
		all = append(all, &part{title: drawing.Named("Point", p.Record.Name), names: []string{"point " + p.Record.Name}, point: p})
	}
	all = append(all, place)
	for _, f := range fs {
		owner := owning(all, f.Subject)
		if owner == nil {
			owner = place
		}
		owner.findings = append(owner.findings, f)
	}
	return all
}

func owning(all []*part, subject string) *part {
	var owner *part
	length := 0
	for _, p := range all {
		for _, n := range p.names {
			if subject == n {
				return p
			}
			if len(n) > length && strings.Contains(subject, n) {
				owner, length = p, len(n)
			}
		}
	}
	return owner
}

// alike gathers parts that differ only in name, way, phase, place and length,
// in the order of the first of each.
func alike(all []*part) [][]*part {
	var groups [][]*part
	at := map[string]int{}
	for _, p := range all {
		sign := p.sign()
		if i, ok := at[sign]; ok && sign != "" {
			groups[i] = append(groups[i], p)
			continue
		}
		at[sign] = len(groups)
		groups = append(groups, []*part{p})
	}
	return groups
}

// sign is what parts that are alike have in common; empty for what is alone.
func (p *part) sign() string {
	switch {
	case p.circuit != nil && p.circuit.Point != nil:
		r := *p.circuit.Record
		r.Name, r.Way, r.To = "", "", ""
		r.Phases = quantity.Maybe[job.PhaseSet]{}
		legs := append([]job.Leg{}, r.Legs...)
		for i := range legs {
			legs[i].Length = quantity.Maybe[quantity.Metres]{}
		}
		r.Legs = legs
		return fmt.Sprintf("circuit %d %+v", p.circuit.PhaseCount(), r)
	case p.point != nil:
		r := *p.point.Record
		r.Name, r.Mounting.Place = "", ""
		return fmt.Sprintf("point %+v", r)
	}
	return ""
}

// row is one requirement of a group of parts: one finding that all of them
// share, or that of one.
type row struct {
	finding finding.Finding
	of      *part // nil where all share it
	times   int
}

// rows is the findings of a group in the order of its first part: one row
// where every part has the same outcome but for the names in it, else one for
// each.
func rows(group []*part) []row {
	var out []row
	if len(group) == 1 {
		for _, f := range group[0].findings {
			out = append(out, row{f, group[0], 1})
		}
		return out
	}
	var order []string
	by := map[string][]row{}
	for _, p := range group {
		for _, f := range p.findings {
			key := f.Key
			if by[key] == nil {
				order = append(order, key)
			}
			by[key] = append(by[key], row{f, p, 1})
		}
	}
	for _, key := range order {
		of := by[key]
		same := len(of) == len(group)
		for _, r := range of[1:] {
			same = same && r.nameless() == of[0].nameless()
		}
		if same {
			out = append(out, row{of[0].finding, nil, len(of)})
			continue
		}
		out = append(out, of...)
	}
	return out
}

// nameless is all a finding says, the names of its own part left out.
func (r row) nameless() string {
	f := r.finding
	text := strings.Join([]string{f.Clause.Name, f.Subject, f.What, f.Value.String(), f.Limit.String(), f.Margin.String(), f.Verdict.String(), f.Why.String(),
		f.Next, f.Source.String()}, "\n")
	return r.of.without(text)
}

// without takes the names of a part, its circuit and its point out of a text.
func (p *part) without(text string) string {
	for _, name := range p.own() {
		text = strings.ReplaceAll(text, name, "·")
	}
	return text
}

// own is the names of a part, its circuit and its point, longest first.
func (p *part) own() []string {
	var names []string
	c, pt := p.circuit, p.point
	if c != nil {
		pt = c.Point
	} else if pt != nil {
		c = pt.Circuit
	}
	if c != nil {
		names = append(names, c.Record.Name)
	}
	if pt != nil {
		names = append(names, pt.Record.Name)
	}
	sort.Slice(names, func(i, k int) bool { return len(names[i]) > len(names[k]) })
	return names
}

// titleOf names a group of parts.
func titleOf(group []*part) string {
	first := group[0]
	if len(group) == 1 {
		return first.title
	}
	var names []string
	for _, p := range group {
		names = append(names, p.record())
	}
	kind := "Points "
	if first.circuit != nil {
		kind = "Circuits "
	}
	return fmt.Sprintf("%s%s (%d alike)", kind, drawing.Names(names), len(group))
}

// record is the name of a circuit or point in the record.
func (p *part) record() string {
	if p.circuit != nil {
		return p.circuit.Record.Name
	}
	return p.point.Record.Name
}
