package demand

// Many runs of one site, each with its own seed: what is uncertain is drawn
// anew each time, and what comes out is given with how sure it is. One run is
// a pure function of its seed, so that many may be run on as many cores as
// there are.

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"sort"
	"strings"
	"time"

	"chargewright/finding"
	"chargewright/model"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/trade"
	"chargewright/works"
)

// Plan is what a study of a job asks for.
type Plan struct {
	Start   time.Time
	Step    time.Duration
	Length  time.Duration
	Log     *Log   // the other loads as recorded; nil for a made-up year
	Fleet   *fleet // nil for the usual one of the premises
	Tariff  *dayTariff
	Sun     quantity.Watts // peak power of a solar array on all lines; 0 for none
	Surplus bool           // charge from surplus power alone
	Drops   bool           // follow the voltages
	Faults  []dailyFault   // of the limiter's readings

	While context.Context // for how long somebody waits for the runs; nil for to the end
}

// left says that nobody waits for the runs any more.
func (p Plan) left() error {
	if p.While == nil {
		return nil
	}
	return p.While.Err()
}

// Studied is a job made ready to be run.
type Studied struct {
	Plan
	model    *model.Model
	bays     []bayFacts
	free     Lines // points without a limiter, in full
	control  *limiterControl
	behind   *Lines           // what is on the limiter's own board besides its points; nil for one at the supply
	further  []furtherControl // limiters in series with it
	existing Lines
	fleet    fleet
	shape    [24]float64
	drops    *dropModel
	device   *standard.Device // the cut-out's fuse; nil where its curve is not held
	NoHeat   finding.Lacks    // what keeps the heat in the cut-out from being known
	Lacks    finding.Lacks
	Assumed  []string
}

// Prepare makes a job ready. What is missing is in Lacks; nothing runs then.
func Prepare(m *model.Model, p Plan) *Studied {
	s := &Studied{Plan: p, model: m}
	limiter := m.SupplyLimiter()
	if limiter == nil && len(m.Job.Limiters) > 0 { // one at a board of its own
		limiter = &m.Job.Limiters[0]
		at := m.AtLimiter(limiter)
		behind := Lines(at.Without(limiter).Phase)
		s.Lacks = append(s.Lacks, at.Lacks...)
		s.behind = &behind
	}
	var uncontrolled []string
	least, _, _ := m.Rules.Limit("pilot least")
	if limiter != nil {
		c, lacks := controlOf(limiter)
		fed, unsaid := feedsBack(m)
		c.NoSource = !fed && len(unsaid) == 0 && p.Sun == 0 && p.Log == nil
		s.control = &c
		if !limiter.Limit.IsKnown() {
			s.Lacks = append(s.Lacks, limiter.Thing().Lack("limit", "limit")...)
		} else if len(lacks) > 0 {
			s.Assumed = append(s.Assumed, fmt.Sprintf(
				"limiter %s acts at once and without error where its facts are not stated (%d of them): its proof is not known", limiter.Name, len(lacks)))
		}
		if c.Sharing == "" {
			s.control.Sharing = trade.EqualShares
		}
	}
	for _, point := range m.Points {
		cur := m.PointCurrents(point)
		s.Lacks = append(s.Lacks, cur.Lacks...)
		by, held := 0, limiter != nil && point.Record.Limiter == limiter.Name
		if !held && limiter != nil {
			by, held = s.furtherOf(m, limiter, point)
		}
		if !held {
			for k, i := range cur.Phase {
				s.free[k] += i
			}
			uncontrolled = append(uncontrolled, point.Record.Name)
			continue
		}
		b := bayFacts{Name: point.Record.Name, Most: cur.Greatest(), First: len(s.bays) % 3, By: by}
		for k, i := range cur.Phase {
			b.On[k] = i > 0
		}
		floor, ok := point.Record.LeastCurrent.Get()
		if !ok {
			floor = quantity.Amperes(least)
			s.Assumed = append(s.Assumed, fmt.Sprintf("point %s pauses below %v, the least the pilot can signal", b.Name, floor))
		}
		b.Least = floor
		s.bays = append(s.bays, b)
	}
	if len(uncontrolled) > 0 {
		s.Assumed = append(s.Assumed, "without a limiter, and so in full all the time: "+strings.Join(uncontrolled, ", "))
	}
	existing := m.ExistingDemand()
	s.existing = Lines(existing.Phase)
	residential := m.Job.Site.Premises.Or("").Residential()
	s.fleet = usualFleet(m)
	if p.Log == nil {
		s.Lacks = append(s.Lacks, existing.Lacks...)
		s.shape = WorkplaceDay
		if residential {
			s.shape = dwellingDay
		}
		s.Assumed = append(s.Assumed, fmt.Sprintf("other loads follow a made-up day that comes to %.0f to 100 %% of %v in its busiest hours (engineering "+
			"judgement, no published source)", 100*leastLevel, s.existing.Greatest()))
	}
	if p.Fleet != nil {
		s.fleet = *p.Fleet
	}
	s.fleet.FirstDay = (int(p.Start.Weekday()) + 6) % 7
	s.Assumed = append(s.Assumed, s.fleet.String(), "energy is reckoned at the nominal voltage and unity power factor; a vehicle draws steadily until it is full")
	if p.Drops {
		d, lacks, assumed := dropsOf(m)
		if len(lacks) == 0 && len(s.bays) == len(m.Points) {
			s.drops = d
			s.Assumed = append(s.Assumed, assumed...)
		} else {
			for _, l := range lacks {
				s.Assumed = append(s.Assumed, "voltage along the line is not known: "+l.String())
			}
		}
	}
	fuse := CutOut(m)
	s.NoHeat = fuse.Lacks
	if d, known := fuse.Get(); known {
		if _, err := newWear(m.Rules, d); err != nil {
			s.NoHeat = works.TheSupply.Lack("cut-out/type", err.Error())
		} else {
			s.device = &d
		}
	}
	u0 := m.U0()
	s.Lacks = append(s.Lacks, u0.Lacks...)
	if v := float64(u0.Value); v != math.Round(v) {
		s.Lacks = append(s.Lacks, works.TheSupply.Lack("voltage", "nominal voltage in whole volts")...)
	}
	return s
}

