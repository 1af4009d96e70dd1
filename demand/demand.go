// Package demand answers what current flows in a supply and when, and whether
// load limiting holds it: maximum demand by allowance, by measurement and by
// simulation; the proof of a limiter; the heat in the cut-out; and whether a
// current clamp is where it should be, the right way round.
//
// Inside, currents are whole milliamperes, energy whole millijoules and time
// whole milliseconds, so that what goes in comes out to the joule and to the
// penny however long the run. Currents of one line are added as numbers, which
// is never less than their vector sum.
//
// A limiter is judged by what its facts let it do, not by what it promises:
// one that is not stated makes the outcome "not known". The figures serve a
// qualified person. They make nothing safe, and a limiter is no substitute for
// a protective device.
package demand

import (
	"math"

	"chargewright/quantity"
)

// Lines is a current in each line conductor.
type Lines [3]quantity.Amperes

// Greatest returns the current of the most loaded line.
func (l Lines) Greatest() quantity.Amperes { return max(l[0], l[1], l[2]) }

// milli is a current in whole milliamperes, one for each line.
type milli [3]int64

func toMilli(l Lines) milli {
	return milli{milliamperes(l[0]), milliamperes(l[1]), milliamperes(l[2])}
}

func (m milli) amperes() Lines { return Lines{amperes(m[0]), amperes(m[1]), amperes(m[2])} }

func milliamperes(i quantity.Amperes) int64 { return int64(math.Round(float64(i) * 1000)) }
func amperes(i int64) quantity.Amperes      { return quantity.Amperes(float64(i) / 1000) }
func milliseconds(t quantity.Seconds) int64 { return int64(math.Round(float64(t) * 1000)) }
func seconds(ms int64) quantity.Seconds     { return quantity.Seconds(float64(ms) / 1000) }
