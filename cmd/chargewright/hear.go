package main

import (
	"fmt"
	"io"
	"os"

	"chargewright/hear"
)

type hearCmd struct {
	Log  string `arg:"" help:"Recorded OCPP log, or a log a charge point exports."`
	JSON bool   `name:"json" help:"Print what was heard as JSON."`
}

// Run says what a log tells. The exit code is 0 where no fault stands out, 3 where
// one does: a log proves nothing met.
func (c *hearCmd) Run(out io.Writer) error {
	log, err := os.Open(c.Log)
	if err != nil {
		return fmt.Errorf("cannot read the log: %w", err)
	}
	defer log.Close()
	r, err := hear.Listen(log)
	if err != nil {
		return err
	}
	if c.JSON {
		if err := writeJSON(out, r); err != nil {
			return err
		}
	} else {
		printHeard(out, r)
	}
	switch {
	case r.Messages == 0 && len(r.Heard) == 0:
		return fmt.Errorf("%s holds no OCPP message: a line of it looks like [2,\"id\",\"Action\",{…}]", c.Log)
	case r.Faults() > 0:
		return outcome{exitOpen}
	}
	return nil
}

func printHeard(out io.Writer, r hear.Report) {
	fmt.Fprintf(out, "%d lines, %d messages\n", r.Lines, r.Messages)
	for _, h := range r.Heard {
		where := fmt.Sprintf("line %d", h.Line)
		if h.Times > 1 {
			where += fmt.Sprintf(", %d times", h.Times)
		}
		mark := "\n? "
		if !h.Fault {
			mark = "\n· "
		}
		fmt.Fprintln(out, wrap(mark, h.Happened+" ("+where+")", 4))
		if h.Detail != "" {
			fmt.Fprintln(out, wrap("    ", h.Detail, 4))
		}
		if h.Because != "" {
			fmt.Fprintln(out, wrap("    ", "It comes from this: "+h.Because+".", 4))
		}
		fmt.Fprintln(out, wrap("    → ", h.Try, 6))
		fmt.Fprintln(out, wrap("    ", h.Clause+" ("+h.Doubt+")", 4))
	}
	if r.Faults() == 0 && r.Messages > 0 {
		fmt.Fprintln(out, "\nno fault stands out")
	}
	if len(r.Well) > 0 {
		fmt.Fprintln(out, "\nas it should be")
	}
	for _, well := range r.Well {
		fmt.Fprintln(out, wrap("  ", well, 4))
	}
	for _, bound := range r.Bounds {
		fmt.Fprintln(out, wrap("  ! ", bound, 4))
	}
}
