package main

import (
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"chargewright/demand"
	"chargewright/drawing"
	"chargewright/finding"
	"chargewright/model"
	"chargewright/quantity"
)

type limitCmd struct {
	Job            string `arg:"" help:"Job file."`
	Log            string `help:"Recording of the supply (CSV) to run against, instead of a made-up year."`
	recordingFlags `embed:""`
	Years          float64       `default:"1" help:"Length of each run, up to 10."`
	Runs           int           `default:"20" help:"How many runs, each with its own seed; 0 for the proof alone."`
	Seed           uint64        `default:"1" help:"Seed of the first run."`
	Step           time.Duration `default:"1m" help:"Step of the runs, 1s to 30m."`
	Arrive         string        `help:"Usual time of day at which vehicles come, like 17:30; by the premises where not said."`
	Stay           float64       `help:"Usual stay in hours."`
	Needs          float64       `help:"Energy a vehicle usually needs, in kWh."`
	Daily          float64       `help:"Share of the days on which a vehicle comes, 0 to 1."`
	ThreePhase     float64       `name:"three-phase" default:"-1" help:"Share of vehicles that charge on three phases, 0 to 1."`
	Onboard        string        `help:"Current of the vehicles' on-board chargers, per line, like 16 A."`
	Rates          string        `help:"Tariff in pence for a kWh from times of day on, like 00:00=8.95,05:00=27.4."`
	Sun            float64       `help:"Peak power of a solar array on site, in kW."`
	Surplus        bool          `help:"Charge from surplus power alone."`
	Fault          []string      `sep:"none" help:"What befalls the limiter's readings every day of the runs, like 'zero 18:00 10m': lost, zero, reversed, low or power-up; may be repeated."`
	Now            string        `help:"Six readings instead, in A: L1 L2 L3 of the supply, then of the point; says what the point should be set to."`
	Watts          float64       `help:"A limit in watts instead; says what it is in amperes for a point."`
	JSON           bool          `name:"json" help:"Print proof and runs as JSON."`
	Picture        string        `short:"o" help:"Also draw the worst case, a day, the duration curve and the heat into this SVG file."`
}

// Run proves the limiters of a job and runs it through time.
func (c *limitCmd) Run(out io.Writer) error {
	m, err := open(c.Job)
	if err != nil {
		return err
	}
	if len(m.Job.Limiters) == 0 {
		return fmt.Errorf("%s: the job has no limiter: enter one under limiters", c.Job)
	}
	log, err := c.readFor(m, c.Log)
	if err != nil {
		return err
	}
	plan, err := c.plan(m, log)
	if err != nil {
		return err
	}
	proofs, found := demand.ProveAll(m)
	prepared := demand.Prepare(m, plan)
	if c.Now != "" || c.Watts != 0 {
		return c.onSite(out, prepared)
	}
	sum := &demand.Study{Lacks: prepared.Lacks}
	var worst *demand.Result
	if c.Runs > 0 && len(prepared.Lacks) == 0 {
		if sum, worst, err = study(prepared, c.Runs, c.Seed); err != nil {
			return err
		}
		found = append(found, prepared.HeatFinding(worst))
	}
	day := prepared.Tell(proofs)
	if c.Picture != "" {
		scene, err := c.picture(m, prepared, proofs, worst)
		if err != nil {
			return err
		}
		if err := replace(c.Picture, scene.SVG()); err != nil {
			return fmt.Errorf("write the picture: %w", err)
		}
	}
	if c.JSON {
		if err := writeJSON(out, demand.ReportLimits(m, proofs, found, day, sum)); err != nil {
			return err
		}
	} else {
		heading(out, m)
		fmt.Fprintln(out)
		printVerdicts(out, found)
		printProofs(out, proofs)
		fmt.Fprintln(out)
		for _, line := range day {
			fmt.Fprintln(out, wrap("  ", line, 4))
		}
		printStudy(out, sum, worst, c)
	}
	if code := finding.Summarise(found).ExitCode(); code != exitMet {
		return outcome{code}
	}
	return nil
}

