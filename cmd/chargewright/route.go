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
		for _, g := range r.Gaps {
			if g != "" {
				fmt.Fprintln(out, wrap("  ? not known: ", g, 4))
			}
		}
		if r.Cut == 0 {
			continue
		}
		line := fmt.Sprintf("cut %.1f m, slack included", r.Cut)
		if r.Bend > 0 {
			line += fmt.Sprintf("; bend no tighter than %.0f mm inside", 1000*r.Bend)
		}
		if r.Gland != "" {
			line += "; 2 glands " + r.Gland
		}
		fmt.Fprintln(out, wrap("  ", line+"; "+r.Ends, 4))
		for _, l := range r.Legs {
			text := fmt.Sprintf("%s, %.4g m", l.Leg, l.Length)
			if l.Cut > 0 {
				text += fmt.Sprintf(", cut %.1f m of its own cable", l.Cut)
			}
			if l.Clips > 0 {
				text += fmt.Sprintf(": %d clips, every %.0f mm along, %.0f mm upright", l.Clips, 1000*l.Every, 1000*l.Upright)
			}
			if l.Holds != "" {
				text += ": " + l.Holds
			}
			fmt.Fprintln(out, wrap("  ", text, 4))
			if l.Limit != "" {
				fmt.Fprintln(out, wrap("    → ", l.Limit, 6))
			}
		}
	}
	fmt.Fprintln(out)
	for _, l := range leads {
		fmt.Fprintln(out, wrap("limiter "+l.Limiter+": ", l.Says, 2))
	}
	fmt.Fprintln(out, "cable sizes are nominal and makers vary: measure the cable at hand; clips hold in a fire too (521.10.202)")
	return nil
}
