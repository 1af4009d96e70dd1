package commission

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"chargewright/finding"
	"chargewright/meter"
	"chargewright/ocpp"
	"chargewright/quantity"
	"chargewright/trade"
)

// Steps with a vehicle: start, obey a limit, fall back, stop.

// vehicle waits until the point sees one, at whichever outlet.
func (c *course) vehicle(ctx context.Context, _ Step, within time.Duration) outcome {
	c.say("wait for a vehicle or its simulator")
	_ = c.try(ctx, func() error {
		_, err := c.station.Speaks().Trigger(ctx, c.station, "StatusNotification")
		return err
	})
	last := map[int]ocpp.Event{}
	sees := func(status string) bool {
		switch status {
		case "Preparing", "Charging", "SuspendedEV", "SuspendedEVSE", "Occupied":
			return true
		}
		return false
	}
	outlet := 0
	_, ok := c.station.Wait(ctx, 0, within, func(events []ocpp.Event) bool {
		for _, e := range events {
			if e.What == ocpp.Changed && e.Outlet > 0 {
				last[e.Outlet] = e
			}
		}
		for n, e := range last {
			if sees(e.Status) && (outlet == 0 || n < outlet) {
				outlet = n
			}
		}
		return outlet > 0
	})
	if !ok {
		for _, d := range append([]string{"start", "unknown card", "delay"}, running...) {
			c.waits[d] = "a vehicle to be seen"
		}
		now := last[c.station.Outlet()]
		if now.Status == "" {
			return notKnown("ask for its status by hand; watch its lamp", "it told no status of any outlet within %v", quantity.Seconds(within.Seconds()))
		}
		return notKnown("plug in the vehicle or the simulator; if it is in, measure the control pilot", "no vehicle was seen within %v; the outlet says %s %s",
			quantity.Seconds(within.Seconds()), now.Status, now.Fault)
	}
	c.station.Look(outlet)
	return meets("outlet %d says %s", outlet, last[outlet].Status)
}

// running are the deeds that need a session.
var running = []string{"samples", "phases", "limit", "raise", "lose the link", "stop", "energy", "link"}

// begun is a start on the known card that was asked for, and what came of it.
type begun struct {
	mark, journal int
	asked         time.Time
	status        ocpp.Status
	err           error
	event         *ocpp.Event // the session that began
}

// begin starts on the known card, once: the step that holds an unknown card
// against a known one, and the step that starts, share the session.
func (c *course) begin(ctx context.Context, within time.Duration) *begun {
	if c.begun != nil {
		return c.begun
	}
	c.say("start on the known card %s", c.Known)
	if c.Meter != nil {
		if m, err := c.Meter(ctx); err == nil {
			c.meterAt = quantity.Known(m)
		}
	}
	b := &begun{mark: c.station.Mark(), journal: c.station.Journal.Mark(), asked: c.clock.Now()}
	b.status, b.err = c.command(ctx, func(d ocpp.Dialect) (ocpp.Status, error) { return d.Start(ctx, c.station, c.Known) })
	if b.err == nil && b.status.Accepted() {
		if e, ok := c.station.Until(ctx, b.mark, within, func(e ocpp.Event) bool { return e.What == ocpp.Started && c.mine(e) }); ok {
			b.event = &e
		}
	}
	c.begun = b
	return b
}

