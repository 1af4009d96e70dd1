package design

// Earthing conductor and main protective bonding (BS 7671 542.3, 543.1, 544.1).

import (
	"fmt"

	"chargewright/finding"
	"chargewright/job"
	"chargewright/model"
	"chargewright/quantity"
)

// bonding checks the earthing conductor and each main bonding conductor.
func (k *checker) bonding() {
	s := &k.m.Job.Supply
	system, ok := s.Earthing.Get()
	earthing, sized := s.EarthingConductor.CSA.Get()
	f := k.start("earthing conductor", "earthing conductor", job.TheSupply, "csa of the earthing conductor")
	tails, known := s.Tails.CSA.Get()
	switch {
	case !sized || !ok || (!known && system.IsTN()):
		k.add(notKnown(f, k.m.NoEarthing(), noEarthingConductor(s), job.TheSupply.Unless(known || ok && !system.IsTN(), "tails/csa", "csa of the meter tails")))
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
	least := k.leastBonding(system)
	if len(s.Bonding) == 0 {
		f := k.start("main bonding", "bonding", job.TheSupply, "extraneous metal is bonded")
		f.Next = "look for water, gas, oil and structural steel at their entry; enter each bond, with its csa"
		k.add(notKnown(f, job.TheSupply.Lack("main bonding", "main bonding conductors")))
		return
	}
	for _, b := range s.Bonding {
		f := k.start("main bonding", "bonding", b.Thing(), "csa of the main protective bonding conductor")
		csa, known := b.CSA.Get()
		if connected, said := b.Connected.Get(); said && !connected {
			k.add(fails(f, say("it was seen not connected"), "connect it with a clamp to BS 951 and its label, and prove continuity"))
			continue
		}
		if !known || !least.Known() {
			k.add(notKnown(f, least.Lacks, b.Thing().Unless(known, "csa", "csa")))
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

// leastBonding returns the least csa of main bonding for the supply.
func (k *checker) leastBonding(system job.EarthingSystem) model.Answer[quantity.SquareMillimetres] {
	s, out := &k.m.Job.Supply, model.Answer[quantity.SquareMillimetres]{}
	if system == job.TNCS {
		neutral, ok := s.ServiceNeutral.Get()
		if !ok {
			out.Lacks = job.TheSupply.Lack("supply neutral", "csa of the supply neutral (copper equivalent)")
			return out
		}
		out.Value, out.Cite = k.rules.MainBonding(true, neutral)
		out.Why = fmt.Sprintf("supply neutral %v copper equivalent, PME conditions (%s)", neutral, out.Cite.Source())
		return out
	}
	earthing, ok := s.EarthingConductor.CSA.Get()
	if !ok {
		out.Lacks = noEarthingConductor(s)
		return out
	}
	out.Value, out.Cite = k.rules.MainBonding(false, earthing)
	out.Why = fmt.Sprintf("half the earthing conductor of %v, within 6 and 25 mm² (%s)", earthing, out.Cite.Source())
	return out
}

func noEarthingConductor(s *job.Supply) finding.Lacks {
	return job.TheSupply.Unless(s.EarthingConductor.CSA.IsKnown(), "earthing conductor/csa", "csa of the earthing conductor")
}
