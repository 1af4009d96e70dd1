package main

import (
	"fmt"
	"io"
	"os"

	"chargewright/model"
	"chargewright/prove"
)

type ratesCmd struct {
	History string   `arg:"" help:"Table of what was found at past jobs (CSV): job, cause by its key, at, put right."`
	Jobs    []string `arg:"" help:"Every job that is counted, also those where nothing was found."`
	Weight  float64  `help:"How many places the program's own rates count for." default:"${weight}"`
	Write   string   `help:"Write the table of causes with these rates into a new file, to give to explain --priors." placeholder:"FILE"`
}

// Run counts what was found and put right against where it could have been.
func (c *ratesCmd) Run(out io.Writer) error {
	var jobs []*model.Model
	for _, file := range c.Jobs {
		m, err := open(file)
		if err != nil {
			return err
		}
		jobs = append(jobs, m)
	}
	f, err := os.Open(c.History)
	if err != nil {
		return fmt.Errorf("cannot read what was found: %w", err)
	}
	defer f.Close()
	counted, err := prove.CountRates(jobs, c.History, f, c.Weight)
	if err != nil {
		return err
	}
	fmt.Fprintf(out, "%d jobs; the program's own rates count for %g places\n\n", counted.Jobs, c.Weight)
	fmt.Fprintf(out, "  %-24s %6s %7s %9s %9s\n", "cause", "found", "places", "before", "after")
	for _, r := range counted.Rates {
		if r.Found > 0 {
			fmt.Fprintf(out, "  %-24s %6d %7d %9.4g %9.4g\n", r.Key, r.Found, r.Places, r.Before, r.After)
		}
	}
	fmt.Fprintln(out, wrap("  ", "all others were found nowhere, and their rates fall with the places looked at", 4))
	for _, left := range counted.Left {
		fmt.Fprintln(out, wrap("  not counted, ", left, 4))
	}
	if c.Write != "" {
		return writeNew(c.Write, []byte(counted.Table))
	}
	return nil
}
