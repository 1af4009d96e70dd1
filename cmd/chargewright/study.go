package main

import (
	"os"
	"runtime"
	"sync"

	"github.com/vbauerster/mpb/v8"
	"github.com/vbauerster/mpb/v8/decor"

	"chargewright/demand"
)

// study runs a job many times on all cores, showing how far it is and how long
// it will take. It returns what the runs say together, and in full the run
// with the greatest peak. The same seeds give the same answer on any number of
// cores.
func study(s *demand.Studied, runs int, seed uint64) (*demand.Study, *demand.Result, error) {
	outcomes := make([]demand.Outcome, runs)
	progress := mpb.New(mpb.WithOutput(os.Stderr))
	bar := progress.AddBar(int64(runs), mpb.BarRemoveOnComplete(),
		mpb.PrependDecorators(decor.Name("runs "), decor.CountersNoUnit("%d of %d")),
		mpb.AppendDecorators(decor.Name("left "), decor.AverageETA(decor.ET_STYLE_GO)))
	var mu sync.Mutex
	var worst *demand.Result
	worstRun := -1
	var failed error
	next := make(chan int)
	var workers sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), runs) {
		workers.Go(func() {
			for i := range next {
				r, err := one(s, seed+uint64(i))
				mu.Lock()
				switch {
				case err != nil:
					failed = err
				default:
					outcomes[i] = s.Keep(r)
					peak := r.Peak.Greatest()
					if worst == nil || peak > worst.Peak.Greatest() || peak == worst.Peak.Greatest() && i < worstRun {
						worst, worstRun = r, i
					}
				}
				mu.Unlock()
				bar.Increment()
			}
		})
	}
	for i := range runs {
		next <- i
	}
	close(next)
	workers.Wait()
	if failed != nil {
		bar.Abort(true)
	}
	progress.Wait()
	if failed != nil {
		return nil, nil, failed
	}
	return s.Sum(outcomes, seed), worst, nil
}

func one(s *demand.Studied, seed uint64) (*demand.Result, error) {
	scenario, err := s.Scenario(seed)
	if err != nil {
		return nil, err
	}
	return scenario.Run()
}
