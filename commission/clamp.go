package commission

import (
	"math"

	"chargewright/finding"
	"chargewright/meter"
	"chargewright/quantity"
)

// ClampProof holds two readings against a known load that was switched on
// between them: is the clamp on its line, the right way round, paired with its
// own voltage, of the right ratio?
//
//	expected  the load's current, on the line it was switched on
//	rule      the reading of that line rises by the load's current, within 10 %
//	source    common practice; a resistive load makes the signs certain
//
// The sign of one reading proves nothing where there is solar; the step does.
func ClampProof(before, after meter.Reading, expected quantity.Amperes, line int) finding.Finding {
	f := finding.Finding{Clause: finding.Practice, Subject: "clamp on L" + string(rune('1'+line)), What: "reading rises by the current of a known load",
		Key:    "clamp proof",
		Source: finding.Say("common practice, no source; 10 %% is engineering judgement")}
	const share = 0.10
	room := max(share*float64(expected), 0.3)
	near := func(a, b float64) bool { return math.Abs(a-b) <= room }
	var steps [3]float64
	for k := range steps {
		a, oka := signed(before, k)
		b, okb := signed(after, k)
		if !oka || !okb {
			steps[k] = math.NaN()
			continue
		}
		steps[k] = b - a
	}
	step := steps[line]
	if math.IsNaN(step) || !(expected > 0) {
		f.Next = "read it again, and name the load's current"
		f.Why = finding.Say("the meter shows no current on this line, or the load's current was not given")
		return f
	}
	f.Value, f.Limit = amps(quantity.Amperes(step)), amps(expected)
	f.Margin = amps(quantity.Amperes(room - math.Abs(step-float64(expected))))
	elsewhere := -1
	for k, s := range steps {
		if k != line && near(math.Abs(s), float64(expected)) {
			elsewhere = k
		}
	}
	say := func(v finding.Verdict, why, next string) finding.Finding {
		f.Verdict, f.Why, f.Next = v, finding.Say("%s", why), next
		return f
	}
	switch {
	case near(step, float64(expected)):
		return say(finding.Meets, "the step is that of the load", "")
	case near(step, -float64(expected)):
		return say(finding.Fails, "the step is that of the load, but falls: the clamp is the wrong way round",
			"turn the clamp, or its two leads; then prove it again")
	case elsewhere >= 0:
		return say(finding.Fails, "the step shows on L"+string(rune('1'+elsewhere)), "the clamp is on another line, or its lead in another's terminal")
	case near(step, -0.5*float64(expected)):
		return say(finding.Fails, "the step is minus half the load: current of one line read with the voltage of another (cos 120° is -0.5)",
			"pair each clamp with the voltage of its own line: one load on each line in turn")
	case near(step, 0.5*float64(expected)), near(step, 2*float64(expected)):
		return say(finding.Fails, "the step is half or twice the load: the ratio is set wrong, or the conductor goes through twice",
			"set the ratio on the clamp's own label")
	case near(step, 0):
		return say(finding.Fails, "nothing moved: the clamp is on another conductor, holds line and neutral together, is not shut, or is not connected",
			"see that it holds the live conductor alone, jaws shut")
	}
	return say(finding.Fails, "the step is not that of the load", "see ratio, jaws and whether another load came on at the same moment")
}

// signed is the current of a line with the sign of its power, where the meter
// shows the current without one.
func signed(m meter.Reading, k int) (float64, bool) {
	i, ok := m.Current[k].Get()
	n := float64(i)
	if p, known := m.Power[k].Get(); known && p < 0 && n > 0 {
		n = -n
	}
	return n, ok
}
