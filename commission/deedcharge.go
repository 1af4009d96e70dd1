package commission

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"chargewright/finding"
	"chargewright/ocpp"
	"chargewright/quantity"
)

// Steps with a vehicle: start, obey a limit, fall back, stop.

// vehicle waits until the point sees one.
func (c *course) vehicle(ctx context.Context, _ Step, within time.Duration) outcome {
	c.say("wait for a vehicle or its simulator")
	_ = c.try(ctx, func() error {
		_, err := c.station.Speaks().Trigger(ctx, c.station, "StatusNotification")
		return err
	})
	var last ocpp.Event
	_, ok := c.station.Wait(ctx, 0, within, func(events []ocpp.Event) bool {
		for _, e := range events {
			if e.What == ocpp.Changed && e.Outlet > 0 {
				last = e
			}
		}
		switch last.Status {
		case "Preparing", "Charging", "SuspendedEV", "SuspendedEVSE", "Occupied":
			return true
		}
		return false
	})
	if !ok {
		for _, d := range []string{"start", "samples", "phases", "limit", "raise", "lose the link", "stop", "energy", "link", "delay"} {
			c.waits[d] = "a vehicle to be seen"
		}
		return notKnown("plug in the vehicle or the simulator; if it is in, measure the control pilot", "no vehicle was seen within %v; the outlet says %s %s",
			quantity.Seconds(within.Seconds()), orNothing(last.Status), last.Fault)
	}
	return meets("the outlet says %s", last.Status)
}

// running are the deeds that need a session.
var running = []string{"samples", "phases", "limit", "raise", "lose the link", "stop", "energy", "link"}

// start starts a session on the known card and waits for current.
func (c *course) start(ctx context.Context, _ Step, within time.Duration) outcome {
	mark := c.station.Mark()
	c.say("start on the known card %s", c.Known)
	hold := func(o outcome) outcome {
		for _, d := range running {
			c.waits[d] = "a session to start"
		}
		return o
	}
	if c.Meter != nil {
		if m, err := c.Meter(ctx); err == nil {
			c.meterAt = m.Energy
		}
	}
	asked := c.clock.Now()
	status, err := c.command(ctx, func(d ocpp.Dialect) (ocpp.Status, error) { return d.Start(ctx, c.station, c.Known) })
	if err != nil {
		return hold(failed("a start from afar", err))
	}
	if !status.Accepted() {
		return hold(fails("see that a vehicle is plugged in, no session runs and the outlet is in service", "the start was answered with %s", status))
	}
	e, ok := c.station.Until(ctx, mark, within, func(e ocpp.Event) bool { return e.What == ocpp.Started })
	if !ok {
		return hold(fails("is the card known, is the vehicle ready (state C)? measure the pilot", "the start was accepted, but no session began within %v",
			quantity.Seconds(within.Seconds())))
	}
	c.started, c.startAt = &e, mark
	if !e.Allowed {
		return hold(fails("it must send the card it was started with", "the session began on the card %q, which is not the known one", e.Token))
	}
	flow, ok := c.station.Until(ctx, mark, within+testInterval*time.Second, func(e ocpp.Event) bool { return e.Sample != nil && over(e.Sample, 1) })
	if !ok {
		for _, e := range c.station.Since(mark) {
			if e.Sample != nil {
				if _, known := e.Sample.Greatest(); !known {
					return lacks("a session began, but the point sends no current: read it with a clamp or a meter")
				}
			}
		}
		return fails("state C at the pilot? another limit or schedule holding it? read its status", "a session began, but no current was seen within %v",
			quantity.Seconds(within.Seconds()))
	}
	i, _ := flow.Sample.Greatest()
	return meets("a session began and %v flows", i).with(seconds(flow.At.Sub(asked).Seconds()), seconds(within.Seconds()+testInterval))
}

// over reports whether a line of the sample carries more than i.
func over(s *ocpp.Sample, i quantity.Amperes) bool {
	most, known := s.Greatest()
	return known && most > i
}

