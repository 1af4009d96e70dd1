package demand

// One run of a site through time, and what came of it.

import (
	"fmt"
	"math"
	"time"

	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/trade"
)

// bayFacts is a charge point in a run.
type bayFacts struct {
	Name  string
	On    [3]bool          // lines that feed it
	First int              // the line a single-phase vehicle loads at a three-phase point
	Most  quantity.Amperes // per line
	Least quantity.Amperes // below it the point pauses
	By    int              // which limiter holds it: 0 for Control, else the place in Further, from 1
}

// runSpan is a stretch of a run.
type runSpan struct{ From, To quantity.Seconds }

// furtherControl is a limiter in series with another: what it holds back is other
// load to that.
type furtherControl struct {
	limiterControl
	Behind Lines            // what hangs on its board besides its points
	Reads  quantity.Percent // how far its clamp reads off
}

// dailyFault is what befalls a limiter's readings at a time of every day.
type dailyFault struct {
	At, Until int64 // s of the day
	Kind      faultKind
}

// faultKind is what befalls readings.
type faultKind string

// Kinds of fault, as they are asked for.
const (
	faultLost     faultKind = "lost"     // no reading comes
	faultZero     faultKind = "zero"     // the clamp reads nothing
	faultReversed faultKind = "reversed" // it reads the wrong way about
	faultLow      faultKind = "low"      // it reads half of what flows, which may be less than the points take
	faultPowerUp  faultKind = "power-up" // the limiter starts anew
)

// faultKinds is every kind.
var faultKinds = []faultKind{faultLost, faultZero, faultReversed, faultLow, faultPowerUp}

// runSetup is everything a run depends on. It is used up by the run: sources
// and fleets go on from where they are.
type runSetup struct {
	Start   time.Time     // local time, in its own zone
	Step    time.Duration // whole seconds, 1 s to 30 min
	Length  time.Duration
	Volts   quantity.Volts // nominal, line to neutral, whole volts
	Site    otherLoads
	Bays    []bayFacts
	Visits  visitSource
	Control *limiterControl  // nil for none
	Behind  *Lines           // where the limiter is at a board of its own: the loads there, which are all it sees; nil at the supply
	Reads   quantity.Percent // how far the clamp reads off, below zero for low
	Further []furtherControl // limiters in series with Control, each with points of its own
	Faults  []dailyFault     // of Control's readings, every day
	Lost    []runSpan        // when the clamp's signal is lost, in order
	Surplus bool             // charge from surplus power alone
	Tariff  *dayTariff       // nil for none
	Device  *standard.Device // whose heat is followed; nil for none
	Rules   *standard.Rulebook
	Drops   *dropModel   // nil for none
	Record  bool         // keep the currents of every step; only for short runs
	left    func() error // says that nobody waits for the run any more; nil for to the end
}

// Result is what came of a run.
type Result struct {
	Step         time.Duration
	Steps        int64
	Peak         Lines            // greatest of a step
	PeakAt       [3]time.Time     //
	SiteHalfHour Lines            // the same of the other loads alone
	HalfHour     Lines            // greatest mean of a clock half-hour
	Neutral      quantity.Amperes // greatest, lines 120° apart at one power factor, no harmonics
	Site         millijoules      // other loads, as they were
	Points       millijoules      // charge points
	Import       millijoules      // net of all lines, where it comes in
	Export       millijoules      // and where it goes out
	Cost         wholePence       // imports less exports
	Costs        []wholePence     // by point, of its own energy at the import rates; they add up to PointsCost
	PointsCost   wholePence
	Bays         []bayResult
	Lowest       []lowVoltage
	Heat         *Heat
	Worst        []Sample // the worst ten minutes of the most loaded line, by mean square
	WorstLine    int
	WorstAt      time.Time
	Trace        []Sample   // every step, where the scenario asks for it
	hours        [4][]int64 // steps by ampere: three lines, then neutral
}

// millijoules is in whole millijoules.
type millijoules int64

// WattHours returns the energy in Wh.
func (e millijoules) WattHours() quantity.WattHours { return quantity.WattHours(float64(e) / 3.6e6) }

// bayResult is what came of one point.
type bayResult struct {
	Name    string
	Energy  millijoules
	Visits  int
	NotFull int              // vehicles that left without all they needed
	Short   millijoules      // what those lacked
	Held    quantity.Seconds // time with less than the vehicle could take
	Paused  quantity.Seconds // of that, time with nothing
}

