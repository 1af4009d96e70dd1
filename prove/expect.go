package prove

import (
	"fmt"
	"math"

	"chargewright/finding"
	"chargewright/job"
	"chargewright/model"
	"chargewright/quantity"
	"chargewright/standard"
)

// Expect predicts every reading of the test sequence, in the order the tests
// are made: dead before live, the origin before the far ends.
//
// A band is the middle value with the root of the sum of the squares of its
// parts on either side. Where an input is missing the expectation names it and
// has no band; the limit is given all the same where it does not depend on it.
func Expect(m *model.Model) []Expectation {
	x := &expecter{m: m, rules: m.Rules}
	x.bonding()
	for _, c := range m.Circuits {
		x.continuity(c)
	}
	for _, c := range m.Circuits {
		x.insulation(c)
	}
	for _, c := range m.Circuits {
		x.polarity(c)
	}
	x.electrodes()
	x.origin()
	for _, c := range m.Circuits {
		x.loop(c)
	}
	x.faultCurrents()
	for _, p := range m.Points {
		x.residual(p)
	}
	for _, p := range m.Points {
		x.pilot(p)
		x.pointVoltage(p)
	}
	x.taken()
	return x.out
}

type expecter struct {
	m     *model.Model
	rules *standard.Rulebook
	out   []Expectation
}

func (x *expecter) add(e Expectation) {
	e.Order = len(x.out) + 1
	x.out = append(x.out, e)
}

// start fills in what the clause gives.
func (x *expecter) start(reading, at, stage, clause string) Expectation {
	c := x.rules.Clause(clause)
	e := Expectation{Reading: reading, At: at, Stage: stage, Clause: c.Clause()}
	if e.Clause == "" {
		e.Clause = c.Source()
	}
	return e
}

func amount[Q quantity.Quantity](q Q) finding.Amount { return finding.Of(float64(q), q.Measure()) }

// spread is one part of a band: how far it may carry the reading down and up.
type spread struct {
	what     string
	down, up float64
	source   string
}

// band settles low, mid and high from the middle value and its spreads.
func band[Q quantity.Quantity](e *Expectation, mid Q, spreads ...spread) {
	var down, up float64
	for _, s := range spreads {
		down += s.down * s.down
		up += s.up * s.up
		if s.down != 0 || s.up != 0 {
			e.Parts = append(e.Parts, Part{What: s.what, Value: amount(Q(max(s.down, s.up))), Source: s.source})
		}
	}
	e.Low = amount(Q(max(0, float64(mid)-math.Sqrt(down))))
	e.Mid = amount(mid)
	e.High = amount(mid + Q(math.Sqrt(up)))
}

// share is a spread of the same share of v both ways.
func share(what string, v, of float64, source string) spread {
	return spread{what, v * of, v * of, source}
}

const judgement = "engineering judgement, no published source"

// lengthShare is how far a length may be out, by how it is known.
var lengthShare = map[job.HowKnown]float64{job.Measured: 0.02, job.Declared: 0.05, job.Calculated: 0.05, job.Assumed: 0.15}

// lengthSpread returns how far the circuit's length may be out, as a share.
func lengthSpread(c *model.Circuit) (float64, string) {
	var out, whole float64
	for i := range c.Record.Legs {
		leg := &c.Record.Legs[i]
		l := leg.Length.Or(0)
		known, said := leg.LengthKnown.Get()
		of := 0.10
		if said {
			of = lengthShare[known]
		}
		out += of * float64(l)
		whole += float64(l)
	}
	if whole == 0 {
		return 0, ""
	}
	return out / whole, fmt.Sprintf("length %v ± %.0f %%", quantity.Metres(whole), 100*out/whole)
}

// instrument returns the spread that an instrument's standard allows it at v.
func (x *expecter) instrument(kind string, v float64) spread {
	u, cite, err := x.rules.InstrumentUncertainty(kind)
	if err != nil {
		return spread{}
	}
	by := u.Relative*math.Abs(v) + u.Digits*u.Resolution
	return spread{"instrument", by, by, cite.String()}
}

// meter is what a sound instrument in its calibration may be out by; the
// greatest its standard allows is 30 % of the reading, which would hide every
// fault worth finding.
func meter(v, resolution float64) spread {
	by := 0.03*v + 2*resolution
	return spread{"instrument, 3 % and two digits", by, by, judgement + "; BS EN 61557 allows up to 30 %"}
}

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

