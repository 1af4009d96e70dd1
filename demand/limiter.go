package demand

// The limiter as it acts, reading by reading. Simulation and proof run this
// same code, so that what is proved is what is simulated.

// action is a Control in whole numbers.
type action struct {
	limit, failSafe int64 // mA
	sample, timeOut int64 // ms
	waits           int64 // ms
	readings        int
	seesPoints      bool
	noticesLoss     bool
	surplus         bool // points take surplus power alone
	noSource        bool // nothing on site sends current out
}

func (c limiterControl) action() action {
	return action{limit: milliamperes(c.Limit), failSafe: milliamperes(c.FailSafe), sample: milliseconds(c.Samples), timeOut: milliseconds(c.TimeOut),
		waits: milliseconds(c.Waits), noSource: c.NoSource, readings: c.readings(), seesPoints: c.SeesPoints, noticesLoss: c.NoticesLoss}
}

// long ago, in ms; far from the ends of what an int64 holds.
const longAgo = -int64(1) << 50

// limiter holds the settings of its points. After power-up and after a loss it
// keeps to the fail-safe current until it has readings for a whole average.
type limiter struct {
	action
	sharer   *sharer
	setting  []int64 // by point
	target   []int64 // scratch
	past     []milli // the readings averaged, a ring
	at, held int     // next place in the ring; how many are in it
	sum      milli
	lastGood int64 // ms
	lastLow  int64 // ms, when a setting was last lowered
}

func newLimiter(a action, s *sharer, points int) *limiter {
	return &limiter{action: a, sharer: s, setting: make([]int64, points), target: make([]int64, points), past: make([]milli, a.readings), lastGood: longAgo,
		lastLow: longAgo}
}

// read takes a good reading of the other loads and decides.
func (l *limiter) read(now int64, others *milli) (changed bool) {
	if l.noticesLoss && l.noSource && l.cannotBe(others) {
		return l.miss(now)
	}
	p := &l.past[l.at]
	for k := range others {
		l.sum[k] += others[k]
	}
	if l.held == len(l.past) {
		for k := range p {
			l.sum[k] -= p[k]
		}
	} else {
		l.held++
	}
	*p = *others
	if l.at++; l.at == len(l.past) {
		l.at = 0
	}
	l.lastGood = now
	return l.decide(now)
}

// cannotBe reports a reading of the other loads below zero by more than a twentieth
// of the limit: no clamp in order is off by so much, and nothing feeds back.
func (l *limiter) cannotBe(others *milli) bool {
	low := -l.limit/20 - 500
	return others[0] < low || others[1] < low || others[2] < low
}

// miss is a sample without a good reading.
func (l *limiter) miss(now int64) (changed bool) {
	if now-l.lastGood >= l.timeOut {
		l.held, l.at, l.sum = 0, 0, milli{} // what it knew is of no use any more
	}
	return l.decide(now)
}

// left returns what the points may take: the limit less the mean of the other
// loads, or the fail-safe current where there is no whole average.
func (l *limiter) left() room {
	if l.held < len(l.past) {
		return room{l.failSafe, l.failSafe, l.failSafe, unlimited}
	}
	n := int64(len(l.past))
	r := room{3: unlimited}
	for k := range l.sum {
		r[k] = l.limit - ceilDiv(l.sum[k], n)
	}
	if l.surplus {
		r[3] = max(0, -ceilDiv(l.sum[0]+l.sum[1]+l.sum[2], n))
	}
	return r
}

// startAnew forgets all that was read; the points keep to what they were told last.
func (l *limiter) startAnew() {
	l.held, l.at, l.sum, l.lastGood, l.lastLow = 0, 0, milli{}, longAgo, longAgo
}

// wrong turns a reading of the other loads into what a faulty clamp makes of it.
func (l *limiter) wrong(reading, points *milli, fault faultKind) {
	for k := range reading {
		own := int64(0)
		if l.seesPoints {
			own = points[k]
		}
		switch through := reading[k] + own; fault {
		case faultZero:
			reading[k] = -own
		case faultReversed:
			reading[k] = -through - own
		case faultLow:
			reading[k] = through/2 - own
		}
	}
}

func ceilDiv(a, n int64) int64 {
	q := a / n
	if a%n > 0 {
		q++
	}
	return q
}

func (l *limiter) decide(now int64) bool {
	if len(l.sharer.order) == 0 {
		return false
	}
	return l.settle(now, l.left())
}

// settle lowers at once and raises only when nothing was lowered for long
// enough: what one point gives up, another gets only once it is free.
func (l *limiter) settle(now int64, left room) (changed bool) {
	l.sharer.share(left, l.target)
	for _, i := range l.sharer.order {
		if l.target[i] < l.setting[i] {
			l.setting[i] = l.target[i]
			l.lastLow = now
			changed = true
		}
	}
	if now-l.lastLow < l.waits {
		return changed
	}
	for _, i := range l.sharer.order {
		if l.target[i] > l.setting[i] {
			l.setting[i] = l.target[i]
			changed = true
		}
	}
	return changed
}

// reading returns what a limiter makes of the true currents when its clamp
// reads share parts in a million off; the points' own meters, which it takes
// off what the clamp sees, are off as much the other way.
func (l *limiter) reading(others, points int64, share int64) int64 {
	if l.seesPoints {
		return others + (others+points)*share/1e6 + points*share/1e6
	}
	return others + others*share/1e6
}