// start starts a session on the known card and waits for current.
func (c *course) start(ctx context.Context, _ Step, within time.Duration) outcome {
	hold := func(o outcome) outcome {
		for _, d := range running {
			c.waits[d] = "a session to start"
		}
		return o
	}
	b := c.begin(ctx, within)
	c.journalFrom = b.journal
	switch {
	case b.err != nil:
		return hold(failed("a start from afar", b.err))
	case !b.status.Accepted():
		return hold(fails("see that a vehicle is plugged in, no session runs and the outlet is in service", "the start was answered with %s", b.status))
	case b.event == nil && c.station.Link() == nil:
		return hold(notKnown("put the link right first: signal, router, cable", "the start was accepted, then the link was lost"))
	case b.event == nil:
		return hold(fails("is the card known, is the vehicle ready (state C)? measure the pilot", "the start was accepted, but no session began within %v",
			quantity.Seconds(within.Seconds())))
	}
	c.started, c.startAt = b.event, b.mark
	if !c.started.Allowed {
		return hold(fails("it must send the card it was started with", "the session began on the card %q, which is not the known one", c.started.Token))
	}
	patience := within + c.every()
	flow, i, ok := c.awaits(ctx, b.mark, patience, func(i quantity.Amperes) bool { return i > 1 })
	if !ok {
		if _, told := c.tells(b.mark); !told {
			return c.unseen(b.mark, patience, "a session began: read its current with a clamp or a meter")
		}
		return fails("state C at the pilot? another limit or schedule holding it? read its status", "a session began, but no current was seen within %v",
			quantity.Seconds(patience.Seconds()))
	}
	c.flowAfter = flow.At.Sub(b.asked)
	return meets("a session began and %v flows", i).with(seconds(c.flowAfter.Seconds()), seconds(patience.Seconds()))
}

