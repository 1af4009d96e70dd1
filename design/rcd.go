package design

// Residual current devices of charge points (BS 7671 722.531.3.101, 531.3).

import (
	"slices"
	"strings"

	"chargewright/finding"
	"chargewright/model"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/trade"
	"chargewright/works"
)

// dedicated checks that a point has a final circuit and an overcurrent device
// of its own, no larger than its maker allows.
func (k *checker) dedicated(p *model.Point) {
	at := p.Record.Thing()
	f := k.start("dedicated circuit", "dedicated circuit", at, "a final circuit for this point alone, with its own overcurrent device")
	if p.Circuit == nil {
		k.add(notKnown(f, k.m.NoCircuit(p)))
		return
	}
	in := p.Circuit.Rated()
	switch {
	case !in.Known():
		k.add(notKnown(f, in.Lacks))
	case k.sharing(p.Circuit) != "":
		k.add(fails(f, say("%s is on %s too", k.sharing(p.Circuit), p.Circuit.Name()), "give the source a circuit of its own"))
	case p.Circuit.Record.Existing:
		k.add(judge(f, say("its circuit was there before this work"),
			"see that it feeds nothing else: a spur from a ring, or from a circuit that feeds something besides, is no circuit of its own"))
	default:
		k.add(meets(f, say("its circuit ends here and has a device of %v", in.Value)))
	}

	f = k.start("greatest upstream device", "overcurrent each point", at, "device ahead is no larger than the point's maker allows")
	most, ok := p.Record.GreatestDevice.Get()
	if !ok || !in.Known() {
		if !ok {
			f.Next = "read the point's instructions: greatest upstream overcurrent device"
		}
		f = notKnown(f, at.Unless(ok, "greatest upstream device", "greatest upstream device its maker allows"), in.Lacks)
		if ok {
			f.WaitsOn = "dedicated circuit"
		}
		k.add(f)
		return
	}
	f = atMost(f, in.Value, most)
	if f.Verdict == finding.Fails {
		f.Next = "take a device of at most " + most.String() + "; the maker's figure overrides the tables"
	}
	k.add(f)
}

// residual checks that the point has an RCD for itself: 30 mA, the right type,
// opening every live conductor.
func (k *checker) residual(p *model.Point) {
	at := p.Record.Thing()
	f := k.start("RCD individual", "rcd point", at, "an RCD for this point alone")
	if p.Record.Earthing.Measure.Or("") == trade.Separation {
		k.add(meets(f, say("not engaged: the point is protected by electrical separation")))
		return
	}
	own, found := p.OwnRCD()
	if !found {
		if ahead := p.RCDs(); len(ahead) > 0 {
			shared := ahead[0]
			k.add(fails(f, say("%s serves %d circuits: %s", shared.Name, len(shared.Circuits), circuitNames(shared.Circuits)),
				"give the circuit an RCBO of its own that opens all live conductors, fed ahead of the shared RCDs; or move every other circuit off that RCD"))
		} else {
			k.add(notKnown(f, k.m.NoRCD(p, "the RCD that protects the point")))
		}
		k.ownWaits(at, k.m.NoRCD(p, "the RCD that protects the point"))
		return
	}
	lacks := k.m.MoreBehind(own)
	all := p.Alone()
	if sure := slices.IndexFunc(all, func(r model.Protecting) bool { return len(k.m.MoreBehind(r)) == 0 }); len(lacks) == 0 {
		k.add(meets(f, say("%s", theOwn(p, own))))
	} else if sure >= 0 {
		k.add(meets(f, say("%s", theOwn(p, all[sure]))))
	} else {
		k.add(notKnown(f, lacks))
	}
	if lacks = finding.Gather(lacks, p.UnsettledRCD()); len(lacks) > 0 {
		k.ownWaits(at, lacks)
		return
	}

	f = k.start("RCD residual current", "rcd point", at, "rated residual current of its RCD")
	most := limit[quantity.Amperes](k, "rcd point")
	switch residual, ok := own.RCD.Residual.Get(); {
	case !ok:
		k.add(notKnown(f, k.m.OfOwnRCD(p, own, "IΔn", "IΔn"), most.Lacks))
	case !most.Known():
		k.add(notKnown(f, most.Lacks))
	default:
		f.Source = standard.Sources(k.rules.Clause("rcd point"), most.Cite)
		f = atMost(f, residual, most.Value)
		if f.Verdict == finding.Fails {
			f.Next = "take an RCD of " + most.Value.String()
		}
		k.add(f)
	}

	f = k.start("RCD poles", "rcd poles", at, "its RCD opens every live conductor, neutral included")
	switch poles, ok := own.RCD.Poles.Get(); {
	case !ok:
		k.add(notKnown(f, k.m.OfOwnRCD(p, own, "poles", "which conductors it opens")))
	case poles == trade.AllLive:
		k.add(meets(f, say("%s opens all live conductors", theOwn(p, own))))
	default:
		k.add(fails(f, say("%s leaves the neutral connected", theOwn(p, own)), "take an RCD that opens line and neutral together"))
	}

	k.residualDelay(p, own)
	k.add(k.residualType(p, own))
}

