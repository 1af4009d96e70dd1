package commission

import (
	_ "embed"
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"

	"chargewright/finding"
	"chargewright/pilot"
	"chargewright/quantity"
	"chargewright/sheet"
	"chargewright/standard"
)

//go:embed tables/pilot-signal.csv
var pilotSignal string

// window is one row of the signal table.
type window struct {
	Key        string  `col:"key,key"`
	What       string  `col:"what"`
	Low        float64 `col:"low,must"`
	High       float64 `col:"high,must"`
	Unit       string  `col:"unit"`
	Row        string  `col:"row"`
	Source     string  `col:"source"`
	Confidence string  `col:"confidence"`
}

// pilotWindows reads the signal table.
func pilotWindows() (map[string]window, error) {
	rows, err := sheet.Rows("pilot-signal.csv", pilotSignal, func(w *window, row sheet.Row) {
		if w.Low >= w.High {
			row.Fault("low", row.Get("low"), "it must lie below high")
		}
	})
	out := map[string]window{}
	for _, w := range rows {
		out[w.Key] = w
	}
	return out, err
}

// hertz and microseconds print what no other room measures.
type hertz struct{}

func (hertz) Show(n float64) string {
	return strconv.FormatFloat(math.Round(10*n)/10, 'f', -1, 64) + " Hz"
}
func (hertz) Unit() string { return "Hz" }

type microseconds struct{}

func (microseconds) Show(n float64) string { return strconv.FormatFloat(n, 'g', 3, 64) + " µs" }
func (microseconds) Unit() string          { return "µs" }

func volts(v quantity.Volts) finding.Amount { return finding.Of(float64(v), v.Measure()) }

// pilotJudge holds one measurement against the rules.
type pilotJudge struct {
	in      Intent
	rules   *standard.Rulebook
	windows map[string]window
	out     []finding.Finding
}

// CheckPilot holds what was measured on the control pilot against IEC 61851-1
// and against the design: the state's level, the negative peak (is a diode
// there), frequency, rise, and whether the duty cycle offers the current the
// design has, and no more than the cable's coding.
//
// What was not measured is not known; it does not pass.
func CheckPilot(in Intent, seen pilot.Seen, rules *standard.Rulebook) ([]finding.Finding, error) {
	windows, err := pilotWindows()
	if err != nil {
		return nil, err
	}
	j := &pilotJudge{in: in, rules: rules, windows: windows}
	j.level(seen)
	if !seen.Steady {
		j.between("negative", plain(seen.Low), quantity.Volts(0).Measure(), 1,
			"without the negative peak the charge point cannot tell a vehicle from water or a meter: it must not close")
		j.between("frequency", seen.Frequency, hertz{}, 1, "the oscillator is off: the charge point's electronics")
		j.rise(seen)
	}
	j.offer(seen)
	j.coding(seen)
	return j.out, nil
}

func (j *pilotJudge) add(key, what, clause string, source finding.Sources) *finding.Finding {
	j.out = append(j.out, finding.Finding{Key: "pilot " + key, Path: j.in.thing().Path, Subject: j.in.thing().Name + ", control pilot", What: what,
		Clause: finding.Clause{Name: clause}, Source: source})
	return &j.out[len(j.out)-1]
}

