package main

import (
	"fmt"
	"io"
	"strings"

	"chargewright/reckon"
)

type reckonCmd struct {
	Facts []string `arg:"" optional:"" help:"What is known, in any order, as you would say it: 25 m 6 mm² SWA 7.4 kW PME. Also B40, Ze 0.18 Ω, 3 phase, clipped direct, 8 h, R1+R2 0.34 Ω."`
	Job   string   `help:"Make it a job: write the job file, what was assumed marked as assumed." placeholder:"FILE"`
	Name  string   `help:"What that job is called."`
	JSON  bool     `name:"json" help:"Print the answer as JSON."`
}

// Run answers from what was said, and lists what it assumed.
func (c *reckonCmd) Run(out io.Writer) error {
	said, err := reckon.Words(strings.Join(c.Facts, " "))
	if err != nil {
		return err
	}
	a, err := reckon.Reckon(said)
	if err != nil {
		return err
	}
	if c.JSON {
		err = writeJSON(out, a)
	} else {
		printReckoned(out, a)
	}
	if err == nil && c.Job != "" {
		text, wrong := a.Job(c.Name)
		if wrong != nil {
			return wrong
		}
		if err = writeJob(c.Job, text); err == nil && !c.JSON {
			fmt.Fprintf(out, "%s written\nnext: chargewright check %s\n", c.Job, c.Job)
		}
	}
	if code := a.Summary().ExitCode(); err == nil && code != exitMet {
		return outcome{code}
	}
	return err
}

func printReckoned(out io.Writer, a *reckon.Answer) {
	for _, r := range a.Rows {
		line := fmt.Sprintf("  %-34s %s", r.What, orNotKnown(r.Value))
		if r.Limit != "" {
			line += "   limit " + r.Limit
		}
		if words := a.Words(r); words != "" {
			line += "   " + marks[r.Verdict] + " " + words
		}
		fmt.Fprintln(out, line)
		for _, more := range []string{strings.Join(r.Lacks, "; "), r.Why, r.Next} {
			if more != "" {
				fmt.Fprintln(out, wrap("      ", more, 6))
			}
		}
	}
	for _, head := range []struct {
		says    string
		assumed bool
	}{{"said", false}, {"assumed", true}} {
		fmt.Fprintf(out, "\n%s\n", head.says)
		for _, f := range a.Facts {
			switch {
			case f.Assumed != head.assumed:
			case f.Assumed:
				fmt.Fprintln(out, wrap(fmt.Sprintf("  %-31s", f.Label), f.Value+": "+f.Why, 34))
			default:
				fmt.Fprintf(out, "  %-31s %s\n", f.Label, f.Value)
			}
		}
	}
	fmt.Fprintf(out, "\n%s\n%s\n", a.Edition, wrap("", reckon.Caution, 0))
}

func orNotKnown(value string) string {
	if value == "" {
		return "not known"
	}
	return value
}
