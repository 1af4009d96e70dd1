package demand

// Is the current clamp on the right conductor, the right way round?
//
// A charge point is a load that can be switched at will. Whatever else goes on
// at the site, its steps must show on the line it is fed from, with the same
// size and sign, and on no other line:
//
//	change seen in a line = share × change of the point's current
//
//	share   1 right · −1 reversed · 0 not seen · −½ paired with the voltage of
//	        another line, cos 120° · anything else a wrong ratio
//
// The size of the site's own changes says how sure that is. Verdicts come with
// a probability, each explanation taken as equally likely before the readings.

import (
	"fmt"
	"math"
	"time"

	"chargewright/finding"
	"chargewright/quantity"
	"chargewright/works"
)

// ClampVerdict is what is the matter with a clamp.
type ClampVerdict string

// Verdicts on a clamp.
const (
	ClampRight      ClampVerdict = "right"
	ClampReversed   ClampVerdict = "reversed"
	ClampOtherPhase ClampVerdict = "other phase"
	ClampWrongRatio ClampVerdict = "wrong ratio"
	ClampTurned     ClampVerdict = "reversed, and wrong ratio"
	ClampNotSeen    ClampVerdict = "not seen"
	ClampPaired     ClampVerdict = "paired with another line's voltage"
	ClampNotKnown   ClampVerdict = "not known"
)

// ClampResult is what two recordings, or six readings, say of a clamp.
type ClampResult struct {
	Verdict    ClampVerdict
	Confidence float64             // probability of the verdict among those known here
	Expected   int                 // the line the load is on, from 0
	Seen       int                 // the channel it shows in, from 0; −1 for none
	Share      [3]float64          // change in each channel over change of the point
	Spread     [3]float64          // how sure that is, one standard deviation
	Apart      time.Duration       // what the site's clock is ahead of the point's, whole quarter hours, where that had to be found
	Delay      quantity.Seconds    // of the site's recording behind the point's
	Noise      [3]quantity.Amperes // of the site's own changes from one reading to the next, r.m.s.
	Steps      int                 // changes of the point that were used
	Channels   int                 // how many the site has
	Why        string
	Next       string
	Fit        []fitPoint // for the picture
}

// fitPoint is one change of the point and what the channels made of it.
type fitPoint struct {
	At    quantity.Seconds
	Point quantity.Amperes
	Seen  [3]quantity.Amperes
}

// evenSamples is currents at equal distances of time.
type evenSamples struct {
	Step   quantity.Seconds
	Lines  int
	Values [][3]float64 // A
	Known  []bool
}

// evenSamples returns the log's currents, with their signs.
func (l *Log) Recording() evenSamples {
	r := evenSamples{Step: quantity.Seconds(l.Step.Seconds()), Lines: l.Lines, Known: l.Known, Values: make([][3]float64, len(l.Values))}
	for i, v := range l.Values {
		for k := range v {
			r.Values[i][k] = float64(v[k]) / 1000
		}
	}
	return r
}

// leastStep is the change of the point's current that counts as a step, in A:
// well below the 6 A a vehicle starts with.
const leastStep = 4

// longestDelay is how far the site's recording may lag, in readings of 1 s.
const longestDelay = 60

