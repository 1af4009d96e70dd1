package main

import (
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"slices"
	"strings"

	"chargewright/drawing"
	"chargewright/finding"
	"chargewright/hear"
	"chargewright/prove"
)

type explainCmd struct {
	Job         string   `arg:"" optional:"" help:"Job file."`
	JSON        bool     `name:"json" help:"Print readings, causes and next test as JSON."`
	Priors      string   `help:"Table of causes and how often each is found, in place of the program's own." placeholder:"FILE"`
	WritePriors string   `name:"write-priors" help:"Write the program's own table of causes into a new file, to edit and give back with --priors." placeholder:"FILE"`
	Picture     string   `help:"Draw the readings and what explains them into a new file (SVG)." placeholder:"FILE"`
	Symptom     []string `help:"What is seen in use, weighed with the readings; may be given more than once: ${symptoms}." placeholder:"WORDS"`
	Log         []string `help:"Log of a charge point, as hear reads it: what it shows is weighed with readings and symptoms. May be given more than once." placeholder:"FILE"`
	All         bool     `help:"Print what the readings tell together, and what each cause would make of every other."`
}

// Run explains the readings of a job. It exits 1 where something is more
// likely wrong than not, or a reading does not meet its limit, and 3 where
// nothing has been read.
func (c *explainCmd) Run(out io.Writer) error {
	if c.WritePriors != "" {
		return writeNew(c.WritePriors, []byte(prove.PriorsTable()))
	}
	if c.Job == "" {
		return errors.New("name the job file whose readings are to be explained")
	}
	priors, err := c.priors()
	if err != nil {
		return err
	}
	m, err := open(c.Job)
	if err != nil {
		return err
	}
	seen, heard, err := signsIn(c.Log)
	if err != nil {
		return err
	}
	e, err := prove.Explain(m, priors, slices.Concat(c.Symptom, seen)...)
	if err != nil {
		return err
	}
	e.Flags = append(e.Flags, heard...)
	if c.JSON {
		err = writeJSON(out, e)
	} else {
		heading(out, m)
		printReadings(out, e.Readings)
		if c.All {
			r, err := prove.Reconcile(m)
			if err != nil {
				return err
			}
			printEstimates(out, r)
		}
		printCauses(out, e, c.All)
	}
	if err == nil && c.Picture != "" {
		err = writeNew(c.Picture, drawing.Readings(e).SVG())
	}
	if err != nil {
		return err
	}
	switch {
	case len(e.Causes) == 0:
		return outcome{exitOpen}
	case !e.Sound() || failsLimit(e.Readings):
		return outcome{exitFails}
	}
	return nil
}

// signsIn hears logs: what they show that is weighed, and what was heard in words.
func signsIn(files []string) (seen, heard []string, err error) {
	known := prove.Signs()
	for _, file := range files {
		log, err := os.Open(file)
		if err != nil {
			return nil, nil, fmt.Errorf("cannot read the log: %w", err)
		}
		r, err := hear.Listen(log)
		log.Close()
		if err != nil {
			return nil, nil, err
		}
		if r.Messages == 0 && len(r.Heard) == 0 {
			return nil, nil, fmt.Errorf("%s holds no OCPP message: a line of it looks like [2,\"id\",\"Action\",{…}]", file)
		}
		others := 0
		for _, h := range r.Heard {
			weighed := false
			for _, sign := range append([]string{h.Rule}, h.Codes...) {
				if slices.Contains(known, sign) {
					weighed = true
					if s := prove.InLog(sign); !slices.Contains(seen, s) {
						seen = append(seen, s)
					}
				}
			}
			if weighed {
				heard = append(heard, fmt.Sprintf("weighed, from line %d of %s: %s", h.Line, file, strings.TrimSpace(h.Happened+" "+h.Detail)))
			} else if h.Fault {
				others++
			}
		}
		if others > 0 {
			heard = append(heard, fmt.Sprintf("%s shows %d more that speak of no wiring: chargewright hear tells them", file, others))
		}
	}
	return seen, heard, nil
}

