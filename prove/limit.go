package prove

// The limits of readings that the test sequence does not ask for, and those
// with two sides.

import (
	"cmp"
	"math"

	"chargewright/finding"
	"chargewright/model"
	"chargewright/quantity"
	"chargewright/reading"
	"chargewright/trade"
	"chargewright/works"
)

// other is a reading that the test sequence does not ask for: its clause and
// the sides it is judged by.
func (x *expecter) other(k *reading.Kind, at string) Expectation {
	e := Expectation{Reading: k.Name, At: at, Stage: "live", Clause: finding.Practice, Caution: "live working: a trained person, shrouded probes"}
	if k.Dead {
		e.Stage, e.Caution = "dead", "isolated, locked off, proved dead"
	}
	switch k.Name {
	case "insulation live to earth", "insulation between live", "insulation line to earth", "insulation neutral to earth":
		e.Clause = x.rules.Clause("insulation resistance").Cited()
		if least, _, err := x.rules.Limit("insulation least"); err == nil {
			e.bound(reading.AtLeast, amount(quantity.Ohms(least)))
		}
	case "voltage line to neutral", "voltage line to earth":
		e.Clause = x.rules.Clause("supply voltage").Cited()
		x.voltageBounds(&e)
	case "voltage neutral to earth":
		if most, _, err := x.rules.Limit("neutral earth volts"); err == nil {
			b := e.bound(reading.AtMost, amount(quantity.Volts(most)))
			b.Judge, b.Next = "engineering judgement, no clause sets it", "look for a heavy load, a poor joint in the neutral, or line and neutral exchanged"
		}
	case "RCD time at IΔn", "RCD time at 5 IΔn":
		e.Clause = x.rules.Clause("rcd test").Cited()
		if rcd, ok := x.rcdAt(at); ok {
			x.operatingTime(&e, rcd, map[bool]float64{true: 5, false: 1}[k.Name == "RCD time at 5 IΔn"])
		}
	case "RCD ramp":
		if rcd, ok := x.rcdAt(at); ok {
			x.tripCurrent(&e, rcd)
		}
	case "6 mA d.c.":
		e.Clause = x.rules.Clause("dc detection").Cited()
		x.directBounds(&e)
	case "protective conductor current":
		x.leakageBounds(&e, at)
	}
	return e
}

// rcdAt returns the RCD that protects a place: of a point, its own first.
func (x *expecter) rcdAt(at string) (works.RCD, bool) {
	for _, p := range x.m.Points {
		if p.Record.Name == at {
			own, ok := p.OwnRCD()
			all := p.RCDs()
			if !ok && len(all) > 0 {
				own, ok = all[0], true
			}
			differ, more := false, false
			for _, r := range all {
				differ, more = differ || r.RCD.Delayed != own.RCD.Delayed, more || len(x.m.MoreBehind(r)) > 0
			}
			if differ && more || len(p.NoWay()) > 0 || len(p.UnsettledRCD()) > 0 { // another may be the one that was timed
				own.RCD.Delayed = quantity.Maybe[bool]{}
			}
			return own.RCD, ok
		}
	}
	for _, b := range x.m.Boards {
		if rcd := b.Record.MainSwitch.RCD; b.Record.Name == at && rcd.Residual.IsKnown() {
			return rcd, true
		}
	}
	for _, c := range x.m.Circuits {
		if farEnd(c) == at {
			rcd, ok := c.RCD()
			return rcd, ok
		}
	}
	return works.RCD{}, false
}

// voltageBounds is the lawful range of the supply. Under load the volt drop of
// the circuit comes off it, so that beyond the origin a person judges what lies
// between the two.
func (x *expecter) voltageBounds(e *Expectation) {
	low, _, err := x.rules.Limit("supply voltage low")
	high, _, err2 := x.rules.Limit("supply voltage high")
	nominal, _, err3 := x.rules.Limit("nominal voltage")
	drop, _, err4 := x.rules.Limit("volt drop other public")
	if cmp.Or(err, err2, err3, err4) != nil {
		return
	}
	e.bound(reading.AtMost, amount(quantity.Volts(high)))
	least := amount(quantity.Volts(low))
	if e.At != "supply" {
		b := e.bound(reading.AtLeast, least)
		b.Judge = "below the lawful range of the supply: under load the volt drop of the circuit comes off it"
		b.Next = "read it idle, and at the origin at the same moment"
		least = amount(quantity.Volts(low - drop*nominal))
	}
	e.bound(reading.AtLeast, least)
}

