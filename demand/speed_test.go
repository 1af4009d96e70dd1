package demand

import (
	"fmt"
	"math"
	"testing"
	"time"

	"chargewright/network"
)

const year = 365 * 24 * time.Hour

// watched gives a car park voltages to watch: every point on a cable of its own.
func watched(tb testing.TB, s *runSetup) *runSetup {
	tb.Helper()
	b := network.NewBuilder()
	street, board := b.Node("street"), b.Node("board")
	lines := []network.Conductor{network.L1, network.L2, network.L3}
	four := append(append([]network.Conductor{}, lines...), network.N)
	b.Source(network.Source{Name: "source", Star: street.At(network.N), Lines: street.All(lines...), EMF: network.ThreePhase(230)})
	b.Join("earth", street, network.N, network.Earth)
	b.Branch(network.Branch{Name: "service", From: street.All(four...), To: board.All(four...), Z: network.Series(0.01, 0.01, 0.01, 0.01)})
	var site, bays [][]betweenTerminals
	for _, c := range lines {
		site = append(site, []betweenTerminals{{board.At(c), board.At(network.N), 1}})
	}
	var places []watchedPlace
	var at [][2]network.Terminal
	for i := range s.Bays {
		k := i % 3
		n := b.Node("point")
		b.Branch(network.Branch{Name: "leg", From: board.All(four...), To: n.All(four...), Z: network.Series(0.05, 0.05, 0.05, 0.05)})
		bays = append(bays, []betweenTerminals{{n.At(lines[k]), n.At(network.N), 1}})
		places, at = append(places, watchedPlace{Name: s.Bays[i].Name, Line: k}), append(at, [2]network.Terminal{n.At(lines[k]), n.At(network.N)})
	}
	net, err := b.Build()
	if err != nil {
		tb.Fatal(err)
	}
	if s.Drops, err = watch(net, site, bays, places, at); err != nil {
		tb.Fatal(err)
	}
	return s
}

func BenchmarkYearAtMinuteWithVoltages(b *testing.B) {
	for b.Loop() {
		mustRun(b, watched(b, carPark(20, time.Minute, year, 1)))
	}
}

func BenchmarkYearAtSecond(b *testing.B) {
	for b.Loop() {
		mustRun(b, carPark(20, time.Second, year, 1))
	}
}

// BenchmarkYearOfOnePoint is one of the thousand years of a Monte Carlo study.
func BenchmarkYearOfOnePoint(b *testing.B) {
	seed := uint64(0)
	for b.Loop() {
		seed++
		mustRun(b, carPark(1, time.Minute, year, seed))
	}
}

// BenchmarkPoints says how the time grows with the number of points.
func BenchmarkPoints(b *testing.B) {
	took := map[int]float64{}
	for _, n := range []int{1, 10, 100, 1000} {
		b.Run(fmt.Sprintf("points=%d", n), func(b *testing.B) {
			for b.Loop() {
				mustRun(b, carPark(n, time.Minute, year/12, 1))
			}
			took[n] = b.Elapsed().Seconds() / float64(b.N)
		})
	}
	b.Run("growth", func(b *testing.B) {
		b.ReportMetric(math.Log(took[1000]/took[10])/math.Log(100), "exponent-10-to-1000")
		b.ReportMetric(math.Log(took[1000]/took[100])/math.Log(10), "exponent-100-to-1000")
		b.ReportMetric(0, "ns/op")
	})
}

func BenchmarkProof(b *testing.B) {
	l := &loop{limiterControl: quick(), points: 32, least: 6, others: 71, holds: 100}
	for b.Loop() {
		if _, _, ok := l.response(); !ok {
			b.Fatal("not proved")
		}
	}
}

func BenchmarkSearch(b *testing.B) {
	l := &loop{limiterControl: quick(), points: 32, least: 6, others: 71, holds: 100}
	for b.Loop() {
		l.search(LoadStep)
	}
}

// TestMemoryDoesNotGrowWithLength: ten times the steps, the same memory.
func TestMemoryDoesNotGrowWithLength(t *testing.T) {
	bytes := func(days int) float64 {
		s := carPark(3, time.Minute, time.Duration(days)*24*time.Hour, 1)
		return testing.AllocsPerRun(1, func() { mustRun(t, s) }) / float64(days)
	}
	if short, long := bytes(20), bytes(200); long > short {
		t.Errorf("%.1f allocations a day over 20 days, %.1f over 200: they must not grow", short, long)
	}
}

// BenchmarkYearOfTheBakery is one run of the many that a limiter is put through.
func BenchmarkYearOfTheBakery(b *testing.B) {
	m := example(b, "job.yaml")
	s := Prepare(m, Plan{Start: monday, Step: time.Minute, Length: year, Drops: true})
	for seed := uint64(1); b.Loop(); seed++ {
		sc, err := s.Scenario(seed)
		if err != nil {
			b.Fatal(err)
		}
		s.Keep(mustRun(b, sc))
	}
}
