package paper

import (
	"strings"

	"chargewright/finding"
	"chargewright/model"
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
		all = append(all, &part{title: named("Board", b.Record.Name), names: []string{"board " + b.Record.Name, "at " + b.Record.Name}, board: b})
	}
	for _, c := range m.Circuits {
		all = append(all, &part{title: named("Circuit", c.Record.Name), names: []string{c.Name()}, circuit: c})
	}
	for _, p := range m.Points {
		all = append(all, &part{title: named("Point", p.Record.Name), names: []string{"point " + p.Record.Name}, point: p})
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

// named puts the kind of a thing before its name, unless the name says it.
func named(kind, name string) string {
	if strings.Contains(strings.ToLower(name), strings.ToLower(kind)) {
		return capital(name)
	}
	return strings.TrimSpace(kind + " " + name)
}

// worst returns the verdict a reader must see first.
func worst(fs []finding.Finding) (finding.Verdict, bool) {
	if len(fs) == 0 {
		return finding.NotKnown, false
	}
	sorted := append([]finding.Finding{}, fs...)
	finding.ByUrgency(sorted)
	return sorted[0].Verdict, true
}
