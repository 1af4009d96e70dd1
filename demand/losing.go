package demand

// The rest of a limiter's proof: when a signal is lost, when a point hands over
// to another, what the vehicle may take its time over, and what the excursion
// does to the device ahead.

import (
	"fmt"
	"math"

	"chargewright/finding"
	"chargewright/model"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/works"
)

// loses: the clamp, its cable or the link fails.
func (p *Proof) loses(m *model.Model, of works.Thing, l *loop, stated quantity.Seconds) {
	p.AfterLoss = l.afterLoss()
	f := start(m.Rules, "limiter loss", "load control", of, "with its clamp or link lost, the fail-safe current is reached within the stated time")
	f = within(f, p.AfterLoss, stated)
	f.Why = finding.Say("time-out %v, met at the next reading due; then %v to the point and the vehicle", l.TimeOut, l.lag())
	if f.Verdict == finding.Fails {
		trace := l.search(SignalLost)
		if trace.Late > stated && trace.Late > p.Worst.Late {
			p.Worst = &trace
		}
		f.Why = f.Why.Then(finding.Say("counter-example: the signal is lost as the other loads step to %v, and the line is %s", trace.After,
			back(l.holds, trace.Late)))
		f.Next = "shorten the lost-signal time-out"
	}
	p.Findings = append(p.Findings, f)

}

// wakes: power comes back to the limiter while the points still draw.
func (p *Proof) wakes(m *model.Model, of works.Thing, l *loop, stated quantity.Seconds) {
	trace := l.search(PowerUp)
	f := start(m.Rules, "limiter power-up", "load control", of, "after its own power-up the current is back within the stated time, whatever the points draw")
	f = within(f, trace.Late, stated)
	f.Why = finding.Say("it knows nothing yet and keeps to the fail-safe current until %s in; running it, the line is %s", are(l.readings()),
		back(l.holds, trace.Late))
	if math.IsInf(float64(trace.Late), 1) { // never is no number
		f.Value, f.Margin = finding.Amount{}, finding.Amount{}
	}
	if f.Verdict == finding.Fails {
		f.Next = "lower the fail-safe current, or shorten the sampling or the passing on"
	}
	p.Findings = append(p.Findings, f)
}

// are counts readings in words.
func are(n int) string {
	if n == 1 {
		return "a reading is"
	}
	return fmt.Sprintf("%d readings are", n)
}

// comesBack: readings fail for less than the time-out, the loads step meanwhile,
// and readings come again. From then on the stated time holds; what came before
// is in the heat.
func (p *Proof) comesBack(m *model.Model, of works.Thing, l *loop, stated quantity.Seconds) {
	gap := l.gap()
	trace := l.search(SignalBack)
	if !math.IsInf(float64(trace.Late), 1) {
		p.AfterReturn = trace.Late
	}
	from := max(0, trace.Late-gap)
	f := start(m.Rules, "limiter return", "load control", of, "once readings come again after a gap shorter "+
		"than the time-out, the current is back within the stated time")
	f = within(f, from, stated)
	f.Why = finding.Say("readings are missing for %v, and the loads step as they begin to; the line is %s", gap, back(l.holds, trace.Late))
	if math.IsInf(float64(trace.Late), 1) {
		f.Value, f.Margin = finding.Amount{}, finding.Amount{}
	}
	if f.Verdict == finding.Fails {
		f.Next = "shorten the averaging or the lost-signal time-out"
	}
	p.Findings = append(p.Findings, f)
}

// impossible: a reading that cannot be, below zero where nothing feeds back or
// below what the points themselves take, must not be believed.
func (p *Proof) impossible(m *model.Model, of works.Thing, loops [3]*loop) {
	l := worstOf(loops, func(l *loop) quantity.Amperes { return l.others + l.points })
	f := start(m.Rules, "limiter impossible reading", "load control", of, "a reading that cannot be is not taken for the truth")
	fed, lacks := feedsBack(m)
	trace := l.search(ReadsReversed)
	switch {
	case l.NoticesLoss && !fed && len(lacks) == 0:
		f.Verdict = finding.Meets
		f.Why = finding.Say("stated for a clamp that is lost; nothing feeds back on this site, so that a reading below zero, " +
			"or below the points' own, counts as none")
		f.Next = "see it when commissioning: with a vehicle on charge turn nothing round, but ask its maker how it takes a clamp that is the wrong way about"
	case trace.Greatest <= l.holds:
		f = within(f, trace.Greatest, l.holds)
		f.Why = finding.Say("even a clamp that is the wrong way about lets the line carry no more")
	case l.NoticesLoss && !fed:
		f = unknown(f, lacks)
	case fed:
		f.Verdict = finding.JudgeOnSite
		f.Why = finding.Say("something feeds back on this site, so that a reading below zero may be true; a clamp the wrong way about "+
			"would let the line carry %v", trace.Greatest)
		f.Next = "prove the way round of each clamp with a step of the point, as the procedure for clamps says"
	default:
		f = within(f, trace.Greatest, l.holds)
		f.Why = finding.Say("a clamp the wrong way about is believed, and lets the line carry %v", trace.Greatest)
		f.Next = "use a limiter that refuses such a reading; prove the way round of each clamp with a step of the point"
	}
	p.Findings = append(p.Findings, f)
}

