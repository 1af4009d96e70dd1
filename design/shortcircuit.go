package design

// What a fault does to the conductors before it is cut off, and whether the
// device can break it (BS 7671 434.5, 543.1.3).

import (
	"fmt"
	"math"

	"chargewright/finding"
	"chargewright/model"
	"chargewright/quantity"
	"chargewright/standard"
)

// breaking checks that the device breaks the fault current at its terminals,
// alone or with the help of what stands ahead of it.
func (k *checker) breaking(c *model.Circuit) {
	f := k.start("breaking capacity", "breaking capacity", c.Name(), "device breaks the fault current where it stands: Icn ≥ Ipf")
	icn, ok := c.Record.Device.BreakingCapacity.Get()
	fault := k.m.GreatestFault(c.From)
	if !ok || !fault.Known() {
		gaps := fault.Gaps
		if !ok {
			gaps = append(gaps, c.Name()+": breaking capacity of its device")
		}
		f = notKnown(f, gaps...)
		if !k.m.Job.Supply.Ipf.Value.IsKnown() {
			f.WaitsOn = "supply Ipf"
		}
		k.add(f)
		return
	}
	f = atLeast(f, icn, fault.Current)
	f.Why = say("Ipf %s", fault.Why)
	if f.Verdict == finding.Fails {
		if c.From != nil && c.From.Feed == nil { // a conditional rating is given behind the service fuse
			if assembly, ok := c.From.Record.ShortCircuitRating.Get(); ok && assembly >= fault.Current {
				k.add(judge(f, f.Why.Then(say("the assembly is rated %v with its devices in place", assembly)),
					"confirm that the maker's conditional rating covers this device behind this fuse"))
				return
			}
		}
		if c.Record.Device.BackedUp.Or(false) {
			k.add(judge(f, f.Why.Then(say("a tested combination with the device ahead is stated")), "keep the maker's statement of the combination with the job"))
			return
		}
		f.Next = "take a device of at least " + fault.Current.String() + " breaking capacity, or a combination its maker has tested"
	}
	k.add(f)
}

// shortCircuit checks every conductor of the circuit against the energy a
// fault lets through: the weakest of each kind, over all legs.
func (k *checker) shortCircuit(c *model.Circuit) {
	weakest := map[string]*model.Conductor{}
	var kinds []string
	see := func(what string, conductor *model.Conductor) {
		known, seen := weakest[what]
		if !seen {
			kinds = append(kinds, what)
		}
		if !seen || !conductor.Known() || known.Known() && conductor.K*float64(conductor.CSA) < known.K*float64(known.CSA) {
			weakest[what] = conductor
		}
	}
	for _, leg := range c.Legs {
		see("line conductor", &leg.Line)
		if leg.CPC.Role == standard.ArmourAsCPC {
			see("armour as cpc", &leg.CPC)
			continue
		}
		see("cpc", &leg.CPC)
		if leg.CPC.Beside != nil {
			see("armour as cpc", leg.CPC.Beside)
		}
	}
	for _, what := range kinds {
		k.adiabatic(c, weakest[what], what)
	}
	if len(kinds) == 0 {
		k.add(notKnown(k.start("adiabatic line conductor", "adiabatic", c.Name(), "conductors stand the fault: S ≥ √(I²t)/k"), c.Name()+": its legs"))
	}
}

