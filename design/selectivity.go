package design

// Selectivity: the device nearest a fault operates and the one ahead stays
// closed (BS 7671 536.4.1).

import (
	"fmt"
	"math"
	"slices"

	"chargewright/finding"
	"chargewright/model"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/works"
)

// Selectivity is what the product standards show of two devices in series.
type Selectivity struct {
	Overload bool             // overloads are left to the device below
	Until    quantity.Amperes // faults are left to it up to here; +Inf without end
	Why      string
	Cites    []standard.Citation
}

// Series returns how far a device below is selective with the one ahead of it.
//
//	icn      rated short-circuit capacity of the device below
//	fuses    gG over gG: In at least 1.6 times, or two steps of the series;
//	         then at every current (IEC 60269-2)
//	energy   what the device below lets through stays under the least pre-arcing
//	         energy of a fuse ahead (BS 7671 536.4.1; IEC 60269-1)
//	time     the device ahead holds for longer than the one below may take: a
//	         breaker below its magnetic part, a fuse below its 0.1 s gate
//	overload bands that do not meet, or twice the rating (common practice)
//
// The standards give limits of whole families. Two devices of one maker are
// often selective further than this: its table says how far.
func Series(rules *standard.Rulebook, ahead, below standard.Device, icn quantity.Amperes) Selectivity {
	var out Selectivity
	if ahead.Family == standard.FuseGG && below.Family == standard.FuseGG {
		return fuses(rules, ahead, below)
	}
	up, down := rated(ahead), rated(below)
	out.Overload = up >= 2*down
	start := atOnce(rules, below)
	if math.IsInf(start, 1) {
		out.Why = "the device below has no tabulated current at which it operates within 0.1 s"
		return out
	}
	out.Until = quantity.Amperes(holdsTo(rules, ahead, start))
	out.Why = fmt.Sprintf("%v holds to %v for longer than %v takes", ahead, out.Until, below)
	if out.Until == 0 {
		out.Why = fmt.Sprintf("%v may operate as soon as %v does", ahead, below)
	}
	least, citeLeast, err := rules.MinLetThrough(ahead)
	if err != nil {
		return out
	}
	through, cite, err := rules.LetThrough(below, icn, icn)
	if err != nil {
		return out
	}
	out.Cites = append(out.Cites, citeLeast, cite)
	if through <= least {
		out.Until = max(out.Until, icn)
		out.Why = fmt.Sprintf("%v lets through no more than %v, and %v needs %v", below, through, ahead, least)
	} else {
		out.Why += fmt.Sprintf("; beyond that %v may let through %v, and %v melts at %v", below, through, ahead, least)
	}
	return out
}

func rated(d standard.Device) quantity.Amperes {
	if d.Ir > 0 {
		return d.Ir
	}
	return d.Rating
}

// fuses applies the rule of rated currents.
func fuses(rules *standard.Rulebook, ahead, below standard.Device) Selectivity {
	ratio, cite, err := rules.Limit("fuse selectivity ratio")
	if err != nil {
		return Selectivity{Why: err.Error()}
	}
	series := rules.Ratings(ahead.Family)
	steps := slices.Index(series, ahead.Rating) - slices.Index(series, below.Rating)
	out := Selectivity{Cites: []standard.Citation{cite}}
	has := float64(ahead.Rating / below.Rating)
	if has >= ratio || below.Rating >= 16 && steps >= 2 {
		out.Overload, out.Until = true, quantity.Amperes(math.Inf(1))
		out.Why = fmt.Sprintf("%v is %.2f times %v, two steps of the series or more", ahead.Rating, has, below.Rating)
	} else {
		out.Why = fmt.Sprintf("%v is %.2f times %v; %.1f times is asked", ahead.Rating, has, below.Rating, ratio)
	}
	return out
}

// atOnce returns the least current at which a device operates within 0.1 s.
func atOnce(rules *standard.Rulebook, d standard.Device) float64 {
	i, _, err := rules.OperatingCurrent(d, 0.1)
	if err != nil {
		return math.Inf(1)
	}
	return float64(i)
}

// holdsTo returns the greatest current up to which a device ahead takes 0.1 s or
// more at the least, from start on; 0 where it may be quicker at once.
func holdsTo(rules *standard.Rulebook, d standard.Device, start float64) float64 {
	slow := func(i float64) bool {
		shortest, _, _, err := rules.OperatingTime(d, quantity.Amperes(i))
		return err == nil && shortest >= 0.1*(1-finding.Slack)
	}
	if !slow(start) {
		return 0
	}
	low, high := start, 2*start
	for slow(high) && high < 1e6 {
		low, high = high, 2*high
	}
	for high-low > 0.01 {
		if mid := (low + high) / 2; slow(mid) {
			low = mid
		} else {
			high = mid
		}
	}
	return math.Round(low*10) / 10
}

const differ = "device nearest the fault operates, the one ahead does not"