// level finds the state by the positive level, or holds it against the state
// that was set.
func (j *pilotJudge) level(seen pilot.Seen) {
	f := j.add("level", "positive level is that of the state", "IEC 61851-1 Table A.4", nil)
	high, known := seen.High.Get()
	if !known {
		f.Why, f.Next = finding.Say("the positive level was not measured"), "measure pilot to protective earth at the connector"
		return
	}
	f.Value = volts(high)
	state := ""
	for _, s := range []string{"A", "B", "C", "D", "E", "F"} {
		level, cite, err := j.rules.PilotState(s)
		if err != nil {
			continue
		}
		in := high >= level.Low && high <= level.High
		if in {
			state = s
		}
		if s != seen.State && !(seen.State == "" && in) {
			continue
		}
		f.Source = standard.Sources(cite)
		near, far := level.Low, level.High
		f.Limit = volts(near)
		if math.Abs(float64(high-far)) < math.Abs(float64(high-near)) {
			f.Limit = volts(far)
		}
		f.Margin = volts(min(high-level.Low, level.High-high))
	}
	switch {
	case state == "":
		f.Verdict, f.Why = finding.Fails, finding.Say("%v lies between the states: neither end can tell what is meant", high)
		f.Next = "measure the resistor at both ends of the cable; a dirty contact or a long cable moves the level"
	case seen.State == "":
		f.Verdict, f.Why = finding.Meets, finding.Say("%v is state %s", high, state)
	case state != seen.State:
		f.Verdict, f.Why = finding.Fails, finding.Say("%v is state %s; the simulator was set to %s", high, state, seen.State)
		f.Next = stateHint(seen.State, state)
	default:
		f.Verdict, f.Why = finding.Meets, finding.Say("%v is state %s, as set", high, state)
	}
}

// stateHint says what to look at when one state was set and another is seen.
// Source: the fault signs of the pilot table (from memory: trade reasoning).
func stateHint(set, seen string) string {
	switch {
	case seen == "A":
		return "the pilot core is open, a pin is bent or protective earth is interrupted: continuity of both, dead"
	case seen == "E":
		return "the pilot touches protective earth, is wet, or the unit is off: unplug and measure again"
	case set == "C" && seen == "B":
		return "the switched resistor is open: the simulator's own switch or lead"
	}
	return "measure the simulator's resistors: 2740 Ω, 882 Ω and 246 Ω with a diode"
}

// plain is a voltage as a number.
func plain(v quantity.Maybe[quantity.Volts]) quantity.Maybe[float64] {
	if n, known := v.Get(); known {
		return quantity.Known(float64(n))
	}
	return quantity.Maybe[float64]{}
}

func nearer(w window, n float64) float64 {
	if math.Abs(n-w.High) < math.Abs(n-w.Low) {
		return w.High
	}
	return w.Low
}

// between holds a value against its window; scale is what one of the table's
// units is.
func (j *pilotJudge) between(key string, seen quantity.Maybe[float64], m finding.Measure, scale float64, next string) {
	w := j.windows[key]
	f := j.add(key, w.What, w.Source, finding.From(w.Source, w.Confidence+"; row "+w.Row))
	v, known := seen.Get()
	if !known {
		f.Why, f.Next = finding.Say("it was not measured"), "measure it with an oscilloscope or an adapter that shows it"
		return
	}
	n := v / scale
	f.Value, f.Limit, f.Margin = finding.Of(n, m), finding.Of(nearer(w, n), m), finding.Of(min(n-w.Low, w.High-n), m)
	f.Verdict = finding.Meets
	if !(n >= w.Low && n <= w.High) {
		f.Verdict, f.Next = finding.Fails, next
	}
	f.Why = finding.Say("%s; between %s and %s is wanted", m.Show(n), m.Show(w.Low), m.Show(w.High))
}

// rise judges the rise time, which the standard states without a vehicle: with
// one, or with a cable, it may be longer.
func (j *pilotJudge) rise(seen pilot.Seen) {
	if apart, coarse := seen.Coarse.Get(); coarse {
		w := j.windows["rise"]
		f := j.add("rise", w.What, w.Source, finding.From(w.Source, w.Confidence+"; row "+w.Row))
		f.Why = finding.Say("the trace has a sample every %s: too far apart to show the edge", microseconds{}.Show(apart*1e6))
		f.Next = "take a piece of a few periods with a sample every 0.5 µs or less"
		return
	}
	j.between("rise", seen.Rise, microseconds{}, 1e-6, "unplug everything and measure at the point itself; then its output stage")
	f := &j.out[len(j.out)-1]
	if f.Verdict == finding.Fails && seen.State != "" && seen.State != "A" {
		f.Verdict = finding.JudgeOnSite
		f.Why = f.Why.Then(finding.Say("the figure is for no vehicle; cable and vehicle slow the edge"))
	}
}

