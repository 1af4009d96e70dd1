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
	f := k.start("breaking capacity", "breaking capacity", c.Thing(), "device breaks the fault current where it stands: Icn ≥ Ipf")
	icn, fault := c.Record.Device.BreakingCapacity, c.GreatestFault()
	f = k.stands(f, icn, fault, c.Thing().Unless(icn.IsKnown(), "device/breaking capacity", "breaking capacity of its device"))
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

// stands holds what a device breaks, or an assembly stands, against the fault
// current there. Where that is not known, what is enough at the origin is enough.
func (k *checker) stands(f finding.Finding, rating quantity.Maybe[quantity.Amperes], fault model.FaultCurrent, unrated finding.Lacks) finding.Finding {
	is, ok := rating.Get()
	switch {
	case ok && fault.Known():
		f = atLeast(f, is, fault.Current)
		f.Why = say("Ipf %s", fault.Why)
		return f
	case ok && fault.Most > 0 && len(k.m.NoIpf()) == 0 && is >= fault.Most:
		f = atLeast(f, is, fault.Most)
		f.Why = say("no more than Ipf at the origin; what it is here is not known")
		return f
	}
	f = notKnown(f, fault.Lacks, unrated)
	if len(k.m.NoIpf()) > 0 {
		f.WaitsOn = "supply Ipf"
	}
	return f
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
		k.add(notKnown(k.start("adiabatic line conductor", "adiabatic", c.Thing(), "conductors stand the fault: S ≥ √(I²t)/k"), c.Thing().Lack("legs", "its legs")))
	}
}

// adiabatic checks one conductor.
//
//	formula  S ≥ √(I²t) / k
//	I²t      the greater of: the least fault current at the far end for as long
//	         as the device takes; the greatest at its own terminals. Of a device
//	         that cuts off at once, what it lets through where that is less
//	clause   BS 7671 543.1.3 and 434.5.2; k from Tables 43.1 and 54.2 to 54.4
func (k *checker) adiabatic(c *model.Circuit, conductor *model.Conductor, what string) {
	f := k.start("adiabatic "+what, "adiabatic", c.Thing(), what+" stands the fault: S ≥ √(I²t)/k")
	device := c.Device()
	d := device.Value
	least := c.LeastEarthFault()
	greatest := c.GreatestFault()
	if lacks := finding.Gather(conductor.Lacks, device.Lacks, least.Lacks, greatest.Lacks); len(lacks) > 0 {
		f = notKnown(f, lacks)
		if !k.m.Ze().Known() {
			f.WaitsOn = "supply Ze"
		}
		k.add(f)
		return
	}
	if conductor.K == 0 {
		k.add(notKnown(f, c.Thing().Lack("cable/material", "k of the "+what, "cable/insulation")))
		return
	}
	far, near := k.farEnergy(c, d, least.Current), k.nearEnergy(c, d, greatest.Current)
	if len(far.lacks) > 0 {
		k.add(notKnown(f, far.lacks))
		return
	}
	most := far
	if near.squared > far.squared {
		most = near
	}
	if math.IsInf(most.squared, 1) {
		f.Next = "ask the device's maker for its let-through energy at " + greatest.Current.String()
		k.add(notKnown(f, c.Thing().Lack("device/breaking capacity", "let-through energy of its device at "+greatest.Current.String(), "device/type",
			"device/rating")))
		return
	}
	f.Source = standard.Sources(k.rules.Clause("adiabatic"), conductor.KCitation, far.cite, near.cite)
	f = atLeast(f, conductor.CSA, quantity.SquareMillimetres(math.Sqrt(most.squared)/conductor.K))
	f.Why = most.text.Then(say("k %.0f", conductor.K))
	if f.Verdict == finding.Fails {
		f.Next = "take a larger " + what + ", or a device that lets less through"
	}
	k.add(f)
}

// energy is what a fault lets through a conductor.
type energy struct {
	squared float64 // I²t, in A²·s; +Inf where nothing settles it
	cite    standard.Citation
	text    finding.Text
	lacks   finding.Lacks
}

// farEnergy returns I²t of the least fault current at the far end.
func (k *checker) farEnergy(c *model.Circuit, d standard.Device, i quantity.Amperes) energy {
	_, longest, cite, err := k.rules.OperatingTime(d, i)
	if err != nil {
		return energy{lacks: c.OffCurve(err)}
	}
	by := string(d.Family)
	if rcd, ok := c.RCD(); ok && longest > 0.3 {
		if residual, known := rcd.Residual.Get(); known && i >= residual {
			multiple := 1.0
			if i >= 5*residual {
				multiple = 5
			}
			if _, most, rcdCite, err := k.rules.RCDTime(rcd.Delayed.Or(true), multiple); err == nil && most < longest {
				longest, cite, by = most, rcdCite, "its RCD"
			}
		}
	}
	if longest > 5 { // the formula holds to 5 s; the disconnection finding says so too
		return energy{lacks: c.Thing().Lack("device/type", fmt.Sprintf("a device that cuts off %v within 5 s", i), "device/rating", "RCD/IΔn", "shared RCD")}
	}
	t := max(float64(longest), 0.1)
	if by == string(d.Family) && longest <= 0.1 { // cut off at once: it lets through no more than its let-through either
		if e, through, err := k.rules.LetThrough(d, i, c.Record.Device.BreakingCapacity.Or(0)); err == nil && float64(e) < float64(i)*float64(i)*t {
			return energy{squared: float64(e), cite: through, text: say("lets through %v at the %v of the far end", e, i)}
		}
	}
	return energy{squared: float64(i) * float64(i) * t, cite: cite, text: say("%v at the far end for %v by %s", i, quantity.Seconds(t), by)}
}

// nearEnergy returns what the device lets through at its own terminals: what a
// table has, or I² × 0.1 s of a device that trips at once, whichever is less;
// infinity where neither is known.
func (k *checker) nearEnergy(c *model.Circuit, d standard.Device, i quantity.Amperes) energy {
	out := energy{squared: math.Inf(1)}
	if e, cite, err := k.rules.LetThrough(d, i, c.Record.Device.BreakingCapacity.Or(0)); err == nil {
		out = energy{squared: float64(e), cite: cite, text: say("lets through %v at %v", e, i)}
	}
	if bound := float64(i) * float64(i) * 0.1; bound < out.squared {
		if _, longest, cite, err := k.rules.OperatingTime(d, i); err == nil && longest <= 0.1 {
			out = energy{squared: bound, cite: cite, text: say("no more than %v for 0.1 s", i)}
		}
	}
	return out
}
