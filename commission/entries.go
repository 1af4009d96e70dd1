package commission

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"chargewright/finding"
	"chargewright/job"
	"chargewright/ocpp"
)

// Names under which a run is written into the job's readings. The paper looks
// for them.
const (
	RunReading     = "commissioning run" // how it ended
	StepReading    = "commissioning, "   // and the step's key
	SettingReading = "setting, "         // and the setting's name
	PilotReading   = "control pilot, "   // and what was measured
)

// Entries puts the evidence into a job file. Nothing is overwritten; a later
// run is further readings.
func (e *Evidence) Entries(f *job.File, who string) error {
	when := e.Ended.UTC().Format("2006-01-02 15:04")
	for _, r := range e.Readings() {
		if err := f.Append("readings", job.Given{Name: "at", Value: r.At}, job.Given{Name: "reading", Value: r.Reading}, job.Given{Name: "value", Value: r.Value},
			job.Given{Name: "function", Value: r.Function}, job.Given{Name: "who", Value: who}, job.Given{Name: "when", Value: when}, job.Given{Name: "note", Value: r.Note}); err != nil {
			return fmt.Errorf("write the evidence into the job: %w", err)
		}
	}
	return nil
}

// Readings are the evidence as readings of the job: how the run ended, what the
// point says it is, each step, and each setting that was changed but the secret ones.
func (e *Evidence) Readings() []job.Reading {
	how := "OCPP " + string(e.OCPP)
	if e.Pace != 1 {
		how += ", training run, not a true one"
	}
	var out []job.Reading
	add := func(reading, value, note string) {
		if value != "" {
			out = append(out, job.Reading{At: e.Point, Reading: reading, Value: oneLine(value), Function: how, Note: oneLine(note)})
		}
	}
	add(RunReading, e.ending(), e.about())
	add(SerialReading, e.Identity.Serial, "")
	add("firmware", e.Identity.Firmware, "")
	for _, s := range e.Steps {
		value := s.Outcome()
		if !s.Value.IsZero() && !s.Limit.IsZero() {
			value += fmt.Sprintf(": %v, limit %v", s.Value, s.Limit)
		}
		note := s.What + ": " + s.Why.String()
		if s.Next != "" {
			note += "; next: " + s.Next
		}
		add(StepReading+s.Key, value, note)
	}
	for _, c := range e.Shown() {
		add(SettingReading+c.Name, orNothing(c.After), "before: "+orNothing(c.Before)+"; "+c.Why)
	}
	return out
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

// about is what else is worth knowing of a run later.
func (e *Evidence) about() string {
	about := []string{"begun " + e.Began.UTC().Format("2006-01-02 15:04 UTC"), "link: " + e.Secured}
	if len(e.LeftOut) > 0 {
		about = append(about, "left out: "+strings.Join(e.LeftOut, ", "))
	}
	return strings.Join(about, "; ")
}

// Shown are the settings that were changed, but the secret ones.
func (e *Evidence) Shown() []Change {
	return slices.DeleteFunc(slices.Clone(e.Settings), func(c Change) bool { return ocpp.IsSecret(c.Name) })
}

// PilotReadings are findings on the control pilot as readings of the job.
func PilotReadings(point string, found []finding.Finding) []job.Reading {
	var out []job.Reading
	for _, x := range found {
		value := x.Verdict.String()
		if !x.Value.IsZero() {
			value += ": " + x.Value.String()
		}
		out = append(out, job.Reading{At: point, Reading: PilotReading + strings.TrimPrefix(x.Key, "pilot "), Value: oneLine(value), Function: x.Clause, Note: oneLine(x.What + ": " + x.Why.String())})
	}
	return out
}

// PilotEntries puts findings on the control pilot into a job file.
func PilotEntries(f *job.File, point, who string, when time.Time, found []finding.Finding) error {
	for _, r := range PilotReadings(point, found) {
		err := f.Append("readings", job.Given{Name: "at", Value: r.At}, job.Given{Name: "reading", Value: r.Reading}, job.Given{Name: "value", Value: r.Value},
			job.Given{Name: "function", Value: r.Function}, job.Given{Name: "who", Value: who}, job.Given{Name: "when", Value: when.UTC().Format("2006-01-02 15:04")}, job.Given{Name: "note", Value: r.Note})
		if err != nil {
			return fmt.Errorf("write the pilot's readings into the job: %w", err)
		}
	}
	return nil
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
