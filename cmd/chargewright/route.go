package main

import (
	"fmt"
	"io"

	"chargewright/choose"
)

type routeCmd struct {
	Job  string `arg:"" type:"existingfile" help:"Job file."`
	JSON bool   `name:"json" help:"Print the routes as JSON."`
}

// Run says what each circuit's cable asks of the way it takes.
func (c *routeCmd) Run(out io.Writer) error {
	m, err := open(c.Job)
	if err != nil {
		return err
	}
	routes, leads := choose.Routes(m), choose.Leads(m)
	if c.JSON {
		return writeJSON(out, map[string]any{"routes": routes, "leads": leads})
	}
	heading(out, m)
	for _, r := range routes {
		fmt.Fprintf(out, "\ncircuit %s: %s\n", r.Circuit, r.Cable)
		for _, g := range r.Lacks {
			fmt.Fprintln(out, wrap("  ? not known: ", g.String(), 4))
		}
		if r.Cut == 0 {
			continue
		}
		fmt.Fprintln(out, wrap("  ", r.Fetch(), 4))
		for _, l := range r.Legs {
			fmt.Fprintln(out, wrap("  ", l.String(), 4))
			if l.Limit != "" {
				fmt.Fprintln(out, wrap("    → ", l.Limit, 6))
			}
		}
	}
	fmt.Fprintln(out)
	for _, l := range leads {
		fmt.Fprintln(out, wrap("limiter "+l.Limiter+": ", l.Says, 2))
	}
	fmt.Fprintln(out, choose.RouteCaution)
	return nil
}
