package design

// What comes from the street: is it known, is it as declared, and does it
// carry the demand (BS 7671 132.16, 313.1; the network operators' procedure
// for low-carbon technologies).

import (
	"fmt"
	"strings"

	"chargewright/demand"
	"chargewright/finding"
	"chargewright/model"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/trade"
	"chargewright/works"
)

// supply checks the facts of the supply that everything else waits for.
func (k *checker) supply() {
	s := &k.m.Job.Supply
	f := k.start("supply earthing", "supply characteristics", works.TheSupply, "earthing system is established")
	if system, ok := s.Earthing.Get(); ok {
		k.add(meets(f, say("recorded as %v", string(system))))
	} else {
		f.Next = "look at the cut-out: find the means of earthing and ask the network operator if it is not plain"
		k.add(notKnown(f, k.m.NoEarthing()))
	}
	k.polarity()
	k.ze()
	k.ipf()
	k.cutOut()
}

// ze checks Ze against what the network operators usually declare.
func (k *checker) ze() {
	s := &k.m.Job.Supply
	f := k.start("supply Ze", "supply characteristics", works.TheSupply, "Ze is established and no higher than declared for the system")
	system, ok := s.Earthing.Get()
	found := k.m.Ze()
	ze, known := found.Get()
	switch {
	case ok && system == trade.TT:
		if known || s.Electrode != "" {
			return // the electrode is judged under TT
		}
		f.Next = "measure the electrode's resistance, or enter the electrode"
		k.add(notKnown(f, works.TheSupply.Lack("Ze", "Ze, or the electrode of the installation", "electrode")))
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
	if s.Private.Or(false) { // what operators declare is of their own networks
		f.Value = amount(ze)
		k.add(meets(f, say("%v, %s; from the site's own transformer: no network operator's figure stands against it", ze, howKnown(s.Ze.KnownBy))))
		return
	}
	if !declared.Known() {
		k.add(meets(f, say("%v, %s", ze, howFound(found))))
		return
	}
	f.Source = standard.Sources(k.rules.Clause("supply characteristics"), declared.Cite)
	f = atMost(f, ze, declared.Value)
	f.Why = say("%s", howFound(found))
	if f.Verdict == finding.Fails {
		f.Why = f.Why.Then(say("above the figure network operators usually declare"))
		f.Next = "do not energise on it: measure again with leads nulled; if it stays, tell the network operator and the person in charge, and leave the " +
			"cut-out alone"
	} else if found.How == "" || found.How == trade.Assumed {
		f.Verdict = finding.JudgeOnSite
		f.Next = "measure Ze before the circuit is put into service"
	}
	k.add(f)
}

// howFound says how an answer of the model is known.
func howFound(a model.Answer[quantity.Ohms]) string {
	if a.Why != "" {
		return a.Why
	}
	if a.How == "" {
		return "how it is known is not said"
	}
	return string(a.How)
}

func howKnown(h quantity.Maybe[trade.HowKnown]) string {
	if by, ok := h.Get(); ok {
		return string(by)
	}
	return "how it is known is not said"
}

// ipf checks the fault current at the origin against the cut-out and the
// network operators' declared greatest.
func (k *checker) ipf() {
	s := &k.m.Job.Supply
	f := k.start("supply Ipf", "prospective fault", works.TheSupply, "prospective fault current at the origin is established")
	ipf := s.Ipf.Value.Or(0)
	if len(k.m.NoIpf()) > 0 {
		f.Next = "enquire of the network operator, or measure line to neutral and line to earth at the origin and take the greater"
		k.add(notKnown(f, k.m.NoIpf()))
		return
	}
	f.Value = amount(ipf)
	k.add(meets(f, say("%s", howKnown(s.Ipf.KnownBy))))
}

// polarity checks that line and neutral come in as they are marked.
func (k *checker) polarity() {
	f := k.start("supply polarity", "polarity", works.TheSupply, "line and neutral of the supply are as marked")
	switch confirmed, ok := k.m.Job.Supply.Polarity.Get(); {
	case !ok:
		k.add(notKnown(f, works.TheSupply.Lack("polarity confirmed", "whether line and neutral are as marked")))
	case confirmed:
		k.add(meets(f, say("confirmed")))
	default:
		k.add(fails(f, say("they were found exchanged, or not as marked"),
			"do not energise: every switch and fuse would stand in the neutral; tell the network operator, and leave the cut-out alone"))
	}
}

// cutOut checks that the cut-out breaks the fault current at the origin.
func (k *checker) cutOut() {
	s := &k.m.Job.Supply
	f := k.start("cut-out breaking capacity", "breaking capacity", works.TheCutOut, "cut-out breaks the fault current at the origin")
	icn, known := s.CutOut.BreakingCapacity.Get()
	if noIpf := k.m.NoIpf(); !known || len(noIpf) > 0 {
		f = notKnown(f, noIpf, works.TheCutOut.Unless(known, "breaking capacity", "breaking capacity of the cut-out fuse"))
		if len(noIpf) > 0 {
			f.WaitsOn = "supply Ipf"
		}
		k.add(f)
		return
	}
	f = atLeast(f, icn, s.Ipf.Value.Or(0))
	if f.Verdict == finding.Fails {
		f.Next = "tell the network operator: the cut-out is its equipment"
	}
	k.add(f)
}

// demand checks what the supply must carry against the cut-out and the agreed
// capacity, and settles whether the network operator is told or asked.
func (k *checker) demand() {
	d := k.m.SupplyDemand()
	s := &k.m.Job.Supply
	k.demandKnown()
	f := k.start("supply demand", "no diversity", works.TheSupply, "cut-out carries the greatest line current with every point in full")
	if lacks := finding.Gather(d.Total.Lacks, k.m.NoFuse()); len(lacks) > 0 {
		k.add(notKnown(f, lacks))
	} else {
		f = atMost(f, d.Total.Greatest(), s.CutOut.Rating.Or(0))
		f.Why = func() string { return demandText(k.m, d) }
		if f.Verdict == finding.Fails {
			f.Next = "limit the load, ask the network operator for a larger supply, or fit fewer or smaller points"
		}
		k.add(f)
	}
	f = k.start("agreed capacity", "adequacy of supply", works.TheSupply, "greatest line current stays within the agreed capacity")
	capacity, agreed := s.Capacity.Get()
	switch {
	case !agreed && len(k.m.NoCapacity()) == 0:
		k.add(meets(f, say("none is agreed: the cut-out alone limits the supply")))
	case !agreed || !d.Total.Known():
		k.add(notKnown(f, k.m.NoCapacity(), d.Total.Lacks))
	default:
		f = atMost(f, d.Total.Greatest(), capacity)
		f.Why = func() string { return demandText(k.m, d) }
		if f.Verdict == finding.Fails {
			f.Next = "limit the load to the agreed capacity, or ask the network operator for more"
		}
		k.add(f)
	}
	if len(k.m.Points) > 0 {
		k.notify(d)
	}
}

// demandKnown checks how the demand before the points came to be known: a
// figure that nobody answers for is none.
func (k *checker) demandKnown() {
	d := &k.m.Job.Supply.Demand
	f := k.start("demand known", "adequacy of supply", works.TheSupply, "greatest demand before the points is known: how, when and by whom")
	if existing := k.m.ExistingDemand(); !existing.Known() {
		k.add(notKnown(f, existing.Lacks))
		return
	}
	f.Value = amount(k.m.ExistingDemand().Greatest())
	how, said := d.KnownBy.Get()
	switch {
	case !d.Value.IsKnown():
		k.add(meets(f, say("from %s", k.m.DemandSource())))
	case !said || d.Who == "" || d.When == "":
		lack := func(known bool, what string) finding.Lacks {
			return works.TheSupply.Unless(known, "maximum demand", what+" its maximum demand was found")
		}
		k.add(notKnown(f, lack(said, "how"), lack(d.When != "", "when"), lack(d.Who != "", "by whom")))
	case how == trade.Assumed:
		k.add(judge(f, say("%s", k.m.DemandSource()), "measure it over the time of greatest use, or reckon it from all that is connected"))
	default:
		k.add(meets(f, say("%s", k.m.DemandSource())))
	}
}

func demandText(m *model.Model, d model.SupplyDemand) string {
	text := fmt.Sprintf("before the points %v (%s), points in full %v, in the most loaded lines", d.Existing.Greatest(), m.DemandSource(), d.Points.Greatest())
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
	m.Rest(r.Findings, func(m *model.Model) []finding.Finding {
		_, found := demand.Estimates(m, log, study)
		return found
	})
	best := demand.Best(m, r.Estimates)
	r.Route, r.Reasons, r.Missing = Notification(m, best.Demand(m))
	r.Words, r.Form = r.Route.String(), demand.ForForm(m, best)
	return r
}

// Notification returns the route and the reasons for it.
//
//	source  network operators' application form for charge points and heat
//	        pumps, and their answers on looped, unmetered and uncertain supplies;
//	        that generation, storage and a vehicle that feeds back have a
//	        procedure of their own: EREC G98 and G99, from memory
func Notification(m *model.Model, d model.SupplyDemand) (Route, []string, finding.Lacks) {
	s := &m.Job.Supply
	route := TellAfter
	var reasons []string
	var lacks finding.Lacks
	ask := func(why string) {
		route = max(route, AskBefore)
		reasons = append(reasons, why)
	}
	asks := func(of works.Thing, said quantity.Maybe[bool], field, unknown, why string) {
		if yes, ok := said.Get(); !ok {
			lacks = append(lacks, of.Lack(field, unknown)...)
		} else if yes {
			ask(why)
		}
	}
	asks(works.TheSupply, s.Unmetered, "unmetered", "whether it is unmetered", "the supply is unmetered")
	asks(works.TheSupply, s.Looped, "looped", "whether the service is looped", "the service cable also feeds a neighbour (looped)")
	switch condition, ok := s.ServiceCondition.Get(); {
	case !ok:
		lacks = append(lacks, works.TheSupply.Lack("service equipment", "condition of the service equipment")...)
	case condition == trade.Damaged:
		route = AskBeforeDoNotEnergise
		reasons = append(reasons, "the service equipment is damaged")
	case condition == trade.Uncertain:
		ask("the condition of the service equipment is uncertain")
	}
	rating, ok := s.CutOut.Rating.Get()
	if !ok {
		ask("the rating of the cut-out fuse is not known")
	}
	if lacks = append(lacks, m.NoCapacity()...); !d.Total.Known() {
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
			lacks = append(lacks, works.TheSite.Lack("premises", "kind of premises")...)
		case premises.Residential() && float64(total) > most*(1+finding.Slack):
			ask(fmt.Sprintf("the new demand of %v is above %v at residential premises", total, quantity.Amperes(most)))
		}
		if capacity, agreed := s.Capacity.Get(); agreed && total > capacity*(1+finding.Slack) {
			ask(fmt.Sprintf("the new demand of %v is above the agreed capacity of %v", total, capacity))
		}
	}
	if most, _, err := m.Rules.Limit("lct device per phase"); err == nil {
		for _, p := range m.Points {
			if i := m.PointCurrents(p); i.Known() && float64(i.Greatest()) > most*(1+finding.Slack) {
				ask(fmt.Sprintf("%s takes %v in a line, more than the %v of a device that is told of after", p.Record.Name, i.Greatest(), quantity.Amperes(most)))
			}
		}
	}
	lacks = append(lacks, generation(m, &reasons, ask)...)
	if route == TellAfter && len(lacks) > 0 {
		return RouteNotKnown, reasons, lacks
	}
	return route, reasons, lacks
}