// samples looks at two samples: their spacing, and whether power is voltage
// times current.
func (c *course) samples(ctx context.Context, _ Step, within time.Duration) outcome {
	c.say("wait for meter values")
	var got []ocpp.Event
	c.station.Wait(ctx, c.startAt, within, func(events []ocpp.Event) bool {
		got = got[:0]
		for _, e := range events {
			if e.Sample != nil && over(e.Sample, 1) {
				got = append(got, e)
			}
		}
		return len(got) >= 3
	})
	if len(got) < 2 {
		for _, e := range c.station.Since(c.startAt) {
			if e.Sample != nil && !hasCurrent(e.Sample) {
				return lacks("its meter values hold no current")
			}
		}
		return fails("set the sample interval and the sampled values again", "%d meter values with current came within %v", len(got),
			quantity.Seconds(within.Seconds()))
	}
	a, b := got[len(got)-2], got[len(got)-1]
	var missing []string
	if !b.Sample.Energy.IsKnown() {
		missing = append(missing, "energy")
	}
	vi, both := b.Sample.Product()
	if !both {
		missing = append(missing, "voltage")
	}
	p, power := b.Sample.Power.Get()
	if !power {
		missing = append(missing, "power")
	}
	if len(missing) > 0 {
		return lacks("its meter values hold no %s", strings.Join(missing, ", "))
	}
	const most = 0.10 // engineering judgement; power factor of a vehicle on charge is near 1
	share := float64(p)/float64(vi) - 1
	if share > most || share < -most {
		return fails("is its current sensor on the right line, the right way round?", "it tells %v where voltage times current is %v", p, vi)
	}
	spacing := b.Stamp.Sub(a.Stamp).Seconds()
	return meets("meter values come every %v; power agrees with voltage times current within %v", quantity.Seconds(spacing),
		quantity.Percent(100*max(share, -share)))
}

// phases looks at which lines carry, as the point's own lines and as those of
// the supply.
func (c *course) phases(ctx context.Context, s Step, within time.Duration) outcome {
	c.say("look at the current of each line")
	least := amperes(s.Tolerance)
	e, ok := c.station.Until(ctx, c.startAt, within, func(e ocpp.Event) bool { return e.Sample != nil && over(e.Sample, least) })
	lines, known := c.Intent.Lines.Get()
	switch {
	case !ok:
		return notKnown("read the lines with a clamp", "no meter value with current came")
	case !known:
		return notKnown("write the circuit's phases into the job", "%s", c.Intent.Gaps["lines"]).wants(c.Intent.Gaps["lines"])
	}
	letters := c.rotation
	assumed := ""
	if len(letters) != 3 || strings.Trim(letters, "RST") != "" {
		letters, assumed = "RST", "; the point tells no phase rotation, so its L1 was taken for the supply's"
	}
	carries := map[string]bool{}
	var told []string
	var least1, most quantity.Amperes
	for k, i := range e.Sample.Current {
		if n, ok := i.Get(); ok && n > least {
			line := fmt.Sprintf("L%d", 1+strings.IndexByte("RST", letters[k]))
			carries[line] = true
			told = append(told, fmt.Sprintf("%v on %s", n, line))
			if len(told) == 1 || n < least1 {
				least1 = n
			}
			most = max(most, n)
		}
	}
	text := strings.Join(told, ", ") + assumed
	wanted := strings.Fields(string(lines))
	for line := range carries {
		if !strings.Contains(string(lines), line) {
			return fails("isolate, prove dead, and see which line is connected; then the phase rotation set in the point", "it draws %s; the design has it on %s",
				text, lines)
		}
	}
	switch {
	case len(carries) == len(wanted) && len(wanted) == 3 && float64(most-least1) > 0.1*float64(most):
		return fails("try another vehicle or the simulator; then look for a loose or lost line", "the lines differ: %s", text)
	case len(carries) == len(wanted) && assumed != "" && len(wanted) == 1:
		return judge("see with a clamp which line carries", "it draws %s", text)
	case len(carries) == len(wanted):
		return meets("it draws %s, as the design has it", text)
	case len(carries) == 1:
		return notKnown("repeat with a three-phase vehicle or load", "it draws %s: a vehicle of one phase says nothing of the others", text)
	}
	return fails("look for a lost line", "it draws %s; the design has it on %s", text, lines)
}

