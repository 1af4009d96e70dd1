package demand

// What was found, in words and in its published shape.

import (
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"time"

	"chargewright/finding"
	"chargewright/model"
	"chargewright/quantity"
)

// String prints the current of each line.
func (l Lines) String() string {
	return fmt.Sprintf("%.1f · %.1f · %.1f", float64(l[0]), float64(l[1]), float64(l[2]))
}

// Estimates finds the maximum demand three ways, and holds each that is known
// against what the supply carries; where none is known, that is said once.
func Estimates(m *model.Model, log *Log, study *Study) ([]Estimate, []finding.Finding) {
	all := []Estimate{ByAllowance(m), byMeasurement(m, log), bySimulation(m, study)}
	var found []finding.Finding
	for _, e := range all {
		if e.Known() {
			found = append(found, e.Finding(m))
		}
	}
	if len(found) == 0 {
		found = append(found, all[0].Finding(m))
	}
	return all, found
}

// Best is the one of the Estimates that stands, on the operator's form and
// wherever one figure is wanted: what was measured, else what is published,
// else what was simulated. Of a recording and the record's own figure the
// greater stands.
func Best(m *model.Model, all []Estimate) Estimate {
	if own := (Estimate{How: "measurement"}).entered(m); own.Known() && (!all[1].Known() || own.Existing.Greatest() > all[1].Existing.Greatest()) {
		return own
	}
	for _, i := range []int{1, 0, 2} {
		if all[i].Known() {
			return all[i]
		}
	}
	return all[0]
}

// MarshalJSON writes an estimate in its published shape.
func (e Estimate) MarshalJSON() ([]byte, error) {
	return json.Marshal(struct {
		How      string              `json:"how"`
		Known    bool                `json:"known"`
		Existing [3]quantity.Amperes `json:"existing"`
		InFull   [3]quantity.Amperes `json:"pointsInFull"`
		Held     [3]quantity.Amperes `json:"held"`
		Why      []string            `json:"why"`
		Source   string              `json:"source"`
		Missing  finding.Lacks       `json:"missing"`
	}{e.How, e.Known(), e.Existing, e.InFull, e.Held, e.Why, e.Source.String(), e.Lacks})
}

// Formed is one line of what the network operator's form asks for.
type Formed struct{ What, Value string }

// String prints the line with what is not known said.
func (f Formed) String() string { return fmt.Sprintf("%-46s %s", f.What, f.Value) }

// MarshalText writes the line as it is printed.
func (f Formed) MarshalText() ([]byte, error) { return []byte(f.String()), nil }

// ForForm is what the operators' form asks for, as far as it is known.
func ForForm(m *model.Model, e Estimate) []Formed {
	const unknown = "not known"
	s := &m.Job.Supply
	say := func(what, value string) Formed {
		if value == "" {
			value = unknown
		}
		return Formed{what, value}
	}
	before, after := "", ""
	if e.Known() {
		b, a := e.AfterDiversity()
		before, after = b.String()+" A", a.String()+" A"
	}
	looped := ""
	if yes, known := s.Looped.Get(); known {
		looped = map[bool]string{true: "yes", false: "no"}[yes]
	}
	lines := []Formed{
		say("address", m.Job.Site.Address),
		say("earthing of the supply", s.Earthing.String()),
		say("phases", s.Phases.String()),
		say("cut-out rating", s.CutOut.Rating.String()),
		say("looped", looped),
		say("demand before, after diversity, by "+e.How, before),
		say("demand after, after diversity, by "+e.How, after),
	}
	for _, p := range m.Points {
		var on []string
		for k, i := range m.PointCurrents(p).Phase {
			if i > 0 {
				on = append(on, fmt.Sprintf("L%d %v", k+1, i))
			}
		}
		lines = append(lines, say("charge point "+p.Record.Name, strings.Join(on, ", ")))
	}
	return lines
}

// Day is a day run step by step, and the line that carries most on it.
type Day struct {
	Trace []Sample
	Start time.Time
	Step  time.Duration
	Line  int // from 0
}

// RunDay runs the day of the greatest demand.
func (s *Studied) RunDay(seed uint64) (Day, error) {
	scenario, err := s.Day(seed)
	if err != nil {
		return Day{}, err
	}
	d := Day{Start: scenario.Start, Step: scenario.Step}
	r, err := scenario.Run()
	if err != nil {
		return Day{}, err
	}
	d.Trace = r.Trace
	for k, i := range r.Peak {
		if i > r.Peak[d.Line] {
			d.Line = k
		}
	}
	return d, nil
}

