package prove

import (
	"fmt"
	"math"
	"slices"

	"chargewright/model"
	"chargewright/quantity"
	"chargewright/reading"
	"chargewright/trade"
	"chargewright/works"
)

// What the live tests should read.

// origin predicts Ze.
func (x *expecter) origin() {
	e := x.start("Ze", "supply", "live", "loop test")
	e.How = "two-wire high-current loop test between line and the means of earthing"
	e.Caution = "main switch off and locked; earthing conductor disconnected from the main earthing terminal for the test; reconnect it before anything is " +
		"energised; live working: shrouded probes, one trained person in control"
	s := &x.m.Job.Supply
	if system, ok := s.Earthing.Get(); ok && system.IsTN() && !s.Private.Or(false) {
		key := "ze tn-c-s"
		if system == trade.TNS {
			key = "ze tn-s"
		}
		if declared, cite, err := x.rules.Limit(key); err == nil {
			e.bound(reading.AtMost, amount(quantity.Ohms(declared)))
			e.Parts = append(e.Parts, Part{"usually declared greatest", amount(quantity.Ohms(declared)), cite.String()})
		}
	}
	for _, d := range x.m.Doubts { // but for a reading of it, which is held against what is expected
		if !d.Ask && d.Key != "Ze read" && slices.Contains(d.Paths, "supply/Ze") {
			e.Missing = d.Lacks()
			x.add(e)
			return
		}
	}
	ze, ok := s.Ze.Value.Get()
	if !ok {
		e.Missing = works.TheSupply.Lack("Ze", "Ze")
		x.add(e)
		return
	}
	e.Parts = append(e.Parts, Part{"Ze, " + s.Ze.KnownBy.String(), amount(ze), ""})
	band(&e, ze, share("the network switched another way", float64(ze), 0.15, judgement), x.meterOrLoop(float64(ze)))
	if u0, known := x.m.U0().Get(); known {
		e.Means = fmt.Sprintf("the earth fault current at the origin is about %v", quantity.Amperes(float64(u0)/math.Max(float64(ze), 1e-3)))
	}
	x.add(e)
}

// loop predicts Zs at the far end of a circuit and gives the limit for a
// reading taken cold.
func (x *expecter) loop(c *model.Circuit) {
	e := x.start("Zs", farEnd(c), "live", "loop test")
	e.How = "loop tester; no-trip function (15 mA or less) behind an RCD, which can read up to 0.5 Ω high"
	if c.Point != nil {
		e.How += "; at the outlet through a vehicle-simulator adaptor in state C"
	}
	e.Caution = "all dead tests passed; earthing and bonding connected; live working"
	x.limitZs(&e, c)
	loop := x.m.EarthLoop(c, model.AtTest)
	e.Missing = loop.Lacks
	if !e.Known() {
		x.add(e)
		return
	}
	zs := loop.Magnitude()
	if v, ok := x.reads("Zs", farEnd(c)); ok {
		zs = quantity.Ohms(v)
	}
	mid := float64(zs)
	var spreads []spread
	for i, p := range loop.Parts {
		e.Parts = append(e.Parts, Part{p.What, amount(p.Impedance.Magnitude()), p.Citation.String()})
		v := float64(p.Impedance.Magnitude())
		if i == 0 {
			spreads = append(spreads, share(p.What+" on another day", v, 0.15, judgement))
			continue
		}
		spreads = append(spreads, share(p.What+": length and temperature", v, 0.08, judgement),
			spread{"parallel paths through bonding and other metal lower it", 0.3 * v, 0, judgement})
	}
	spreads = append(spreads, x.meterOrLoop(mid))
	band(&e, zs, spreads...)
	x.add(e)
}

// limitZs sets the limit for a reading of Zs.
func (x *expecter) limitZs(e *Expectation, c *model.Circuit) {
	z := c.ColdZsLimit()
	if !z.Known() {
		return
	}
	e.bound(reading.AtMost, amount(z.Value))
	if least := leastZs(c); least > 0 && x.m.Job.Supply.Ze.KnownBy.Or("") == trade.Measured {
		b := e.bound(reading.AtLeast, amount(least))
		b.Judge = "less than the line conductors alone have, from the source to here: no return path can make that good"
		b.Next = "read it again, and Ze too, with the leads nulled"
	}
	e.Parts = append(e.Parts, Part{"greatest Zs for a reading taken cold", amount(z.Value), z.Cite.String()})
}

// leastZs is what line conductors have from the source to the far end, less what
// a cable may be shorter and a meter out by: whatever the return is, a loop has
// no less. Nothing where it is not known.
func leastZs(c *model.Circuit) quantity.Ohms {
	const less = 0.7 // engineering judgement, no published source
	sum := c.Supply().Line.Ohms
	for _, part := range c.Path() {
		r1 := part.R1(model.At20)
		if !r1.Known() {
			return 0
		}
		sum += r1.Magnitude()
	}
	return less * sum
}

// faultCurrents predicts the prospective fault current at every board.
func (x *expecter) faultCurrents() {
	for _, b := range x.m.Boards {
		e := x.start("Ipf", b.Record.Name, "live", "prospective fault")
		e.How = "loop tester, line to neutral and line to earth, earthing and bonding connected; take the greater; three-phase boards: twice the line-neutral value"
		e.Caution = "live working"
		least := quantity.Amperes(math.Inf(1))
		for _, c := range b.Circuits {
			if icn, ok := c.Record.Device.BreakingCapacity.Get(); ok {
				least = min(least, icn)
			}
		}
		if !math.IsInf(float64(least), 1) {
			e.bound(reading.AtMost, amount(least))
			e.Parts = append(e.Parts, Part{"least breaking capacity on the board", amount(least), ""})
		}
		fault := x.m.GreatestFault(b)
		e.Missing = fault.Lacks
		if e.Known() {
			i := float64(fault.Current)
			e.Parts = append(e.Parts, Part{fault.Why, amount(fault.Current), ""})
			band(&e, fault.Current, spread{"angle of the source, cable lengths, the network switched another way", 0.35 * i, 0.15 * i, judgement},
				share("instrument", i, 0.1, judgement))
		}
		x.add(e)
	}
}
