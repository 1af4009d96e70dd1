package prove

import (
	"fmt"

	"chargewright/finding"
	"chargewright/model"
	"chargewright/quantity"
)

// What the tests of a point should read.

// residual predicts the tests of the RCD that protects a point.
func (x *expecter) residual(p *model.Point) {
	name := p.Record.Name
	own, ok := x.rcdAt(name)
	e := x.start("RCD time at IΔn", name, "live", "rcd test")
	e.How = "RCD tester at IΔn, a.c., both half-waves; at the outlet through a vehicle-simulator adaptor in state C"
	e.Caution = "loads off, people warned; touch voltage limit 50 V set on the instrument"
	no := x.start("RCD at half IΔn", name, "live", "rcd test")
	no.How, no.Caution = "RCD tester at half IΔn, 2 s", e.Caution
	no.Means = "it must not trip: there is no number"
	if !ok {
		e.Missing = x.m.NoRCD(p, "the RCD that protects it")
		no.Missing = e.Missing
	} else {
		x.operatingTime(&e, own, 1)
	}
	x.add(e)
	x.add(no)
	if detects, said := p.Record.DCDetection.Get(); said && detects {
		e := x.start("6 mA d.c.", name, "live", "rcd test")
		e.How = "instrument and adaptor made for d.c. ramp tests, at the outlet in state C"
		e.Caution = "live working; vehicle unplugged"
		if threshold, cite, err := x.rules.Limit("dc detection"); err == nil {
			x.directBounds(&e)
			e.Low, e.High = amount(quantity.Amperes(threshold/2)), amount(quantity.Amperes(threshold))
			e.Parts = []Part{{"it opens at or before 6 mA of smooth d.c.", amount(quantity.Amperes(threshold)), cite.String()}}
		}
		x.add(e)
	}
}

// mainResidual predicts the time of an RCD that is a board's main switch.
func (x *expecter) mainResidual(b *model.Board) {
	rcd := b.Record.MainSwitch.RCD
	if !rcd.Residual.IsKnown() {
		return
	}
	e := x.start("RCD time at IΔn", b.Record.Name, "live", "rcd test")
	e.How = "RCD tester at IΔn, a.c., both half-waves; on the load side of the main switch"
	e.Caution = "loads off, people warned: the whole board goes dead; touch voltage limit 50 V set on the instrument"
	x.operatingTime(&e, rcd, 1)
	x.add(e)
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
			e.Missing = finding.Cannot(err.Error())
		} else {
			e.Low, e.Mid, e.High = amount(level.Low), amount(level.Nominal), amount(level.High)
			if v, ok := x.reads(e.Reading, name); ok {
				e.Mid = amount(quantity.Volts(v))
			}
			e.Parts = []Part{{"level of state " + state, amount(level.Nominal), cite.String()}}
		}
		x.add(e)
	}
	e := x.start("pilot duty", name, "live", "pilot")
	e.How = "adaptor in state C, no load limiting at work; read the duty of the 1 kHz pilot"
	i := x.m.PointCurrents(p)
	e.Missing = i.Lacks
	if e.Known() {
		duty, cite, err := x.rules.PilotDuty(i.Greatest())
		if err != nil {
			e.Missing = p.Record.Thing().Lack("current limit", err.Error(), "power", "current")
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
		x.voltageBounds(&e)
		e.Parts = []Part{{"lawful range of the supply, from", amount(quantity.Volts(low)), cite.String()}}
	}
	if u0, known := x.m.U0().Get(); known {
		e.Mid = amount(u0)
	}
	x.add(e)
}
