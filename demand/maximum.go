package demand

// Maximum demand three ways, side by side: by published allowances, by
// measurement, by simulation. Charge points take no diversity of their own:
// each counts in full, or together at the limit of their load control
// (BS 7671 722.311).

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"chargewright/finding"
	"chargewright/model"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/trade"
	"chargewright/works"
)

// Estimate is the maximum demand found one way, in each line.
type Estimate struct {
	How      string
	Existing Lines // before the charge points
	InFull   Lines // with every point in full
	Held     Lines // with the limiter at work; as InFull where there is none
	Why      []string
	Source   finding.Sources
	Lacks    finding.Lacks // what keeps it from being known
	blur     blur          // what a recording does not tell apart
}

// blur is what a recording does not tell apart: the half-hours within its longer
// means, and the lines where it has them together.
type blur struct {
	step  time.Duration // of its means; nothing where it has half-hours
	lines int           // that were recorded together; nothing where each was
}

// greatest is how many times the recorded value a line may have carried for half
// an hour: all of a mean within one of its half-hours, all of the lines on one.
func (b blur) greatest() quantity.Amperes {
	times := quantity.Amperes(1)
	if b.step > 0 {
		times *= quantity.Amperes(b.step / (30 * time.Minute))
	}
	if b.lines > 1 {
		times *= quantity.Amperes(b.lines)
	}
	return times
}

func (b blur) String() string {
	var says []string
	if b.step > 0 {
		says = append(says, "means of "+lasting(b.step)+" are no half-hours")
	}
	if b.lines > 1 {
		says = append(says, fmt.Sprintf("its %d lines were recorded together, and shared equally here", b.lines))
	}
	return strings.Join(says, "; ")
}

// byAllowance is the way that needs no measurement.
const byAllowance = "published allowances"

// Known reports whether the estimate could be made.
func (e Estimate) Known() bool { return len(e.Lacks) == 0 }

// AfterDiversity returns the demand before and after the work, as the network
// operator's form asks for it.
func (e Estimate) AfterDiversity() (before, after Lines) { return e.Existing, e.Held }

// ByAllowance reduces the recorded loads by the published allowances.
func ByAllowance(m *model.Model) Estimate {
	e := Estimate{How: byAllowance}
	if len(m.Job.Loads) == 0 {
		e.Lacks = finding.Lacks{{Path: "loads", Of: "loads", What: "what is connected, with current and kind"}}
		return e
	}
	a := m.AllowedDemand()
	e.Lacks = a.Lacks
	for i := range m.Job.Loads {
		l := &m.Job.Loads[i]
		e.Lacks = append(e.Lacks, l.Thing().Unless(l.Kind.IsKnown(), "kind", "kind")...)
	}
	e.Existing = Lines(a.Sum())
	and := ", which are said to be all there are"
	switch found, ok := m.Job.Supply.Demand.Value.Get(); {
	case ok && found > e.Existing.Greatest():
		e.Lacks = finding.Lacks{{Path: "loads", Of: "loads",
			What: fmt.Sprintf("those recorded come to %v, and the supply was found to carry %v; the others are not recorded", e.Existing.Greatest(), found)}}
	case ok && len(a.Open) > 0:
		and = ", and no others"
	default:
		e.Lacks = append(e.Lacks, a.Open...)
	}
	if !e.Known() {
		return e
	}
	var cites []standard.Citation
	for _, kind := range a.Kinds {
		text := fmt.Sprintf("%s: %v in full, %v allowed", kind.Kind, Lines(kind.Full).Greatest(), Lines(kind.Allowed).Greatest())
		if !kind.Tabled {
			text += fmt.Sprintf(" (no allowance is published for a %s: in full)", m.Job.Site.Premises)
		} else {
			cites = append(cites, kind.Cite)
		}
		e.Why = append(e.Why, text)
	}
	e.Why = append(e.Why, "of the loads that are recorded"+and)
	e.Source = standard.Sources(cites...)
	if len(cites) == 0 {
		e.Source = finding.From("the record; no published allowance applies", "")
	}
	return e.withPoints(m)
}

