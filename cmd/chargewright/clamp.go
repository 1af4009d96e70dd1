package main

import (
	"fmt"
	"io"
	"math"

	"chargewright/demand"
	"chargewright/drawing"
	"chargewright/finding"
	"chargewright/quantity"
)

type clampCmd struct {
	Site           string `arg:"" optional:"" help:"Recording of the site's current (CSV), one column a line."`
	Point          string `arg:"" optional:"" help:"Recording of the charge point's current (CSV), at the same pace."`
	recordingFlags `embed:""`
	Line           string `default:"L2" enum:"L1,L2,L3" help:"Line that feeds the point. With one column, the line it should show in."`
	Read           string `help:"Six readings instead: L1,L2,L3 before and L1,L2,L3 during a charge, with --takes; or the clamp before, during, after and the point before, during, after."`
	Takes          string `help:"Current the charge takes, like 32 A, for three readings before and three during."`
	Steps          bool   `help:"Print the two-minute procedure on site."`
	JSON           bool   `name:"json" help:"Print the result as JSON."`
	Picture        string `short:"o" help:"Also draw the fit into this SVG file."`
}

// clampReport is the published shape of the clamp command.
type clampReport struct {
	Verdict    demand.ClampVerdict `json:"verdict"`
	Confidence float64             `json:"confidence"`
	Expected   string              `json:"expected"`
	Seen       string              `json:"seen"`
	Share      []float64           `json:"share"`
	Spread     []float64           `json:"spread"`
	Delay      float64             `json:"delaySeconds"`
	Noise      []float64           `json:"noiseAmperes"`
	Steps      int                 `json:"steps"`
	Why        string              `json:"why"`
	Next       string              `json:"next"`
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
	f := result.Finding("clamp, point on " + c.Line)
	if c.JSON {
		err = writeJSON(out, clampJSON(result))
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
	site, err := c.read(c.Site, demand.Setting{Phases: 3})
	if err != nil {
		return demand.ClampResult{}, err
	}
	only := c.recordingFlags
	only.Amps, only.KW, only.KWh, only.Reg, only.Time = "", "", "", "", ""
	point, err := only.read(c.Point, demand.Setting{Phases: 3})
	if err != nil {
		return demand.ClampResult{}, err
	}
	return demand.ProveLogs(site, point, line)
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

func clampJSON(r demand.ClampResult) clampReport {
	out := clampReport{Verdict: r.Verdict, Confidence: r.Confidence, Expected: fmt.Sprintf("L%d", r.Expected+1), Delay: float64(r.Delay), Steps: r.Steps, Why: r.Why, Next: r.Next}
	if r.Seen >= 0 {
		out.Seen = fmt.Sprintf("L%d", r.Seen+1)
	}
	for k := range r.Channels {
		out.Share, out.Spread, out.Noise = append(out.Share, r.Share[k]), append(out.Spread, r.Spread[k]), append(out.Noise, float64(r.Noise[k]))
	}
	return out
}
