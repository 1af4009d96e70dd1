package main

import (
	"errors"
	"fmt"
	"io"
	"os"

	"chargewright/prove"
)

type readingsCmd struct {
	Job    string            `arg:"" help:"Job file."`
	From   string            `arg:"" help:"Table of readings (CSV), its first row the headings."`
	Column map[string]string `help:"Which heading a field stands under, like --column at=Location --column value=Result. Fields: at, reading, value, function, instrument, leads nulled, temperature, who, when, note." mapsep:"none"`
}

// Run takes readings from a table into a job, all of them or none.
func (c *readingsCmd) Run(out io.Writer) error {
	f, err := os.Open(c.From)
	if err != nil {
		return fmt.Errorf("cannot read the table of readings: %w", err)
	}
	defer f.Close()
	rs, err := prove.ReadColumns(c.From, f, c.Column)
	var none *prove.NoColumn
	if errors.As(err, &none) {
		return fmt.Errorf("%s: %w\nlike --column %q", c.From, err, none.Field+"="+none.Headings[0])
	}
	if err != nil {
		return err
	}
	if len(rs) == 0 {
		return fmt.Errorf("%s: no readings stand in it", c.From)
	}
	m, err := addReadings(c.Job, rs...)
	if err != nil {
		return err
	}
	e, err := prove.Explain(m, prove.UsualPriors())
	if err != nil {
		return err
	}
	fmt.Fprintf(out, "%d readings taken into %s\n", len(rs), c.Job)
	printReadings(out, e.Readings[len(e.Readings)-len(rs):])
	printCauses(out, e, false)
	if !e.Sound() || failsLimit(e.Readings) {
		return outcome{exitFails}
	}
	return nil
}