// theOwn is the RCD of a point in words that are those of every point alike.
func theOwn(p *model.Point, own model.Protecting) string {
	switch own.Path {
	case p.Record.RCDThing().Path:
		return "its built-in RCD"
	case p.Circuit.Record.RCDThing().Path:
		return "the RCD of its circuit"
	}
	return own.Name
}

// residualDelay checks that the point's RCD acts without a delay: with one it
// is no additional protection (415.1.1).
func (k *checker) residualDelay(p *model.Point, own model.Protecting) {
	f := k.start("RCD delay", "additional protection", p.Record.Thing(), "its RCD acts without a time delay")
	switch delayed, ok := own.RCD.Delayed.Get(); {
	case !ok:
		k.add(notKnown(f, own.Lack("time delayed", "whether it is time-delayed")))
	case delayed:
		k.add(fails(f, say("%s is time-delayed", theOwn(p, own)), "take an RCD without a time delay; the delayed one may stand ahead of it"))
	default:
		k.add(meets(f, say("%s is not time-delayed", theOwn(p, own))))
	}
}

// ownWaits leaves open what is asked of the point's own RCD, until it is known
// which one that is.
func (k *checker) ownWaits(at works.Thing, lacks finding.Lacks) {
	for _, of := range []struct{ key, clause, what string }{
		{"RCD residual current", "rcd point", "rated residual current of its RCD"},
		{"RCD poles", "rcd poles", "its RCD opens every live conductor, neutral included"},
		{"RCD delay", "additional protection", "its RCD acts without a time delay"},
		{"RCD type", "rcd type", "smooth d.c. fault current is dealt with"},
	} {
		f := notKnown(k.start(of.key, of.clause, at, of.what), lacks)
		f.WaitsOn = "RCD individual"
		k.add(f)
	}
}

// unlessMore leaves open what is met by the points that are known to be behind an
// RCD, where there may be more.
func (k *checker) unlessMore(f finding.Finding, r model.Protecting) finding.Finding {
	if lacks := k.m.MoreBehind(r); f.Verdict == finding.Meets && len(lacks) > 0 {
		return notKnown(f, lacks)
	}
	return f
}

func circuitNames(cs []*model.Circuit) string {
	var names []string
	for _, c := range cs {
		names = append(names, c.Record.Name)
	}
	if len(names) > 4 {
		names = append(names[:4], "…")
	}
	return strings.Join(names, ", ")
}

// residualType checks the RCD's type against smooth d.c. fault current.
func (k *checker) residualType(p *model.Point, own model.Protecting) finding.Finding {
	at := p.Record.Thing()
	f := k.start("RCD type", "rcd type", at, "smooth d.c. fault current is dealt with: Type B, or Type A or F with 6 mA d.c. detection")
	t, ok := own.RCD.Type.Get()
	detects, said := p.Record.DCDetection.Get()
	switch {
	case !ok:
		return notKnown(f, k.m.OfOwnRCD(p, own, "type", "type"))
	case t == trade.TypeAC:
		return fails(f, say("Type AC is blinded by the d.c. a vehicle can pass"), "take a Type A or F RCD with 6 mA d.c. detection, or a Type B")
	case t == trade.TypeB:
		return meets(f, say("Type B"))
	case !said:
		return notKnown(f, at.Lack("6 mA d.c. detection", "whether 6 mA d.c. detection is built in"))
	case detects:
		return meets(f, say("Type %s, with 6 mA d.c. detection in the point", t))
	}
	return fails(f, say("Type %s, and no 6 mA d.c. detection", t), "take a Type B RCD, or a point with 6 mA d.c. detection to BS IEC 62955")
}

// ahead checks each RCD that the point's current passes. Each is reported
// once, by the first point that has it ahead. An RCD of the point's own does
// not excuse the one before it, and of several that serve it alone each is
// judged.
func (k *checker) ahead(p *model.Point) {
	alone := p.Alone()
	for _, r := range p.RCDs() {
		points := r.Points(p)
		if points[0] != p {
			continue
		}
		k.leakage(r, points)
		k.residualRating(r, p)
		if len(alone) == 1 && alone[0].Path == r.Path && len(k.m.MoreBehind(r)) == 0 {
			continue // the point's own, which is judged with it
		}
		k.upstream(r, points)
		k.residualSeries(r, points)
		k.residualPoles(r)
	}
}

