package commission

import (
	"context"
	"fmt"
	"regexp"
	"sort"
	"strings"
	"time"

	"chargewright/finding"
	"chargewright/ocpp"
	"chargewright/pilot"
	"chargewright/quantity"
)

// Steps that need no vehicle: who the point is, what it is set to, whom it
// serves.

// identify waits until the point has introduced itself and holds what it says
// against the job.
func (c *course) identify(ctx context.Context, _ Step, within time.Duration) outcome {
	c.say("wait for the point to join and introduce itself")
	booted := func(e ocpp.Event) bool { return e.What == ocpp.Booted }
	e, ok := c.station.Until(ctx, 0, within, booted)
	if !ok {
		if c.station.Link() == nil {
			return fails("check address, name and password entered in the point, and that it reaches this computer", "no point of the name %s joined within %v%s",
				c.Identity, quantity.Seconds(within.Seconds()), c.doorSays())
		}
		mark := c.station.Mark()
		c.say("ask it to introduce itself")
		if status, err := c.station.Speaks().Trigger(ctx, c.station, "BootNotification"); err == nil && status.Accepted() {
			e, ok = c.station.Until(ctx, mark, within, booted)
		}
		if !ok { // OCPP-J 1.6 section 5.4: after a lost link it need not
			return judge("restart the point, so that it says serial number and firmware", "it joined but did not introduce itself")
		}
	}
	c.evidence.Identity = e.Identity
	said := fmt.Sprintf("serial number %s, firmware %s, model %s", orNothing(e.Identity.Serial), orNothing(e.Identity.Firmware), orNothing(e.Identity.Model))
	switch {
	case c.Intent.Serial != "" && c.Intent.Serial != e.Identity.Serial:
		return fails("see which unit hangs where before anything is set", "it says %s; the job has serial number %s", said, c.Intent.Serial)
	case c.Intent.Serial == "":
		return meets("%s; the job had no serial number to hold against it", said)
	}
	return meets("%s; the serial number is that of the job", said)
}

func orNothing(s string) string {
	if s == "" {
		return "not said"
	}
	return s
}

// doorSays repeats why the point was turned away, if it was.
func (c *course) doorSays() string {
	refused := c.Central.Refused()
	for i := len(refused) - 1; i >= 0; i-- {
		if refused[i].Point == c.Identity || refused[i].Point == "" {
			return "; at the door: " + refused[i].Remark
		}
	}
	return ""
}

// coreSettings are settings every point of the version has to have.
var coreSettings = []ocpp.SettingName{ocpp.SampleEvery, ocpp.SampleWhat, ocpp.AskRemote, ocpp.KnownOffline, ocpp.StopUnplugged, ocpp.BeatEvery}

// readSettings keeps all settings as the point came.
func (c *course) readSettings(ctx context.Context, _ Step, _ time.Duration) outcome {
	c.say("read all settings")
	var all []ocpp.Setting
	err := c.try(ctx, func() (err error) {
		all, err = c.station.Speaks().Settings(ctx, c.station)
		return err
	})
	if err != nil {
		return failed("reading the settings", err)
	}
	for _, s := range all {
		c.before[s.Name] = s
	}
	var missing []string
	for _, n := range coreSettings {
		if name := c.station.Version().Name(n); name != "" {
			if _, there := c.before[name]; !there {
				missing = append(missing, name)
			}
		}
	}
	if len(missing) > 0 {
		return fails("ask the maker: the protocol requires them", "%d settings were read; %s are missing", len(all), strings.Join(missing, ", "))
	}
	return meets("%d settings were read and are kept", len(all))
}