// ProveAll puts every limiter of the job to the proof.
func ProveAll(m *model.Model) ([]Proof, []finding.Finding) {
	var proofs []Proof
	var found []finding.Finding
	for i := range m.Job.Limiters {
		p := Prove(m, &m.Job.Limiters[i])
		proofs = append(proofs, p)
		found = append(found, p.Findings...)
	}
	return proofs, found
}

// Tell tells a day, the waking and the loss in words, of the limiter at the
// supply. At a board of its own the supply's demand is no measure of what is
// left, and nothing is told.
func (s *Studied) Tell(proofs []Proof) []string {
	m := s.model
	var day []string
	limiter := m.SupplyLimiter()
	control, ok := s.Limited()
	bay, has := s.FirstBay()
	if limiter == nil || !ok || !has || control.Limit == 0 {
		return nil
	}
	if s.Log != nil {
		day = append(day, fmt.Sprintf("The day of the greatest demand in %s, %s on charge all day:", s.Log.File, bay.Name))
		for _, stretch := range tellDay(s.Log, control, bay, m.Rules) {
			day = append(day, stretch.String())
		}
	} else {
		existing := Lines(m.ExistingDemand().Phase)
		o := offerAt(control.Limit, existing, bay.On, bay.Most, bay.Least)
		for _, level := range tellLoads(m, control, bay) {
			day = append(day, level.String())
		}
		day = append(day, fmt.Sprintf("With the other loads at their greatest, %v of %v: %v.", o.Others, control.Limit, o))
	}
	if _, lacks := controlOf(limiter); len(lacks) == 0 {
		day = append(day, control.PowerUp())
		for _, p := range proofs {
			if p.Limiter == limiter.Name && len(p.Lacks) == 0 {
				day = append(day, control.Lost(p.Others, p.Holds))
			}
		}
	}
	return day
}

// MarshalJSON writes a proof in its published shape.
func (p Proof) MarshalJSON() ([]byte, error) {
	out := struct {
		Limiter     string        `json:"limiter"`
		Line        int           `json:"line"`
		Within      *float64      `json:"withinSeconds"`
		AfterLoss   float64       `json:"afterLossSeconds"`
		Assumptions []string      `json:"assumptions"`
		Worst       *Trace        `json:"worst"`
		Lacks       finding.Lacks `json:"notKnown"`
	}{Limiter: p.Limiter, Line: p.Line + 1, AfterLoss: float64(p.AfterLoss), Assumptions: p.Assumptions, Worst: p.Worst, Lacks: p.Lacks}
	if p.Within > 0 {
		within := float64(p.Within)
		out.Within = &within
	}
	return json.Marshal(out)
}

// MarshalJSON writes a run in its published shape: seconds where there is a
// number of them, and words.
func (t Trace) MarshalJSON() ([]byte, error) {
	type shape Trace // without this method
	out := struct {
		shape
		Late *float64 `json:"late"`
		Back string   `json:"back"`
	}{shape: shape(t), Back: back(t.Holds, t.Late)}
	if late := float64(t.Late); !math.IsInf(late, 1) {
		out.Late = &late
	}
	return json.Marshal(out)
}

// LimitReport is what is said of the limiters of a job.
type LimitReport struct {
	Job      string            `json:"job"`
	Edition  string            `json:"edition"`
	Proofs   []Proof           `json:"proofs"`
	Findings []finding.Finding `json:"findings"`
	Day      []string          `json:"day"`
	Study    *Study            `json:"study"` // null where nothing was run
}

// ReportLimits puts a report together.
func ReportLimits(m *model.Model, proofs []Proof, found []finding.Finding, day []string, study *Study) LimitReport {
	r := LimitReport{Job: m.Job.Name, Edition: string(m.Job.Edition), Proofs: proofs, Findings: found, Day: day}
	if study != nil && study.Runs > 0 {
		r.Study = study
	}
	return r
}

// Row is one figure of a study.
type Row struct {
	What, Mean, OfMean, OfRuns string // a single run has no ranges
}