// proveClamp compares the recordings of the site and of the point, made at the
// same pace from the same moment. Line is the one the point is fed from.
func proveClamp(site, point evenSamples, line int) ClampResult {
	out := ClampResult{Verdict: ClampNotKnown, Expected: line, Seen: -1, Channels: site.Lines}
	n := min(len(site.Values), len(point.Values))
	if site.Step != point.Step || n < 20 {
		out.Why = "the two recordings must have one pace and overlap for twenty readings or more"
		out.Next = "record both again, at the same pace"
		return out
	}
	steps := pointSteps(point, n)
	if len(steps) < 2 {
		out.Why = fmt.Sprintf("the point's own current changes by %d A or more only %d times: nothing to look for", leastStep, len(steps))
		out.Next = "start and stop a charge twice while recording"
		return out
	}
	out.Steps = len(steps)
	channels := max(1, site.Lines)
	most := min(int(longestDelay/site.Step), n/4)
	for k := range channels {
		out.Noise[k] = quantity.Amperes(quiet(site, k, n))
	}
	bestDelay := findDelay(site, steps, channels, most, n)
	for k := range channels {
		share, spread := fitSteps(site, steps, k, bestDelay, ramp, n)
		out.Share[k], out.Spread[k] = share, spread
	}
	out.Delay = quantity.Seconds(bestDelay) * site.Step
	for _, s := range steps {
		f := fitPoint{At: quantity.Seconds(s.at) * site.Step, Point: quantity.Amperes(s.size)}
		for k := range channels {
			d, _ := jump(site, k, s.at+bestDelay, ramp, n)
			f.Seen[k] = quantity.Amperes(d)
		}
		out.Fit = append(out.Fit, f)
	}
	out.judge(channels)
	return out
}

// explanation is one way the shares of three channels may come about.
type explanation struct {
	verdict ClampVerdict
	channel int // where it shows
	want    float64
	slack   float64 // how far the share may be off by nature
}

// clampTolerance is how far a right clamp may be off: 10 % is where the trade
// begins to speak of a wrong ratio (5 to 10 %, common practice, no source).
const clampTolerance = 0.05

func explanations(line, channels int) []explanation {
	out := []explanation{
		{ClampRight, line, 1, clampTolerance},
		{ClampReversed, line, -1, clampTolerance},
		{ClampPaired, line, -0.5, clampTolerance},
		{ClampNotSeen, -1, 0, clampTolerance},
	}
	for _, ratio := range []float64{0.1, 0.2, 0.25, 1. / 3, 0.4, 0.65, 0.8, 1.25, 1.5, 2, 2.5, 3, 4, 5, 10, 0.5} {
		out = append(out, explanation{ClampWrongRatio, line, ratio, 0.1 * ratio}, explanation{ClampTurned, line, -ratio, 0.1 * ratio})
	}
	for k := range channels {
		if k != line {
			out = append(out, explanation{ClampOtherPhase, k, 1, 2 * clampTolerance}, explanation{ClampOtherPhase, k, -1, 2 * clampTolerance})
		}
	}
	return out
}

// judge weighs the explanations against the shares.
func (c *ClampResult) judge(channels int) {
	line := c.Expected
	if channels == 1 {
		line = 0
	}
	weights := map[ClampVerdict]float64{}
	where := map[ClampVerdict]explanation{}
	best := map[ClampVerdict]float64{}
	total := 0.0
	counts := map[ClampVerdict]float64{}
	all := explanations(line, channels)
	for _, e := range all {
		counts[e.verdict]++
	}
	few := math.Max(5, float64(c.Steps-1)) // Student's t: a spread found from few steps is itself unsure
	for _, e := range all {
		log := 0.0
		for k := range channels {
			want, slack := 0.0, clampTolerance
			if k == e.channel {
				want, slack = e.want, e.slack
			}
			s := math.Hypot(c.Spread[k], slack)
			z := (c.Share[k] - want) / s
			log -= (few+1)/2*math.Log1p(z*z/few) + math.Log(s)
		}
		w := math.Exp(log) / counts[e.verdict]
		weights[e.verdict] += w
		total += w
		if w > best[e.verdict] {
			best[e.verdict], where[e.verdict] = w, e
		}
	}
	for _, v := range []ClampVerdict{ClampRight, ClampReversed, ClampPaired, ClampNotSeen, ClampOtherPhase, ClampWrongRatio, ClampTurned} {
		if p := weights[v] / total; p > c.Confidence {
			c.Verdict, c.Confidence = v, p
			c.Seen = where[v].channel
		}
	}
	if !(total > 0) || c.Confidence < 0.8 {
		c.Why = fmt.Sprintf("the likeliest is %q with %s: too little to say", c.Verdict, sure(c.Confidence))
		c.Verdict = ClampNotKnown
		c.Next = "repeat with a larger current and the rest of the site as quiet as it can be"
		return
	}
	c.explain(line)
}

