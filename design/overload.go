package design

// Overload: Ib ≤ In ≤ Iz, with every factor of every leg (BS 7671 433.1, 523).

import (
	"fmt"
	"strings"

	"chargewright/finding"
	"chargewright/model"
	"chargewright/quantity"
	"chargewright/standard"
)

// designCurrent checks Ib ≤ In.
func (k *checker) designCurrent(c *model.Circuit) {
	f := k.start("design current", "overload", c.Thing(), "device carries the design current: Ib ≤ In")
	ib := c.DesignCurrents()
	in := c.Rated()
	if !ib.Known() || !in.Known() {
		k.add(notKnown(f, ib.Lacks, in.Lacks))
		return
	}
	f = atMost(f, ib.Greatest(), in.Value)
	f.Why = ib.Says
	if c.Point != nil && len(ib.Why) == 1 { // nothing else to tell it from
		f.Why = say("%s", ib.Why[0].Says)
	}
	if lacks := k.m.NotAllLoads(c); f.Verdict == finding.Meets && len(lacks) > 0 {
		k.add(notKnown(f, lacks))
		return
	}
	if f.Verdict == finding.Fails {
		f.Next = "choose a device of at least " + ib.Greatest().String() + ", or limit what the circuit feeds" + diversified(c)
	}
	k.add(f)
}

// diversified says how less than all loads at once is entered of a circuit that
// feeds a board, as a flat's; nothing where there is nothing to diversify.
func diversified(c *model.Circuit) string {
	if !c.IsDistribution() || c.Record.Current.IsKnown() || c.AllowedBehind().Greatest() == 0 {
		return ""
	}
	text := "; where its other loads never all draw at once, enter what they come to after diversity, with the points in full, as its design current"
	if least := leastDiversified(c); least.Known() {
		text += fmt.Sprintf(" (%v by the published allowances)", least.Greatest())
	}
	return text
}

// leastDiversified is the points behind a circuit as they count, with the loads
// behind it by the published allowances.
func leastDiversified(c *model.Circuit) model.Currents {
	out, loads := c.PointsBehind(), c.AllowedBehind()
	for k := range out.Phase {
		out.Phase[k] += loads.Phase[k]
	}
	out.Lacks = finding.Gather(out.Lacks, loads.Lacks)
	return out
}

// noDiversity checks that a design current entered for a circuit that feeds
// points is no less than those points in full, unless they are limited. The
// loads beside them may be diversified.
func (k *checker) noDiversity(c *model.Circuit) {
	entered, ok := c.Record.Current.Get()
	if !ok || !feedsPoints(c) {
		return
	}
	f := k.start("no diversity", "no diversity", c.Thing(), "points count in full, or with the limit that holds them")
	fed := c.FedCurrents()
	if !fed.Known() {
		k.add(notKnown(f, fed.Lacks))
		return
	}
	points := c.PointsBehind()
	switch least := leastDiversified(c); {
	case float64(entered) >= float64(fed.Greatest())*(1-finding.Slack) || !c.IsDistribution():
		f = atLeast(f, entered, fed.Greatest())
		f.Why = fed.Says
	case float64(entered) < float64(points.Greatest())*(1-finding.Slack):
		f = atLeast(f, entered, points.Greatest())
		f.Why = points.Says
	case !least.Known():
		f = notKnown(f, least.Lacks)
	default:
		f = atLeast(f, entered, least.Greatest())
		f.Why = say("points %v, and the other loads by the published allowances; %v with every load in full", points.Greatest(), fed.Greatest())
		if f.Verdict == finding.Fails {
			f.Verdict = finding.JudgeOnSite
			f.Next = "less than the published allowances: measure the other loads, or say what their diversity rests on"
		}
	}
	if f.Verdict == finding.Fails {
		f.Next = "design for " + f.Limit.String() + ", or limit the points and say by which limiter"
	}
	k.add(f)
}

func feedsPoints(c *model.Circuit) bool {
	for _, final := range c.Finals() {
		if final.Point != nil {
			return true
		}
	}
	return false
}

// LegRating is the current-carrying capacity of a circuit's cable in one leg.
type LegRating struct {
	Leg       *model.Leg
	Tabulated quantity.Amperes // It
	Factors   []Factor         // each with its citation
	Capacity  quantity.Amperes // Iz = It × all factors
	Citation  standard.Citation
	Lacks     finding.Lacks
}

// Factor is one correction to a tabulated rating.
type Factor struct {
	Symbol   string // "Ca"
	Value    float64
	Citation standard.Citation
}

