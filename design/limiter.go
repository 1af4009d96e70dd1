package design

// Load limiters: what each protects, what it cannot hold back, and what its
// clamps see (BS 7671 722.311).

import (
	"fmt"
	"math"
	"strings"

	"chargewright/finding"
	"chargewright/model"
	"chargewright/quantity"
	"chargewright/trade"
	"chargewright/works"
)

// limiters checks each load limiter.
func (k *checker) limiters() {
	for i := range k.m.Job.Limiters {
		l := &k.m.Job.Limiters[i]
		k.limiterSetting(l)
		k.limiterHelps(l)
		k.limiterFailSafe(l)
		k.limiterClamp(l)
	}
}

// noOverload is said of a limit that stands beside a rated current.
const noOverload = "load control, and overload protection of nothing: each cable and device keeps its own"

// limiterSetting checks the limit against what it protects.
func (k *checker) limiterSetting(l *works.Limiter) {
	at := l.Thing()
	f := k.start("limiter setting", "load control", at, "limit is no higher than what it protects carries")
	limit, ok := l.Limit.Get()
	carries := k.m.CarriedAt(l)
	if !ok || !carries.Known() {
		k.add(notKnown(f, carries.Lacks, at.Unless(ok, "limit", "limit")))
		return
	}
	f = atMost(f, limit, carries.Value)
	f.Why = say("%s; %s", carries.Why, noOverload)
	if f.Verdict == finding.Fails {
		f.Next = "set the limit to " + carries.Value.String() + " or less"
	}
	k.add(f)
}

// limiterHelps checks that what it cannot hold back leaves room: loads, and
// points that do not name it.
func (k *checker) limiterHelps(l *works.Limiter) {
	at := l.Thing()
	f := k.start("limiter reach", "load control", at, "what it cannot hold back stays within its limit")
	limit, ok := l.Limit.Get()
	all := k.m.AtLimiter(l)
	if !ok || !all.Known() {
		k.add(notKnown(f, all.Lacks, at.Unless(ok, "limit", "limit")))
		return
	}
	others := all.Without(l).Greatest()
	f = atMost(f, others, limit)
	if f.Verdict == finding.Fails {
		f.Why = say("what it does not hold exceeds %v by %v: a limiter cannot cure that", limit, others-limit)
		f.Next = "put every point under it, judge the diversity of the other loads, or enlarge the supply"
	} else {
		f.Why = say("the others leave %v for the points when they are greatest", limit-others)
		if least, _, err := k.rules.Limit("pilot least"); err == nil && float64(limit-others) < least {
			f.Next = fmt.Sprintf("charging pauses then, since a vehicle cannot be asked for less than %v", quantity.Amperes(least))
		}
	}
	k.add(f)
}

// limiterFailSafe checks that losing the clamp or its link, or starting up
// before it has readings, cannot overload what it protects.
//
//	formula  fail-safe current ≤ limit − greatest of all it does not hold
func (k *checker) limiterFailSafe(l *works.Limiter) {
	at := l.Thing()
	f := k.start("limiter fail-safe", "load control", at, "with its clamp or link lost, and at start-up, the points take no more than the others leave")
	limit, ok := l.Limit.Get()
	safe, said := l.FailSafe.Get()
	all := k.m.AtLimiter(l)
	if !ok || !said || !all.Known() {
		k.add(notKnown(f, all.Lacks, at.Unless(ok, "limit", "limit"), at.Unless(said, "fail-safe current", "fail-safe current")))
		return
	}
	others := all.Without(l).Greatest()
	room := quantity.Amperes(math.Max(0, float64(limit-others)))
	f = atMost(f, safe, room)
	f.Why = say("limit %v less the others' greatest %v", limit, others)
	if f.Verdict == finding.Fails {
		f.Next = "set the fail-safe current to " + room.String() + " or less; below 6 A that is a pause"
	}
	k.add(f)
}

// limiterClamp checks where the clamps are and what they see.
func (k *checker) limiterClamp(l *works.Limiter) {
	at := l.Thing()
	f := k.start("limiter clamp", "load control", at, "its clamps measure every line that its points load")
	phases, ok := l.ClampPhases.Get()
	lacks := finding.Gather(at.Unless(l.Clamp != "", "clamp place", "place of its clamps"), at.Unless(ok, "clamp phases", "phases its clamps measure"))
	var blind []string
	controls := 0
	for _, p := range k.m.Points {
		switch p.Record.Limiter {
		case "":
			lacks = append(lacks, p.Record.Thing().Lack("limiter", "name of the limiter that controls it, or none")...)
		case l.Name:
			controls++
			i := k.m.PointCurrents(p)
			through, unled := k.m.Through(l, p)
			lacks = append(append(lacks, i.Unplaced()...), unled...)
			if !through && len(unled) == 0 || ok && len(i.Unplaced()) == 0 && unseen(phases, i.Phase) {
				blind = append(blind, p.Record.Name)
			}
		}
	}
	switch {
	case len(blind) > 0:
		k.add(fails(f, say("clamp on %s does not see %s", phases, strings.Join(blind, ", ")),
			"put a clamp on every line the points load, each on the line its channel is named for, where all their current passes"))
	case len(lacks) > 0:
		k.add(notKnown(f, lacks))
	case controls == 0:
		k.add(notKnown(f, at.Lack("", "a point that names it")))
	default:
		f = meets(f, say("clamps at %s on %s", l.Clamp, phases))
		f.Next = "prove place, direction and line at commissioning: a known load on each line in turn"
		k.add(f)
	}
	k.clampLead(l)
}

// unseen reports a line that is loaded and has no clamp.
func unseen(clamps trade.PhaseSet, phase [3]quantity.Amperes) bool {
	for line, i := range phase {
		if i > 0 && clamps != trade.ThreePhase && model.LineNumber(clamps) != line {
			return true
		}
	}
	return false
}

// clampLead checks the length of the clamp lead.
func (k *checker) clampLead(l *works.Limiter) {
	at := l.Thing()
	lead, known := l.ClampLead.Get()
	most, said := l.ClampLeadMost.Get()
	f := k.start("clamp lead", "load control", at, "clamp lead is no longer than its maker allows")
	if !known || !said {
		k.add(notKnown(f, at.Unless(known, "clamp lead", "length of the clamp lead"),
			at.Unless(said, "greatest clamp lead", "greatest length its maker allows")))
		return
	}
	f = atMost(f, lead, most)
	if f.Verdict == finding.Fails {
		f.Next = "move the meter nearer, or use the maker's extension or data link"
	}
	k.add(f)
}
