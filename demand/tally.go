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
	r        *run
	peak     milli
	peakAt   [3]int64
	neutral  float64
	half     int64 // s into the clock half-hour
	halfSum  milli
	halfN    int64
	halfBest milli // mA, greatest mean
	siteSum  milli
	siteBest milli
	site     int64 // mA·steps of all lines
	points   int64
	in       []int64 // by band
	out      int64
	heat     [3]*thermometer
	carries  int64 // mA a device must carry without operating
	rating   int64
	square   [3]float64
	used     [3]float64
	bucketN  int64 // steps in the present bucket
	perTurn  int64 // steps of a bucket; 0 where a step is longer than one
	recent   []step3
	at       int
	rolling  [3]float64
	best     float64
	bestLine int
	bestEnd  int64
	pending  bool
}

// step3 is the currents of a step, in mA.
type step3 struct{ others, points milli }

func newTally(r *run, w *wear) *tally {
	t := &tally{r: r, in: make([]int64, max(1, len(r.rates))), carries: never}
	for k := range t.peak {
		t.peak[k] = -never
	}
	t.half = int64(r.Start.Minute()*60+r.Start.Second()) % 1800
	t.recent = make([]step3, max(1, 600/int(r.step))+1)
	if w != nil {
		for k := range t.heat {
			t.heat[k] = newThermometer(w)
		}
		t.carries, t.rating = milliamperes(w.carries), milliamperes(w.device.Rating)
		t.perTurn = t.heat[0].bucket / (r.step * 1000)
	}
	return t
}

// take counts one step.
func (t *tally) take(others *Present, line *milli, now int64) {
	res := t.r.res
	net := int64(0)
	slot := &t.recent[t.at]
	old := t.at + 1
	if old == len(t.recent) {
		old = 0
	}
	gone := &t.recent[old]
	improved := false
	for k := range line {
		total := others[k] + line[k]
		net += total
		if total > t.peak[k] {
			t.peak[k], t.peakAt[k] = total, now
		}
		t.halfSum[k] += total
		t.siteSum[k] += others[k]
		count(&res.hours[k], total)
		a := float64(total) * 1e-3
		sq := a * a
		was := float64(gone.others[k]+gone.points[k]) * 1e-3
		t.rolling[k] += sq - was*was
		if t.rolling[k] > t.best*(1+1e-12) {
			t.best, t.bestLine, t.bestEnd = t.rolling[k], k, now
			improved = true
		}
		if t.perTurn > 0 {
			t.square[k] += sq
			if total > t.rating {
				t.heat[k].out.Above += seconds(t.r.step * 1000)
				if total > t.carries {
					t.used[k] += t.heat[k].share(amperes(total)) * float64(t.r.step)
				}
			}
		} else if t.heat[k] != nil {
			t.heat[k].add(max(total, 0), t.r.step*1000)
		}
	}
	if !improved && t.pending {
		t.keepWorst()
	}
	t.pending = improved
	slot.others, slot.points = milli(*others), *line
	if t.at++; t.at == len(t.recent) {
		t.at = 0
	}
	if t.perTurn > 0 {
		if t.bucketN++; t.bucketN == t.perTurn {
			t.bucketN = 0
			for k := range t.heat {
				h := t.heat[k]
				h.usedNow, h.sumNow = t.used[k], t.square[k]*float64(t.r.step)
				h.turn()
				t.used[k], t.square[k] = 0, 0
			}
		}
	}
	if net >= 0 {
		t.in[t.r.band] += net
	} else {
		t.out -= net
	}
	t.site += others[0] + others[1] + others[2]
	t.points += line[0] + line[1] + line[2]
	a, b, c := float64(others[0]+line[0]), float64(others[1]+line[1]), float64(others[2]+line[2])
	n2 := a*a + b*b + c*c - a*b - b*c - c*a
	n := math.Sqrt(max(0, n2))
	if n > t.neutral {
		t.neutral = n
	}
	count(&res.hours[3], int64(n))
	t.halfN++
	if t.half += t.r.step; t.half >= 1800 {
		t.closeHalf()
	}
	if t.r.Record {
		res.Trace = append(res.Trace, Sample{milli(*others).amperes(), line.amperes()})
	}
}

