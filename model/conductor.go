package model

import (
	"fmt"

	"chargewright/finding"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/trade"
	"chargewright/works"
)

// Temperature is the state a conductor's resistance is wanted at.
type Temperature uint8

// States of a conductor.
const (
	At20        Temperature = iota // 20 °C, as tables are printed
	AtTest                         // the temperature of the day of the test
	AtOperating                    // the highest temperature its insulation allows in normal use
	AtFaultEnd                     // the highest temperature its insulation allows at the end of a fault
)

// Conductor is one conductor of a cable, or a core with its armour beside it.
type Conductor struct {
	Role       standard.Role
	Material   standard.Material
	CSA        quantity.SquareMillimetres
	Resistance quantity.OhmsPerMetreAt20
	PerDegree  float64 // by which it rises, as a share of that at 20 °C
	Reactance  quantity.OhmsPerMetre
	Operating  quantity.Celsius // highest in normal use
	FaultEnd   quantity.Celsius // highest at the end of a fault
	K          float64          // A·s½/mm²
	Citation   standard.Citation
	KCitation  standard.Citation
	Beside     *Conductor    // the armour, where core and armour serve together
	Lacks      finding.Lacks // why it is not known
}

// Known reports whether the conductor's impedance is known.
func (c *Conductor) Known() bool { return len(c.Lacks) == 0 }

// Impedance returns the series impedance of length l of the conductor.
//
//	l     length, in m
//	at    state of the conductor
//	test  temperature of the day, in °C, used for AtTest
//
// Core and armour in parallel are taken as 1/(1/Zcore + 1/Zarmour), each at
// its own temperature: a first estimate for steel, whose reactance differs.
func (c *Conductor) Impedance(l quantity.Metres, at Temperature, test quantity.Celsius) quantity.Impedance {
	t := quantity.Celsius(20)
	switch at {
	case AtTest:
		t = test
	case AtOperating:
		t = c.Operating
	case AtFaultEnd:
		t = c.FaultEnd
	}
	z := complex(float64(c.Resistance.Over(l).By(t, c.PerDegree)), float64(c.Reactance.Over(l)))
	if c.Beside == nil {
		return quantity.Impedance(z)
	}
	beside := complex128(c.Beside.Impedance(l, at, test))
	if z+beside == 0 {
		return 0
	}
	return quantity.Impedance(z * beside / (z + beside))
}

// findLegs settles the legs of the circuit and the conductors of each.
func (c *Circuit) findLegs() {
	for i := range c.Record.Legs {
		l := &Leg{Record: &c.Record.Legs[i], Cable: cableIn(c.Record, i), circuit: c, number: i, thing: c.Record.LegThing(i)}
		c.Legs = append(c.Legs, l)
		l.Line = l.conductor(standard.LineConductor, l.Cable.CSA)
		l.Neutral = l.Line
		if l.Cable.NeutralCSA.IsKnown() {
			l.Neutral = l.conductor(standard.LineConductor, l.Cable.NeutralCSA)
		}
		l.CPC = l.findCPC()
		l.Doubts = finding.Gather(c.model.Doubted(l.thing.Path), c.model.Doubted(c.thing.Path+"/phases"))
		for _, of := range []*Conductor{&l.Line, &l.Neutral, &l.CPC, l.CPC.Beside} {
			if of != nil {
				of.Lacks = finding.Gather(l.Doubts, of.Lacks)
			}
		}
	}
}

// cableIn is the cable that leg k is run in: the circuit's, unless another is
// described.
func cableIn(c *works.Circuit, k int) *works.Cable {
	if own := &c.Legs[k].Cable; *own != (works.Cable{}) {
		return own
	}
	return &c.Cable
}

// NoNeutral is the lack of the csa of the neutral, where the lines do not tell
// it: of singles, and of a large cable of three phases, which is made with a
// smaller one too. The cores of other cables are alike.
func (l *Leg) NoNeutral() finding.Lacks {
	kind, said := l.Cable.Construction.Get()
	large, _, err := l.circuit.model.Rules.Limit("neutral reduced above")
	if !said && !l.Cable.NeutralCSA.IsKnown() {
		return l.CableLack("construction", "construction of the cable, or csa of its neutral", "cable/neutral csa")
	}
	alike := kind != standard.Singles && (kind == standard.FlatTwin || l.circuit.PhaseCount() == 1 || err == nil && float64(l.Cable.CSA.Or(0)) <= large)
	return l.UnlessCable(alike || l.Cable.NeutralCSA.IsKnown(), "neutral csa")
}

// Name returns the leg's name with its circuit's, as findings write it.
func (l *Leg) Name() string { return l.thing.Name }

// Thing returns the leg with its path in the record.
func (l *Leg) Thing() works.Thing { return l.thing }

// In returns the leg as if it were run in another cable; its conductors are
// left as they are.
func (l *Leg) In(cable *works.Cable) *Leg {
	out := *l
	out.Cable = cable
	return &out
}

// ShortName returns the leg's name within its circuit.
func (l *Leg) ShortName() string { return l.circuit.Record.LegName(l.number) }