// usualFleet returns the vehicles that are assumed at the premises of a job.
func usualFleet(m *model.Model) fleet {
	if m.Job.Site.Premises.Or("").Residential() {
		return homeFleet
	}
	return workFleet
}

// String tells the fleet in words.
func (f fleet) String() string {
	days := "any day"
	if f.Weekdays {
		days = "Mondays to Fridays"
	}
	return fmt.Sprintf("vehicles come on %.0f %% of the days, %s, about %02d:%02d for %.0f h, needing about %v each (assumed)", 100*f.Daily, days, int(f.Hour),
		int(60*(f.Hour-math.Floor(f.Hour))), f.Stay, f.Needs)
}

// furtherOf returns the place among the further limiters of the one that holds a
// point, where it has one whose limit is known. It runs in series with the first.
func (s *Studied) furtherOf(m *model.Model, first *works.Limiter, p *model.Point) (by int, held bool) {
	l, ok := m.Job.Limiter(p.Record.Limiter)
	if !ok || l == first {
		return 0, false
	}
	for i := range s.further {
		if s.further[i].Name == l.Name {
			return i + 1, true
		}
	}
	through, unknown := m.Through(l, p)
	c, lacks := controlOf(l)
	if !through || len(unknown) > 0 || !l.Limit.IsKnown() {
		return 0, false
	}
	if len(lacks) > 0 {
		s.Assumed = append(s.Assumed, fmt.Sprintf(
			"limiter %s acts at once and without error where its facts are not stated (%d of them): its proof is not known", l.Name, len(lacks)))
	}
	if c.Sharing == "" {
		c.Sharing = trade.EqualShares
	}
	at := m.AtLimiter(l)
	s.Lacks = append(s.Lacks, at.Lacks...)
	s.further = append(s.further, furtherControl{limiterControl: c, Behind: Lines(at.Without(l).Phase)})
	s.Assumed = append(s.Assumed, fmt.Sprintf("limiter %s runs in series with %s: what it gives its points is other load there", l.Name, first.Name))
	return len(s.further), true
}

// leastLevel is how much of its known greatest a made-up site comes to in the
// mildest of years; engineering judgement, no published source.
const leastLevel = 0.85

