package design

// Protective conductors of circuits, and cables where a nail may find them (BS
// 7671 522.6.202, 543.1.1, 543.7.1).

import (
	"slices"

	"chargewright/finding"
	"chargewright/model"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/trade"
)

// separateCPC checks a cpc that is no part of its cable: of copper 2.5 mm² where
// conduit or trunking protects it, else 4 mm²; of aluminium 16 mm² either way.
func (k *checker) separateCPC(c *model.Circuit) {
	aluminium := limit[quantity.SquareMillimetres](k, "separate cpc aluminium")
	protected, bare := limit[quantity.SquareMillimetres](k, "separate cpc protected"), limit[quantity.SquareMillimetres](k, "separate cpc unprotected")
	for _, leg := range c.Legs {
		if leg.Cable.CPC.Or("") != trade.CPCSeparate {
			continue
		}
		f := onLeg(k.start("separate cpc", "separate cpc", c.Thing(), "csa of a cpc that is not in the cable"), leg)
		csa, sized := leg.Cable.CPCCSA.Get()
		method, said := leg.Record.Method.Get()
		lacks := finding.Gather(aluminium.Lacks, protected.Lacks, bare.Lacks, leg.UnlessCable(sized, "cpc csa"), leg.NoCPCMaterial())
		copper := leg.Cable.CPCMaterial.Or("") == standard.Copper
		if len(lacks) > 0 || copper && !said && csa >= protected.Value && csa < bare.Value {
			k.add(notKnown(f, lacks, leg.Thing().Unless(said, "method", "installation method")))
			continue
		}
		least, why := bare, "not protected against damage"
		switch {
		case !copper:
			least, why = aluminium, "of aluminium"
		case method == standard.MethodA || method == standard.MethodB:
			least, why = protected, "in conduit or trunking"
		}
		f.Source = standard.Sources(k.rules.Clause("separate cpc"), least.Cite)
		f = atLeast(f, csa, least.Value)
		f.Why = say("%s", why)
		if f.Verdict == finding.Fails {
			f.Next = "replace it by " + least.Value.String()
		}
		k.add(f)
	}
}

// protectiveCurrent checks the protective conductor of a circuit whose points
// pass more than 10 mA through it in normal use: one of 10 mm², or two.
func (k *checker) protectiveCurrent(c *model.Circuit) {
	f := k.start("protective conductor current", "protective conductor current", c.Thing(), "its protective conductor suits the current in it in normal use")
	most, size := limit[quantity.Amperes](k, "protective conductor current"), limit[quantity.SquareMillimetres](k, "protective conductor high integrity")
	lacks := finding.Gather(most.Lacks, size.Lacks)
	var sum quantity.Amperes
	points := 0
	for _, final := range c.Finals() {
		if final.Point == nil {
			lacks = append(lacks, final.Thing().Unless(final.Record.To != "", "to", "what it feeds")...)
			continue
		}
		points++
		i, known := final.Point.Record.Leakage.Get()
		lacks = append(lacks, final.Point.Record.Thing().Unless(known, "standing leakage", "standing leakage, from its data")...)
		sum += i
	}
	if points == 0 {
		if lacks := k.perhapsPoints(c); len(lacks) > 0 {
			k.add(notKnown(f, lacks))
		}
		return
	}
	f.Source = standard.Sources(k.rules.Clause("protective conductor current"), most.Cite)
	if len(lacks) > 0 {
		k.add(notKnown(f, lacks))
		return
	}
	if f = atMost(f, sum, most.Value); f.Verdict == finding.Meets {
		f.Why = say("%d points", points)
		k.add(f)
		return
	}
	f.Source = standard.Sources(k.rules.Clause("protective conductor current"), most.Cite, size.Cite)
	lacks = c.Thing().Unless(len(c.Legs) > 0, "legs", "its legs")
	var weakest *model.Leg
	for _, leg := range c.Legs {
		lacks = append(lacks, leg.CPC.Lacks...)
		if leg.CPC.Beside == nil && (weakest == nil || leg.CPC.CSA < weakest.CPC.CSA) {
			weakest = leg
		}
	}
	switch {
	case len(lacks) > 0:
		k.add(notKnown(f, lacks))
	case weakest == nil:
		k.add(meets(f, say("%d points pass %v; core and armour are two protective conductors", points, sum)))
	default:
		f = atLeast(f, weakest.CPC.CSA, size.Value)
		f.Why = say("%d points pass %v", points, sum)
		if f.Verdict == finding.Fails {
			f.Next = "run one protective conductor of " + size.Value.String() + ", or two, each with terminals of its own"
		}
		k.add(f)
	}
}

