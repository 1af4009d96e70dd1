package main

import (
	"cmp"
	"fmt"
	"io"
	"math"

	"chargewright/demand"
	"chargewright/drawing"
	"chargewright/finding"
	"chargewright/ledger"
	"chargewright/quantity"
	"chargewright/works"
)

type clampCmd struct {
	Site       string `arg:"" optional:"" help:"Recording of the site's current (CSV): a column for each of the three lines, or one column of one clamp."`
	Point      string `arg:"" optional:"" help:"Recording of the charge point's current (CSV), at the same pace."`
	Zone       string `default:"Europe/London" help:"Time zone of the site."`
	Clock      string `help:"Time zone of the files' times, where it is not the site's, like UTC."`
	PointClock string `help:"Time zone of the point's file, where it is another still."`
	Time       string `help:"In the site's file, heading of the column with date and time; or two, date and time of day, with a comma between."`
	Amps       string `help:"In the site's file, headings of the columns with the current, in A, with commas between."`
	PointTime  string `help:"The same in the point's file."`
	PointAmps  string `help:"In the point's file, heading of the column with the current, in A."`
	Line       string `default:"L2" enum:"L1,L2,L3" help:"Line that feeds the point; with one column of the site, the line its clamp should be on."`
	Read       string `help:"Six readings instead: L1,L2,L3 before and L1,L2,L3 during a charge, with --takes; or the clamp before, during, after and the point before, during, after."`
	Takes      string `help:"Current the charge takes, like 32 A, for three readings before and three during."`
	Steps      bool   `help:"Print the two-minute procedure on site."`
	JSON       bool   `name:"json" help:"Print the result as JSON."`
	Picture    string `short:"o" help:"Also draw the fit into this SVG file."`
}

// Run proves a clamp from recordings, or from six readings.
func (c *clampCmd) Run(out io.Writer) error {
	if c.Steps {
		for i, step := range demand.OnSiteSteps {
			fmt.Fprintln(out, wrap(fmt.Sprintf("%d  ", i+1), step, 3))
		}
		return nil
	}
	line := int(c.Line[1] - '1')
	result, err := c.prove(line)
	if err != nil {
		return err
	}
	if c.Picture != "" {
		scene := drawing.ClampFit("clamp", "Clamp against the charge point on "+c.Line, result)
		if err := replace(c.Picture, scene.SVG()); err != nil {
			return fmt.Errorf("write the picture: %w", err)
		}
	}
	f := result.Finding(works.Thing{Name: "clamp, point on " + c.Line})
	if c.JSON {
		err = writeJSON(out, result.Report())
	} else {
		printClamp(out, result, f)
	}
	if err != nil {
		return err
	}
	if code := finding.Summarise([]finding.Finding{f}).ExitCode(); code != exitMet {
		return outcome{code}
	}
	return nil
}

func (c *clampCmd) prove(line int) (demand.ClampResult, error) {
	if c.Read != "" {
		return c.sixNumbers(line)
	}
	if c.Site == "" || c.Point == "" {
		return demand.ClampResult{}, fmt.Errorf("two recordings are wanted, the site's and the point's; or six readings with --read; --steps prints how to take them")
	}
	site, err := columnsOf("amps", c.Time, c.Amps)
	if err != nil {
		return demand.ClampResult{}, err
	}
	point, err := columnsOf("point-amps", c.PointTime, c.PointAmps)
	if err != nil {
		return demand.ClampResult{}, err
	}
	asked := ledger.Clamp{Zone: c.Zone, Line: line,
		Site:  ledger.Recording{Table: tableAt(c.Site), Columns: site, Clock: c.Clock},
		Point: ledger.Recording{Table: tableAt(c.Point), Columns: point, Clock: cmp.Or(c.PointClock, c.Clock)}}
	result, err := asked.Prove()
	return result, byOption(err)
}

// sixNumbers reads six readings as they were typed.
func (c *clampCmd) sixNumbers(line int) (demand.ClampResult, error) {
	v, err := readings("read", c.Read, 6)
	if err != nil {
		return demand.ClampResult{}, err
	}
	first, second := [3]float64(v[:3]), [3]float64(v[3:])
	if c.Takes == "" {
		return demand.OnSiteOne(first, second), nil
	}
	takes, err := quantity.ParseAmperes(c.Takes)
	if err != nil {
		return demand.ClampResult{}, fmt.Errorf("--takes: %w", err)
	}
	return demand.OnSiteThree(first, second, takes, line), nil
}

func printClamp(out io.Writer, r demand.ClampResult, f finding.Finding) {
	fmt.Fprintf(out, "%s %s: %s\n", marks[f.Verdict], f.Verdict, f.What)
	fmt.Fprintln(out, wrap("  ", f.Why.String(), 4))
	if len(r.Fit) > 0 {
		fmt.Fprintf(out, "  %-10s %-22s %s\n", "channel", "change over the point's", "own restlessness")
		for k := range r.Channels {
			name := fmt.Sprintf("L%d", k+1)
			if r.Channels == 1 {
				name = "clamp"
			}
			noise := "not known"
			if r.Noise[k] > 0 {
				noise = r.Noise[k].String() + " from reading to reading"
			}
			fmt.Fprintf(out, "  %-10s %-22s %s\n", name, fmt.Sprintf("%.2f ± %.2f", math.Round(r.Share[k]*100)/100+0, 2*r.Spread[k]), noise)
		}
		fmt.Fprintf(out, "  %d changes of the point, the site's readings %v behind\n", r.Steps, r.Delay)
	}
	if f.Next != "" {
		fmt.Fprintln(out, wrap("  → ", f.Next, 4))
	}
}