// writeNew writes a file that is not there yet.
func writeNew(name string, content []byte) error {
	f, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if err != nil {
		return fmt.Errorf("cannot write it: %w", err)
	}
	_, err = f.Write(content)
	return errors.Join(err, f.Close())
}

func (c *explainCmd) priors() (prove.Priors, error) {
	if c.Priors == "" {
		return prove.UsualPriors(), nil
	}
	text, err := os.ReadFile(c.Priors)
	if err != nil {
		return prove.Priors{}, fmt.Errorf("cannot read the table of causes: %w", err)
	}
	return prove.ReadPriors(string(text))
}

func failsLimit(rs []prove.Residual) bool {
	for _, r := range rs {
		if r.Verdict.Verdict == finding.Fails && r.TakenAgain == "" {
			return true
		}
	}
	return false
}

func printReadings(out io.Writer, rs []prove.Residual) {
	if len(rs) == 0 {
		fmt.Fprintln(out, "\nnothing has been read yet")
		return
	}
	fmt.Fprintf(out, "\n  %-26s %-14s %-12s %-28s %s\n", "reading", "at", "read", "expected", "off by")
	for _, r := range rs {
		band, off := "not known", ""
		switch {
		case r.NotCompared == "" && !r.Mid.IsZero():
			band = fmt.Sprintf("%s (%s to %s)", r.Mid, r.Low, r.High)
			off = offText(r.Off)
		case r.NotCompared == "":
			band = "correct"
			off = offText(r.Off)
		}
		fmt.Fprintf(out, "  %-26s %-14s %-12s %-28s %s\n", r.Reading, r.At, r.Taken, band, off)
		if r.NotCompared != "" {
			fmt.Fprintln(out, wrap("      ", "not compared: "+r.NotCompared, 6))
		}
		if r.TakenAgain != "" {
			continue
		}
		if v := r.Verdict; v.Verdict == finding.Fails {
			text := marks[v.Verdict] + " " + v.Words()
			if !v.Limit.IsZero() {
				text += fmt.Sprintf(": limit %s, margin %s", v.Limit, v.Margin)
			}
			fmt.Fprintln(out, wrap("      ", text+" ("+v.Clause.Name+")", 6))
			fmt.Fprintln(out, wrap("      → ", v.Next, 8))
		}
	}
}

// printEstimates says what all readings together tell of the sound job.
func printEstimates(out io.Writer, r prove.Reconciled) {
	fmt.Fprintln(out, "\nwhat they tell together, if nothing is wrong")
	for _, e := range r.Estimates {
		fmt.Fprintln(out, wrap("  ", fmt.Sprintf("%s: %s, give or take %.2g %s; %s before any reading", e.What, e.Value, 2*e.Deviation, e.Value.Unit, e.Recorded), 4))
	}
	if r.Odd != "" {
		fmt.Fprintln(out, wrap("  ", "furthest from what all the others make of it: "+r.Odd, 4))
	}
}

// offText says in words how far a reading is from what is expected.
func offText(off float64) string {
	a := math.Abs(off)
	switch {
	case a <= 2:
		return "fits"
	case a <= 3:
		return fmt.Sprintf("%.1f deviations: at the edge", a)
	case off > 0:
		return fmt.Sprintf("%.0f deviations above", a)
	}
	return fmt.Sprintf("%.0f deviations below", a)
}