// plan makes the plan of the runs from the flags.
func (c *limitCmd) plan(m *model.Model, log *demand.Log) (demand.Plan, error) {
	if c.Runs < 0 || c.Runs > 100_000 {
		return demand.Plan{}, fmt.Errorf("--runs: %d: 0 to 100000 is wanted", c.Runs)
	}
	zone, err := zoneOf(c.Zone)
	if err != nil {
		return demand.Plan{}, err
	}
	a := demand.Asked{Years: c.Years, Step: c.Step, Arrive: c.Arrive, Stay: c.Stay, Needs: c.Needs, Daily: c.Daily, Onboard: c.Onboard, Rates: c.Rates,
		Sun: c.Sun, Surplus: c.Surplus, Faults: c.Fault}
	if !(c.ThreePhase < 0) {
		a.Three = quantity.Known(c.ThreePhase)
	}
	p, err := a.Plan(m, log, zone)
	return p, flagged(err)
}

// flagged puts the flag before what was asked in vain.
func flagged(err error) error {
	var asked *demand.AskedError
	if errors.As(err, &asked) {
		return fmt.Errorf("--%w", asked)
	}
	return err
}

// picture puts the worst case, a day, the duration curve and the heat under
// one another.
func (c *limitCmd) picture(m *model.Model, s *demand.Studied, proofs []demand.Proof, worst *demand.Result) (drawing.Scene, error) {
	var day *demand.Day
	if len(s.Lacks) == 0 {
		d, err := s.RunDay(c.Seed)
		if err != nil {
			return drawing.Scene{}, err
		}
		day = &d
	}
	scene := drawing.LimitSheet(m, s, proofs, day, worst)
	if scene.Height == 0 {
		return scene, fmt.Errorf("there is nothing to draw yet: %s", s.Lacks.String())
	}
	return scene, nil
}

func printProofs(out io.Writer, proofs []demand.Proof) {
	for _, p := range proofs {
		if len(p.Lacks) > 0 {
			continue
		}
		fmt.Fprintf(out, "\nwhat the proof of %s takes as given, to be seen to when commissioning\n", p.Limiter)
		for _, a := range p.Assumptions {
			fmt.Fprintln(out, wrap("  ", a, 4))
		}
		if p.Worst != nil {
			w := *p.Worst
			fmt.Fprintf(out, "\nlongest found by running it, L%d: %s\n", p.Line+1, w.Event)
			fmt.Fprintf(out, "  %-10s %-10s %-10s %-10s %s\n", "time", "others", "points", "setting", "line")
			for i, moment := range w.Moments {
				if i >= 8 {
					fmt.Fprintf(out, "  and %d more changes\n", len(w.Moments)-i)
					break
				}
				over := ""
				if moment.Total() > w.Holds+0.0005 {
					over = "over " + w.Holds.String()
				}
				fmt.Fprintf(out, "  %-10s %-10s %-10s %-10s %-10s %s\n", moment.At, moment.Others, moment.Points, moment.Setting, moment.Total(), over)
			}
		}
	}
}

func printStudy(out io.Writer, s *demand.Study, worst *demand.Result, c *limitCmd) {
	if s == nil || s.Runs == 0 {
		if s != nil && len(s.Lacks) > 0 {
			fmt.Fprintln(out, wrap("not run: ", s.Lacks.String(), 4))
		}
		return
	}
	fmt.Fprintf(out, "\nruns: %d of %.3g years each, in steps of %v, from seed %d; mean, (range of the mean, 19 times in 20), range of 19 runs in 20\n",
		s.Runs, s.Length.Hours()/8760, c.Step, s.FirstSeed)
	for _, r := range s.Rows(c.Rates != "") {
		ranges := ""
		if r.OfMean != "" {
			ranges = fmt.Sprintf("(%s)  ", r.OfMean)
		}
		fmt.Fprintln(out, strings.TrimRight(fmt.Sprintf("  %-36s %14s  %s%s", r.What, r.Mean, ranges, r.OfRuns), " "))
	}
	for _, a := range s.Assumed {
		fmt.Fprintln(out, wrap("assumed: ", a, 4))
	}
	if c.Log != "" && c.Years*8760 > 24 {
		fmt.Fprintln(out, "assumed: the recording repeats itself through the year")
	}
}
