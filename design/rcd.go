package design

// Residual current devices of charge points (BS 7671 722.531.3.101, 531.3).

import (
	"strings"

	"chargewright/finding"
	"chargewright/job"
	"chargewright/model"
	"chargewright/quantity"
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
	if !in.Known() {
		k.add(notKnown(f, in.Lacks))
		return
	}
	if p.Circuit.Record.Existing {
		k.add(judge(f, say("%s was there before this work", p.Circuit.Name()),
			"see that it feeds nothing else: a spur from a ring, or from a circuit that feeds something besides, is no circuit of its own"))
	} else {
		k.add(meets(f, say("%s ends at this point and has a device of %v", p.Circuit.Name(), in.Value)))
	}

	f = k.start("greatest upstream device", "overcurrent each point", at, "device ahead is no larger than the point's maker allows")
	most, ok := p.Record.GreatestDevice.Get()
	if !ok {
		f.Next = "read the point's instructions: greatest upstream overcurrent device"
		k.add(notKnown(f, at.Lack("greatest upstream device", "greatest upstream device its maker allows")))
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
	if p.Record.Earthing.Measure.Or("") == job.Separation {
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
		return
	}
	k.add(meets(f, say("%s", own.Name)))

	f = k.start("RCD residual current", "rcd point", at, "rated residual current of its RCD")
	most := limit[quantity.Amperes](k, "rcd point")
	switch residual, ok := own.RCD.Residual.Get(); {
	case !ok:
		k.add(notKnown(f, k.m.OfOwnRCD(p, own, "IΔn", "IΔn"), most.Lacks))
	case !most.Known():
		k.add(notKnown(f, most.Lacks))
	default:
		f.Source = sources(k.rules.Clause("rcd point"), most.Cite)
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
	case poles == job.AllLive:
		k.add(meets(f, say("%s opens all live conductors", own.Name)))
	default:
		k.add(fails(f, say("%s leaves the neutral connected", own.Name), "take an RCD that opens line and neutral together"))
	}

	k.add(k.residualType(p, own))
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
	case t == job.TypeAC:
		return fails(f, say("Type AC is blinded by the d.c. a vehicle can pass"), "take a Type A or F RCD with 6 mA d.c. detection, or a Type B")
	case t == job.TypeB:
		return meets(f, say("Type B"))
	case !said:
		return notKnown(f, at.Lack("6 mA d.c. detection", "whether 6 mA d.c. detection is built in"))
	case detects:
		return meets(f, say("Type %s, with 6 mA d.c. detection in the point", t))
	}
	return fails(f, say("Type %s, and no 6 mA d.c. detection", t), "take a Type B RCD, or a point with 6 mA d.c. detection to BS IEC 62955")
}

// directCurrent checks every RCD ahead of the point's own against the d.c. and
// the standing leakage of all points behind it. Each RCD is reported once, by
// the first point that has it ahead.
func (k *checker) directCurrent(p *model.Point) {
	for _, r := range p.RCDs() {
		points := r.Points(p)
		if points[0] != p {
			continue
		}
		k.leakage(r, points)
		if !r.Alone() {
			k.upstream(r, points)
		}
	}
}

// upstream checks that a shared RCD is not blinded: each point with 6 mA
// detection may pass 6 mA of smooth d.c., and those add (531.3.3).
func (k *checker) upstream(r model.Protecting, points []*model.Point) {
	f := k.start("RCD upstream", "rcd upstream", r.Thing, "smooth d.c. from the points behind it does not blind this RCD")
	t, ok := r.RCD.Type.Get()
	if !ok {
		k.add(notKnown(f, r.Lack("type", "type")))
		return
	}
	each := limit[quantity.Amperes](k, "dc detection")
	if !each.Known() {
		k.add(notKnown(f, each.Lacks))
		return
	}
	f.Source = sources(k.rules.Clause("rcd upstream"), each.Cite)
	possible := each.Value * quantity.Amperes(len(points))
	stands := quantity.Amperes(0) // Type AC stands none
	if t == job.TypeA || t == job.TypeF {
		most := limit[quantity.Amperes](k, "dc a type "+string(t)+" stands")
		if !most.Known() {
			k.add(notKnown(f, most.Lacks))
			return
		}
		stands = most.Value
		f.Source = sources(k.rules.Clause("rcd upstream"), each.Cite, most.Cite)
	}
	if t == job.TypeB {
		f.Value = amount(possible)
		k.add(meets(f, say("Type B works with the %v that %d points can pass", possible, len(points))))
		return
	}
	f = atMost(f, possible, stands)
	f.Why = say("%d points with their own detection can pass %v of smooth d.c.; Type %s works up to %v", len(points), possible, t, stands)
	for _, p := range points {
		for _, own := range p.RCDs() {
			if own.Path != r.Path && own.RCD.Type.Or("") == job.TypeB && !p.Record.DCDetection.Or(false) {
				f.Verdict = finding.Fails
				f.Why = say("point %s has a Type B RCD behind this Type %s: it may pass more d.c. than this one stands", p.Record.Name, t)
			}
		}
	}
	if f.Verdict == finding.Fails {
		f.Next = "feed the points ahead of this RCD, or make it a Type B"
	}
	k.add(f)
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
	f.Source = sources(k.rules.Clause("leakage"), share.Cite)
	f = atMost(f, sum, residual*quantity.Amperes(share.Value))
	f.Why = say("%d of the points are behind its %v", len(points), residual)
	if f.Verdict == finding.Fails {
		f.Next = "put fewer points behind one RCD"
	}
	k.add(f)
}
