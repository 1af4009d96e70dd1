package main

import (
	"fmt"
	"io"

	"chargewright/choose"
	"chargewright/job"
	"chargewright/model"
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
	target, err := quantity.ParseOhms(c.Target)
	if err != nil {
		return err
	}
	heading(out, m)
	soil, known, err := c.soil(m)
	if err != nil {
		return err
	}
	if !known {
		fmt.Fprintln(out, "? not known: resistivity of the soil; measure it with four pins, or give --soil")
	} else if err := c.electrodes(out, m, stock, soil, target); err != nil {
		return err
	}
	measures := choose.Choose(m.Job, m.Rules, stock, choose.Aim{Purpose: choose.FirstCost}).Earthing
	printMeasures(out, measures)
	fmt.Fprintln(out, "a predicted electrode is measured before it is relied on, in the dry season if it can be; locate buried services before anything is driven")
	return nil
}

// soil returns the resistivity that was given, or that of the job's electrodes.
func (c *earthCmd) soil(m *model.Model) (quantity.OhmMetres, bool, error) {
	if c.Soil != "" {
		rho, err := quantity.ParseOhmMetres(c.Soil)
		return rho, true, err
	}
	for _, e := range m.Job.Electrodes {
		if rho, ok := e.Soil.Get(); ok {
			return rho, true, nil
		}
	}
	return 0, false, nil
}

// electrodes lists what reaches the target.
func (c *earthCmd) electrodes(out io.Writer, m *model.Model, stock *choose.Catalogue, soil quantity.OhmMetres, target quantity.Ohms) error {
	fmt.Fprintf(out, "\nelectrodes for %v or less in %v\n", target, soil)
	for _, e := range stock.Reaching(m.Rules, soil, target) {
		mark := "  • "
		if e.Resistance > float64(target) {
			mark = "  – "
		}
		fmt.Fprintf(out, "%s%s: %v, %.0f\n", mark, e, quantity.Ohms(e.Resistance), e.Cost)
	}
	const diameter = 0.016
	if l, err := choose.NeededLength(m.Rules, soil, diameter, target); err == nil {
		fmt.Fprintf(out, "  a single rod of 16 mm needs %v\n", l)
	} else {
		fmt.Fprintln(out, wrap("  ", err.Error(), 4))
	}
	if c.Upper != "" {
		if err := c.layers(out, m, soil, diameter); err != nil {
			return err
		}
	}
	for _, e := range m.Job.Electrodes {
		d, ok := e.FromPME.Get()
		if !ok {
			fmt.Fprintf(out, "  ? electrode %s: distance to buried metalwork on the PME terminal not known\n", e.Name)
			continue
		}
		length := e.Length.Or(1.2)
		if share, _, err := m.Rules.MutualShare(length, e.Diameter.Or(diameter), d); err == nil && e.Kind.Or(job.Rod) == job.Rod {
			fmt.Fprintf(out, "  electrode %s: metal %v away picks up %.1f %% of the voltage of a rod of %v\n", e.Name, d, 100*share, length)
		}
	}
	return nil
}

// layers says what an upper layer makes of each length of rod.
func (c *earthCmd) layers(out io.Writer, m *model.Model, lower quantity.OhmMetres, diameter quantity.Metres) error {
	upper, err := quantity.ParseOhmMetres(c.Upper)
	if err != nil {
		return err
	}
	h, err := quantity.ParseMetres(c.Thickness)
	if err != nil {
		return err
	}
	fmt.Fprintf(out, "  through %v of %v into %v, an estimate:\n", h, upper, lower)
	for _, l := range []quantity.Metres{1.2, 2.4, 3.6, 4.8} {
		r, _, err := choose.RodInLayers(m.Rules, upper, lower, h, l, diameter)
		if err != nil {
			return err
		}
		fmt.Fprintf(out, "    rod of %v: %v\n", l, r)
	}
	return nil
}