// byMeasurement takes the greatest of a recording: its half-hours, or its own
// steps where they are longer; and for short steps says the shorter peak too.
func byMeasurement(m *model.Model, log *Log) Estimate {
	e := Estimate{How: "measurement"}
	if log == nil {
		return e.entered(m)
	}
	steps, peak := log.Greatest()
	half, at := log.HalfHours()
	e.Existing = half
	if half == (Lines{}) {
		e.Existing, at = steps, peak
		if log.Step > 30*time.Minute {
			e.blur.step = log.Step
		}
	}
	if log.Balanced && log.Lines > 1 {
		e.blur.lines = log.Lines
	}
	e.Why = append(e.Why, fmt.Sprintf("greatest half-hour %v on L%d, %s", at.Current, at.Line+1, clockOf(at.At.In(log.zone))),
		fmt.Sprintf("greatest of any %s: %v on L%d, %s", lasting(log.Step), peak.Current, peak.Line+1, clockOf(peak.At.In(log.zone))))
	if half == (Lines{}) {
		e.Why = e.Why[1:]
	}
	for _, q := range []string{at.Question, peak.Question} {
		if q != "" {
			e.Why = append(e.Why, "to be questioned: "+q)
			break
		}
	}
	e.Why = append(e.Why, log.Notes...)
	e.Source = func() []finding.Source { return []finding.Source{{Place: log.String()}} }
	return e.withPoints(m)
}

// Measured is what a recording makes the record's measured demand: value and time as they
// are entered, and a note of where it comes from. One that does not tell half-hours or lines apart
// is a bound to be judged, and no measurement of them.
func (log *Log) Measured() (fields map[string]string, err error) {
	e := Estimate{}
	half, _ := log.HalfHours()
	if log.Balanced && log.Lines > 1 {
		e.blur.lines = log.Lines
	}
	if half == (Lines{}) {
		e.blur.step = max(log.Step, time.Minute)
	}
	if e.blur != (blur{}) {
		return nil, fmt.Errorf("%s: %s: it can be held against the supply, to be judged, and is no measured demand of the busiest line; record the current of "+
			"each line in half-hours or shorter", log.File, e.blur)
	}
	end := log.at(len(log.Values)).In(log.zone)
	if length := end.Sub(log.Start); length < 7*24*time.Hour {
		return nil, fmt.Errorf("%s: it runs for %s: a week at least is wanted, so that each day of the week is in it", log.File, lasting(length))
	}
	value := quantity.Amperes(math.Ceil(10*float64(half.Greatest())-1e-6) / 10)
	return map[string]string{"value": value.String(), "known by": string(trade.Measured), "when": end.Format("2006-01-02 15:04"),
		"note": "maximum demand measured by the recording " + log.String()}, nil
}

// heatKinds are loads that a cold spell sets going all at once, for days on end.
var heatKinds = []trade.LoadKind{trade.HeatPump, trade.Storage, trade.Heating}

// coldSpell is a scenario, and says so: the electric heat that is recorded runs in
// full, all of it at once, on top of what else there is. A recording does not say
// how much of the heat it holds, so that all of it comes on top of that too.
// Engineering judgement, no published source.
func coldSpell(m *model.Model, log *Log) Estimate {
	e := Estimate{How: "a cold spell, a scenario"}
	a := m.AllowedDemand()
	var heat, allowed Lines
	for _, kind := range a.Kinds {
		if slices.Contains(heatKinds, kind.Kind) {
			for k := range heat {
				heat[k] += kind.Full[k]
				allowed[k] += kind.Allowed[k]
			}
		}
	}
	if heat == (Lines{}) {
		e.Lacks = finding.Lacks{{Path: "loads", Of: "loads", What: "electric heat: a heat pump, storage heaters, heating and power"}}
		return e
	}
	base, on := byMeasurement(m, log), heat
	if !base.Known() {
		base = ByAllowance(m)
		for k := range on {
			on[k] -= allowed[k]
		}
	}
	if e.Lacks = base.Lacks; !e.Known() {
		return e
	}
	e.blur = base.blur
	for k := range e.Existing {
		e.Existing[k] = base.Existing[k] + on[k]
	}
	e.Why = []string{fmt.Sprintf("by %s %v; the electric heat in full and at once, %v in the busiest line, of which %v more than that holds for certain", base.How,
		base.Existing.Greatest(), heat.Greatest(), on.Greatest()), "a scenario: no published source; a heat pump's own heating element " +
		"counts where it is entered as a load"}
	e.Source = finding.From("scenario, engineering judgement", "")
	return e.withPoints(m)
}

// InAColdSpell holds the scenario, on top of the recording if there is one, against
// what the supply carries. It is to be judged:
// nobody measured it.
func (log *Log) InAColdSpell(m *model.Model) (Estimate, finding.Finding) {
	e := coldSpell(m, log)
	f := e.Finding(m)
	if f.Verdict == finding.Fails {
		f.Verdict = finding.JudgeOnSite
		f.Next = "weigh how much of the heat runs at once in frost: read the plates, ask the occupier, or record through a cold week"
	}
	return e, f
}

