package demand

// Maximum demand three ways, side by side: by published allowances, by
// measurement, by simulation. Charge points take no diversity of their own:
// each counts in full, or together at the limit of their load control
// (BS 7671 722.311).

import (
	"fmt"
	"sort"

	"chargewright/finding"
	"chargewright/job"
	"chargewright/model"
	"chargewright/quantity"
	"chargewright/standard"
)

// Estimate is the maximum demand found one way, in each line.
type Estimate struct {
	How      string
	Existing Lines // before the charge points
	InFull   Lines // with every point in full
	Held     Lines // with the limiter at work; as InFull where there is none
	Why      []string
	Source   finding.Text
	Lacks    finding.Lacks // what keeps it from being known
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
	premises, said := m.Job.Site.Premises.Get()
	e.Lacks = job.TheSite.Unless(said, "premises", "kind of premises")
	byKind := map[job.LoadKind][]model.Currents{}
	var kinds []job.LoadKind
	for i := range m.Job.Loads {
		l := &m.Job.Loads[i]
		cur := m.LoadCurrents(l)
		e.Lacks = append(e.Lacks, cur.Lacks...)
		kind, ok := l.Kind.Get()
		e.Lacks = append(e.Lacks, l.Thing().Unless(ok, "kind", "kind")...)
		if byKind[kind] == nil {
			kinds = append(kinds, kind)
		}
		byKind[kind] = append(byKind[kind], cur)
	}
	if !e.Known() {
		return e
	}
	sort.Slice(kinds, func(i, k int) bool { return kinds[i] < kinds[k] })
	var cites []standard.Citation
	for _, kind := range kinds {
		a, cite, err := m.Rules.Diversity(string(premises), string(kind))
		full, allowed := Lines{}, Lines{}
		for k := range full {
			var in []quantity.Amperes
			for _, c := range byKind[kind] {
				if c.Phase[k] > 0 {
					in = append(in, c.Phase[k])
					full[k] += c.Phase[k]
				}
			}
			if allowed[k] = full[k]; err == nil {
				allowed[k] = allow(a, in)
			}
			e.Existing[k] += allowed[k]
		}
		text := fmt.Sprintf("%s: %v in full, %v allowed", kind, full.Greatest(), allowed.Greatest())
		if err != nil {
			text += fmt.Sprintf(" (no allowance is published for a %s: in full)", premises)
		} else {
			cites = append(cites, cite)
		}
		e.Why = append(e.Why, text)
	}
	if measured, ok := m.Job.Supply.Demand.Value.Get(); ok && measured > e.Existing.Greatest() {
		e.Lacks = finding.Lacks{{Path: "loads", Of: "loads",
			What: fmt.Sprintf("those recorded come to %v, and the supply was found to carry %v; the others are not recorded", e.Existing.Greatest(), measured)}}
		return e
	}
	e.Why = append(e.Why, "of the loads that are recorded, and no others")
	e.Source = sources(cites...)
	if len(cites) == 0 {
		e.Source = finding.Say("the record; no published allowance applies")
	}
	return e.withPoints(m)
}

// allow applies an allowance to the loads of one kind in one line.
//
//	formula  largest × greatest + second × second greatest + rest × all others;
//	         or a first current in full and a share of what is above it
//	source   IET On-Site Guide Table A2
func allow(a standard.Diversity, in []quantity.Amperes) quantity.Amperes {
	sort.Slice(in, func(i, k int) bool { return in[i] > in[k] })
	var sum quantity.Amperes
	for i, load := range in {
		switch {
		case a.FirstAmperes > 0:
			sum += min(load, a.FirstAmperes) + quantity.Amperes(a.Excess)*max(0, load-a.FirstAmperes)
		case i == 0:
			sum += quantity.Amperes(a.Largest) * load
		case i == 1:
			sum += quantity.Amperes(a.Second) * load
		default:
			sum += quantity.Amperes(a.Rest) * load
		}
	}
	return sum
}

