package design

// Earthing of a charge point, and what happens when the supply's combined
// neutral-earth (PEN) conductor is lost (BS 7671 722.411.4.1).

import (
	"math"

	"chargewright/finding"
	"chargewright/model"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/trade"
	"chargewright/works"
)

// earthing checks how the point is earthed.
func (k *checker) earthing(p *model.Point) {
	at := p.Record.Thing()
	f := k.start("open PEN", "open pen", at, "vehicle's metal stays near earth if the PEN conductor of the supply is lost")
	system, ok := k.m.Job.Supply.Earthing.Get()
	if !ok {
		f = notKnown(f, k.m.NoEarthing())
		f.WaitsOn = "supply earthing"
		k.add(f)
		return
	}
	measure, chosen := p.Record.Earthing.Measure.Get()
	if measure == trade.SeparateElectrode {
		k.separateElectrode(p)
	}
	if measure == trade.Separation {
		f = k.start("separation", "separation supply", at, "electrical separation serves one vehicle only")
		k.add(judge(f, say("electrical separation is chosen"), "confirm one unearthed source (isolating transformer to BS EN 61558-2-4) for this one vehicle"))
		return
	}
	if lacks := p.NoMeasure(); len(lacks) > 0 && system != trade.TNCS {
		k.add(notKnown(f, lacks))
		return
	}
	switch system {
	case trade.TT:
		k.add(meets(f, say("not engaged: the supply is TT and brings no PEN conductor into the earthing")))
		return
	case trade.TNS:
		k.add(judge(f, say("the supply is recorded as TN-S; networks repaired with combined cable often are not so all the way"),
			"ask the network operator whether the earth is separate back to the transformer; if not, treat the supply as TN-C-S"))
		return
	case trade.IT:
		k.add(judge(f, say("an IT supply is outside these rules"), "have the earthing designed for this supply"))
		return
	}
	outdoors, said := p.Record.Outdoors.Get()
	switch {
	case !said:
		k.add(notKnown(f, at.Lack("outdoors", "whether it, or a vehicle on charge, stands outdoors")))
		return
	case !outdoors && len(p.NoMeasure()) > 0:
		k.add(notKnown(f, p.NoMeasure()))
		return
	case !outdoors:
		k.add(meets(f, say("not engaged: neither the point nor a vehicle on charge stands outdoors")))
		return
	case !chosen:
		f.Next = "choose the measure: open-PEN device, separate electrode, or another that the clause allows"
		k.add(notKnown(f, at.Lack("earthing/measure", "measure against a lost PEN")))
		return
	}
	switch measure {
	case trade.SupplyEarthing:
		k.add(fails(f, say("the PME earthing is used for a point outdoors with nothing against a lost PEN"),
			"add an open-PEN device, or earth the point by a separate electrode"))
	case trade.BalancedLoad:
		k.balanced(f, p)
	case trade.LowElectrode:
		k.lowElectrode(f, p)
	case trade.OpenPENDetection:
		k.openPENDevice(f, p)
	case trade.SeparateElectrode:
		k.add(meets(f, say("the point is earthed by %s and not by the supply", electrodeName(p))))
	}
}

func electrodeName(p *model.Point) string {
	if e := p.Record.Earthing.Electrode; e != "" {
		return "electrode " + e
	}
	return "an electrode of its own"
}

