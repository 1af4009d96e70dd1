package demand

// What the current does to the cut-out fuse or a breaker over time.
//
// The product standards give two things: the current a device must carry
// without operating within its conventional time, and points of its shortest
// operating time above. A current that comes and goes is judged by the share
// of that shortest time it uses up:
//
//	used = Σ Δt / shortest time at that current, over the worst conventional time
//
// A device that has cooled between two peaks has used less, so the sum errs on
// the careful side (engineering judgement, no published source). One tenth is
// the most that is passed without a person's judgement (common practice, no
// source): repeated overloads age a fuse element long before they melt it.

import (
	"fmt"
	"math"

	"chargewright/finding"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/works"
)

// unquestioned is the share of the shortest operating time that needs no
// judgement; common practice, no source.
const unquestioned = 0.1

// longestConventional is the longest conventional time of any family, for one
// whose own is not published (IEC 60269-1: 4 h above 400 A).
const longestConventional quantity.Seconds = 4 * 3600

// wear is a device's curve in steps of one ampere, made for a running sum.
type wear struct {
	device   standard.Device
	carries  quantity.Amperes // conventional non-operating current
	over     quantity.Seconds // conventional time
	perTenth []float64        // share used in a second, by tenths of the rated current
	cite     standard.Citation
}

// newWear reads the curve of a device. A family without published times above
// the current it carries gives an infinite share there.
func newWear(rules *standard.Rulebook, d standard.Device) (*wear, error) {
	w := &wear{device: d}
	carries := float64(d.Rating)
	// The conventional current is the last at which no device need operate.
	for low, high := carries, 4*carries; high-low > 1e-7*carries; {
		mid := (low + high) / 2
		shortest, _, _, err := rules.OperatingTime(d, quantity.Amperes(mid))
		if err != nil {
			return nil, fmt.Errorf("heat in %s: %w", d, err)
		}
		if math.IsInf(float64(shortest), 1) {
			low = mid
		} else {
			high = mid
		}
		w.carries = quantity.Amperes(low)
	}
	w.carries = quantity.Amperes(math.Round(float64(w.carries)*1000) / 1000)
	for _, at := range []quantity.Amperes{w.carries, w.carries * (1 + 1e-6)} {
		shortest, _, cite, err := rules.OperatingTime(d, at)
		if err != nil {
			return nil, err
		}
		w.cite = cite
		if shortest > 0 && !math.IsInf(float64(shortest), 1) {
			w.over = shortest
			break
		}
	}
	if w.over == 0 {
		w.over = longestConventional
	}
	for i := range 200 {
		shortest, _, _, err := rules.OperatingTime(d, d.Rating*quantity.Amperes(i+1)/10)
		if err != nil {
			return nil, err
		}
		w.perTenth = append(w.perTenth, 1/float64(shortest))
	}
	return w, nil
}

// share returns what part of the shortest operating time a second at i uses.
// The curve is read at the tenth of the rating at or above i.
func (w *wear) share(i quantity.Amperes) float64 {
	if i <= w.carries*(1+1e-6) {
		return 0
	}
	n := int(math.Ceil(float64(i/w.device.Rating)*10)) - 1
	return w.perTenth[min(n, len(w.perTenth)-1)]
}

// Heat is what a trace did to a device.
type Heat struct {
	Device   standard.Device
	Carries  quantity.Amperes // conventional non-operating current
	Over     quantity.Seconds // conventional time
	Greatest quantity.Amperes
	Mean     quantity.Amperes // greatest r.m.s. over the conventional time
	Used     float64          // greatest share of the shortest operating time; +Inf where none is published
	Above    quantity.Seconds // time above the rating
	cite     standard.Citation
}

// worse reports whether h used up more, or is hotter where both used the same.
func (h Heat) worse(than Heat) bool {
	if h.Used != than.Used {
		return h.Used > than.Used
	}
	return h.Mean > than.Mean
}

// thermometer sums up heat along a trace in equal parts of the conventional
// time, and finds the greatest sum of as many parts in a row as make it up.
type thermometer struct {
	*wear
	rating, carries   int64    // mA
	part              int64    // ms
	into              int64    // ms gone in the present part
	greatest          int64    // mA
	above             int64    // ms
	before, now       []warmth // the parts of the conventional time before, and of this one
	at                int      // the present part
	sumBefore, sumNow warmth
	most              warmth
}

// warmth is what a stretch of time did to a device.
type warmth struct {
	used   float64 // share of the shortest operating time
	square float64 // A²s
}

func (w *warmth) add(more warmth) { w.used, w.square = w.used+more.used, w.square+more.square }

// newThermometer returns one for currents that last for a whole number of
// steps, in ms. The conventional time is divided in 240, or in steps where
// those are longer and come out even.
func newThermometer(w *wear, step int64) *thermometer {
	over := milliseconds(w.over)
	parts := int64(240)
	if over%step == 0 {
		parts = min(parts, over/step)
	}
	return &thermometer{wear: w, rating: milliamperes(w.device.Rating), carries: milliamperes(w.carries),
		part: max(1, over/parts), before: make([]warmth, parts), now: make([]warmth, parts)}
}