func (c *ClampResult) explain(line int) {
	share := 0.0
	if c.Seen >= 0 {
		share = c.Share[c.Seen]
	}
	name := func(k int) string {
		if c.Channels == 1 {
			return "the channel"
		}
		return fmt.Sprintf("L%d", k+1)
	}
	switch c.Verdict {
	case ClampRight:
		c.Why = fmt.Sprintf("%s follows the load with %.2f of its change", name(line), share)
		c.Next = "prove each of the other lines the same way, with a load on it; a meter that shows no sign cannot show a clamp reversed"
	case ClampReversed:
		c.Why = fmt.Sprintf("%s moves by %.2f of the load's change: the wrong way. The sign of a reading proves nothing on a site with solar or storage; the "+
			"step does", name(line), share)
		c.Next = "isolate, prove dead, turn the clamp round, or set the channel reversed if its maker allows, and repeat"
	case ClampPaired:
		c.Why = fmt.Sprintf("%s moves by %.2f of the load's change, and cos 120° is −0.5: the clamp is on one line and its channel takes the voltage of another; "+
			"one turned round and set to half its ratio would look the same", name(line), share)
		c.Next = "put a single-phase load on each line in turn and pair the channels; repeat"
	case ClampOtherPhase:
		c.Why = fmt.Sprintf("the load is on %s and shows on channel %s with %.2f of its change", name(line), name(c.Seen), share)
		c.Next = "isolate, prove dead, move the clamp to the line its channel is named for, and repeat"
	case ClampWrongRatio:
		c.Why = fmt.Sprintf("%s moves by %.2f of the load's change", name(line), share)
		c.Next = "compare the ratio that is set with the clamp's plate; see that its core is shut and only one conductor goes through"
	case ClampTurned:
		c.Why = fmt.Sprintf("%s moves by %.2f of the load's change: the wrong way, and by another amount. Two faults at once", name(line), share)
		c.Next = "isolate, prove dead, turn the clamp round; compare the ratio that is set with its plate, see that its core is shut and only one conductor goes " +
			"through; repeat, since putting one right leaves the other"
	case ClampNotSeen:
		c.Why = "no channel follows the load"
		if c.Channels == 1 {
			c.Why = "the channel does not follow the load: the clamp is on another line, on both line and neutral, or not connected"
		}
		c.Next = "look where the clamp is and whether its lead is in; a clamp over line and neutral together reads nothing"
	}
}

// Finding puts the verdict among the findings.
func (c ClampResult) Finding(of works.Thing) finding.Finding {
	f := finding.Finding{Clause: finding.Practice, Key: "clamp", Path: of.Path, Subject: of.Name,
		What: "the clamp sees the line the load is on, the right way round", Verdict: finding.Fails, Next: c.Next,
		Why:    finding.Say("%s (%s): %s", c.Verdict, sure(c.Confidence), c.Why),
		Source: finding.From("arithmetic of the step", "tolerances are common practice, no source")}
	if c.Seen >= 0 {
		share := 100 * c.Share[c.Seen]
		f.Value, f.Limit, f.Margin = amount(quantity.Percent(share)), amount(quantity.Percent(100)), amount(quantity.Percent(share-100))
	}
	switch c.Verdict {
	case ClampRight:
		f.Verdict = finding.Meets
	case ClampNotKnown:
		f.Verdict = finding.NotKnown
		f.Value, f.Limit, f.Margin = finding.Amount{}, finding.Amount{}, finding.Amount{}
		f.Why = finding.Say("%s", c.Why)
	}
	return f
}

// From returns the recording without its first readings.
func (r evenSamples) From(first int) evenSamples {
	first = max(0, min(first, len(r.Values)))
	r.Values, r.Known = r.Values[first:], r.Known[first:]
	return r
}

