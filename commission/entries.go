package commission

import (
	"fmt"
	"strings"
	"time"

	"chargewright/finding"
	"chargewright/job"
)

// Names under which a run is written into the job's readings. The paper looks
// for them.
const (
	StepReading    = "commissioning, " // and the step's key
	SettingReading = "setting, "       // and the setting's name
	PilotReading   = "control pilot, " // and what was measured
)

// Entries puts the evidence into a job file: what the point says it is, each
// step, and each setting that was changed. Nothing is overwritten; a later run
// is further readings.
func (e *Evidence) Entries(f *job.File, who string) error {
	when := e.Ended.UTC().Format("2006-01-02 15:04")
	how := "OCPP " + string(e.OCPP)
	if e.Pace != 1 {
		how += ", training run, not a true one"
	}
	add := func(reading, value, note string) error {
		if value == "" {
			return nil
		}
		return f.Append("readings", job.Field{Name: "at", Value: e.Point}, job.Field{Name: "reading", Value: reading}, job.Field{Name: "value", Value: oneLine(value)},
			job.Field{Name: "function", Value: how}, job.Field{Name: "who", Value: who}, job.Field{Name: "when", Value: when}, job.Field{Name: "note", Value: oneLine(note)})
	}
	if err := add(SerialReading, e.Identity.Serial, ""); err != nil {
		return fmt.Errorf("write the evidence into the job: %w", err)
	}
	if err := add("firmware", e.Identity.Firmware, ""); err != nil {
		return fmt.Errorf("write the evidence into the job: %w", err)
	}
	for _, s := range e.Steps {
		value := s.Outcome()
		if !s.Value.IsZero() && !s.Limit.IsZero() {
			value += fmt.Sprintf(": %v, limit %v", s.Value, s.Limit)
		}
		note := s.What + ": " + s.Why.String()
		if s.Next != "" {
			note += "; next: " + s.Next
		}
		if err := add(StepReading+s.Key, value, note); err != nil {
			return fmt.Errorf("write the evidence into the job: %w", err)
		}
	}
	for _, c := range e.Settings {
		if isSecret(c.Name) {
			continue
		}
		if err := add(SettingReading+c.Name, orNothing(c.After), "before: "+orNothing(c.Before)+"; "+c.Why); err != nil {
			return fmt.Errorf("write the evidence into the job: %w", err)
		}
	}
	return nil
}

// PilotEntries puts findings on the control pilot into a job file.
func PilotEntries(f *job.File, point, who string, when time.Time, found []finding.Finding) error {
	for _, x := range found {
		value := x.Verdict.String()
		if !x.Value.IsZero() {
			value += ": " + x.Value.String()
		}
		err := f.Append("readings", job.Field{Name: "at", Value: point}, job.Field{Name: "reading", Value: PilotReading + strings.TrimPrefix(x.Key, "pilot ")}, job.Field{Name: "value", Value: oneLine(value)},
			job.Field{Name: "function", Value: x.Clause}, job.Field{Name: "who", Value: who}, job.Field{Name: "when", Value: when.UTC().Format("2006-01-02 15:04")}, job.Field{Name: "note", Value: oneLine(x.What + ": " + x.Why.String())})
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
