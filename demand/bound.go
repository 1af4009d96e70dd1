package demand

// The proof: how late a limiter can be, over every way it can go.
//
// Let the other loads step to any current s, at any moment of the sampling
// clock, from any history: the average may hold anything, the points may draw
// anything. Count readings from the first after the step. Reading i is taken
// more than (i−1) sampling times after the step and at most i. Then
//
//	reading i of the other loads ≥ s − E·s − 2E·e(i)   clamp on the whole supply
//	                             ≥ s − E·s             clamp on the other loads
//	setting k ≤ U(k) = limit − mean of the last readings, 0 where that is below
//	                   the least current
//	vehicle   ≤ U(k) from k sampling times plus the lag on, since later averages
//	            hold fewer old readings and U does not rise
//
// with E the greatest error of a reading (clamp low, the points' own meters
// high) and e(i) the most the points may still draw then. This is induction
// over the readings; it needs no list of cases for history, clock or delay.
// Over s it is made complete by dividing the range of s until each interval
// is settled: U falls with s, so U at the lower end and s at the upper end
// bound the whole interval.

import (
	"math"

	"chargewright/quantity"
)

// loop is one line under a limiter, as the proof sees it.
type loop struct {
	limiterControl
	points quantity.Amperes // most the controlled points can take in this line
	least  quantity.Amperes // below it they all pause; 0 where several share the line
	others quantity.Amperes // greatest of the other loads
	holds  quantity.Amperes // current that must not be passed
}

// finest is the narrowest interval of the other load, in A; the limit is kept to
// twice that, a hundredth of what any clamp can tell.
const finest = 1e-3

// mostReadings is how many readings are followed; an average far longer than the loop
// is settled well before.
const mostReadings = 20000

// ceilings returns U(1), U(2) … for other loads of at least s, as far as the
// proof needs them: until nothing changes any more.
func (l *loop) ceilings(s float64) []float64 {
	n := l.readings()
	lag := int(math.Ceil(float64(l.lag()/l.Samples) - 1e-9))
	e := float64(l.Error) / 100
	most := float64(l.points)
	old := 0.0 // least a reading from before the step may say
	if l.SeesPoints {
		old = -2 * e * most
	}
	sum := old * float64(n)
	low := make([]float64, 0, n+lag)
	u := make([]float64, 0, n+lag)
	quiet := 0
	for i := 1; len(u) < mostReadings; i++ {
		drawn := most
		if k := i - 1 - lag; k >= 1 { // setting k has been followed before this reading
			drawn = u[k-1]
		}
		reading := s - e*s
		if l.SeesPoints {
			reading -= 2 * e * drawn
		}
		low = append(low, reading)
		sum += reading
		if i > n {
			sum -= low[i-1-n]
		} else {
			sum -= old
		}
		given := min(most, max(0, float64(l.Limit)-sum/float64(n)))
		if given < float64(l.least)-1e-9 {
			given = 0
		}
		u = append(u, given)
		if i > n && math.Abs(given-u[i-2]) < 1e-9 {
			if quiet++; quiet > n+lag+1 {
				break
			}
		} else {
			quiet = 0
		}
	}
	return u
}

// settles returns the first reading from which loads between from and to are
// within the limit with the points on top, or the points at rest; 0 for never.
func (l *loop) settles(from, to float64) int {
	for k, u := range l.ceilings(from) {
		if u == 0 || to+u <= float64(l.holds)+2*finest {
			return k + 1
		}
	}
	return 0
}

// response returns the longest time to bring a line back under what it must
// hold, after any step of the other loads. Where no time does, it returns the
// other load that shows it.
func (l *loop) response() (longest quantity.Seconds, worst quantity.Amperes, proved bool) {
	type cell struct{ from, to float64 }
	cells := []cell{{0, float64(l.others)}}
	best := 0
	for len(cells) > 0 {
		c := cells[len(cells)-1]
		cells = cells[:len(cells)-1]
		at := l.settles(c.to, c.to)
		if at == 0 {
			return 0, quantity.Amperes(c.to), false
		}
		if at > best {
			best, worst = at, quantity.Amperes(c.to)
		}
		whole := l.settles(c.from, c.to)
		if whole != 0 && whole <= best {
			continue
		}
		if c.to-c.from < finest {
			if whole == 0 {
				return 0, quantity.Amperes(c.to), false
			}
			best, worst = whole, quantity.Amperes(c.to)
			continue
		}
		mid := (c.from + c.to) / 2
		cells = append(cells, cell{c.from, mid}, cell{mid, c.to})
	}
	return quantity.Seconds(best)*l.Samples + l.lag(), worst, true
}

// afterLoss returns the longest time from the loss of a signal to the
// fail-safe current at the vehicle: the first sample at or after the time-out,
// then the lag.
func (l *loop) afterLoss() quantity.Seconds {
	ticks := max(1, math.Ceil(float64(l.TimeOut/l.Samples)-1e-9))
	return quantity.Seconds(ticks)*l.Samples + l.lag()
}

// gap is the longest time without a reading that is not taken for a loss.
func (l *loop) gap() quantity.Seconds {
	ticks := max(1, math.Ceil(float64(l.TimeOut/l.Samples)-1e-9))
	return quantity.Seconds(ticks-1) * l.Samples
}

// settled returns the greatest current that can last, and the other load at
// which it does.
func (l *loop) settled() (greatest, others quantity.Amperes) {
	const parts = 400
	for i := range parts + 1 {
		s := float64(l.others) * float64(i) / parts
		u := l.ceilings(s)
		if last := u[len(u)-1]; last > 0 && quantity.Amperes(s+last) > greatest {
			greatest, others = quantity.Amperes(s+last), quantity.Amperes(s)
		}
	}
	return greatest, others
}

// failSafeTotal returns what the line carries with a signal lost and the other
// loads at their greatest; less than the least current is a pause.
func (l *loop) failSafeTotal() quantity.Amperes {
	safe := min(l.FailSafe, l.points)
	if safe < l.least {
		safe = 0
	}
	return l.others + safe
}
