package demand

// The run itself. One step is one value of the other loads. What changes
// seldom is kept as it changes: a point's energy is settled when its current
// does, and steps are counted together as long as no point's current changes,
// so that a step with nothing new costs next to nothing.

import (
	"container/heap"
	"math"
	"math/big"
	"time"

	"chargewright/quantity"
	"chargewright/trade"
)

// turn is how long those who wait must wait for their turn, in ms; common
// practice, no source.
const turn = 15 * 60 * 1000

// bay is a point in the run.
type bay struct {
	mask     uint8 // lines the present vehicle loads
	weight   int64 // how many
	most     int64 // mA per line it can take
	ramp     int64 // mA a step, 0 for at once
	need     int64 // mJ still wanted
	drawn    int64 // mA per line now
	want     int64 // mA per line it is going to
	since    int64 // step of the last settling
	full     int64 // step at which it will be full at this current
	leaves   int64 // step
	here     bool  // a vehicle is connected
	charging bool  // and not full yet
	last     bool  // in its last, part-filled step
}

// visitEvent is a vehicle coming or going.
type visitEvent struct {
	step  int64
	bay   int32
	comes bool
	visit vehicleVisit
}

type visitHeap []visitEvent

func (h visitHeap) Len() int { return len(h) }
func (h visitHeap) Less(i, k int) bool {
	if h[i].step != h[k].step {
		return h[i].step < h[k].step
	}
	if h[i].comes != h[k].comes {
		return !h[i].comes // the place is free before the next comes
	}
	return h[i].bay < h[k].bay
}
func (h visitHeap) Swap(i, k int) { h[i], h[k] = h[k], h[i] }
func (h *visitHeap) Push(x any)   { *h = append(*h, x.(visitEvent)) }
func (h *visitHeap) Pop() any {
	old := *h
	last := old[len(old)-1]
	*h = old[:len(old)-1]
	return last
}

const never = int64(math.MaxInt64)

// run is the state of a run between steps.
type run struct {
	*runSetup
	res      *Result
	step     int64 // s
	unit     int64 // mJ for 1 mA in one line over one step
	bays     []bay
	groups   []*group
	line     milli // what the points draw together
	coming   visitHeap
	nextFull int64
	rising   []int32 // points still taking up current
	meter    *voltmeter
	tally    *tally
	block    []present // other loads, from the site
	at       int       // the present step in it
	from     int       // the first step in it that is not counted yet
	band     int
	rates    []int64
	byBand   [][]int64 // mJ by point and band
	midnight int64     // s of the day at the first step
}

// group is the points that one limiter holds, or that none does.
type group struct {
	*sharer
	lim    *limiter  // nil for none
	delay  int64     // steps from a setting to the vehicle
	every  int64     // steps between samples
	ahead  [][]int64 // settings on their way, a ring by step
	fresh  []bool
	low    int64  // error of the clamp, parts in a million
	behind *milli // nil at the supply
	line   milli  // what its points draw together
	anew   bool   // it has started anew in this fault
}

// of is the group a point is in.
func (r *run) of(i int) *group { return r.groups[r.Bays[i].By] }

// Run goes through the scenario and returns what came of it.
func (s *runSetup) Run() (*Result, error) {
	if err := s.check(); err != nil {
		return nil, err
	}
	r := s.begin()
	var w *wear
	if s.Device != nil {
		var err error
		if w, err = newWear(s.Rules, *s.Device); err != nil {
			return nil, err
		}
	}
	r.through(w)
	if s.left != nil && s.left() != nil {
		return nil, s.left()
	}
	r.close()
	return r.res, nil
}

