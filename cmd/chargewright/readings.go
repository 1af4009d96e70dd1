package main

import (
	"errors"
	"fmt"
	"io"
	"os"

	"chargewright/prove"
	"chargewright/reading"
)

type readingsCmd struct {
	Job    string            `arg:"" help:"Job file."`
	From   string            `arg:"" help:"Table of readings (CSV): one reading a row, or one circuit a row with a column for each reading."`
	Column map[string]string `help:"Which heading a field or a reading stands under, where it is not found, like --column at=Locality --column R1+R2=Continuity. Fields: ${fields}." mapsep:"none"`
	Rest   bool              `name:"rest-to-note" help:"Take columns that are of no reading into the note."`
}

// Run takes readings from a table into a job, all of them or none.
func (c *readingsCmd) Run(out io.Writer) error {
	before, err := open(c.Job)
	if err != nil {
		return err
	}
	f, err := os.Open(c.From)
	if err != nil {
		return fmt.Errorf("cannot read the table of readings: %w", err)
	}
	defer f.Close()
	rs, told, err := prove.ReadTable(before, c.From, f, reading.Asked{Columns: c.Column, Rest: c.Rest})
	var none *reading.NoColumn
	if errors.As(err, &none) {
		return fmt.Errorf("%s: %w\nlike --column %q", c.From, err, none.Field+"="+none.Headings[0])
	}
	if err != nil {
		return err
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
	for _, one := range told {
		fmt.Fprintln(out, wrap("  ", one, 4))
	}
	printReadings(out, e.Readings[len(e.Readings)-len(rs):])
	printCauses(out, e, false)
	if !e.Sound() || failsLimit(e.Readings) {
		return outcome{exitFails}
	}
	return nil
}