// runSetup returns the run of a seed. What is drawn: the level of a made-up
// site, where in its tolerance the clamp reads, which vehicle comes when.
func (s *Studied) Scenario(seed uint64) (*runSetup, error) {
	rng := rand.New(rand.NewPCG(seed, 0x5eed))
	u0 := s.model.U0().Value
	out := &runSetup{left: s.left, Start: s.Start, Step: s.Step, Length: s.Length, Volts: u0, Bays: s.bays, Control: s.control,
		Tariff: s.Tariff, Rules: s.model.Rules, Drops: s.drops, Visits: s.fleet.Seeded(seed), Behind: s.behind, Surplus: s.Surplus, Device: s.device,
		Faults: s.Faults}
	level := leastLevel + (1-leastLevel)*rng.Float64()
	if s.control != nil {
		out.Reads = s.control.Error * quantity.Percent(2*rng.Float64()-1)
	}
	for _, c := range s.further {
		c.Reads = c.Error * quantity.Percent(2*rng.Float64()-1)
		out.Further = append(out.Further, c)
	}
	if s.Log != nil {
		site, err := s.Log.Site(s.Step)
		if err != nil {
			return nil, err
		}
		out.Site = site
	} else {
		most := s.existing
		for k := range most {
			most[k] *= quantity.Amperes(level)
		}
		out.Site = newTypical(s.shape, most, s.Start, s.Step, seed)
	}
	if s.Sun > 0 {
		out.Site = newSun(out.Site, s.Sun, s.sunny(), u0, s.Start, s.Step, seed)
	}
	if s.free != (Lines{}) {
		out.Site = &added{out.Site, toMilli(s.free)}
	}
	return out, nil
}

// sunny returns the lines an array feeds: all that the supply has.
func (s *Studied) sunny() [3]bool {
	n, ok := s.model.Job.Supply.Phases.Get()
	return [3]bool{true, ok && n == 3, ok && n == 3}
}

// added is other loads with a constant on top.
type added struct {
	otherLoads
	by milli
}

func (a *added) Fill(into []present) {
	a.otherLoads.Fill(into)
	for i := range into {
		for k := range a.by {
			into[i][k] += a.by[k]
		}
	}
}

// runOutcome is what a study keeps of one run.
type runOutcome struct {
	Peak, HalfHour, SiteHalfHour Lines
	Neutral                      quantity.Amperes
	Energy                       quantity.WattHours // of the points, in a year
	Held                         quantity.Seconds   // in a year
	Visits, NotFull              int
	Cost                         wholePence       // of the points, in a year
	Over                         quantity.Seconds // above the limit, most loaded line
	Lowest                       quantity.Volts
}

// Keep takes from a result what a study needs.
func (s *Studied) Keep(r *Result) runOutcome {
	years := s.Length.Hours() / (365 * 24)
	o := runOutcome{Peak: r.Peak, HalfHour: r.HalfHour, SiteHalfHour: r.SiteHalfHour, Neutral: r.Neutral,
		Energy: r.Points.WattHours() / quantity.WattHours(years), Held: r.Held() / quantity.Seconds(years), Cost: wholePence(float64(r.PointsCost) / years)}
	for k := range o.SiteHalfHour { // a point that nothing limits is one of the points
		o.SiteHalfHour[k] = max(0, o.SiteHalfHour[k]-s.free[k])
	}
	o.NotFull, o.Visits = r.NotFull()
	if s.control != nil && s.behind == nil {
		for k := range 3 {
			o.Over = max(o.Over, r.Above(k, s.control.Limit+1)/quantity.Seconds(years))
		}
	}
	for _, l := range r.Lowest {
		if o.Lowest == 0 || l.Volts < o.Lowest {
			o.Lowest = l.Volts
		}
	}
	return o
}

// interval is a mean with the range that holds the true one 19 times in 20,
// and the range in which 19 runs in 20 lie.
type interval struct {
	Mean float64 `json:"mean"` // of the mean
	Low  float64 `json:"low"`
	High float64 `json:"high"`
	From float64 `json:"from"` // of the runs
	To   float64 `json:"to"`
}

