package main

import (
	"fmt"
	"io"

	"chargewright/design"
	"chargewright/finding"
	"chargewright/prove"
)

type checkCmd struct {
	Jobs []string `arg:"" name:"job" help:"Job files to check."`
	JSON bool     `name:"json" help:"Print the findings as JSON, one object a job."`
	All  bool     `help:"Print the requirements that are met as well."`
}

// Run checks each job. The exit code is the worst of them all.
func (c *checkCmd) Run(out io.Writer) error {
	var all []finding.Finding
	var unusable error
	for i, file := range c.Jobs {
		m, err := open(file)
		if err != nil {
			unusable = joinLines(unusable, err)
			continue
		}
		found := design.Check(m)
		amiss, err := prove.Amiss(m)
		if err != nil {
			return err
		}
		found = append(found, amiss...)
		all = append(all, found...)
		if c.JSON {
			if err := writeJSON(out, finding.Report{Job: m.Job.Name, Edition: string(m.Job.Edition), Findings: found}); err != nil {
				return err
			}
			continue
		}
		if i > 0 {
			fmt.Fprintln(out)
		}
		printFindings(out, m, found, c.All)
	}
	if unusable != nil {
		return unusable
	}
	if code := finding.Summarise(all).ExitCode(); code != exitMet {
		return outcome{code}
	}
	return nil
}
