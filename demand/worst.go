package demand

// The search for the worst case: the limiter itself is run, from a settled
// state, through steps of the other loads at chosen moments of its clock, with
// readings at the ends of their error and the slowest vehicle. What it finds
// is a fact; what it does not find proves nothing: that is for the bound.

import (
	"math"
	"sort"

	"chargewright/quantity"
)

// stepEvent is what happens to the limiter at the moment the other loads step.
type stepEvent string

// Events.
const (
	LoadStep      stepEvent = "the other loads step"
	SignalLost    stepEvent = "the signal is lost as the other loads step"
	SignalBack    stepEvent = "readings fail for less than the time-out as the other loads step"
	PowerUp       stepEvent = "the limiter starts anew as the other loads step"
	ReadsReversed stepEvent = "the clamp reads the wrong way about as the other loads step"
	ClampDead     stepEvent = "the clamp comes off and reads 0 A as the other loads step"
)

// Moment is the state of a line from this time until the next.
type Moment struct {
	At      quantity.Seconds `json:"at"` // after the event
	Others  quantity.Amperes `json:"others"`
	Points  quantity.Amperes `json:"points"`
	Setting quantity.Amperes `json:"setting"`
}

// Total returns what the line carries.
func (m Moment) Total() quantity.Amperes { return m.Others + m.Points }

// Trace is one run of a limiter through an event.
type Trace struct {
	Event    stepEvent        `json:"event"`
	Before   quantity.Amperes `json:"before"`   // other loads before the event
	After    quantity.Amperes `json:"after"`    // and after it
	Clock    quantity.Seconds `json:"clock"`    // from the event to the next reading
	Low      quantity.Percent `json:"low"`      // how much the clamp reads low
	Holds    quantity.Amperes `json:"holds"`    // current not to be passed
	Late     quantity.Seconds `json:"late"`     // until the line is back under it for good; +Inf for never
	Greatest quantity.Amperes `json:"greatest"` // greatest current of the line
	Moments  []Moment         `json:"moments"`
}

// trial is the settings of one run.
type trial struct {
	event         stepEvent
	before, after quantity.Amperes
	clock         quantity.Seconds
	error         quantity.Percent
}

// run takes the limiter through one trial.
func (l *loop) run(t trial, keep bool) Trace {
	a := l.action()
	s := newSharer(l.Sharing, 1)
	most, least := milliamperes(l.points), max(milliamperes(l.least), 1)
	s.join(0, asks{on: 1, most: most, least: least})
	lim := newLimiter(a, s, 1)
	low := -int64(math.Round(float64(t.error) * 1e4))
	lag := milliseconds(l.lag())
	type change struct{ at, to int64 }
	var ahead []change
	drawn, others := int64(0), milliamperes(t.before)
	holds := milliamperes(l.holds)
	out := Trace{Event: t.event, Before: t.before, After: t.after, Clock: t.clock, Low: t.error, Holds: l.holds}
	lastOver := int64(-1)
	over := false
	state := func(now int64) {
		total := others + drawn
		if now >= 0 {
			out.Greatest = max(out.Greatest, amperes(total))
			is := total > holds && drawn > 0
			if over && !is {
				lastOver = now
			}
			over = is
			if keep {
				out.Moments = append(out.Moments, Moment{seconds(now), amperes(others), amperes(drawn), amperes(lim.setting[0])})
			}
		}
	}
	follow := func(until int64) {
		for len(ahead) > 0 && ahead[0].at <= until {
			drawn = ahead[0].to
			at := ahead[0].at
			ahead = ahead[1:]
			state(at)
		}
	}
	warm := int64(a.readings) + (a.waits+lag)/a.sample + 4
	start := milliseconds(t.clock) - warm*a.sample
	end := int64(4)*(int64(a.readings)*a.sample+lag) + 4*a.timeOut + 60_000
	stepped, woken := false, false
	for now := start; now <= end; now += a.sample {
		if now > 0 && !stepped {
			follow(0)
			stepped, others = true, milliamperes(t.after)
			state(0)
		}
		follow(now)
		changed := false
		if stepped && !woken && t.event == PowerUp {
			before := lim.setting[0]
			lim, woken = newLimiter(a, s, 1), true
			lim.setting[0] = before // what its point was told last
		}
		switch {
		case stepped && t.event == SignalBack && now-milliseconds(t.clock) < milliseconds(l.gap()):
			changed = lim.miss(now)
		case stepped && t.event == ReadsReversed:
			r := -others
			if a.seesPoints {
				r -= 2 * drawn
			}
			changed = lim.read(now, &milli{r})
		case stepped && t.event == SignalLost, stepped && t.event == ClampDead && a.noticesLoss:
			changed = lim.miss(now)
		case stepped && t.event == ClampDead:
			r := int64(0) // the clamp reads nothing at all
			if a.seesPoints {
				r = -drawn
			}
			changed = lim.read(now, &milli{r})
		default:
			r := lim.reading(others, drawn, low)
			changed = lim.read(now, &milli{r})
		}
		if changed {
			ahead = append(ahead, change{now + lag, lim.setting[0]})
			if keep && now >= 0 {
				state(now)
			}
		}
	}
	follow(end + lag + 1)
	switch {
	case over:
		out.Late = quantity.Seconds(math.Inf(1))
	case lastOver >= 0:
		out.Late = seconds(lastOver)
	}
	return out
}

// search returns the trial that keeps the line over what it must hold longest.
func (l *loop) search(events ...stepEvent) Trace {
	var steps []float64
	holds, others := float64(l.holds), float64(l.others)
	for i := range 49 {
		steps = append(steps, others*float64(i)/48)
	}
	for _, edge := range []float64{holds - float64(l.points), holds - float64(l.least), float64(l.Limit), float64(l.Limit - l.points),
		float64(l.Limit - l.least), holds} {
		for _, d := range []float64{-0.001, 0, 0.001} {
			if s := edge + d; s > 0 && s <= others {
				steps = append(steps, s)
			}
		}
	}
	sort.Float64s(steps)
	var worst trial
	worstLate, worstPeak := quantity.Seconds(-1), quantity.Amperes(0)
	for _, event := range events {
		clocks, errors := []float64{1, 0.5, 0.001}, []quantity.Percent{l.Error, 0}
		if event == PowerUp || event == SignalBack || event == ReadsReversed { // the longest wait and the lowest reading are the worst of these
			clocks, errors = clocks[:1], errors[:1]
		}
		for _, clock := range clocks {
			for _, e := range errors {
				for _, before := range []float64{0, float64(l.Limit-l.points) / 2} {
					for _, after := range steps {
						t := trial{event, quantity.Amperes(max(0, min(before, others))), quantity.Amperes(after), max(0.001, l.Samples*quantity.Seconds(clock)), e}
						r := l.run(t, false)
						if r.Late > worstLate || r.Late == worstLate && r.Greatest > worstPeak {
							worst, worstLate, worstPeak = t, r.Late, r.Greatest
						}
					}
				}
			}
		}
	}
	return l.run(worst, true)
}
