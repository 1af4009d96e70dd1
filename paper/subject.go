package paper

import (
	"fmt"

	"chargewright/drawing"
	"chargewright/finding"
	"chargewright/model"
	"chargewright/quantity"
	"chargewright/trade"
	"chargewright/works"
)

// part is a part of the job that findings are about, as the papers put them
// together: the supply, a board, a circuit with its legs, a point, the place.
type part struct {
	title    string
	of       works.Thing // what it is in the record; nothing for what has several
	circuit  *model.Circuit
	board    *model.Board
	point    *model.Point
	findings []finding.Finding
}

// parts returns the parts of a job from the street outwards, each with its
// findings in the order they were made. A finding belongs to the innermost part
// that it lies in.
func parts(m *model.Model, fs []finding.Finding) []*part {
	supply := &part{title: "Supply, earthing and load limiting"}
	place := &part{title: "Place"}
	all, owners := []*part{supply}, []*part{supply, supply, supply}
	paths := []string{works.TheSupply.Path, "limiters", "electrodes"}
	put := func(p *part) {
		all, owners, paths = append(all, p), append(owners, p), append(paths, p.of.Path)
	}
	for _, b := range m.Boards {
		put(&part{title: drawing.Named("Board", b.Record.Name), of: b.Record.Thing(), board: b})
	}
	for _, c := range m.Circuits {
		put(&part{title: drawing.Named("Circuit", c.Record.Name), of: c.Thing(), circuit: c})
	}
	for _, p := range m.Points {
		put(&part{title: drawing.Named("Point", p.Record.Name), of: p.Record.Thing(), point: p})
	}
	for _, f := range fs {
		owner := place
		if i := works.Innermost(f.Path, paths); i >= 0 {
			owner = owners[i]
		}
		owner.findings = append(owner.findings, f)
	}
	return append(all, place)
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
		r.Phases = quantity.Maybe[trade.PhaseSet]{}
		legs := append([]works.Leg{}, r.Legs...)
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
// share, or the tightest of those with one verdict.
type row struct {
	finding finding.Finding
	of      *part // nil where all share it
	times   int
}

// rows is the findings of a group in the order of its first part: one row where
// every part has the same outcome in the same words, else one for each
// verdict with the figure that has the least margin, and one for each part where
// there is no figure to tell them by.
func rows(group []*part) []row {
	var out []row
	if len(group) == 1 {
		for _, f := range group[0].findings {
			out = append(out, row{f, group[0], 1})
		}
		return out
	}
	type kind struct {
		key, part string
		verdict   finding.Verdict
	}
	var order []kind
	by := map[kind][]row{}
	for _, p := range group {
		for _, f := range p.findings {
			k := kind{f.Key, f.Part, f.Verdict}
			if by[k] == nil {
				order = append(order, k)
			}
			by[k] = append(by[k], row{f, p, 1})
		}
	}
	for _, k := range order {
		of := by[k]
		same, figures := len(of) == len(group), true
		for _, r := range of {
			same = same && r.told() == of[0].told()
			figures = figures && !r.finding.Margin.IsZero()
		}
		switch {
		case same:
			out = append(out, row{of[0].finding, nil, len(of)})
		case figures:
			out = append(out, tightestRow(of))
		default:
			out = append(out, apart(of)...)
		}
	}
	return out
}

// tightestRow is the row with the least margin, for all of them.
func tightestRow(of []row) row {
	least := of[0]
	for _, r := range of[1:] {
		if r.finding.Margin.Number < least.finding.Margin.Number {
			least = r
		}
	}
	least.times = len(of)
	return least
}

// apart tells rows without figures: once for each thing they say.
func apart(of []row) []row {
	var out []row
	at := map[[10]string]int{}
	for _, r := range of {
		says := r.told()
		if i, told := at[says]; told {
			out[i].times++
			continue
		}
		at[says] = len(out)
		out = append(out, r)
	}
	return out
}

// told is all a finding says but of which part.
func (r row) told() [10]string {
	f := r.finding
	return [...]string{f.Clause.Name, f.Part, f.What, f.Value.String(), f.Limit.String(), f.Margin.String(), f.Words(), f.Why.String(), f.Next, f.Source.String()}
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
