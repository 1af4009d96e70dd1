package main

import (
	"os"

	"github.com/vbauerster/mpb/v8"
	"github.com/vbauerster/mpb/v8/decor"

	"chargewright/demand"
)

// study runs a job many times, showing how far it is and how long it will take.
func study(s *demand.Studied, runs int, seed uint64) (*demand.Study, *demand.Result, error) {
	progress := mpb.New(mpb.WithOutput(os.Stderr))
	bar := progress.AddBar(int64(runs), mpb.BarRemoveOnComplete(),
		mpb.PrependDecorators(decor.Name("runs "), decor.CountersNoUnit("%d of %d")),
		mpb.AppendDecorators(decor.Name("left "), decor.AverageETA(decor.ET_STYLE_GO)))
	sum, worst, err := s.Run(runs, seed, bar.Increment)
	if err != nil {
		bar.Abort(true)
	}
	progress.Wait()
	return sum, worst, err
}
