package model

import (
	"chargewright/finding"
	"chargewright/standard"
	"chargewright/trade"
)

// Answer is what the model says to a question: a value and what it rests on,
// or what the record lacks for it.
type Answer[Q any] struct {
	Value Q
	How   trade.HowKnown    // of a fact that the record states
	Why   string            // how it was found, in words
	Cite  standard.Citation // where it stands
	Lacks finding.Lacks
}

// Known reports that there is a value.
func (a Answer[Q]) Known() bool { return len(a.Lacks) == 0 }

// Get returns the value, and whether there is one.
func (a Answer[Q]) Get() (Q, bool) { return a.Value, a.Known() }

func answer[Q any](q Q, cite standard.Citation) Answer[Q] { return Answer[Q]{Value: q, Cite: cite} }

func lacking[Q any](lacks finding.Lacks) Answer[Q] { return Answer[Q]{Lacks: lacks} }