// selectivity reports every pair of devices in series once, at each board.
func (k *checker) selectivity() {
	for _, b := range k.m.Boards {
		if len(b.Circuits) == 0 {
			continue
		}
		before, name := k.deviceBefore(b)
		ahead, known := before.Get()
		if !known {
			k.add(notKnown(k.start("selectivity", "selectivity", b.Record.Thing(), differ), before.Lacks))
			continue
		}
		seen := map[standard.Device]bool{}
		for _, c := range b.Circuits {
			below, known := c.Device().Get()
			if !known || seen[below] {
				continue
			}
			seen[below] = true
			k.series(b, ahead, name, below, c)
		}
	}
}

// residualSeries checks that an RCD ahead stays closed when that of a point
// behind it trips.
//
//	rule    time delay, and IΔn at least 3 times that below
//	clause  BS 7671 536.4.1.4 (number to check)
func (k *checker) residualSeries(up model.Protecting, points []*model.Point) {
	f := k.start("RCD selectivity", "rcd selectivity", up.Thing, "a fault at one point opens the RCD of that point alone")
	ratio := limit[float64](k, "rcd selectivity ratio")
	residual, ok := up.RCD.Residual.Get()
	lacks := finding.Gather(ratio.Lacks, up.Unless(ok, "IΔn", "IΔn"))
	var below quantity.Amperes
	nearer := false
	for _, p := range points {
		all := p.RCDs()
		at := slices.IndexFunc(all, func(r model.Protecting) bool { return r.Path == up.Path })
		if at == 0 && !up.Alone() {
			lacks = append(lacks, k.m.NoRCD(p, "the RCD that protects the point")...)
		}
		for _, r := range all[:at] {
			nearer = true
			i, known := r.RCD.Residual.Get()
			lacks = append(lacks, r.Unless(known, "IΔn", "IΔn")...)
			below = max(below, i)
		}
	}
	if !nearer && up.Alone() {
		return // the first that the vehicle's current passes
	}
	if len(lacks) > 0 {
		k.add(notKnown(f, lacks))
		return
	}
	f.Source = standard.Sources(k.rules.Clause("rcd selectivity"), ratio.Cite)
	f = atLeast(f, residual, below*quantity.Amperes(ratio.Value))
	f.Why = say("%v over %v", residual, below)
	delayed, said := up.RCD.Delayed.Get()
	switch {
	case f.Verdict == finding.Meets && !said:
		f = notKnown(f, up.Lack("time delayed", "whether it is time-delayed"))
	case f.Verdict != finding.Meets || !delayed:
		next := "take a time-delayed RCD ahead, or accept that a fault at one point may switch off the others"
		if up.Alone() {
			next = "leave one of the two out, or accept that either may open on a fault at this point"
		}
		f = judge(f, f.Why.Then(say("without a time delay and %.0f times the residual current both may open", ratio.Value)), next)
	}
	k.add(k.unlessMore(f, up))
}

// deviceBefore returns the device ahead of a board.
func (k *checker) deviceBefore(b *model.Board) (model.Answer[standard.Device], string) {
	switch {
	case b.Feed != nil:
		return b.Feed.Device(), "device of " + b.Feed.Name()
	case b.Record.FedFrom == "":
		return model.Answer[standard.Device]{Lacks: k.m.Unfed(b)}, ""
	}
	fuse := &k.m.Job.Supply.CutOut
	return model.Answer[standard.Device]{Value: standard.Device{Family: fuse.Type.Or(""), Rating: fuse.Rating.Or(0)},
		Lacks: finding.Gather(works.TheCutOut.Unless(fuse.Type.IsKnown(), "type", "type of the fuse"), k.m.NoFuse())}, "cut-out fuse"
}

// series checks one pair against the fault current where the lower one stands.
func (k *checker) series(b *model.Board, ahead standard.Device, name string, below standard.Device, c *model.Circuit) {
	f := k.start("selectivity", "selectivity", b.Record.Thing(), differ)
	f.Part, f.Against = name+" over "+below.String(), c.Thing().Path+"/device"
	f.Subject += ", " + f.Part
	fault := k.m.GreatestFault(b)
	if !fault.Known() {
		f = notKnown(f, fault.Lacks)
		f.WaitsOn = "supply Ipf"
		k.add(f)
		return
	}
	s := Series(k.rules, ahead, below, c.Record.Device.BreakingCapacity.Or(0))
	f.Source = standard.Sources(append([]standard.Citation{k.rules.Clause("selectivity")}, s.Cites...)...)
	f.Value, f.Limit = amount(fault.Current), amount(s.Until)
	if s.Until >= fault.Current && s.Overload {
		k.add(meets(f, say("%s", s.Why)))
		return
	}
	f.Margin = amount(s.Until - fault.Current)
	why := s.Why
	if !s.Overload {
		why += "; in the overload range their bands may meet"
	}
	if s.Until < fault.Current {
		why += fmt.Sprintf("; shown to %v of the %v there", s.Until, fault.Current)
	}
	k.add(judge(f, say("%s", why), "see the makers' selectivity table for the two, or accept that a heavy fault opens both"))
}