// cableInWall checks that a cable of the work hidden in a wall, floor or ceiling
// is behind a 30 mA RCD, is armoured, or lies deeper than a nail goes. An RCD in
// the point does not stand before the cable.
func (k *checker) cableInWall(c *model.Circuit) {
	if c.Record.Existing {
		return
	}
	f := k.start("cable in wall", "cable in wall", c.Thing(), "a cable hidden less than 50 mm deep is behind a 30 mA RCD, or armoured")
	if !feedsPoints(c) {
		if lacks := k.perhapsPoints(c); len(lacks) > 0 {
			k.add(notKnown(f, lacks))
		}
		return
	}
	most, depth := limit[quantity.Amperes](k, "rcd point"), limit[quantity.Metres](k, "cable in wall")
	if !most.Known() || !depth.Known() {
		k.add(notKnown(f, most.Lacks, depth.Lacks))
		return
	}
	f.Source = standard.Sources(k.rules.Clause("cable in wall"), depth.Cite)
	lacks := c.Thing().Unless(len(c.Legs) > 0, "legs", "its legs")
	var perhaps []string
	for _, r := range c.RCDs() {
		i, known := r.RCD.Residual.Get()
		delayed, timed := r.RCD.Delayed.Get()
		if timed && !delayed && known && i <= most.Value*(1+finding.Slack) {
			name := r.Name
			if r.Path == c.Record.RCDThing().Path {
				name = "its own RCD"
			}
			k.add(meets(f, say("%s of %v stands before it", name, i)))
			return
		}
		if !known {
			perhaps = append(perhaps, r.Path+"/IΔn")
		}
		if !timed {
			perhaps = append(perhaps, r.Path+"/time delayed")
		}
	}
	for _, up := range c.Path() {
		if up.From == nil {
			perhaps = append(perhaps, up.Thing().Path+"/from")
		} else if len(up.From.Record.RCDs) > 0 && up.Record.SharedRCD == "" {
			perhaps = append(perhaps, up.Thing().Path+"/shared RCD")
		}
	}
	for _, leg := range c.Legs {
		method, said := leg.Record.Method.Get()
		construction, made := leg.Cable.Construction.Get()
		in, known := leg.Record.InWall.Get()
		switch {
		case !said || !made:
			lacks = append(lacks, leg.Thing().Unless(said, "method", "installation method")...)
			lacks = append(lacks, leg.UnlessCable(made, "construction")...)
		case construction == standard.Armoured || !mayBeHidden(method):
		case !known:
			lacks = append(lacks, leg.Thing().Lack("depth in wall", "depth at which it is hidden, 0 m where it lies on the surface, or the 30 mA RCD before it")...)
		case in > 0 && in < depth.Value*(1-finding.Slack):
			f = onLeg(f, leg)
			f = atLeast(f, in, depth.Value)
			f.Next = "protect the circuit by a 30 mA RCD at its origin, take an armoured cable, or lay it deeper"
			k.add(f)
			return
		}
	}
	if len(lacks) > 0 {
		lacks[0].Or = slices.Concat(lacks[0].Or, perhaps)
		k.add(notKnown(f, lacks))
		return
	}
	k.add(meets(f, say("armoured, in sight, or deep enough, in every leg")))
}

// perhapsPoints is what keeps it from being known that a circuit feeds no point:
// where it ends, or where circuits start that may start at the board it feeds.
func (k *checker) perhapsPoints(c *model.Circuit) (lacks finding.Lacks) {
	if c.Record.To == "" {
		return c.Thing().Lack("to", "what it feeds")
	}
	for _, other := range k.m.Circuits {
		if c.Board != nil && other != c && other.Record.From == "" {
			lacks = append(lacks, other.Thing().Lack("from", "board it starts at")...)
		}
	}
	return lacks
}

// mayBeHidden reports whether a cable by that method may lie where nobody sees
// it from the room.
func mayBeHidden(m standard.Method) bool {
	switch m {
	case standard.MethodA, standard.MethodB, standard.MethodC, standard.Method100, standard.Method101, standard.Method102, standard.Method103:
		return true
	}
	return false
}

// armourToElectrode names both ends of the earthed metal that runs to a point on
// an electrode of its own.
func (k *checker) armourToElectrode(p *model.Point) {
	system, ok := k.m.Job.Supply.Earthing.Get()
	if _, own := k.m.OwnElectrode(p); !own {
		return
	}
	k.electrodeConductor(p)
	if p.Circuit == nil || ok && !system.IsTN() {
		return
	}
	f := k.start("armour to electrode", "pme to tt", p.Record.Thing(), "armour and cpc on the supply's earth end insulated at the point")
	f.Against = p.Circuit.Thing().Path
	if !ok {
		k.add(notKnown(f, k.m.NoEarthing()))
		return
	}
	from := "the board it starts at"
	if p.Circuit.From != nil {
		from = "board " + p.Circuit.From.Record.Name
	}
	k.add(judge(f, say("%s brings the %s earth of %s to point %s, which is earthed by %s", p.Circuit.Name(), string(system),
		from, p.Record.Name, electrodeName(p)),
		"earth armour and cpc at "+from+" only; end them insulated at "+p.Record.Name+", in an insulating gland or box, and see that nobody touches both"))
}
