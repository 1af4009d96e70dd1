package demand

// How the outcomes of this room are put as findings.

import (
	"slices"
	"strings"

	"chargewright/finding"
	"chargewright/quantity"
	"chargewright/standard"
)

func start(rules *standard.Rulebook, key, clause, subject, what string) finding.Finding {
	c := rules.Clause(clause)
	return finding.Finding{Key: key, Clause: c.Name(), Subject: subject, What: what, Source: sources(c)}
}

func sources(cites ...standard.Citation) finding.Text {
	return func() string { return standard.Sources(cites...) }
}

func amount[Q quantity.Quantity](q Q) finding.Amount { return finding.Of(float64(q), q.Measure()) }

// within settles a finding whose value may not pass its limit.
func within[Q quantity.Quantity](f finding.Finding, value, limit Q) finding.Finding {
	return f.AtMost(amount(value), amount(limit))
}

// unknown settles a finding that lacks inputs, each named once.
func unknown(f finding.Finding, gaps ...string) finding.Finding {
	var once []string
	for _, g := range gaps {
		if g != "" && !slices.Contains(once, g) {
			once = append(once, g)
		}
	}
	f.Verdict = finding.NotKnown
	f.Why = finding.Say("missing: %s", strings.Join(together(once), "; "))
	f.Next = "enter what is missing"
	return f
}

// together puts gaps about one thing behind its name: "limiter A: x, y".
func together(gaps []string) []string {
	var out []string
	last := ""
	for _, g := range gaps {
		about, what, ok := strings.Cut(g, ": ")
		if ok && about == last {
			out[len(out)-1] += ", " + what
			continue
		}
		last = ""
		if ok {
			last = about
		}
		out = append(out, g)
	}
	return out
}