// samples looks at three samples: their spacing as they arrive, and whether
// power is voltage times current.
func (c *course) samples(ctx context.Context, _ Step, within time.Duration) outcome {
	c.say("wait for meter values")
	mark := c.station.Mark()
	patience := within + 3*c.every()
	var got []ocpp.Event
	c.station.Wait(ctx, mark, patience, func(events []ocpp.Event) bool {
		got = got[:0]
		for _, e := range events {
			if i, known := c.flowing(e); known && i > 1 {
				got = append(got, e)
			}
		}
		return len(got) >= 3
	})
	if len(got) < 2 {
		if len(got) == 0 {
			return c.unseen(mark, patience, "set the sample interval and the sampled values again; read it with a clamp")
		}
		return fails("set the sample interval and the sampled values again", "1 meter value with current came within %v", quantity.Seconds(patience.Seconds()))
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
	spacing := b.At.Sub(a.At)
	if slack := 5 * time.Second; c.interval > 0 && spacing > 2*c.interval+slack { // engineering judgement: a slow link
		return fails("set the sample interval again and read it back", "meter values arrive %v apart; its interval reads %v",
			quantity.Seconds(spacing.Seconds()), quantity.Seconds(c.interval.Seconds())).with(seconds(spacing.Seconds()), seconds(2*c.interval.Seconds()+5))
	}
	return meets("meter values arrive %v apart; power agrees with voltage times current within %v", quantity.Seconds(spacing.Seconds()),
		quantity.Percent(100*max(share, -share)))
}

// phases looks at which lines of the supply carry. A reference meter or a
// person's clamp says so. The point itself knows only its own lines; and a single
// one it calls L1 wherever it is wired.
func (c *course) phases(ctx context.Context, s Step, within time.Duration) outcome {
	c.say("look at the current of each line")
	least := amperes(s.Tolerance)
	design, known := c.Intent.Lines.Get()
	if !known {
		return notKnown("write the circuit's phases into the job", "%s", c.Intent.Gaps["lines"]).wants(c.Intent.Gaps["lines"])
	}
	var told [3]quantity.Maybe[quantity.Amperes] // by the supply's lines
	by := ""
	e, seen := c.station.Until(ctx, c.startAt, within+c.every(), func(e ocpp.Event) bool {
		i, known := c.flowing(e)
		return known && i > least && e.Sample != nil
	})
	clamped, clamp := c.Clamped.Get()
	switch {
	case c.Meter != nil:
		m, err := c.Meter(ctx)
		if err != nil {
			return notKnown("read the reference meter again", "the reference meter could not be read: %v", err)
		}
		told, by = risen(c.meterAt.Or(meter.Reading{}), m), "the reference meter shows "
		if !some(told, least) {
			return notKnown("is the meter on this circuit? read the lines with a clamp", "the reference meter shows no current on any line while the point charges")
		}
	case clamp:
		by = "a clamp showed current on "
		for k := range told {
			if slices.Contains(clamped.Lines(), trade.ThreePhase.Lines()[k]) {
				told[k] = quantity.Known(quantity.Amperes(least + 1))
			}
		}
	case !seen:
		return c.unseen(c.startAt, within+c.every(), "read the lines with a clamp")
	default:
		told, by = e.Sample.Current, "it tells "
		if !some(told, least) {
			return lacks("its meter values name no line: read the lines with a clamp")
		}
	}
	carries, text := carrying(told, least, !clamp || c.Meter != nil)
	wanted := design.Lines()
	own := c.Meter == nil && !clamp
	const look = "see with a clamp, or a reference meter, which line of the supply carries"
	if own && len(wanted) == 1 && len(carries) == 1 && carries[0] == "L1" {
		return judge(look, "it tells %s, as every point of one phase does, whichever line it stands on; the design has %s", text, design)
	}
	for _, line := range carries {
		if !slices.Contains(wanted, line) {
			return fails("isolate, prove dead, and see which line is connected; then the phase rotation set in the point", "%s%s; the design has it on %s",
				by, text, design)
		}
	}
	switch {
	case len(carries) == len(wanted) && len(wanted) == 3:
		if low, high := extremes(told); !clamp && float64(high-low) > 0.1*float64(high) {
			return fails("try another vehicle or the simulator; then look for a loose or lost line", "the lines differ: %s%s", by, text)
		}
		return meets("%s%s, as the design has it", by, text)
	case len(carries) == len(wanted):
		return meets("%s%s, as the design has it%s", by, text, c.tellRotation(ctx, design, own))
	case len(carries) == 1:
		return notKnown("repeat with a three-phase vehicle or load", "%s%s: a vehicle of one phase says nothing of the others", by, text)
	}
	return fails("look for a lost line", "%s%s; the design has it on %s", by, text, design)
}

// tellRotation sets the phase rotation of a point once it has been seen on which
// line it stands: what was not seen is not written into it.
func (c *course) tellRotation(ctx context.Context, line trade.PhaseSet, own bool) string {
	name := c.station.Version().Name(ocpp.PhaseRotation)
	was, there := c.before[name]
	rotation, one := rotations[line]
	value := c.station.Version().Value(ocpp.PhaseRotation, rotation)
	if own || !one || !there || sameSetting(was.Value, value) {
		return ""
	}
	c.say("set %s to %s", name, value)
	status, err := c.command(ctx, func(d ocpp.Dialect) (ocpp.Status, error) { return d.Set(ctx, c.station, name, value) })
	if err != nil || !status.Accepted() {
		return fmt.Sprintf("; it keeps its phase rotation %s, which a limiter of several points would go by", orNothing(was.Value))
	}
	c.changed(&Change{Name: name, Before: was.Value, After: value, Why: "it was seen on " + string(line), Kept: true})
	return "; its phase rotation was set to it"
}

// risen is what a meter shows more than before a session.
func risen(before, now meter.Reading) (out [3]quantity.Maybe[quantity.Amperes]) {
	for k := range out {
		if i, known := now.Current[k].Get(); known {
			d := i - before.Current[k].Or(0)
			out[k] = quantity.Known(max(d, -d))
		}
	}
	return out
}

// carrying are the lines that carry, and each with its current.
func carrying(told [3]quantity.Maybe[quantity.Amperes], least quantity.Amperes, measured bool) (lines []trade.PhaseSet, text string) {
	var parts []string
	for k, i := range told {
		if n, ok := i.Get(); ok && n > least {
			line := trade.ThreePhase.Lines()[k]
			lines = append(lines, line)
			if measured {
				parts = append(parts, fmt.Sprintf("%v on %s", n, line))
			} else {
				parts = append(parts, string(line))
			}
		}
	}
	return lines, strings.Join(parts, ", ")
}

func some(told [3]quantity.Maybe[quantity.Amperes], least quantity.Amperes) bool {
	lines, _ := carrying(told, least, true)
	return len(lines) > 0
}

func extremes(told [3]quantity.Maybe[quantity.Amperes]) (low, high quantity.Amperes) {
	low = told[0].Or(0)
	for _, i := range told {
		low, high = min(low, i.Or(0)), max(high, i.Or(0))
	}
	return low, high
}

// limit sets a limit on the running session, waits for the current to obey, and
// looks at the sample after.
func (c *course) limit(ctx context.Context, s Step, within time.Duration) outcome {
	want, room := amperes(s.Amount), amperes(s.Tolerance)
	if current, known := c.Intent.Current.Get(); known && want > current {
		return outcome{leftOut: true}
	}
	before, known := c.latest(c.startAt)
	if !known {
		return c.unseen(c.startAt, within, "prove the limit with a clamp")
	}
	mark, asked := c.station.Mark(), c.clock.Now()
	if o := c.putLimit(ctx, ocpp.Limit{ID: holdID, Level: 2, Purpose: ocpp.OneSession, Current: want,
		Transaction: c.started.Transaction}); o.verdict != finding.Meets {
		return o
	}
	if before <= want+room {
		return notKnown("let the vehicle take more, then repeat", "it took %v before the limit of %v was set: nothing is proved", before, want)
	}
	allowed := within
	if c.interval > testInterval*time.Second { // a sample cannot show it sooner
		allowed += c.interval - testInterval*time.Second
	}
	const patience = 3 // times as long, to tell slow from deaf
	e, now, ok := c.awaits(ctx, mark, allowed*patience, func(i quantity.Amperes) bool { return i <= want+room })
	took := e.At.Sub(asked)
	stuck := func() {
		for _, d := range []string{"limit", "raise", "lose the link"} {
			c.waits[d] = "a limit to be obeyed"
		}
	}
	if !ok {
		still, told := c.latest(mark)
		if !told {
			return c.unseen(mark, allowed*patience, "the limit was accepted: read with a clamp whether it is held")
		}
		stuck()
		return fails("clear other limits stored in it, see which unit it takes; else the point does not limit and the supply must not rely on it",
			"the limit was accepted, but it still takes %v after %v", still, quantity.Seconds((allowed*patience).Seconds())).with(amps(still), amps(want+room))
	}
	if took > allowed {
		return fails("tell the limiter how slow it is, or set a faster response; see whether the random delay is applied to limits",
			"it came down to %v, but only after %v; %v is allowed", now, quantity.Seconds(took.Seconds()),
			quantity.Seconds(allowed.Seconds())).with(seconds(took.Seconds()), seconds(allowed.Seconds()))
	}
	if now < 1 {
		return judge("see whether it pauses for a limit it could hold; another limit may add to it", "from %v it went to %v: it pauses rather than hold %v",
			before, now, want).with(amps(now), amps(want+room))
	}
	held := c.station.Mark()
	_, after, again := c.awaits(ctx, held, c.every()*2, func(quantity.Amperes) bool { return true })
	switch {
	case again && after > want+room:
		stuck()
		return fails("clear other limits stored in it; the supply must not rely on it", "it came down to %v and went up again to %v", now, after).
			with(amps(after), amps(want+room))
	case !again:
		return notKnown("read with a clamp whether it is held", "from %v down to %v in %v, but no meter value came after that: whether it holds is not known",
			before, now, quantity.Seconds(took.Seconds()))
	}
	c.held = true
	return meets("from %v down to %v in %v, and %v one sample later", before, now, quantity.Seconds(took.Seconds()), after).
		with(amps(max(now, after)), amps(want+room))
}

// raise takes the session's limit off and waits for the current of the design.
func (c *course) raise(ctx context.Context, s Step, within time.Duration) outcome {
	want, known := c.Intent.Current.Get()
	if !known {
		return notKnown("write the point's power and phases into the job", "the job needs %s", c.Intent.Gaps["current"]).wants(c.Intent.Gaps["current"])
	}
	if !c.held {
		return notKnown("", "waits for a limit that was held")
	}
	room := amperes(s.Tolerance)
	var most quantity.Amperes // in this session: what the vehicle takes if it may
	for _, e := range c.station.Since(c.startAt) {
		if i, known := c.flowing(e); known {
			most = max(most, i)
		}
	}
	mark, asked := c.station.Mark(), c.clock.Now()
	if err := c.dropLimit(ctx, holdID); err != nil {
		return failed("taking a limit off", err)
	}
	e, now, ok := c.awaits(ctx, mark, within+c.every(), func(i quantity.Amperes) bool { return i > min(want, most)-2*room })
	waited := quantity.Seconds(e.At.Sub(asked).Seconds())
	if !ok {
		still, told := c.latest(mark)
		if !told {
			return c.unseen(mark, within+c.every(), "read with a clamp whether the limit has lifted")
		}
		now, waited = still, quantity.Seconds((within + c.every()).Seconds())
	}
	switch {
	case now > want+room:
		return fails("set the greatest current in the point itself", "it takes %v; the design has %v", now, want).with(amps(now), amps(want+room))
	case !ok && most > now+2*room:
		return fails("look for what holds it still: another limit, a schedule, the vehicle",
			"it took %v before the limits and takes %v %v after they were taken off", most, now, waited).with(amps(now), amps(want+room))
	case !ok || most < want-2*room:
		return notKnown("is the vehicle able to take more? repeat with the simulator and a load", "it takes %v after %v, as before the limits; the design allows %v",
			now, waited, want)
	}
	return meets("back to %v in %v", now, waited).with(amps(now), amps(want+room))
}

// loseLink breaks the link with no limit of this run on the session, and looks at
// what is drawn meanwhile: on a reference meter while the link is down, in what
// the point kept and sent once it was back, or by its register at both ends.
//
// The limit of the whole point, which stays, is the design's current: above the
// fail-safe current, so it cannot be what brings it down.
func (c *course) loseLink(ctx context.Context, s Step, within time.Duration) outcome {
	safe, known := c.Intent.FailSafe.Get()
	if !known {
		lacks := c.Intent.Gaps["fail-safe"]
		return notKnown("choose a fail-safe current in the job: what the supply can give with everything else running", "%s", lacks).wants(lacks)
	}
	room := amperes(s.Tolerance)
	notices, err := quantity.ParseSeconds(s.Amount)
	if err != nil {
		return notKnown("put a time like 30 s into the run's table", "the run does not say how soon a lost link must be noticed")
	}
	for _, id := range []int{holdID, fallID} {
		if err := c.dropLimit(ctx, id); err != nil {
			return notKnown("clear its limits by hand", "a limit of the test still stands, so its own fail-safe cannot be seen: %v", err)
		}
	}
	mark := c.station.Mark()
	_, now, ok := c.awaits(ctx, mark, 2*c.every()+within, func(i quantity.Amperes) bool { return i > safe+room })
	if !ok {
		still, told := c.latest(mark)
		if !told {
			return c.unseen(mark, 2*c.every()+within, "read it with a clamp while the link is down")
		}
		return notKnown("let the vehicle take more than the fail-safe current, then repeat", "it takes %v; the fail-safe current is %v: nothing would be proved",
			still, safe)
	}
	down := time.Duration(float64(notices)*float64(time.Second)) + within
	before := newestWith(c.station.Since(c.startAt), c.mine, func(s *ocpp.Sample) bool { return s.Energy.IsKnown() })
	mark = c.station.Mark()
	c.say("take the limits of the test off, break the link for %v", quantity.Seconds(down.Seconds()))
	cut := c.clock.Now()
	c.station.CutOff()
	_ = c.clock.Sleep(ctx, down)
	var metered quantity.Maybe[quantity.Amperes]
	if c.Meter != nil {
		if m, err := c.Meter(ctx); err == nil {
			_, most := extremes(risen(c.meterAt.Or(meter.Reading{}), m))
			metered = quantity.Known(most)
		}
	}
	c.station.Mend()
	const backWithin = 90 * time.Second // engineering judgement
	back, joined := c.station.Until(ctx, mark, backWithin, func(e ocpp.Event) bool { return e.What == ocpp.Joined })
	verdict := func(i quantity.Amperes, how string) outcome {
		if i > safe+room {
			return fails("set the fail-safe current in the point itself; until then the supply must not rely on the link",
				"without its link it went on taking %v%s; %v is allowed", i, how, safe).with(amps(i), amps(safe+room))
		}
		return meets("without its link, and without a limit of ours, it fell to %v%s", i, how).with(amps(i), amps(safe+room))
	}
	if i, known := metered.Get(); known {
		return verdict(i, ", as the reference meter showed while the link was down")
	}
	const clamp = "read it with a clamp while the link is down"
	if !joined {
		return notKnown("see why it does not join again: a point should try for ever; "+clamp,
			"its link did not come back within %v: what it drew meanwhile is not known", quantity.Seconds(backWithin.Seconds()))
	}
	c.station.Until(ctx, mark, c.every()+within, func(e ocpp.Event) bool { _, known := c.flowing(e); return known })
	_ = c.clock.Sleep(ctx, c.every()*3/2) // what it kept comes in a row
	kept, live := c.burst(mark)
	if len(kept) > 0 {
		i, _ := c.flowing(kept[len(kept)-1])
		return verdict(i, ", as the last meter value says that it kept meanwhile")
	}
	if live == nil || before == nil {
		return notKnown(clamp, "it told no current of the time without a link")
	}
	return c.byRegister(*before, *live, cut, back.At, now, safe+room, time.Duration(float64(notices)*float64(time.Second)), clamp)
}

// byRegister judges a time without a link by the register at both ends: up to the
// moment a lost link must be noticed the full power, from then on the fail-safe
// one.
func (c *course) byRegister(before, after ocpp.Event, cut, back time.Time, full, most quantity.Amperes, notices time.Duration, clamp string) outcome {
	e0, a := before.Sample.Energy.Get()
	e1, b := after.Sample.Energy.Get()
	watts, p := before.Sample.Watts()
	if !a || !b || !p || full <= 0 {
		return notKnown(clamp, "it told no current of the time without a link, and no register at both ends of it")
	}
	counted := float64(e1 - e0)
	share := min(float64(most/full), 1)
	around := cut.Sub(before.At) + after.At.Sub(back) + notices
	away := back.Sub(cut) - notices
	allowed := float64(watts) * (around.Hours() + share*away.Hours())
	whole := float64(watts) * (around + away).Hours()
	measured := finding.Of(counted, quantity.WattHours(0).Measure())
	limit := finding.Of(allowed, quantity.WattHours(0).Measure())
	switch {
	case allowed > 0.9*whole || counted < 0:
		return notKnown(clamp, "the time without a link was too short for its register to tell")
	case counted == 0 && most > 1:
		return judge(clamp, "its register stood still while the link was down: it paused, or it does not count without a link")
	case counted > allowed:
		return fails("set the fail-safe current in the point itself; until then the supply must not rely on the link",
			"its register went on by %v while the link was down; %v is the most with the fail-safe current", quantity.WattHours(counted),
			quantity.WattHours(allowed)).with(measured, limit)
	}
	return meets("its register went on by %v while the link was down, without a limit of ours; %v is the most with the fail-safe current",
		quantity.WattHours(counted), quantity.WattHours(allowed)).with(measured, limit)
}

// newestWith is the newest sample that is as wanted; nil for none.
func newestWith(events []ocpp.Event, mine func(ocpp.Event) bool, is func(*ocpp.Sample) bool) *ocpp.Event {
	for _, e := range slices.Backward(events) {
		if e.Sample != nil && mine(e) && is(e.Sample) {
			return &e
		}
	}
	return nil
}

// burst parts the first samples after a mark: those that came right one after the
// other were kept while the link was down; the one that ends the row is of now.
func (c *course) burst(mark int) (kept []ocpp.Event, live *ocpp.Event) {
	near := time.Duration(closest * float64(c.every()))
	for _, e := range c.station.Since(mark) {
		if _, known := c.flowing(e); !known {
			continue
		}
		if live != nil {
			if e.At.Sub(live.At) > near {
				return kept, live
			}
			kept = append(kept, *live)
		}
		live = &e
	}
	return kept, live
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
		if now, told := c.latest(mark); told {
			return fails("stop it at the point, isolate if it will not, and find out why", "the stop was accepted, but the session runs on after %v and %v flows",
				quantity.Seconds(within.Seconds()), now)
		}
		return notKnown("see at the point and with a clamp whether current still flows; isolate if it does",
			"the stop was accepted, but within %v nothing said that the session ended, nor what flows", quantity.Seconds(within.Seconds()))
	}
	c.stopped = &e
	const welded = "isolate: the contactor may be welded; prove dead before touching anything"
	seen := "; no meter value came after it"
	if c.Meter != nil {
		if m, err := c.Meter(ctx); err == nil {
			c.meterEnd = quantity.Known(m)
			_, i := extremes(risen(c.meterAt.Or(meter.Reading{}), m))
			if i > 1 {
				return fails(welded, "the session ended, but the reference meter shows that %v still flows", i)
			}
			seen = fmt.Sprintf("; the reference meter shows %v", i)
		}
	}
	ended := false
	for _, later := range c.station.Since(mark) {
		ended = ended || later.What == ocpp.Stopped && later.Transaction == e.Transaction
		if i, known := c.flowing(later); ended && known {
			if i > 1 {
				return fails(welded, "the session ended, but a meter value that came after it tells that %v still flows", i)
			}
			seen = fmt.Sprintf("; the meter value after it tells %v", i)
		}
	}
	return meets("the session ended in %v, reason %s%s", quantity.Seconds(e.At.Sub(asked).Seconds()),
		orNothing(e.Reason), seen).with(seconds(e.At.Sub(asked).Seconds()), seconds(within.Seconds()))
}

