package design

// What comes from the street: is it known, is it as declared, and does it
// carry the demand (BS 7671 132.16, 313.1; the network operators' procedure
// for low-carbon technologies).

import (
	"fmt"
	"math"
	"strings"

	"chargewright/demand"
	"chargewright/finding"
	"chargewright/job"
	"chargewright/model"
	"chargewright/quantity"
)

// supply checks the facts of the supply that everything else waits for.
func (k *checker) supply() {
	s := &k.m.Job.Supply
	f := k.start("supply earthing", "supply characteristics", job.TheSupply, "earthing system is established")
	if system, ok := s.Earthing.Get(); ok {
		k.add(meets(f, say("recorded as %v", string(system))))
	} else {
		f.Next = "look at the cut-out: find the means of earthing and ask the network operator if it is not plain"
		k.add(notKnown(f, k.m.NoEarthing()))
	}
	k.ze()
	k.ipf()
}

// ze checks Ze against what the network operators usually declare.
func (k *checker) ze() {
	s := &k.m.Job.Supply
	f := k.start("supply Ze", "supply characteristics", job.TheSupply, "Ze is established and no higher than declared for the system")
	system, ok := s.Earthing.Get()
	ze, known := s.Ze.Value.Get()
	switch {
	case ok && system == job.TT:
		if known || s.Electrode != "" {
			return // the electrode is judged under TT
		}
		f.Next = "measure the electrode's resistance, or enter the electrode"
		k.add(notKnown(f, job.TheSupply.Lack("Ze", "Ze, or the electrode of the installation", "electrode")))
		return
	case !known:
		f.Next = "enquire of the network operator, or measure Ze at the origin with the main switch off and the earthing conductor disconnected; reconnect it " +
			"before anything is energised"
		k.add(notKnown(f, k.m.External().Lacks))
		return
	case !ok:
		k.add(notKnown(f, k.m.NoEarthing()))
		return
	}
	declared := limit[quantity.Ohms](k, "ze "+strings.ToLower(string(system)))
	if !declared.Known() {
		k.add(meets(f, say("%v, %s", ze, howKnown(s.Ze.KnownBy))))
		return
	}
	f.Source = sources(k.rules.Clause("supply characteristics"), declared.Cite)
	f = atMost(f, ze, declared.Value)
	f.Why = say("%s", howKnown(s.Ze.KnownBy))
	if f.Verdict == finding.Fails {
		f.Why = f.Why.Then(say("above the figure network operators usually declare"))
		f.Next = "do not energise on it: measure again with leads nulled; if it stays, tell the network operator and the person in charge, and leave the " +
			"cut-out alone"
	} else if by, said := s.Ze.KnownBy.Get(); !said || by == job.Assumed {
		f.Verdict = finding.JudgeOnSite
		f.Next = "measure Ze before the circuit is put into service"
	}
	k.add(f)
}

func howKnown(h quantity.Maybe[job.HowKnown]) string {
	if by, ok := h.Get(); ok {
		return string(by)
	}
	return "how it is known is not said"
}

// ipf checks the fault current at the origin against the cut-out and the
// network operators' declared greatest.
func (k *checker) ipf() {
	s := &k.m.Job.Supply
	f := k.start("supply Ipf", "prospective fault", job.TheSupply, "prospective fault current at the origin is established")
	ipf, ok := s.Ipf.Value.Get()
	if !ok {
		f.Next = "enquire of the network operator, or measure line to neutral and line to earth at the origin and take the greater"
		k.add(notKnown(f, k.m.NoIpf()))
		return
	}
	f.Value = amount(ipf)
	k.add(meets(f, say("%s", howKnown(s.Ipf.KnownBy))))
	f = k.start("cut-out breaking capacity", "breaking capacity", job.TheCutOut, "cut-out breaks the fault current at the origin")
	if icn, known := s.CutOut.BreakingCapacity.Get(); known {
		f = atLeast(f, icn, ipf)
		if f.Verdict == finding.Fails {
			f.Next = "tell the network operator: the cut-out is its equipment"
		}
		k.add(f)
	}
}

