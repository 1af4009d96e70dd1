package ledger

import "math"

// bill is what one session costs.
type bill struct {
	Cost  Money             // as the statement has it
	Least Money             // had the energy flowed in the cheapest of its time
	Most  Money             // had it flowed in the dearest
	Bands [mostBands]Energy // energy by band
	Known bool              // the tariff has a price for all of it
}

// price returns what a session costs on a timeline.
//
// Where readings were taken during the session, energy is priced between one
// reading and the next. Where none were, it is taken to flow from plug-in on
// over the time it charged, or evenly over all the plugged-in time where that
// is not said; Least and Most then say what it can have cost with its energy in
// the cheapest or the dearest of its plugged-in time. The cost is rounded once,
// to a hundredth of a penny, half up.
func (l *Ledger) price(tl *timeline, s *session) bill {
	from, to := s.Start, s.Stop
	if s.State == StopUnsaid {
		return l.priceUnsaid(tl, s)
	}
	if s.Charging > 0 {
		to = min(to, from+int64(s.Charging))
	}
	if to == from {
		to = from + int64(s.fine) // the times are not written finer
	}
	var b bill
	var sum exact
	b.Known = true
	if s.said >= 0 && s.saidCount > 1 {
		readings := l.samples[s.said : s.said+s.saidCount]
		for i := 1; i < len(readings); i++ {
			a, z := readings[i-1], readings[i]
			tl.spread(a.at, max(z.at, a.at+1), z.register-a.register, &b, &sum)
		}
		b.Cost = sum.money()
		b.Least, b.Most = b.Cost, b.Cost
		return b
	}
	tl.spread(from, to, s.Energy, &b, &sum)
	b.Cost = sum.money()
	b.Least, b.Most = b.Cost, b.Cost
	if b.Known && s.Energy > 0 && tl.end(tl.find(from)) < s.Stop {
		least, most := l.extremes(tl, s)
		b.Least, b.Most = min(least, b.Cost), max(most, b.Cost)
	}
	return b
}

// exact is a sum of energies times prices: hundredths of a penny, and a rest
// in ten-thousand-millionths of a penny.
type exact struct{ whole, rest int64 }

func (x *exact) add(e Energy, p unitPrice) {
	n := int64(e) * int64(p)
	x.whole += n / finest
	x.rest += n % finest
}

// money rounds the sum once, half up.
func (x exact) money() Money { return Money(x.whole + divide(x.rest, finest)) }

// spread lays an energy evenly over a time and adds up its cost and bands. The
// parts are whole thousandths of a watt-hour and sum to the energy.
func (tl *timeline) spread(from, to int64, e Energy, b *bill, sum *exact) {
	i := tl.find(from)
	if i < 0 {
		b.Known = false
		return
	}
	length := to - from
	var done Energy
	for at := from; ; i++ {
		end := min(tl.end(i), to)
		upTo := part(e, end-from, length)
		st := &tl.steps[i]
		if st.band < 0 {
			if upTo > done || e == 0 {
				b.Known = false
			}
		} else {
			b.Bands[st.band] += upTo - done
			sum.add(upTo-done, st.price)
		}
		done, at = upTo, end
		if at >= to {
			return
		}
	}
}

// part returns e × n / of, rounded half up, without leaving 64 bits.
func part(e Energy, n, of int64) Energy {
	if n >= of {
		return e
	}
	if e < math.MaxInt64/2/Energy(of) {
		return Energy(divide(int64(e)*n, of))
	}
	whole, rest := int64(e)/of, int64(e)%of
	return Energy(whole*n + divide(rest*n, of))
}

// longestUnsaid is how long a session may have lasted whose stop is not known.
const longestUnsaid = 31 * 86400

// priceUnsaid prices a session whose stop is not known: only where one price
// holds through all the time it can have lasted.
func (l *Ledger) priceUnsaid(tl *timeline, s *session) bill {
	i := tl.find(s.Start)
	var b bill
	if i < 0 || tl.steps[i].band < 0 {
		return b
	}
	first := tl.steps[i]
	for ; i < len(tl.steps) && tl.steps[i].at < s.Start+longestUnsaid; i++ {
		if tl.steps[i].price != first.price || tl.steps[i].band < 0 {
			return b
		}
	}
	var sum exact
	sum.add(s.Energy, first.price)
	b.Cost = sum.money()
	b.Least, b.Most, b.Known = b.Cost, b.Cost, true
	b.Bands[first.band] = s.Energy
	return b
}

// extremes returns the least and the most a session can have cost, its energy
// laid into the cheapest or the dearest of its plugged-in time, at the mean
// power it charged with where that is known, else at the point's rated power.
// Where neither is known, all of it may have flowed at once.
func (l *Ledger) extremes(tl *timeline, s *session) (least, most Money) {
	rated, known := l.rating(s.Point)
	if !known {
		rated = anyPoint
	}
	if s.Charging > 0 {
		rated = max(1, Rating(divide(int64(s.Energy)*18/5, int64(s.Charging))))
	}
	var parts [64]slot
	slots := tl.slots(s.Start, max(s.Stop, s.Start+int64(s.fine)), parts[:0])
	return fill(slots, s.Energy, rated, false), fill(slots, s.Energy, rated, true)
}

// slot is a stretch of time at one price.
type slot struct {
	seconds int64
	price   unitPrice
}

// slots returns a time as its stretches, those of one price put together.
func (tl *timeline) slots(from, to int64, into []slot) []slot {
	for i := max(tl.find(from), 0); ; i++ {
		a, b := max(tl.steps[i].at, from), min(tl.end(i), to)
		if b > a {
			found := false
			for k := range into {
				if into[k].price == tl.steps[i].price {
					into[k].seconds += b - a
					found = true
				}
			}
			if !found {
				into = append(into, slot{b - a, tl.steps[i].price})
			}
		}
		if b >= to {
			return into
		}
	}
}

// fill lays an energy into slots by price at a power; what is left over, since
// times are written to the minute and voltages run high, goes into the last.
func fill(slots []slot, e Energy, p Rating, dearest bool) Money {
	for i := 1; i < len(slots); i++ { // few slots: sorted as a hand of cards
		for j := i; j > 0 && (slots[j].price < slots[j-1].price) != dearest && slots[j].price != slots[j-1].price; j-- {
			slots[j], slots[j-1] = slots[j-1], slots[j]
		}
	}
	var sum exact
	for i, s := range slots {
		holds := min(e, energyOf(p, s.seconds))
		if i == len(slots)-1 {
			holds = e
		}
		sum.add(holds, s.price)
		e -= holds
	}
	return sum.money()
}