// energy compares what the session's register counted with a reference meter at
// both ends, or else, stretch by stretch, with the power the point itself told.
func (c *course) energy(_ context.Context, s Step, _ time.Duration) outcome {
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
	share, err := quantity.ParsePercent(s.Tolerance)
	if err != nil {
		return notKnown("put a share like 10 % into the run's table", "the run names no tolerance for energy")
	}
	counted, how := to-from, "the reference meter"
	var reference quantity.WattHours
	begin, began := c.meterAt.Or(meter.Reading{}).Energy.Get()
	end, over := c.meterEnd.Or(meter.Reading{}).Energy.Get()
	if began && over {
		reference = end - begin
	} else {
		events := slices.DeleteFunc(c.station.Since(c.startAt), func(e ocpp.Event) bool { return e.Sample == nil || !c.mine(e) })
		for _, e := range events {
			if r, known := e.Sample.Energy.Get(); known && (r < from || r > to) {
				return fails("which of its meters is billed?", "a meter value of the session has the register at %v; the session itself goes from %v to %v", r, from, to)
			}
		}
		var known bool
		if counted, reference, known = stretches(events, c.every()); !known {
			return notKnown("read a reference meter before and after a session",
				"the session's register went on by %v; the point told too little power to hold it against",
				to-from)
		}
		how = "its own power over the same samples"
	}
	const resolution = 2 // Wh: two readings of a register in whole Wh
	room := max(float64(reference)*float64(share)/100, resolution)
	off := float64(counted - reference)
	value, limit := finding.Of(max(off, -off), quantity.WattHours(0).Measure()), finding.Of(room, quantity.WattHours(0).Measure())
	if off > room || off < -room {
		return fails("compare with a reference meter over a longer session; see current sensor ratio and which meter is billed", "it counted %v; %s says %v",
			counted, how, reference).with(value, limit)
	}
	return meets("it counted %v; %s says %v; the whole session's register went on by %v", counted, how, reference, to-from).with(value, limit)
}

