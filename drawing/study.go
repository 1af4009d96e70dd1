package drawing

// The sheets of a study: the day of the greatest demand, how long each current
// lasts, a limiter's worst case, what the cut-out bears.

import (
	"fmt"
	"strconv"
	"time"

	"chargewright/demand"
	"chargewright/model"
	"chargewright/quantity"
)

// DemandSheet draws the day of the greatest demand and, where years were run,
// the duration curve of the worst of them.
func DemandSheet(m *model.Model, s *demand.Studied, day demand.Day, worst *demand.Result) Scene {
	var limit quantity.Amperes
	what := ""
	if control, ok := s.Limited(); ok {
		limit, what = control.Limit, "limit"
	} else if d, known := demand.CutOut(m).Get(); known {
		limit, what = d.Rating, "cut-out"
	}
	scenes := []Scene{dayScene(day, limit, what)}
	if worst != nil {
		scenes = append(scenes, durationScene("For how long each current lasts, in the year with the greatest peak", worst, limit, what))
	}
	return Stack("demand", m.Job.Name+", demand", scenes...)
}

// LimitSheet draws each limiter's worst case, a day, the duration curve and the
// heat under one another; day is nil where none was run. Without any of them
// the scene is empty.
func LimitSheet(m *model.Model, s *demand.Studied, proofs []demand.Proof, day *demand.Day, worst *demand.Result) Scene {
	var scenes []Scene
	for i, p := range proofs {
		if p.Worst == nil {
			continue
		}
		stated, _ := m.Job.Limiters[i].ResponseTime.Get()
		title := fmt.Sprintf("%s: the longest found on L%d", p.Limiter, p.Line+1)
		if p.Worst.Late > stated {
			title = fmt.Sprintf("%s: counter-example on L%d", p.Limiter, p.Line+1)
		}
		scenes = append(scenes, Limiting("worst-"+strconv.Itoa(i+1), title, *p.Worst, stated))
	}
	var limit quantity.Amperes
	if control, limited := s.Limited(); limited {
		limit = control.Limit
	}
	if day != nil {
		scenes = append(scenes, dayScene(*day, limit, "limit"))
	}
	if worst != nil {
		scenes = append(scenes, durationScene("For how long each current lasts, in the run with the greatest peak", worst, limit, "limit"),
			Heat("heat", "The worst ten minutes for the cut-out", worst, worst.WorstLine))
	}
	if len(scenes) == 0 {
		return Scene{}
	}
	return Stack("limit", m.Job.Name+", load limiting", scenes...)
}

func dayScene(d demand.Day, limit quantity.Amperes, what string) Scene {
	t := TraceOf(d.Trace, d.Line, d.Start, d.Step)
	if limit > 0 {
		t.Limit, t.What = limit, what
	}
	return Demand("day", fmt.Sprintf("L%d from %s, a vehicle that takes all it can get", d.Line+1, d.Start.Format("2 January 15:04")), t)
}

func durationScene(title string, worst *demand.Result, limit quantity.Amperes, what string) Scene {
	var curves []Curve
	for k := range 3 {
		if worst.Peak[k] > 0 {
			curves = append(curves, Curve{Name: fmt.Sprintf("L%d", k+1), Currents: worst.Duration(k, 100)})
		}
	}
	return Duration("duration", title, curves, limit, what, time.Duration(worst.Steps)*worst.Step)
}