// MayBeSurrounded reports whether thermal insulation around the cable would
// lower its rating: not in the ground, nor by a method whose rating already
// allows for the insulation it is named for.
func (l *Leg) MayBeSurrounded() bool {
	m, ok := l.Record.Method.Get()
	return ok && !m.Buried() && !m.InInsulation()
}

// cableOf is the thing whose cable the leg is run in: its circuit, or itself.
func (l *Leg) cableOf() works.Thing {
	if l.Cable == &l.circuit.Record.Cable {
		return l.circuit.thing
	}
	return l.thing
}

// CableLack is a fact of the cable that is not known.
func (l *Leg) CableLack(field, what string, or ...string) finding.Lacks {
	return l.cableOf().Lack("cable/"+field, what, or...)
}

// UnlessCable is a fact of the cable, named as its field is, unless it is known.
func (l *Leg) UnlessCable(known bool, field string) finding.Lacks {
	if known {
		return nil
	}
	return l.CableLack(field, field+" of the cable")
}

// NoMaterial is the lack of what the conductors are made of.
func (l *Leg) NoMaterial() finding.Lacks {
	if l.Cable.Material.IsKnown() {
		return nil
	}
	return l.CableLack("material", "material of the conductors, copper or aluminium")
}

// NoCPCMaterial is the lack of what a cpc is made of that is no part of the cable.
func (l *Leg) NoCPCMaterial() finding.Lacks {
	if l.Cable.CPCMaterial.IsKnown() {
		return nil
	}
	return l.CableLack("cpc material", "material of the separate cpc, copper or aluminium")
}

// Beyond is the lack of a row for the leg's cable in a table.
func (l *Leg) Beyond(err error) finding.Lacks {
	return finding.Lacks{{Path: l.cableOf().Path + "/cable/csa", Or: []string{l.thing.Path + "/method"}, Of: l.thing.Name, What: err.Error()}}
}

// unknown is a conductor of which something is lacking.
func unknown(role standard.Role, lacks finding.Lacks) Conductor {
	return Conductor{Role: role, Lacks: lacks}
}

func (l *Leg) findCPC() Conductor {
	construction, _ := l.Cable.Construction.Get()
	kind, stated := l.Cable.CPC.Get()
	if !stated {
		if construction != standard.FlatTwin {
			return unknown(standard.CPCInCable, l.CableLack("cpc", "what serves as cpc", "cable/construction"))
		}
		kind = trade.CPCCore
	}
	switch kind {
	case trade.CPCArmour:
		return l.armour()
	case trade.CPCCoreAndArmour:
		core, armour := l.core(), l.armour()
		core.Beside, core.Lacks = &armour, finding.Gather(armour.Lacks, core.Lacks)
		return core
	case trade.CPCSeparate:
		if !l.Cable.CPCCSA.IsKnown() {
			return unknown(standard.CPCSeparate, l.CableLack("cpc csa", "csa of the separate cpc"))
		}
		return l.conductor(standard.CPCSeparate, l.Cable.CPCCSA)
	default:
		return l.core()
	}
}

// core returns the cpc that is a core of the cable, or bunched with it.
func (l *Leg) core() Conductor {
	csa := l.Cable.CPCCSA
	if !csa.IsKnown() {
		construction, said := l.Cable.Construction.Get()
		line, known := l.Cable.CSA.Get()
		switch {
		case !said:
			return unknown(standard.CPCInCable, l.UnlessCable(false, "construction"))
		case construction == standard.FlatTwin && known:
			s, _, err := l.circuit.model.Rules.FlatTwinCPC(line)
			if err != nil {
				return unknown(standard.CPCInCable, l.CableLack("cpc csa", fmt.Sprintf("csa of the cpc (%v)", err)))
			}
			csa = quantity.Known(s)
		case construction == standard.Singles:
			return unknown(standard.CPCInCable, l.CableLack("cpc csa", "csa of the cpc"))
		default: // the cores of a multicore or armoured cable are alike
			csa = l.Cable.CSA
		}
	}
	return l.conductor(standard.CPCInCable, csa)
}

func (l *Leg) armour() Conductor {
	a := Conductor{Role: standard.ArmourAsCPC, Material: standard.Steel}
	if a.Lacks = l.NoMaterial(); len(a.Lacks) > 0 {
		return a
	}
	if a.Lacks = l.UnlessCable(l.Cable.Construction.IsKnown(), "construction"); len(a.Lacks) > 0 {
		return a
	}
	csa, known := l.Cable.CSA.Get()
	cores, counted := l.Cable.Cores.Get()
	switch {
	case !known:
		a.Lacks = l.CableLack("csa", "csa of the cable")
		return a
	case !counted:
		a.Lacks = l.CableLack("cores", "number of cores, which settles the armour")
		return a
	}
	data, cite, err := l.circuit.model.Rules.Armour(l.Cable.Material.Or(""), l.Cable.Insulation.Or(""), cores, csa)
	if err != nil {
		a.Lacks = l.CableLack("cores", fmt.Sprintf("armour of the cable (%v)", err), "cable/csa", "cable/material", "cable/insulation")
		return a
	}
	a.CSA, a.Resistance, a.Citation = data.Area, data.Resistance, cite
	l.settleThermal(&a)
	return a
}