// setDesign sets what the design asks for and reads it back.
func (c *course) setDesign(ctx context.Context, _ Step, _ time.Duration) outcome {
	var failing, absent, taken []string
	for _, w := range c.Intent.wanted {
		name, value := c.station.Version().Name(w.setting), c.station.Version().Value(w.setting, w.value)
		if name == "" {
			continue
		}
		was, there := c.before[name]
		if !there {
			absent = append(absent, name)
			continue
		}
		if was.Value == value {
			taken = append(taken, name)
			continue
		}
		c.say("set %s to %s", name, value)
		status, err := c.command(ctx, func(d ocpp.Dialect) (ocpp.Status, error) { return d.Set(ctx, c.station, name, value) })
		if err != nil {
			return failed("setting "+name, err)
		}
		switch status.Word {
		case "Accepted", "RebootRequired":
			c.changes[name] = &Change{Name: name, Before: was.Value, Why: w.why}
			c.order = append(c.order, name)
			taken = append(taken, name)
		case "NotSupported", "UnknownVariable", "UnknownComponent":
			absent = append(absent, name)
		default:
			failing = append(failing, fmt.Sprintf("%s: the answer to %s was %s", name, value, status))
		}
	}
	if o, bad := c.readBack(ctx); bad {
		return o
	}
	for _, name := range c.order {
		ch := c.changes[name]
		if ch.Kept = ch.After == c.wantedValue(name); !ch.Kept {
			failing = append(failing, fmt.Sprintf("%s was taken as %s and reads back as %s", name, c.wantedValue(name), orNothing(ch.After)))
		}
	}
	o := c.capPoint(ctx)
	switch {
	case len(failing) > 0:
		return fails("set it in the point's own menu and read it back; if a restart is needed, restart and read again", "%s", strings.Join(failing, "; "))
	case o.verdict != finding.Meets:
		return o
	case len(absent) > 0:
		return lacks("the point has no %s; %d others read back as set; %s", strings.Join(absent, ", "), len(taken), o.why)
	}
	return meets("%d settings read back as the design asks; %s", len(taken), o.why)
}

func (c *course) wantedValue(name string) string {
	for _, w := range c.Intent.wanted {
		if c.station.Version().Name(w.setting) == name {
			return c.station.Version().Value(w.setting, w.value)
		}
	}
	return ""
}

// readBack reads the settings again into what was changed.
func (c *course) readBack(ctx context.Context) (outcome, bool) {
	c.say("read all settings back")
	var all []ocpp.Setting
	err := c.try(ctx, func() (err error) {
		all, err = c.station.Speaks().Settings(ctx, c.station)
		return err
	})
	if err != nil {
		return failed("reading the settings back", err), true
	}
	rotation := c.station.Version().Name(ocpp.PhaseRotation)
	for _, s := range all {
		if ch := c.changes[s.Name]; ch != nil {
			ch.After = s.Value
		}
		if s.Name == rotation {
			c.rotation = s.Rotation()
		}
	}
	return outcome{}, false
}

// Numbers of the limits this run puts up.
const (
	capID = 7701 + iota
	fallID
	holdID
)

// capPoint puts up the current of the design as the most the point may take,
// and leaves it there.
func (c *course) capPoint(ctx context.Context) outcome {
	current, known := c.Intent.Current.Get()
	if !known {
		return notKnown("write the point's power and phases into the job", "the greatest current was not set: the job needs %s",
			c.Intent.Gaps["current"]).wants(c.Intent.Gaps["current"])
	}
	if o := c.putLimit(ctx, ocpp.Limit{ID: capID, Purpose: ocpp.WholePoint, Current: current}); o.verdict != finding.Meets {
		return o
	}
	c.changes["greatest current"] = &Change{Name: "greatest current", Before: "not limited over the link", After: current.String() + " each phase",
		Why: "the design's current", Kept: true}
	c.order = append(c.order, "greatest current")
	return meets("the whole point is limited to %v each phase", current)
}

// putLimit sets a limit at the point.
func (c *course) putLimit(ctx context.Context, l ocpp.Limit) outcome {
	c.say("limit %s to %v each phase", l.Purpose, l.Current)
	status, err := c.command(ctx, func(d ocpp.Dialect) (ocpp.Status, error) { return d.Limit(ctx, c.station, l) })
	switch {
	case err != nil:
		return failed("a limit", err)
	case status.Accepted():
		c.limits = append(c.limits, l)
		return meets("")
	case status.Word == "NotSupported":
		return lacks("it does not take limits over the link")
	}
	return fails("see whether another limit of a higher level is stored, and whether it takes amperes", "the limit of %v was answered with %s", l.Current, status)
}

// dropLimit takes a limit back.
func (c *course) dropLimit(ctx context.Context, id int) error {
	for i, l := range c.limits {
		if l.ID != id {
			continue
		}
		c.say("take the limit of %v off again", l.Current)
		c.limits = append(c.limits[:i:i], c.limits[i+1:]...)
		return c.try(ctx, func() error {
			_, err := c.station.Speaks().Clear(ctx, c.station, l)
			return err
		})
	}
	return nil
}

