package demand

// The same proof on site in two minutes, from six numbers read off displays:
// start a charge, read, stop it.

import (
	"fmt"
	"math"

	"chargewright/quantity"
)

// OnSiteSteps is what to do, in order.
var OnSiteSteps = []string{
	"Work on displays and covers that are meant to be opened; the clamp stays where it is, nothing live is touched.",
	"Ask for the rest of the site to be left as it is for two minutes.",
	"With no vehicle charging, read the limiter's current in L1, L2 and L3.",
	"Start a charge and wait until the point's own display is steady, twenty seconds or so.",
	"Read L1, L2 and L3 again, and the current the point says it takes.",
	"Stop the charge. On a single-phase supply read the clamp and the point before, during and after instead.",
	"If the answer is not \"right\", do not leave the limiter in charge of the supply.",
}

// OnSiteThree judges six readings: three channels before and during a charge, or
// any other known load on one line. A channel that should be at rest and moves
// shows how restless the site is. A channel that shows no current is NaN; where
// any does, the line's own is judged alone.
func OnSiteThree(before, during [3]float64, takes quantity.Amperes, line int) ClampResult {
	out := ClampResult{Verdict: ClampNotKnown, Expected: line, Seen: -1, Channels: 3, Steps: 1}
	if !(math.Abs(float64(takes)) >= leastStep) {
		out.Why = fmt.Sprintf("the load takes %v: %d A or more are wanted", takes, leastStep)
		out.Next = "switch on a load that takes more"
		return out
	}
	var f fitPoint
	f.Point = takes
	rest := math.Inf(1) // the quietest channel says how restless the site is
	for k := range before {
		d := during[k] - before[k]
		out.Share[k] = d / float64(takes)
		f.Seen[k] = quantity.Amperes(d)
		if rest = math.Min(rest, math.Abs(out.Share[k])); math.IsNaN(d) {
			out.Channels = 1
		}
	}
	if out.Channels == 1 {
		if rest, out.Share, f.Seen = 0, [3]float64{out.Share[line]}, [3]quantity.Amperes{f.Seen[line]}; math.IsNaN(out.Share[0]) {
			out.Share, out.Why, out.Next = [3]float64{}, fmt.Sprintf("no current is shown on L%d", line+1), "read it again"
			return out
		}
	}
	for k := range out.Spread {
		out.Spread[k] = math.Max(0.02, rest)
	}
	out.Fit = []fitPoint{f}
	out.judge(out.Channels)
	return out
}

// OnSiteOne judges six readings of a single channel and its point: before,
// during and after the charge. What does not come back afterwards is the
// site's own.
func OnSiteOne(clamp, point [3]float64) ClampResult {
	out := ClampResult{Verdict: ClampNotKnown, Seen: -1, Channels: 1, Steps: 2}
	up, down := point[1]-point[0], point[1]-point[2]
	if !(math.Abs(up) >= leastStep) || !(math.Abs(down) >= leastStep) {
		out.Why = fmt.Sprintf("the point changes by %.1f and %.1f A: %d A or more are wanted", up, down, leastStep)
		out.Next = "start a charge that takes more"
		return out
	}
	first, second := (clamp[1]-clamp[0])/up, (clamp[1]-clamp[2])/down
	out.Share[0] = (first + second) / 2
	out.Spread[0] = math.Max(0.02, math.Abs(first-second)/2)
	out.Fit = []fitPoint{
		{Point: quantity.Amperes(up), Seen: [3]quantity.Amperes{quantity.Amperes(clamp[1] - clamp[0])}},
		{Point: quantity.Amperes(-down), Seen: [3]quantity.Amperes{quantity.Amperes(clamp[2] - clamp[1])}},
	}
	out.judge(1)
	return out
}
