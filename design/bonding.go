package design

// Earthing conductor and main protective bonding (BS 7671 542.3, 543.1, 544.1).

import (
	"fmt"
	"math"

	"chargewright/finding"
	"chargewright/model"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/trade"
	"chargewright/works"
)

// bonding checks the earthing conductor and each main bonding conductor.
func (k *checker) bonding() {
	s := &k.m.Job.Supply
	system, ok := s.Earthing.Get()
	k.earthingConductor(system)
	k.connected(k.start("earthing conductor connected", "continuity", works.TheEarthingConductor,
		"it is connected at both ends"), works.TheEarthingConductor, s.EarthingConductor.Connected)
	if !ok {
		return
	}
	least := k.leastBonding(system)
	if len(s.Bonding) == 0 {
		f := k.start("main bonding", "bonding", works.TheSupply, "extraneous metal is bonded")
		f.Next = "look for water, gas, oil and structural steel at their entry; enter each bond, with its csa"
		k.add(notKnown(f, works.TheSupply.Lack("main bonding", "main bonding conductors")))
		return
	}
	for _, b := range s.Bonding {
		f := k.start("main bonding", "bonding", b.Thing(), "csa of the main protective bonding conductor")
		csa, known := b.CSA.Get()
		connected, said := b.Connected.Get()
		if said && !connected {
			k.add(fails(f, say("it was seen not connected"), "connect it with a clamp to BS 951 and its label, and prove continuity"))
			continue
		}
		if !known || !said || !least.Known() {
			k.add(notKnown(f, least.Lacks, b.Thing().Unless(known, "csa", "csa"), b.Thing().Unless(said, "connected", "whether it was seen connected")))
			continue
		}
		f = atLeast(f, csa, least.Value)
		f.Why = say("%s", least.Why)
		if f.Verdict == finding.Fails {
			f.Next = "replace it by " + least.Value.String()
		}
		k.add(f)
	}
}

// connected settles whether a protective conductor was seen connected.
func (k *checker) connected(f finding.Finding, at works.Thing, is quantity.Maybe[bool]) {
	switch yes, said := is.Get(); {
	case !said:
		k.add(notKnown(f, at.Lack("connected", "whether it was seen connected at both ends")))
	case yes:
		k.add(meets(f, say("seen connected")))
	default:
		k.add(fails(f, say("it was found not connected"),
			"do not energise: connect it, and prove its continuity from the means of earthing to the main earthing terminal"))
	}
}

// leastBonding returns the least csa of main bonding for the supply.
func (k *checker) leastBonding(system trade.EarthingSystem) model.Answer[quantity.SquareMillimetres] {
	if system == trade.TNCS {
		return k.bondingOfPME()
	}
	out := k.leastEarthing(system)
	if !out.Known() {
		return out
	}
	required := out.Value
	out.Value, out.Cite = k.rules.MainBonding(false, required)
	out.Why = fmt.Sprintf("half the earthing conductor required, %v, within 6 and 25 mm² (%s)", required, out.Cite.Source())
	return out
}

// bondingOfPME returns the least csa of main bonding on a PME supply.
func (k *checker) bondingOfPME() model.Answer[quantity.SquareMillimetres] {
	out := model.Answer[quantity.SquareMillimetres]{}
	neutral, ok := k.m.Job.Supply.ServiceNeutral.Get()
	if !ok {
		out.Lacks = works.TheSupply.Lack("supply neutral", "csa of the supply neutral (copper equivalent)")
		return out
	}
	out.Value, out.Cite = k.rules.MainBonding(true, neutral)
	out.Why = fmt.Sprintf("supply neutral %v copper equivalent, PME conditions (%s)", neutral, out.Cite.Source())
	return out
}

