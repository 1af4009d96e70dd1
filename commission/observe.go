package commission

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"chargewright/ocpp"
	"chargewright/quantity"
)

// What a run goes by. Samples are ordered by when they arrived: a stamp is the
// point's word about its clock, and proves nothing else. What the run itself set
// at the point is no observation of the point.

// Bounds of the time between two samples that follow each other, as shares of
// the interval: closer together they come out of a queue, further apart there is
// a gap between them, and nothing is said of it. Engineering judgement.
const (
	closest  = 0.3
	furthest = 2.5
)

// nominal is the voltage of line to neutral that a limit in watts is reckoned with.
// Source: BS EN 50160, 230 V.
const nominal quantity.Volts = 230

// every is the interval at which samples are expected: as it reads back from the
// point, or else what points are made with.
func (c *course) every() time.Duration {
	const factory = 60 * time.Second // common practice, no source
	if c.interval > 0 {
		return c.interval
	}
	return factory
}

// mine reports whether an event is of the outlet and session looked at.
func (c *course) mine(e ocpp.Event) bool {
	if e.Outlet != 0 && e.Outlet != c.station.Outlet() {
		return false
	}
	return c.started == nil || e.Transaction == "" || e.Transaction == "-1" || e.Transaction == c.started.Transaction
}

// flowing is a sample that tells a current, and the greatest of its lines.
func (c *course) flowing(e ocpp.Event) (quantity.Amperes, bool) {
	if e.Sample == nil || !c.mine(e) {
		return 0, false
	}
	if i, known := e.Sample.Greatest(); known {
		return i, true
	}
	w, power := e.Sample.Power.Get()
	n, phases := c.Intent.Phases.Get()
	if !power || !phases || n < 1 {
		return 0, false
	}
	return quantity.Amperes(float64(w) / float64(nominal) / float64(n)), true // power alone is told
}

// latest is the greatest current of the newest sample since a mark.
func (c *course) latest(mark int) (quantity.Amperes, bool) {
	for _, e := range slices.Backward(c.station.Since(mark)) {
		if i, known := c.flowing(e); known {
			return i, true
		}
	}
	return 0, false
}

// awaits waits for a sample since a mark whose current is as wanted.
func (c *course) awaits(ctx context.Context, mark int, within time.Duration, is func(quantity.Amperes) bool) (ocpp.Event, quantity.Amperes, bool) {
	var now quantity.Amperes
	e, ok := c.station.Until(ctx, mark, within, func(e ocpp.Event) bool {
		i, known := c.flowing(e)
		if known && is(i) {
			now = i
			return true
		}
		return false
	})
	return e, now, ok
}

// tells reports whether any sample since a mark was there, and whether one told a
// current.
func (c *course) tells(mark int) (samples, current bool) {
	for _, e := range c.station.Since(mark) {
		if e.Sample != nil && c.mine(e) {
			samples = true
			if _, known := c.flowing(e); known {
				current = true
			}
		}
	}
	return samples, current
}

// unseen is the outcome where no sample of a current came: the point has none, or
// it fell silent.
func (c *course) unseen(mark int, waited time.Duration, by string) outcome {
	switch samples, _ := c.tells(mark); {
	case samples:
		return lacks("its meter values hold no current: %s", by)
	case c.station.Link() == nil:
		return notKnown("put the link right first: signal, router, cable", "its link was lost: what it took is not known")
	}
	return notKnown(by, "no meter value came within %v: what it took is not known", quantity.Seconds(waited.Seconds()))
}

// careful says what of the messages since a count was not as the schema has it.
func (c *course) careful(before map[string]int) string {
	var told []string
	now := c.station.Unclean()
	for _, what := range slices.Sorted(maps.Keys(now)) {
		if n := now[what] - before[what]; n > 0 {
			told = append(told, fmt.Sprintf("%s: %s", messages(n), what))
		}
	}
	if len(told) == 0 {
		return ""
	}
	return "; read with care: " + strings.Join(told, "; ")
}

func messages(n int) string {
	if n == 1 {
		return "1 message"
	}
	return fmt.Sprintf("%d messages", n)
}

// there reports whether the point can be asked. A link that was lost is waited
// for, once.
func (c *course) there(ctx context.Context, s Step) (waits outcome, ok bool) {
	switch {
	case s.Does == "identify":
		return outcome{}, true
	case c.station.Version() == "":
		return notKnown("", "waits for the point to join"), false
	case slices.Contains(running, s.Does) && c.started == nil && c.waits[s.Does] == "":
		return notKnown("", "waits for a session to start"), false
	case c.station.Link() != nil || s.Does == "link":
		return outcome{}, true
	}
	if c.gone = c.gone || !c.back(ctx); c.gone {
		o := notKnown("put the link right first: signal, router, cable", "its link was lost and has not come back")
		if s.Does == "restore" {
			o.why += ": limits and settings of the test may still stand at the point"
		}
		return o, false
	}
	return outcome{}, true
}
