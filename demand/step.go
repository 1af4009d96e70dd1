package demand

// Finding the steps of a charge point in two recordings, and what share of
// each shows in a channel.

import (
	"math"
	"slices"
	"sort"
)

// around is how many readings before and after a change are looked at, and
// ramp how many beside it are left out, while the vehicle takes up its current.
const (
	around = 4
	ramp   = 3
)

// findDelay returns the delay at which the steps show largest, whatever their
// sign and channel: a delay a few readings off shows only a part of them. Where
// several show the same, the middle one is taken.
func findDelay(site evenSamples, steps []pointStep, channels, most, n int) int {
	scores := make([]float64, most+1)
	best := 0
	for d := range scores {
		for k := range channels {
			const plain = 4 // a share that is this many deviations from nothing
			if share, spread := fitSteps(site, steps, k, d, 0, n); math.Abs(share) > plain*spread {
				scores[d] = math.Max(scores[d], math.Abs(share))
			}
		}
		if scores[d] > scores[best] {
			best = d
		}
	}
	first, last := best, best
	for first > 0 && scores[first-1] >= 0.95*scores[best] && scores[best] > 0 {
		first--
	}
	for last < most && scores[last+1] >= 0.95*scores[best] && scores[best] > 0 {
		last++
	}
	return (first + last) / 2
}

// pointStep is a change of the point's current.
type pointStep struct {
	at   int // first reading after it
	size float64
}

// pointSteps finds the changes of the point, ramps of a few readings included.
func pointSteps(p evenSamples, n int) []pointStep {
	line := 0 // a recording with a column for each line has its current in one of them
	for k := range 3 {
		for i := range n {
			if p.Values[i][k] > p.Values[i][line] {
				line = k
				break
			}
		}
	}
	own := func(i int) float64 { return p.Values[i][line] }
	var out []pointStep
	for i := around; i+around < n; i++ {
		before, after := 0.0, 0.0
		for q := range around {
			before += own(i-1-q) / around
			after += own(i+q) / around
		}
		size := after - before
		if math.Abs(size) < leastStep {
			continue
		}
		if last := len(out) - 1; last >= 0 && i-out[last].at < 2*around {
			if math.Abs(size) > math.Abs(out[last].size) {
				out[last] = pointStep{i, size}
			}
			continue
		}
		out = append(out, pointStep{i, size})
	}
	keep := out[:0]
	for _, s := range out { // its size as the channels' are measured
		if size, ok := jump(evenSamples{Values: p.Values, Known: p.Known}, line, s.at, ramp, n); ok && math.Abs(size) >= leastStep {
			keep = append(keep, pointStep{s.at, size})
		}
	}
	return keep
}

// jump returns the change of a channel at a reading: the middle value of four
// after it less that of four before it, apart by a gap on either side.
func jump(r evenSamples, k, at, gap, n int) (float64, bool) {
	if at-around-gap < 0 || at+around+gap > n {
		return 0, false
	}
	var before, after [around]float64
	for q := range around {
		i, j := at-gap-1-q, at+gap+q
		if !r.Known[i] || !r.Known[j] {
			return 0, false
		}
		before[q], after[q] = r.Values[i][k], r.Values[j][k]
	}
	return middle(after[:]) - middle(before[:]), true
}

func middle(v []float64) float64 {
	slices.Sort(v)
	n := len(v)
	return (v[(n-1)/2] + v[n/2]) / 2
}

// quiet returns the r.m.s. change of a channel from one reading to the next,
// the largest tenth left out.
func quiet(r evenSamples, k, n int) float64 {
	var d []float64
	for i := 1; i < n; i++ {
		if r.Known[i] && r.Known[i-1] {
			d = append(d, math.Abs(r.Values[i][k]-r.Values[i-1][k]))
		}
	}
	if len(d) == 0 {
		return 0
	}
	sort.Float64s(d)
	d = d[:max(1, len(d)*9/10)]
	sum := 0.0
	for _, x := range d {
		sum += x * x
	}
	return math.Sqrt(sum / float64(len(d)))
}

// fitSteps fits one share to all steps of the point in a channel, with a delay:
// the middle of the shares seen, so that a load of the site that happens to
// switch with one of them counts for little. The spread is from their scatter,
// at least what the reading is good to.
func fitSteps(site evenSamples, steps []pointStep, k, delay, gap, n int) (share, spread float64) {
	var shares []float64
	for _, s := range steps {
		if d, ok := jump(site, k, s.at+delay, gap, n); ok {
			shares = append(shares, d/s.size)
		}
	}
	if len(shares) < 2 {
		return 0, 0
	}
	share = middle(slices.Clone(shares))
	off := make([]float64, len(shares))
	for i, x := range shares {
		off[i] = math.Abs(x - share)
	}
	// 1.4826 is a normal spread over its middle distance, 1.2533 what a middle
	// value scatters more than a mean (both textbook).
	const deviation, ofMiddle = 1.4826, 1.2533
	spread = deviation * ofMiddle * middle(off) / math.Sqrt(float64(len(shares)))
	return share, math.Max(spread, 0.01)
}
