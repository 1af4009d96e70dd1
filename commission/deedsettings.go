package commission

import (
	"context"
	"errors"
	"fmt"
	"regexp"
	"slices"
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
			return notKnown("check address, name and password entered in the point, and that it reaches this computer", "no point of the name %s joined within %v%s",
				c.Identity, quantity.Seconds(within.Seconds()), c.doorSays())
		}
		mark := c.station.Mark()
		c.say("ask it to introduce itself")
		if status, err := c.station.Speaks().Trigger(ctx, c.station, "BootNotification"); err == nil && status.Accepted() {
			e, ok = c.station.Until(ctx, mark, within, booted)
		}
		if !ok { // OCPP-J 1.6 section 5.4: after a lost link it need not
			return notKnown("restart the point, so that it says serial number and firmware", "it joined but did not introduce itself")
		}
	}
	c.evidence.Identity = e.Identity
	said := fmt.Sprintf("serial number %s, firmware %s, model %s", orNothing(e.Identity.Serial), orNothing(e.Identity.Firmware), orNothing(e.Identity.Model))
	switch {
	case c.Intent.Serial != "" && e.Identity.Serial == "":
		return judge("compare the serial number on its plate with the job's", "%s; the job has serial number %s", said, c.Intent.Serial)
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

// doorSays repeats why the point was turned away, if it was; else who else asked
// to come in: a point under another name is a point.
func (c *course) doorSays() string {
	stranger := ""
	for _, m := range slices.Backward(c.Central.Refused()) {
		switch {
		case m.Point == c.Identity || m.Point == "":
			return "; at the door: " + m.Remark
		case stranger == "" && m.Remark != ocpp.CutOnPurpose:
			stranger = fmt.Sprintf("; somebody called %q asked to come in: if that is the point, give it the name %s, or run it under its own", m.Point, c.Identity)
		}
	}
	return stranger
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
	c.takeWords()
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

// takeWords learns from its settings in which unit it takes limits and how often
// it sends samples.
func (c *course) takeWords() {
	v := c.station.Version()
	switch told := c.before[v.Name(ocpp.RateUnit)].Value; {
	case told == "":
	case strings.Contains(told, "Current"), slices.Contains(listOf(told), "a"):
		c.watts = quantity.Known(false)
	case strings.Contains(told, "Power"), slices.Contains(listOf(told), "w"):
		c.watts = quantity.Known(true)
	}
	c.takeInterval(c.before[v.Name(ocpp.SampleEvery)].Value)
}

func (c *course) takeInterval(told string) {
	if n, err := quantity.ParseSeconds(told + " s"); err == nil && n > 0 && n <= 3600 {
		c.interval = time.Duration(float64(n) * float64(time.Second))
	}
}

// listOf is a setting as a list, in small letters and without spaces.
func listOf(value string) []string {
	parts := strings.Split(strings.ToLower(strings.ReplaceAll(value, " ", "")), ",")
	slices.Sort(parts)
	return parts
}

// sameSetting reports whether two values mean the same: points differ in letters
// and in the order of a list.
func sameSetting(a, b string) bool { return slices.Equal(listOf(a), listOf(b)) }

// setDesign sets what the design asks for and reads it back.
func (c *course) setDesign(ctx context.Context, _ Step, _ time.Duration) outcome {
	var failing, absent, taken, costs []string
	for _, w := range c.Intent.wanted {
		name := c.station.Version().Name(w.setting)
		if name == "" {
			continue
		}
		was, there := c.before[name]
		switch {
		case !there:
			absent = append(absent, name)
			if w.cost != "" {
				costs = append(costs, "without "+name+" "+w.cost)
			}
			continue
		case sameSetting(was.Value, w.value):
			taken = append(taken, name)
			continue
		}
		refused := ""
		for _, value := range append([]string{w.value}, w.less...) {
			c.say("set %s to %s", name, value)
			status, err := c.command(ctx, func(d ocpp.Dialect) (ocpp.Status, error) { return d.Set(ctx, c.station, name, value) })
			if err != nil {
				return failed("setting "+name, err)
			}
			if refused = ""; status.Accepted() || status.Word == "RebootRequired" {
				c.changed(&Change{Name: name, Before: was.Value, Why: w.why})
				c.asked[name] = value
				taken = append(taken, name)
				break
			}
			if refused = fmt.Sprintf("%s: the answer to %s was %s", name, value, status); status.Word == "NotSupported" ||
				status.Word == "UnknownVariable" || status.Word == "UnknownComponent" {
				refused = ""
				absent = append(absent, name)
				break
			}
		}
		switch {
		case refused == "":
		case w.forTest:
			costs = append(costs, fmt.Sprintf("%s; it stays %s, and so %s", refused, orNothing(was.Value), w.cost))
		default:
			failing = append(failing, refused+ifTrue(w.cost != "", ", and so "+w.cost))
		}
	}
	if o, bad := c.readBack(ctx); bad {
		return o
	}
	for _, name := range c.order {
		ch := c.changes[name]
		if ch.Kept = sameSetting(ch.After, c.asked[name]); !ch.Kept {
			failing = append(failing, fmt.Sprintf("%s was taken as %s and reads back as %s", name, c.asked[name], orNothing(ch.After)))
		}
	}
	o := c.capPoint(ctx)
	cost := ""
	if len(costs) > 0 {
		cost = "; " + strings.Join(costs, "; ")
	}
	switch {
	case len(failing) > 0:
		return fails("set it in the point's own menu and read it back; if a restart is needed, restart and read again", "%s%s", strings.Join(failing, "; "), cost)
	case o.verdict != finding.Meets:
		o.why += cost
		return o
	case len(absent) > 0:
		return lacks("the point has no %s; %d others read back as set; %s%s", strings.Join(absent, ", "), len(taken), o.why, cost)
	}
	return meets("%d settings read back as the design asks; %s%s", len(taken), o.why, cost)
}

// changed notes a setting that was changed.
func (c *course) changed(ch *Change) {
	if was := c.changes[ch.Name]; was != nil {
		ch.Before = was.Before
	} else {
		c.order = append(c.order, ch.Name)
	}
	c.changes[ch.Name] = ch
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
	for _, s := range all {
		if ch := c.changes[s.Name]; ch != nil {
			ch.After = s.Value
		}
		if s.Name == c.station.Version().Name(ocpp.SampleEvery) {
			c.takeInterval(s.Value)
		}
	}
	return outcome{}, false
}

// greatestCurrent is how the evidence names the limit of the whole point, which
// is no setting.
const greatestCurrent = "greatest current"

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
	c.changed(&Change{Name: greatestCurrent, Before: "not limited over the link", After: current.String() + " each phase",
		Why: "the design's current", Kept: true})
	return meets("the whole point is limited to %v each phase", current)
}

// putLimit sets a limit at the point, in the unit it takes; where it does not say
// which, amperes first.
func (c *course) putLimit(ctx context.Context, l ocpp.Limit) outcome {
	ways := []bool{false, true}
	if watts, said := c.watts.Get(); said {
		ways = []bool{watts}
	}
	var answers []string
	for _, watts := range ways {
		if l.InWatts = watts; watts {
			n, known := c.Intent.Phases.Get()
			if !known {
				answers = append(answers, "it takes watts, and the job does not say how many phases the point has")
				continue
			}
			l.Phases, l.Power = n, quantity.Watts(float64(l.Current)*float64(nominal)*float64(n))
			c.say("limit %s to %v, which is %v each phase", l.Purpose, l.Power, l.Current)
		} else {
			c.say("limit %s to %v each phase", l.Purpose, l.Current)
		}
		status, err := c.command(ctx, func(d ocpp.Dialect) (ocpp.Status, error) { return d.Limit(ctx, c.station, l) })
		switch {
		case err != nil:
			return failed("a limit", err)
		case status.Accepted():
			c.watts = quantity.Known(watts)
			c.limits = append(c.limits, l)
			return meets("")
		case status.Word == "NotSupported":
			return lacks("it does not take limits over the link")
		}
		answers = append(answers, status.String())
	}
	return fails("see whether another limit of a higher level is stored, and which unit it takes", "the limit of %v was answered with %s", l.Current,
		strings.Join(answers, ", in watts with "))
}

// dropLimit takes a limit back. A point that knows no such limit has none.
func (c *course) dropLimit(ctx context.Context, id int) error {
	for i, l := range c.limits {
		if l.ID != id {
			continue
		}
		c.say("take the limit of %v off again", l.Current)
		status, err := c.command(ctx, func(d ocpp.Dialect) (ocpp.Status, error) { return d.Clear(ctx, c.station, l) })
		if err == nil && !status.Accepted() && status.Word != "Unknown" {
			err = fmt.Errorf("taking it off was answered with %s", status)
		}
		if err == nil {
			c.limits = append(c.limits[:i:i], c.limits[i+1:]...)
		}
		return err
	}
	return nil
}

// checkClock compares the times the point writes with the times at which they
// arrive. A message may come late, never early: so the least late of them tells
// the clock, and one time repeated may be that of an old change.
func (c *course) checkClock(ctx context.Context, s Step, within time.Duration) outcome {
	most, merr := quantity.ParseSeconds(s.Tolerance + " s")
	if merr != nil {
		return notKnown("put a number of seconds into the run's table", "the run names no tolerance for the clock")
	}
	mark := c.station.Mark()
	c.say("ask for its status with the time")
	status, err := c.command(ctx, func(d ocpp.Dialect) (ocpp.Status, error) { return d.Trigger(ctx, c.station, "StatusNotification") })
	stamped := func(e ocpp.Event) bool { return !e.Stamp.IsZero() && e.What != ocpp.Stopped }
	if err == nil && status.Accepted() {
		c.station.Until(ctx, mark, within, stamped)
	}
	var least float64
	times := map[time.Time]bool{}
	booted := false
	for _, e := range c.station.Since(0) {
		if booted = booted || e.What == ocpp.Booted; !booted || !stamped(e) { // before that it had not been told the time
			continue
		}
		if off := e.Stamp.Sub(e.At).Seconds(); len(times) == 0 || off > least {
			least = off
		}
		times[e.Stamp] = true
	}
	if len(times) == 0 {
		return notKnown("watch a session: every message of it carries the time", "it told no time within %v%s", quantity.Seconds(within.Seconds()),
			ifTrue(err != nil, fmt.Sprintf(" (%v)", err)))
	}
	o := meets("its clock is off by %v", quantity.Seconds(least))
	switch {
	case least < -float64(most) && len(times) == 1:
		return notKnown("watch a session: a meter value carries the time it was taken at",
			"the only time it told is %v before it came: that may be when its status last changed", quantity.Seconds(-least))
	case least > float64(most) || least < -float64(most):
		o = fails("let it take the time from its central system or a time server; look at summer time and time zone", "its clock is off by %v; %v is allowed",
			quantity.Seconds(least), most)
	}
	return o.with(seconds(max(least, -least)), seconds(float64(most)))
}

// unknownCard starts on a card that is not known, and then, in the same state of
// the point, on one that is: a point that refuses both refuses nobody.
func (c *course) unknownCard(ctx context.Context, _ Step, within time.Duration) outcome {
	mark := c.station.Mark()
	c.say("start on the unknown card %s", c.Unknown)
	status, err := c.command(ctx, func(d ocpp.Dialect) (ocpp.Status, error) { return d.Start(ctx, c.station, c.Unknown) })
	if err != nil {
		return failed("a start from afar", err)
	}
	if !status.Accepted() {
		return c.besideKnown(ctx, within, fmt.Sprintf("the start on the unknown card was refused at once (%s)", status))
	}
	asked := false
	events, _ := c.station.Wait(ctx, mark, within, func(events []ocpp.Event) bool {
		for _, e := range events {
			if e.What == ocpp.Authorised && e.Token == c.Unknown {
				asked = true
			}
			if e.What == ocpp.Started && c.mine(e) {
				return true
			}
		}
		return false
	})
	var session *ocpp.Event
	for i, e := range events {
		if e.What == ocpp.Started && c.mine(e) {
			session = &events[i]
		}
	}
	switch {
	case session == nil && asked:
		return c.besideKnown(ctx, within,
			fmt.Sprintf("it asked about the unknown card, was told no, and began nothing within %v", quantity.Seconds(within.Seconds())))
	case session == nil:
		return notKnown("present an unknown card at the reader and watch", "it took the start but neither asked about the card nor began a session")
	}
	// A session that began is over only when the point ends it by itself.
	over, ended := c.station.Until(ctx, mark, within, func(e ocpp.Event) bool { return e.What == ocpp.Stopped })
	flowed := false
	for _, e := range c.station.Since(mark) {
		if i, known := c.flowing(e); known && i > 1 {
			flowed = true
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
	from, a := session.Register.Get()
	to, b := over.Register.Get()
	if flowed || a && b && to > from+1 {
		return fails("set it to ask before it starts", "it gave current on the unknown card before it ended the session")
	}
	return c.besideKnown(ctx, within, "it began a session on the unknown card, was told no, and ended it by itself without current")
}

// besideKnown holds a refusal of the unknown card against a start on the known
// one. The session that begins is the one the steps after it go on with.
func (c *course) besideKnown(ctx context.Context, within time.Duration, refusal string) outcome {
	b := c.begin(ctx, within)
	asked := slices.ContainsFunc(c.station.Since(b.mark), func(e ocpp.Event) bool { return e.What == ocpp.Authorised && e.Token == c.Known && e.Allowed })
	const again = "present both cards at the reader, the unknown one first, and watch"
	switch {
	case b.err != nil:
		return notKnown(again, "%s; whether it takes the known one is not known: %v", refusal, b.err)
	case !b.status.Accepted():
		return notKnown(again, "%s; but so was the known card %s (%s): nothing is proved", refusal, c.Known, b.status)
	case b.event == nil && !asked:
		return notKnown(again, "%s; but on the known card %s nothing began either: nothing is proved", refusal, c.Known)
	case b.event != nil && b.event.Token != c.Known:
		return notKnown(again, "%s; the session on the known card began on %q", refusal, b.event.Token)
	}
	return meets("%s; the known card %s was taken in the same state", refusal, c.Known)
}

func ifTrue(yes bool, text string) string {
	if yes {
		return text
	}
	return ""
}

// cardList adds the known card to the stored list and reads its number back.
func (c *course) cardList(ctx context.Context, _ Step, _ time.Duration) outcome {
	c.say("add the known card to the stored list")
	status, version, err := c.station.Speaks().List(ctx, c.station, []string{c.Known})
	if errors.Is(err, ocpp.ErrLinkLost) && c.back(ctx) {
		status, version, err = c.station.Speaks().List(ctx, c.station, []string{c.Known})
	}
	switch {
	case err != nil:
		return failed("the stored list of cards", err)
	case status.Word == "NotSupported":
		return lacks("it stores no list of cards")
	case !status.Accepted():
		return fails("clear its list and send it whole", "the list was answered with %s", status)
	case version.After != version.Sent:
		return fails("read its version again; if it stays, the list was not kept", "the list was accepted as version %d and reads back as %d", version.Sent,
			version.After)
	}
	return meets("the list went from version %d to %d; a start on it with the link down is proved by presenting the card", version.Before, version.After)
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
		plan, err = c.station.Speaks().Schedule(ctx, c.station, week, c.watts.Or(false))
		return err
	})
	own := ""
	for _, s := range c.named(hoursNamed) {
		own += fmt.Sprintf("; it has a setting of its own, %s: %s", s.Name, s.Value)
	}
	const look = "see in the point's own menu that default hours are set, and that the owner was asked at first use"
	if errors.Is(err, ocpp.ErrLinkLost) {
		return failed("the schedule of the coming week", err)
	}
	if err != nil {
		return judge(look, "the schedule could not be read (%v)%s", err, own)
	}
	if plan.Start.IsZero() || len(plan.Periods) == 0 {
		return judge(look, "the schedule it told has no beginning or no steps%s", own)
	}
	least := float64(pilot.LeastOffer)
	if plan.Watts {
		least *= float64(nominal) // of one phase: more phases need more
	}
	var free, held int
	for at := time.Duration(0); at < week; at += 30 * time.Minute {
		t := plan.Start.Add(at)
		if !ocpp.InPeak(t) {
			continue
		}
		if limit, known := plan.At(t); known && limit < least {
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
	var failing []string
	if tx := c.station.Transaction(); tx != "" {
		c.say("stop the session that still runs")
		mark := c.station.Mark()
		status, err := c.command(ctx, func(d ocpp.Dialect) (ocpp.Status, error) { return d.Stop(ctx, c.station, tx) })
		const patience = 10 * time.Second // engineering judgement
		if err == nil && status.Accepted() {
			c.station.Until(ctx, mark, patience, func(e ocpp.Event) bool { return e.What == ocpp.Stopped })
		}
		if c.station.Transaction() != "" {
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
		o.why += strings.Join(append([]string{""}, failing...), "; ")
		return o
	}
	for _, w := range c.Intent.wanted {
		name := c.station.Version().Name(w.setting)
		if ch := c.changes[name]; ch != nil && w.forTest {
			if ch.Kept = sameSetting(ch.After, ch.Before); ch.Kept {
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