// feedsBack reports whether anything on site can send current out, and what keeps
// that from being known.
func feedsBack(m *model.Model) (bool, finding.Lacks) {
	s := &m.Job.Supply
	on, said := s.OnSite.Get()
	back, saidBack := m.Job.Notification.ToSupply.Get()
	if on || back || len(s.OtherSources) > 0 {
		return true, nil
	}
	return false, finding.Gather(works.TheSupply.Unless(said, "generation or storage", "generation or storage on site, or that there is none", "other sources"),
		works.Thing{Path: "notification", Name: "network operator"}.Unless(saidBack, "feeds back", "whether a point can feed the supply"))
}

// rests: with the points at the fail-safe current nothing is passed.
func (p *Proof) rests(m *model.Model, of works.Thing, loops [3]*loop) {
	l := worstOf(loops, (*loop).failSafeTotal)
	f := within(start(m.Rules, "limiter fail-safe total", "load control", of,
		"the greatest other loads and the fail-safe current stay within what it protects"), l.failSafeTotal(), l.holds)
	f.Why = finding.Say("other loads %v and the points at %v", l.others, l.failSafeTotal()-l.others)
	if f.Verdict == finding.Fails {
		f.Next = "set the fail-safe current to " + max(0, l.holds-l.others).String() + " or less; below the least current that is a pause"
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

// dead: a clamp that reads nothing must not be believed.
func (p *Proof) dead(m *model.Model, of works.Thing, loops [3]*loop) {
	l := worstOf(loops, func(l *loop) quantity.Amperes { return l.others + l.points })
	f := start(m.Rules, "limiter dead clamp", "load control", of, "a clamp that comes off is not taken for 0 A")
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
func (p *Proof) handsOver(m *model.Model, of works.Thing, l *loop, shared [3]int) {
	if max(shared[0], shared[1], shared[2]) < 2 {
		return
	}
	f := start(m.Rules, "limiter hands over", "load control", of, "current is given to another point only when the first has let it go")
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
func (p *Proof) vehicle(m *model.Model, of works.Thing, c limiterControl) {
	f := start(m.Rules, "limiter vehicle time", "pilot", of, "the time allowed for the vehicle is the longest it may take")
	longest, cite, err := m.Rules.PilotTime("vehicle follows duty")
	if err != nil {
		p.Findings = append(p.Findings, unknown(f, finding.Cannot("rulebook: time a vehicle may take")))
		return
	}
	f.Source = standard.Sources(cite)
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
func (p *Proof) heat(m *model.Model, of works.Thing, loops [3]*loop) {
	l := worstOf(loops, func(l *loop) quantity.Amperes { return l.others + l.points })
	device := protectedDevice(m, p.Limiter)
	d := device.Value
	f := start(m.Rules, "limiter excursion", "load control", of, "the worst excursion is short against the device's shortest operating time")
	if !device.Known() {
		p.Findings = append(p.Findings, unknown(f, device.Lacks))
		return
	}
	peak := l.others + l.points
	shortest, _, cite, err := m.Rules.OperatingTime(d, peak)
	f.Source = standard.Sources(m.Rules.Clause("load control"), cite)
	lasts := max(p.Within, p.AfterLoss, p.AfterReturn)
	switch {
	case err != nil:
		f = unknown(f, finding.Cannot(err.Error()))
	case math.IsInf(float64(shortest), 1):
		if w, err := newWear(m.Rules, d); err == nil {
			f = within(f, peak, w.carries)
		}
		f.Why = finding.Say("%v at the most, for %v: a current %s must carry without operating; no design margin", peak, lasts, d)
	case p.Within == 0:
		f = unknown(f, finding.Cannot("a proved response time"))
		f.Next, f.WaitsOn = "settle the response first", "limiter response"
	case shortest == 0:
		f = unknown(f, finding.Cannot("a published shortest operating time of "+d.String()+" at "+peak.String()))
		f.Next = "ask the maker of the device for its time-current curve"
	default:
		f = within(f, lasts, shortest*unquestioned)
		f.Why = finding.Say("%v at the most for %v; the device may operate after %v at the soonest, of which a tenth is taken (common practice, no source)", peak,
			lasts, shortest)
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
func protectedDevice(m *model.Model, limiter string) model.Answer[standard.Device] {
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
func CutOut(m *model.Model) model.Answer[standard.Device] {
	c := &m.Job.Supply.CutOut
	family, ok := c.Type.Get()
	return model.Answer[standard.Device]{Value: standard.Device{Family: family, Rating: c.Rating.Or(0)},
		Lacks: finding.Gather(works.TheSupply.Unless(ok, "cut-out/type", "type of the cut-out fuse"), m.NoFuse())}
}
