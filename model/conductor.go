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

// findConductors settles line, neutral and cpc of the circuit's cable.
func (c *Circuit) findConductors() {
	cable := &c.Record.Cable
	c.Line = c.conductor(standard.LineConductor, cable.CSA)
	c.Neutral = c.Line
	if cable.NeutralCSA.IsKnown() {
		c.Neutral = c.conductor(standard.LineConductor, cable.NeutralCSA)
	}
	c.CPC = c.findCPC()
}

func (c *Circuit) findCPC() Conductor {
	cable := &c.Record.Cable
	construction, _ := cable.Construction.Get()
	kind, stated := cable.CPC.Get()
	if !stated {
		if construction == standard.FlatTwin || construction == standard.Multicore {
			kind = job.CPCCore
		} else {
			return Conductor{Role: standard.CPCInCable, Gap: c.Name() + ": what serves as cpc"}
		}
	}
	switch kind {
	case job.CPCArmour:
		return c.armour()
	case job.CPCCoreAndArmour:
		core, armour := c.core(), c.armour()
		if !armour.Known() {
			return armour
		}
		core.Beside = &armour
		return core
	case job.CPCSeparate:
		if !cable.CPCCSA.IsKnown() {
			return Conductor{Role: standard.CPCSeparate, Gap: c.Name() + ": csa of the separate cpc"}
		}
		return c.conductor(standard.CPCSeparate, cable.CPCCSA)
	default:
		return c.core()
	}
}

// core returns the cpc that is a core of the cable, or bunched with it.
func (c *Circuit) core() Conductor {
	cable := &c.Record.Cable
	csa := cable.CPCCSA
	if !csa.IsKnown() {
		construction, _ := cable.Construction.Get()
		line, known := cable.CSA.Get()
		switch {
		case construction == standard.FlatTwin && known:
			s, _, err := c.model.Rules.FlatTwinCPC(line)
			if err != nil {
				return Conductor{Role: standard.CPCInCable, Gap: fmt.Sprintf("%s: csa of the cpc (%v)", c.Name(), err)}
			}
			csa = quantity.Known(s)
		case construction == standard.Singles:
			return Conductor{Role: standard.CPCInCable, Gap: c.Name() + ": csa of the cpc"}
		default: // the cores of a multicore or armoured cable are alike
			csa = cable.CSA
		}
	}
	return c.conductor(standard.CPCInCable, csa)
}

func (c *Circuit) armour() Conductor {
	cable := &c.Record.Cable
	a := Conductor{Role: standard.ArmourAsCPC, Material: standard.Steel}
	if construction, ok := cable.Construction.Get(); ok && construction != standard.Armoured {
		a.Gap = c.Name() + ": the cable has no armour to serve as cpc"
		return a
	}
	csa, known := cable.CSA.Get()
	cores, counted := cable.Cores.Get()
	switch {
	case !known:
		a.Gap = c.Name() + ": csa of the cable"
		return a
	case !counted:
		a.Gap = c.Name() + ": number of cores, which settles the armour"
		return a
	}
	data, cite, err := c.model.Rules.Armour(cores, csa)
	if err != nil {
		a.Gap = fmt.Sprintf("%s: armour of the cable (%v)", c.Name(), err)
		return a
	}
	a.CSA, a.Resistance, a.Citation = data.Area, data.Resistance, cite
	c.settleThermal(&a)
	return a
}

// conductor returns a copper or aluminium conductor of the cable by its csa.
func (c *Circuit) conductor(role standard.Role, csa quantity.Maybe[quantity.SquareMillimetres]) Conductor {
	cable := &c.Record.Cable
	out := Conductor{Role: role, Material: cable.Material.Or(standard.Copper)}
	if !cable.Material.IsKnown() {
		c.model.assume(c.Name() + ": copper conductors")
	}
	s, known := csa.Get()
	if !known {
		out.Gap = c.Name() + ": csa of the cable"
		return out
	}
	r, cite, err := c.model.Rules.Resistance(out.Material, 2, s)
	if err != nil {
		out.Gap = fmt.Sprintf("%s: conductor (%v)", c.Name(), err)
		return out
	}
	out.CSA, out.Resistance, out.Citation = s, r, cite
	construction, ok1 := cable.Construction.Get()
	insulation, ok2 := cable.Insulation.Get()
	if ok1 && ok2 {
		method := standard.MethodC
		if len(c.Record.Legs) > 0 {
			method = c.Record.Legs[0].Method.Or(standard.MethodC)
		}
		if x, _, err := c.model.Rules.Reactance(construction, insulation, method, s); err == nil {
			out.Reactance = x
		}
	}
	c.settleThermal(&out)
	return out
}

// settleThermal fills in the temperatures and k of a conductor from the
// insulation around it.
func (c *Circuit) settleThermal(out *Conductor) {
	insulation, ok := c.Record.Cable.Insulation.Get()
	if !ok {
		out.Gap = c.Name() + ": insulation of the cable"
		return
	}
	initial, final, _, err := c.model.Rules.PrincipalTemperatures(insulation, out.Role)
	if err != nil {
		out.Gap = fmt.Sprintf("%s: temperatures of the conductor (%v)", c.Name(), err)
		return
	}
	out.Operating, out.FaultEnd = initial, final
	k, cite, err := c.model.Rules.K(out.Material, insulation, out.Role)
	if err == nil {
		out.K, out.KCitation = k, cite
	}
}

// Length returns the length of the circuit over all its legs, and the gap when
// a leg has none.
func (c *Circuit) Length() (quantity.Metres, string) {
	if len(c.Record.Legs) == 0 {
		return 0, c.Name() + ": its legs, with their lengths"
	}
	var sum quantity.Metres
	for i := range c.Record.Legs {
		l, ok := c.Record.Legs[i].Length.Get()
		if !ok {
			return 0, fmt.Sprintf("%s, %s: length", c.Name(), LegName(c.Record, i))
		}
		sum += l
	}
	return sum, ""
}

// LegName returns the name of leg i of circuit c as findings write it.
func LegName(c *job.Circuit, i int) string {
	if n := c.Legs[i].Name; n != "" {
		return fmt.Sprintf("leg %d (%s)", i+1, n)
	}
	return fmt.Sprintf("leg %d", i+1)
}