// ByMeasurement takes the greatest of a recording: its half-hours, or its own
// steps where they are longer; and for short steps says the shorter peak too.
func ByMeasurement(m *model.Model, log *Log) Estimate {
	e := Estimate{How: "measurement"}
	if log == nil {
		e.Lacks = finding.Cannot("a recording of the supply's current or energy")
		return e
	}
	steps, peak := log.Greatest()
	half, at := log.HalfHours()
	e.Existing = half
	if half == (Lines{}) {
		e.Existing, at = steps, peak
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
	e.Source = finding.Say("%v", log)
	return e.withPoints(m)
}

// BySimulation takes the greatest half-hours of many simulated years.
func BySimulation(m *model.Model, s *Study) Estimate {
	e := Estimate{How: "simulation"}
	if s == nil || len(s.Lacks) > 0 || s.Runs == 0 {
		e.Lacks = finding.Cannot("a run of the site")
		if s != nil {
			e.Lacks = s.Lacks
		}
		return e
	}
	e.Existing, e.InFull, e.Held = s.SiteHalfHour, s.SiteHalfHour, s.HalfHour
	full, _ := pointsOn(m)
	for k := range e.InFull {
		e.InFull[k] += full[k]
	}
	e.Why = append([]string{fmt.Sprintf("greatest half-hour in %s of %s each", many(s.Runs, "run"), lasting(s.Length))}, s.Assumed...)
	e.Source = finding.Say("simulation, seeds %d to %d", s.FirstSeed, s.FirstSeed+uint64(s.Runs)-1)
	return e
}

// pointsOn returns what all points take in full, line by line, and what of it
// the supply's limiter controls.
func pointsOn(m *model.Model) (full, controlled Lines) {
	l := m.SupplyLimiter()
	for _, p := range m.Points {
		for k, i := range m.PointCurrents(p).Phase {
			full[k] += i
			if l != nil && p.Record.Limiter == l.Name {
				controlled[k] += i
			}
		}
	}
	return full, controlled
}

// withPoints puts the points on top.
func (e Estimate) withPoints(m *model.Model) Estimate {
	for _, p := range m.Points {
		e.Lacks = append(e.Lacks, m.PointCurrents(p).Lacks...)
	}
	full, controlled := pointsOn(m)
	limit, limited := quantity.Amperes(0), false
	if l := m.SupplyLimiter(); l != nil {
		limit, limited = l.Limit.Get()
	}
	for k := range full {
		e.InFull[k] = e.Existing[k] + full[k]
		e.Held[k] = e.InFull[k]
		if limited && e.Held[k] > limit {
			e.Held[k] = max(limit, e.InFull[k]-controlled[k])
		}
	}
	return e
}

// Finding holds an estimate against what the supply carries: the agreed
// capacity, or the cut-out fuse.
func (e Estimate) Finding(m *model.Model) finding.Finding {
	f := start(m.Rules, "maximum demand", "maximum demand", job.TheSupply, "maximum demand with the charge points is within what the supply carries")
	f.Subject += ", by " + e.How
	holds := m.CarriedAt("supply")
	if !e.Known() || !holds.Known() {
		return unknown(f, e.Lacks, holds.Lacks)
	}
	carries := holds.Value
	f = within(f, e.Held.Greatest(), carries)
	f.Source = e.Source
	f.Why = finding.Say("existing %v, points in full %v, held to %v; %s %v", e.Existing.Greatest(), e.InFull.Greatest(), e.Held.Greatest(), holds.Why, carries)
	if _, stated := m.Job.Supply.Demand.Value.Get(); stated && f.Verdict == finding.Fails && e.How == byAllowance {
		f.Verdict = finding.JudgeOnSite
		f.Why = f.Why.Then(finding.Say("allowances are for want of a measurement, and here there is one"))
		f.Next = "weigh the measurement: how long it ran, in which season, and what has been added since"
		return f
	}
	if f.Verdict == finding.Fails {
		f.Next = "limit the load, ask the network operator for more, or fit fewer or smaller points"
	} else if e.InFull.Greatest() > carries {
		f.Why = f.Why.Then(finding.Say("only with load control: see that it is proved"))
	}
	return f
}
