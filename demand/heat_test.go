package demand

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"chargewright/quantity"
	"chargewright/standard"
)

// TestHeatOfAConstantCurrent: the r.m.s. value of a constant current is that
// current (its definition, any textbook), however long the steps in which it is
// told, and whichever way it flows.
func TestHeatOfAConstantCurrent(t *testing.T) {
	rules, err := standard.Open("")
	if err != nil {
		t.Fatal(err)
	}
	for _, step := range []time.Duration{time.Second, 7 * time.Second, 11 * time.Second, time.Minute, 11 * time.Minute, 30 * time.Minute} {
		for _, site := range []Steady{{50, 0, 10}, {-50, 0, 10}} {
			s := carPark(1, step, (9 * time.Hour).Truncate(step), 1)
			s.Site, s.Visits = site, booked{}
			s.Device, s.Rules = &standard.Device{Family: "BS 88-3", Rating: 45}, rules
			h := mustRun(t, s).Heat
			if math.Abs(float64(h.Mean)-50) > 1e-9 || h.Greatest != 50 || h.Above != seconds(int64(s.Length/time.Millisecond)) {
				t.Errorf("%v at steps of %v: %v r.m.s., %v at the most, %v above the rating", site, step, h.Mean, h.Greatest, h.Above)
			}
		}
	}
}

// TestHeatIsThatOfTheWorstTime: the greatest sums over a conventional time are
// those found by adding up every one of them anew.
func TestHeatIsThatOfTheWorstTime(t *testing.T) {
	rules, err := standard.Open("")
	if err != nil {
		t.Fatal(err)
	}
	w, err := newWear(rules, standard.Device{Family: "BS EN 60898 type B", Rating: 50})
	if err != nil {
		t.Fatal(err)
	}
	for seed := range uint64(20) {
		rng := rand.New(rand.NewPCG(seed, 7))
		over := int(math.Round(float64(w.over))) // steps of a second
		trace := make([]int64, over*(1+rng.IntN(3))+rng.IntN(over))
		ther := newThermometer(w, 1000)
		for at, i := 0, int64(0); at < len(trace); at++ {
			if at%15 == 0 && rng.IntN(20) == 0 { // sums are followed in parts of 15 s
				i = int64(rng.IntN(80_000))
			}
			trace[at] = i
			ther.add(i, 1000)
		}
		used, square := 0.0, 0.0
		for end := 15; end < len(trace)+15; end += 15 {
			u, q := 0.0, 0.0
			for _, i := range trace[max(0, end-over):min(end, len(trace))] {
				u += w.share(amperes(i))
				q += math.Pow(float64(amperes(i)), 2)
			}
			used, square = max(used, u), max(square, q)
		}
		got := ther.heat()
		if mean := math.Sqrt(square / float64(over)); math.Abs(got.Used-used) > 1e-9*used || math.Abs(float64(got.Mean)-mean) > 1e-9*mean {
			t.Errorf("seed %d: %v used and %v r.m.s., by adding up %v and %v", seed, got.Used, float64(got.Mean), used, mean)
		}
	}
}

// Stress judges a trace of currents that last until the next moment, and the
// last for tail.
func Stress(rules *standard.Rulebook, d standard.Device, trace []Moment, tail quantity.Seconds) (Heat, error) {
	w, err := newWear(rules, d)
	if err != nil {
		return Heat{}, err
	}
	t := newThermometer(w, 1)
	for i, m := range trace {
		until := m.At + tail
		if i+1 < len(trace) {
			until = trace[i+1].At
		}
		t.add(milliamperes(m.Total()), milliseconds(until-m.At))
	}
	return t.heat(), nil
}