func printCauses(out io.Writer, e prove.Explanation, all bool) {
	for _, f := range e.Flags {
		fmt.Fprintln(out, wrap("  flag: ", f, 8))
	}
	if len(e.Causes) == 0 {
		fmt.Fprintln(out, wrap("next: ", "isolate, lock off, prove dead; take the dead tests in order", 6))
		return
	}
	fmt.Fprintln(out, "\nwhat explains them")
	for i, c := range e.Causes {
		if c.Probability < 0.02 && i > 0 && !all {
			continue
		}
		line := fmt.Sprintf("%6s  %s", c.Likely(), c.Cause)
		if c.Size != "" {
			line += ", " + c.Size
		}
		fmt.Fprintln(out, wrap("  ", line, 9))
		if len(c.Alike) > 0 {
			fmt.Fprintln(out, wrap("         no meter reading tells it from: ", strings.Join(c.Alike, "; "), 9))
		}
		if c.Danger != "" {
			fmt.Fprintln(out, wrap("         danger: ", c.Danger, 9))
		}
		if c.Next != "" && i < 3 {
			next := c.Next
			if slices.Contains(c.Acts, prove.NetworkOperator) {
				next = "not yours to put right: " + next
			}
			fmt.Fprintln(out, wrap("         → ", next, 11))
		}
		if len(c.Plan) > 0 && (i < 3 || all) {
			fmt.Fprintln(out, wrap("         plan: ", planText(c), 15))
		}
		if all {
			for _, p := range c.Predicts {
				fmt.Fprintf(out, "           %-26s %-12s %-34s %s\n", p.Reading, p.At, p.Shows, p.Taken)
			}
		}
	}
	if rest := (prove.Cause{Probability: e.Rest}); e.Rest >= 0.02 {
		fmt.Fprintln(out, wrap("  ", fmt.Sprintf("%6s  something that these readings cannot show, or that is too unlikely to be listed", rest.Likely()), 9))
	}
	printExcluded(out, e.Excluded)
	printNextTest(out, e.NextTest)
}

// planText is the tests that would single a cause out, with what each then
// shows.
func planText(c prove.Cause) string {
	var steps []string
	for _, s := range c.Plan {
		at := s.Reading + " at " + s.At
		if s.Function != "" {
			at += ", " + s.Function
		}
		steps = append(steps, at+": "+s.Shows)
	}
	return fmt.Sprintf("%s; if they show that, %s", strings.Join(steps, "; then "), prove.Cause{Probability: c.Then}.Likely())
}

// printExcluded says which causes are off the list, and which reading took them
// off it.
func printExcluded(out io.Writer, es []prove.Exclusion) {
	if len(es) == 0 {
		return
	}
	fmt.Fprintln(out, "\nexcluded")
	for _, e := range es {
		without := prove.Cause{Probability: e.Was}.Likely()
		fmt.Fprintln(out, wrap("  ", fmt.Sprintf("%s: by %s at %s, %s; %s without it", e.Cause, e.Reading, e.At, e.Taken, without), 4))
	}
}

func printNextTest(out io.Writer, t *prove.Test) {
	if t == nil {
		fmt.Fprintln(out, wrap("\nnext test: ", "none on the list would tell more; look, and act on the first cause", 11))
		return
	}
	head := fmt.Sprintf("%s at %s", t.Reading, t.At)
	if t.Function != "" {
		head += ", " + t.Function
	}
	lead := "next test"
	if t.Proof {
		lead = "to prove it put right"
	}
	fmt.Fprintf(out, "\n%s: %s (%.0f min)\n", lead, head, math.Max(1, t.Minutes))
	fmt.Fprintln(out, wrap("  ", t.How, 2))
	fmt.Fprintln(out, wrap("  caution: ", t.Caution, 2))
	if t.First != "" {
		fmt.Fprintln(out, wrap("  first: ", t.First, 2))
	}
	if t.Again != "" {
		fmt.Fprintln(out, wrap("  once more: ", t.Again+"; with nothing altered in between, enter it with earlier stands: yes", 2))
	}
	for _, o := range t.Outcomes {
		fmt.Fprintln(out, wrap("  ", fmt.Sprintf("%s: %s", o.Shows, o.Means), 4))
	}
}
