package commission

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"chargewright/finding"
	"chargewright/meter"
	"chargewright/ocpp"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/trade"
)

// Run is one commissioning run of one point.
type Run struct {
	Central   *ocpp.Central
	Identity  string // of the point on the link
	Intent    Intent
	Rules     *standard.Rulebook
	Pretended bool                           // the point is a pretended one, for training
	Clamped   quantity.Maybe[trade.PhaseSet] // lines of the supply on which a person's clamp showed the point's current
	Steps     []Step
	Skip      []string                                     // keys of steps that are left out
	Known     string                                       // card that is allowed
	Unknown   string                                       // card that is not
	Meter     func(context.Context) (meter.Reading, error) // a reference meter on the circuit; nil for none
	Ask       func(string)                                 // tells a person what to do now
	Tell      func(StepResult)                             // told as each step ends; may be nil
}

// course is a run under way: what later steps need of earlier ones.
type course struct {
	Run
	clock             *ocpp.Clock
	station           *ocpp.Station
	evidence          *Evidence
	before            map[string]ocpp.Setting // settings as the point came
	changes           map[string]*Change
	order             []string
	asked             map[string]string // settings as they were asked for
	begun             *begun
	started           *ocpp.Event
	startAt           int                           // mark of the events when the session began
	flowAfter         time.Duration                 // from the start that was asked for to the first current
	meterAt, meterEnd quantity.Maybe[meter.Reading] // before the session and after it
	stopped           *ocpp.Event
	held              bool                 // a limit was held
	gone              bool                 // its link was lost and has not come back
	interval          time.Duration        // of its samples, as it reads back; 0 where it does not
	watts             quantity.Maybe[bool] // it takes limits in watts, not in amperes; not known where it does not say
	journalFrom       int                  // where the messages of this step begin, if earlier than the step
	limits            []ocpp.Limit         // standing at the point
	sent              []string
	waits             map[string]string // steps that did not come off, by what they were to give
}

// deed is what a step does.
type deed func(c *course, ctx context.Context, s Step, within time.Duration) outcome

// deeds are what a step may do, by the word in the table. Filled in init: the
// reader of the table asks it for its words.
var deeds map[string]deed

func init() {
	deeds = map[string]deed{
		"identify": (*course).identify, "read settings": (*course).readSettings, "set the design": (*course).setDesign,
		"clock": (*course).checkClock, "unknown card": (*course).unknownCard, "card list": (*course).cardList,
		"default hours": (*course).defaultHours, "vehicle": (*course).vehicle, "start": (*course).start,
		"samples": (*course).samples, "phases": (*course).phases, "limit": (*course).limit, "raise": (*course).raise,
		"lose the link": (*course).loseLink, "stop": (*course).stop, "energy": (*course).energy, "link": (*course).linkHeld,
		"reboot": (*course).reboot, "delay": (*course).delay, "restore": (*course).restore,
	}
}

// outcome is how a step went.
type outcome struct {
	verdict              finding.Verdict
	unsupported          bool
	leftOut              bool // the step does not apply and is not part of the evidence
	value, limit, margin finding.Amount
	why, next            string
	lacks                finding.Lacks // of the job, where that keeps it from being known
}

func meets(why string, args ...any) outcome {
	return outcome{verdict: finding.Meets, why: fmt.Sprintf(why, args...)}
}
func fails(next, why string, args ...any) outcome {
	return outcome{verdict: finding.Fails, next: next, why: fmt.Sprintf(why, args...)}
}
func notKnown(next, why string, args ...any) outcome {
	return outcome{verdict: finding.NotKnown, next: next, why: fmt.Sprintf(why, args...)}
}
func judge(next, why string, args ...any) outcome {
	return outcome{verdict: finding.JudgeOnSite, next: next, why: fmt.Sprintf(why, args...)}
}
func lacks(why string, args ...any) outcome {
	return outcome{unsupported: true, next: "see in the point's own papers how it is done there, and prove it by hand", why: fmt.Sprintf(why, args...)}
}

// wants adds what the job lacks.
func (o outcome) wants(lacks finding.Lacks) outcome {
	o.lacks = lacks
	return o
}

// with adds what was measured against what limit.
func (o outcome) with(value, limit finding.Amount) outcome {
	o.value, o.limit = value, limit
	if !limit.IsZero() && !value.IsZero() {
		o.margin = limit
		o.margin.Number -= value.Number
	}
	return o
}