// bonding predicts the continuity of earthing and bonding conductors.
func (x *expecter) bonding() {
	s := &x.m.Job.Supply
	run := func(at string, csa quantity.Maybe[quantity.SquareMillimetres], length quantity.Maybe[quantity.Metres]) {
		e := x.start("continuity", at, "dead", "continuity")
		e.How = "low-resistance ohmmeter, leads nulled, one end disconnected so that no parallel path hides a break"
		e.Caution = "isolated and proved dead; reconnect at once"
		size, ok := csa.Get()
		l, known := length.Get()
		if !ok || !known {
			if !ok {
				e.Missing = append(e.Missing, at+": csa")
			}
			if !known {
				e.Missing = append(e.Missing, at+": length")
			}
			x.add(e)
			return
		}
		perMetre, cite, err := x.rules.Resistance(standard.Copper, standard.Stranded, size)
		if err != nil {
			e.Missing = []string{at + ": " + err.Error()}
			x.add(e)
			return
		}
		r := perMetre.Over(l).At(x.temperature())
		e.Parts = append(e.Parts, Part{"conductor by the table", amount(r), cite.String()})
		joint, jointCite, _ := x.rules.Limit("bonding continuity")
		band(&e, r, share("length", float64(r), 0.1, judgement), spread{"two connections", 0, joint, jointCite.String()}, meter(float64(r), 0.01))
		x.add(e)
	}
	run("earthing conductor", s.EarthingConductor.CSA, s.EarthingConductor.Length)
	for _, b := range s.Bonding {
		run("bonding to "+b.To, b.CSA, b.Length)
	}
}

func (x *expecter) temperature() quantity.Celsius { return x.m.TestTemperature() }

// farEnd names where a circuit is tested: the board, point or load it ends at.
func farEnd(c *model.Circuit) string {
	if c.Record.To != "" {
		return c.Record.To
	}
	return c.Record.Name
}