// offer compares the advertised current with the design and the cable.
func (j *pilotJudge) offer(seen pilot.Seen) {
	f := j.add("offer", "advertised current is that of the design", "IEC 61851-1 Annex A", nil)
	duty, known := seen.Duty.Get()
	if seen.Steady {
		duty, known = 100, true
	}
	if !known {
		f.Why, f.Next = finding.Say("the duty cycle was not measured"), "measure it in state B or C, once the point has allowed the charge"
		return
	}
	advertised, cite, err := j.rules.PilotCurrent(duty)
	if err != nil {
		f.Why, f.Next = finding.Say("%v", err), "measure it again"
		return
	}
	f.Source = standard.Sources(cite)
	f.Value = amps(advertised)
	want, has := j.in.Current.Get()
	if !has {
		f.Why = finding.Say("the duty cycle of %v offers %v; the job needs %s", duty, advertised, j.in.Gaps["current"])
		f.Next = "write the point's power and phases into the job"
		f.Lacks = j.in.Gaps["current"]
		return
	}
	lowest := fmt.Sprintf("the design's %v", want)
	if single, three, _, ok := j.cable(seen); ok {
		code := single
		if j.in.Phases.Or(1) == 3 {
			code = three
		}
		if code < want {
			want, lowest = code, fmt.Sprintf("the %v the cable is coded for", code)
		}
	}
	f.Limit, f.Margin = amps(want), amps(want-advertised)
	room := quantity.Amperes(0.6 * j.windows["duty"].High) // one point of duty is 0.6 A
	if advertised > 51 {
		room = quantity.Amperes(2.5 * j.windows["duty"].High)
	}
	switch {
	case seen.Steady:
		f.Verdict, f.Why, f.Next = finding.NotKnown, finding.Say("the pilot is steady: nothing is offered"),
			"not allowed yet, a schedule, a limit below 6 A or the random delay: read the reason in the unit before touching wiring"
	case advertised == 0:
		f.Verdict, f.Why, f.Next = finding.Fails, finding.Say("a duty cycle of %v offers no current", duty),
			"outside 8 to 97 % a vehicle does not charge by the pilot alone"
	case advertised > want+room:
		f.Verdict, f.Why, f.Next = finding.Fails, finding.Say("a duty cycle of %v offers %v, more than %s", duty, advertised, lowest),
			"set the greatest current in the point; the cable is not protected by its offer alone"
	case advertised < want-room:
		f.Verdict, f.Why, f.Next = finding.JudgeOnSite, finding.Say("a duty cycle of %v offers %v, less than %s", duty, advertised, lowest),
			"list every limit: cable code, load limiter, temperature; one of them equals the reading"
	default:
		f.Verdict, f.Why = finding.Meets, finding.Say("a duty cycle of %v offers %v; %s", duty, advertised, lowest)
	}
}

func (j *pilotJudge) cable(seen pilot.Seen) (single, three quantity.Amperes, cite standard.Citation, ok bool) {
	r, known := seen.Cable.Get()
	if !known {
		return 0, 0, standard.Citation{}, false
	}
	single, three, cite, err := j.rules.CableCoding(r)
	return single, three, cite, err == nil
}

