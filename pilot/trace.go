package pilot

import (
	"bytes"
	"fmt"
	"math"
	"slices"
	"strings"

	"chargewright/quantity"
	"chargewright/sheet"
)

// ReadTrace reads a trace of the control pilot as an oscilloscope exports
// it: two columns, time and voltage, with any head above. The head may name their
// units, like (ms) and (mV); without one they are seconds and volts. A third column
// and more are left aside.
//
// Levels are the medians of the upper and lower half; duty and frequency are of
// whole periods between rising edges, each edge where it crosses the middle,
// straight between samples; the rise is from 10 to 90 %, the median of all, where
// there are samples enough on an edge to show one.
func ReadTrace(name string, text []byte) (Seen, error) {
	times, volts, err := readTrace(name, text)
	if err != nil {
		return Seen{}, err
	}
	sorted := slices.Clone(volts)
	slices.Sort(sorted)
	n := len(sorted)
	low, high := sorted[n/50], sorted[n-1-n/50]
	if high-low < steadyWithin {
		return Seen{Steady: true, High: quantity.Known(quantity.Volts(sorted[n/2]))}, nil
	}
	middle := (high + low) / 2
	var upper, lower []float64
	for _, v := range volts {
		if v > middle {
			upper = append(upper, v)
		} else {
			lower = append(lower, v)
		}
	}
	high, low = median(upper), median(lower)
	middle = (high + low) / 2
	ups, downs := crossings(times, volts, middle, true), crossings(times, volts, middle, false)
	if len(ups) < 2 {
		return Seen{}, fmt.Errorf("%s: less than a whole period is on the trace: take 3 ms or more of it", name)
	}
	var on float64
	for i := 0; i+1 < len(ups); i++ {
		k, _ := slices.BinarySearch(downs, ups[i])
		if k < len(downs) && downs[k] < ups[i+1] {
			on += downs[k] - ups[i]
		}
	}
	span := ups[len(ups)-1] - ups[0]
	seen := Seen{High: quantity.Known(quantity.Volts(high)), Low: quantity.Known(quantity.Volts(low)),
		Frequency: quantity.Known(float64(len(ups)-1) / span), Duty: quantity.Known(quantity.Percent(100 * on / span))}
	if rise, ok := riseTime(times, volts, low, high); ok {
		// An edge shorter than a few samples is as long as the samples make it: that
		// it is no longer than those is all that is known.
		const few, shortest = 3, 2e-6 // s: the longest rise the standard allows
		apart := (times[len(times)-1] - times[0]) / float64(len(times)-1)
		if rise < few*apart && few*apart > shortest {
			seen.Coarse = quantity.Known(apart)
		} else {
			seen.Rise = quantity.Known(rise)
		}
	}
	return seen, nil
}

// A trace that moves less than this, in V, is a steady pilot.
const steadyWithin = 1.5

// mostSamples bounds a trace.
const mostSamples = 2_000_000

func readTrace(name string, text []byte) (times, volts []float64, err error) {
	r, err := sheet.Open(name, bytes.NewReader(text), sheet.Bounds{}, nil)
	if err != nil {
		return nil, nil, err
	}
	perTime, perVolt := 1.0, 1.0
	for r.Next() {
		line := r.Line
		if r.Wrong == "" && len(r.Cells) < 2 {
			continue
		}
		var t, v float64
		whole := r.Wrong == ""
		if whole {
			t, whole = sheet.Float(r.Cells[0], r.Mark())
		}
		if whole {
			v, whole = sheet.Float(r.Cells[1], r.Mark())
		}
		if !whole {
			if len(times) == 0 { // the head
				if len(r.Cells) > 1 {
					perTime, perVolt = unitIn(r.Cells[0], times10, perTime), unitIn(r.Cells[1], volts10, perVolt)
				}
				continue
			}
			return nil, nil, fmt.Errorf("%s:%d: %q: time in seconds and voltage are wanted", name, line, bytes.Join(r.Cells, []byte{r.Mark()}))
		}
		t, v = t*perTime, v*perVolt
		if len(times) > 0 && !(t > times[len(times)-1]) {
			return nil, nil, fmt.Errorf("%s:%d: the time does not go forward", name, line)
		}
		const most = 50 // V: no pilot reaches it
		if !(math.Abs(v) < most) {
			return nil, nil, fmt.Errorf("%s:%d: %v V is no control pilot: is the probe's factor set?", name, line, v)
		}
		if len(times) >= mostSamples {
			return nil, nil, fmt.Errorf("%s: more than %d samples: take a shorter piece", name, mostSamples)
		}
		times, volts = append(times, t), append(volts, v)
	}
	if r.Err() != nil {
		return nil, nil, r.Err()
	}
	const least = 100
	if len(times) < least {
		return nil, nil, fmt.Errorf("%s: %d samples of time and voltage were found; %d or more are wanted", name, len(times), least)
	}
	return times, volts, nil
}

// Units that a head may name.
var (
	times10 = map[string]float64{"s": 1, "sec": 1, "second": 1, "seconds": 1, "ms": 1e-3, "us": 1e-6, "µs": 1e-6, "μs": 1e-6, "ns": 1e-9}
	volts10 = map[string]float64{"v": 1, "volt": 1, "volts": 1, "mv": 1e-3, "kv": 1e3}
)

// unitIn is the unit a heading names, or what was known before.
func unitIn(head []byte, units map[string]float64, before float64) float64 {
	for _, word := range strings.FieldsFunc(strings.ToLower(string(head)), func(r rune) bool { return strings.ContainsRune(" \t()[]{}/_-:,;", r) }) {
		if by, known := units[word]; known {
			return by
		}
	}
	return before
}

func median(list []float64) float64 {
	list = slices.Clone(list)
	slices.Sort(list)
	return list[len(list)/2]
}

// crossings returns when the voltage crosses a level, upwards or downwards. A
// crossing counts once the voltage has moved well past the level, so that noise
// on an edge is one edge.
func crossings(times, volts []float64, level float64, up bool) []float64 {
	const past = 0.5 // V
	sign := 1.0
	if !up {
		sign = -1
	}
	var out []float64
	armed := sign*(volts[0]-level) < -past
	at := math.NaN()
	for i := 1; i < len(volts); i++ {
		a, b := sign*(volts[i-1]-level), sign*(volts[i]-level)
		if armed && a < 0 && b >= 0 {
			at = times[i-1] + (times[i]-times[i-1])*(-a)/(b-a)
		}
		if armed && b > past && !math.IsNaN(at) {
			out = append(out, at)
			armed, at = false, math.NaN()
		}
		if b < -past {
			armed = true
		}
	}
	return out
}

// riseTime returns the median time from 10 to 90 % of the rising edges.
func riseTime(times, volts []float64, low, high float64) (float64, bool) {
	span := high - low
	starts, ends := crossings(times, volts, low+0.1*span, true), crossings(times, volts, low+0.9*span, true)
	var rises []float64
	for _, end := range ends {
		k, _ := slices.BinarySearch(starts, end)
		if k > 0 {
			rises = append(rises, end-starts[k-1])
		}
	}
	if len(rises) == 0 {
		return 0, false
	}
	return median(rises), true
}
