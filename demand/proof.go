package demand

// The proof of a limiter, as findings with their reasons and the worst case
// that was found by running it.

import (
	"fmt"
	"math"

	"chargewright/finding"
	"chargewright/model"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/trade"
	"chargewright/works"
)

// Proof is the outcome for one limiter.
type Proof struct {
	Limiter     string
	Line        int               // the line it is hardest in, from 0
	Others      quantity.Amperes  // greatest of what it cannot hold back, in that line
	Points      quantity.Amperes  // most its points can take in that line
	Holds       quantity.Amperes  // current that must not be passed
	HoldsWhat   string            // whose it is
	Within      quantity.Seconds  // longest time back under it; 0 where not proved
	AfterLoss   quantity.Seconds  // longest time to the fail-safe current
	Settled     quantity.Amperes  // greatest current that can last
	Assumptions []string          // what the proof takes as given, beyond the stated facts
	Findings    []finding.Finding //
	AfterReturn quantity.Seconds  // longest time back under it when readings failed for less than the time-out, from their failing
	Worst       *Trace            // the worst case found, the counter-example where one fails
	Lacks       finding.Lacks     // facts nobody stated
}

// assumptions are what the proof takes as given.
var assumptions = []string{
	"the time counts from the last step of the other loads, whatever they did before; while they go on stepping it starts anew",
	"readings come at a steady pace; where the clock stands at the step is not assumed",
	"each reading is off by no more than the clamp error, and so are the points' own meters",
	"where the clamps see the points too, the points' own currents are read with the same sample and taken off",
	"a vehicle takes no more than it was allowed at any time within the lag, and may take less",
	"settings are lowered at once; after power-up and after a loss the fail-safe current is kept until a whole average of readings is in",
	"a point that does not hear from its limiter takes its share of the fail-safe current after the same time-out",
}

// Prove judges a limiter of the job.
func Prove(m *model.Model, l *works.Limiter) Proof {
	p := prove(m, l)
	m.Rest(p.Findings, func(m *model.Model) []finding.Finding {
		if l, ok := m.Job.Limiter(p.Limiter); ok {
			return prove(m, l).Findings
		}
		return nil
	})
	return p
}

func prove(m *model.Model, l *works.Limiter) Proof {
	c, lacks := controlOf(l)
	p := Proof{Limiter: l.Name, Assumptions: assumptions}
	of := l.Thing()
	carries := m.CarriedAt(l)
	holds := carries.Value
	p.Holds, p.HoldsWhat = holds, carries.Why
	others, points, shared, least, lineLacks := loopLines(m, l)
	seen, said := l.ClampPhases.Get()
	response, stated := l.ResponseTime.Get()
	lacks = finding.Gather(lacks, lineLacks, carries.Lacks, controlled(m, l, points.Greatest() > 0 || len(lineLacks) > 0),
		of.Unless(said, "clamp phases", "clamp phases"), of.Unless(stated, "response time", "response time"))
	if len(lacks) > 0 {
		p.Lacks = lacks
		p.Findings = []finding.Finding{unknown(start(m.Rules, "limiter proof", "load control", of, "current returns under the limit within the stated time"), lacks)}
		return p
	}
	loops := [3]*loop{}
	for k := range loops {
		if points[k] > 0 {
			loops[k] = &loop{limiterControl: c, points: points[k], others: others[k], holds: holds}
			if shared[k] == 1 {
				loops[k].least = least
			}
		}
	}
	p.reach(m, of, others, holds)
	p.sees(m, of, points, seen)
	hard := p.hardest(loops)
	p.Others, p.Points = hard.others, hard.points
	p.settles(m, of, loops)
	p.returns(m, l, of, hard, response)
	p.loses(m, of, hard, response)
	p.wakes(m, of, hard, response)
	p.comesBack(m, of, hard, response)
	p.rests(m, of, loops)
	p.dead(m, of, loops)
	p.impossible(m, of, loops)
	p.handsOver(m, of, hard, shared)
	p.vehicle(m, of, c)
	p.heat(m, of, loops)
	return p
}

// controlled is the lack of points that a limiter controls: each that names no
// limiter may be one.
func controlled(m *model.Model, l *works.Limiter, some bool) finding.Lacks {
	if some {
		return nil
	}
	lack := finding.Lack{Path: "points", Of: l.Thing().Name, What: "a point that it controls"}
	for _, p := range m.Points {
		if p.Record.Limiter == "" {
			lack.Or = append(lack.Or, p.Record.Thing().Path+"/limiter")
		}
	}
	if len(lack.Or) > 0 {
		lack.Path, lack.Or = lack.Or[0], lack.Or[1:]
	}
	return finding.Lacks{lack}
}

