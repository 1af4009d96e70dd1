package demand

// What is counted in every step of a run.

import (
	"math"
	"math/big"
	"sort"
	"time"

	"chargewright/quantity"
)

// tally counts as a run goes on. Its memory does not grow with the run.
type tally struct {
	r       *run
	lines   [3]lineTally
	hours   duration // of the neutral
	neutral int64    // greatest, mA squared
	half    int64    // s into the clock half-hour
	steps   int64    // of it so far
	in      []int64  // mA·steps of all lines, by band
	out     int64
	site    int64
	points  int64
	spell   spell
}

// lineTally counts one line.
type lineTally struct {
	peak, peakAt      int64 // mA, and the step
	hours             duration
	all, site         int64 // mA·steps of the half-hour so far: everything, and the other loads alone
	allMost, siteMost int64 // mA, greatest mean of a half-hour
	heat              *thermometer
}

// halfHour is a clock half-hour, in s.
const halfHour = 1800

func newTally(r *run, w *wear) *tally {
	t := &tally{r: r, in: make([]int64, max(1, len(r.rates))), hours: make([]int64, 256), spell: newSpell(r.step)}
	for k := range t.lines {
		t.lines[k] = lineTally{peak: -never, hours: make([]int64, 256)}
		if w != nil {
			t.lines[k].heat = newThermometer(w, r.step*1000)
		}
	}
	t.half = int64(r.Start.Minute()*60+r.Start.Second()) % halfHour
	return t
}

// take counts a stretch of steps in which the points draw the same.
func (t *tally) take(others []present, points *milli, first int64) {
	t.together(others, points)
	t.spell.take(others, points, first)
	for len(others) > 0 {
		n := int64(len(others))
		if left := halfHour - t.half; n*t.r.step > left {
			n = (left + t.r.step - 1) / t.r.step
		}
		t.within(others[:n], points, first)
		others, first = others[n:], first+n
	}
}

// within counts steps that end in one half-hour.
func (t *tally) within(others []present, points *milli, first int64) {
	n := int64(len(others))
	for k := range t.lines {
		t.site += t.lines[k].take(others, k, points[k], first, t.r.step*1000)
		t.points += n * points[k]
	}
	t.steps += n
	if t.half += n * t.r.step; t.half >= halfHour {
		t.closeHalf()
	}
}

// take counts steps of line k, each ms long, and returns the sum of its other
// loads in mA·steps.
func (l *lineTally) take(others []present, k int, points, first, ms int64) (site int64) {
	peak := l.peak
	for i := range others {
		other := others[i][k]
		site += other
		total := other + points
		if total > peak {
			peak, l.peakAt = total, first+int64(i)
		}
		l.hours.add(total)
	}
	l.peak = peak
	l.site += site
	l.all += site + points*int64(len(others))
	if l.heat != nil {
		for i := range others {
			l.heat.add(others[i][k]+points, ms)
		}
	}
	return site
}

// together counts what the lines come to together.
func (t *tally) together(others []present, points *milli) {
	in, out, greatest := int64(0), int64(0), t.neutral
	for i := range others {
		a, b, c := others[i][0]+points[0], others[i][1]+points[1], others[i][2]+points[2]
		if net := a + b + c; net >= 0 {
			in += net
		} else {
			out -= net
		}
		neutral := a*a + b*b + c*c - a*b - b*c - c*a
		greatest = max(greatest, neutral)
		t.hours.add(int64(math.Sqrt(float64(neutral))))
	}
	t.in[t.r.band] += in
	t.out += out
	t.neutral = greatest
	if t.r.Record {
		for i := range others {
			t.r.res.Trace = append(t.r.res.Trace, Sample{milli(others[i]).amperes(), points.amperes()})
		}
	}
}

// duration counts steps by the whole ampere they belong to.
type duration []int64

func (d *duration) add(i int64) {
	a := uint64(max(i, 0)) / 1000
	for a >= uint64(len(*d)) {
		*d = append(*d, make([]int64, len(*d))...)
	}
	(*d)[a]++
}

func (t *tally) closeHalf() {
	t.half %= halfHour
	for k := range t.lines {
		l := &t.lines[k]
		l.allMost, l.siteMost = max(l.allMost, l.all/t.steps), max(l.siteMost, l.site/t.steps)
		l.all, l.site = 0, 0
	}
	t.steps = 0
}

// close puts the counts into the result.
func (t *tally) close() {
	res, unit := t.r.res, t.r.unit
	var first int64
	res.Worst, first = t.spell.close()
	res.WorstLine, res.WorstAt = t.spell.line, t.r.when(first)
	if t.steps > 0 && t.lines[0].allMost == 0 && t.lines[1].allMost == 0 && t.lines[2].allMost == 0 {
		t.closeHalf() // a run shorter than a half-hour has its own mean
	}
	for k := range t.lines {
		l := &t.lines[k]
		res.Peak[k], res.PeakAt[k] = amperes(l.peak), t.r.when(l.peakAt)
		res.HalfHour[k], res.SiteHalfHour[k] = amperes(l.allMost), amperes(l.siteMost)
		res.hours[k] = l.hours
	}
	res.hours[3] = t.hours
	res.Neutral = quantity.Amperes(math.Sqrt(float64(t.neutral)) / 1000)
	res.Site, res.Points, res.Export = millijoules(t.site*unit), millijoules(t.points*unit), millijoules(t.out*unit)
	energy := make([]int64, len(t.in))
	for i, mA := range t.in {
		energy[i] = mA * unit
		res.Import += millijoules(energy[i])
	}
	if t.r.Tariff != nil {
		cost := bill(energy, t.r.rates)
		cost.Sub(cost, bill([]int64{int64(res.Export)}, []int64{int64(math.Round(t.r.Tariff.Export * 1000))}))
		res.Cost = round(cost)
	}
	for k := range t.lines {
		h := t.lines[k].heat
		if h == nil {
			continue
		}
		if got := h.heat(); res.Heat == nil || got.worse(*res.Heat) {
			res.Heat = &got
		}
	}
}

func voltsOf(square float64) quantity.Volts { return quantity.Volts(math.Sqrt(square)) }

// splitExact divides a sum of money in whole pence by exact costs: each its
// share rounded down, the pennies left over to those who lost most.
func splitExact(sum wholePence, costs []*big.Int) []wholePence {
	out := make([]wholePence, len(costs))
	type part struct {
		i    int
		lost *big.Int
	}
	var parts []part
	left := sum
	for i, c := range costs {
		whole, lost := new(big.Int).DivMod(c, perPenny, new(big.Int))
		out[i] = wholePence(whole.Int64())
		left -= out[i]
		parts = append(parts, part{i, lost})
	}
	sort.SliceStable(parts, func(a, b int) bool { return parts[a].lost.Cmp(parts[b].lost) > 0 })
	for n := 0; left > 0 && len(parts) > 0; n = (n + 1) % len(parts) {
		out[parts[n].i]++
		left--
	}
	return out
}

// clockOf returns a moment as a person reads it.
func clockOf(t time.Time) string { return t.Format("2006-01-02 15:04") }