func (s *runSetup) begin() *run {
	r := &run{runSetup: s, step: int64(s.Step / time.Second), bays: make([]bay, len(s.Bays)), nextFull: never}
	r.res = &Result{Step: s.Step, Steps: int64(s.Length / s.Step), Bays: make([]bayResult, len(s.Bays))}
	r.unit = int64(s.Volts) * r.step
	r.midnight = int64(s.Start.Hour()*3600 + s.Start.Minute()*60 + s.Start.Second())
	r.groups = []*group{r.group(s.Control, s.sharing(), s.Behind, s.Reads)}
	for i := range s.Further {
		c := &s.Further[i]
		r.groups = append(r.groups, r.group(&c.limiterControl, c.Sharing, &c.Behind, c.Reads))
	}
	if s.Drops != nil {
		r.meter = newVoltmeter(s.Drops)
	}
	if s.Tariff != nil {
		for _, rate := range s.Tariff.Rates {
			r.rates = append(r.rates, int64(math.Round(rate.Pence*1000)))
		}
	}
	for i, b := range s.Bays {
		r.res.Bays[i].Name = b.Name
		r.byBand = append(r.byBand, make([]int64, max(1, len(r.rates))))
		r.book(i, 0)
	}
	return r
}

// group makes the group of a limiter.
func (r *run) group(c *limiterControl, how trade.Sharing, behind *Lines, reads quantity.Percent) *group {
	g := &group{sharer: newSharer(how, len(r.Bays))}
	if c != nil {
		a := c.action()
		a.surplus = r.Surplus
		g.every, g.delay = 1, int64(math.Round(float64(c.lag())/float64(r.step)))
		if a.sample > 0 {
			g.every = max(1, int64(math.Round(float64(a.sample)/1000/float64(r.step))))
		}
		a.readings = max(1, int(math.Round(float64(c.Averages)/float64(g.every*r.step))))
		g.lim = newLimiter(a, g.sharer, len(r.Bays))
		g.low = int64(math.Round(float64(reads) * 1e4))
		g.ahead = make([][]int64, g.delay+1)
		for i := range g.ahead {
			g.ahead[i] = make([]int64, len(r.Bays))
		}
		g.fresh = make([]bool, g.delay+1)
	}
	if behind != nil {
		b := toMilli(*behind)
		g.behind = &b
	}
	return g
}

// fault is what befalls the readings at a step; nothing is none.
func (r *run) fault(now int64) faultKind {
	second := (r.midnight + now*r.step) % 86400
	for _, f := range r.Faults {
		if second >= f.At && second < f.Until || f.Until > 86400 && second < f.Until-86400 {
			return f.Kind
		}
	}
	return ""
}

// book finds the next vehicle of a point.
func (r *run) book(i int, after int64) {
	v, ok := r.Visits.Next(i, seconds(after*r.step*1000))
	if !ok {
		return
	}
	at := int64(math.Ceil(float64(v.Arrive) / float64(r.step)))
	heap.Push(&r.coming, visitEvent{max(at, after), int32(i), true, v})
}

// limit takes a sample, and lets settings arrive that are due.
func (r *run) limit(g *group, others *present, now int64, fault faultKind) {
	if len(g.order) == 0 && len(g.lim.past) == 1 && g.delay == 0 {
		return // nobody to limit, and nothing to remember for those who come
	}
	if now%g.every == 0 {
		ms := now * r.step * 1000
		g.turn = int(ms / turn)
		changed := false
		if fault == faultPowerUp && !g.anew {
			g.lim.startAnew()
		}
		g.anew = fault == faultPowerUp
		if fault == faultLost {
			changed = g.lim.miss(ms)
		} else {
			reading := milli(*others)
			for k := range reading {
				reading[k] += r.line[k] - g.line[k] // what other limiters hold is other load to this one
			}
			if g.behind != nil {
				reading = *g.behind
			}
			if g.low != 0 {
				for k := range reading {
					reading[k] = g.lim.reading(reading[k], g.line[k], g.low)
				}
			}
			g.lim.wrong(&reading, &g.line, fault)
			changed = g.lim.read(ms, &reading)
		}
		if changed {
			slot := int((now + g.delay) % int64(len(g.ahead)))
			copy(g.ahead[slot], g.lim.setting)
			g.fresh[slot] = true
		}
	}
	slot := int(now % int64(len(g.ahead)))
	if !g.fresh[slot] {
		return
	}
	g.fresh[slot] = false
	for _, i := range g.order {
		b := &r.bays[i]
		if to := g.ahead[slot][i]; to != b.want && !(b.last && to >= b.drawn) {
			r.set(int(i), to, now)
		}
	}
}

