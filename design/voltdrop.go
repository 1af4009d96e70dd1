package design

// Volt drop from the origin to each point of use (BS 7671 525, Appendix 4
// section 6 and Table 4Ab).

import (
	"fmt"
	"math"
	"strings"

	"chargewright/finding"
	"chargewright/model"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/trade"
)

// Drop is the volt drop of one circuit, line to neutral.
type Drop struct {
	Volts     quantity.Volts // by the table
	Corrected quantity.Volts // with conductors as warm as the load makes them
	Why       finding.Text
	Citations []standard.Citation
	Lacks     finding.Lacks
}

// CircuitDrop returns the volt drop line to neutral of circuit c that a load
// on line sees, by the tables, with the design currents flowing.
//
//	formula  ΔU = (mV/A/m) × Ib × L / 1000; a three-phase column gives line to
//	         line volts, so it is divided by √3
//	clause   BS 7671 Appendix 4 section 6.1
//
// The table knows balanced loads only: what an unbalanced neutral adds is the
// network's to say.
//
// Above 16 mm² the column z is used, as the table directs where the load's
// power factor is not known.
func CircuitDrop(m *model.Model, c *model.Circuit, line int) Drop {
	var d Drop
	ib := c.DesignCurrents()
	phases := c.PhaseCount()
	d.Lacks = finding.Gather(ib.Lacks, c.Thing().Unless(phases > 0, "phases", "phases"), c.NoLegs())
	if len(d.Lacks) > 0 {
		return d
	}
	type run struct {
		column  float64
		current quantity.Amperes
		length  quantity.Metres
	}
	runs := make([]run, 0, len(c.Legs))
	for _, leg := range c.Legs {
		tabulated, l := legColumn(m, leg, phases), leg.Record.Length.Or(0)
		if !tabulated.Known() {
			d.Lacks = append(d.Lacks, tabulated.Lacks...)
			continue
		}
		column := tabulated.Value
		current := ib.Phase[line]
		if phases == 1 {
			current = ib.Greatest()
		}
		perAmpereMetre := column.Z
		volts := perAmpereMetre / 1000 * float64(current) * float64(l)
		if phases == 3 {
			volts /= math.Sqrt(3)
		}
		d.Volts += quantity.Volts(volts)
		d.Corrected += quantity.Volts(volts * loadFactor(m, c, leg, column, current))
		d.Citations = append(d.Citations, tabulated.Cite)
		runs = append(runs, run{perAmpereMetre, current, l})
	}
	volts := d.Volts
	d.Why = func() string {
		var lines []string
		for _, r := range runs {
			lines = append(lines, fmt.Sprintf("%.3g mV/A/m × %v × %v", r.column, r.current, r.length))
		}
		return fmt.Sprintf("%s: %s = %v", c.Name(), strings.Join(lines, " + "), volts)
	}
	return d
}

// legColumn returns the tabulated volt drop of the cable of a leg whose length
// is known.
func legColumn(m *model.Model, leg *model.Leg, phases int) model.Answer[standard.VoltDrop] {
	cable := leg.Cable
	out := model.Answer[standard.VoltDrop]{Lacks: finding.Gather(leg.Doubts, leg.UnlessCable(cable.Construction.IsKnown(), "construction"),
		leg.UnlessCable(cable.Insulation.IsKnown(), "insulation"), leg.UnlessCable(cable.CSA.IsKnown(), "csa"), leg.NoMaterial(),
		leg.Thing().Unless(leg.Record.Method.IsKnown(), "method", "installation method"),
		leg.Thing().Unless(leg.Record.Length.IsKnown(), "length", "length"))}
	if !out.Known() {
		return out
	}
	var err error
	out.Value, out.Cite, err = m.Rules.VoltDrop(cable.Material.Or(""), cable.Construction.Or(""), cable.Insulation.Or(""),
		leg.Record.Method.Or(""), phases, cable.CSA.Or(0))
	if err != nil {
		out.Lacks = leg.Beyond(err)
	}
	return out
}

