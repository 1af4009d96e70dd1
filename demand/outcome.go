package demand

// How the outcomes of this room are put as findings.

import (
	"chargewright/finding"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/works"
)

func start(rules *standard.Rulebook, key, clause string, of works.Thing, what string) finding.Finding {
	c := rules.Clause(clause)
	return finding.Finding{Key: key, Clause: c.Cited(), Path: of.Path, Subject: of.Name, What: what, Source: standard.Sources(c)}
}

func amount[Q quantity.Quantity](q Q) finding.Amount { return finding.Of(float64(q), q.Measure()) }

// within settles a finding whose value may not pass its limit.
func within[Q quantity.Quantity](f finding.Finding, value, limit Q) finding.Finding {
	return f.AtMost(amount(value), amount(limit))
}

// unknown settles a finding that lacks inputs, each named once.
func unknown(f finding.Finding, lacks ...finding.Lacks) finding.Finding {
	f = f.Missing(lacks...)
	f.Why = finding.Say("missing: %s", f.Lacks.Briefly())
	f.Next = "enter what is missing"
	return f
}