// stretches adds up, over every pair of samples that follow each other as they
// should, what the register counted and what the power told comes to. Over a gap
// nothing is added, nor where the power changed in between.
func stretches(samples []ocpp.Event, every time.Duration) (counted, told quantity.WattHours, known bool) {
	pairs := 0
	for i := 1; i < len(samples); i++ {
		a, b := samples[i-1], samples[i]
		gap := b.At.Sub(a.At)
		if float64(gap) < closest*float64(every) || float64(gap) > furthest*float64(every) {
			continue
		}
		e0, ea := a.Sample.Energy.Get()
		e1, eb := b.Sample.Energy.Get()
		w0, wa := a.Sample.Watts()
		w1, wb := b.Sample.Watts()
		const steady = 0.2 // engineering judgement
		if !ea || !eb || !wa || !wb || float64(max(w0-w1, w1-w0)) > steady*float64(max(w0, w1)) {
			continue
		}
		pairs++
		counted += e1 - e0
		told += quantity.WattHours(float64(w0+w1) / 2 * gap.Hours())
	}
	const fewest = 4
	return counted, told, pairs >= fewest
}

// linkHeld counts links that ended by themselves while the session ran.
func (c *course) linkHeld(context.Context, Step, time.Duration) outcome {
	var lost []string
	broken, heard := false, 0
	for _, e := range c.station.Since(c.startAt) {
		switch {
		case e.What == ocpp.Left && !e.Asked:
			lost = append(lost, e.Detail)
		case e.What == ocpp.Left:
			broken = true
		case e.What != ocpp.Joined:
			heard++
		}
	}
	switch {
	case len(lost) > 0:
		return fails("look at signal, router and cable; try a shorter web socket ping, as silent links are closed by some networks",
			"its link ended %s during the charge: %s", times(len(lost)), lost[0])
	case c.station.Link() == nil:
		return fails("look at signal, router and cable", "its link did not come back after it was broken on purpose")
	case heard < 2:
		return notKnown("see whether it says anything over its link", "it said next to nothing during the charge: a link that carries nothing may be half open")
	}
	return meets("the link held from start to stop, over %d messages of the point%s", heard, ifTrue(broken, ", but for the break that was made on purpose"))
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
	left := func(e ocpp.Event) bool { return e.What == ocpp.Left }
	e, ok := c.station.Until(ctx, mark, within, func(e ocpp.Event) bool { return e.What == ocpp.Booted })
	wentAway := slices.ContainsFunc(c.station.Since(mark), left)
	switch {
	case !ok && !wentAway:
		return fails("switch it off and on and watch it join again", "the restart was accepted, but its link never ended: it did not restart")
	case !ok:
		return fails("switch it off and on; if it does not join by itself after a loss of supply it is not ready to be left",
			"it did not introduce itself again within %v", quantity.Seconds(within.Seconds()))
	case !wentAway:
		return notKnown("switch it off and on and watch it join again", "it introduced itself without its link ever ending: nothing shows that it restarted")
	}
	took := e.At.Sub(asked).Seconds()
	kept := map[string]string{}
	for name, ch := range c.changes {
		kept[name] = ch.After
	}
	if o, bad := c.readBack(ctx); bad {
		return o
	}
	compared := 0
	for _, name := range c.order {
		if name == greatestCurrent { // is no setting
			continue
		}
		compared++
		if !sameSetting(c.changes[name].After, kept[name]) {
			return fails("set it in the point's own menu", "after the restart %s reads %s; it was set to %s", name, orNothing(c.changes[name].After),
				kept[name]).with(seconds(took), seconds(within.Seconds()))
		}
	}
	if compared == 0 {
		return notKnown("change a setting, restart, and read it again", "it was back after %v; no setting was changed that could show whether it keeps them",
			quantity.Seconds(took)).with(seconds(took), seconds(within.Seconds()))
	}
	return meets("it was back after %v with the %d settings that were changed", quantity.Seconds(took), compared).with(seconds(took), seconds(within.Seconds()))
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
	c.started = nil // another session
	begun, ok := c.station.Until(ctx, mark, time.Duration(float64(wait)*float64(time.Second)), func(e ocpp.Event) bool { return e.What == ocpp.Started })
	const again = "let it start by itself three times and time each to the first current"
	if !ok {
		return notKnown(again, "nobody started a charge at the point%s", told)
	}
	flow, ok := c.station.Until(ctx, mark, within, func(e ocpp.Event) bool {
		i, known := c.flowing(e)
		return known && i > 1 || e.What == ocpp.Changed && e.Status == "Charging" || e.What == ocpp.Phased && e.Status == "Charging"
	})
	if !ok {
		return notKnown(again, "no current within %v of the start: default hours may hold it%s", quantity.Seconds(within.Seconds()), told)
	}
	d := flow.At.Sub(begun.At).Seconds()
	sure := 2*testInterval + 3.0 // s: sampling and contactor alone may take so long
	if c.flowAfter > 0 {
		sure = max(sure, c.flowAfter.Seconds()+2*testInterval) // as long as the start from afar took, which has no delay
	}
	if d <= sure {
		return notKnown(again, "current flowed %v after the start: too soon to tell a short random delay from none%s", quantity.Seconds(d), told)
	}
	most, _, err := c.Rules.Limit("random delay")
	if err != nil {
		return notKnown("", "the rules name no random delay")
	}
	return meets("current flowed %v after the start%s", quantity.Seconds(d), told).with(seconds(d), seconds(most+sure))
}