// coding judges the coding resistor of a separate cable.
func (j *pilotJudge) coding(seen pilot.Seen) {
	r, known := seen.Cable.Get()
	if !known {
		return // a tethered point has none
	}
	f := j.add("cable coding", "the plug's resistor says what the cable carries", "IEC 61851-1 Annex B", nil)
	f.Value = finding.Of(float64(r), r.Measure())
	single, three, cite, ok := j.cable(seen)
	if !ok {
		f.Verdict, f.Why, f.Next = finding.Fails, finding.Say("%v is the code of no cable: no plug, a broken contact or a short circuit", r),
			"measure proximity to protective earth in the plug itself; charging must not begin"
		return
	}
	f.Source = standard.Sources(cite)
	i := slices.IndexFunc(j.rules.CableCodes(), func(c standard.CableCode) bool { return r >= c.PassLow && r <= c.PassHigh })
	f.Verdict, f.Why = finding.Meets, finding.Say("%v: %v on one phase, %v on three", r, single, three)
	if i < 0 {
		f.Verdict, f.Next = finding.JudgeOnSite, "clean the contacts and measure again"
		f.Why = f.Why.Then(finding.Say("it reads as this code, but on the edge of what a sound plug has"))
	}
}

// CheckStates holds the positive level of each state that the vehicle simulator
// was set to, "A" to "F", against the standard.
func CheckStates(in Intent, levels map[string]quantity.Volts, rules *standard.Rulebook) ([]finding.Finding, error) {
	j := &pilotJudge{in: in, rules: rules}
	for _, state := range slices.Sorted(maps.Keys(levels)) {
		if _, _, err := rules.PilotState(state); err != nil {
			return nil, err
		}
		j.level(pilot.Seen{State: state, High: quantity.Known(levels[state])})
		f := &j.out[len(j.out)-1]
		f.Key, f.Subject = "pilot level "+state, f.Subject+", state "+state
	}
	return j.out, nil
}

// soonest are the times before which nothing may happen; every other is the
// longest that an answer may take.
var soonest = []string{"forced opening after pilot steady", "between duty changes"}

// CheckTimes holds how long answers took, by the keys of the rules, against the
// standard.
func CheckTimes(in Intent, times map[string]string, rules *standard.Rulebook) ([]finding.Finding, error) {
	j := &pilotJudge{in: in, rules: rules}
	for _, key := range slices.Sorted(maps.Keys(times)) {
		limit, cite, err := rules.PilotTime(key)
		if err != nil {
			return nil, err
		}
		took, err := quantity.ParseSeconds(times[key])
		if err != nil {
			return nil, err
		}
		if took < 0 {
			return nil, fmt.Errorf("%s took %v: a time goes forward", key, took)
		}
		f := j.add("time "+key, "time to "+key, "IEC 61851-1 Annex A", standard.Sources(cite))
		value, most := seconds(float64(took)), seconds(float64(limit))
		if slices.Contains(soonest, key) {
			*f = f.AtLeast(value, most)
			f.Why = finding.Say("%v; not before %v", took, limit)
		} else {
			*f = f.AtMost(value, most)
			f.Why = finding.Say("%v; %v at most", took, limit)
		}
		if f.Verdict == finding.Fails {
			f.Next = "measure it again with the simulator; an outlet that is slow to open is taken out of use"
		}
	}
	return j.out, nil
}

// JudgePilot holds a measurement against the standard and the design: the
// levels of each state, if they were given, and the rest. A trace may be nil;
// figures typed stand over it.
func JudgePilot(in Intent, typed pilot.Typed, trace *pilot.Seen, rules *standard.Rulebook) ([]finding.Finding, error) {
	levels := map[string]quantity.Volts{}
	for state, text := range typed.Levels {
		v, err := quantity.ParseVolts(text)
		if err != nil {
			return nil, &pilot.TypedError{Field: "levels", Err: err}
		}
		levels[state] = v
	}
	states, err := CheckStates(in, levels, rules)
	if err != nil {
		return nil, &pilot.TypedError{Field: "levels", Err: err}
	}
	timed, err := CheckTimes(in, typed.Times, rules)
	if err != nil {
		return nil, &pilot.TypedError{Field: "times", Err: err}
	}
	states = append(states, timed...)
	seen, err := typed.Seen(trace)
	if err != nil || len(states) > 0 && seen == (pilot.Seen{}) {
		return states, err
	}
	rest, err := CheckPilot(in, seen, rules)
	return append(states, rest...), err
}