// loadFactor returns what a tabulated volt drop is multiplied by because the
// load does not bring the conductors to their full operating temperature.
//
//	formula  Ct = [230 + tp − (Ca²Cg² − Ib²/It²)(tp − 30)] / (230 + tp),
//	         on the resistive part only
//	clause   BS 7671 Appendix 4 section 6.1 (from memory; a trade text gives
//	         the same symbols)
//
// It applies in air at 30 °C and above and not behind a semi-enclosed fuse;
// elsewhere the factor is 1, which is never on the low side.
func loadFactor(m *model.Model, c *model.Circuit, leg *model.Leg, column standard.VoltDrop, ib quantity.Amperes) float64 {
	if t, ok := leg.Record.Ambient.Get(); !ok || t < 30 || leg.Record.Method.Or("").Buried() || c.Record.Device.Type.Or("") == standard.FuseBS3036 {
		return 1
	}
	rating := RateLeg(m, c, leg)
	insulation, ok := leg.Cable.Insulation.Get()
	if !ok || len(rating.Lacks) > 0 || rating.Tabulated <= 0 {
		return 1
	}
	tp := 70.0
	if ratingInsulation(c, insulation) == standard.Thermosetting90 {
		tp = 90
	}
	squared := 1.0
	for _, f := range rating.Factors {
		if f.Symbol == "Ca" || f.Symbol == "Cg" {
			squared *= f.Value * f.Value
		}
	}
	share := float64(ib / rating.Tabulated)
	ct := (230 + tp - (squared-share*share)*(tp-30)) / (230 + tp)
	if !(ct > 0) || column.Z == 0 {
		return 1
	}
	return math.Hypot(column.R*ct, column.X) / math.Hypot(column.R, column.X)
}

// PathDrop returns the volt drop line to neutral from the origin to the far
// end of c: its own and that of every circuit ahead of it, on the line where
// the sum is greatest.
func PathDrop(m *model.Model, c *model.Circuit) Drop {
	if c.PhaseCount() != 3 {
		return pathDrop(m, c, model.LineNumber(c.Lines()))
	}
	worst := pathDrop(m, c, 0)
	for line := 1; line < 3; line++ {
		if d := pathDrop(m, c, line); d.Volts > worst.Volts {
			worst = d
		}
	}
	return worst
}

func pathDrop(m *model.Model, c *model.Circuit, line int) Drop {
	sum := Drop{Lacks: c.NoOrigin()}
	for _, part := range c.Path() {
		d := CircuitDrop(m, part, line)
		sum.Volts += d.Volts
		sum.Corrected += d.Corrected
		sum.Citations = append(sum.Citations, d.Citations...)
		sum.Lacks = append(sum.Lacks, d.Lacks...)
		sum.Why = sum.Why.Then(d.Why)
	}
	return sum
}

// voltDrop checks the drop from the origin to the end of a final circuit.
func (k *checker) voltDrop(c *model.Circuit) {
	if c.IsDistribution() || c.Load != nil && len(c.Record.Legs) == 0 {
		return
	}
	f := k.start("volt drop", "volt drop", c.Thing(), "volt drop from the origin to the point of use")
	use := "other"
	if c.Load != nil && c.Load.Kind.Or("") == trade.Lighting {
		use = "lighting"
	}
	network := "public"
	if k.m.Job.Supply.Private.Or(false) {
		network = "private"
	}
	allowed, u0, d := limit[float64](k, "volt drop "+use+" "+network), k.m.U0(), PathDrop(k.m, c)
	if lacks := finding.Gather(d.Lacks, allowed.Lacks, u0.Lacks); len(lacks) > 0 {
		k.add(notKnown(f, lacks))
		return
	}
	most := quantity.Volts(allowed.Value) * u0.Value
	f.Source = func() []finding.Source {
		return standard.Sources(append([]standard.Citation{k.rules.Clause("volt drop"), allowed.Cite}, d.Citations...)...).List()
	}
	worst := d.Volts
	byNetwork, solved := c.Drop()
	if solved {
		worst = max(worst, byNetwork) // each is on the high side somewhere
	}
	f = atMost(f, worst, most)
	f.Why = say("%.2f %% of %v; %s", 100*float64(worst/u0.Value), u0.Value, d.Why)
	if d.Corrected < d.Volts*(1-1e-6) {
		f.Why = f.Why.Then(say("%v with the conductors as warm as this load makes them", d.Corrected))
	}
	if solved {
		f.Why = f.Why.Then(func() string {
			return model.Difference(byNetwork, d.Volts, "the table rounds up, takes the load as balanced and leaves out the tails")
		})
	}
	if f.Verdict == finding.Fails {
		f.Next = dropRemedy(k.m, c, d, most)
	}
	k.add(f)
}

// dropRemedy says how far the cable may run, and that a larger csa helps.
func dropRemedy(m *model.Model, c *model.Circuit, d Drop, allowed quantity.Volts) string {
	own := CircuitDrop(m, c, model.LineNumber(c.Lines()))
	length, known := c.Length().Get()
	room := allowed - (d.Volts - own.Volts)
	if known && own.Volts > 0 && room > 0 {
		return fmt.Sprintf("take a larger csa: this cable may run %v at this current, and runs %v",
			quantity.Metres(math.Floor(float64(length)*float64(room/own.Volts)*10)/10), length)
	}
	return "take a larger csa, here or in the circuits ahead"
}
