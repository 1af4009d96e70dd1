package main

import (
	"fmt"
	"io"
	"strings"

	"chargewright/choose"
	"chargewright/finding"
)

// printChoice prints a design for a person: what is chosen, why, and what would
// change it.
func printChoice(out io.Writer, o *choose.Outcome) {
	heading(out, o.Model)
	fmt.Fprintf(out, "best by %s: %.0f of the catalogue's money, %d different cables and devices\n", o.Aim.Purpose, o.Cost, o.Different)
	fmt.Fprintln(out, wrap("", o.Search(), 0))
	for _, p := range o.Phases {
		fmt.Fprintf(out, "\nphases at %s: %s\n", p.Board, p.Currents())
		fmt.Fprintln(out, wrap("  ", p.Shared(), 2))
	}
	if l := o.Limiter; l != nil {
		fmt.Fprintln(out)
		fmt.Fprintln(out, wrap("limiter: ", l.Why, 2))
		if set := l.Settings(); set != "" {
			fmt.Fprintln(out, "  "+set)
		}
	}
	for _, group := range choose.Alike(o.Circuits) {
		c := group[0]
		var names []string
		for _, g := range group {
			names = append(names, g.Circuit)
		}
		fmt.Fprintf(out, "\n%s\n", wrap("circuit ", strings.Join(names, ", "), 2))
		fmt.Fprintln(out, wrap("  ", c.Material(), 4))
		fmt.Fprintln(out, wrap("  ", c.Binding, 4))
		var rules []string
		for _, m := range c.Tightest() {
			rules = append(rules, m.String())
		}
		fmt.Fprintln(out, wrap("  rules, tightest first: ", strings.Join(rules, "; "), 4))
		for _, f := range c.Flips {
			fmt.Fprintln(out, wrap("  flips: ", f.String(), 4))
		}
	}
	for _, s := range o.Surge {
		fmt.Fprintln(out)
		fmt.Fprintln(out, wrap("surge: ", s.String(), 2))
		fmt.Fprintln(out, wrap("  its data states at least: ", s.Asks, 4))
	}
	printMeasures(out, o.Earthing)
	for _, b := range o.Boards {
		fmt.Fprintln(out)
		fmt.Fprintln(out, wrap("board "+b.Board+": ", b.String(), 2))
	}
	for i, g := range o.Lacks {
		if i == 0 {
			fmt.Fprintln(out, "\n? left open")
		}
		fmt.Fprintln(out, wrap("  ", g.String(), 4))
	}
	fmt.Fprintln(out)
	for _, a := range o.Assumed {
		fmt.Fprintln(out, wrap("assumed: ", a, 2))
	}
	fmt.Fprintln(out, "the job as chosen:", finding.Summarise(o.Findings))
	for _, f := range o.Findings {
		if f.Verdict == finding.Fails || f.Verdict == finding.NotKnown {
			fmt.Fprintln(out, wrap("  "+marks[f.Verdict]+" ", f.Subject+": "+f.What+" ("+f.Why.String()+")", 4))
		}
	}
	fmt.Fprintln(out, wrap("", choose.PriceCaution, 0))
}

// printMeasures sets earthing measures side by side.
func printMeasures(out io.Writer, all []choose.Measure) {
	for i, m := range all {
		if i == 0 {
			fmt.Fprintln(out, "\nearthing of the points, side by side")
		}
		mark := "  – "
		if m.Permitted {
			mark = "  • "
		}
		fmt.Fprintln(out, wrap(mark, m.String(), 4))
	}
}