// operatingTime is the band and the limits of an RCD's time at a multiple of IΔn.
func (x *expecter) operatingTime(e *Expectation, rcd works.RCD, times float64) {
	delayed, said := rcd.Delayed.Get()
	shortest, longest, cite, err := x.rules.RCDTime(delayed, times)
	if err != nil {
		return
	}
	if holds, _, _, err := x.rules.RCDTime(true, times); !said && err == nil && holds > 0 {
		defer func() {
			b := e.bound(reading.AtLeast, amount(holds))
			b.Judge = "a time-delayed device holds as long, and it is not said whether this is one"
			b.Next = "read on the device whether it is time-delayed (S), and enter it"
		}()
	}
	e.bound(reading.AtMost, amount(longest))
	if shortest > 0 {
		e.bound(reading.AtLeast, amount(shortest)).Next = "a time-delayed device that opens sooner does not hold back for the one after it: have it looked at"
	}
	e.Low, e.High = amount(shortest), amount(longest)
	e.Parts = []Part{{"operating time at IΔn", amount(longest), cite.String()}}
	e.Means = "a sound 30 mA device usually opens in 15 to 40 ms; slow but within the limit is worth a second look (" + judgement + ")"
}

// tripCurrent is the two sides of the current an RCD opens at.
//
//	opens  at IΔn or before, and not at half of it
//	clause BS EN 61008-1 (from memory)
func (x *expecter) tripCurrent(e *Expectation, rcd works.RCD) {
	rated, ok := rcd.Residual.Get()
	if !ok {
		return
	}
	e.Clause = finding.Clause{Name: "BS EN 61008-1", Document: "BS EN 61008-1"}
	e.bound(reading.AtMost, amount(rated))
	b := e.bound(reading.AtLeast, amount(rated/2))
	b.Judge = "a sound device holds at half its rated current: what leaks already comes on top"
	b.Next = "disconnect what it feeds and read it again; measure the standing leakage"
}

// directBounds is the two sides of the smooth direct current that a detection
// device opens at.
//
//	opens  at 6 mA or before, and not at 3 mA
//	clause IEC 62955 (the lower side from memory)
func (x *expecter) directBounds(e *Expectation) {
	threshold, _, err := x.rules.Limit("dc detection")
	if err != nil {
		return
	}
	e.bound(reading.AtMost, amount(quantity.Amperes(threshold))).Next = "do not use the point: nothing keeps smooth direct current from the RCD ahead; have " +
		"the device put right or fit a Type B RCD"
	b := e.bound(reading.AtLeast, amount(quantity.Amperes(threshold/2)))
	b.Judge = "it opens below half its rated current, where its standard has it hold"
	b.Next = "read it again with the vehicle simulator alone; if it stays, it will open for no reason: have it looked at"
}

// leakageBounds is what may stand in a protective conductor.
//
//	clause BS 7671 531.3.2: at most 30 % of IΔn, so that the RCD does not open for no reason
func (x *expecter) leakageBounds(e *Expectation, at string) {
	share, cite, err := x.rules.Limit("leakage share")
	rcd, ok := x.rcdAt(at)
	rated, known := rcd.Residual.Get()
	if err != nil || !ok || !known {
		return
	}
	e.Clause = cite.Cited()
	b := e.bound(reading.AtMost, amount(quantity.Amperes(share)*rated))
	b.Judge = "more than the share of IΔn that may leak all the time: the RCD may open for no reason"
	b.Next = "find what leaks; share the points among more RCDs"
}

// electrodeBounds is the guidance for an electrode that stays stable, which a
// person judges, and the resistance above which its RCD does not keep the
// touch voltage.
//
//	clause BS 7671 Table 41.5 Note 2; 411.5.3
func (x *expecter) electrodeBounds(e *Expectation, el *works.Electrode) {
	if guide, cite, err := x.rules.Limit("electrode stability"); err == nil {
		b := e.bound(reading.AtMost, amount(quantity.Ohms(guide)))
		b.Judge = "guidance: an electrode above it may not stay stable as the ground dries and freezes"
		b.Next = "weigh a longer or a second electrode; read it again in a dry season"
		e.Parts = append(e.Parts, Part{"guidance for an electrode that stays stable", amount(quantity.Ohms(guide)), cite.String()})
	}
	most := quantity.Ohms(math.Inf(1))
	for _, c := range x.m.Circuits {
		if !x.earths(el, c) {
			continue
		}
		if z, known := c.GreatestZsByRCD().Get(); known {
			most = min(most, z)
		}
	}
	if !math.IsInf(float64(most), 1) {
		e.bound(reading.AtMost, amount(most))
	}
}

// earths reports whether an electrode is what earths a circuit.
func (x *expecter) earths(el *works.Electrode, c *model.Circuit) bool {
	if c.Earthing().Value != trade.TT {
		return false
	}
	if c.Point != nil {
		if own, ok := x.m.OwnElectrode(c.Point); ok {
			return own == el
		}
	}
	return x.m.Job.Supply.Electrode == el.Name && el.Name != ""
}