// generation adds what the sources ask of the route: nothing for those whose own
// connection is agreed; up to 16 A per phase of all together, told of after; more
// is asked for first.
func generation(m *model.Model, reasons *[]string, ask func(why string)) finding.Lacks {
	lacks := m.UnsaidSources()
	given, open := m.Given(), false
	for _, s := range m.Sources {
		open = open || s.Record.Agreed == ""
	}
	if len(lacks) > 0 && len(model.SourceNames(m.Job)) > 0 {
		ask("there is " + strings.Join(model.SourceNames(m.Job), ", ") + ", not all of it entered: generation and storage have " +
			"a procedure of their own (EREC G98 or G99), and count beside the points")
	}
	if !open {
		return lacks
	}
	most, _, err := m.Rules.Limit("generation told after")
	switch total := given.Greatest(); {
	case err != nil || !given.Known():
		lacks = finding.Gather(lacks, given.Lacks)
	case float64(total) > most*(1+finding.Slack):
		ask(fmt.Sprintf("sources of %v in a line together are more than the %v told of after: apply for them first (EREC G99)", total, quantity.Amperes(most)))
	default:
		*reasons = append(*reasons, fmt.Sprintf("sources of %v in a line together are told of on a form of their own after they are commissioned (EREC G98)", total))
	}
	return lacks
}

// notify reports the route.
func (k *checker) notify(d model.SupplyDemand) {
	f := k.start("notification", "notify", works.TheOperator, "route of notification")
	route, reasons, lacks := Notification(k.m, d)
	days := limit[float64](k, "lct tell days")
	f.Source = standard.Sources(k.rules.Clause("notify"), days.Cite)
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
