package main

import (
	"fmt"
	"io"
	"strings"
	"time"

	"chargewright/demand"
	"chargewright/design"
	"chargewright/drawing"
	"chargewright/finding"
	"chargewright/model"
	"chargewright/quantity"
)

type demandCmd struct {
	Job            string `arg:"" help:"Job file."`
	Log            string `help:"Recording of the supply (CSV): a meter's half-hours or a logger's currents."`
	recordingFlags `embed:""`
	Runs           int    `default:"10" help:"How many simulated years, each with its own seed; 0 for none."`
	Seed           uint64 `default:"1" help:"Seed of the first year."`
	JSON           bool   `name:"json" help:"Print the estimates as JSON."`
	Picture        string `short:"o" help:"Also draw the day of the greatest demand and its duration curve into this SVG file."`
}

// estimateReport is one row of the published shape of the demand command.
type estimateReport struct {
	How      string              `json:"how"`
	Known    bool                `json:"known"`
	Existing [3]quantity.Amperes `json:"existing"`
	InFull   [3]quantity.Amperes `json:"pointsInFull"`
	Held     [3]quantity.Amperes `json:"held"`
	Why      []string            `json:"why"`
	Source   string              `json:"source"`
	Missing  []string            `json:"missing"`
}

// Run finds the maximum demand three ways and says who must be told of it.
func (c *demandCmd) Run(out io.Writer) error {
	m, err := open(c.Job)
	if err != nil {
		return err
	}
	log, err := c.readFor(m, c.Log)
	if err != nil {
		return err
	}
	if c.Runs < 0 || c.Runs > 100_000 {
		return fmt.Errorf("--runs: %d: 0 to 100000 is wanted", c.Runs)
	}
	zone, err := zoneOf("zone", c.Zone)
	if err != nil {
		return err
	}
	plan := demand.Plan{Start: time.Date(2026, 1, 5, 0, 0, 0, 0, zone), Step: time.Minute, Length: 365 * 24 * time.Hour, Log: log}
	if log != nil {
		plan.Start = log.Start.In(zone)
		if log.Step%time.Minute != 0 {
			plan.Step = min(log.Step, 30*time.Minute)
		}
	}
	prepared := demand.Prepare(m, plan)
	var sum *demand.Study
	var worst *demand.Result
	if c.Runs > 0 && len(prepared.Gaps) == 0 {
		if sum, worst, err = study(prepared, c.Runs, c.Seed); err != nil {
			return err
		}
	} else if len(prepared.Gaps) > 0 {
		sum = &demand.Study{Gaps: prepared.Gaps}
	}
	estimates := []demand.Estimate{demand.ByAllowance(m), demand.ByMeasurement(m, log), demand.BySimulation(m, sum)}
	var found []finding.Finding
	known := 0
	for _, e := range estimates {
		if e.Known() {
			known++
			found = append(found, e.Finding(m))
		}
	}
	if known == 0 {
		found = append(found, estimates[0].Finding(m))
	}
	if c.Picture != "" {
		scene, err := c.picture(m, prepared, worst)
		if err != nil {
			return err
		}
		if err := replace(c.Picture, scene.SVG()); err != nil {
			return fmt.Errorf("write the picture: %w", err)
		}
	}
	d := m.SupplyDemand()
	route, reasons, gaps := design.Notification(m, d)
	if c.JSON {
		err = c.json(out, m, estimates, found, route, reasons, gaps)
	} else {
		c.print(out, m, estimates, found, route, reasons, gaps)
	}
	if err != nil {
		return err
	}
	code := finding.Summarise(found).ExitCode()
	if code == exitMet && route != design.TellAfter {
		code = exitOpen
	}
	if code != exitMet {
		return outcome{code}
	}
	return nil
}

// routes are the ways the network operator hears of the work.
var routes = map[design.Route]string{
	design.RouteNotKnown:          "not known",
	design.TellAfter:              "tell the network operator after installing, within 28 days",
	design.AskBefore:              "ask the network operator before installing",
	design.AskBeforeDoNotEnergise: "ask the network operator before installing, and do not energise",
}

func (c *demandCmd) print(out io.Writer, m *model.Model, estimates []demand.Estimate, found []finding.Finding, route design.Route, reasons, gaps []string) {
	heading(out, m)
	fmt.Fprintf(out, "\nmaximum demand, A in L1 · L2 · L3\n  %-22s %-22s %-22s %s\n", "found by", "before the points", "points in full", "with load control")
	for _, e := range estimates {
		if !e.Known() {
			fmt.Fprintf(out, "  %-22s not known\n", e.How)
			fmt.Fprintln(out, wrap("      ", "missing: "+strings.Join(e.Gaps, "; "), 6))
			continue
		}
		fmt.Fprintf(out, "  %-22s %-22s %-22s %s\n", e.How, threeLines(e.Existing), threeLines(e.InFull), threeLines(e.Held))
		for _, w := range e.Why {
			fmt.Fprintln(out, wrap("      ", w, 8))
		}
		fmt.Fprintln(out, wrap("      ", "source: "+e.Source.String(), 8))
	}
	fmt.Fprintln(out, "  Points take no diversity of their own: in full, or at the limit of their load control (BS 7671 722.311).")
	fmt.Fprintln(out)
	printVerdicts(out, found)
	fmt.Fprintf(out, "\nnotification: %s\n", routes[route])
	for _, r := range reasons {
		fmt.Fprintln(out, wrap("  because ", r, 4))
	}
	for _, g := range gaps {
		fmt.Fprintln(out, wrap("  missing ", g, 4))
	}
	fmt.Fprintln(out, "for the form")
	for _, line := range formData(m, best(estimates)) {
		fmt.Fprintln(out, "  "+line)
	}
	for _, a := range m.Assumptions {
		fmt.Fprintf(out, "assumed: %s\n", a)
	}
}