// through goes through all steps.
func (r *run) through(w *wear) {
	res := r.res
	r.block = make([]present, min(256, res.Steps))
	r.at = len(r.block)
	r.from = r.at
	r.tally = newTally(r, w)
	nextBand := r.tariffAt(0)
	lost := 0
	for now := int64(0); now < res.Steps; now++ {
		if r.at == len(r.block) {
			if r.left != nil && r.left() != nil {
				break // and Run says so
			}
			r.count(now)
			r.Site.Fill(r.block)
			r.at, r.from = 0, 0
		}
		if now >= nextBand {
			nextBand = r.tariffAt(now)
		}
		for len(r.coming) > 0 && r.coming[0].step <= now {
			e := heap.Pop(&r.coming).(visitEvent)
			if e.comes {
				r.come(&e, now)
			} else if b := &r.bays[e.bay]; b.here && b.leaves == e.step {
				r.leave(int(e.bay), now)
			}
		}
		if now >= r.nextFull {
			r.fill(now)
		}
		if len(r.rising) > 0 {
			r.rise(now)
		}
		for n, g := range r.groups {
			if g.lim == nil {
				continue
			}
			fault := faultKind("")
			if n == 0 && len(r.Faults) > 0 {
				fault = r.fault(now)
			}
			if n == 0 && lost < len(r.Lost) {
				s := float64(now * r.step)
				for lost < len(r.Lost) && s >= float64(r.Lost[lost].To) {
					lost++
				}
				if lost < len(r.Lost) && s >= float64(r.Lost[lost].From) {
					fault = faultLost
				}
			}
			r.limit(g, &r.block[r.at], now, fault)
		}
		r.at++
	}
	r.count(res.Steps)
	for i := range r.bays {
		if r.bays[i].charging {
			r.settle(i, res.Steps)
		}
	}
	r.tally.close()
}

// count counts the steps before now that are not counted yet; in all of them
// the points drew what they draw now.
func (r *run) count(now int64) {
	others := r.block[r.from:r.at]
	r.from = r.at
	first := now - int64(len(others))
	if r.meter != nil {
		r.meter.read(others, first)
	}
	r.tally.take(others, &r.line, first)
}

// tariffAt moves to the rate that holds at a step, and returns the step at
// which the next begins.
func (r *run) tariffAt(now int64) int64 {
	if r.Tariff == nil {
		return never
	}
	r.count(now)
	for i := range r.bays {
		if r.bays[i].charging {
			r.settle(i, now)
		}
	}
	band, until := r.Tariff.at(r.when(now))
	r.band = band
	return int64(math.Ceil(until.Sub(r.Start).Seconds() / float64(r.step)))
}

// when returns the moment a step begins.
func (r *run) when(step int64) time.Time {
	return r.Start.Add(time.Duration(step*r.step) * time.Second)
}

// close works out money and voltages.
func (r *run) close() {
	res := r.res
	if r.meter != nil {
		for i, p := range r.meter.Places {
			res.Lowest = append(res.Lowest, lowVoltage{p, voltsOf(r.meter.lowest[i]), r.when(r.meter.when[i])})
		}
	}
	if r.Tariff == nil {
		return
	}
	sum := new(big.Int)
	for _, by := range r.byBand {
		sum.Add(sum, bill(by, r.rates))
	}
	res.PointsCost = round(sum)
	var shares []*big.Int
	for _, by := range r.byBand {
		shares = append(shares, bill(by, r.rates))
	}
	res.Costs = splitExact(res.PointsCost, shares)
}