// loopLines returns, line by line, what the limiter cannot hold back, what it
// can, and how many points share the line.
func loopLines(m *model.Model, l *works.Limiter) (others, points Lines, shared [3]int, least quantity.Amperes, lacks finding.Lacks) {
	at := m.AtLimiter(l)
	others, points, lacks = Lines(at.Without(l).Phase), Lines(at.HeldBy(l)), at.Lacks
	for _, p := range m.Points {
		through, unled := m.Through(l, p)
		if p.Record.Limiter != l.Name || !through && len(unled) == 0 {
			continue
		}
		lacks = append(lacks, unled...)
		i := m.PointCurrents(p)
		lacks = append(lacks, i.Unplaced()...)
		for k := range i.Phase {
			if i.Phase[k] > 0 {
				shared[k]++
			}
		}
		floor, ok := p.Record.LeastCurrent.Get()
		lacks = append(lacks, p.Record.Thing().Unless(ok, "least current", "least current")...)
		least = max(least, floor)
	}
	return others, points, shared, least, lacks
}

// reach: what a limiter cannot hold back must stay within what is held.
func (p *Proof) reach(m *model.Model, of works.Thing, others Lines, holds quantity.Amperes) {
	f := within(start(m.Rules, "limiter cannot help", "load control", of, "the other loads alone stay within what it protects"), others.Greatest(), holds)
	if f.Verdict == finding.Fails {
		f.Why = finding.Say("the other loads alone exceed %v by %v: a limiter cannot cure that", holds, others.Greatest()-holds)
		f.Next = "judge the diversity of the other loads, or enlarge the supply"
	} else {
		f.Why = finding.Say("they leave %v for the points when they are greatest", holds-others.Greatest())
	}
	p.Findings = append(p.Findings, f)
}

// sees: a line without a clamp is not limited at all.
func (p *Proof) sees(m *model.Model, of works.Thing, points Lines, seen trade.PhaseSet) {
	f := start(m.Rules, "limiter sees", "load control", of, "its clamps measure every line that its points load")
	f.Verdict = finding.Meets
	f.Why = finding.Say("clamps on %s; whether each is on its own line, the right way round, is proved on site", seen)
	for k, i := range points {
		if i > 0 && seen != trade.ThreePhase && model.LineNumber(seen) != k {
			f.Verdict = finding.Fails
			f.Why = finding.Say("clamp on %s: the points load L%d with up to %v unseen, and nothing below is proved for it", seen, k+1, i)
			f.Next = "put a clamp on every line the points load"
		}
	}
	p.Findings = append(p.Findings, f)
}

// hardest picks the line with the longest response, then the greatest load.
func (p *Proof) hardest(loops [3]*loop) *loop {
	var worst *loop
	longest := quantity.Seconds(-1)
	for k, l := range loops {
		if l == nil {
			continue
		}
		t, _, proved := l.response()
		if !proved {
			t = quantity.Seconds(math.Inf(1))
		}
		if worst == nil || t > longest || t == longest && l.others+l.points > worst.others+worst.points {
			worst, longest, p.Line = l, t, k
		}
	}
	return worst
}

// settles: what can last, clamp error included, is within what is held.
func (p *Proof) settles(m *model.Model, of works.Thing, loops [3]*loop) {
	var l *loop
	var greatest, at quantity.Amperes
	for _, each := range loops {
		if each == nil {
			continue
		}
		if g, o := each.settled(); l == nil || g > greatest {
			l, greatest, at = each, g, o
		}
	}
	p.Settled = greatest
	f := within(start(m.Rules, "limiter settles", "load control", of, "what can last stays within what it protects, clamp error included"), greatest, l.holds)
	f.Why = finding.Say("set to %v; with readings %v low, other loads of %v and the points settle at %v", l.Limit, l.Error, at, greatest)
	if f.Verdict == finding.Fails {
		f.Next = fmt.Sprintf("set the limit lower by %v", -quantity.Amperes(f.Margin.Number))
	}
	p.Findings = append(p.Findings, f)
}

