package design

// Earthing conductor and main protective bonding (BS 7671 542.3, 543.1, 544.1).

import (
	"fmt"

	"chargewright/finding"
	"chargewright/job"
	"chargewright/quantity"
)

// bonding checks the earthing conductor and each main bonding conductor.
func (k *checker) bonding() {
	s := &k.m.Job.Supply
	system, ok := s.Earthing.Get()
	earthing, sized := s.EarthingConductor.CSA.Get()
	f := k.start("earthing conductor", "earthing conductor", "supply", "csa of the earthing conductor")
	tails, known := s.Tails.CSA.Get()
	switch {
	case !sized || !ok || (!known && system.IsTN()):
		k.add(notKnown(f, unless(ok, "supply: earthing system"), unless(sized, "supply: csa of the earthing conductor"), unless(known || ok && !system.IsTN(), "supply: csa of the meter tails")))
	case system.IsTN():
		least, cite := k.rules.ProtectiveConductorBySelection(tails)
		f.Source = sources(k.rules.Clause("earthing conductor"), cite)
		f = atLeast(f, earthing, least)
		f.Why = say("by selection for tails of %v", tails)
		if f.Verdict == finding.Fails {
			f.Next = "replace it by " + least.String() + ", or prove the smaller one by calculation"
		}
		k.add(f)
	}

	if !ok {
		return
	}
	least, why, gap := k.leastBonding(system)
	if len(s.Bonding) == 0 {
		f := k.start("main bonding", "bonding", "supply", "extraneous metal is bonded")
		f.Next = "look for water, gas, oil and structural steel at their entry; enter each bond, with its csa"
		k.add(notKnown(f, "supply: main bonding conductors"))
		return
	}
	for _, b := range s.Bonding {
		f := k.start("main bonding", "bonding", "bonding to "+b.To, "csa of the main protective bonding conductor")
		csa, known := b.CSA.Get()
		if connected, said := b.Connected.Get(); said && !connected {
			k.add(fails(f, say("it was seen not connected"), "connect it with a clamp to BS 951 and its label, and prove continuity"))
			continue
		}
		if !known || gap != "" {
			k.add(notKnown(f, gap, unless(known, "bonding to "+b.To+": csa")))
			continue
		}
		f = atLeast(f, csa, least)
		f.Why = say("%s", why)
		if f.Verdict == finding.Fails {
			f.Next = "replace it by " + least.String()
		}
		k.add(f)
	}
}

// leastBonding returns the least csa of main bonding for the supply.
func (k *checker) leastBonding(system job.EarthingSystem) (quantity.SquareMillimetres, string, string) {
	s := &k.m.Job.Supply
	if system == job.TNCS {
		neutral, ok := s.ServiceNeutral.Get()
		if !ok {
			return 0, "", "supply: csa of the supply neutral (copper equivalent)"
		}
		least, cite := k.rules.MainBonding(true, neutral)
		return least, fmt.Sprintf("supply neutral %v copper equivalent, PME conditions (%s)", neutral, cite.Source()), ""
	}
	earthing, ok := s.EarthingConductor.CSA.Get()
	if !ok {
		return 0, "", "supply: csa of the earthing conductor"
	}
	least, cite := k.rules.MainBonding(false, earthing)
	return least, fmt.Sprintf("half the earthing conductor of %v, within 6 and 25 mm² (%s)", earthing, cite.Source()), ""
}
