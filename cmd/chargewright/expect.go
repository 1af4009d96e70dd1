package main

import (
	"fmt"
	"io"
	"strings"

	"chargewright/finding"
	"chargewright/prove"
)

type expectCmd struct {
	Job  string `arg:"" help:"Job file."`
	JSON bool   `name:"json" help:"Print the expectations as JSON."`
	At   string `help:"Only what is read here: supply, or the name of a board, circuit or point."`
}

// Run predicts the readings. It exits 3 while one cannot be predicted.
func (c *expectCmd) Run(out io.Writer) error {
	m, err := open(c.Job)
	if err != nil {
		return err
	}
	expected := prove.Expect(m)
	if c.At != "" {
		var here []prove.Expectation
		for _, e := range expected {
			if e.At == c.At {
				here = append(here, e)
			}
		}
		if len(here) == 0 {
			return fmt.Errorf("nothing is read at %q: the places are %s", c.At, places(expected))
		}
		expected = here
	}
	unknown := 0
	for _, e := range expected {
		if !e.Known() {
			unknown++
		}
	}
	if c.JSON {
		err = writeJSON(out, prove.Report{Job: m.Job.Name, Expectations: expected})
	} else {
		heading(out, m)
		printExpectations(out, expected)
		for _, a := range m.Assumptions {
			fmt.Fprintf(out, "assumed: %s\n", a)
		}
		fmt.Fprintln(out, wrap("next: ", "isolate, lock off, prove the tester, prove dead, prove the tester again; then the dead tests in this order, before "+
			"anything is energised", 6))
	}
	if err == nil && unknown > 0 {
		err = outcome{exitOpen}
	}
	return err
}

func places(es []prove.Expectation) string {
	var names []string
	seen := map[string]bool{}
	for _, e := range es {
		if !seen[e.At] {
			seen[e.At] = true
			names = append(names, e.At)
		}
	}
	return strings.Join(names, ", ")
}

func printExpectations(out io.Writer, es []prove.Expectation) {
	stage := ""
	for _, e := range es {
		if e.Stage != stage {
			stage = e.Stage
			fmt.Fprintf(out, "\n%s tests\n", stage)
			fmt.Fprintf(out, "  %-26s %-18s %-34s %s\n", "reading", "at", "expected", "limit")
		}
		limit := ""
		if !e.Limit.IsZero() {
			limit = e.LimitIs + " " + e.Limit.String()
		}
		fmt.Fprintf(out, "  %-26s %-18s %-34s %s\n", e.Reading, e.At, bandText(e), limit)
		if e.Taken != "" {
			fmt.Fprintf(out, "      read: %s\n", e.Taken)
		}
		if e.Means != "" {
			fmt.Fprintln(out, wrap("      ", e.Means, 6))
		}
		if len(e.Missing) > 0 {
			fmt.Fprintln(out, wrap("      ", "not known: "+strings.Join(e.Missing.Words(), "; "), 6))
		}
	}
	fmt.Fprintln(out)
}

// bandText prints a band in one line.
func bandText(e prove.Expectation) string {
	text := func(a finding.Amount) string { return a.String() }
	switch {
	case !e.Known():
		return "not known"
	case !e.Mid.IsZero() && !e.Low.IsZero():
		return fmt.Sprintf("%s (%s to %s)", text(e.Mid), text(e.Low), text(e.High))
	case !e.Low.IsZero() && !e.High.IsZero():
		return fmt.Sprintf("%s to %s", text(e.Low), text(e.High))
	case !e.Low.IsZero():
		return "more than " + text(e.Low)
	case !e.High.IsZero():
		return "less than " + text(e.High)
	}
	return "seen, not measured"
}