// String prints the working of a leg's capacity.
func (r LegRating) String() string {
	var b strings.Builder
	fmt.Fprintf(&b, "It %v", r.Tabulated)
	overload := ""
	for _, f := range r.Factors {
		if f.Symbol == "Cc" { // not part of Iz, but of what an overload may use of it
			overload = fmt.Sprintf(", × Cc %.3g for overload", f.Value)
			continue
		}
		fmt.Fprintf(&b, " × %s %.3g", f.Symbol, f.Value)
	}
	fmt.Fprintf(&b, " = Iz %v%s", r.Capacity, overload)
	return b.String()
}

// RateLeg returns the capacity of the cable in a leg.
//
//	symbol   Iz, in A
//	formula  Iz = It × Ca × Cg × Ci × Cs × Cd
//	clause   BS 7671 Appendix 4 section 5, Tables 4B1 to 4C3 and 52.2
//
// A 90 °C cable is rated by the 70 °C table unless both ends have terminals
// rated 90 °C (BS 7671 512.1.5 and the note to the 4E tables). Whatever the
// leg does not say is a gap, not a factor of one.
func RateLeg(m *model.Model, c *model.Circuit, l *model.Leg) LegRating {
	leg, cable := l.Record, l.Cable
	r := LegRating{Leg: l}
	miss := func(field, what string, or ...string) {
		r.Lacks = append(r.Lacks, l.Thing().Lack(field, what, or...)...)
	}
	construction, insulation := cable.Construction.Or(""), cable.Insulation.Or("")
	phases := c.PhaseCount()
	method, ok := leg.Method.Get()
	r.Lacks = finding.Gather(l.Doubts, m.Doubted(l.Thing().Path+"/circuits together"), l.UnlessCable(cable.Construction.IsKnown(), "construction"),
		l.UnlessCable(cable.CSA.IsKnown(), "csa"),
		l.UnlessCable(cable.Insulation.IsKnown(), "insulation"), l.NoMaterial(), c.Thing().Unless(phases > 0, "phases", "phases"),
		l.Thing().Unless(ok, "method", "installation method"))
	if len(r.Lacks) > 0 {
		return r
	}
	if t, ok := c.Record.Terminals.Get(); ok && t < 70 {
		r.Lacks = c.Thing().Lack("terminals rated", fmt.Sprintf("a rating of the cable for terminals of %v: the tables are for terminals of 70 °C and 90 °C", t))
		return r
	}
	rating := ratingInsulation(c, insulation)
	loaded := 2
	if phases == 3 {
		loaded = 3
	}
	it, cite, err := m.Rules.Rating(cable.Material.Or(""), construction, rating, method, loaded, cable.CSA.Or(0))
	if err != nil {
		r.Lacks = l.Beyond(err)
		return r
	}
	r.Tabulated, r.Citation, r.Capacity = it, cite, it
	apply := func(symbol, field string, v float64, cite standard.Citation, err error, or ...string) {
		if err != nil {
			miss(field, err.Error(), or...)
			return
		}
		r.Factors = append(r.Factors, Factor{symbol, v, cite})
		r.Capacity *= quantity.Amperes(v)
	}
	buried, duct := method.Buried(), method == standard.MethodDDuct
	if t, ok := leg.Ambient.Get(); ok {
		v, cite, err := m.Rules.AmbientFactor(rating, buried, t)
		apply("Ca", "ambient", v, cite, err)
	} else {
		miss("ambient", "temperature of the surroundings")
	}
	switch n, ok := leg.Together.Get(); {
	case !ok:
		miss("circuits together", "circuits together, this one included")
	case n > 1:
		if a, ok := leg.Arrangement.Get(); ok {
			v, cite, err := m.Rules.GroupingFactor(method, a, n)
			apply("Cg", "arrangement", v, cite, err, "method", "circuits together")
		} else {
			miss("arrangement", "how the circuits lie together")
		}
	}
	if buried {
		if rho, ok := leg.Soil.Get(); ok {
			v, cite, err := m.Rules.SoilFactor(duct, rho)
			apply("Cs", "soil", v, cite, err)
		} else {
			miss("soil", "thermal resistivity of the soil")
		}
		if d, ok := leg.Depth.Get(); ok {
			v, cite, err := m.Rules.DepthFactor(duct, d)
			apply("Cd", "depth", v, cite, err)
		} else {
			miss("depth", "depth of laying")
		}
		return r
	}
	surrounded, said := leg.Surrounded.Get()
	switch {
	case !said && l.MayBeSurrounded():
		miss("in insulation", "length wholly surrounded by thermal insulation, 0 m for none")
	case surrounded > 0 && l.MayBeSurrounded():
		v, cite, err := m.Rules.InsulationFactor(surrounded)
		apply("Ci", "in insulation", v, cite, err)
	}
	return r
}