// lowVoltage is the lowest voltage of a watched place.
type lowVoltage struct {
	watchedPlace
	Volts quantity.Volts
	When  time.Time
}

// Sample is the currents of a step.
type Sample struct {
	Others, Points Lines
}

// Total returns the current of a line.
func (s Sample) Total(line int) quantity.Amperes { return s.Others[line] + s.Points[line] }

// Above returns how long a line carried at least i, to the whole ampere below.
func (r *Result) Above(line int, i quantity.Amperes) quantity.Seconds {
	sum := int64(0)
	for a := max(0, int(i)); a < len(r.hours[line]); a++ {
		sum += r.hours[line][a]
	}
	return quantity.Seconds(float64(sum) * r.Step.Seconds())
}

// Duration returns, for a line, the current that was reached or passed for
// each share of the time, from 0 to 1 in equal parts.
func (r *Result) Duration(line, parts int) []quantity.Amperes {
	out := make([]quantity.Amperes, parts+1)
	sum, n := int64(0), 0
	for a := len(r.hours[line]) - 1; a >= 0; a-- {
		sum += r.hours[line][a]
		for n <= parts && float64(sum) >= float64(r.Steps)*float64(n)/float64(parts) && sum > 0 {
			out[n] = quantity.Amperes(a)
			n++
		}
	}
	return out
}

// Held returns the time all points together were held back.
func (r *Result) Held() quantity.Seconds {
	var sum quantity.Seconds
	for _, b := range r.Bays {
		sum += b.Held
	}
	return sum
}

// NotFull returns how many vehicles left without all they needed, and of how many.
func (r *Result) NotFull() (notFull, of int) {
	for _, b := range r.Bays {
		notFull += b.NotFull
		of += b.Visits
	}
	return notFull, of
}

// check says what is wrong with a scenario.
func (s *runSetup) check() error {
	switch {
	case s.Step < time.Second || s.Step > 30*time.Minute || s.Step%time.Second != 0:
		return fmt.Errorf("run: the step is %v: whole seconds from 1 s to 30 min are wanted", s.Step)
	case s.Length < s.Step || s.Length > 11*366*24*time.Hour:
		return fmt.Errorf("run: the length is %v: one step to ten years is wanted", s.Length)
	case !(s.Volts > 0) || s.Volts != quantity.Volts(math.Round(float64(s.Volts))) || s.Volts > 1000:
		return fmt.Errorf("run: the nominal voltage is %v: whole volts are wanted", s.Volts)
	case s.Site == nil || s.Visits == nil:
		return fmt.Errorf("run: the other loads and the vehicles are wanted, if only as none")
	case s.Device != nil && s.Rules == nil:
		return fmt.Errorf("run: the heat of %v needs the rulebook", *s.Device)
	case s.Tariff != nil && len(s.Tariff.Rates) == 0:
		return fmt.Errorf("run: the tariff has no rate")
	case s.Control != nil && !(s.Control.Limit > 0):
		return fmt.Errorf("run: limiter %s: a limit above 0 A is wanted", s.Control.Name)
	case s.Surplus && s.Control == nil:
		return fmt.Errorf("run: charging from surplus alone needs a limiter that sees it")
	case s.Drops != nil && len(s.Drops.bays) > 0 && len(s.Drops.bays[0]) != len(s.Bays):
		return fmt.Errorf("run: voltages are known for %d points and there are %d", len(s.Drops.bays[0]), len(s.Bays))
	}
	for _, c := range s.Further {
		if !(c.Limit > 0) {
			return fmt.Errorf("run: limiter %s: a limit above 0 A is wanted", c.Name)
		}
	}
	for _, b := range s.Bays {
		if b.By < 0 || b.By > len(s.Further) {
			return fmt.Errorf("run: point %s: limiter %d of %d", b.Name, b.By, len(s.Further))
		}
		if !(b.Most > 0) || !(b.Least > 0) || b.On == [3]bool{} {
			return fmt.Errorf("run: point %s: its lines, its current and its least current are wanted, above 0 A", b.Name)
		}
	}
	return nil
}

// sharing is how points share where a scenario has no limiter.
func (s *runSetup) sharing() trade.Sharing {
	if s.Control == nil {
		return trade.EqualShares
	}
	return s.Control.Sharing
}