// greatestNow is the greatest current of the newest sample.
func (c *course) greatestNow() (quantity.Amperes, bool) {
	events := c.station.Since(c.startAt)
	for i := len(events) - 1; i >= 0; i-- {
		if events[i].Sample != nil {
			if n, ok := events[i].Sample.Greatest(); ok {
				return n, true
			}
		}
	}
	return 0, false
}

// limit sets a limit on the running session and waits for the current to obey.
func (c *course) limit(ctx context.Context, s Step, within time.Duration) outcome {
	want, room := amperes(s.Amount), amperes(s.Tolerance)
	if current, known := c.Intent.Current.Get(); known && want > current {
		return outcome{leftOut: true}
	}
	before, known := c.greatestNow()
	if !known {
		return lacks("the point sends no current: prove the limit with a clamp")
	}
	mark, asked := c.station.Mark(), c.clock.Now()
	if o := c.putLimit(ctx, ocpp.Limit{ID: holdID, Level: 2, Purpose: ocpp.OneSession, Current: want,
		Transaction: c.started.Transaction}); o.verdict != finding.Meets {
		return o
	}
	if before <= want+room {
		return notKnown("let the vehicle take more, then repeat", "it took %v before the limit of %v was set: nothing is proved", before, want)
	}
	obeys := func(e ocpp.Event) bool {
		return e.Sample != nil && e.Stamp.After(asked.Add(-time.Second)) && !over(e.Sample, want+room) && hasCurrent(e.Sample)
	}
	const patience = 3 // times as long, to tell slow from deaf
	e, ok := c.station.Until(ctx, mark, within*patience, obeys)
	took := e.At.Sub(asked)
	if !ok {
		now, _ := c.greatestNow()
		for _, d := range []string{"limit", "raise", "lose the link"} {
			c.waits[d] = "a limit to be obeyed"
		}
		return fails("clear other limits stored in it, see that it takes amperes; else the point does not limit and the supply must not rely on it",
			"the limit was accepted, but it still takes %v after %v", now, quantity.Seconds((within*patience).Seconds())).with(amps(now), amps(want+room))
	}
	now, _ := e.Sample.Greatest()
	if took > within {
		return fails("tell the limiter how slow it is, or set a faster response; see whether the random delay is applied to limits",
			"it came down to %v, but only after %v; %v is allowed", now, quantity.Seconds(took.Seconds()),
			quantity.Seconds(within.Seconds())).with(seconds(took.Seconds()), seconds(within.Seconds()))
	}
	return meets("from %v down to %v in %v", before, now, quantity.Seconds(took.Seconds())).with(amps(now), amps(want+room))
}

func hasCurrent(s *ocpp.Sample) bool {
	_, known := s.Greatest()
	return known
}

// raise takes the session's limit off and waits for the current of the design.
func (c *course) raise(ctx context.Context, s Step, within time.Duration) outcome {
	want, known := c.Intent.Current.Get()
	if !known {
		return notKnown("write the point's power and phases into the job", "the job needs %s", c.Intent.Gaps["current"]).wants(c.Intent.Gaps["current"])
	}
	room := amperes(s.Tolerance)
	mark, asked := c.station.Mark(), c.clock.Now()
	if err := c.dropLimit(ctx, holdID); err != nil {
		return failed("taking a limit off", err)
	}
	e, ok := c.station.Until(ctx, mark, within, func(e ocpp.Event) bool { return e.Sample != nil && over(e.Sample, want-2*room) })
	now, seen := c.greatestNow()
	switch {
	case !seen:
		return lacks("the point sends no current")
	case over(&ocpp.Sample{Current: [3]quantity.Maybe[quantity.Amperes]{quantity.Known(now)}}, want+room):
		return fails("set the greatest current in the point itself", "it takes %v; the design has %v", now, want).with(amps(now), amps(want+room))
	case !ok:
		return notKnown("is the vehicle able to take more? repeat with the simulator and a load", "it takes %v after %v; the design allows %v", now,
			quantity.Seconds(within.Seconds()), want)
	}
	now, _ = e.Sample.Greatest()
	return meets("back to %v in %v", now, quantity.Seconds(e.At.Sub(asked).Seconds())).with(amps(now), amps(want+room))
}