// demand checks what the supply must carry against the cut-out and the agreed
// capacity, and settles whether the network operator is told or asked.
func (k *checker) demand() {
	d := k.m.SupplyDemand()
	s := &k.m.Job.Supply
	f := k.start("supply demand", "no diversity", job.TheSupply, "cut-out carries the greatest line current with every point in full")
	if lacks := finding.Gather(d.Total.Lacks, k.m.NoFuse()); len(lacks) > 0 {
		k.add(notKnown(f, lacks))
	} else {
		f = atMost(f, d.Total.Greatest(), s.CutOut.Rating.Or(0))
		f.Why = func() string { return demandText(d) }
		if f.Verdict == finding.Fails {
			f.Next = "limit the load, ask the network operator for a larger supply, or fit fewer or smaller points"
		}
		k.add(f)
	}
	if capacity, ok := s.Capacity.Get(); ok {
		f := k.start("agreed capacity", "adequacy of supply", job.TheSupply, "greatest line current stays within the agreed capacity")
		if !d.Total.Known() {
			k.add(notKnown(f, d.Total.Lacks))
		} else {
			f = atMost(f, d.Total.Greatest(), capacity)
			f.Why = func() string { return demandText(d) }
			if f.Verdict == finding.Fails {
				f.Next = "limit the load to the agreed capacity, or ask the network operator for more"
			}
			k.add(f)
		}
	}
	if len(k.m.Points) > 0 {
		k.notify(d)
	}
}

func demandText(d model.SupplyDemand) string {
	text := fmt.Sprintf("before the points %v, points in full %v, in the most loaded lines", d.Existing.Greatest(), d.Points.Greatest())
	if d.Limiter != nil {
		text += fmt.Sprintf("; %v without load limiting, held by %s to %v", d.Unlimited, d.Limiter.Name, d.Limiter.Limit)
	}
	return text
}

// Route is how the network operator must be told of the work.
type Route uint8

// The routes; the zero value is not known.
const (
	RouteNotKnown Route = iota
	TellAfter
	AskBefore
	AskBeforeDoNotEnergise
)

// String says it in words.
func (r Route) String() string {
	switch r {
	case TellAfter:
		return "tell the network operator after installing, within 28 days"
	case AskBefore:
		return "ask the network operator before installing"
	case AskBeforeDoNotEnergise:
		return "ask the network operator before installing, and do not energise"
	}
	return "not known"
}

// DemandReport is what is said of a job's maximum demand, in its published
// shape.
type DemandReport struct {
	Job       string            `json:"job"`
	Edition   string            `json:"edition"`
	Estimates []demand.Estimate `json:"estimates"`
	Findings  []finding.Finding `json:"findings"`
	Route     Route             `json:"-"`
	Words     string            `json:"notification"` // the route, in words
	Reasons   []string          `json:"reasons"`
	Missing   finding.Lacks     `json:"missing"`
	Form      []demand.Formed   `json:"form"`
}

// ReportDemand finds the maximum demand three ways, and says who must be told
// of it.
func ReportDemand(m *model.Model, log *demand.Log, study *demand.Study) DemandReport {
	r := DemandReport{Job: m.Job.Name, Edition: string(m.Job.Edition)}
	r.Estimates, r.Findings = demand.Estimates(m, log, study)
	r.Route, r.Reasons, r.Missing = Notification(m, m.SupplyDemand())
	r.Words, r.Form = r.Route.String(), demand.ForForm(m, demand.Best(r.Estimates))
	return r
}

