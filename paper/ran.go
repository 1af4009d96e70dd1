package paper

import (
	"fmt"
	"strings"

	"chargewright/finding"
	"chargewright/job"
)

// Ran is one commissioning run of a point, put together again from the
// readings it left in the job.
type Ran struct {
	Point    string        `json:"point"`
	When     string        `json:"when"`
	Who      string        `json:"who"`
	Over     string        `json:"over"`  // the protocol, and whether it was training
	Ended    string        `json:"ended"` // how; nothing in older runs
	About    string        `json:"about"` // when it began, how the link was secured, what was left out
	Says     []job.Reading `json:"-"`     // what the point says it is
	Steps    []RanStep     `json:"steps"`
	Settings []RanSetting  `json:"settings"`
}

// RanStep is a step of a run as it ended.
type RanStep struct {
	Key     string `json:"key"`
	What    string `json:"what"`
	Outcome string `json:"outcome"`
	Seen    string `json:"seen"`
	Why     string `json:"why"`
	note    string
}

// Verdict is the outcome as a verdict. A step that the point does not support
// is not known.
func (s RanStep) Verdict() finding.Verdict {
	var v finding.Verdict
	_ = v.UnmarshalText([]byte(s.Outcome)) // "not supported" leaves it not known
	return v
}

// RanSetting is a setting before a run and after it.
type RanSetting struct {
	Name   string `json:"name"`
	Before string `json:"before"`
	After  string `json:"after"`
	Why    string `json:"why"`
}

// Sum counts the outcomes, in words.
func (r Ran) Sum() string {
	count := map[string]int{}
	for _, s := range r.Steps {
		count[s.Outcome]++
	}
	return fmt.Sprintf("%d met, %d failed, %d not supported, %d not known, %d to judge on site", count[finding.Meets.String()], count[finding.Fails.String()],
		count[notSupported], count[finding.NotKnown.String()], count[finding.JudgeOnSite.String()])
}

// How a commissioning run stands among the readings of a job.
const (
	ranRun       = "commissioning run"
	ranStep      = "commissioning, "
	ranSetting   = "setting, "
	ranPilot     = "control pilot, "
	ranSerial    = "serial number"
	ranVersion   = "firmware"
	notSupported = "not supported"
)

// Runs returns the commissioning runs of a point, the oldest first. What one
// person entered at one time over one protocol is one run; a step that comes
// again begins another.
func Runs(readings []job.Reading, point string) []Ran {
	var runs []*Ran
	latest := map[string]*Ran{}
	at := func(r job.Reading, again func(*Ran) bool) *Ran {
		key := r.When + "\n" + r.Who + "\n" + r.Function
		if run := latest[key]; run != nil && !again(run) {
			return run
		}
		run := &Ran{Point: point, When: r.When, Who: r.Who, Over: r.Function}
		latest[key] = run
		runs = append(runs, run)
		return run
	}
	for _, r := range readings {
		if r.At != point {
			continue
		}
		switch {
		case r.Reading == ranRun:
			run := at(r, func(run *Ran) bool { return run.Ended != "" || len(run.Steps) > 0 })
			run.Ended, run.About = r.Value, r.Note
		case strings.HasPrefix(r.Reading, ranStep):
			s := RanStep{Key: strings.TrimPrefix(r.Reading, ranStep), note: r.Note}
			s.Outcome, s.Seen, _ = strings.Cut(r.Value, ": ")
			s.What, s.Why, _ = strings.Cut(r.Note, ": ")
			run := at(r, func(run *Ran) bool { return run.has(s.Key) })
			run.Steps = append(run.Steps, s)
		case strings.HasPrefix(r.Reading, ranSetting):
			c := RanSetting{Name: strings.TrimPrefix(r.Reading, ranSetting), After: r.Value, Before: strings.TrimPrefix(r.Note, "before: ")}
			if i := strings.LastIndex(c.Before, "; "); i >= 0 {
				c.Before, c.Why = c.Before[:i], c.Before[i+2:]
			}
			run := at(r, func(*Ran) bool { return false })
			run.Settings = append(run.Settings, c)
		case (r.Reading == ranSerial || r.Reading == ranVersion) && strings.HasPrefix(r.Function, overProtocol):
			run := at(r, func(run *Ran) bool { return len(run.Steps) > 0 })
			run.Says = append(run.Says, r)
		}
	}
	var out []Ran
	for _, run := range runs {
		if len(run.Steps) > 0 { // a serial number alone is no run
			out = append(out, *run)
		}
	}
	return out
}

// overProtocol begins what a run says of how it read: a serial number that was
// read off the label is not of a run.
const overProtocol = "OCPP "

func (r *Ran) has(key string) bool {
	for _, s := range r.Steps {
		if s.Key == key {
			return true
		}
	}
	return false
}