// adiabatic checks one conductor.
//
//	formula  S ≥ √(I²t) / k
//	I²t      the greater of: the least fault current at the far end for as long
//	         as the device takes; what the device lets through at its own
//	         terminals at the greatest fault current
//	clause   BS 7671 543.1.3 and 434.5.2; k from Tables 43.1 and 54.2 to 54.4
func (k *checker) adiabatic(c *model.Circuit, conductor *model.Conductor, what string) {
	f := k.start("adiabatic "+what, "adiabatic", c.Name(), what+" stands the fault: S ≥ √(I²t)/k")
	d, gap := c.Device()
	least := c.LeastEarthFault()
	greatest := k.m.GreatestFault(c.From)
	if gaps := append(append([]string{conductor.Gap, gap}, least.Gaps...), greatest.Gaps...); anyGap(gaps) {
		f = notKnown(f, gaps...)
		if !k.m.Job.Supply.Ze.Value.IsKnown() {
			f.WaitsOn = "supply Ze"
		}
		k.add(f)
		return
	}
	if conductor.K == 0 {
		k.add(notKnown(f, c.Name()+": k of the "+what))
		return
	}
	far, citeFar, farText, gap := k.farEnergy(c, d, least.Current)
	if gap != "" {
		k.add(notKnown(f, gap))
		return
	}
	near, citeNear, nearText := k.nearEnergy(c, d, greatest.Current, conductor)
	energy, text := far, farText
	if near > far {
		energy, text = near, nearText
	}
	if math.IsInf(energy, 1) {
		f.Next = "ask the device's maker for its let-through energy at " + greatest.Current.String()
		k.add(notKnown(f, c.Name()+": let-through energy of its device at "+greatest.Current.String()))
		return
	}
	f.Source = sources(k.rules.Clause("adiabatic"), conductor.KCitation, citeFar, citeNear)
	f = atLeast(f, conductor.CSA, quantity.SquareMillimetres(math.Sqrt(energy)/conductor.K))
	f.Why = text.Then(say("k %.0f", conductor.K))
	if f.Verdict == finding.Fails {
		f.Next = "take a larger " + what + ", or a device that lets less through"
	}
	k.add(f)
}

// farEnergy returns I²t of the least fault current at the far end.
func (k *checker) farEnergy(c *model.Circuit, d standard.Device, i quantity.Amperes) (float64, standard.Citation, finding.Text, string) {
	_, longest, cite, err := k.rules.OperatingTime(d, i)
	if err != nil {
		return 0, cite, nil, c.Name() + ": " + err.Error()
	}
	by := string(d.Family)
	if rcd, ok := c.RCD(); ok && longest > 0.3 {
		if residual, known := rcd.Residual.Get(); known && i >= residual {
			if _, most, rcdCite, err := k.rules.RCDTime(rcd.Delayed.Or(false), 1); err == nil && most < longest {
				longest, cite, by = most, rcdCite, "its RCD"
			}
		}
	}
	if longest > 5 { // the formula holds to 5 s; the disconnection finding says so too
		return 0, cite, nil, fmt.Sprintf("%s: a device that cuts off %v within 5 s", c.Name(), i)
	}
	t := max(float64(longest), 0.1) // below 0.1 s the let-through of the device governs
	if by == string(d.Family) && longest <= 0.1 {
		t = 0.1
	}
	return float64(i) * float64(i) * t, cite, say("%v at the far end for %v by %s", i, quantity.Seconds(t), by), ""
}

// nearEnergy returns what the device lets through at its own terminals, or
// infinity where neither a table nor a safe-side bound settles it.
func (k *checker) nearEnergy(c *model.Circuit, d standard.Device, i quantity.Amperes, conductor *model.Conductor) (float64, standard.Citation, finding.Text) {
	icn := c.Record.Device.BreakingCapacity.Or(0)
	if e, cite, err := k.rules.LetThrough(d, i, icn); err == nil {
		return float64(e), cite, say("lets through %v at %v", e, i)
	}
	// Not tabulated. A device that trips at once needs less than 0.1 s, so
	// I² × 0.1 s bounds it; if the conductor stands even that, it is settled.
	bound := float64(i) * float64(i) * 0.1
	if withstand := conductor.K * float64(conductor.CSA); bound <= withstand*withstand {
		if _, longest, cite, err := k.rules.OperatingTime(d, i); err == nil && longest <= 0.1 {
			return bound, cite, say("no more than %v for 0.1 s", i)
		}
	}
	return math.Inf(1), standard.Citation{}, nil
}