// Notification returns the route and the reasons for it.
//
//	source  network operators' application form for charge points and heat
//	        pumps, and their answers on looped, unmetered and uncertain supplies
func Notification(m *model.Model, d model.SupplyDemand) (Route, []string, finding.Lacks) {
	s := &m.Job.Supply
	route := TellAfter
	var reasons []string
	var lacks finding.Lacks
	ask := func(why string) {
		route = max(route, AskBefore)
		reasons = append(reasons, why)
	}
	if s.Unmetered.Or(false) {
		ask("the supply is unmetered")
	}
	switch looped, ok := s.Looped.Get(); {
	case !ok:
		lacks = job.TheSupply.Lack("looped", "whether the service is looped")
	case looped:
		ask("the service cable also feeds a neighbour (looped)")
	}
	switch condition, ok := s.ServiceCondition.Get(); {
	case !ok:
		lacks = append(lacks, job.TheSupply.Lack("service equipment", "condition of the service equipment")...)
	case condition == job.Damaged:
		route = AskBeforeDoNotEnergise
		reasons = append(reasons, "the service equipment is damaged")
	case condition == job.Uncertain:
		ask("the condition of the service equipment is uncertain")
	}
	rating, ok := s.CutOut.Rating.Get()
	if !ok {
		ask("the rating of the cut-out fuse is not known")
	}
	if !d.Total.Known() {
		lacks = append(lacks, d.Total.Lacks...)
	} else {
		total := d.Total.Greatest()
		if ok && total > rating*(1+finding.Slack) {
			ask(fmt.Sprintf("the new demand of %v is above the cut-out's %v", total, rating))
		}
		most, _, err := m.Rules.Limit("lct ask above")
		premises, said := m.Job.Site.Premises.Get()
		switch {
		case err != nil || !said:
			lacks = append(lacks, job.TheSite.Lack("premises", "kind of premises")...)
		case premises.Residential() && float64(total) > most*(1+finding.Slack):
			ask(fmt.Sprintf("the new demand of %v is above %v at residential premises", total, quantity.Amperes(most)))
		}
		if capacity, agreed := s.Capacity.Get(); agreed && total > capacity*(1+finding.Slack) {
			ask(fmt.Sprintf("the new demand of %v is above the agreed capacity of %v", total, capacity))
		}
	}
	if others, _ := s.Sources(); len(others) > 0 {
		reasons = append(reasons, "other sources are on site ("+strings.Join(others, ", ")+"): generation has its own notification")
	}
	if route == TellAfter && len(lacks) > 0 {
		return RouteNotKnown, reasons, lacks
	}
	return route, reasons, lacks
}

// notify reports the route.
func (k *checker) notify(d model.SupplyDemand) {
	f := k.start("notification", "notify", job.TheOperator, "route of notification")
	route, reasons, lacks := Notification(k.m, d)
	days := limit[float64](k, "lct tell days")
	f.Source = sources(k.rules.Clause("notify"), days.Cite)
	why := strings.Join(reasons, "; ")
	switch route {
	case TellAfter:
		f = meets(f, say("tell after: the demand is within the limits and the service is known and sound"))
		if why != "" {
			f.Why = f.Why.Then(say("%s", why))
		}
		f.Next = fmt.Sprintf("notify the network operator within %.0f days of the installation", days.Value)
	case AskBefore:
		f = judge(f, say("ask before: %v", why), "apply to the network operator, and install only with its leave")
	case AskBeforeDoNotEnergise:
		f = fails(f, say("ask before, and do not energise: %v", why), "tell the network operator and the person in charge at once; leave its equipment alone")
	default:
		f = notKnown(f, lacks)
		if why != "" {
			f.Why = f.Why.Then(say("%s", why))
		}
	}
	k.add(f)
}

// limiters checks each load limiter.
func (k *checker) limiters() {
	for i := range k.m.Job.Limiters {
		l := &k.m.Job.Limiters[i]
		k.limiterSetting(l)
		k.limiterHelps(l)
		k.limiterFailSafe(l)
		k.limiterClamp(l)
	}
}

// limiterSetting checks the limit against what it protects.
func (k *checker) limiterSetting(l *job.Limiter) {
	at := l.Thing()
	f := k.start("limiter setting", "load control", at, "limit is no higher than what it protects carries")
	limit, ok := l.Limit.Get()
	carries := k.m.CarriedAt(l.At)
	if !ok || !carries.Known() {
		k.add(notKnown(f, carries.Lacks, at.Unless(ok, "limit", "limit")))
		return
	}
	f = atMost(f, limit, carries.Value)
	f.Why = say("%s", carries.Why)
	if f.Verdict == finding.Fails {
		f.Next = "set the limit to " + carries.Value.String() + " or less"
	}
	k.add(f)
}

