package commission

import (
	"slices"
	"strings"
	"time"

	"chargewright/finding"
	"chargewright/ocpp"
	"chargewright/quantity"
	"chargewright/trade"
	"chargewright/works"
)

// Kept is the evidence as the job keeps it: how the run ended, what the point
// says it is, each step, and each setting that was changed but the secret ones.
func (e *Evidence) Kept(who string) works.Run {
	run := works.Run{Point: e.Point, Program: trade.Commissioning, Protocol: e.protocol(), Who: who, When: minute(e.Ended), Began: minute(e.Began),
		Ended: e.ending(), Link: e.Secured,
		LeftOut: e.LeftOut, Serial: oneLine(e.Identity.Serial), Firmware: oneLine(e.Identity.Firmware), Steps: stepsOf(e.Findings(), "")}
	if e.Pretended {
		run.Pretended = quantity.Known(true)
	}
	for i, s := range e.Steps {
		run.Steps[i].Verdict = s.Outcome()
	}
	for _, c := range e.Shown() {
		run.Settings = append(run.Settings, works.RunSetting{Name: c.Name, Before: oneLine(orNothing(c.Before)), After: oneLine(orNothing(c.After)), Why: c.Why})
	}
	return run
}

// KeptPilot is findings on the control pilot as the job keeps them.
func KeptPilot(point, who string, when time.Time, found []finding.Finding) works.Run {
	return works.Run{Point: point, Program: trade.ControlPilot, Who: who, When: minute(when), Steps: stepsOf(found, "pilot ")}
}

// stepsOf are findings as the steps of a run. A program's steps go by their
// keys less what they all begin with.
func stepsOf(found []finding.Finding, begin string) []works.RunStep {
	var out []works.RunStep
	for _, f := range found {
		out = append(out, works.RunStep{Key: strings.TrimPrefix(f.Key, begin), What: f.What, Verdict: f.Verdict.String(), Value: f.Value.String(),
			Limit: f.Limit.String(),
			Seen:  oneLine(f.Why.String()), Next: f.Next, Rule: f.Clause.Name})
	}
	return out
}

// minute is a time as the job writes it.
func minute(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.UTC().Format("2006-01-02 15:04")
}

// protocol is what was spoken; nothing where nobody joined.
func (e *Evidence) protocol() string {
	if e.OCPP == "" {
		return ""
	}
	return "OCPP " + string(e.OCPP)
}

func (e *Evidence) ending() string {
	switch {
	case e.Stopped:
		return "stopped before its last step"
	case len(e.LeftOut) > 0:
		return "ended, with steps left out"
	}
	return "ended at its last step"
}

// Shown are the settings that were changed, but the secret ones.
func (e *Evidence) Shown() []Change {
	return slices.DeleteFunc(slices.Clone(e.Settings), func(c Change) bool { return ocpp.IsSecret(c.Name) })
}

// oneLine puts a text that a point sent on one line of bounded length.
func oneLine(text string) string {
	text = strings.Join(strings.FieldsFunc(text, func(r rune) bool { return r < ' ' || r == 0x7f }), " ")
	const most = 1000
	if runes := []rune(text); len(runes) > most {
		text = string(runes[:most]) + " …"
	}
	return text
}