// unplaced asks, of each RCD that so far stands ahead of no point, where the
// circuits lie that may bring one behind it.
func (k *checker) unplaced() {
	seen := map[string]bool{}
	for _, p := range k.m.Points {
		for _, r := range p.RCDs() {
			seen[r.Path] = true
		}
	}
	var adrift finding.Lacks
	for _, c := range k.m.Circuits {
		adrift = append(adrift, c.Thing().Unless(c.Record.From != "", "from", "board it starts at")...)
		adrift = append(adrift, c.Thing().Unless(c.Record.To != "", "to", "what it feeds")...)
	}
	ask := func(at works.Thing, lacks finding.Lacks) {
		if seen[at.Path] || len(lacks) == 0 {
			return
		}
		seen[at.Path] = true
		for _, of := range []struct{ key, clause, what string }{
			{"RCD upstream", "rcd upstream", "smooth d.c. from the points behind it does not blind this RCD"},
			{"RCD rating", "rcd rating", "its rated current covers what passes through it"},
			{"RCD selectivity", "rcd selectivity", "a fault at one point opens the RCD of that point alone"},
			{"RCD poles ahead", "rcd poles ahead", "it opens every line conductor, and on TT the neutral too"},
			{"leakage", "leakage", "standing leakage behind the RCD stays under 30 % of its IΔn"},
		} {
			f := notKnown(k.start(of.key, of.clause, at, of.what), lacks)
			if of.key != "RCD upstream" {
				f.WaitsOn = "RCD upstream"
			}
			k.add(f)
		}
	}
	for _, c := range k.m.Circuits {
		if c.Record.RCD != (works.RCD{}) {
			ask(c.Record.RCDThing(), adrift)
		}
	}
	for _, b := range k.m.Boards {
		if b.Record.MainSwitch.RCD != (works.RCD{}) {
			ask(b.Record.MainRCDThing(), adrift)
		}
		if len(b.Record.RCDs) == 0 {
			continue
		}
		lacks := slices.Clone(adrift)
		for _, c := range b.Circuits {
			if feedsPoints(c) && c.Record.SharedRCD == "" {
				lacks = append(lacks, c.Thing().Lack("shared RCD", "the RCD of the board it is behind, or none")...)
			}
		}
		for i := range b.Record.RCDs {
			ask(b.Record.RCDThing(&b.Record.RCDs[i]), lacks)
		}
	}
	for _, c := range k.m.Circuits { // ahead of no point, it still carries what passes through it
		for _, r := range c.RCDs() {
			old := !slices.ContainsFunc(r.Feeds, func(c *model.Circuit) bool { return !c.Record.Existing })
			if !seen[r.Path] && !old {
				k.residualRating(r, nil)
			}
			seen[r.Path] = true
		}
	}
}

// upstream checks that an RCD ahead is not blinded: each point with 6 mA
// detection may pass 6 mA of smooth d.c., and those add; one without may pass
// any (531.3.3).
func (k *checker) upstream(r model.Protecting, points []*model.Point) {
	f := k.start("RCD upstream", "rcd upstream", r.Thing, "smooth d.c. from the points behind it does not blind this RCD")
	t, ok := r.RCD.Type.Get()
	each := limit[quantity.Amperes](k, "dc detection")
	if !ok || !each.Known() {
		k.add(notKnown(f, each.Lacks, r.Unless(ok, "type", "type")))
		return
	}
	f.Source = standard.Sources(k.rules.Clause("rcd upstream"), each.Cite)
	var possible quantity.Amperes
	var lacks finding.Lacks
	var without []string
	for _, p := range points {
		detects, said := p.Record.DCDetection.Get()
		switch {
		case p.Record.Earthing.Measure.Or("") == trade.Separation: // no path for it
		case !said:
			lacks = append(lacks, p.Record.Thing().Lack("6 mA d.c. detection", "whether 6 mA d.c. detection is built in")...)
		case detects:
			possible += each.Value
		default:
			without = append(without, p.Record.Name)
		}
	}
	next := "feed the points ahead of this RCD, or make it a Type B"
	stands := quantity.Amperes(0) // Type AC stands none
	switch {
	case t == trade.TypeB:
		f.Value = amount(possible)
		k.add(meets(f, say("Type B works with the smooth d.c. of the %d points behind it", len(points))))
		return
	case len(without) > 0:
		k.add(fails(f, say("%s without 6 mA detection may pass more d.c. than this Type %s stands", strings.Join(without, ", "), t), next))
		return
	case t != trade.TypeAC:
		most := limit[quantity.Amperes](k, "dc a type "+string(t)+" stands")
		if lacks = finding.Gather(lacks, most.Lacks); len(lacks) > 0 {
			k.add(notKnown(f, lacks))
			return
		}
		stands = most.Value
		f.Source = standard.Sources(k.rules.Clause("rcd upstream"), each.Cite, most.Cite)
	}
	if len(lacks) > 0 {
		k.add(fails(f, say("Type %s is blinded by the d.c. a vehicle can pass", t), next))
		return
	}
	f = atMost(f, possible, stands)
	f.Why = say("%d points with their own detection can pass %v of smooth d.c.; Type %s works up to %v", len(points), possible, t, stands)
	if f.Verdict == finding.Fails {
		f.Next = next
	}
	k.add(k.unlessMore(f, r))
}