// Study is what many runs say together.
type Study struct {
	Runs         int           `json:"runs"`
	FirstSeed    uint64        `json:"firstSeed"`
	Length       time.Duration `json:"length"`
	Peak         interval      `json:"peak"`    // A, most loaded line
	Neutral      interval      `json:"neutral"` // A
	Energy       interval      `json:"energy"`  // kWh a year
	Held         interval      `json:"held"`    // hours a year
	Over         interval      `json:"over"`    // hours a year that the most loaded line is an ampere or more above the limit
	Cost         interval      `json:"cost"`    // £ a year
	Lowest       interval      `json:"lowest"`  // V; zero where not followed
	Visits       int           `json:"visits"`
	NotFull      int           `json:"notFull"`
	Share        interval      `json:"share"`    // of vehicles that leave without all they needed: Low and High by Wilson's method
	HalfHour     Lines         `json:"halfHour"` // greatest of all runs
	SiteHalfHour Lines         `json:"siteHalfHour"`
	Lacks        finding.Lacks `json:"gaps"`
	Assumed      []string      `json:"assumed"`
}

// Sum puts outcomes together, in any order.
func (s *Studied) Sum(outcomes []runOutcome, firstSeed uint64) *Study {
	out := &Study{Runs: len(outcomes), FirstSeed: firstSeed, Length: s.Length, Lacks: s.Lacks, Assumed: s.Assumed}
	pick := func(f func(runOutcome) float64) interval {
		v := make([]float64, len(outcomes))
		for i, o := range outcomes {
			v[i] = f(o)
		}
		return intervalOf(v)
	}
	for _, o := range outcomes {
		out.Visits += o.Visits
		out.NotFull += o.NotFull
		for k := range 3 {
			out.HalfHour[k] = max(out.HalfHour[k], o.HalfHour[k])
			out.SiteHalfHour[k] = max(out.SiteHalfHour[k], o.SiteHalfHour[k])
		}
	}
	out.Peak = pick(func(o runOutcome) float64 { return float64(o.Peak.Greatest()) })
	out.Neutral = pick(func(o runOutcome) float64 { return float64(o.Neutral) })
	out.Energy = pick(func(o runOutcome) float64 { return float64(o.Energy) / 1000 })
	out.Held = pick(func(o runOutcome) float64 { return float64(o.Held) / 3600 })
	out.Over = pick(func(o runOutcome) float64 { return float64(o.Over) / 3600 })
	out.Cost = pick(func(o runOutcome) float64 { return float64(o.Cost) / 100 })
	out.Lowest = pick(func(o runOutcome) float64 { return float64(o.Lowest) })
	out.Share = wilson(out.NotFull, out.Visits)
	return out
}

// intervalOf returns the mean of v, with 1.96 standard errors on either side,
// and the middle 95 in 100 of v.
func intervalOf(v []float64) interval {
	if len(v) == 0 {
		return interval{}
	}
	v = append([]float64(nil), v...)
	sort.Float64s(v)
	sum, square := 0.0, 0.0
	for _, x := range v {
		sum += x
	}
	mean := sum / float64(len(v))
	for _, x := range v {
		square += (x - mean) * (x - mean)
	}
	half := 0.0
	if n := float64(len(v)); n > 1 {
		half = 1.96 * math.Sqrt(square/(n-1)/n)
	}
	low := mean - half
	if v[0] >= 0 {
		low = max(0, low) // what cannot be below nothing
	}
	at := func(share float64) float64 { return v[int(math.Round(share*float64(len(v)-1)))] }
	return interval{Mean: mean, Low: low, High: mean + half, From: at(0.025), To: at(0.975)}
}

// wilson returns the interval of a share seen k times of n (Wilson 1927).
//
//	centre  (p + z²/2n)/(1 + z²/n)
//	half    z/(1 + z²/n) × √(p(1 − p)/n + z²/4n²)
func wilson(k, n int) interval {
	if n == 0 {
		return interval{}
	}
	const z = 1.96
	p, m := float64(k)/float64(n), float64(n)
	centre := (p + z*z/(2*m)) / (1 + z*z/m)
	half := z / (1 + z*z/m) * math.Sqrt(p*(1-p)/m+z*z/(4*m*m))
	return interval{Mean: p, Low: max(0, centre-half), High: min(1, centre+half), From: p, To: p}
}
