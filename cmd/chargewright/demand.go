package main

import (
	"fmt"
	"io"
	"os"

	"chargewright/demand"
	"chargewright/design"
	"chargewright/drawing"
	"chargewright/finding"
	"chargewright/job"
	"chargewright/model"
	"chargewright/quantity"
	"chargewright/trade"
)

type demandCmd struct {
	Job            string `arg:"" help:"Job file."`
	Log            string `help:"Recording of the supply (CSV): a meter's half-hours or a logger's currents."`
	recordingFlags `embed:""`
	Runs           int    `default:"10" help:"How many simulated years, each with its own seed; 0 for none."`
	Seed           uint64 `default:"1" help:"Seed of the first year."`
	Enter          bool   `help:"Enter what the recording measured as the record's maximum demand, with its date, and judge with it."`
	Who            string `help:"Who recorded it."`
	Cold           bool   `help:"Also a cold spell: the electric heat that is recorded in full and all at once, as a scenario."`
	JSON           bool   `name:"json" help:"Print the estimates as JSON."`
	Picture        string `short:"o" help:"Also draw the day of the greatest demand and its duration curve into this SVG file."`
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
	if c.Enter {
		if m, err = c.enter(out, log); err != nil {
			return err
		}
	}
	if c.Runs < 0 || c.Runs > 100_000 {
		return fmt.Errorf("--runs: %d: 0 to 100000 is wanted", c.Runs)
	}
	zone, err := zoneOf(c.Zone)
	if err != nil {
		return err
	}
	prepared := demand.Prepare(m, demand.YearPlan(log, zone))
	var sum *demand.Study
	var worst *demand.Result
	if c.Runs > 0 && len(prepared.Lacks) == 0 {
		if sum, worst, err = study(prepared, c.Runs, c.Seed); err != nil {
			return err
		}
	} else if len(prepared.Lacks) > 0 {
		sum = &demand.Study{Lacks: prepared.Lacks}
	}
	report := design.ReportDemand(m, log, sum)
	if c.Cold {
		e, f := log.InAColdSpell(m)
		report.Estimates, report.Findings = append(report.Estimates, e), append(report.Findings, f)
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
	if c.JSON {
		err = writeJSON(out, report)
	} else {
		c.print(out, m, report)
	}
	if err != nil {
		return err
	}
	code := finding.Summarise(report.Findings).ExitCode()
	if code == exitMet && report.Route != design.TellAfter {
		code = exitOpen
	}
	if code != exitMet {
		return outcome{code}
	}
	return nil
}

// enter makes the recording the record's measured demand. A greater one that was
// measured before stays.
func (c *demandCmd) enter(out io.Writer, log *demand.Log) (*model.Model, error) {
	if log == nil {
		return nil, fmt.Errorf("--enter takes a recording: name it with --log")
	}
	fields, err := log.Measured()
	if err != nil {
		return nil, err
	}
	if fields["who"] = c.Who; c.Who == "" {
		delete(fields, "who")
	}
	text, err := os.ReadFile(c.Job)
	if err != nil {
		return nil, fmt.Errorf("cannot read the job file: %w", err)
	}
	record, err := job.ReadRecord(c.Job, text)
	if err != nil {
		return nil, err
	}
	j, err := record.Job()
	if err != nil {
		return nil, err
	}
	now, _ := quantity.ParseAmperes(fields["value"])
	if had, known := j.Supply.Demand.Value.Get(); known && had > now && j.Supply.Demand.KnownBy.Or("") == trade.Measured {
		return nil, fmt.Errorf("%s: a greater demand, %v, was measured before (%s): the greater stays; take it out first if it no longer holds", c.Job, had,
			j.Supply.Demand.When)
	}
	const path = "supply/maximum demand"
	for _, name := range []string{"reason", "who", "value", "known by", "when"} {
		if err := record.Set(path+"/"+name, fields[name]); err != nil {
			return nil, fmt.Errorf("%w\n%s is as it was", err, c.Job)
		}
	}
	if err := record.Append("notes", job.Given{Name: "about", Value: "supply"}, job.Given{Name: "text", Value: fields["note"]}); err != nil {
		return nil, fmt.Errorf("%w\n%s is as it was", err, c.Job)
	}
	if _, err := record.Job(); err != nil {
		return nil, err
	}
	if err := replace(c.Job, record.Bytes()); err != nil {
		return nil, err
	}
	fmt.Fprintf(out, "entered as the maximum demand: %s, measured until %s\n", fields["value"], fields["when"])
	return open(c.Job)
}

func (c *demandCmd) print(out io.Writer, m *model.Model, r design.DemandReport) {
	heading(out, m)
	fmt.Fprintf(out, "\nmaximum demand, A in L1 · L2 · L3\n  %-22s %-22s %-22s %s\n", "found by", "before the points", "points in full", "with load control")
	for _, e := range r.Estimates {
		if !e.Known() {
			fmt.Fprintf(out, "  %-22s not known\n", e.How)
			fmt.Fprintln(out, wrap("      ", "missing: "+e.Lacks.String(), 6))
			continue
		}
		fmt.Fprintf(out, "  %-22s %-22s %-22s %s\n", e.How, e.Existing, e.InFull, e.Held)
		for _, w := range e.Why {
			fmt.Fprintln(out, wrap("      ", w, 8))
		}
		fmt.Fprintln(out, wrap("      ", "source: "+e.Source.String(), 8))
	}
	fmt.Fprintln(out, "  Points take no diversity of their own: in full, or at the limit of their load control (BS 7671 722.311).")
	fmt.Fprintln(out)
	printVerdicts(out, r.Findings)
	fmt.Fprintf(out, "\nnotification: %s\n", r.Words)
	for _, why := range r.Reasons {
		fmt.Fprintln(out, wrap("  because ", why, 4))
	}
	for _, g := range r.Missing {
		fmt.Fprintln(out, wrap("  missing ", g.String(), 4))
	}
	fmt.Fprintln(out, "for the form")
	for _, line := range r.Form {
		fmt.Fprintln(out, "  "+line.String())
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
	fmt.Fprintln(out, finding.Summarise(found))
}

func (c *demandCmd) picture(m *model.Model, s *demand.Studied, worst *demand.Result) (drawing.Scene, error) {
	if len(s.Lacks) > 0 {
		return drawing.Scene{}, fmt.Errorf("there is nothing to draw yet: %s", s.Lacks.String())
	}
	day, err := s.RunDay(c.Seed)
	if err != nil {
		return drawing.Scene{}, err
	}
	return drawing.DemandSheet(m, s, day, worst), nil
}
