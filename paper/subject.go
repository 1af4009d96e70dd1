package paper

import (
	"fmt"
	"sort"
	"strings"
	"unicode"

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
	text := strings.Join([]string{f.Clause.Name, f.Subject, f.What, f.Value.String(), f.Limit.String(), f.Margin.String(), f.Words(), f.Why.String(),
		f.Next, f.Source.String()}, "\n")
	return r.of.without(text)
}

// without takes the names of a part, its circuit and its point out of a text.
func (p *part) without(text string) string {
	for _, name := range p.own() {
		if strings.ContainsFunc(name, unicode.IsLetter) { // one of figures alone would take them out of the sums too
			text = strings.ReplaceAll(text, name, "·")
		}
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