// checkClock compares the time the point writes with the time it is.
func (c *course) checkClock(ctx context.Context, s Step, within time.Duration) outcome {
	mark := c.station.Mark()
	c.say("ask for its status with the time")
	err := c.try(ctx, func() error {
		_, err := c.station.Speaks().Trigger(ctx, c.station, "StatusNotification")
		return err
	})
	stamped := func(e ocpp.Event) bool { return !e.Stamp.IsZero() && e.What != ocpp.Stopped }
	e, ok := c.station.Until(ctx, mark, within, stamped)
	if !ok { // what it said of itself when it joined is as good, if older
		for _, old := range c.station.Since(0) {
			if stamped(old) {
				e, ok = old, true
			}
		}
	}
	if !ok {
		return notKnown("watch a session: every message of it carries the time", "it told no time within %v (%v)", quantity.Seconds(within.Seconds()), err)
	}
	off := e.Stamp.Sub(e.At).Seconds()
	most, merr := quantity.ParseSeconds(s.Tolerance + " s")
	if merr != nil {
		return notKnown("put a number of seconds into the run's table", "the run names no tolerance for the clock")
	}
	o := meets("its clock is off by %v", quantity.Seconds(off))
	if off > float64(most) || off < -float64(most) {
		o = fails("let it take the time from its central system or a time server; look at summer time and time zone", "its clock is off by %v; %v is allowed",
			quantity.Seconds(off), most)
	}
	return o.with(seconds(max(off, -off)), seconds(float64(most)))
}

// unknownCard starts on a card that is not known and sees to it that nothing
// flows.
func (c *course) unknownCard(ctx context.Context, _ Step, within time.Duration) outcome {
	mark := c.station.Mark()
	c.say("start on the unknown card %s", c.Unknown)
	status, err := c.command(ctx, func(d ocpp.Dialect) (ocpp.Status, error) { return d.Start(ctx, c.station, c.Unknown) })
	if err != nil {
		return failed("a start from afar", err)
	}
	if !status.Accepted() {
		return meets("the start was refused at once (%s)", status)
	}
	asked := false
	events, _ := c.station.Wait(ctx, mark, within, func(events []ocpp.Event) bool {
		for _, e := range events {
			if e.What == ocpp.Authorised && e.Token == c.Unknown {
				asked = true
			}
			if e.What == ocpp.Started {
				return true
			}
		}
		return false
	})
	var session *ocpp.Event
	for i, e := range events {
		if e.What == ocpp.Started {
			session = &events[i]
		}
	}
	switch {
	case session == nil && asked:
		return meets("it asked about the card, was told no, and began nothing within %v", quantity.Seconds(within.Seconds()))
	case session == nil:
		return notKnown("present an unknown card at the reader and watch", "it took the start but neither asked about the card nor began a session")
	}
	// A session that began is over only when the point ends it by itself.
	_, ended := c.station.Until(ctx, mark, within, func(e ocpp.Event) bool { return e.What == ocpp.Stopped })
	flowed := false
	for _, e := range c.station.Since(mark) {
		if e.Sample != nil {
			if i, ok := e.Sample.Greatest(); ok && i > 1 {
				flowed = true
			}
		}
	}
	if !ended {
		c.say("stop that session")
		_ = c.try(ctx, func() error {
			_, err := c.station.Speaks().Stop(ctx, c.station, session.Transaction)
			return err
		})
		c.station.Until(ctx, mark, within, func(e ocpp.Event) bool { return e.What == ocpp.Stopped })
		return fails("set it to ask before it starts, and to stop on a refused card; then try again",
			"it began a session on the unknown card %s and went on with it%s", c.Unknown, ifTrue(flowed, ", current flowing"))
	}
	if flowed {
		return fails("set it to ask before it starts", "it gave current on the unknown card before it ended the session")
	}
	return meets("it began a session, was told no, and ended it by itself without current")
}

func ifTrue(yes bool, text string) string {
	if yes {
		return text
	}
	return ""
}

// cardList stores a list with the known card and reads its version back.
func (c *course) cardList(ctx context.Context, _ Step, _ time.Duration) outcome {
	c.say("store a list with the known card")
	var status ocpp.Status
	var version int
	err := c.try(ctx, func() (err error) {
		status, version, err = c.station.Speaks().List(ctx, c.station, []string{c.Known})
		return err
	})
	switch {
	case err != nil:
		return failed("the stored list of cards", err)
	case status.Word == "NotSupported":
		return lacks("it stores no list of cards")
	case !status.Accepted():
		return fails("clear its list and send it whole", "the list was answered with %s", status)
	case version != 1:
		return fails("read its version again; if it stays, the list was not kept", "the list was accepted as version 1 and reads back as %d", version)
	}
	return meets("the list is stored as version %d; a start on it with the link down is proved by presenting the card", version)
}

