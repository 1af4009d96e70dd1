package main

import (
	"fmt"
	"io"
	"math"
	"strconv"
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
	Now            string        `help:"Six readings instead, in A: L1 L2 L3 of the supply, then of the point; says what the point should be set to."`
	Watts          float64       `help:"A limit in watts instead; says what it is in amperes for a point."`
	JSON           bool          `name:"json" help:"Print proof and runs as JSON."`
	Picture        string        `short:"o" help:"Also draw the worst case, a day, the duration curve and the heat into this SVG file."`
}

// limitReport is the published shape of the limit command.
type limitReport struct {
	Job      string            `json:"job"`
	Edition  string            `json:"edition"`
	Proofs   []proofReport     `json:"proofs"`
	Findings []finding.Finding `json:"findings"`
	Day      []string          `json:"day"`
	Study    *demand.Study     `json:"study"`
}

type proofReport struct {
	Limiter     string        `json:"limiter"`
	Line        int           `json:"line"`
	Within      *float64      `json:"withinSeconds"`
	AfterLoss   float64       `json:"afterLossSeconds"`
	Assumptions []string      `json:"assumptions"`
	Worst       *demand.Trace `json:"worst"`
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
	var proofs []demand.Proof
	var found []finding.Finding
	for i := range m.Job.Limiters {
		p := demand.Prove(m, &m.Job.Limiters[i])
		proofs = append(proofs, p)
		found = append(found, p.Findings...)
	}
	prepared := demand.Prepare(m, plan)
	if c.Now != "" || c.Watts != 0 {
		control, limited := prepared.Limited()
		bay, has := prepared.FirstBay()
		switch {
		case !limited || !has || control.Limit == 0:
			return fmt.Errorf("%s: the limit and a point under it are wanted first", c.Job)
		case c.Now != "":
			return c.now(out, control, bay)
		}
		return c.watts(out, m, bay)
	}
	sum := &demand.Study{Gaps: prepared.Gaps}
	var worst *demand.Result
	if c.Runs > 0 && len(prepared.Gaps) == 0 {
		if sum, worst, err = study(prepared, c.Runs, c.Seed); err != nil {
			return err
		}
		if worst.Heat != nil {
			found = append(found, worst.Heat.Finding(m.Rules, "cut-out, worst of the runs"))
		}
	}
	day := c.tell(m, prepared, proofs, log)
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
		if err := writeJSON(out, c.report(m, proofs, found, day, sum)); err != nil {
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
	p := demand.Plan{Step: c.Step, Log: log, Drops: true, Sun: quantity.Watts(1000 * c.Sun), Surplus: c.Surplus}
	if !(c.Years > 0) || c.Years > 10 {
		return p, fmt.Errorf("--years: %v: above 0 and up to 10 is wanted", c.Years)
	}
	if !(c.Sun >= 0) || c.Sun > 1e5 {
		return p, fmt.Errorf("--sun: %v: a peak power in kW is wanted", c.Sun)
	}
	if c.Runs < 0 || c.Runs > 100_000 {
		return p, fmt.Errorf("--runs: %d: 0 to 100000 is wanted", c.Runs)
	}
	if c.Step < time.Second || c.Step > 30*time.Minute || c.Step%time.Second != 0 {
		return p, fmt.Errorf("--step: %v: whole seconds from 1s to 30m are wanted", c.Step)
	}
	zone, err := zoneOf("zone", c.Zone)
	if err != nil {
		return p, err
	}
	p.Start = time.Date(2026, 1, 5, 0, 0, 0, 0, zone)
	if log != nil {
		p.Start = log.Start.In(zone)
	}
	p.Length = (time.Duration(c.Years * 365 * 24 * float64(time.Hour))).Truncate(c.Step)
	p.Length = max(p.Length, c.Step)
	if p.Fleet, err = c.fleet(m); err != nil {
		return p, err
	}
	p.Tariff, err = ratesOf(c.Rates)
	return p, err
}

// fleet changes the usual fleet of the premises by what was said.
func (c *limitCmd) fleet(m *model.Model) (*demand.Fleet, error) {
	f := demand.UsualFleet(m)
	if c.Arrive != "" {
		at, err := time.Parse("15:04", c.Arrive)
		if err != nil {
			return nil, fmt.Errorf("--arrive: %q: a time of day is wanted, like 17:30", c.Arrive)
		}
		f.Hour = float64(at.Hour()) + float64(at.Minute())/60
	}
	for _, set := range []struct {
		flag string
		said float64
		to   *float64
		most float64
	}{{"stay", c.Stay, &f.Stay, 240}, {"daily", c.Daily, &f.Daily, 1}} {
		if !(set.said >= 0) || set.said > set.most {
			return nil, fmt.Errorf("--%s: %v: above 0 and up to %v is wanted", set.flag, set.said, set.most)
		}
		if set.said > 0 {
			*set.to = set.said
		}
	}
	if !(c.Needs >= 0) || c.Needs > 1000 {
		return nil, fmt.Errorf("--needs: %v: an energy in kWh is wanted", c.Needs)
	}
	if c.Needs > 0 {
		f.Needs, f.NeedsSD = quantity.WattHours(1000*c.Needs), quantity.WattHours(500*c.Needs)
	}
	if c.ThreePhase > 1 || c.ThreePhase != c.ThreePhase {
		return nil, fmt.Errorf("--three-phase: %v: a share from 0 to 1 is wanted", c.ThreePhase)
	}
	if c.ThreePhase >= 0 {
		f.Three = c.ThreePhase
	}
	if c.Onboard != "" {
		i, err := quantity.ParseAmperes(c.Onboard)
		if err != nil || !(i >= 6) || i > 1000 {
			return nil, fmt.Errorf("--onboard: %q: a current per line of 6 A or more is wanted, like 16 A", c.Onboard)
		}
		f.MostOne, f.MostTri = i, i
	}
	return &f, nil
}

// ratesOf reads a tariff such as 00:00=8.95,05:00=27.4.
func ratesOf(text string) (*demand.Tariff, error) {
	if text == "" {
		return nil, nil
	}
	t := &demand.Tariff{}
	for _, part := range strings.Split(text, ",") {
		from, pence, ok := strings.Cut(strings.TrimSpace(part), "=")
		at, err1 := time.Parse("15:04", from)
		rate, err2 := strconv.ParseFloat(pence, 64)
		if !ok || err1 != nil || err2 != nil || math.Abs(rate) > 1000 || rate != rate {
			return nil, fmt.Errorf("--rates: %q: a time of day and pence for a kWh are wanted, like 05:00=27.4", part)
		}
		since := time.Duration(at.Hour())*time.Hour + time.Duration(at.Minute())*time.Minute
		if n := len(t.Rates); n > 0 && since <= t.Rates[n-1].From {
			return nil, fmt.Errorf("--rates: %q: later than the time before it is wanted", part)
		}
		t.Rates = append(t.Rates, demand.Rate{From: since, Pence: rate})
	}
	return t, nil
}

// tell tells a day, the waking and the loss in words.
func (c *limitCmd) tell(m *model.Model, s *demand.Studied, proofs []demand.Proof, log *demand.Log) []string {
	var day []string
	limiter := m.SupplyLimiter()
	control, ok := s.Limited()
	bay, has := s.FirstBay()
	if limiter == nil || !ok || !has || control.Limit == 0 {
		return nil
	}
	if m.SupplyLimiter() == nil {
		return nil // at a board of its own the supply's demand is no measure of what is left
	}
	if log != nil {
		day = append(day, fmt.Sprintf("The day of the greatest demand in %s, %s on charge all day:", log.File, bay.Name))
		for _, stretch := range demand.TellDay(log, control, bay, m.Rules) {
			day = append(day, stretch.String())
		}
	} else {
		existing := demand.Lines(m.ExistingDemand().Phase)
		o := demand.OfferAt(control.Limit, existing, bay.On, bay.Most, bay.Least)
		for _, level := range demand.TellLoads(m, control, bay) {
			day = append(day, level.String())
		}
		day = append(day, fmt.Sprintf("With the other loads at their greatest, %v of %v: %v.", o.Others, control.Limit, o))
	}
	if _, gaps := demand.ControlOf(limiter); len(gaps) == 0 {
		day = append(day, control.PowerUp())
		for _, p := range proofs {
			if p.Limiter == limiter.Name && len(p.Gaps) == 0 {
				day = append(day, control.Lost(p.Others, p.Holds))
			}
		}
	}
	return day
}

func (c *limitCmd) report(m *model.Model, proofs []demand.Proof, found []finding.Finding, day []string, sum *demand.Study) limitReport {
	r := limitReport{Job: m.Job.Name, Edition: string(m.Job.Edition), Findings: found, Day: day}
	for _, p := range proofs {
		out := proofReport{Limiter: p.Limiter, Line: p.Line + 1, AfterLoss: float64(p.AfterLoss), Assumptions: p.Assumptions, Worst: p.Worst}
		if p.Within > 0 {
			within := float64(p.Within)
			out.Within = &within
		}
		if p.Worst != nil && math.IsInf(float64(p.Worst.Late), 1) {
			trace := *p.Worst
			trace.Late = -1 // JSON has no infinity
			out.Worst = &trace
		}
		r.Proofs = append(r.Proofs, out)
	}
	if sum != nil && sum.Runs > 0 {
		r.Study = sum
	}
	return r
}

// picture puts the worst case, a day, the duration curve and the heat under
// one another.
func (c *limitCmd) picture(m *model.Model, s *demand.Studied, proofs []demand.Proof, worst *demand.Result) (drawing.Scene, error) {
	var scenes []drawing.Scene
	for i, p := range proofs {
		if p.Worst == nil {
			continue
		}
		stated, _ := m.Job.Limiters[i].ResponseTime.Get()
		title := fmt.Sprintf("%s: the longest found on L%d", p.Limiter, p.Line+1)
		if p.Worst.Late > stated {
			title = fmt.Sprintf("%s: counter-example on L%d", p.Limiter, p.Line+1)
		}
		scenes = append(scenes, drawing.Limiting("worst-"+strconv.Itoa(i+1), title, *p.Worst, stated))
	}
	control, limited := s.Limited()
	if len(s.Gaps) == 0 {
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
		if limited {
			t.Limit, t.What = control.Limit, "limit"
		}
		scenes = append(scenes, drawing.Demand("day", fmt.Sprintf("L%d from %s, a vehicle that takes all it can get", line+1, scenario.Start.Format("2 January 15:04")), t))
	}
	if worst != nil {
		var curves []drawing.Curve
		for k := range 3 {
			if worst.Peak[k] > 0 {
				curves = append(curves, drawing.Curve{Name: fmt.Sprintf("L%d", k+1), Currents: worst.Duration(k, 100)})
			}
		}
		limit := quantity.Amperes(0)
		if limited {
			limit = control.Limit
		}
		scenes = append(scenes, drawing.Duration("duration", "For how long each current lasts, in the run with the greatest peak", curves, limit, "limit", time.Duration(worst.Steps)*worst.Step),
			drawing.Heat("heat", "The worst ten minutes for the cut-out", worst, worst.WorstLine))
	}
	if len(scenes) == 0 {
		return drawing.Scene{}, fmt.Errorf("there is nothing to draw yet: %s", strings.Join(s.Gaps, "; "))
	}
	return drawing.Stack("limit", m.Job.Name+", load limiting", scenes...), nil
}

// loaded returns the line that carries most.
func loaded(r *demand.Result) int {
	line := 0
	for k, i := range r.Peak {
		if i > r.Peak[line] {
			line = k
		}
	}
	return line
}

func printProofs(out io.Writer, proofs []demand.Proof) {
	for _, p := range proofs {
		if len(p.Gaps) > 0 {
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
		if s != nil && len(s.Gaps) > 0 {
			fmt.Fprintln(out, wrap("not run: ", strings.Join(s.Gaps, "; "), 4))
		}
		return
	}
	fmt.Fprintf(out, "\nruns: %d of %.3g years each, in steps of %v, from seed %d; mean, (range of the mean, 19 times in 20), range of 19 runs in 20\n", s.Runs, s.Length.Hours()/8760, c.Step, s.FirstSeed)
	row := func(name, unit string, i demand.Interval) {
		if s.Runs == 1 { // one run has no range
			fmt.Fprintf(out, "  %-36s %9.1f %s\n", name, i.Mean, unit)
			return
		}
		fmt.Fprintf(out, "  %-36s %9.1f %-5s (%.1f to %.1f)  %.1f to %.1f\n", name, i.Mean, unit, i.Low, i.High, i.From, i.To)
	}
	row("greatest current of a line", "A", s.Peak)
	row("greatest neutral current", "A", s.Neutral)
	row("energy for the vehicles, a year", "kWh", s.Energy)
	row("time held back, a year", "h", s.Held)
	row("line above the limit by 1 A, a year", "h", s.Over)
	if c.Rates != "" {
		row("cost of that energy, a year", "£", s.Cost)
	}
	if s.Lowest.Mean > 0 {
		row("lowest voltage at a point", "V", s.Lowest)
	}
	fmt.Fprintf(out, "  %-36s %9.2f %-5s (%.2f to %.2f)  %d of %d vehicles\n", "left without all they needed", 100*s.Share.Mean, "%", 100*s.Share.Low, 100*s.Share.High, s.NotFull, s.Visits)
	for _, a := range s.Assumed {
		fmt.Fprintln(out, wrap("assumed: ", a, 4))
	}
	if c.Log != "" && c.Years*8760 > 24 {
		fmt.Fprintln(out, "assumed: the recording repeats itself through the year")
	}
}
