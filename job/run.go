package job

// Commissioning runs: what was asked of a charge point, and how it answered.

import (
	"slices"
	"strings"

	"chargewright/quantity"
)

// Run is one run of a program of steps against a charge point.
type Run struct {
	Point     string               `field:"point" help:"charge point it was run against"`
	Program   string               `field:"program" words:"commissioning|control pilot" help:"program of steps: commissioning over the point's link, or its control pilot measured"`
	Protocol  string               `field:"protocol" help:"protocol it was run over, like OCPP 1.6"`
	Pretended quantity.Maybe[bool] `field:"pretended" help:"yes where the point was a pretended one, for training: it says nothing of a real point"`
	Who       string               `field:"who" help:"who ran it"`
	When      string               `field:"when" date:"time" help:"when it ended"`
	Began     string               `field:"began" date:"time" help:"when it began"`
	Ended     string               `field:"ended" words:"ended at its last step|ended, with steps left out|stopped before its last step" help:"how it ended"`
	Link      string               `field:"link" help:"how the link was secured"`
	LeftOut   []string             `field:"left out" help:"steps that were left out on purpose"`
	Serial    string               `field:"serial" help:"serial number, as the point says"`
	Firmware  string               `field:"firmware" help:"firmware, as the point says"`
	Note      string               `field:"note" help:"anything unusual"`
	Steps     []RunStep            `field:"steps" help:"its steps as they went"`
	Settings  []RunSetting         `field:"settings" help:"settings that it changed, but the secret ones"`
}

// RunStep is one step of a run.
type RunStep struct {
	Key     string `field:"step" key:"yes" help:"the step's key in its program"`
	What    string `field:"what" help:"what was asked"`
	Verdict string `field:"verdict" words:"meets|fails|not known|judge on site|not supported" help:"how it went; not supported where the point does not have what was asked"`
	Value   string `field:"value" help:"what was measured, unit included"`
	Limit   string `field:"limit" help:"what it was held to, unit included"`
	Seen    string `field:"observation" help:"what was seen, and the reason for the verdict"`
	Next    string `field:"next" help:"what to do now"`
	Rule    string `field:"rule" help:"clause the step is asked for"`
}

// RunSetting is one setting before a run and after it.
type RunSetting struct {
	Name   string `field:"name" key:"yes" help:"the setting"`
	Before string `field:"before" help:"what it was"`
	After  string `field:"after" help:"what it is"`
	Why    string `field:"why" help:"what it is set for"`
}

// The programs of a run, and a verdict that no rule has.
const (
	Commissioning = "commissioning"
	ControlPilot  = "control pilot"
	NotSupported  = "not supported"
)

// RunsOf returns the runs of a program against a point, the oldest first.
func (j *Job) RunsOf(point, program string) []Run {
	return slices.DeleteFunc(slices.Clone(j.Runs), func(r Run) bool { return r.Point != point || r.Program != program })
}

// Trained reports that the run was against a pretended point.
func (r Run) Trained() bool { return r.Pretended.Or(false) }

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
	var runs []*Run
	latest := map[string]*Run{}
	at := func(r Reading, program string, again func(*Run) bool) *Run {
		key := strings.Join([]string{program, r.At, r.When, r.Who}, "\n")
		if program == Commissioning {
			key += "\n" + r.Function
		}
		if run := latest[key]; run != nil && !again(run) {
			return run
		}
		run := &Run{Point: r.At, Program: program, Who: r.Who, When: r.When}
		if program == Commissioning {
			over, trained := strings.CutSuffix(r.Function, oldTrained)
			if run.Protocol = over; trained {
				run.Pretended = quantity.Known(true)
			}
		}
		latest[key] = run
		runs = append(runs, run)
		return run
	}
	owner := make([]*Run, len(j.Readings)) // nil of a true reading
	for i, r := range j.Readings {
		var run *Run
		switch {
		case r.Reading == oldRun:
			run = at(r, Commissioning, func(run *Run) bool { return run.Ended != "" || len(run.Steps) > 0 })
			run.tellOld(r)
		case strings.HasPrefix(r.Reading, oldStep):
			s := oldStepOf(r, oldStep)
			run = at(r, Commissioning, func(run *Run) bool { return run.has(s.Key) })
			run.Steps = append(run.Steps, s)
		case strings.HasPrefix(r.Reading, oldPilot):
			s := oldStepOf(r, oldPilot)
			s.Rule = r.Function
			run = at(r, ControlPilot, func(run *Run) bool { return run.has(s.Key) })
			run.Steps = append(run.Steps, s)
		case strings.HasPrefix(r.Reading, oldSetting):
			c := RunSetting{Name: strings.TrimPrefix(r.Reading, oldSetting), After: r.Value, Before: strings.TrimPrefix(r.Note, "before: ")}
			if i := strings.LastIndex(c.Before, "; "); i >= 0 {
				c.Before, c.Why = c.Before[:i], c.Before[i+2:]
			}
			run = at(r, Commissioning, func(*Run) bool { return false })
			run.Settings = append(run.Settings, c)
		case r.Reading == "serial number" && strings.HasPrefix(r.Function, oldLink):
			run = at(r, Commissioning, func(run *Run) bool { return len(run.Steps) > 0 })
			run.Serial = r.Value
		case r.Reading == "firmware" && strings.HasPrefix(r.Function, oldLink):
			run = at(r, Commissioning, func(run *Run) bool { return len(run.Steps) > 0 })
			run.Firmware = r.Value
		}
		owner[i] = run
	}
	var old []Run
	for _, run := range runs {
		if len(run.Steps) > 0 { // a serial number alone is no run
			old = append(old, *run)
		}
	}
	if old == nil {
		return
	}
	var readings []Reading
	for i, r := range j.Readings {
		if owner[i] == nil || len(owner[i].Steps) == 0 {
			readings = append(readings, r)
		}
	}
	j.Readings, j.Runs = readings, append(old, j.Runs...)
}

// oldStepOf reads a step out of a reading: "meets: 15.9 A, limit 16 A", and as
// its note "holds 16 A: it fell in 3 s; next: …".
func oldStepOf(r Reading, prefix string) RunStep {
	s := RunStep{Key: strings.TrimPrefix(r.Reading, prefix)}
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
func (r *Run) tellOld(said Reading) {
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

func (r *Run) has(step string) bool {
	return slices.ContainsFunc(r.Steps, func(s RunStep) bool { return s.Key == step })
}