// entered is the figure of the record, with how it is known.
func (e Estimate) entered(m *model.Model) Estimate {
	d := &m.Job.Supply.Demand
	if !d.Value.IsKnown() {
		e.Lacks = finding.Lacks{{Path: "supply/maximum demand", What: "a recording of the supply's current or energy, or the maximum demand that was measured"}}
		return e
	}
	if how := d.KnownBy.Or(""); how != trade.Measured {
		e.How = "the record"
	}
	existing := m.ExistingDemand()
	e.Existing, e.Lacks = Lines(existing.Phase), existing.Lacks
	e.Why = append(e.Why, "as entered: "+m.DemandSource())
	e.Source = finding.From("the record, "+m.DemandSource(), "")
	return e.withPoints(m)
}

// bySimulation takes the greatest half-hours of many simulated years.
func bySimulation(m *model.Model, s *Study) Estimate {
	e := Estimate{How: "simulation"}
	if s == nil || len(s.Lacks) > 0 || s.Runs == 0 {
		e.Lacks = finding.Cannot("a run of the site")
		if s != nil {
			e.Lacks = s.Lacks
		}
		return e
	}
	e.Existing, e.InFull, e.Held = s.SiteHalfHour, s.SiteHalfHour, s.HalfHour
	for k, i := range m.SupplyDemand().Points.Phase {
		e.InFull[k] += i
	}
	e.Why = append([]string{fmt.Sprintf("greatest half-hour in %s of %s each", many(s.Runs, "run"), lasting(s.Length))}, s.Assumed...)
	e.Source = finding.From(fmt.Sprintf("simulation, seeds %d to %d", s.FirstSeed, s.FirstSeed+uint64(s.Runs)-1), "")
	return e
}

// withPoints puts the points on top.
func (e Estimate) withPoints(m *model.Model) Estimate {
	d := m.DemandWith(model.Currents{Phase: e.Existing, Lacks: e.Lacks})
	e.Lacks, e.Held = d.Total.Lacks, Lines(d.Total.Phase)
	for k, i := range d.Points.Phase {
		e.InFull[k] = e.Existing[k] + i
	}
	return e
}

// Demand is the demand on the supply with this one before the points.
func (e Estimate) Demand(m *model.Model) model.SupplyDemand {
	if !e.Known() {
		return m.SupplyDemand()
	}
	return m.DemandWith(model.Currents{Phase: e.Existing})
}

// Finding holds an estimate against what the supply carries: the agreed
// capacity, or the cut-out fuse.
func (e Estimate) Finding(m *model.Model) finding.Finding {
	f := start(m.Rules, "maximum demand", "maximum demand", works.TheSupply, "maximum demand with the charge points is within what the supply carries")
	f.Part = "by " + e.How
	f.Subject += ", " + f.Part
	holds := m.SupplyCarries()
	if !e.Known() || !holds.Known() {
		return unknown(f, e.Lacks, holds.Lacks)
	}
	carries := holds.Value
	f = within(f, e.Held.Greatest(), carries)
	f.Source = e.Source
	f.Why = finding.Say("existing %v, points in full %v, held to %v; %s %v", e.Existing.Greatest(), e.InFull.Greatest(), e.Held.Greatest(), holds.Why, carries)
	if f.Verdict == finding.Meets && e.blur != (blur{}) {
		existing := e.Existing.Greatest()
		if worst := e.Held.Greatest() + existing*(e.blur.greatest()-1); worst > carries {
			f.Verdict = finding.JudgeOnSite
			f.Why = f.Why.Then(finding.Say("%s: a line may have carried up to %v for half an hour, and would then come to %v", e.blur,
				existing*e.blur.greatest(), worst))
			f.Next = "record the current of each line, in half-hours or shorter, over a busy week"
			return f
		}
	}
	if _, stated := m.Job.Supply.Demand.Value.Get(); stated && f.Verdict == finding.Fails && e.How == byAllowance {
		f.Verdict = finding.JudgeOnSite
		f.Why = f.Why.Then(finding.Say("allowances are for want of a measurement, and here there is one"))
		f.Next = "weigh the measurement: how long it ran, in which season, and what has been added since"
		return f
	}
	if f.Verdict == finding.Fails {
		f.Next = "limit the load, ask the network operator for more, or fit fewer or smaller points"
	} else if e.InFull.Greatest() > carries && len(m.Job.Limiters) > 0 {
		f.Why = f.Why.Then(finding.Say("only with load control: see that it is proved"))
	}
	return f
}
