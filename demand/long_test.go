package demand

import (
	"flag"
	"runtime"
	"sync"
	"testing"
	"time"

	"chargewright/quantity"
)

// long runs what takes minutes; the results stand in bench/demand.txt.
var long = flag.Bool("long", false, "run the long runs too")

// TestTenYearsAtASecond: the longest run there may be still balances.
func TestTenYearsAtASecond(t *testing.T) {
	if !*long {
		t.Skip("takes a minute: -long")
	}
	begun := time.Now()
	r := mustRun(t, carPark(20, time.Second, 10*year, 1))
	if r.Import-r.Export != r.Site+r.Points {
		t.Errorf("%d mJ in, %d out, %d and %d used", r.Import, r.Export, r.Site, r.Points)
	}
	t.Logf("ten years at a second, 20 points: %v", time.Since(begun))
}

// TestThousandYears: a Monte Carlo study of one point on all cores.
func TestThousandYears(t *testing.T) {
	if !*long {
		t.Skip("takes half a minute: -long")
	}
	begun := time.Now()
	peaks := make([]quantity.Amperes, 1000)
	next := make(chan int)
	var all sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		all.Go(func() {
			for i := range next {
				r, err := carPark(1, time.Minute, year, uint64(i)).Run()
				if err != nil {
					t.Error(err)
					continue
				}
				peaks[i] = r.Peak.Greatest()
			}
		})
	}
	for i := range peaks {
		next <- i
	}
	close(next)
	all.Wait()
	t.Logf("1,000 years of one point at a minute on %d cores: %v", runtime.GOMAXPROCS(0), time.Since(begun))
}
