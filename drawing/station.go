package drawing

import (
	"fmt"
	"strings"

	"chargewright/finding"
	"chargewright/quantity"
)

// earthLane is what the protective conductor does beside a station.
type earthLane uint8

const (
	laneEmpty   earthLane = iota
	lanePEN               // combined neutral and earth
	lanePE                // a protective conductor, passing
	laneBegins            // the main earthing terminal: comes from the supply, goes on below
	laneRises             // the same with an electrode instead of the supply
	laneJoins             // passing, and joined to the equipment here
	laneEnds              // joined to the equipment here, and ends
	laneBroken            // comes no further: the equipment has an electrode of its own
	laneUnknown           // how it is earthed is not known
)

// station is one element of the line: what is drawn on it, what is known of
// it, what is missing, and the parts of the record whose findings belong to it.
type station struct {
	id, title string
	symbol    symbol
	lane      earthLane
	laneLabel string
	known     []string
	missing   []string
	of        []string // paths
	findings  []finding.Finding
	assumed   int // facts of it that nobody has seen
}

// knows adds a line about the station; an empty one says nothing.
func (s *station) knows(text string) {
	if text != "" {
		s.known = append(s.known, text)
	}
}

// lacks adds what is not known.
func (s *station) lacks(what string) { s.missing = append(s.missing, what) }

// said returns the quantity in words, or notes that it is missing.
func said[Q any](s *station, what string, m quantity.Maybe[Q], words func(Q) string) string {
	q, ok := m.Get()
	if !ok {
		s.lacks(what)
		return ""
	}
	return words(q)
}

// plain prints a quantity as it is.
func plain[Q any](q Q) string { return fmt.Sprint(q) }

// with prints a quantity after or before other words.
func with[Q any](format string) func(Q) string {
	return func(q Q) string { return fmt.Sprintf(format, q) }
}

// choose prints a fact that is so or not.
func choose(yes, no string) func(bool) string {
	return func(b bool) string {
		if b {
			return yes
		}
		return no
	}
}

// list joins what is not empty with commas.
func list(parts ...string) string {
	kept := parts[:0:0]
	for _, p := range parts {
		if p != "" {
			kept = append(kept, p)
		}
	}
	return strings.Join(kept, ", ")
}

// verdictLine is one line about the findings of a station.
type verdictLine struct {
	verdict finding.Verdict
	text    string
}

// verdicts sums up the findings of the station: each that fails, the first
// few that are not known or left to a person, and how many are met.
func (s *station) verdicts() []verdictLine {
	var lines []verdictLine
	for _, v := range []finding.Verdict{finding.Fails, finding.NotKnown, finding.JudgeOnSite} {
		most := map[finding.Verdict]int{finding.Fails: 3, finding.NotKnown: 2, finding.JudgeOnSite: 1}[v]
		of := distinct(s.findings, v)
		for i, text := range of {
			if i == most {
				lines = append(lines, verdictLine{v, fmt.Sprintf("%d more", len(of)-most)})
				break
			}
			lines = append(lines, verdictLine{v, text})
		}
	}
	if n := finding.Summarise(s.findings); n.Meets > 0 {
		line := verdictLine{finding.Meets, counted(n.Meets, "rule", "rules") + " checked here"}
		if n.IfAsAssumed > 0 {
			line.text += ", " + finding.IfAsAssumed
		}
		lines = append(lines, line)
	}
	return lines
}

// distinct returns what the findings of one verdict say, each text once, with
// the subjects counted where several like parts share it.
func distinct(fs []finding.Finding, v finding.Verdict) []string {
	var order []string
	times := map[string]int{}
	for _, f := range fs {
		if f.Verdict != v {
			continue
		}
		text := f.What
		if f.Clause.Name != "" {
			text += " (" + f.Clause.Name + ")"
		}
		if f.Rests != nil {
			text += ", " + f.If()
		}
		if v == finding.Fails && !f.Margin.IsZero() {
			text += ", out by " + strings.TrimLeft(f.Margin.String(), "-−")
		}
		if times[text] == 0 {
			order = append(order, text)
		}
		times[text]++
	}
	for i, text := range order {
		if n := times[text]; n > 1 {
			order[i] = fmt.Sprintf("%s, at %d parts", text, n)
		}
	}
	return order
}

// label is what a screen reader says of the station.
func (s *station) label() string {
	text := s.title
	if v, checked := finding.Worst(s.findings); checked {
		text += ": " + v.String()
	}
	return text
}

// describe tells the station in words.
func (s *station) describe() string {
	parts := []string{s.title}
	parts = append(parts, s.known...)
	if len(s.missing) > 0 {
		parts = append(parts, "not known: "+strings.Join(s.missing, ", "))
	}
	for _, v := range s.verdicts() {
		parts = append(parts, v.verdict.String()+": "+v.text)
	}
	return strings.Join(parts, "; ")
}

func counted(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}
