package main

import (
	"fmt"
	"io"

	"chargewright/choose"
	"chargewright/quantity"
)

type earthCmd struct {
	Job       string `arg:"" type:"existingfile" help:"Job file."`
	Target    string `default:"200 Ω" help:"Resistance the electrode is to reach."`
	Soil      string `help:"Resistivity of the soil, where the job has none, like 100 Ω·m; of the lower layer where there are two."`
	Upper     string `help:"Resistivity of an upper layer, like 300 Ω·m."`
	Thickness string `default:"1 m" help:"Thickness of the upper layer."`
	Catalogue string `type:"existingdir" help:"Folder with catalogue files of your own."`
}

// Run says which electrodes reach a resistance in the soil of the job, and sets
// the earthing measures of its points side by side.
func (c *earthCmd) Run(out io.Writer) error {
	m, err := open(c.Job)
	if err != nil {
		return err
	}
	stock, err := catalogue(c.Catalogue)
	if err != nil {
		return err
	}
	asked, err := c.asked()
	if err != nil {
		return err
	}
	ground, err := choose.StudyGround(m, stock, asked)
	if err != nil {
		return err
	}
	heading(out, m)
	printGround(out, ground, asked)
	printMeasures(out, choose.Choose(m.Job, m.Rules, stock, choose.Aim{Purpose: choose.FirstCost}).Earthing)
	fmt.Fprintln(out, wrap("", choose.GroundCaution, 0))
	return nil
}

// asked reads what is asked of the ground.
func (c *earthCmd) asked() (choose.Asked, error) {
	var a choose.Asked
	var err error
	if a.Target, err = quantity.ParseOhms(c.Target); err != nil {
		return a, fmt.Errorf("--target: %w", err)
	}
	if a.Thickness, err = quantity.ParseMetres(c.Thickness); err != nil {
		return a, fmt.Errorf("--thickness: %w", err)
	}
	for _, set := range []struct {
		flag, said string
		to         *quantity.Maybe[quantity.OhmMetres]
	}{{"soil", c.Soil, &a.Soil}, {"upper", c.Upper, &a.Upper}} {
		if set.said == "" {
			continue
		}
		rho, err := quantity.ParseOhmMetres(set.said)
		if err != nil {
			return a, fmt.Errorf("--%s: %w", set.flag, err)
		}
		*set.to = quantity.Known(rho)
	}
	return a, nil
}

// printGround lists what reaches the target.
func printGround(out io.Writer, g choose.Ground, a choose.Asked) {
	if len(g.Electrodes) > 0 {
		fmt.Fprintf(out, "\nelectrodes for %v or less in %v\n", g.Target, g.Soil)
	}
	for _, e := range g.Electrodes {
		mark := "  – "
		if g.Reaches(e) {
			mark = "  • "
		}
		fmt.Fprintf(out, "%s%s: %v, %.0f\n", mark, e, quantity.Ohms(e.Resistance), e.Cost)
	}
	if g.Single != "" {
		fmt.Fprintln(out, wrap("  ", g.Single, 4))
	}
	for i, r := range g.Layers {
		if i == 0 {
			fmt.Fprintf(out, "  through %v of %v into %v, an estimate:\n", a.Thickness, a.Upper, g.Soil)
		}
		fmt.Fprintf(out, "    rod of %v: %v\n", r.Length, r.Resistance)
	}
	for _, text := range g.Near {
		fmt.Fprintln(out, "  "+text)
	}
	for _, gap := range g.Lacks {
		fmt.Fprintln(out, wrap("? not known: ", gap.String(), 2))
	}
}
