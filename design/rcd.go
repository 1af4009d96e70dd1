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
	name := "point " + p.Record.Name
	f := k.start("dedicated circuit", "dedicated circuit", name, "a final circuit for this point alone, with its own overcurrent device")
	if p.Circuit == nil {
		k.add(notKnown(f, name+": the circuit that feeds it"))
		return
	}
	in, gap := p.Circuit.Rated()
	if gap != "" {
		k.add(notKnown(f, gap))
		return
	}
	k.add(meets(f, say("%s ends at this point and has a device of %v", p.Circuit.Name(), in)))

	f = k.start("greatest upstream device", "overcurrent each point", name, "device ahead is no larger than the point's maker allows")
	most, ok := p.Record.GreatestDevice.Get()
	if !ok {
		f.Next = "read the point's instructions: greatest upstream overcurrent device"
		k.add(notKnown(f, name+": greatest upstream device its maker allows"))
		return
	}
	f = atMost(f, in, most)
	if f.Verdict == finding.Fails {
		f.Next = "take a device of at most " + most.String() + "; the maker's figure overrides the tables"
	}
	k.add(f)
}

// residual checks that the point has an RCD for itself: 30 mA, the right type,
// opening every live conductor.
func (k *checker) residual(p *model.Point) {
	name := "point " + p.Record.Name
	f := k.start("RCD individual", "rcd point", name, "an RCD for this point alone")
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
			if c := p.Circuit; c != nil {
				name = c.Name()
			}
			k.add(notKnown(f, name+": the RCD that protects the point"))
		}
		return
	}
	k.add(meets(f, say("%s", own.Name)))

	f = k.start("RCD residual current", "rcd point", name, "rated residual current of its RCD")
	most, cite, gap := limit[quantity.Amperes](k, "rcd point")
	if residual, ok := own.RCD.Residual.Get(); ok && gap == "" {
		f.Source = sources(k.rules.Clause("rcd point"), cite)
		f = atMost(f, residual, most)
		if f.Verdict == finding.Fails {
			f.Next = "take an RCD of " + most.String()
		}
		k.add(f)
	} else {
		k.add(notKnown(f, own.Name+" of "+name+": IΔn", gap))
	}

	f = k.start("RCD poles", "rcd poles", name, "its RCD opens every live conductor, neutral included")
	switch poles, ok := own.RCD.Poles.Get(); {
	case !ok:
		k.add(notKnown(f, own.Name+" of "+name+": which conductors it opens"))
	case poles == job.AllLive:
		k.add(meets(f, say("%s opens all live conductors", own.Name)))
	default:
		k.add(fails(f, say("%s leaves the neutral connected", own.Name), "take an RCD that opens line and neutral together"))
	}

	k.add(k.residualType(p, own.RCD, own.Name))
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
func (k *checker) residualType(p *model.Point, rcd job.RCD, own string) finding.Finding {
	name := "point " + p.Record.Name
	f := k.start("RCD type", "rcd type", name, "smooth d.c. fault current is dealt with: Type B, or Type A or F with 6 mA d.c. detection")
	t, ok := rcd.Type.Get()
	detects, said := p.Record.DCDetection.Get()
	switch {
	case !ok:
		return notKnown(f, own+" of "+name+": type")
	case t == job.TypeAC:
		return fails(f, say("Type AC is blinded by the d.c. a vehicle can pass"), "take a Type A or F RCD with 6 mA d.c. detection, or a Type B")
	case t == job.TypeB:
		return meets(f, say("Type B"))
	case !said:
		return notKnown(f, name+": whether 6 mA d.c. detection is built in")
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
		k.leakage(r, points, p)
		if !r.Alone() {
			k.upstream(r, points)
		}
	}
}

// upstream checks that a shared RCD is not blinded: each point with 6 mA
// detection may pass 6 mA of smooth d.c., and those add (531.3.3).
func (k *checker) upstream(r model.Protecting, points []*model.Point) {
	f := k.start("RCD upstream", "rcd upstream", r.Name, "smooth d.c. from the points behind it does not blind this RCD")
	t, ok := r.RCD.Type.Get()
	if !ok {
		k.add(notKnown(f, r.Name+": type"))
		return
	}
	each, cite, gap := limit[quantity.Amperes](k, "dc detection")
	if gap != "" {
		k.add(notKnown(f, gap))
		return
	}
	f.Source = sources(k.rules.Clause("rcd upstream"), cite)
	possible := each * quantity.Amperes(len(points))
	stands := quantity.Amperes(0) // Type AC stands none
	if t == job.TypeA || t == job.TypeF {
		i, citeType, gap := limit[quantity.Amperes](k, "dc a type "+string(t)+" stands")
		if gap != "" {
			k.add(notKnown(f, gap))
			return
		}
		stands = i
		f.Source = sources(k.rules.Clause("rcd upstream"), cite, citeType)
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
			if own.Name != r.Name && own.RCD.Type.Or("") == job.TypeB && !p.Record.DCDetection.Or(false) {
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
func (k *checker) leakage(r model.Protecting, points []*model.Point, p *model.Point) {
	f := k.start("leakage", "leakage", r.Name, "standing leakage behind the RCD stays under 30 % of its IΔn")
	if r.BuiltIn {
		f.Subject += " of point " + p.Record.Name
	}
	residual, ok := r.RCD.Residual.Get()
	share, cite, gap := limit[float64](k, "leakage share")
	gaps := []string{gap}
	if !ok {
		gaps = append(gaps, r.Name+": IΔn")
	}
	var sum quantity.Amperes
	for _, q := range points {
		i, known := q.Record.Leakage.Get()
		if !known {
			gaps = append(gaps, "point "+q.Record.Name+": standing leakage, from its data")
		}
		sum += i
	}
	if anyGap(gaps) {
		k.add(notKnown(f, gaps...))
		return
	}
	f.Source = sources(k.rules.Clause("leakage"), cite)
	f = atMost(f, sum, residual*quantity.Amperes(share))
	f.Why = say("%d of the points are behind its %v", len(points), residual)
	if f.Verdict == finding.Fails {
		f.Next = "put fewer points behind one RCD"
	}
	k.add(f)
}
