package job

// Commissioning runs: what was asked of a charge point, and how it answered.

import (
	"slices"
	"strings"

	"chargewright/quantity"
	"chargewright/trade"
	"chargewright/works"
)

// RunsOf returns the runs of a program against a point, the oldest first.
func (j *Job) RunsOf(point, program string) []works.Run {
	return slices.DeleteFunc(slices.Clone(j.Runs), func(r works.Run) bool { return r.Point != point || r.Program != program })
}

// Runs of older records stand among the readings, in these words.
const (
	oldRun     = "commissioning run"
	oldStep    = "commissioning, "
	oldSetting = "setting, "
	oldPilot   = "control pilot, "
	oldLink    = "OCPP "
	oldTrained = ", training run, not a true one"
)

// takeOldRuns takes the runs out of the readings of an older record. What one
// person entered at one time over one protocol is one run; a step that comes
// again begins another.
func (j *Job) takeOldRuns() {
	var runs []*works.Run
	latest := map[string]*works.Run{}
	at := func(r works.Reading, program string, again func(*works.Run) bool) *works.Run {
		key := strings.Join([]string{program, r.At, r.When, r.Who}, "\n")
		if program == trade.Commissioning {
			key += "\n" + r.Function
		}
		if run := latest[key]; run != nil && !again(run) {
			return run
		}
		run := &works.Run{Point: r.At, Program: program, Who: r.Who, When: r.When}
		if program == trade.Commissioning {
			over, trained := strings.CutSuffix(r.Function, oldTrained)
			if run.Protocol = over; trained {
				run.Pretended = quantity.Known(true)
			}
		}
		latest[key] = run
		runs = append(runs, run)
		return run
	}
	owner := make([]*works.Run, len(j.Readings)) // nil of a true reading
	for i, r := range j.Readings {
		var run *works.Run
		switch {
		case r.Reading == oldRun:
			run = at(r, trade.Commissioning, func(run *works.Run) bool { return run.Ended != "" || len(run.Steps) > 0 })
			tellOld(run, r)
		case strings.HasPrefix(r.Reading, oldStep):
			s := oldStepOf(r, oldStep)
			run = at(r, trade.Commissioning, func(run *works.Run) bool { return has(run, s.Key) })
			run.Steps = append(run.Steps, s)
		case strings.HasPrefix(r.Reading, oldPilot):
			s := oldStepOf(r, oldPilot)
			s.Rule = r.Function
			run = at(r, trade.ControlPilot, func(run *works.Run) bool { return has(run, s.Key) })
			run.Steps = append(run.Steps, s)
		case strings.HasPrefix(r.Reading, oldSetting):
			c := works.RunSetting{Name: strings.TrimPrefix(r.Reading, oldSetting), After: r.Value, Before: strings.TrimPrefix(r.Note, "before: ")}
			if i := strings.LastIndex(c.Before, "; "); i >= 0 {
				c.Before, c.Why = c.Before[:i], c.Before[i+2:]
			}
			run = at(r, trade.Commissioning, func(*works.Run) bool { return false })
			run.Settings = append(run.Settings, c)
		case r.Reading == "serial number" && strings.HasPrefix(r.Function, oldLink):
			run = at(r, trade.Commissioning, func(run *works.Run) bool { return len(run.Steps) > 0 })
			run.Serial = r.Value
		case r.Reading == "firmware" && strings.HasPrefix(r.Function, oldLink):
			run = at(r, trade.Commissioning, func(run *works.Run) bool { return len(run.Steps) > 0 })
			run.Firmware = r.Value
		}
		owner[i] = run
	}
	var old []works.Run
	for _, run := range runs {
		if len(run.Steps) > 0 { // a serial number alone is no run
			old = append(old, *run)
		}
	}
	if old == nil {
		return
	}
	var readings []works.Reading
	for i, r := range j.Readings {
		if owner[i] == nil || len(owner[i].Steps) == 0 {
			readings = append(readings, r)
		}
	}
	j.Readings, j.Runs = readings, append(old, j.Runs...)
}

// oldStepOf reads a step out of a reading: "meets: 15.9 A, limit 16 A", and as
// its note "holds 16 A: it fell in 3 s; next: …".
func oldStepOf(r works.Reading, prefix string) works.RunStep {
	s := works.RunStep{Key: strings.TrimPrefix(r.Reading, prefix)}
	s.Verdict, s.Value, _ = strings.Cut(r.Value, ": ")
	if !slices.Contains(FieldAt("runs/old/steps/old/verdict").Words, s.Verdict) {
		s.Verdict, s.Value = "", r.Value
	}
	s.Value, s.Limit, _ = strings.Cut(s.Value, ", limit ")
	s.What, s.Seen, _ = strings.Cut(r.Note, ": ")
	s.Seen, s.Next, _ = strings.Cut(s.Seen, "; next: ")
	return s
}

// tellOld reads how a run ended, when it began and how its link was secured.
func tellOld(r *works.Run, said works.Reading) {
	var more []string
	if r.Ended = said.Value; !slices.Contains(FieldAt("runs/old/ended").Words, r.Ended) {
		more, r.Ended = append(more, r.Ended), ""
	}
	for part := range strings.SplitSeq(said.Note, "; ") {
		what, value, _ := strings.Cut(part, ": ")
		began, begun := strings.CutPrefix(part, "begun ")
		began = strings.TrimSuffix(began, " UTC")
		if _, dated := parseWhen(began); begun && dated {
			r.Began = began
			continue
		}
		switch what {
		case "link":
			r.Link = value
		case "left out":
			r.LeftOut = strings.Split(value, ", ")
		case "":
		default:
			more = append(more, part)
		}
	}
	r.Note = strings.Join(more, "; ")
}

func has(r *works.Run, step string) bool {
	return slices.ContainsFunc(r.Steps, func(s works.RunStep) bool { return s.Key == step })
}