// limiterHelps checks that the loads it cannot hold back leave room.
func (k *checker) limiterHelps(l *job.Limiter) {
	if supply := k.m.SupplyLimiter(); supply != l {
		return
	}
	at := l.Thing()
	f := k.start("limiter reach", "load control", at, "what it cannot hold back stays within its limit")
	limit, ok := l.Limit.Get()
	d := k.m.SupplyDemand()
	if !ok || !d.Total.Known() {
		k.add(notKnown(f, d.Total.Lacks, at.Unless(ok, "limit", "limit")))
		return
	}
	others := d.Total.Greatest()
	if others <= limit {
		others = d.Existing.Greatest()
	}
	f = atMost(f, others, limit)
	if f.Verdict == finding.Fails {
		f.Why = say("the other loads alone exceed %v by %v: a limiter cannot cure that", limit, others-limit)
		f.Next = "judge the diversity of the other loads, or enlarge the supply"
	} else {
		f.Why = say("the other loads leave %v for the points when they are greatest", limit-others)
		if least, _, err := k.rules.Limit("pilot least"); err == nil && float64(limit-others) < least {
			f.Next = fmt.Sprintf("charging pauses then, since a vehicle cannot be asked for less than %v", quantity.Amperes(least))
		}
	}
	k.add(f)
}

// limiterFailSafe checks that losing the clamp or its link cannot overload
// what it protects.
//
//	formula  fail-safe current ≤ limit − greatest other load
func (k *checker) limiterFailSafe(l *job.Limiter) {
	at := l.Thing()
	f := k.start("limiter fail-safe", "load control", at, "with its clamp or link lost, the points take no more than the others leave")
	limit, ok := l.Limit.Get()
	safe, said := l.FailSafe.Get()
	existing := k.m.ExistingDemand()
	for _, b := range k.m.Boards {
		if b.Record.Name == l.At && k.m.SupplyLimiter() != l {
			existing = k.m.LoadsOn(b)
		}
	}
	if !ok || !said || !existing.Known() {
		k.add(notKnown(f, existing.Lacks, at.Unless(ok, "limit", "limit"), at.Unless(said, "fail-safe current", "fail-safe current")))
		return
	}
	room := quantity.Amperes(math.Max(0, float64(limit-existing.Greatest())))
	f = atMost(f, safe, room)
	f.Why = say("limit %v less the others' greatest %v", limit, existing.Greatest())
	if f.Verdict == finding.Fails {
		f.Next = "set the fail-safe current to " + room.String() + " or less; below 6 A that is a pause"
	}
	k.add(f)
}

// limiterClamp checks where the clamps are and what they see.
func (k *checker) limiterClamp(l *job.Limiter) {
	at := l.Thing()
	f := k.start("limiter clamp", "load control", at, "its clamps measure every line that its points load")
	phases, ok := l.ClampPhases.Get()
	if l.Clamp == "" || !ok {
		k.add(notKnown(f, at.Unless(l.Clamp != "", "clamp place", "place of its clamps"), at.Unless(ok, "clamp phases", "phases its clamps measure")))
	} else {
		var blind []string
		for _, p := range k.m.Points {
			if p.Record.Limiter != l.Name {
				continue
			}
			for line, i := range k.m.PointCurrents(p).Phase {
				if i > 0 && phases != job.ThreePhase && model.LineNumber(phases) != line {
					blind = append(blind, p.Record.Name)
					break
				}
			}
		}
		if len(blind) > 0 {
			k.add(fails(f, say("clamp on %s does not see %s", phases, strings.Join(blind, ", ")),
				"put a clamp on every line the points load, each on the line its channel is named for"))
		} else {
			f = meets(f, say("clamps at %s on %s", l.Clamp, phases))
			f.Next = "prove place, direction and line at commissioning: a known load on each line in turn"
			k.add(f)
		}
	}
	lead, known := l.ClampLead.Get()
	most, said := l.ClampLeadMost.Get()
	if !known && !said {
		return
	}
	f = k.start("clamp lead", "load control", at, "clamp lead is no longer than its maker allows")
	if !known || !said {
		k.add(notKnown(f, at.Unless(known, "clamp lead", "length of the clamp lead"), at.Unless(said, "greatest clamp lead", "greatest length its maker allows")))
		return
	}
	f = atMost(f, lead, most)
	if f.Verdict == finding.Fails {
		f.Next = "move the meter nearer, or use the maker's extension or data link"
	}
	k.add(f)
}