// Do runs the steps in order and returns the evidence. It ends by itself: every
// wait is bounded, and so are the steps.
func (r Run) Do(ctx context.Context) (*Evidence, error) {
	clock := r.Central.Clock
	c := &course{Run: r, clock: clock, station: r.Central.Station(r.Identity),
		before: map[string]ocpp.Setting{}, changes: map[string]*Change{}, asked: map[string]string{},
		waits: map[string]string{}}
	c.evidence = &Evidence{Job: r.Intent.Job, Edition: r.Intent.Edition, Invented: r.Intent.Invented, Point: r.Intent.Point,
		Address: r.Central.AddressOf(r.Identity), Secured: r.Central.Secured(), Pace: clock.Pace(), Pretended: r.Pretended, Began: clock.Now()}
	for _, s := range r.Steps {
		if ctx.Err() != nil {
			break
		}
		if slices.Contains(r.Skip, s.Key) {
			c.evidence.LeftOut = append(c.evidence.LeftOut, s.Title)
			continue
		}
		within, cites, err := s.within(r.Rules)
		if err != nil {
			return nil, err
		}
		if done, ok := c.do(ctx, s, within, cites); ok && ctx.Err() == nil { // a step that was broken off says nothing
			c.evidence.Steps = append(c.evidence.Steps, done)
			if r.Tell != nil {
				r.Tell(done)
			}
		}
	}
	for _, name := range c.order {
		c.evidence.Settings = append(c.evidence.Settings, *c.changes[name])
	}
	c.evidence.OCPP = c.station.Version()
	c.evidence.Pretended = c.evidence.Pretended || c.evidence.Identity.Vendor == ocpp.PretendedVendor || clock.Pace() != 1
	c.evidence.Refused = r.Central.Refused()
	c.evidence.Unclean = c.station.Unclean()
	c.evidence.Ended = clock.Now()
	if ctx.Err() != nil {
		c.evidence.Stopped = true
		return c.evidence, fmt.Errorf("the run was ended before its last step: %w", ctx.Err())
	}
	return c.evidence, nil
}

// do runs one step.
func (c *course) do(ctx context.Context, s Step, within time.Duration, cites []standard.Citation) (StepResult, bool) {
	if s.Only == smartOnly {
		if smart, known := c.Intent.Smart.Get(); known && !smart {
			return StepResult{}, false
		}
	}
	if s.Person != "" && c.Ask != nil {
		c.Ask(s.Person)
	}
	mark, began := c.station.Journal.Mark(), c.clock.Now()
	c.sent, c.journalFrom = nil, -1
	unclean := c.station.Unclean()
	o, there := c.there(ctx, s)
	if reason := c.waits[s.Does]; there && reason != "" {
		o = notKnown("", "waits for %s", reason)
	} else if there {
		o = deeds[s.Does](c, ctx, s, within)
	}
	if c.journalFrom >= 0 {
		mark = min(mark, c.journalFrom)
	}
	o.why += c.careful(unclean)
	if o.leftOut {
		return StepResult{}, false
	}
	if s.Only == smartOnly && !c.Intent.Smart.IsKnown() && o.verdict == finding.Fails {
		o.verdict = finding.JudgeOnSite
		o.why += "; whether the regulations reach this point is not known: " + c.Intent.Gaps["smart"].String()
		o.lacks = c.Intent.Gaps["smart"]
	}
	source := func() []finding.Source {
		return append([]finding.Source{{Place: s.Source, Doubt: s.Confidence}}, standard.Sources(cites...).List()...)
	}
	of := c.Intent.thing()
	done := StepResult{Finding: finding.Finding{Key: s.Key, Clause: finding.Clause{Name: s.Source}, Path: of.Path, Subject: of.Name, What: s.Title,
		Verdict: o.verdict, Lacks: o.lacks,
		Value: o.value, Limit: o.limit, Margin: o.margin, Why: finding.Say("%s", o.why), Next: o.next, Source: source},
		Unsupported: o.unsupported, Sent: c.sent, Began: began, Took: c.clock.Now().Sub(began)}
	done.Messages, done.LeftOut = c.station.Journal.Since(mark)
	return done, true
}

// say notes what is asked of the point, in trade words.
func (c *course) say(format string, args ...any) {
	c.sent = append(c.sent, fmt.Sprintf(format, args...))
}

// try asks the point something, and once more if its link was lost meanwhile
// and came back.
func (c *course) try(ctx context.Context, ask func() error) error {
	err := ask()
	if !errors.Is(err, ocpp.ErrLinkLost) || !c.back(ctx) {
		return err
	}
	return ask()
}

// back waits for a lost link to come back.
func (c *course) back(ctx context.Context) bool {
	const patience = 60 * time.Second // engineering judgement
	if mark := c.station.Mark(); c.station.Link() == nil {
		c.station.Until(ctx, mark, patience, func(e ocpp.Event) bool { return e.What == ocpp.Joined })
	}
	return c.station.Link() != nil
}

// command gives the point an order, and returns what it makes of it.
func (c *course) command(ctx context.Context, give func(ocpp.Dialect) (ocpp.Status, error)) (status ocpp.Status, err error) {
	err = c.try(ctx, func() (err error) {
		status, err = give(c.station.Speaks())
		return err
	})
	return status, err
}

// failed puts an error into an outcome.
func failed(what string, err error) outcome {
	switch {
	case errors.Is(err, ocpp.ErrUnsupported):
		return lacks("%s is not part of this point: %v", what, err)
	case errors.Is(err, ocpp.ErrLinkLost):
		return notKnown("put the link right first: signal, router, cable", "%s: the link was lost and did not come back", what)
	case errors.Is(err, ocpp.ErrUnanswered):
		return notKnown("see whether it answers anything; restart it and try again", "%s: %v", what, err)
	}
	return fails("read the messages of this step", "%s: %v", what, err)
}
