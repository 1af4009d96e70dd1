// Package prove says what each reading of the test sequence should be before
// it is taken, and explains a reading that is not.
//
// There is one model of what a meter sees: the wiring of the job, stretch by
// stretch, each with what is not exactly known about it. Expect reads the sound
// wiring. Explain supposes one fault or two, each a change to the wiring, works
// out what every reading would then be, and weighs the changes by Bayes' rule
// against what was read. NextTest asks which measurement would move those
// weights most, for its minutes and its risk. Reconcile holds all readings
// against the sound wiring at once, and Judge against their limits.
//
// Nothing here makes a test safe: isolate, lock off, prove dead, and keep to
// the standard in force and local rules.
package prove

import (
	"chargewright/finding"
	"chargewright/reading"
)

// Expectation is one reading predicted: its band, where each part of the band
// comes from, the limit it will be judged by, and how to take it.
type Expectation struct {
	Reading string          // "R1+R2", as readings name it
	At      string          // "supply", or the name of a board, circuit or point
	Stage   string          // "dead" or "live"
	Order   int             // place in the test sequence
	Low     finding.Amount  // zero where the reading has no lower edge
	Mid     finding.Amount  // the most likely value; zero where there is none
	High    finding.Amount  // zero where the reading has no upper edge
	Seen    []string        // of what is seen and has no number: what is written where it is right, and where it is wrong
	Limit   finding.Amount  // the first of its bounds; zero where nothing limits it
	LimitIs string          // "at most" or "at least"
	Bounds  []reading.Bound `json:"-"` // every side it is judged by
	Clause  finding.Clause  // clause of the test and its limit
	Parts   []Part          // what the band is made of
	Means   string          // what the number tells, such as the length a resistance stands for
	How     string          // instrument, its range, and where to connect it
	Caution string          // what must be so before it is taken
	Taken   string          // what has been read so far, as entered; empty if nothing
	Missing finding.Lacks   // what keeps the band from being known; empty when it is
}

// Known reports whether the band is known.
func (e Expectation) Known() bool { return len(e.Missing) == 0 }

// bound adds a side the reading is judged by.
func (e *Expectation) bound(is string, limit finding.Amount) *reading.Bound {
	if len(e.Bounds) == 0 {
		e.Limit, e.LimitIs = limit, is
	}
	e.Bounds = append(e.Bounds, reading.Bound{Limit: limit, Is: is})
	return &e.Bounds[len(e.Bounds)-1]
}

// Kind is what is read.
func (e Expectation) Kind() *reading.Kind { return reading.Of(e.Reading) }

// Part is one contribution to an expected reading or to the width of its band.
type Part struct {
	What   string
	Value  finding.Amount
	Source string
}
