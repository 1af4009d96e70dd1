package prove

import (
	"fmt"
	"strings"

	"chargewright/finding"
	"chargewright/model"
	"chargewright/quantity"
	"chargewright/reading"
	"chargewright/standard"
	"chargewright/trade"
	"chargewright/works"
)

// What the dead tests should read.

// coldResistance is the band of a resistance of conductors read at the
// temperature of the day.
func (x *expecter) coldResistance(e *Expectation, c *model.Circuit, r quantity.Ohms, cite standard.Citation) {
	of, text := lengthSpread(c)
	v := float64(r)
	e.Parts = append(e.Parts, Part{What: "conductors by the table, at the temperature of the day", Value: amount(r), Source: cite.String()})
	band(e, r,
		share(text, v, of, judgement),
		spread{"conductors better than the greatest resistance the table allows", 0.05 * v, 0, judgement},
		share("conductors 5 °C warmer or colder than thought", v, 0.02, "BS 7671 Appendix 4: 0.004 per °C"),
		spread{"terminals and contact of the probes", 0, 0.02, judgement},
		meter(v, 0.01))
}

// bondingContinuity is what the reading of a bonding conductor is called.
const bondingContinuity = "continuity"

// bonding predicts the continuity of earthing and bonding conductors.
func (x *expecter) bonding() {
	s := &x.m.Job.Supply
	run := func(of works.Thing, csa quantity.Maybe[quantity.SquareMillimetres], length quantity.Maybe[quantity.Metres]) {
		e := x.start(bondingContinuity, of.Name, "dead", "continuity")
		e.How = "low-resistance ohmmeter, leads nulled, one end disconnected so that no parallel path hides a break"
		e.Caution = "isolated and proved dead; reconnect at once"
		size, ok := csa.Get()
		l, known := length.Get()
		if !ok || !known {
			e.Missing = finding.Gather(of.Unless(ok, "csa", "csa"), of.Unless(known, "length", "length"))
			x.add(e)
			return
		}
		perMetre, cite, err := x.rules.Resistance(standard.Copper, standard.Stranded, size)
		if err != nil {
			e.Missing = of.Lack("csa", err.Error())
			x.add(e)
			return
		}
		r := perMetre.Over(l).At(x.temperature())
		e.Parts = append(e.Parts, Part{"conductor by the table", amount(r), cite.String()})
		joint, jointCite, _ := x.rules.Limit("bonding continuity")
		band(&e, r, share("length", float64(r), 0.1, judgement), spread{"two connections", 0, joint, jointCite.String()}, meter(float64(r), 0.01))
		x.add(e)
	}
	run(works.TheEarthingConductor, s.EarthingConductor.CSA, s.EarthingConductor.Length)
	for _, b := range s.Bonding {
		run(b.Thing(), b.CSA, b.Length)
	}
}

// continuity predicts R1+R2, R2 and R1+Rn of a circuit alone.
func (x *expecter) continuity(c *model.Circuit) {
	for _, r := range []struct {
		reading, how string
		loop         model.Loop
	}{
		{"R1+R2", "low-resistance ohmmeter, leads nulled: link line and cpc at the board, read between them at the far end; remove the link", c.R1R2(model.AtTest)},
		{"R2", "low-resistance ohmmeter with a long lead, nulled: from the board's earth bar to the far end", c.R2(model.AtTest)},
		{"R1+Rn", "low-resistance ohmmeter, leads nulled: link line and neutral at the board, read between them at the far end; remove the link",
			c.R1Rn(model.AtTest)},
	} {
		e := x.start(r.reading, farEnd(c), "dead", "continuity")
		e.How = r.how
		e.Caution = "isolated, locked off and proved dead; the contactor of the point is open when dead, so read at its supply terminals"
		e.Missing = r.loop.Lacks
		if e.Known() {
			ohms := quantity.Ohms(real(r.loop.Parts[0].Impedance)) // an ohmmeter reads d.c.
			if v, ok := x.reads(r.reading, farEnd(c)); ok {
				ohms = quantity.Ohms(v)
			}
			x.coldResistance(&e, c, ohms, r.loop.Parts[0].Citation)
			if l, known := c.Length().Get(); known && ohms > 0 && l > 0 {
				perMetre := float64(ohms) / float64(l)
				e.Means = fmt.Sprintf("%.3g mΩ per metre of this cable: each 0.01 Ω is %v", 1000*perMetre, quantity.Metres(0.01/perMetre))
			}
		}
		x.add(e)
	}
}

// insulation predicts the insulation resistance of a circuit alone.
func (x *expecter) insulation(c *model.Circuit) {
	least, cite, err := x.rules.Limit("insulation least")
	for _, between := range []string{"insulation live to earth", "insulation between live"} {
		e := x.start(between, farEnd(c), "dead", "insulation resistance")
		e.How = "500 V d.c., nothing connected beyond the circuit; surge devices and electronics disconnected, or 250 V where that cannot be done"
		e.Caution = "proved dead; nobody touches the conductors; discharge them after"
		if err != nil {
			e.Missing = finding.Cannot(err.Error())
		} else {
			e.bound(reading.AtLeast, amount(quantity.Ohms(least)))
			e.Low = amount(quantity.Ohms(100e6))
			e.Parts = []Part{{"a new, dry cable reads off the top of most scales: write it as more than", amount(quantity.Ohms(200e6)), judgement},
				{"least allowed", amount(quantity.Ohms(least)), cite.String()}}
			if investigate, _, err := x.rules.Limit("insulation investigate"); err == nil {
				e.Means = fmt.Sprintf("below %v look for the reason, even where it passes", quantity.Ohms(investigate))
			}
		}
		x.add(e)
	}
}

// polarity says what must be seen, which is no number.
func (x *expecter) polarity(c *model.Circuit) {
	e := x.start("polarity", farEnd(c), "dead", "polarity")
	e.How = "with the R1+R2 and R1+Rn links: line ends on line, neutral on neutral; single-pole devices in the line only"
	e.Means = "correct, or not correct: there is no number"
	x.add(e)
}

// electrodes predicts the resistance of every electrode.
func (x *expecter) electrodes() {
	for i := range x.m.Job.Electrodes {
		el := &x.m.Job.Electrodes[i]
		e := x.start("RA", el.Name, "dead", "electrode test")
		e.How = "earth electrode tester, three readings within 5 % of their mean; or loop tester with the electrode alone connected"
		e.Caution = "installation isolated before the electrode is disconnected; never leave it live without its earth"
		if l, known := el.Length.Get(); known {
			e.How = strings.Replace(e.How, ", ", fmt.Sprintf(", its current spike %v away or more, the other at 62 %% of that; ", 10*l), 1)
		}
		ra := x.m.ElectrodeResistance(el)
		x.electrodeBounds(&e, el)
		if e.Missing = ra.Lacks; !ra.Known() {
			x.add(e)
			continue
		}
		of := 0.5 // the soil is the least known of all
		if ra.How == trade.Measured {
			of = 0.1
		}
		band(&e, ra.Value, share("soil and season", float64(ra.Value), of, judgement+" "+ra.Cite.String()), x.instrument("electrode", float64(ra.Value)))
		x.add(e)
	}
}
