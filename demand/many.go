package demand

import (
	"runtime"
	"sync"
)

// Run runs a job many times, on all cores, and returns what the runs say
// together, and in full the run with the greatest peak. The same seeds give the
// same answer on any number of cores. After each run it calls each, one call at
// a time; nil for none.
func (s *Studied) Run(runs int, seed uint64, each func()) (*Study, *Result, error) {
	outcomes := make([]runOutcome, runs)
	var mu sync.Mutex
	var worst *Result
	worstRun := -1
	var failed error
	next := make(chan int)
	var workers sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), runs) {
		workers.Go(func() {
			for i := range next {
				r, err := s.one(seed + uint64(i))
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
				if each != nil {
					each()
				}
				mu.Unlock()
			}
		})
	}
	for i := range runs {
		next <- i
	}
	close(next)
	workers.Wait()
	if failed != nil {
		return nil, nil, failed
	}
	return s.Sum(outcomes, seed), worst, nil
}

func (s *Studied) one(seed uint64) (*Result, error) {
	if err := s.left(); err != nil {
		return nil, err
	}
	scenario, err := s.Scenario(seed)
	if err != nil {
		return nil, err
	}
	return scenario.Run()
}