// returns: the bounded time after any step, against what is stated and what
// the network operator asks.
func (p *Proof) returns(m *model.Model, l *works.Limiter, of works.Thing, hard *loop, stated quantity.Seconds) {
	bound, worst, proved := hard.response()
	trace := hard.search(LoadStep)
	p.Worst = &trace
	f := start(m.Rules, "limiter response", "load control", of, "after any step of the other loads the current is back within the stated time")
	f.Value, f.Limit, f.Margin = amount(bound), amount(stated), amount(stated-bound)
	switch {
	case proved && bound <= stated+1e-9:
		p.Within = bound
		f.Verdict = finding.Meets
		f.Why = finding.Say("proved for every step up to %v, every state before it and every moment of the clock: %d readings of %v, then %v to the point and "+
			"%v for the vehicle; running it, %v is the longest found",
			hard.others, int(math.Round(float64((bound-hard.lag())/hard.Samples))), hard.Samples, hard.PassesOn, hard.Follows, trace.Late)
	case trace.Late > stated:
		f.Verdict = finding.Fails
		f.Value, f.Margin = finding.Amount{}, finding.Amount{}
		if !math.IsInf(float64(trace.Late), 1) { // never is no number
			f.Value, f.Margin = amount(trace.Late), amount(stated-trace.Late)
		}
		f.Why = finding.Say("counter-example: %s from %v to %v, the next reading %v later; the line carries up to %v and is %s",
			trace.Event, trace.Before, trace.After, trace.Clock, trace.Greatest, back(hard.holds, trace.Late))
		f.Next = "shorten the averaging, the sampling or the passing on; or lower the limit"
		if proved {
			p.Within = bound
		}
	case !proved:
		f.Value, f.Margin = finding.Amount{}, finding.Amount{}
		f.Verdict = finding.NotKnown
		f.Why = finding.Say("with other loads of %v the bound never comes under %v, and no counter-example was found", worst, hard.holds)
		f.Next = "lower the limit, or state a smaller clamp error"
	default:
		f.Verdict = finding.NotKnown
		f.Why = finding.Say("proved within %v; the longest found is %v: between the two it is neither proved nor disproved", bound, trace.Late)
		f.Next = "state a response time of " + bound.String() + " or more"
	}
	p.Findings = append(p.Findings, f)
	p.operator(m, l, of, max(bound, hard.afterLoss()), proved)
}

// back says when a line is back under what it must hold.
func back(holds quantity.Amperes, after quantity.Seconds) string {
	if math.IsInf(float64(after), 1) {
		return fmt.Sprintf("over %v as long as it was watched", holds)
	}
	if after == 0 {
		return fmt.Sprintf("at no time over %v", holds)
	}
	return fmt.Sprintf("back under %v after %v", holds, after)
}

// operator: the times of a customer import limit, where a capacity is agreed.
func (p *Proof) operator(m *model.Model, l *works.Limiter, of works.Thing, bound quantity.Seconds, proved bool) {
	if !m.Job.Supply.Capacity.IsKnown() || m.SupplyLimiter() != l {
		return
	}
	f := start(m.Rules, "limiter operator", "import limit", of, "after a step or a lost signal an agreed capacity is kept within the operator's time")
	typical, cite, err1 := m.Rules.Limit("limiter time typical")
	longest, cite2, err2 := m.Rules.Limit("limiter time longest")
	f.Source = standard.Sources(m.Rules.Clause("import limit"), cite, cite2)
	switch {
	case err1 != nil || err2 != nil:
		f = unknown(f, finding.Cannot("rulebook: times of an import limit"))
	case !proved:
		f = unknown(f, finding.Cannot("a proved response time"))
		f.Next = "settle the response first"
		f.WaitsOn = "limiter response"
	case float64(bound) <= typical:
		f = within(f, bound, quantity.Seconds(typical))
		f.Why = finding.Say("within the usual %v; %v is the longest allowed", quantity.Seconds(typical), quantity.Seconds(longest))
	case float64(bound) <= longest:
		f = within(f, bound, quantity.Seconds(longest))
		f.Verdict = finding.JudgeOnSite
		f.Why = finding.Say("beyond the usual %v and within the longest %v", quantity.Seconds(typical), quantity.Seconds(longest))
		f.Next = "agree the time with the network operator"
	default:
		f = within(f, bound, quantity.Seconds(longest))
		f.Why = finding.Say("beyond the longest time an import limit may take")
		f.Next = "make the limiter faster, or apply for more capacity"
	}
	p.Findings = append(p.Findings, f)
}
