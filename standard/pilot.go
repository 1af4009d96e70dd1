package standard

import (
	"fmt"
	"math"
	"slices"

	"chargewright/quantity"
)

// pilotLevel is the positive level of the control pilot in one state.
type pilotLevel struct{ Low, Nominal, High quantity.Volts }

// CableCode is the resistor that says what a separate charging cable carries.
// Low to High is how wide a charge point may read it; PassLow to PassHigh is
// the narrower window a sound cable falls in.
type CableCode struct {
	SinglePhase, ThreePhase quantity.Amperes
	Nominal                 quantity.Ohms
	Low, High               quantity.Ohms
	PassLow, PassHigh       quantity.Ohms
	row                     *row
}

// dutyBand is a range of duty cycle and the current it allows: Times × (duty −
// Less), or Fixed.
type dutyBand struct {
	upTo              float64
	included          bool
	times, less       float64
	fixed             float64
	leastA, greatestA float64 // the currents a charge point signals with this band
}

func (t *tables) readPilot(l *loader) {
	l.each("pilot-duty.csv", "up_to_percent,included,fixed_a,times,less_percent,signals_from_a,signals_to_a", func(r *record) {
		t.duties = append(t.duties, cell[dutyBand]{at: r.filled("up_to_percent"), row: r.row, value: dutyBand{
			upTo: r.filled("up_to_percent"), included: r.yes("included"), fixed: r.number("fixed_a"),
			times: r.number("times"), less: r.number("less_percent"), leastA: r.number("signals_from_a"), greatestA: r.number("signals_to_a")}})
	})
	t.states = map[string]cell[pilotLevel]{}
	l.each("pilot-states.csv", "state,low_v,nominal_v,high_v", func(r *record) {
		t.states[r.text("state")] = cell[pilotLevel]{row: r.row,
			value: pilotLevel{quantity.Volts(r.filled("low_v")), quantity.Volts(r.filled("nominal_v")), quantity.Volts(r.filled("high_v"))}}
	})
	t.times = map[string]cell[float64]{}
	l.each("pilot-times.csv", "key,seconds", func(r *record) {
		t.times[r.text("key")] = cell[float64]{value: r.filled("seconds"), row: r.row}
	})
	l.each("cable-codes.csv", "single_phase_a,three_phase_a,nominal_ohm,low_ohm,high_ohm,pass_low_ohm,pass_high_ohm", func(r *record) {
		ohms := func(name string) quantity.Ohms { return quantity.Ohms(r.filled(name)) }
		t.codings = append(t.codings, CableCode{quantity.Amperes(r.filled("single_phase_a")), quantity.Amperes(r.filled("three_phase_a")),
			ohms("nominal_ohm"), ohms("low_ohm"), ohms("high_ohm"), ohms("pass_low_ohm"), ohms("pass_high_ohm"), r.row})
	})
}

// PilotDuty returns the duty cycle that signals a current to the vehicle.
//
//	formula  D = I/0.6 from 6 to 51 A; D = I/2.5 + 64 above, to 80 A
//	source   IEC 61851-1 Annex A
//
// Less than the least current cannot be signalled: the charge point pauses.
// Between 51 and 52.5 A the second formula gives 85 % or less, which a vehicle
// reads by the first one, as up to 51 A: less than signalled, never more.
func (b *Rulebook) PilotDuty(i quantity.Amperes) (quantity.Percent, Citation, error) {
	for _, d := range b.duties {
		if float64(i) >= d.value.leastA && float64(i) <= d.value.greatestA {
			return quantity.Percent(float64(i)/d.value.times + d.value.less), b.cite(d.row), nil
		}
	}
	return 0, Citation{}, &notTabulated{Wanted: fmt.Sprintf("pilot duty cycle for %v", i), Why: "the pilot cannot signal it"}
}

// PilotCurrent returns the current that a duty cycle allows the vehicle to
// draw: 0 where it must not charge, or may only by digital communication.
//
//	source  IEC 61851-1 Annex A
func (b *Rulebook) PilotCurrent(duty quantity.Percent) (quantity.Amperes, Citation, error) {
	if !(duty >= 0 && duty <= 100) {
		return 0, Citation{}, fmt.Errorf("pilot duty cycle is %v: it lies between 0 and 100 %%", duty)
	}
	for _, d := range b.duties {
		if float64(duty) < d.value.upTo || d.value.included && float64(duty) == d.value.upTo {
			if !math.IsNaN(d.value.fixed) {
				return quantity.Amperes(d.value.fixed), b.cite(d.row), nil
			}
			return quantity.Amperes(d.value.times * (float64(duty) - d.value.less)), b.cite(d.row), nil
		}
	}
	return 0, Citation{}, &notTabulated{Wanted: fmt.Sprintf("current for a pilot duty cycle of %v", duty)}
}

// PilotState returns the positive level of the control pilot in a state, "A"
// to "F"; the level of F is negative.
//
//	source  IEC 61851-1 Annex A
func (b *Rulebook) PilotState(state string) (pilotLevel, Citation, error) {
	if c := b.states[state]; c.row != nil {
		return c.value, b.cite(c.row), nil
	}
	return pilotLevel{}, Citation{}, &notTabulated{Wanted: fmt.Sprintf("pilot state %q", state), Known: sorted(b.states)}
}

// PilotTime returns the time a charge point or vehicle has for an answer, by
// its key, such as "close after state C".
//
//	source  IEC 61851-1 Annex A
func (b *Rulebook) PilotTime(key string) (quantity.Seconds, Citation, error) {
	if c := b.times[key]; c.row != nil {
		return quantity.Seconds(c.value), b.cite(c.row), nil
	}
	return 0, Citation{}, &notTabulated{Wanted: fmt.Sprintf("pilot time %q", key), Known: sorted(b.times)}
}

// CableCoding returns the current that a resistor in the plug says the cable
// carries: single-phase, then three-phase.
//
//	source  IEC 61851-1 Annex B
//
// The wider of the windows known is used; CableCodes holds both.
func (b *Rulebook) CableCoding(r quantity.Ohms) (single, three quantity.Amperes, cite Citation, err error) {
	for _, c := range b.codings {
		if r > c.Low && r <= c.High {
			return c.SinglePhase, c.ThreePhase, b.cite(c.row), nil
		}
	}
	return 0, 0, Citation{}, &notTabulated{Wanted: fmt.Sprintf("a cable coded with %v", r), Why: "no plug, a broken contact or a short circuit: no charging"}
}

// CableCodes returns the codes a charging cable may have.
func (b *Rulebook) CableCodes() []CableCode { return slices.Clone(b.codings) }