// Rows are the figures of a study. Money is among them where there was a
// tariff.
func (s *Study) Rows(tariff bool) []Row {
	var out []Row
	add := func(what, unit string, i interval) {
		r := Row{What: what, Mean: fmt.Sprintf("%.1f %s", i.Mean, unit)}
		if s.Runs > 1 {
			r.OfMean, r.OfRuns = fmt.Sprintf("%.1f to %.1f", i.Low, i.High), fmt.Sprintf("%.1f to %.1f", i.From, i.To)
		}
		out = append(out, r)
	}
	add("greatest current of a line", "A", s.Peak)
	add("greatest neutral current", "A", s.Neutral)
	add("energy for the vehicles, a year", "kWh", s.Energy)
	add("time held back, a year", "h", s.Held)
	add("line above the limit by 1 A, a year", "h", s.Over)
	if tariff {
		add("cost of that energy, a year", "£", s.Cost)
	}
	if s.Lowest.Mean > 0 {
		add("lowest voltage at a point", "V", s.Lowest)
	}
	return append(out, Row{"left without all they needed", fmt.Sprintf("%.2f %%", 100*s.Share.Mean),
		fmt.Sprintf("%.2f to %.2f", 100*s.Share.Low, 100*s.Share.High), fmt.Sprintf("%d of %d vehicles", s.NotFull, s.Visits)})
}

// Advice says what a point should be set to, from what supply and point carry
// at this moment.
func (s *Studied) Advice(supply, point Lines) ([]string, error) {
	control, bay, err := s.limitAndBay()
	if err != nil {
		return nil, err
	}
	if wrong := s.cannotBe(control, supply, point); wrong != "" {
		return []string{wrong + ": set no point by it; prove the clamp's place, way round and ratio first", fmt.Sprintf(
			"until then the fail-safe current, %v for the points together", control.FailSafe)}, nil
	}
	others := othersLeft(supply, point)
	o := offerAt(control.Limit, others, bay.On, bay.Most, bay.Least)
	out := []string{fmt.Sprintf("other loads %s A, limit %v: %v", others, control.Limit, o)}
	if whole := o.Whole(bay.Least); whole.Given > 0 {
		out = append(out, fmt.Sprintf("%s set in whole amperes: %v", bay.Name, whole.Given))
	}
	return out, nil
}

// cannotBe says which of six readings cannot be, if any.
func (s *Studied) cannotBe(c limiterControl, supply, point Lines) string {
	fed, unsaid := feedsBack(s.model)
	for k := range supply {
		slack := 0.5 + (supply[k]+point[k])*quantity.Amperes(c.Error/100)
		switch {
		case point[k] < -0.5:
			return fmt.Sprintf("the point cannot take %v in L%d", point[k], k+1)
		case fed || s.Sun > 0 || len(unsaid) > 0:
		case supply[k] < -0.5:
			return fmt.Sprintf("the supply cannot carry %v in L%d, for nothing on this site feeds back", supply[k], k+1)
		case c.SeesPoints && supply[k] < point[k]-slack:
			return fmt.Sprintf("the supply cannot carry less in L%d, %v, than the point itself takes of it, %v", k+1, supply[k], point[k])
		}
	}
	return ""
}

// InAmperes says what a limit in watts is for the points: one sent in the wrong
// unit limits nothing, or everything.
func (s *Studied) InAmperes(limit quantity.Watts) ([]string, error) {
	_, bay, err := s.limitAndBay()
	if err != nil {
		return nil, err
	}
	u0, known := s.model.U0().Get()
	if !known {
		return nil, cannot("watts", "%v is wanted first", s.model.U0().Lacks)
	}
	if !(limit > 0) || limit > 1e7 {
		return nil, cannot("watts", "%v: a power in W is wanted", float64(limit))
	}
	var out []string
	for _, phases := range []int{1, 3} {
		each, given := fromWatts(limit, phases, u0, bay.Least)
		text := "pause, less than can be signalled"
		if given > 0 {
			text = fmt.Sprintf("%v is a limit the pilot can signal", given)
		}
		if each > bay.Most {
			text = fmt.Sprintf("more than the %v of %s: was amperes meant?", bay.Most, bay.Name)
		}
		out = append(out, fmt.Sprintf("%v on %d: %v for each line; %s", limit, phases, each, text))
	}
	return out, nil
}

func (s *Studied) limitAndBay() (limiterControl, bayFacts, error) {
	control, limited := s.Limited()
	bay, has := s.FirstBay()
	if !limited || !has || control.Limit == 0 {
		return control, bay, cannot("limit", "the limit and a point under it are wanted first")
	}
	return control, bay, nil
}