// count adds a step to the ampere it belongs to.
func count(hours *[]int64, i int64) {
	a := int(max(i, 0)) / 1000
	for a >= len(*hours) {
		*hours = append(*hours, make([]int64, len(*hours))...)
	}
	(*hours)[a]++
}

func (t *tally) closeHalf() {
	t.half %= 1800
	for k := range t.halfSum {
		t.halfBest[k] = max(t.halfBest[k], t.halfSum[k]/t.halfN)
		t.siteBest[k] = max(t.siteBest[k], t.siteSum[k]/t.halfN)
		t.halfSum[k], t.siteSum[k] = 0, 0
	}
	t.halfN = 0
}

// keepWorst copies the ten minutes that ended a step ago.
func (t *tally) keepWorst() {
	res := t.r.res
	res.Worst = res.Worst[:0]
	n := len(t.recent)
	for q := 1; q < n; q++ { // t.at is the oldest of all, one step too old
		s := &t.recent[(t.at+q)%n]
		res.Worst = append(res.Worst, Sample{s.others.amperes(), s.points.amperes()})
	}
	first := t.bestEnd + 1 - int64(len(res.Worst))
	if first < 0 { // the run is younger than ten minutes
		res.Worst = res.Worst[-first:]
		first = 0
	}
	res.WorstLine, res.WorstAt = t.bestLine, t.r.when(first)
}

// close puts the counts into the result.
func (t *tally) close() {
	res, unit := t.r.res, t.r.unit
	if t.pending || len(res.Worst) == 0 {
		t.keepWorst()
	}
	if t.halfN > 0 && t.halfBest == (milli{}) {
		t.closeHalf() // a run shorter than a half-hour has its own mean
	}
	for k := range t.peak {
		res.Peak[k], res.PeakAt[k] = amperes(t.peak[k]), t.r.when(t.peakAt[k])
	}
	res.HalfHour, res.SiteHalfHour = t.halfBest.amperes(), t.siteBest.amperes()
	res.Neutral = quantity.Amperes(t.neutral / 1000)
	res.Site, res.Points, res.Export = Energy(t.site*unit), Energy(t.points*unit), Energy(t.out*unit)
	energy := make([]int64, len(t.in))
	for i, mA := range t.in {
		energy[i] = mA * unit
		res.Import += Energy(energy[i])
	}
	if t.r.Tariff != nil {
		cost := bill(energy, t.r.rates)
		cost.Sub(cost, bill([]int64{int64(res.Export)}, []int64{int64(math.Round(t.r.Tariff.Export * 1000))}))
		res.Cost = round(cost)
	}
	worst := -1.0
	for k := range t.heat {
		if t.heat[k] == nil {
			continue
		}
		h := t.heat[k]
		if t.perTurn > 0 && t.bucketN > 0 {
			h.usedNow, h.sumNow = t.used[k], t.square[k]*float64(t.r.step)
		}
		h.out.Greatest = max(0, res.Peak[k])
		got := h.heat()
		if rank := got.Used*1e6 + float64(got.Mean); rank > worst || math.IsInf(rank, 1) {
			worst, res.Heat = rank, &got
		}
	}
}

func voltsOf(square float64) quantity.Volts { return quantity.Volts(math.Sqrt(square)) }

// splitExact divides a sum of money in whole pence by exact costs: each its
// share rounded down, the pennies left over to those who lost most.
func splitExact(sum Pence, costs []*big.Int) []Pence {
	out := make([]Pence, len(costs))
	type part struct {
		i    int
		lost *big.Int
	}
	var parts []part
	left := sum
	for i, c := range costs {
		whole, lost := new(big.Int).DivMod(c, perPenny, new(big.Int))
		out[i] = Pence(whole.Int64())
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