// sizeOf is the field that gives the csa of a conductor.
func sizeOf(role standard.Role) string {
	if role == standard.CPCSeparate {
		return "cpc csa"
	}
	return "csa"
}

// materialOf is the fact that gives the material of a conductor.
func materialOf(role standard.Role) string {
	if role == standard.CPCSeparate {
		return "cable/cpc material"
	}
	return "cable/material"
}

// conductor returns a copper or aluminium conductor of the cable by its csa.
func (l *Leg) conductor(role standard.Role, csa quantity.Maybe[quantity.SquareMillimetres]) Conductor {
	m := l.circuit.model
	out := Conductor{Role: role, Material: l.Cable.Material.Or(""), Lacks: l.NoMaterial()}
	if role == standard.CPCSeparate {
		out.Material, out.Lacks = l.Cable.CPCMaterial.Or(""), l.NoCPCMaterial()
	}
	if len(out.Lacks) > 0 {
		return out
	}
	s, known := csa.Get()
	if !known {
		out.Lacks = l.CableLack(sizeOf(role), "csa of the cable")
		return out
	}
	r, cite, err := m.Rules.Resistance(out.Material, standard.Stranded, s)
	if err != nil {
		out.Lacks = l.CableLack(sizeOf(role), fmt.Sprintf("conductor (%v)", err), materialOf(role))
		return out
	}
	out.CSA, out.Resistance, out.Citation = s, r, cite
	construction, said := l.Cable.Construction.Get()
	x, _, err := m.Rules.Reactance(construction, l.Cable.Insulation.Or(""), l.Record.Method.Or(standard.MethodC), s)
	switch {
	case err == nil:
		out.Reactance = x
	case !said:
		out.Lacks = l.UnlessCable(false, "construction")
		return out
	case l.Cable.Insulation.IsKnown():
		out.Lacks = l.Beyond(err)
		return out
	}
	l.settleThermal(&out)
	return out
}

// settleThermal fills in the temperatures and k of a conductor from the
// insulation around it.
func (l *Leg) settleThermal(out *Conductor) {
	insulation, ok := l.Cable.Insulation.Get()
	if !ok {
		out.Lacks = l.CableLack("insulation", "insulation of the cable")
		return
	}
	rules := l.circuit.model.Rules
	initial, final, _, err := rules.PrincipalTemperatures(insulation, out.Role)
	if err != nil {
		out.Lacks = l.CableLack("insulation", fmt.Sprintf("temperatures of the conductor (%v)", err))
		return
	}
	out.Operating, out.FaultEnd = initial, final
	if out.PerDegree, _, err = rules.TemperatureCoefficient(out.Material); err != nil {
		out.Lacks = finding.Cannot(err.Error())
	}
	if k, cite, err := rules.K(out.Material, insulation, out.Role); err == nil {
		out.K, out.KCitation = k, cite
	}
}

// NoLegs is the lack of a circuit whose run is not described.
func (c *Circuit) NoLegs() finding.Lacks {
	return c.thing.Unless(len(c.Legs) > 0, "legs", "its legs, with their lengths")
}

// Length returns the length of the circuit over all its legs.
func (c *Circuit) Length() Answer[quantity.Metres] {
	if len(c.Legs) == 0 {
		return lacking[quantity.Metres](c.NoLegs())
	}
	var sum quantity.Metres
	for _, leg := range c.Legs {
		l, ok := leg.Record.Length.Get()
		if !ok {
			return lacking[quantity.Metres](leg.thing.Lack("length", "length"))
		}
		sum += l
	}
	return Answer[quantity.Metres]{Value: sum}
}

// conductorOf picks one conductor of a leg.
type conductorOf func(*Leg) *Conductor

func line(l *Leg) *Conductor    { return &l.Line }
func neutral(l *Leg) *Conductor { return &l.Neutral }
func cpc(l *Leg) *Conductor     { return &l.CPC }

// along returns the series impedance of one conductor over all legs.
func (c *Circuit) along(pick conductorOf, at Temperature) Answer[quantity.Impedance] {
	out := lacking[quantity.Impedance](c.Length().Lacks)
	t := c.model.TestTemperature()
	for _, leg := range c.Legs {
		conductor := pick(leg)
		if !conductor.Known() {
			out.Lacks = finding.Gather(out.Lacks, conductor.Lacks)
			continue
		}
		out.Value += conductor.Impedance(leg.Record.Length.Or(0), at, t)
		out.Cite = conductor.Citation
	}
	return out
}

// LengthKnown is how the length of the leg is known.
func (l *Leg) LengthKnown() quantity.Maybe[trade.HowKnown] {
	if l.circuit.model.Job.IsAssumed(l.thing.Path + "/length") {
		return quantity.Known(trade.Assumed)
	}
	return l.Record.LengthKnown
}
