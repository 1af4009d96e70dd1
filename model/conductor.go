package model

import (
	"fmt"

	"chargewright/job"
	"chargewright/quantity"
	"chargewright/standard"
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
	Reactance  quantity.OhmsPerMetre
	Operating  quantity.Celsius // highest in normal use
	FaultEnd   quantity.Celsius // highest at the end of a fault
	K          float64          // A·s½/mm²
	Citation   standard.Citation
	KCitation  standard.Citation
	Beside     *Conductor // the armour, where core and armour serve together
	Gap        string     // why it is not known; empty when it is
}

// Known reports whether the conductor's impedance is known.
func (c *Conductor) Known() bool { return c.Gap == "" }

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
	z := complex(float64(c.Resistance.Over(l).At(t)), float64(c.Reactance.Over(l)))
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
		l := &Leg{Record: &c.Record.Legs[i], Cable: &c.Record.Cable, circuit: c, short: fmt.Sprintf("leg %d", i+1)}
		if l.Record.Name != "" {
			l.short += " (" + l.Record.Name + ")"
		}
		l.name = c.name + ", " + l.short
		if own := &l.Record.Cable; own.Construction.IsKnown() || own.CSA.IsKnown() {
			l.Cable = own
		}
		l.Line = l.conductor(standard.LineConductor, l.Cable.CSA)
		l.Neutral = l.Line
		if l.Cable.NeutralCSA.IsKnown() {
			l.Neutral = l.conductor(standard.LineConductor, l.Cable.NeutralCSA)
		}
		l.CPC = l.findCPC()
		c.Legs = append(c.Legs, l)
	}
}

// Name returns the leg's name with its circuit's, as findings write it.
func (l *Leg) Name() string { return l.name }

// ShortName returns the leg's name within its circuit.
func (l *Leg) ShortName() string { return l.short }

// MayBeSurrounded reports whether thermal insulation around the cable would
// lower its rating: not in the ground, nor by a method whose rating already
// allows for the insulation it is named for.
func (l *Leg) MayBeSurrounded() bool {
	switch m, ok := l.Record.Method.Get(); m {
	case standard.MethodA, standard.Method100, standard.Method101, standard.Method102, standard.Method103:
		return false
	default:
		return ok && !m.Buried()
	}
}

// cableName says whose cable a gap is about.
func (l *Leg) cableName() string {
	if l.Cable == &l.circuit.Record.Cable {
		return l.circuit.Name()
	}
	return l.Name()
}

