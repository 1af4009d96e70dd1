package demand

// The proof of a limiter, as findings with their reasons and the worst case
// that was found by running it.

import (
	"fmt"
	"math"
	"strings"

	"chargewright/finding"
	"chargewright/job"
	"chargewright/model"
	"chargewright/quantity"
	"chargewright/standard"
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
	Worst       *Trace            // the worst case found, the counter-example where one fails
	Gaps        []string          // facts nobody stated
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
func Prove(m *model.Model, l *job.Limiter) Proof {
	c, gaps := ControlOf(l)
	p := Proof{Limiter: l.Name, Assumptions: assumptions}
	subject := "limiter " + l.Name
	holds, what, gap := protected(m, l)
	p.Holds, p.HoldsWhat = holds, what
	others, points, shared, least, lineGaps := loopLines(m, l)
	gaps = append(gaps, lineGaps...)
	if gap != "" {
		gaps = append(gaps, gap)
	}
	if points.Greatest() == 0 && len(lineGaps) == 0 {
		gaps = append(gaps, subject+": a point that it controls")
	}
	seen, said := l.ClampPhases.Get()
	if !said {
		gaps = append(gaps, subject+": clamp phases")
	}
	response, stated := l.ResponseTime.Get()
	if !stated {
		gaps = append(gaps, subject+": response time")
	}
	if len(gaps) > 0 {
		p.Gaps = gaps
		p.Findings = []finding.Finding{unknown(start(m.Rules, "limiter proof", "load control", subject, "current returns under the limit within the stated time"), gaps...)}
		return p
	}
	loops := [3]*loop{}
	for k := range loops {
		if points[k] > 0 {
			loops[k] = &loop{Control: c, points: points[k], others: others[k], holds: holds}
			if shared[k] == 1 {
				loops[k].least = least
			}
		}
	}
	p.reach(m, subject, others, holds)
	p.sees(m, subject, points, seen)
	hard := p.hardest(loops)
	p.Others, p.Points = hard.others, hard.points
	p.settles(m, subject, loops)
	p.returns(m, l, subject, hard, response)
	p.loses(m, subject, hard, response)
	p.rests(m, subject, loops)
	p.dead(m, subject, loops)
	p.handsOver(m, subject, hard, shared)
	p.vehicle(m, subject, c)
	p.heat(m, subject, loops)
	return p
}

// protected returns the current the place of a limiter must not pass.
func protected(m *model.Model, l *job.Limiter) (quantity.Amperes, string, string) {
	for _, b := range m.Boards {
		if b.Record.Name == l.At && b.Feed != nil {
			in, gap := b.Feed.Rated()
			return in, "device of " + b.Feed.Name(), gap
		}
	}
	rating, ok := m.Job.Supply.CutOut.Rating.Get()
	capacity, agreed := m.Job.Supply.Capacity.Get()
	switch {
	case agreed && (!ok || capacity <= rating):
		return capacity, "agreed capacity of the supply", ""
	case ok:
		return rating, "cut-out fuse", ""
	}
	return 0, "", "supply: rating of the cut-out fuse"
}

// loopLines returns, line by line, what the limiter cannot hold back, what it
// can, and how many points share the line.
func loopLines(m *model.Model, l *job.Limiter) (others, points Lines, shared [3]int, least quantity.Amperes, gaps []string) {
	existing := m.ExistingDemand()
	for _, b := range m.Boards {
		if b.Record.Name == l.At && b.Feed != nil {
			existing = m.LoadsOn(b)
		}
	}
	gaps = append(gaps, existing.Gaps...)
	others = Lines(existing.Phase)
	for _, p := range m.Points {
		if p.Circuit != nil && !under(p.Circuit, l.At) {
			continue
		}
		i := m.PointCurrents(p)
		gaps = append(gaps, i.Gaps...)
		for k := range i.Phase {
			if p.Record.Limiter != l.Name {
				others[k] += i.Phase[k]
			} else if i.Phase[k] > 0 {
				points[k] += i.Phase[k]
				shared[k]++
			}
		}
		if p.Record.Limiter == l.Name {
			floor, ok := p.Record.LeastCurrent.Get()
			if !ok {
				gaps = append(gaps, "point "+p.Record.Name+": least current")
			}
			least = max(least, floor)
		}
	}
	return others, points, shared, least, gaps
}

// under reports whether a circuit is fed through the place of a limiter.
func under(c *model.Circuit, place string) bool {
	if place == "supply" {
		return true
	}
	for _, up := range c.Path() {
		if up.From != nil && up.From.Record.Name == place {
			return true
		}
	}
	return false
}

// reach: what a limiter cannot hold back must stay within what is held.
func (p *Proof) reach(m *model.Model, subject string, others Lines, holds quantity.Amperes) {
	f := within(start(m.Rules, "limiter cannot help", "load control", subject, "the other loads alone stay within what it protects"), others.Greatest(), holds)
	if f.Verdict == finding.Fails {
		f.Why = finding.Say("the other loads alone exceed %v by %v: a limiter cannot cure that", holds, others.Greatest()-holds)
		f.Next = "judge the diversity of the other loads, or enlarge the supply"
	} else {
		f.Why = finding.Say("they leave %v for the points when they are greatest", holds-others.Greatest())
	}
	p.Findings = append(p.Findings, f)
}

// sees: a line without a clamp is not limited at all.
func (p *Proof) sees(m *model.Model, subject string, points Lines, seen job.PhaseSet) {
	f := start(m.Rules, "limiter sees", "load control", subject, "its clamps measure every line that its points load")
	f.Verdict = finding.Meets
	f.Why = finding.Say("clamps on %s; whether each is on its own line, the right way round, is proved on site", seen)
	for k, i := range points {
		if i > 0 && seen != job.ThreePhase && model.LineNumber(seen) != k {
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
func (p *Proof) settles(m *model.Model, subject string, loops [3]*loop) {
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
	f := within(start(m.Rules, "limiter settles", "load control", subject, "what can last stays within what it protects, clamp error included"), greatest, l.holds)
	f.Why = finding.Say("set to %v; with readings %v low, other loads of %v and the points settle at %v", l.Limit, l.Error, at, greatest)
	if f.Verdict == finding.Fails {
		f.Next = fmt.Sprintf("set the limit lower by %v", -quantity.Amperes(f.Margin.Number))
	}
	p.Findings = append(p.Findings, f)
}

// returns: the bounded time after any step, against what is stated and what
// the network operator asks.
func (p *Proof) returns(m *model.Model, l *job.Limiter, subject string, hard *loop, stated quantity.Seconds) {
	bound, worst, proved := hard.response()
	trace := hard.search(LoadStep)
	p.Worst = &trace
	f := start(m.Rules, "limiter response", "load control", subject, "after any step of the other loads the current is back within the stated time")
	f.Value, f.Limit, f.Margin = amount(bound), amount(stated), amount(stated-bound)
	switch {
	case proved && bound <= stated+1e-9:
		p.Within = bound
		f.Verdict = finding.Meets
		f.Why = finding.Say("proved for every step up to %v, every state before it and every moment of the clock: %d readings of %v, then %v to the point and %v for the vehicle; running it, %v is the longest found",
			hard.others, int(math.Round(float64((bound-hard.lag())/hard.Samples))), hard.Samples, hard.PassesOn, hard.Follows, trace.Late)
	case trace.Late > stated:
		f.Verdict = finding.Fails
		f.Value, f.Margin = amount(trace.Late), amount(stated-trace.Late)
		f.Why = finding.Say("counter-example: %s from %v to %v, the next reading %v later; the line carries up to %v and is back under %v after %v",
			trace.Event, trace.Before, trace.After, trace.Clock, trace.Greatest, hard.holds, late(trace.Late))
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
	p.operator(m, l, subject, max(bound, hard.afterLoss()), proved)
}

func late(t quantity.Seconds) string {
	if math.IsInf(float64(t), 1) {
		return "no time that was waited"
	}
	return t.String()
}

// operator: the times of a customer import limit, where a capacity is agreed.
func (p *Proof) operator(m *model.Model, l *job.Limiter, subject string, bound quantity.Seconds, proved bool) {
	if !m.Job.Supply.Capacity.IsKnown() || m.SupplyLimiter() != l {
		return
	}
	f := start(m.Rules, "limiter operator", "import limit", subject, "after a step or a lost signal an agreed capacity is kept within the operator's time")
	typical, cite, err1 := m.Rules.Limit("limiter time typical")
	longest, cite2, err2 := m.Rules.Limit("limiter time longest")
	f.Source = sources(m.Rules.Clause("import limit"), cite, cite2)
	switch {
	case err1 != nil || err2 != nil:
		f = unknown(f, "rulebook: times of an import limit")
	case !proved:
		f = unknown(f, "a proved response time")
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

// loses: the clamp, its cable or the link fails.
func (p *Proof) loses(m *model.Model, subject string, l *loop, stated quantity.Seconds) {
	p.AfterLoss = l.afterLoss()
	f := start(m.Rules, "limiter loss", "load control", subject, "with its clamp or link lost, the fail-safe current is reached within the stated time")
	f = within(f, p.AfterLoss, stated)
	f.Why = finding.Say("time-out %v, met at the next reading due; then %v to the point and the vehicle", l.TimeOut, l.lag())
	if f.Verdict == finding.Fails {
		trace := l.search(SignalLost)
		if trace.Late > stated && trace.Late > p.Worst.Late {
			p.Worst = &trace
		}
		f.Why = f.Why.Then(finding.Say("counter-example: the signal is lost as the other loads step to %v, and the line is over %v for %v", trace.After, l.holds, late(trace.Late)))
		f.Next = "shorten the lost-signal time-out"
	}
	p.Findings = append(p.Findings, f)

}

// worstOf returns the line with most of something.
func worstOf(loops [3]*loop, much func(*loop) quantity.Amperes) *loop {
	var worst *loop
	for _, l := range loops {
		if l != nil && (worst == nil || much(l) > much(worst)) {
			worst = l
		}
	}
	return worst
}

// rests: with the points at the fail-safe current nothing is passed.
func (p *Proof) rests(m *model.Model, subject string, loops [3]*loop) {
	l := worstOf(loops, (*loop).failSafeTotal)
	f := within(start(m.Rules, "limiter fail-safe total", "load control", subject, "the greatest other loads and the fail-safe current stay within what it protects"), l.failSafeTotal(), l.holds)
	f.Why = finding.Say("other loads %v and the points at %v", l.others, l.failSafeTotal()-l.others)
	if f.Verdict == finding.Fails {
		f.Next = "set the fail-safe current to " + max(0, l.holds-l.others).String() + " or less; below the least current that is a pause"
	}
	p.Findings = append(p.Findings, f)

}

// dead: a clamp that reads nothing must not be believed.
func (p *Proof) dead(m *model.Model, subject string, loops [3]*loop) {
	l := worstOf(loops, func(l *loop) quantity.Amperes { return l.others + l.points })
	f := start(m.Rules, "limiter dead clamp", "load control", subject, "a clamp that comes off is not taken for 0 A")
	if l.NoticesLoss {
		f.Verdict = finding.Meets
		f.Why = finding.Say("stated; the loss then counts as a lost signal")
		f.Next = "prove it when commissioning: with a vehicle on charge unplug the clamp's lead at the meter end, if its maker allows, and see the current fall"
	} else {
		trace := l.search(ClampDead)
		f = within(f, trace.Greatest, l.holds)
		f.Why = finding.Say("it takes 0 A for the truth and lets the points draw %v beside %v", trace.Greatest-trace.After, trace.After)
		if f.Verdict == finding.Fails {
			p.Worst = &trace
			f.Next = "use a limiter that supervises its clamp, or set the points to what the greatest other loads leave"
		}
	}
	p.Findings = append(p.Findings, f)
}

// handsOver: what one point gives up is free before another takes it.
func (p *Proof) handsOver(m *model.Model, subject string, l *loop, shared [3]int) {
	if max(shared[0], shared[1], shared[2]) < 2 {
		return
	}
	f := start(m.Rules, "limiter hands over", "load control", subject, "current is given to another point only when the first has let it go")
	f.Value, f.Limit, f.Margin = amount(l.Waits), amount(l.lag()), amount(l.Waits-l.lag())
	f.Verdict = finding.Meets
	f.Why = finding.Say("it waits %v before raising; letting go takes up to %v", l.Waits, l.lag())
	if l.Waits < l.lag() {
		f.Verdict = finding.Fails
		f.Why = f.Why.Then(finding.Say("for up to %v both may draw the same share", l.lag()-l.Waits))
		f.Next = "lengthen the wait before raising to " + l.lag().String() + " or more"
	}
	p.Findings = append(p.Findings, f)
}

// vehicle: the proof is only as good as the time it gives the vehicle.
func (p *Proof) vehicle(m *model.Model, subject string, c Control) {
	f := start(m.Rules, "limiter vehicle time", "pilot", subject, "the time allowed for the vehicle is the longest it may take")
	longest, cite, err := m.Rules.PilotTime("vehicle follows duty")
	if err != nil {
		p.Findings = append(p.Findings, unknown(f, "rulebook: time a vehicle may take"))
		return
	}
	f.Source = sources(cite)
	f.Value, f.Limit, f.Margin = amount(c.Follows), amount(longest), amount(c.Follows-longest)
	f.Verdict = finding.Meets
	f.Why = finding.Say("a vehicle may take %v to follow the pilot", longest)
	if c.Follows < longest {
		f.Verdict = finding.Fails
		f.Next = "reckon with " + longest.String() + ", whatever the vehicle of the day does"
	}
	p.Findings = append(p.Findings, f)
}

// heat: the worst excursion against the device's own curve.
func (p *Proof) heat(m *model.Model, subject string, loops [3]*loop) {
	l := worstOf(loops, func(l *loop) quantity.Amperes { return l.others + l.points })
	d, gap := protectedDevice(m, p.Limiter)
	f := start(m.Rules, "limiter excursion", "load control", subject, "the worst excursion is short against the device's shortest operating time")
	if gap != "" {
		p.Findings = append(p.Findings, unknown(f, gap))
		return
	}
	peak := l.others + l.points
	shortest, _, cite, err := m.Rules.OperatingTime(d, peak)
	f.Source = sources(m.Rules.Clause("load control"), cite)
	lasts := max(p.Within, p.AfterLoss)
	switch {
	case err != nil:
		f = unknown(f, err.Error())
	case math.IsInf(float64(shortest), 1):
		if w, err := newWear(m.Rules, d); err == nil {
			f = within(f, peak, w.carries)
		}
		f.Why = finding.Say("%v at the most, for %v: a current %s must carry without operating; no design margin", peak, lasts, d)
	case p.Within == 0:
		f = unknown(f, "a proved response time")
		f.Next, f.WaitsOn = "settle the response first", "limiter response"
	case shortest == 0:
		f = unknown(f, "a published shortest operating time of "+d.String()+" at "+peak.String())
		f.Next = "ask the maker of the device for its time-current curve"
	default:
		f = within(f, lasts, shortest*unquestioned)
		f.Why = finding.Say("%v at the most for %v; the device may operate after %v at the soonest, of which a tenth is taken (common practice, no source)", peak, lasts, shortest)
		if f.Verdict == finding.Fails && lasts < shortest {
			f.Verdict = finding.JudgeOnSite
		}
		if f.Verdict != finding.Meets {
			f.Next = "make the limiter faster, or the points smaller"
		}
	}
	p.Findings = append(p.Findings, f)
}

// protectedDevice returns the overcurrent device at the place of a limiter.
func protectedDevice(m *model.Model, limiter string) (standard.Device, string) {
	for i := range m.Job.Limiters {
		l := &m.Job.Limiters[i]
		if l.Name != limiter {
			continue
		}
		for _, b := range m.Boards {
			if b.Record.Name == l.At && b.Feed != nil {
				return b.Feed.Device()
			}
		}
	}
	return CutOut(m)
}

// CutOut returns the network operator's fuse as the rulebook knows it.
func CutOut(m *model.Model) (standard.Device, string) {
	c := &m.Job.Supply.CutOut
	family, ok := c.Type.Get()
	rating, rated := c.Rating.Get()
	var gaps []string
	if !ok {
		gaps = append(gaps, "supply: type of the cut-out fuse")
	}
	if !rated {
		gaps = append(gaps, "supply: rating of the cut-out fuse")
	}
	return standard.Device{Family: family, Rating: rating}, strings.Join(gaps, "; ")
}
