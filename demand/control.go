package demand

import (
	"math"

	"chargewright/finding"
	"chargewright/quantity"
	"chargewright/trade"
	"chargewright/works"
)

// limiterControl is a limiter with every fact known that its action depends on.
type limiterControl struct {
	Name        string
	Limit       quantity.Amperes // per line, what it keeps to
	FailSafe    quantity.Amperes // per line, all its points together, when a signal is lost
	SeesPoints  bool             // its clamps see the points as well as the other loads
	Error       quantity.Percent // of a reading, either way
	Samples     quantity.Seconds // between two readings
	Averages    quantity.Seconds // mean of the readings of this long; 0 for the last alone
	PassesOn    quantity.Seconds // from a reading to the new signal, at most
	Follows     quantity.Seconds // from the new signal to the vehicle's current, at most
	TimeOut     quantity.Seconds // without a good reading, until it takes the signal for lost
	NoticesLoss bool             // a broken clamp is no reading, and not 0 A
	Waits       quantity.Seconds // after any lowering, before any raising
	Sharing     trade.Sharing
	NoSource    bool // nothing on site sends current out
}

// controlOf returns the facts of a limiter, and those that nobody stated.
func controlOf(l *works.Limiter) (limiterControl, finding.Lacks) {
	c := limiterControl{Name: l.Name}
	var lacks finding.Lacks
	take(&lacks, l, "limit", l.Limit, &c.Limit)
	take(&lacks, l, "fail-safe current", l.FailSafe, &c.FailSafe)
	var sees trade.ClampView
	take(&lacks, l, "clamp sees", l.ClampSees, &sees)
	c.SeesPoints = sees == trade.WholeSupply
	take(&lacks, l, "clamp error", l.ClampError, &c.Error)
	take(&lacks, l, "samples every", l.Samples, &c.Samples)
	take(&lacks, l, "averages over", l.Averages, &c.Averages)
	take(&lacks, l, "passes on within", l.PassesOn, &c.PassesOn)
	take(&lacks, l, "vehicle follows within", l.Follows, &c.Follows)
	take(&lacks, l, "lost-signal time-out", l.TimeOut, &c.TimeOut)
	take(&lacks, l, "notices a lost clamp", l.NoticesLoss, &c.NoticesLoss)
	take(&lacks, l, "waits before raising", l.Waits, &c.Waits)
	take(&lacks, l, "sharing", l.Sharing, &c.Sharing)
	return c, lacks
}

// take moves a fact, or notes that it is missing.
func take[Q any](lacks *finding.Lacks, l *works.Limiter, field string, from quantity.Maybe[Q], to *Q) {
	q, ok := from.Get()
	if !ok {
		*lacks = append(*lacks, l.Thing().Lack(field, field)...)
		return
	}
	*to = q
}

// readings returns how many readings are averaged, one at least.
func (c limiterControl) readings() int {
	if !(c.Samples > 0) {
		return 1
	}
	return max(1, int(math.Ceil(float64(c.Averages/c.Samples)-1e-9)))
}

// lag returns the longest time from a reading to the vehicle's current.
func (c limiterControl) lag() quantity.Seconds { return c.PassesOn + c.Follows }
