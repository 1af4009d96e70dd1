package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"time"

	"chargewright/commission"
	"chargewright/finding"
	"chargewright/job"
	"chargewright/pilot"
	"chargewright/quantity"
	"chargewright/standard"
)

type pilotCmd struct {
	Job       string            `arg:"" help:"Job file."`
	Point     string            `help:"Charge point of the job; may be left out if there is one."`
	Trace     string            `type:"existingfile" help:"Oscilloscope trace as CSV: time and voltage, in s and V unless its head names other units."`
	State     string            `enum:",A,B,C,D,E,F" default:"" help:"State the vehicle simulator is set to."`
	High      string            `help:"Positive level, like 6.02 V."`
	Low       string            `help:"Negative peak; a minus needs the equals sign: --low=-11.9V."`
	Duty      string            `help:"Duty cycle, like 53.3 %."`
	Frequency float64           `help:"Frequency in Hz."`
	Steady    bool              `help:"There is no oscillator on the pilot."`
	Cable     string            `help:"Coding resistor of the plug, like 220 Ω."`
	Levels    map[string]string `help:"Positive level in each state of the vehicle simulator, like A=12.0V;B=8.98V;C=6.0V."`
	Times     map[string]string `help:"How long answers took, like 'close after state C=1.2 s;open after state C to B=0.05 s'; --order lists what is timed."`
	Order     bool              `help:"Print the tests with a vehicle simulator in their order, and stop."`
	JSON      bool              `name:"json" help:"Print the findings as JSON."`
	Write     bool              `help:"Write the outcome into the job file, as readings."`
	Who       string            `help:"Who measured; goes into the job with --write."`
}

// Run holds a measurement of the control pilot against the standard and the design.
func (c *pilotCmd) Run(out io.Writer) error {
	m, err := open(c.Job)
	if err != nil {
		return err
	}
	intent, err := commission.IntentOf(m, c.Point)
	if err != nil {
		return fmt.Errorf("%s: %w", c.Job, err)
	}
	if c.Order {
		for _, test := range pilot.SimulatorTests(m.Rules) {
			fmt.Fprintln(out, wrap("", test, 4))
		}
		fmt.Fprintln(out, wrap("", pilot.SimulatorCaution, 0))
		return nil
	}
	found, err := c.found(intent, m.Rules)
	if err != nil {
		return err
	}
	if c.Write {
		if err := c.keep(intent.Point, found); err != nil {
			return err
		}
	}
	if c.JSON {
		err = writeJSON(out, finding.Report{Job: m.Job.Name, Edition: string(m.Job.Edition), Findings: found})
	} else {
		heading(out, m)
		for _, f := range found {
			fmt.Fprintf(out, "%s %s\n", marks[f.Verdict], f.Verdict)
			printFinding(out, f)
		}
		fmt.Fprintln(out, wrap("", pilot.Caution, 0))
	}
	if code := finding.Summarise(found).ExitCode(); err == nil && code != exitMet {
		return outcome{code}
	}
	return err
}

// found judges what was measured.
func (c *pilotCmd) found(intent commission.Intent, rules *standard.Rulebook) ([]finding.Finding, error) {
	typed := pilot.Typed{State: c.State, High: c.High, Low: c.Low, Duty: c.Duty, Steady: c.Steady, Cable: c.Cable, Levels: c.Levels, Times: c.Times}
	if c.Frequency != 0 {
		typed.Frequency = quantity.Known(c.Frequency)
	}
	var trace *pilot.Seen
	if c.Trace != "" {
		text, err := os.ReadFile(c.Trace)
		if err != nil {
			return nil, fmt.Errorf("cannot read the trace: %w", err)
		}
		seen, err := pilot.ReadTrace(c.Trace, text)
		if err != nil {
			return nil, err
		}
		trace = &seen
	}
	found, err := commission.JudgePilot(intent, typed, trace, rules)
	var wrong *pilot.TypedError
	if errors.As(err, &wrong) {
		return nil, fmt.Errorf("--%w", wrong)
	}
	return found, err
}

// keep writes the findings into the job file.
func (c *pilotCmd) keep(point string, found []finding.Finding) error {
	text, err := os.ReadFile(c.Job)
	if err != nil {
		return fmt.Errorf("cannot read the job file: %w", err)
	}
	f, err := job.ReadRecord(c.Job, text)
	if err != nil {
		return err
	}
	if err := f.Add("runs", commission.KeptPilot(point, c.Who, time.Now(), found)); err != nil {
		return err
	}
	return replace(c.Job, f.Bytes())
}