// loseLink puts the fail-safe current under a limit that runs out, breaks the
// link and reads, once it is back, what was drawn meanwhile.
//
//	source  OCPP 1.6 errata 3.43: when a limit has run out, that of a lower
//	        level holds, and with none left none does
func (c *course) loseLink(ctx context.Context, s Step, within time.Duration) outcome {
	safe, known := c.Intent.FailSafe.Get()
	if !known {
		lacks := c.Intent.Gaps["fail-safe"]
		return notKnown("choose a fail-safe current in the job: what the supply can give with everything else running", "%s", lacks).wants(lacks)
	}
	current, _ := c.Intent.Current.Get()
	room := amperes(s.Tolerance)
	lasts, err := quantity.ParseSeconds(s.Amount)
	if err != nil {
		return notKnown("put a time like 30 s into the run's table", "the run does not say how long the limit lasts")
	}
	if now, seen := c.greatestNow(); !seen || now <= safe+room {
		return notKnown("let the vehicle take more than the fail-safe current, then repeat", "it takes %v; the fail-safe current is %v: nothing would be proved",
			now, safe)
	}
	runsOut := time.Duration(float64(lasts) * float64(time.Second))
	begin := c.clock.Now()
	if o := c.putLimit(ctx, ocpp.Limit{ID: holdID, Level: 2, Purpose: ocpp.OneSession, Current: current, Transaction: c.started.Transaction, From: begin,
		For: runsOut}); o.verdict != finding.Meets {
		return o
	}
	if o := c.putLimit(ctx, ocpp.Limit{ID: fallID, Level: 0, Purpose: ocpp.AnySession, Current: safe}); o.verdict != finding.Meets {
		return o
	}
	mark := c.station.Mark()
	c.say("break the link for %v", quantity.Seconds((runsOut + within).Seconds()))
	c.station.CutOff()
	_ = c.clock.Sleep(ctx, runsOut+within)
	c.station.Mend()
	settled := begin.Add(runsOut + within/2)
	isLate := func(e ocpp.Event) bool { return e.Sample != nil && e.Stamp.After(settled) && hasCurrent(e.Sample) }
	const backWithin = 90 * time.Second // engineering judgement
	if _, back := c.station.Until(ctx, mark, backWithin, func(e ocpp.Event) bool { return e.What == ocpp.Joined }); !back {
		return fails("see why it does not join again: a point should try for ever", "its link did not come back within %v", quantity.Seconds(backWithin.Seconds()))
	}
	e, ok := c.station.Until(ctx, mark, backWithin, isLate)
	if !ok {
		return lacks("it told no current of the time without a link: read it with a clamp while the link is down")
	}
	i, _ := e.Sample.Greatest()
	if i > safe+room {
		return fails("set the fail-safe current in the point itself; until then the supply must not rely on the link",
			"without its link it went on taking %v; %v is allowed", i, safe).with(amps(i), amps(safe+room))
	}
	return meets("without its link it fell to %v", i).with(amps(i), amps(safe+room))
}

// stop stops the session and sees the current end.
func (c *course) stop(ctx context.Context, _ Step, within time.Duration) outcome {
	mark, asked := c.station.Mark(), c.clock.Now()
	c.say("stop the session")
	status, err := c.command(ctx, func(d ocpp.Dialect) (ocpp.Status, error) { return d.Stop(ctx, c.station, c.started.Transaction) })
	if err != nil {
		return failed("a stop from afar", err)
	}
	if !status.Accepted() {
		return fails("stop it at the point; the number of the session may not match", "the stop was answered with %s", status)
	}
	e, ok := c.station.Until(ctx, mark, within, func(e ocpp.Event) bool { return e.What == ocpp.Stopped && e.Transaction == c.started.Transaction })
	if !ok {
		c.waits["energy"] = "the session to end"
		now, _ := c.greatestNow()
		return fails("stop it at the point, isolate if it will not, and find out why", "the stop was accepted, but the session runs on after %v and %v flows",
			quantity.Seconds(within.Seconds()), now)
	}
	c.stopped = &e
	for _, later := range c.station.Since(mark) {
		if later.Sample != nil && later.Stamp.After(e.Stamp) && over(later.Sample, 1) {
			return fails("isolate: the contactor may be welded; prove dead before touching anything", "the session ended, but current still flows")
		}
	}
	return meets("the session ended in %v, reason %s", quantity.Seconds(e.At.Sub(asked).Seconds()),
		orNothing(e.Reason)).with(seconds(e.At.Sub(asked).Seconds()), seconds(within.Seconds()))
}