func (l *Leg) findCPC() Conductor {
	construction, _ := l.Cable.Construction.Get()
	kind, stated := l.Cable.CPC.Get()
	if !stated {
		if construction != standard.FlatTwin && construction != standard.Multicore {
			return Conductor{Role: standard.CPCInCable, Gap: l.cableName() + ": what serves as cpc"}
		}
		kind = job.CPCCore
	}
	switch kind {
	case job.CPCArmour:
		return l.armour()
	case job.CPCCoreAndArmour:
		core, armour := l.core(), l.armour()
		if !armour.Known() {
			return armour
		}
		core.Beside = &armour
		return core
	case job.CPCSeparate:
		if !l.Cable.CPCCSA.IsKnown() {
			return Conductor{Role: standard.CPCSeparate, Gap: l.cableName() + ": csa of the separate cpc"}
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
		construction, _ := l.Cable.Construction.Get()
		line, known := l.Cable.CSA.Get()
		switch {
		case construction == standard.FlatTwin && known:
			s, _, err := l.circuit.model.Rules.FlatTwinCPC(line)
			if err != nil {
				return Conductor{Role: standard.CPCInCable, Gap: fmt.Sprintf("%s: csa of the cpc (%v)", l.cableName(), err)}
			}
			csa = quantity.Known(s)
		case construction == standard.Singles:
			return Conductor{Role: standard.CPCInCable, Gap: l.cableName() + ": csa of the cpc"}
		default: // the cores of a multicore or armoured cable are alike
			csa = l.Cable.CSA
		}
	}
	return l.conductor(standard.CPCInCable, csa)
}

func (l *Leg) armour() Conductor {
	a := Conductor{Role: standard.ArmourAsCPC, Material: standard.Steel}
	if construction, ok := l.Cable.Construction.Get(); ok && construction != standard.Armoured {
		a.Gap = l.cableName() + ": a cpc, since this cable has no armour to serve as one"
		return a
	}
	csa, known := l.Cable.CSA.Get()
	cores, counted := l.Cable.Cores.Get()
	switch {
	case !known:
		a.Gap = l.cableName() + ": csa of the cable"
		return a
	case !counted:
		a.Gap = l.cableName() + ": number of cores, which settles the armour"
		return a
	}
	data, cite, err := l.circuit.model.Rules.Armour(cores, csa)
	if err != nil {
		a.Gap = fmt.Sprintf("%s: armour of the cable (%v)", l.cableName(), err)
		return a
	}
	a.CSA, a.Resistance, a.Citation = data.Area, data.Resistance, cite
	l.settleThermal(&a)
	return a
}

// conductor returns a copper or aluminium conductor of the cable by its csa.
func (l *Leg) conductor(role standard.Role, csa quantity.Maybe[quantity.SquareMillimetres]) Conductor {
	m := l.circuit.model
	out := Conductor{Role: role, Material: l.Cable.Material.Or(standard.Copper)}
	if !l.Cable.Material.IsKnown() {
		m.assume(l.cableName() + ": copper conductors")
	}
	s, known := csa.Get()
	if !known {
		out.Gap = l.cableName() + ": csa of the cable"
		return out
	}
	r, cite, err := m.Rules.Resistance(out.Material, standard.Stranded, s)
	if err != nil {
		out.Gap = fmt.Sprintf("%s: conductor (%v)", l.cableName(), err)
		return out
	}
	out.CSA, out.Resistance, out.Citation = s, r, cite
	construction, ok1 := l.Cable.Construction.Get()
	insulation, ok2 := l.Cable.Insulation.Get()
	if ok1 && ok2 {
		if x, _, err := m.Rules.Reactance(construction, insulation, l.Record.Method.Or(standard.MethodC), s); err == nil {
			out.Reactance = x
		}
	}
	l.settleThermal(&out)
	return out
}

// settleThermal fills in the temperatures and k of a conductor from the
// insulation around it.
func (l *Leg) settleThermal(out *Conductor) {
	insulation, ok := l.Cable.Insulation.Get()
	if !ok {
		out.Gap = l.cableName() + ": insulation of the cable"
		return
	}
	rules := l.circuit.model.Rules
	initial, final, _, err := rules.PrincipalTemperatures(insulation, out.Role)
	if err != nil {
		out.Gap = fmt.Sprintf("%s: temperatures of the conductor (%v)", l.cableName(), err)
		return
	}
	out.Operating, out.FaultEnd = initial, final
	if k, cite, err := rules.K(out.Material, insulation, out.Role); err == nil {
		out.K, out.KCitation = k, cite
	}
}

// Length returns the length of the circuit over all its legs, and the gap when
// a leg has none.
func (c *Circuit) Length() (quantity.Metres, string) {
	if len(c.Legs) == 0 {
		return 0, c.Name() + ": its legs, with their lengths"
	}
	var sum quantity.Metres
	for _, leg := range c.Legs {
		l, ok := leg.Record.Length.Get()
		if !ok {
			return 0, leg.Name() + ": length"
		}
		sum += l
	}
	return sum, ""
}

// conductorOf picks one conductor of a leg.
type conductorOf func(*Leg) *Conductor

func line(l *Leg) *Conductor    { return &l.Line }
func neutral(l *Leg) *Conductor { return &l.Neutral }
func cpc(l *Leg) *Conductor     { return &l.CPC }

// along returns the series impedance of one conductor over all legs.
func (c *Circuit) along(pick conductorOf, at Temperature) (z quantity.Impedance, cite standard.Citation, gaps []string) {
	if _, gap := c.Length(); gap != "" {
		gaps = append(gaps, gap)
	}
	t := c.model.TestTemperature()
	for _, leg := range c.Legs {
		conductor := pick(leg)
		if !conductor.Known() {
			gaps = append(gaps, conductor.Gap)
			continue
		}
		z += conductor.Impedance(leg.Record.Length.Or(0), at, t)
		cite = conductor.Citation
	}
	return z, cite, gaps
}
