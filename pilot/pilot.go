// Package pilot holds what was seen on the control pilot of a charge point: typed
// figures, a trace of an oscilloscope, a level for each state of a vehicle
// simulator. What it is worth against IEC 61851-1 and the design is judged in
// package commission. The cautions that go with the measurement stand here.
//
// Its parts: what was seen, what was typed, the reader of traces.
package pilot

// A measurement of the control pilot as a person gives it: typed figures, a
// trace, a level for each state of the vehicle simulator.

import (
	"chargewright/quantity"
	"chargewright/standard"
)

// Seen is what was measured on the control pilot against protective
// earth, as far as it was.
type Seen struct {
	State     string // that the vehicle simulator was set to: A to F; empty if not said
	High      quantity.Maybe[quantity.Volts]
	Low       quantity.Maybe[quantity.Volts] // negative peak; not known on a steady pilot
	Frequency quantity.Maybe[float64]        // Hz
	Duty      quantity.Maybe[quantity.Percent]
	Rise      quantity.Maybe[float64]       // s, 10 to 90 %
	Coarse    quantity.Maybe[float64]       // s between samples, where they are too far apart to show a rise
	Steady    bool                          // no oscillator
	Cable     quantity.Maybe[quantity.Ohms] // coding resistor in the plug; not known where there is none
}

// Typed is what was measured, as it was typed; nothing is not measured.
type Typed struct {
	State     string // that the vehicle simulator was set to
	High      string
	Low       string
	Duty      string
	Frequency quantity.Maybe[float64] // Hz
	Steady    bool
	Cable     string            // coding resistor in the plug
	Levels    map[string]string // positive level by state
	Times     map[string]string // how long an answer took, by the key of the time in the rules
}

// TypedError is what was typed and cannot be read, with where it was typed.
type TypedError struct {
	Field string // state, high, low, duty, cable, levels, times
	Err   error
}

func (e *TypedError) Error() string { return e.Field + ": " + e.Err.Error() }
func (e *TypedError) Unwrap() error { return e.Err }

// Seen gathers what was measured: the trace first, typed figures over it.
func (t Typed) Seen(trace *Seen) (Seen, error) {
	var seen Seen
	if trace != nil {
		seen = *trace
	}
	seen.State, seen.Steady = t.State, seen.Steady || t.Steady
	if t.Frequency.IsKnown() {
		seen.Frequency = t.Frequency
	}
	var err error
	take := func(field, text string, set func() error) {
		if text != "" && err == nil {
			if e := set(); e != nil {
				err = &TypedError{field, e}
			}
		}
	}
	take("high", t.High, func() error { return into(&seen.High, t.High, quantity.ParseVolts) })
	take("low", t.Low, func() error { return into(&seen.Low, t.Low, quantity.ParseVolts) })
	take("duty", t.Duty, func() error { return into(&seen.Duty, t.Duty, quantity.ParsePercent) })
	take("cable", t.Cable, func() error { return into(&seen.Cable, t.Cable, quantity.ParseOhms) })
	return seen, err
}

// into reads a quantity into its place.
func into[Q any](place *quantity.Maybe[Q], text string, parse func(string) (Q, error)) error {
	q, err := parse(text)
	if err == nil {
		*place = quantity.Known(q)
	}
	return err
}

// SimulatorTests are the tests with a vehicle simulator in their order.
func SimulatorTests(rules *standard.Rulebook) []string {
	var out []string
	for _, r := range rules.PilotRows() {
		if r.Group == "simulator procedure" {
			out = append(out, r.Item+" ("+r.Condition+"): "+r.Value+"; "+r.Tolerance)
		}
	}
	return out
}

// LeastOffer is the least current a pilot can offer, in A (IEC 61851-1 Annex A).
const LeastOffer = 6

// Cautions that go with the control pilot.
const (
	Caution          = "Pilot and proximity are touched with the output dead; prove it, and keep clear of the live contacts."
	SimulatorCaution = "The output is live in C and D; only a person competent for live work measures there. Rows from memory: see the standard."
)