// earthingConductor checks the csa of the earthing conductor: by selection or by
// calculation, whichever asks for less; under PME no less than main bonding; in
// the ground no less than its protection asks for.
//
//	clause  BS 7671 542.3.1, 543.1.3, 543.1.4, 544.1.1, Table 54.1
func (k *checker) earthingConductor(system trade.EarthingSystem) {
	run := &k.m.Job.Supply.EarthingConductor
	f := k.start("earthing conductor", "earthing conductor", works.TheSupply, "csa of the earthing conductor")
	csa, sized := run.CSA.Get()
	least := k.leastEarthing(system)
	if system == trade.TNCS {
		least = greater(least, k.bondingOfPME())
	}
	least = greater(least, k.leastInGround(run, works.TheEarthingConductor))
	if !sized || !least.Known() {
		k.add(notKnown(f, k.m.NoEarthing(), works.TheEarthingConductor.Unless(sized, "csa", "csa"), least.Lacks))
		return
	}
	f.Source = standard.Sources(k.rules.Clause("earthing conductor"), least.Cite)
	f = atLeast(f, csa, least.Value)
	f.Why = say("%s", least.Why)
	if f.Verdict == finding.Fails {
		f.Next = "replace it by " + least.Value.String()
	}
	k.add(f)
}

// greater returns the answer that asks for more; what either lacks, both lack.
func greater(a, b model.Answer[quantity.SquareMillimetres]) model.Answer[quantity.SquareMillimetres] {
	lacks := finding.Gather(a.Lacks, b.Lacks)
	if b.Value > a.Value {
		a = b
	}
	a.Lacks = lacks
	return a
}

// leastEarthing returns the csa the earthing conductor must have for the fault
// it carries, by selection or by calculation, whichever asks for less.
func (k *checker) leastEarthing(system trade.EarthingSystem) model.Answer[quantity.SquareMillimetres] {
	s := &k.m.Job.Supply
	calculated := k.earthingByCalculation(system)
	tails, ok := s.Tails.CSA.Get()
	if !ok || !system.IsTN() {
		if !calculated.Known() && system.IsTN() {
			calculated.Lacks = works.TheTails.Lack("csa", "csa of the meter tails")
		}
		return calculated
	}
	least, cite := k.rules.ProtectiveConductorBySelection(tails)
	selected := model.Answer[quantity.SquareMillimetres]{Value: least, Cite: cite, Why: fmt.Sprintf("by selection for tails of %v", tails)}
	if calculated.Known() && calculated.Value < selected.Value {
		return calculated
	}
	return selected
}

// earthingByCalculation returns the csa that stands a fault at the origin until
// the cut-out clears it. On TT the current is what the electrode lets through,
// and no device is counted on: it may flow for as long as the formula holds.
//
//	formula  S ≥ √(I²t) / k, made up to the next size, 4 mm² or more
//	clause   BS 7671 543.1.1, 543.1.3; k from Table 54.2
func (k *checker) earthingByCalculation(system trade.EarthingSystem) model.Answer[quantity.SquareMillimetres] {
	s, out := &k.m.Job.Supply, model.Answer[quantity.SquareMillimetres]{}
	loop, u0, cmin := k.m.External(), k.m.U0(), limit[float64](k, "cmin")
	least, longest := limit[quantity.SquareMillimetres](k, "separate cpc unprotected"), limit[quantity.Seconds](k, "adiabatic longest")
	factor, cite, err := k.rules.K(standard.Copper, standard.Thermoplastic70, standard.CPCSeparate)
	out.Lacks = finding.Gather(loop.Lacks, u0.Lacks, cmin.Lacks, least.Lacks, longest.Lacks, k.m.NoEarthing())
	if err != nil {
		out.Lacks = append(out.Lacks, finding.Cannot(err.Error())...)
	}
	if len(out.Lacks) > 0 {
		return out
	}
	fault := quantity.Amperes(float64(u0.Value) * cmin.Value / float64(loop.Magnitude()))
	squared, why := float64(fault*fault)*float64(longest.Value), fmt.Sprintf("%v for %v, the longest the formula holds", fault, longest.Value)
	if system.IsTN() {
		family, ok := s.CutOut.Type.Get()
		fuse := standard.Device{Family: family, Rating: s.CutOut.Rating.Or(0)}
		out.Lacks = finding.Gather(works.TheCutOut.Unless(ok, "type", "type of the fuse"), k.m.NoFuse())
		if len(out.Lacks) > 0 {
			return out
		}
		clears, _, err := k.rules.OperatingCurrent(fuse, longest.Value)
		if err != nil || fault < clears {
			out.Lacks = works.TheCutOut.Lack("type", fmt.Sprintf("a fuse that clears %v within %v", fault, longest.Value), "rating")
			return out
		}
		// The heat that melts a fuse does not rise with the current.
		squared, why = float64(clears*clears)*float64(longest.Value),
			fmt.Sprintf("%v flows, and the cut-out fuse lets through no more than %v for %v", fault, clears, longest.Value)
		if _, slow, _, err := k.rules.OperatingTime(fuse, fault); err == nil && float64(fault*fault)*float64(max(slow, 0.1)) < squared {
			squared, why = float64(fault*fault)*float64(max(slow, 0.1)), fmt.Sprintf("%v until the cut-out fuse clears it within %v", fault, max(slow, 0.1))
		}
	}
	needed := quantity.SquareMillimetres(math.Sqrt(squared) / factor)
	out.Value, out.Cite = max(madeUp(needed), least.Value), cite
	out.Why = fmt.Sprintf("by calculation: %s; k %.0f asks %v", why, factor, needed)
	return out
}

