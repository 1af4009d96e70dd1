package main

import (
	"fmt"
	"io"
	"os"
	"strings"
	"time"

	"chargewright/commission"
	"chargewright/finding"
	"chargewright/job"
	"chargewright/quantity"
	"chargewright/standard"
)

type pilotCmd struct {
	Job       string            `arg:"" help:"Job file."`
	Point     string            `help:"Charge point of the job; may be left out if there is one."`
	Trace     string            `type:"existingfile" help:"Oscilloscope trace as CSV: time in s, voltage in V."`
	State     string            `enum:",A,B,C,D,E,F" default:"" help:"State the vehicle simulator is set to."`
	High      string            `help:"Positive level, like 6.02 V."`
	Low       string            `help:"Negative peak; a minus needs the equals sign: --low=-11.9V."`
	Duty      string            `help:"Duty cycle, like 53.3 %."`
	Frequency float64           `help:"Frequency in Hz."`
	Steady    bool              `help:"There is no oscillator on the pilot."`
	Cable     string            `help:"Coding resistor of the plug, like 220 Ω."`
	Levels    map[string]string `help:"Positive level in each state of the vehicle simulator, like A=12.0V;B=8.98V;C=6.0V."`
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
		printSimulatorTests(out, m.Rules)
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
		fmt.Fprintln(out, "care: pilot and proximity are touched with the output dead; prove it, and keep clear of the live contacts.")
	}
	if code := finding.Summarise(found).ExitCode(); err == nil && code != exitMet {
		return outcome{code}
	}
	return err
}

// found judges the levels of each state, if they were given, and the rest.
func (c *pilotCmd) found(intent commission.Intent, rules *standard.Rulebook) ([]finding.Finding, error) {
	levels := map[string]quantity.Volts{}
	for state, text := range c.Levels {
		v, err := quantity.ParseVolts(text)
		if err != nil {
			return nil, fmt.Errorf("--levels: %w", err)
		}
		levels[state] = v
	}
	states, err := commission.CheckStates(intent, levels, rules)
	if err != nil {
		return nil, fmt.Errorf("--levels: %w", err)
	}
	seen, err := c.seen()
	if err != nil || len(levels) > 0 && seen == (commission.PilotSeen{}) {
		return states, err
	}
	rest, err := commission.CheckPilot(intent, seen, rules)
	return append(states, rest...), err
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
	if err := commission.PilotEntries(f, point, c.Who, time.Now(), found); err != nil {
		return err
	}
	return replace(c.Job, f.Bytes())
}

// printSimulatorTests prints the tests with a vehicle simulator in their order.
func printSimulatorTests(out io.Writer, rules *standard.Rulebook) {
	for _, r := range rules.PilotRows() {
		if r.Group == "simulator test" && strings.HasPrefix(r.Item, "test P") {
			fmt.Fprintln(out, wrap("", strings.TrimPrefix(r.Item, "test ")+" ("+r.Condition+"): "+r.Value+"; "+r.Tolerance, 4))
		}
	}
	fmt.Fprintln(out, "care: the output is live in C and D; only a person competent for live work measures there. Rows from memory: see the standard.")
}

// seen gathers what was measured: the trace first, figures by hand over it.
func (c *pilotCmd) seen() (commission.PilotSeen, error) {
	var seen commission.PilotSeen
	if c.Trace != "" {
		text, err := os.ReadFile(c.Trace)
		if err != nil {
			return seen, fmt.Errorf("cannot read the trace: %w", err)
		}
		if seen, err = commission.ReadPilotTrace(c.Trace, text); err != nil {
			return seen, err
		}
	}
	seen.State = c.State
	seen.Steady = seen.Steady || c.Steady
	if c.Frequency != 0 {
		seen.Frequency = quantity.Known(c.Frequency)
	}
	var err error
	take := func(flag, text string, set func() error) {
		if text != "" && err == nil {
			if e := set(); e != nil {
				err = fmt.Errorf("--%s: %w", flag, e)
			}
		}
	}
	take("high", c.High, func() error { return into(&seen.High, c.High, quantity.ParseVolts) })
	take("low", c.Low, func() error { return into(&seen.Low, c.Low, quantity.ParseVolts) })
	take("duty", c.Duty, func() error { return into(&seen.Duty, c.Duty, quantity.ParsePercent) })
	take("cable", c.Cable, func() error { return into(&seen.Cable, c.Cable, quantity.ParseOhms) })
	return seen, err
}

// into reads a quantity into its place.
func into[Q any](place *quantity.Maybe[Q], text string, parse func(string) (Q, error)) error {
	q, err := parse(text)
	if err == nil {
		*place = quantity.Known(q)
	}
	return err
}