// add takes a current that lasted for some time. One sent out heats as one
// that comes in.
func (t *thermometer) add(i int64, ms int64) {
	i = max(i, -i)
	t.greatest = max(t.greatest, i)
	rate := 0.0
	if i > t.rating {
		t.above += ms
		if i > t.carries {
			rate = t.share(amperes(i))
		}
	}
	square := float64(i) * float64(i) * 1e-6
	for ms > 0 {
		d := min(ms, t.part-t.into)
		s := float64(d) * 1e-3
		more := warmth{rate * s, square * s}
		t.now[t.at].add(more)
		t.sumNow.add(more)
		t.into += d
		ms -= d
		if t.into == t.part {
			t.turn()
		}
	}
}

// turn closes a part. The greatest sums are looked for once in each
// conventional time.
func (t *thermometer) turn() {
	t.into = 0
	if t.at++; t.at < len(t.now) {
		return
	}
	t.look()
	t.before, t.now = t.now, t.before
	t.sumBefore, t.sumNow = t.sumNow, warmth{}
	clear(t.now)
	t.at = 0
}

// look finds the greatest sums that end in the present conventional time. None
// is more than all that is in it and the one before.
func (t *thermometer) look() {
	now := t.now[:min(t.at+1, len(t.now))]
	if sum := t.sumBefore.used; sum+t.sumNow.used > t.most.used {
		for i := range now {
			if sum += now[i].used - t.before[i].used; sum > t.most.used {
				t.most.used = sum
			}
		}
	}
	if sum := t.sumBefore.square; sum+t.sumNow.square > t.most.square {
		for i := range now {
			if sum += now[i].square - t.before[i].square; sum > t.most.square {
				t.most.square = sum
			}
		}
	}
}

// heat closes the account.
func (t *thermometer) heat() Heat {
	over := seconds(t.part * int64(len(t.before)))
	t.look()
	return Heat{Device: t.device, Carries: t.wear.carries, Over: t.over, Greatest: amperes(t.greatest),
		Mean: quantity.Amperes(math.Sqrt(t.most.square / float64(over))), Used: t.most.used, Above: seconds(t.above), cite: t.cite}
}

// worstOfRuns is the cut-out in the hardest of many runs.
var worstOfRuns = works.Thing{Path: works.TheCutOut.Path, Name: "cut-out, worst of the runs"}

// HeatFinding judges the heat in the cut-out in the hardest of many runs, or
// says why it is not known.
func (s *Studied) HeatFinding(worst *Result) finding.Finding {
	if worst.Heat == nil {
		return unknown(start(s.model.Rules, "device heat", "adequacy of supply", worstOfRuns, heatWhat), s.NoHeat)
	}
	return worst.Heat.Finding(s.model.Rules, worstOfRuns)
}

const heatWhat = "current over time stays clear of the device's shortest operating time"

// Finding judges the heat.
func (h Heat) Finding(rules *standard.Rulebook, of works.Thing) finding.Finding {
	f := start(rules, "device heat", "adequacy of supply", of, heatWhat)
	f.Source = standard.Sources(rules.Clause("adequacy of supply"), h.cite)
	f.Value, f.Limit = amount(quantity.Percent(100*h.Used)), amount(quantity.Percent(100*unquestioned))
	f.Margin = amount(quantity.Percent(100 * (unquestioned - h.Used)))
	facts := finding.Say("greatest %v, %v r.m.s. over the worst %v, above its rating for %v; it must carry %v for %v", h.Greatest, h.Mean, h.Over, h.Above,
		h.Carries, h.Over)
	switch {
	case h.Mean > h.Device.Rating*(1+1e-6):
		f = within(f, h.Mean, h.Device.Rating)
		f.Why = facts.Then(finding.Say("loaded beyond its rating for as long as it takes to be hot throughout"))
		f.Next = "limit the load: the fuse is the network operator's, and not a limiter"
	case math.IsInf(h.Used, 1):
		f.Value, f.Limit, f.Margin = amount(h.Greatest), amount(h.Carries), amount(h.Carries-h.Greatest)
		f.Verdict = finding.NotKnown
		f.Why = facts.Then(finding.Say("no shortest operating time is published for %s above that", h.Device))
		f.Next = "ask the maker of the fuse for its time-current curve, or lower the limit"
	case h.Used >= 1:
		f.Verdict = finding.Fails
		f.Why = facts.Then(finding.Say("it may operate"))
		f.Next = "lower the limit, or make the limiter faster"
	case h.Used > unquestioned:
		f.Verdict = finding.JudgeOnSite
		f.Why = facts.Then(finding.Say("overloads this long age it (one tenth is common practice, no source)"))
		f.Next = "lower the limit, or make the limiter faster"
	case h.Above > 0:
		f.Verdict = finding.Meets
		f.Why = facts
		f.Next = "do not use the room between the rating and the fusing current as a design margin"
	default:
		f.Value, f.Limit, f.Margin = amount(h.Greatest), amount(h.Device.Rating), amount(h.Device.Rating-h.Greatest)
		f.Verdict = finding.Meets
		f.Why = facts
	}
	return f
}