// energy compares what the session's register counted with a reference meter,
// or else with the power the point itself told, added up over time.
func (c *course) energy(ctx context.Context, s Step, _ time.Duration) outcome {
	if c.stopped == nil {
		return notKnown("", "waits for the session to end")
	}
	from, a := c.started.Register.Get()
	to, b := c.stopped.Register.Get()
	if !a || !b {
		return lacks("the session carries no meter register")
	}
	if to < from {
		return fails("is it two meters, or was one set back?", "the register went from %v down to %v", from, to)
	}
	counted := to - from
	share, err := quantity.ParsePercent(s.Tolerance)
	if err != nil {
		return notKnown("put a share like 10 % into the run's table", "the run names no tolerance for energy")
	}
	var reference quantity.WattHours
	how := "the power it told, added up"
	if begin, ok := c.meterAt.Get(); ok && c.Meter != nil {
		m, err := c.Meter(ctx)
		end, known := m.Energy.Get()
		if err != nil || !known {
			return notKnown("read the reference meter again", "the reference meter could not be read at the end: %v", err)
		}
		reference, how = end-begin, "the reference meter"
	} else {
		var known bool
		if reference, known = addUp(c.station.Since(c.startAt), c.started.Stamp, c.stopped.Stamp); !known {
			return notKnown("read a reference meter before and after a session", "the point told too little power to add up")
		}
	}
	const resolution = 2 // Wh: two readings of a register in whole Wh
	room := max(float64(reference)*float64(share)/100, resolution)
	off := float64(counted - reference)
	value, limit := finding.Of(max(off, -off), quantity.WattHours(0).Measure()), finding.Of(room, quantity.WattHours(0).Measure())
	if off > room || off < -room {
		return fails("compare with a reference meter over a longer session; see current sensor ratio and which meter is billed", "it counted %v; %s says %v",
			counted, how, reference).with(value, limit)
	}
	return meets("it counted %v; %s says %v", counted, how, reference).with(value, limit)
}

// addUp adds power up over time between two moments, straight from sample to
// sample.
func addUp(events []ocpp.Event, from, to time.Time) (quantity.WattHours, bool) {
	type point struct {
		at time.Time
		w  quantity.Watts
	}
	points := []point{{at: from}}
	seen := map[time.Time]bool{}
	for _, e := range events {
		if e.Sample == nil || e.Stamp.Before(from) || e.Stamp.After(to) || seen[e.Stamp] {
			continue
		}
		if w, ok := e.Sample.Watts(); ok {
			seen[e.Stamp] = true
			points = append(points, point{e.Stamp, w})
		}
	}
	if len(points) < 4 {
		return 0, false
	}
	slices.SortStableFunc(points, func(a, b point) int { return a.at.Compare(b.at) })
	points = append(points, point{to, points[len(points)-1].w})
	var sum float64
	for i := 1; i < len(points); i++ {
		sum += float64(points[i].w+points[i-1].w) / 2 * points[i].at.Sub(points[i-1].at).Hours()
	}
	return quantity.WattHours(sum), true
}

// linkHeld counts links that ended by themselves while the session ran.
func (c *course) linkHeld(context.Context, Step, time.Duration) outcome {
	var lost []string
	broken := false
	for _, e := range c.station.Since(c.startAt) {
		if e.What == ocpp.Left && !e.Asked {
			lost = append(lost, e.Detail)
		}
		broken = broken || e.What == ocpp.Left && e.Asked
	}
	if len(lost) > 0 {
		return fails("look at signal, router and cable; try a shorter web socket ping, as silent links are closed by some networks",
			"its link ended %s during the charge: %s", times(len(lost)), lost[0])
	}
	return meets("the link held from start to stop%s", ifTrue(broken, ", but for the break that was made on purpose"))
}