// ratingInsulation is the insulation whose table rates the cable: the 70 °C
// one unless both terminals are said to be rated 90 °C.
func ratingInsulation(c *model.Circuit, insulation standard.Insulation) standard.Insulation {
	if t, ok := c.Record.Terminals.Get(); ok && t >= 90 {
		return insulation
	}
	return standard.Thermoplastic70
}

// overload checks In ≤ Iz in every leg and reports the worst.
func (k *checker) overload(c *model.Circuit) {
	f := k.start("cable rating", "overload", c.Thing(), "cable carries what its device lets through: In ≤ Iz")
	in, d := c.Rated(), c.Device()
	lacks := finding.Gather(in.Lacks, d.Lacks, c.Thing().Unless(len(c.Legs) > 0, "legs", "its legs"))
	var worst *model.Leg
	var capacity quantity.Amperes
	var ratings []LegRating
	for _, leg := range c.Legs {
		r := RateLeg(k.m, c, leg)
		if len(r.Lacks) > 0 {
			lacks = append(lacks, r.Lacks...)
			continue
		}
		buried := leg.Record.Method.Or("").Buried()
		cc, cite := k.rules.OverloadFactor(d.Value.Family == standard.FuseBS3036, buried)
		if cc != 1 {
			r.Factors = append(r.Factors, Factor{"Cc", cc, cite})
		}
		ratings = append(ratings, r)
		usable := r.Capacity * quantity.Amperes(cc)
		if worst == nil || usable < capacity {
			worst, capacity = leg, usable
		}
	}
	if len(lacks) > 0 {
		k.add(notKnown(f, lacks))
		return
	}
	ins := worst.Cable.Insulation.Or("")
	by70 := ins == standard.Thermosetting90 && ratingInsulation(c, ins) != ins
	f.Source = func() []finding.Source { return standard.Sources(overloadCitations(k.rules, ratings)...).List() }
	f = atMost(f, in.Value, capacity)
	f = onLeg(f, worst)
	f.Why = func() string {
		var workings []string
		for _, r := range ratings {
			workings = append(workings, r.Leg.ShortName()+": "+r.String())
		}
		if by70 {
			workings = append(workings, "rated by the 70 °C table, since its terminals are not said to be rated 90 °C ("+
				k.rules.Clause("terminal temperature").Clause()+")")
		}
		return strings.Join(workings, "; ")
	}
	if f.Verdict == finding.Fails {
		f.Next = "take a larger csa, fewer circuits together, a better method or a smaller device that still carries Ib"
	}
	for _, r := range ratings {
		if f.Verdict == finding.Meets && r.Citation.Confidence() == standard.Judgement {
			f = judge(f, f.Why.Then(say("the tabulated rating of %s is an estimate", r.Leg.ShortName())), "hold it against the rating that the cable's maker states")
		}
	}
	k.add(f)
}

// overloadCitations gathers what the ratings rest on.
func overloadCitations(rules *standard.Rulebook, ratings []LegRating) []standard.Citation {
	cites := []standard.Citation{rules.Clause("overload")}
	for _, r := range ratings {
		cites = append(cites, r.Citation)
		for _, factor := range r.Factors {
			cites = append(cites, factor.Citation)
		}
	}
	return cites
}

// continuousLoad checks that a device carries a load of hours inside its
// board: Ib ≤ In × rated diversity factor.
func (k *checker) continuousLoad(c *model.Circuit) {
	if c.From == nil || c.Point == nil && !feedsPoints(c) {
		return
	}
	f := k.start("continuous load", "continuous load", c.Thing(), "device carries hours of charging beside its neighbours: Ib ≤ In × RDF")
	ib := c.DesignCurrents()
	in := c.Rated()
	if !ib.Known() || !in.Known() {
		k.add(notKnown(f, ib.Lacks, in.Lacks))
		return
	}
	rdf, ok := c.From.Record.DiversityFactor.Get()
	if !ok {
		f.Next = "ask the maker of the assembly for its rated diversity factor, or leave the way beside the device empty if the maker says so"
		k.add(notKnown(f, c.From.Record.Thing().Lack("rated diversity factor", "rated diversity factor")))
		return
	}
	f = atMost(f, ib.Greatest(), in.Value*quantity.Amperes(rdf))
	f.Why = say("In %v × RDF %.2g of board %s", in.Value, rdf, c.From.Record.Name)
	if f.Verdict == finding.Fails {
		f.Next = fmt.Sprintf("a device of at least %v carries %v at this factor; check its cable and Zs again", quantity.Amperes(float64(ib.Greatest())/rdf),
			ib.Greatest())
	}
	k.add(f)
}