// hoursNamed and delayNamed match the names makers give to what the protocol
// has no name for.
var (
	hoursNamed = regexp.MustCompile(`(?i)hours|off.?peak|charg.*schedule|timer`)
	delayNamed = regexp.MustCompile(`(?i)random.*(delay|max)|delay.*(random|max)`)
)

// named returns the settings whose names match.
func (c *course) named(what *regexp.Regexp) []ocpp.Setting {
	var out []ocpp.Setting
	for _, s := range c.before {
		if what.MatchString(s.Name) {
			out = append(out, s)
		}
	}
	sort.Slice(out, func(i, j int) bool { return out[i].Name < out[j].Name })
	return out
}

// defaultHours asks what the point would do by itself over the coming week and
// looks at the weekday peaks.
func (c *course) defaultHours(ctx context.Context, _ Step, _ time.Duration) outcome {
	const week = 7 * 24 * time.Hour
	c.say("read the schedule of the coming week")
	var plan ocpp.Schedule
	err := c.try(ctx, func() (err error) {
		plan, err = c.station.Speaks().Schedule(ctx, c.station, week)
		return err
	})
	own := ""
	for _, s := range c.named(hoursNamed) {
		own += fmt.Sprintf("; it has a setting of its own, %s: %s", s.Name, s.Value)
	}
	const look = "see in the point's own menu that default hours are set, and that the owner was asked at first use"
	if err != nil {
		return judge(look, "the schedule could not be read (%v)%s", err, own)
	}
	var free, held int
	for at := time.Duration(0); at < week; at += 30 * time.Minute {
		t := plan.Start.Add(at)
		if !ocpp.InPeak(t) {
			continue
		}
		if limit, known := plan.At(t); known && limit < pilot.LeastOffer {
			held++
		} else {
			free++
		}
	}
	switch {
	case held > 0 && free == 0:
		return meets("the schedule holds every weekday peak of the coming week%s", own)
	case held == 0:
		return judge(look, "the schedule it tells allows charging in weekday peaks: it has no default hours, or holds them outside the protocol%s", own)
	}
	return fails(look, "of %d half-hours of weekday peaks in the coming week %d are free: look for an hour's shift from summer time%s", held+free, free, own)
}

// restore puts back what was changed for the test alone and says what stays.
func (c *course) restore(ctx context.Context, _ Step, _ time.Duration) outcome {
	d := c.station.Speaks()
	if d == nil {
		return notKnown("", "waits for the point to join")
	}
	var failing []string
	if tx := c.station.Transaction(); tx != "" {
		c.say("stop the session that still runs")
		if err := c.try(ctx, func() error {
			_, err := d.Stop(ctx, c.station, tx)
			return err
		}); err != nil {
			failing = append(failing, "the session that still runs could not be stopped")
		}
	}
	for _, id := range []int{holdID, fallID} {
		if err := c.dropLimit(ctx, id); err != nil {
			failing = append(failing, fmt.Sprintf("a limit of the test could not be taken off: %v", err))
		}
	}
	for _, w := range c.Intent.wanted {
		name := c.station.Version().Name(w.setting)
		ch := c.changes[name]
		if !w.forTest || ch == nil {
			continue
		}
		c.say("put %s back to %s", name, ch.Before)
		status, err := c.command(ctx, func(d ocpp.Dialect) (ocpp.Status, error) { return d.Set(ctx, c.station, name, ch.Before) })
		if err != nil || !status.Accepted() && status.Word != "RebootRequired" {
			failing = append(failing, fmt.Sprintf("%s could not be put back to %s", name, ch.Before))
		}
	}
	if o, bad := c.readBack(ctx); bad {
		return o
	}
	for _, w := range c.Intent.wanted {
		name := c.station.Version().Name(w.setting)
		if ch := c.changes[name]; ch != nil && w.forTest {
			if ch.Kept = ch.After == ch.Before; ch.Kept {
				ch.Why += "; put back"
			} else {
				failing = append(failing, fmt.Sprintf("%s reads %s where %s was before", name, ch.After, ch.Before))
			}
		}
	}
	if len(failing) > 0 {
		return fails("set it by hand", "%s", strings.Join(failing, "; "))
	}
	return meets("what was changed for the test is as before; the design's settings stay")
}