// balanced checks option (i): a three-phase installation whose load pattern
// keeps the voltage down. The points count on and off, whichever is worse.
func (k *checker) balanced(f finding.Finding, p *model.Point) {
	if n, ok := k.m.Job.Supply.Phases.Get(); !ok || n != 3 {
		k.add(fails(f, say("this measure is for a three-phase installation that feeds other loads"), "choose another measure"))
		return
	}
	demand := k.m.SupplyDemand()
	u0, limit, factor := k.m.U0(), limit[quantity.Volts](k, "pen touch voltage"), limit[float64](k, "cmax")
	if lacks := finding.Gather(demand.Existing.Lacks, demand.Points.Lacks, u0.Lacks, limit.Lacks, factor.Lacks); len(lacks) > 0 {
		k.add(notKnown(f, lacks))
		return
	}
	most, c := limit.Value, factor.Value
	var worst, byFormula quantity.Volts
	for _, on := range []bool{false, true} { // the other loads alone, then every point on top
		lost := k.m.LosePEN(c, on, most)
		if !lost.Known() {
			k.add(notKnown(f, lost.Lacks))
			return
		}
		worst = max(worst, lost.Terminal)
		currents := demand.Existing
		if on {
			for line := range currents.Phase {
				currents.Phase[line] += demand.Points.Phase[line]
			}
		}
		byFormula = max(byFormula, model.LostPENVoltage(u0.Value, c, currents, quantity.Ohms(math.Inf(1))))
	}
	f.Source = standard.Sources(k.rules.Clause("open pen"), limit.Cite, factor.Cite)
	f = atMost(f, worst, most)
	f.Why = say("largest lost-PEN voltage of the recorded loads by the network, with the points on and off; %v by the formula of the annex", byFormula)
	if f.Verdict == finding.Fails {
		f.Next = "choose an open-PEN device or a separate electrode"
	} else {
		f.Verdict = finding.JudgeOnSite
		f.Next = "confirm that the unbalance stays below this through the day: this rests on the load pattern, not on one moment"
	}
	k.add(f)
}

// lowElectrode checks option (ii): an electrode at the main earthing terminal
// that is low enough.
func (k *checker) lowElectrode(f finding.Finding, p *model.Point) {
	e, _ := k.m.Job.Electrode(p.Record.Earthing.Electrode)
	ra, demand := k.m.PointElectrode(p, e), k.m.SupplyDemand()
	u0, limit, factor := k.m.U0(), limit[quantity.Volts](k, "pen touch voltage"), limit[float64](k, "cmax")
	lacks := finding.Gather(ra.Lacks, u0.Lacks, limit.Lacks, factor.Lacks, demand.Existing.Lacks, demand.Points.Lacks)
	if len(lacks) > 0 {
		k.add(notKnown(f, lacks))
		return
	}
	most, c := limit.Value, factor.Value
	var currents model.Currents
	for line := range currents.Phase {
		currents.Phase[line] = demand.Existing.Phase[line] + demand.Points.Phase[line]
	}
	f.Source = standard.Sources(k.rules.Clause("open pen"), limit.Cite, factor.Cite, ra.Cite)
	f.What = "electrode at the main earthing terminal keeps the lost-PEN voltage at or under " + most.String()
	var worst quantity.Volts
	var greatest quantity.Maybe[quantity.Ohms]
	needed, would := false, true
	for _, on := range []bool{false, true} { // the other loads alone, then every point on top
		lost := k.m.LosePEN(c, on, most)
		if !lost.Known() {
			k.add(notKnown(f, lost.Lacks))
			return
		}
		worst = max(worst, lost.Terminal)
		if r, known := lost.Electrode.Get(); known {
			greatest = quantity.Known(min(r, greatest.Or(r)))
		}
		needed, would = needed || lost.Needed, would && (!lost.Needed || lost.Electrode.IsKnown())
	}
	why := say("by the network the terminal rises to %v to earth with this electrode; %v by the formula of the annex", worst,
		model.LostPENVoltage(u0.Value, c, currents, ra.Value))
	switch r := greatest.Or(0); {
	case !needed:
		k.add(judge(f, why, "no electrode is needed with the recorded loads: confirm that the unbalance stays as it is through the day"))
		return
	case !would:
		f = fails(f, why, "")
		f.Value = amount(ra.Value)
	default:
		f = atMost(f, ra.Value, r)
		f.Why = why
	}
	if f.Verdict == finding.Fails {
		f.Next = "not practicable with rods here: choose an open-PEN device or a separate electrode"
	}
	k.add(f)
}