// times says how often.
func times(n int) string {
	if n == 1 {
		return "once"
	}
	return fmt.Sprintf("%d times", n)
}

// reboot restarts the point and reads its settings again.
func (c *course) reboot(ctx context.Context, _ Step, within time.Duration) outcome {
	mark := c.station.Mark()
	asked := c.clock.Now()
	c.say("restart")
	status, err := c.command(ctx, func(d ocpp.Dialect) (ocpp.Status, error) { return d.Reboot(ctx, c.station) })
	if err != nil {
		return failed("a restart from afar", err)
	}
	if !status.Accepted() && status.Word != "Scheduled" {
		return fails("restart it by its own switch and watch it join again", "the restart was answered with %s", status)
	}
	e, ok := c.station.Until(ctx, mark, within, func(e ocpp.Event) bool { return e.What == ocpp.Booted })
	if !ok {
		return fails("switch it off and on; if it does not join by itself after a loss of supply it is not ready to be left",
			"it did not introduce itself again within %v", quantity.Seconds(within.Seconds()))
	}
	took := e.At.Sub(asked).Seconds()
	kept := map[string]string{}
	for name, ch := range c.changes {
		kept[name] = ch.After
	}
	if o, bad := c.readBack(ctx); bad {
		return o
	}
	for _, name := range c.order {
		if c.changes[name].After != kept[name] {
			return fails("set it in the point's own menu", "after the restart %s reads %s; it was set to %s", name, orNothing(c.changes[name].After),
				kept[name]).with(seconds(took), seconds(within.Seconds()))
		}
	}
	return meets("it was back after %v with its settings", quantity.Seconds(took)).with(seconds(took), seconds(within.Seconds()))
}

// delay waits for a start at the point itself and times it to the first
// current.
func (c *course) delay(ctx context.Context, s Step, within time.Duration) outcome {
	greatest, _, err := c.Rules.Limit("random delay greatest")
	if err != nil {
		return notKnown("", "the rules name no random delay")
	}
	told := ""
	for _, set := range c.named(delayNamed) {
		n, err := quantity.ParseSeconds(set.Value + " s")
		if err != nil {
			continue
		}
		told = fmt.Sprintf("; its setting %s is %v", set.Name, n)
		if n == 0 || float64(n) > greatest {
			return fails("set it to 600 s, the default of the regulations", "its setting %s is %v; up to %v is allowed, and none is not", set.Name, n,
				quantity.Seconds(greatest))
		}
	}
	wait, err := quantity.ParseSeconds(s.Amount)
	if err != nil {
		return notKnown("put a time like 180 s into the run's table", "the run does not say how long to wait for a start")
	}
	mark := c.station.Mark()
	c.say("wait for a start at the point itself")
	begun, ok := c.station.Until(ctx, mark, time.Duration(float64(wait)*float64(time.Second)), func(e ocpp.Event) bool { return e.What == ocpp.Started })
	const again = "let it start by itself three times and time each to the first current"
	if !ok {
		return notKnown(again, "nobody started a charge at the point%s", told)
	}
	flow, ok := c.station.Until(ctx, mark, within, func(e ocpp.Event) bool {
		return e.Sample != nil && over(e.Sample, 1) || e.What == ocpp.Changed && e.Status == "Charging" || e.What == ocpp.Phased && e.Status == "Charging"
	})
	if !ok {
		return notKnown(again, "no current within %v of the start: default hours may hold it%s", quantity.Seconds(within.Seconds()), told)
	}
	d := flow.At.Sub(begun.At).Seconds()
	const sure = 2*testInterval + 3 // s: sampling and contactor alone may take so long
	if d <= sure {
		return notKnown(again, "current flowed %v after the start: too soon to tell a short random delay from none%s", quantity.Seconds(d), told)
	}
	most, _, err := c.Rules.Limit("random delay")
	if err != nil {
		return notKnown("", "the rules name no random delay")
	}
	return meets("current flowed %v after the start%s", quantity.Seconds(d), told).with(seconds(d), seconds(most+sure))
}