// continuity predicts R1+R2, R2 and R1+Rn of a circuit alone.
func (x *expecter) continuity(c *model.Circuit) {
	for _, r := range []struct {
		reading, how string
		loop         model.Loop
	}{
		{"R1+R2", "low-resistance ohmmeter, leads nulled: link line and cpc at the board, read between them at the far end; remove the link", c.R1R2(model.AtTest)},
		{"R2", "low-resistance ohmmeter with a long lead, nulled: from the board's earth bar to the far end", c.R2(model.AtTest)},
		{"R1+Rn", "low-resistance ohmmeter, leads nulled: link line and neutral at the board, read between them at the far end; remove the link", c.R1Rn(model.AtTest)},
	} {
		e := x.start(r.reading, farEnd(c), "dead", "continuity")
		e.How = r.how
		e.Caution = "isolated, locked off and proved dead; the contactor of the point is open when dead, so read at its supply terminals"
		e.Missing = r.loop.Gaps
		if e.Known() {
			ohms := quantity.Ohms(real(r.loop.Parts[0].Impedance)) // an ohmmeter reads d.c.
			x.coldResistance(&e, c, ohms, r.loop.Parts[0].Citation)
			if l, gap := c.Length(); gap == "" && ohms > 0 && l > 0 {
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
			e.Missing = []string{err.Error()}
		} else {
			e.Limit, e.LimitIs = amount(quantity.Ohms(least)), "at least"
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
		r, how, cite, gap := x.m.ElectrodeResistance(el)
		if guide, guideCite, err := x.rules.Limit("electrode stability"); err == nil {
			e.Limit, e.LimitIs = amount(quantity.Ohms(guide)), "at most"
			e.Parts = append(e.Parts, Part{"guidance for an electrode that stays stable", amount(quantity.Ohms(guide)), guideCite.String()})
		}
		if gap != "" {
			e.Missing = []string{gap}
			x.add(e)
			continue
		}
		of := 0.5 // the soil is the least known of all
		if how == job.Measured {
			of = 0.1
		}
		band(&e, r, share("soil and season", float64(r), of, judgement+" "+cite.String()), x.instrument("electrode", float64(r)))
		x.add(e)
	}
}

// origin predicts Ze.
func (x *expecter) origin() {
	e := x.start("Ze", "supply", "live", "loop test")
	e.How = "two-wire high-current loop test between line and the means of earthing"
	e.Caution = "main switch off and locked; earthing conductor disconnected from the main earthing terminal for the test; reconnect it before anything is energised; live working: shrouded probes, one trained person in control"
	s := &x.m.Job.Supply
	if system, ok := s.Earthing.Get(); ok && system.IsTN() {
		key := "ze tn-c-s"
		if system == job.TNS {
			key = "ze tn-s"
		}
		if declared, cite, err := x.rules.Limit(key); err == nil {
			e.Limit, e.LimitIs = amount(quantity.Ohms(declared)), "at most"
			e.Parts = append(e.Parts, Part{"usually declared greatest", amount(quantity.Ohms(declared)), cite.String()})
		}
	}
	ze, ok := s.Ze.Value.Get()
	if !ok {
		e.Missing = []string{"supply: Ze"}
		x.add(e)
		return
	}
	e.Parts = append(e.Parts, Part{"Ze, " + s.Ze.KnownBy.String(), amount(ze), ""})
	band(&e, ze, share("the network switched another way", float64(ze), 0.15, judgement), x.meterOrLoop(float64(ze)))
	if u0, gap := x.m.U0(); gap == "" {
		e.Means = fmt.Sprintf("the earth fault current at the origin is about %v", quantity.Amperes(float64(u0)/math.Max(float64(ze), 1e-3)))
	}
	x.add(e)
}

// meterOrLoop is what a sound loop tester may be out by.
func (x *expecter) meterOrLoop(v float64) spread {
	by := 0.05*v + 3*0.01
	return spread{"instrument, 5 % and three digits", by, by, judgement + "; BS EN 61557-3 allows up to 30 %"}
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
	e.Missing = append(e.Missing, loop.Gaps...)
	if !e.Known() {
		x.add(e)
		return
	}
	zs, solved := c.Zs(model.AtTest)
	if !solved {
		zs = loop.Magnitude()
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
	z, cite, gap := c.ColdZsLimit()
	if gap != "" {
		return
	}
	e.Limit, e.LimitIs = amount(z), "at most"
	e.Parts = append(e.Parts, Part{"greatest Zs for a reading taken cold", amount(z), cite.String()})
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
			e.Limit, e.LimitIs = amount(least), "at most"
			e.Parts = append(e.Parts, Part{"least breaking capacity on the board", amount(least), ""})
		}
		fault := x.m.GreatestFault(b)
		e.Missing = fault.Gaps
		if e.Known() {
			i := float64(fault.Current)
			e.Parts = append(e.Parts, Part{fault.Why, amount(fault.Current), ""})
			band(&e, fault.Current, spread{"angle of the source, cable lengths, the network switched another way", 0.35 * i, 0.15 * i, judgement}, share("instrument", i, 0.1, judgement))
		}
		x.add(e)
	}
}

// residual predicts the tests of the RCD that protects a point.
func (x *expecter) residual(p *model.Point) {
	name := p.Record.Name
	own, ok := p.OwnRCD()
	if all := p.RCDs(); !ok && len(all) > 0 {
		own, ok = all[0], true
	}
	e := x.start("RCD time at IΔn", name, "live", "rcd test")
	e.How = "RCD tester at IΔn, a.c., both half-waves; at the outlet through a vehicle-simulator adaptor in state C"
	e.Caution = "loads off, people warned; touch voltage limit 50 V set on the instrument"
	no := x.start("RCD at half IΔn", name, "live", "rcd test")
	no.How, no.Caution = "RCD tester at half IΔn, 2 s", e.Caution
	no.Means = "it must not trip: there is no number"
	if !ok {
		e.Missing = []string{"point " + name + ": the RCD that protects it"}
		no.Missing = e.Missing
	} else if shortest, longest, cite, err := x.rules.RCDTime(own.RCD.Delayed.Or(false), 1); err == nil {
		e.Limit, e.LimitIs = amount(longest), "at most"
		e.Low, e.High = amount(shortest), amount(longest)
		e.Parts = []Part{{"operating time at IΔn", amount(longest), cite.String()}}
		e.Means = "a sound 30 mA device usually opens in 15 to 40 ms; slow but within the limit is worth a second look (" + judgement + ")"
	}
	x.add(e)
	x.add(no)
	if detects, said := p.Record.DCDetection.Get(); said && detects {
		e := x.start("6 mA d.c.", name, "live", "rcd test")
		e.How = "instrument and adaptor made for d.c. ramp tests, at the outlet in state C"
		e.Caution = "live working; vehicle unplugged"
		if threshold, cite, err := x.rules.Limit("dc detection"); err == nil {
			e.Limit, e.LimitIs = amount(quantity.Amperes(threshold)), "at most"
			e.Low, e.High = amount(quantity.Amperes(threshold/2)), amount(quantity.Amperes(threshold))
			e.Parts = []Part{{"it opens at or before 6 mA of smooth d.c.", amount(quantity.Amperes(threshold)), cite.String()}}
		}
		x.add(e)
	}
}

// pilot predicts the control pilot as a vehicle-simulator adaptor shows it.
func (x *expecter) pilot(p *model.Point) {
	name := p.Record.Name
	for _, state := range []string{"A", "B", "C"} {
		e := x.start("pilot voltage in state "+state, name, "live", "pilot")
		e.How = "vehicle-simulator adaptor set to state " + state + "; oscilloscope or adaptor readout of the positive peak"
		e.Caution = "the outlet is live in state C: shrouded terminals only"
		level, cite, err := x.rules.PilotState(state)
		if err != nil {
			e.Missing = []string{err.Error()}
		} else {
			e.Low, e.Mid, e.High = amount(level.Low), amount(level.Nominal), amount(level.High)
			e.Parts = []Part{{"level of state " + state, amount(level.Nominal), cite.String()}}
		}
		x.add(e)
	}
	e := x.start("pilot duty", name, "live", "pilot")
	e.How = "adaptor in state C, no load limiting at work; read the duty of the 1 kHz pilot"
	i := x.m.PointCurrents(p)
	e.Missing = i.Gaps
	if e.Known() {
		duty, cite, err := x.rules.PilotDuty(i.Greatest())
		if err != nil {
			e.Missing = []string{"point " + name + ": " + err.Error()}
		} else {
			e.Parts = []Part{{fmt.Sprintf("advertises %v", i.Greatest()), amount(duty), cite.String()}}
			band(&e, duty, spread{"tolerance of the duty", 1, 1, "IEC 61851-1 Annex A (from memory)"})
			e.Means = fmt.Sprintf("1 %% of duty is 0.6 A up to 51 A; %v here tells the vehicle %v", duty, i.Greatest())
		}
	}
	x.add(e)
}

// pointVoltage predicts the voltage at the outlet, idle.
func (x *expecter) pointVoltage(p *model.Point) {
	e := x.start("voltage line to neutral", p.Record.Name, "live", "supply voltage")
	e.How = "voltmeter at the outlet through the adaptor, point idle"
	e.Caution = "live working"
	low, cite, err := x.rules.Limit("supply voltage low")
	high, _, err2 := x.rules.Limit("supply voltage high")
	if err == nil && err2 == nil {
		e.Low, e.High = amount(quantity.Volts(low)), amount(quantity.Volts(high))
		e.Limit, e.LimitIs = amount(quantity.Volts(high)), "at most"
		e.Parts = []Part{{"lawful range of the supply, from", amount(quantity.Volts(low)), cite.String()}}
	}
	if u0, gap := x.m.U0(); gap == "" {
		e.Mid = amount(u0)
	}
	x.add(e)
}

// taken writes beside each expectation what has been read already, and what
// length a resistance stands for.
func (x *expecter) taken() {
	for i := range x.out {
		e := &x.out[i]
		for _, r := range x.m.Job.Readings {
			if !sameReading(r, e) {
				continue
			}
			e.Taken = r.Value
			if e.Stage == "dead" && e.Known() {
				x.readAsLength(e, r)
			}
		}
	}
}

// sameReading reports whether a reading was taken of what e expects.
func sameReading(r job.Reading, e *Expectation) bool {
	return r.Reading == e.Reading && r.At == e.At
}

// readAsLength says what length of this cable a reading stands for.
func (x *expecter) readAsLength(e *Expectation, r job.Reading) {
	ohms, err := quantity.ParseOhms(r.Value)
	if err != nil || e.Mid.IsZero() {
		return
	}
	for _, c := range x.m.Circuits {
		if l, gap := c.Length(); farEnd(c) == e.At && gap == "" && e.Mid.Number > 0 {
			e.Means += fmt.Sprintf("; %v is %v of it, and %v is recorded", ohms, quantity.Metres(float64(ohms)/e.Mid.Number*float64(l)), l)
		}
	}
}