// ProveLogs compares two logs, the site's and the point's, from where the
// later of the two begins. Where nothing is seen by the clocks as they stand, one
// of them may keep another zone's time or summer time: the whole or quarter hour
// is looked for by which the steps of the point show, three of them or more, and
// by no other so clearly.
func ProveLogs(site, point *Log, line int) (ClampResult, error) {
	if site.Step != point.Step {
		return ClampResult{}, fmt.Errorf("%s: readings are %v apart, and in %s %v: record both at one pace", site.File, site.Step, point.File, point.Step)
	}
	as := proveApart(site, point, line, 0)
	if as.Verdict != ClampNotKnown && as.Verdict != ClampNotSeen {
		return as, nil
	}
	const quarter, most = 15 * time.Minute, 14 * 4 // zones differ by 14 h at most from the one that clocks are set to first
	const certain, enough = 0.85, 3
	var found []ClampResult
	for n := 1; n <= most; n++ {
		for _, apart := range []time.Duration{quarter * time.Duration(n), -quarter * time.Duration(n)} {
			if r := proveApart(site, point, line, apart); r.Verdict != ClampNotKnown && r.Verdict != ClampNotSeen && r.Confidence >= certain && r.Steps >= enough {
				r.Apart = apart
				found = append(found, r)
			}
		}
	}
	switch {
	case len(found) == 1:
		r := found[0]
		ahead := "ahead of"
		if r.Apart < 0 {
			ahead = "behind"
		}
		r.Why = fmt.Sprintf("by the clocks as they stand nothing is seen; the site's is %s %s the point's, and then %s", spellApart(r.Apart), ahead, r.Why)
		return r, nil
	case len(found) > 1:
		as.Verdict, as.Confidence = ClampNotKnown, 0
		as.Why = fmt.Sprintf("by the clocks as they stand nothing is seen, and by %d different offsets of theirs something is: the load's pattern "+
			"repeats itself", len(found))
		as.Next = "say the zone each clock keeps, or record both again with a pattern that does not repeat"
	}
	return as, nil
}

func spellApart(d time.Duration) string {
	d = d.Abs()
	switch h, m := int(d.Hours()), int(d.Minutes())%60; {
	case h == 0:
		return fmt.Sprintf("%d min", m)
	case m == 0:
		return fmt.Sprintf("%d h", h)
	default:
		return fmt.Sprintf("%d h %d min", h, m)
	}
}

// proveApart compares two logs of which the site's clock is so much ahead.
func proveApart(site, point *Log, line int, ahead time.Duration) ClampResult {
	a, b := site.Recording(), point.Recording()
	switch shift := point.Start.Add(ahead).Sub(site.Start); {
	case shift > 0:
		a = a.From(int(shift / site.Step))
	default:
		b = b.From(int(-shift / site.Step))
	}
	return proveClamp(a, b, line)
}

// clampReport is the published shape of a result.
type clampReport struct {
	Verdict    ClampVerdict `json:"verdict"`
	Confidence float64      `json:"confidence"`
	Expected   string       `json:"expected"`
	Seen       string       `json:"seen"`
	Share      []float64    `json:"share"`
	Spread     []float64    `json:"spread"`
	Delay      float64      `json:"delaySeconds"`
	Apart      float64      `json:"siteClockAheadSeconds"`
	Noise      []float64    `json:"noiseAmperes"`
	Steps      int          `json:"steps"`
	Why        string       `json:"why"`
	Next       string       `json:"next"`
}

// Report returns the result as it is handed to a program.
func (c ClampResult) Report() clampReport {
	out := clampReport{Verdict: c.Verdict, Confidence: c.Confidence, Expected: fmt.Sprintf("L%d", c.Expected+1), Delay: float64(c.Delay),
		Apart: c.Apart.Seconds(), Steps: c.Steps,
		Why: c.Why, Next: c.Next}
	if c.Seen >= 0 {
		out.Seen = fmt.Sprintf("L%d", c.Seen+1)
	}
	if c.Channels == 1 {
		out.Expected = ""
		if c.Seen >= 0 {
			out.Seen = "the clamp"
		}
	}
	for k := range c.Channels {
		out.Share, out.Spread, out.Noise = append(out.Share, c.Share[k]), append(out.Spread, c.Spread[k]), append(out.Noise, float64(c.Noise[k]))
	}
	return out
}