// printVerdicts prints every finding, what fails first, each verdict once, and
// how many there are of each.
func printVerdicts(out io.Writer, found []finding.Finding) {
	ordered := append([]finding.Finding(nil), found...)
	finding.ByUrgency(ordered)
	for i, f := range ordered {
		if i == 0 || f.Verdict != ordered[i-1].Verdict {
			fmt.Fprintf(out, "%s %s\n", marks[f.Verdict], f.Verdict)
		}
		printFinding(out, f)
	}
	s := finding.Summarise(found)
	fmt.Fprintf(out, "%d met, %d failed, %d not known, %d to judge on site\n", s.Meets, s.Fails, s.NotKnown, s.JudgeOnSite)
}

// best is the estimate for the form: what was measured, else what is published,
// else what was simulated.
func best(estimates []demand.Estimate) demand.Estimate {
	for _, i := range []int{1, 0, 2} {
		if estimates[i].Known() {
			return estimates[i]
		}
	}
	return estimates[0]
}

// formData is what the operators' form asks for, as far as it is known.
func formData(m *model.Model, e demand.Estimate) []string {
	s := &m.Job.Supply
	say := func(what, value string) string {
		if value == "" {
			value = "not known"
		}
		return fmt.Sprintf("%-46s %s", what, value)
	}
	before, after := "", ""
	if e.Known() {
		b, a := e.AfterDiversity()
		before, after = threeLines(b)+" A", threeLines(a)+" A"
	}
	lines := []string{
		say("address", m.Job.Site.Address),
		say("earthing of the supply", orNothing(s.Earthing.String())),
		say("phases", orNothing(s.Phases.String())),
		say("cut-out rating", orNothing(s.CutOut.Rating.String())),
		say("looped", orNothing(yesNo(s.Looped))),
		say("demand before, after diversity, by "+e.How, before),
		say("demand after, after diversity, by "+e.How, after),
	}
	for _, p := range m.Points {
		cur := m.PointCurrents(p)
		on := []string{}
		for k, i := range cur.Phase {
			if i > 0 {
				on = append(on, fmt.Sprintf("L%d %v", k+1, i))
			}
		}
		lines = append(lines, say("charge point "+p.Record.Name, strings.Join(on, ", ")))
	}
	return lines
}

func orNothing(text string) string {
	if text == "not known" {
		return ""
	}
	return text
}

func yesNo(b quantity.Maybe[bool]) string {
	switch yes, ok := b.Get(); {
	case !ok:
		return ""
	case yes:
		return "yes"
	}
	return "no"
}

func threeLines(l demand.Lines) string {
	return fmt.Sprintf("%.1f · %.1f · %.1f", float64(l[0]), float64(l[1]), float64(l[2]))
}

func (c *demandCmd) json(out io.Writer, m *model.Model, estimates []demand.Estimate, found []finding.Finding, route design.Route, reasons, gaps []string) error {
	var rows []estimateReport
	for _, e := range estimates {
		rows = append(rows, estimateReport{e.How, e.Known(), e.Existing, e.InFull, e.Held, e.Why, e.Source.String(), e.Gaps})
	}
	return writeJSON(out, struct {
		Job       string            `json:"job"`
		Edition   string            `json:"edition"`
		Estimates []estimateReport  `json:"estimates"`
		Findings  []finding.Finding `json:"findings"`
		Route     string            `json:"notification"`
		Reasons   []string          `json:"reasons"`
		Missing   []string          `json:"missing"`
		Form      []string          `json:"form"`
	}{m.Job.Name, string(m.Job.Edition), rows, found, routes[route], reasons, gaps, formData(m, best(estimates))})
}

func (c *demandCmd) picture(m *model.Model, s *demand.Studied, worst *demand.Result) (drawing.Scene, error) {
	if len(s.Gaps) > 0 {
		return drawing.Scene{}, fmt.Errorf("there is nothing to draw yet: %s", strings.Join(s.Gaps, "; "))
	}
	scenario, err := s.Day(c.Seed)
	if err != nil {
		return drawing.Scene{}, err
	}
	r, err := scenario.Run()
	if err != nil {
		return drawing.Scene{}, err
	}
	line := loaded(r)
	t := drawing.TraceOf(r.Trace, line, scenario.Start, scenario.Step)
	if control, ok := s.Limited(); ok {
		t.Limit, t.What = control.Limit, "limit"
	} else if d, gap := demand.CutOut(m); gap == "" {
		t.Limit, t.What = d.Rating, "cut-out"
	}
	scenes := []drawing.Scene{drawing.Demand("day", fmt.Sprintf("L%d from %s, a vehicle that takes all it can get", line+1, scenario.Start.Format("2 January 15:04")), t)}
	if worst != nil {
		var curves []drawing.Curve
		for k := range 3 {
			if worst.Peak[k] > 0 {
				curves = append(curves, drawing.Curve{Name: fmt.Sprintf("L%d", k+1), Currents: worst.Duration(k, 100)})
			}
		}
		scenes = append(scenes, drawing.Duration("duration", "For how long each current lasts, in the year with the greatest peak", curves, t.Limit, t.What, time.Duration(worst.Steps)*worst.Step))
	}
	return drawing.Stack("demand", m.Job.Name+", demand", scenes...), nil
}
