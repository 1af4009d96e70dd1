// Package design answers what must hold for a job, and whether it does.
//
// Each file is one chapter of the rules: it says which requirement it checks,
// by which clause, and writes the finding's words. Numbers come from package
// model and from the rulebook; nothing here knows a table by heart.
package design

import (
	"fmt"

	"chargewright/finding"
	"chargewright/model"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/works"
)

// Check returns a finding for every requirement the job touches, from the
// supply outwards, in the order a careful electrician would read them. Where
// nobody waits for it any more (model.Left) it finds that nothing is known.
func Check(m *model.Model) []finding.Finding {
	found := check(m)
	m.Rest(found, check)
	return found
}

func check(m *model.Model) []finding.Finding {
	k := &checker{m: m, rules: m.Rules}
	k.edition()
	k.agree()
	k.supply()
	k.demand()
	k.limiters()
	k.bonding()
	k.tails()
	for _, b := range m.Boards {
		if m.Left() != nil {
			return k.brokenOff()
		}
		k.board(b)
		k.mainSwitch(b)
		k.assemblyRating(b)
	}
	k.surge()
	for _, c := range m.Circuits {
		if m.Left() != nil {
			return k.brokenOff()
		}
		k.circuit(c)
	}
	for _, p := range m.Points {
		if m.Left() != nil {
			return k.brokenOff()
		}
		k.point(p)
	}
	k.unplaced()
	k.tt()
	k.sources()
	k.selectivity()
	k.place()
	return k.found
}

// brokenOff is what is found of a job that nobody waits for any more. Half of a
// check would look like a check: it is all not known.
func (k *checker) brokenOff() []finding.Finding {
	return []finding.Finding{notKnown(finding.Finding{Key: "check broken off", Clause: finding.Practice, Subject: "the job", What: "every rule is checked"},
		finding.Cannot("the check was broken off, since nobody waited for it"))}
}

// circuit checks one circuit from its device to its far end.
func (k *checker) circuit(c *model.Circuit) {
	k.designCurrent(c)
	k.noDiversity(c)
	k.overload(c)
	k.continuousLoad(c)
	k.burial(c)
	k.breaking(c)
	k.disconnection(c)
	k.shortCircuit(c)
	k.voltDrop(c)
	k.neutral(c)
	k.neutralSize(c)
	k.separateCPC(c)
	k.protectiveCurrent(c)
	k.cableInWall(c)
	k.isolator(c)
}

// point checks one charge point.
func (k *checker) point(p *model.Point) {
	k.dedicated(p)
	k.residual(p)
	k.ahead(p)
	k.outletRating(p)
	k.earthing(p)
	k.armourToElectrode(p)
	k.surgeReach(p)
	k.mounting(p)
	k.enclosure(p)
}

// checker gathers the findings of one job.
type checker struct {
	m     *model.Model
	rules *standard.Rulebook
	found []finding.Finding
}

func (k *checker) add(f finding.Finding) { k.found = append(k.found, f) }

// start returns a finding with its key, clause and source filled in.
func (k *checker) start(key, clause string, of works.Thing, what string) finding.Finding {
	c := k.rules.Clause(clause)
	return finding.Finding{Key: key, Clause: c.Cited(), Path: of.Path, Subject: of.Name, What: what, Source: standard.Sources(c)}
}

// onLeg says that a finding of a circuit is about one leg of it.
func onLeg(f finding.Finding, leg *model.Leg) finding.Finding {
	f.Path, f.Subject, f.Part = leg.Thing().Path, leg.Name(), leg.ShortName()
	return f
}

// amount is a quantity as a finding carries it.
func amount[Q quantity.Quantity](q Q) finding.Amount { return finding.Of(float64(q), q.Measure()) }

// atMost settles a finding whose value may not exceed a limit.
func atMost[Q quantity.Quantity](f finding.Finding, value, limit Q) finding.Finding {
	return f.AtMost(amount(value), amount(limit))
}

// atLeast settles a finding whose value may not fall below a limit.
func atLeast[Q quantity.Quantity](f finding.Finding, value, limit Q) finding.Finding {
	return f.AtLeast(amount(value), amount(limit))
}

// notKnown settles a finding that lacks inputs, each named once.
func notKnown(f finding.Finding, lacks ...finding.Lacks) finding.Finding {
	return f.Missing(lacks...)
}

// judge settles a finding that a person must decide.
func judge(f finding.Finding, why finding.Text, next string) finding.Finding {
	f.Verdict, f.Why, f.Next = finding.JudgeOnSite, why, next
	return f
}

// meets and fails settle a finding that has no number.
func meets(f finding.Finding, why finding.Text) finding.Finding {
	f.Verdict, f.Why = finding.Meets, why
	return f
}

func fails(f finding.Finding, why finding.Text, next string) finding.Finding {
	f.Verdict, f.Why, f.Next = finding.Fails, why, next
	return f
}

// say is finding.Say, which every chapter uses.
func say(format string, args ...any) finding.Text { return finding.Say(format, args...) }

// limit returns a scalar limit of the rulebook. The keys are our own; a test
// looks every one up, so a missing key is a fault of ours, shown as a gap.
func limit[Q ~float64](k *checker, key string) model.Answer[Q] {
	v, cite, err := k.rules.Limit(key)
	if err != nil {
		return model.Answer[Q]{Lacks: finding.Cannot(fmt.Sprintf("rulebook: %v", err))}
	}
	return model.Answer[Q]{Value: Q(v), Cite: cite}
}
