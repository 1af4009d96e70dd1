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

// Run says what a log tells. The exit code is 0 where nothing stands out, 3
// where something does: a log proves nothing met.
func (c *hearCmd) Run(out io.Writer) error {
	text, err := os.ReadFile(c.Log)
	if err != nil {
		return fmt.Errorf("cannot read the log: %w", err)
	}
	r, err := hear.Hear(text)
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
	case len(r.Heard) > 0:
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
		fmt.Fprintln(out, wrap("\n? ", h.Happened+" ("+where+")", 4))
		if h.Detail != "" {
			fmt.Fprintln(out, wrap("    ", h.Detail, 4))
		}
		fmt.Fprintln(out, wrap("    → ", h.Try, 6))
		fmt.Fprintln(out, wrap("    ", h.Clause+" ("+h.Doubt+")", 4))
	}
	if len(r.Heard) == 0 && r.Messages > 0 {
		fmt.Fprintln(out, "nothing stands out")
	}
}