// openPENDevice checks options (iii), (iv) and (v).
func (k *checker) openPENDevice(f finding.Finding, p *model.Point) {
	at := p.Record.Thing()
	kind, ok := p.Record.OpenPEN.Get()
	if !ok {
		k.add(notKnown(f, at.Lack("open-PEN device", "what its open-PEN device measures")))
		return
	}
	phases, known := k.m.Job.Supply.Phases.Get()
	if !known {
		k.add(notKnown(f, works.TheSupply.Lack("phases", "phases")))
		return
	}
	if opens, said := p.Record.Earthing.Opens.Get(); !said {
		k.add(notKnown(f, at.Lack("earthing/opens protective conductor", "whether its open-PEN device opens the lines, the neutral and the protective conductor")))
		return
	} else if !opens {
		k.add(fails(f, say("the device leaves the protective conductor connected to the vehicle"),
			"take a device that opens the lines, the neutral and the protective conductor"))
		return
	}
	switch kind {
	case trade.NoOpenPENDevice:
		k.add(fails(f, say("no open-PEN device is fitted"), "fit one, or earth the point by a separate electrode"))
	case trade.MeasuresEarth:
		k.add(meets(f, say("the device measures the protective conductor to an earth electrode, option (iii)")))
	case trade.MeasuresLines:
		if phases == 3 {
			k.add(meets(f, say("the device takes its reference from the three lines, option (iii); it must also open when a line is lost")))
		} else {
			k.add(fails(f, say("a reference from three lines needs a three-phase supply"), "take a device for a single-phase supply"))
		}
	case trade.MeasuresWindow:
		if phases != 1 {
			k.add(fails(f, say("a device that watches one line to neutral is for single-phase installations: in a three-phase one the vehicle can stand far above "+
				"70 V with that line inside its window"),
				"take a device that measures to an earth electrode or from the three lines"))
			return
		}
		k.add(meets(f, say("the device watches line to neutral on a single-phase supply, option (iv)")))
		k.window(p)
	case trade.EquallyEffective:
		k.add(judge(f, say("a device of another kind is chosen, option (v)"),
			"keep its maker's proof that it gives no less safety than (iii) or (iv), and cannot close onto the fault"))
	}
}

// window checks that the point's volt drop does not by itself carry a window
// device out of its window on a lawful supply.
//
//	formula  216.2 V − ΔU ≥ 207 V
//	source   voltage limits of ESQCR 2002 reg 27; window of 722.411.4.1(iv)
func (k *checker) window(p *model.Point) {
	if p.Circuit == nil {
		return
	}
	f := k.start("voltage window", "open pen window", p.Record.Thing(), "volt drop leaves the window device quiet on the lowest lawful supply")
	low, window := limit[quantity.Volts](k, "supply voltage low"), limit[quantity.Volts](k, "voltage window low")
	d := PathDrop(k.m, p.Circuit)
	if lacks := finding.Gather(d.Lacks, low.Lacks, window.Lacks); len(lacks) > 0 {
		k.add(notKnown(f, lacks))
		return
	}
	lowest, bottom := low.Value, window.Value
	f.Source = standard.Sources(k.rules.Clause("open pen window"), low.Cite, window.Cite)
	f = atMost(f, d.Volts, lowest-bottom)
	f.Why = say("%v less %v is %v at the point; the device opens below %v", lowest, d.Volts, lowest-d.Volts, bottom)
	if f.Verdict == finding.Fails {
		f.Verdict = finding.JudgeOnSite // a nuisance, not a danger
		f.Next = "expect trips when the supply is low: take a larger csa, or a device that measures to earth"
	}
	k.add(f)
}

