package main

import (
	"fmt"
	"io"

	"chargewright/choose"
)

type optionsCmd struct {
	Job       string `arg:"" type:"existingfile" help:"Job file with what is known of the site."`
	Catalogue string `type:"existingdir" help:"Folder with catalogue files of your own."`
	JSON      bool   `name:"json" help:"Print the options as JSON."`
}

// Run sets the ways the job may be done side by side.
func (c *optionsCmd) Run(out io.Writer) error {
	m, err := open(c.Job)
	if err != nil {
		return err
	}
	stock, err := catalogue(c.Catalogue)
	if err != nil {
		return err
	}
	options := choose.Options(m.Job, m.Rules, stock, choose.Aim{Purpose: choose.FirstCost})
	if c.JSON {
		return writeJSON(out, options)
	}
	heading(out, m)
	fmt.Fprintln(out, "each chosen whole, by least first cost; cost, and against the job as drawn, in the catalogue's money")
	for _, o := range options {
		fmt.Fprintf(out, "\n%s: %s\n", o.Name, o.Price())
		fmt.Fprintln(out, wrap("  needs: ", o.Needs, 4))
		if o.Leaves != "" {
			fmt.Fprintln(out, wrap("  leaves open: ", o.Leaves, 4))
		}
	}
	fmt.Fprintln(out, "\nprices and hours are those of the catalogue; the network operator names its own")
	return nil
}