// madeUp returns the nominal size at or above a csa.
func madeUp(csa quantity.SquareMillimetres) quantity.SquareMillimetres {
	for _, s := range []quantity.SquareMillimetres{1, 1.5, 2.5, 4, 6, 10, 16, 25, 35, 50, 70, 95, 120, 150, 185, 240, 300} { // IEC 60228
		if s >= csa {
			return s
		}
	}
	return csa
}

// leastInGround returns what an earthing conductor must have where it runs in
// the ground.
func (k *checker) leastInGround(run *works.ProtectiveRun, at works.Thing) model.Answer[quantity.SquareMillimetres] {
	out := model.Answer[quantity.SquareMillimetres]{}
	buried, said := run.Buried.Get()
	switch {
	case !said:
		out.Lacks = at.Lack("buried", "whether it runs in the ground")
		return out
	case !buried:
		return out
	}
	cover, known := run.Cover.Get()
	switch {
	case !known:
		out.Lacks = at.Lack("protection", "what protects it in the ground")
		return out
	case cover == trade.SheathedProtected:
		return out
	}
	least := limit[quantity.SquareMillimetres](k, map[trade.Cover]string{trade.Bare: "earthing conductor buried, bare",
		trade.Sheathed: "earthing conductor buried, corrosion protected"}[cover])
	least.Why = fmt.Sprintf("in the ground, %s (%s)", string(cover), least.Cite.Source())
	return least
}

// electrodeConductor checks the conductor from a point to an electrode of its own.
func (k *checker) electrodeConductor(p *model.Point) {
	run := &p.Record.Earthing.Conductor
	at := works.Thing{Path: p.Record.Thing().Path + "/earthing/earthing conductor", Name: "earthing conductor of " + p.Record.Thing().Name}
	f := k.start("electrode conductor", "earthing conductor buried", at, "csa of the conductor to its electrode")
	csa, sized := run.CSA.Get()
	bare := limit[quantity.SquareMillimetres](k, "separate cpc unprotected")
	bare.Why = "protective conductor on its own (" + bare.Cite.Source() + ")"
	least := greater(bare, k.leastInGround(run, at))
	if !sized || !least.Known() {
		k.add(notKnown(f, at.Unless(sized, "csa", "csa"), least.Lacks))
		return
	}
	f.Source = standard.Sources(k.rules.Clause("earthing conductor buried"), least.Cite)
	f = atLeast(f, csa, least.Value)
	f.Why = say("%s", least.Why)
	if f.Verdict == finding.Fails {
		f.Next = "replace it by " + least.Value.String() + ", or protect it"
	}
	k.add(f)
}