// residualPoles checks which conductors an RCD ahead of the point's own opens.
// On TT an RCD that leaves the neutral leaves a live conductor (531.3.1).
func (k *checker) residualPoles(r model.Protecting) {
	f := k.start("RCD poles ahead", "rcd poles ahead", r.Thing, "it opens every line conductor, and on TT the neutral too")
	poles, ok := r.RCD.Poles.Get()
	system, known := k.m.Job.Supply.Earthing.Get()
	switch {
	case !ok:
		k.add(notKnown(f, r.Lack("poles", "which conductors it opens")))
	case poles == trade.AllLive:
		k.add(meets(f, say("it opens all live conductors")))
	case !known:
		k.add(notKnown(f, k.m.NoEarthing()))
	case system.IsTN():
		k.add(meets(f, say("it opens the lines; the neutral of a %s supply may stay", string(system))))
	default:
		k.add(fails(f, say("it leaves the neutral of a %s supply connected", string(system)), "take an RCD that opens the neutral too"))
	}
}

// residualRating checks that an RCD is not overloaded: it has no overload part
// of its own, so the device ahead or those it feeds hold the current to what it
// is rated for (536.4.3.2). What is in a point carries what the point takes.
func (k *checker) residualRating(r model.Protecting, p *model.Point) {
	f := k.start("RCD rating", "rcd rating", r.Thing, "its rated current covers what passes through it")
	rating, ok := r.RCD.Rating.Get()
	own := !r.BuiltIn && len(r.Feeds) == 1 && r.Feeds[0].Record.RCDThing().Path == r.Path
	if !ok && own && r.Feeds[0].Record.Device.Type.Or("").Residual() {
		rating, ok = r.Feeds[0].Record.Device.Rating.Get() // one device, one rating
	}
	if !ok {
		k.add(notKnown(f, r.Lack("rating", "rated current")))
		return
	}
	switch {
	case r.BuiltIn:
		k.add(k.carries(f, rating, k.m.PointCurrents(p)))
	case own:
		in := r.Feeds[0].Rated()
		if !in.Known() {
			k.add(notKnown(f, in.Lacks))
			return
		}
		f = atLeast(f, rating, in.Value)
		f.Why = say("device of its own circuit")
		if f.Verdict == finding.Fails {
			f.Next = "take an RCD of at least " + in.Value.String()
		}
		k.add(f)
	default:
		k.add(k.protected(f, rating, r.Board, r.Feeds))
	}
}

// leakage checks the standing leakage of the points behind an RCD.
//
//	formula  Σ leakage ≤ 0.3 × IΔn
//	clause   BS 7671 531.3.2
func (k *checker) leakage(r model.Protecting, points []*model.Point) {
	f := k.start("leakage", "leakage", r.Thing, "standing leakage behind the RCD stays under 30 % of its IΔn")
	residual, ok := r.RCD.Residual.Get()
	share := limit[float64](k, "leakage share")
	lacks := finding.Gather(share.Lacks, r.Unless(ok, "IΔn", "IΔn"))
	var sum quantity.Amperes
	for _, q := range points {
		i, known := q.Record.Leakage.Get()
		if !known {
			lacks = append(lacks, q.Record.Thing().Lack("standing leakage", "standing leakage, from its data")...)
		}
		sum += i
	}
	if len(lacks) > 0 {
		k.add(notKnown(f, lacks))
		return
	}
	f.Source = standard.Sources(k.rules.Clause("leakage"), share.Cite)
	f = atMost(f, sum, residual*quantity.Amperes(share.Value))
	f.Why = say("%d of the points are behind its %v", len(points), residual)
	switch others := len(r.Circuits) - len(points); {
	case f.Verdict == finding.Fails:
		f.Next = "put fewer points behind one RCD"
	case !r.BuiltIn && others > 0:
		k.add(judge(f, f.Why.Then(say("%d other circuits behind it leak too", others)),
			"clamp all live conductors together at this RCD with everything on, and add it to the points"))
		return
	}
	k.add(k.unlessMore(f, r))
}