// separateElectrode checks a point on an electrode of its own.
func (k *checker) separateElectrode(p *model.Point) {
	at := p.Record.Thing()
	f := k.start("separation distance", "simultaneous contact", at, "nobody can touch metal on the supply's earth and the vehicle at once")
	least := limit[quantity.Metres](k, "separation")
	if d, ok := p.Record.Earthing.FromPME.Get(); ok && least.Known() {
		f.Source = standard.Sources(k.rules.Clause("simultaneous contact"), least.Cite)
		f = atLeast(f, d, least.Value)
		f.Why = say("measured from anywhere the vehicle may stand on charge, its lead included")
		if f.Verdict == finding.Fails {
			f.Next = "move the point or the bay, insulate the metalwork, or use an open-PEN device instead"
		}
		k.add(f)
	} else {
		k.add(notKnown(f, least.Lacks, at.Unless(ok, "earthing/from PME metalwork", "least distance from the vehicle to metalwork on the PME terminal")))
	}

	f = k.start("buried separation", "buried separation", at, "electrode stands clear of buried metal on the supply's earth")
	e, _ := k.m.OwnElectrode(p)
	if e == nil {
		k.add(notKnown(f, at.Lack("earthing/electrode", "the electrode it uses")))
		return
	}
	d, ok := e.FromPME.Get()
	operators := limit[quantity.Metres](k, "separation buried")
	if !ok || !operators.Known() {
		k.add(notKnown(f, operators.Lacks, e.Thing().Unless(ok, "from buried PME metalwork", "distance to buried metalwork on the PME terminal")))
		return
	}
	f.Source = standard.Sources(k.rules.Clause("buried separation"), operators.Cite)
	f.Value, f.Limit, f.Margin = amount(d), amount(operators.Value), amount(d-operators.Value)
	if d >= operators.Value {
		k.add(meets(f, say("clear of the distance network operators are quoted with")))
	} else {
		k.add(judge(f, say("nearer than the distance network operators are quoted with; no national figure was found"),
			"ask the network operator what distance it requires"))
	}
}

// tt checks the electrode of a TT installation, and of each point on one.
func (k *checker) tt() {
	if system, ok := k.m.Job.Supply.Earthing.Get(); ok && system == trade.TT {
		loop := k.m.External()
		k.stability(works.TheInstallation, model.Answer[quantity.Ohms]{Value: loop.Magnitude(), Lacks: loop.Lacks})
		k.everyCircuitHasRCD()
	}
	for _, p := range k.m.Points {
		if e, own := k.m.OwnElectrode(p); own {
			k.stability(p.Record.Thing(), k.m.PointElectrode(p, e))
		}
	}
}

// stability compares an electrode with the resistance above which it may not
// stay what it was measured to be. That is guidance, not a limit.
func (k *checker) stability(of works.Thing, ra model.Answer[quantity.Ohms]) {
	f := k.start("electrode stability", "tt stability", of, "electrode is low enough to stay so through the seasons")
	guidance := limit[quantity.Ohms](k, "electrode stability")
	if !guidance.Known() || !ra.Known() {
		k.add(notKnown(f, ra.Lacks, guidance.Lacks))
		return
	}
	r, guide := ra.Value, guidance.Value
	f.Source = standard.Sources(k.rules.Clause("tt stability"), guidance.Cite)
	f = atMost(f, r, guide)
	f.Why = say("guidance of %v, %.0f %% to spare", guide, 100*float64((guide-r)/guide))
	switch {
	case f.Verdict == finding.Fails:
		k.add(judge(f, say("outside the guidance of %v: the reading may not last a dry season", guide), "drive deeper or add rods; measure again in a dry season"))
		return
	case float64(r) > 0.9*float64(guide):
		f.Next = "little to spare: measure again in a dry season"
	}
	k.add(f)
}

// everyCircuitHasRCD checks that each circuit of a TT installation is behind
// an RCD, since an electrode passes too little current for a fuse.
func (k *checker) everyCircuitHasRCD() {
	for _, c := range k.m.Circuits {
		if c.IsDistribution() || c.Point != nil {
			continue // checked with their disconnection
		}
		if _, ok := c.RCD(); !ok {
			f := k.start("TT circuit RCD", "tt electrode", c.Thing(), "an RCD gives fault protection, since the earth fault current is small")
			k.add(fails(f, say("no RCD is entered for it"), "protect it by an RCD, or enter the one it is behind"))
		}
	}
}
