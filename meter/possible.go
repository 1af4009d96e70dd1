package meter

import (
	"fmt"
	"math"
	"strings"

	"chargewright/quantity"
)

// What a reading of a low-voltage installation can be. Every bound is wide: it is
// not whether the supply is good, but whether these can be volts at all.
// Source: BS EN 50160 has 230 V ± 10 % and 50 Hz ± 1 %, the rest is engineering
// judgement.
const (
	leastVolts    = 150    // of a line that is there
	mostVolts     = 300    //
	noVolts       = 5      // of a line that is not there
	mostAmperes   = 6000   // of a low-voltage supply
	leastHertz    = 45     //
	mostHertz     = 66     //
	mostFactor    = 1.05   // of power to volts times amperes, for two readings a moment apart
	leastFactor   = 0.15   // of a load worth speaking of: an idle motor or transformer has about as much
	worthSpeaking = 2000   // VA
	slack         = 30     // W
	mostEnergy    = 1e11   // Wh: a hundred years of a megawatt
	mostPower     = 1e6    // W, between two readings
	between       = 1.7320 // of volts between lines to volts to neutral
)

// ImpossibleError says that what was read cannot be, and what layout of the
// registers would make it possible.
type ImpossibleError struct {
	Reading Reading
	Why     []string
	Try     []Layout // nearest first
}

func (e *ImpossibleError) Error() string {
	text := "what was read cannot be: " + strings.Join(e.Why, "; ")
	if len(e.Try) == 0 {
		return text + ": take the register map of the meter's own papers, and mind whether they count from 0 or 1"
	}
	var ways []string
	for _, l := range e.Try {
		ways = append(ways, l.String())
	}
	return text + ": it could be read " + strings.Join(ways, ", or ")
}

// impossible returns what of a reading cannot be.
func (m Reading) impossible() (why []string) {
	say := func(format string, args ...any) { why = append(why, fmt.Sprintf(format, args...)) }
	live, dead := 0, 0
	for k := range m.Voltage {
		v, known := m.Voltage[k].Get()
		switch n := float64(v); {
		case !known:
		case math.Abs(n) < noVolts:
			dead++
		case n >= leastVolts && n <= mostVolts:
			live++
		case n >= leastVolts*between && n <= mostVolts*between:
			say("voltage L%d is %v: that is between two lines, not to neutral", k+1, v)
		default:
			say("voltage L%d is %s V", k+1, plain(n))
		}
	}
	if dead > 0 && live == 0 && len(why) == 0 {
		say("no line has a voltage, and yet the meter answers")
	}
	for k := range m.Current {
		i, known := m.Current[k].Get()
		if known && math.Abs(float64(i)) > mostAmperes {
			say("current L%d is %s A", k+1, plain(float64(i)))
		}
		v, volts := m.Voltage[k].Get()
		p, power := m.Power[k].Get()
		if known && volts && power {
			held(say, fmt.Sprintf("power L%d", k+1), float64(p), math.Abs(float64(v)*float64(i)))
		}
	}
	sum, all, va, apparent := m.sums()
	if total, known := m.Total.Get(); known {
		switch off := math.Abs(float64(total) - sum); {
		case all && off > 0.05*math.Max(math.Abs(sum), math.Abs(float64(total)))+slack:
			say("the whole power is %s W, the lines add up to %s W", plain(float64(total)), plain(sum))
		case !all && apparent:
			held(say, "the whole power", float64(total), va)
		}
	}
	if f, known := m.Frequency.Get(); known && !(f >= leastHertz && f <= mostHertz) {
		say("frequency is %s Hz", plain(f))
	}
	if e, known := m.Energy.Get(); known && !(e >= 0 && e <= mostEnergy) {
		say("energy is %s Wh", plain(float64(e)))
	}
	return why
}

// held holds a power against volts times amperes.
func held(say func(string, ...any), what string, watts, va float64) {
	watts = math.Abs(watts)
	switch {
	case watts > mostFactor*va+slack:
		say("%s is %s W, volts times amperes are %s VA", what, plain(watts), plain(va))
	case va > worthSpeaking && watts < leastFactor*va:
		say("%s is %s W, volts times amperes are %s VA", what, plain(watts), plain(va))
	}
}

// sums adds up power and volts times amperes over the lines, and says whether
// every line that has a current has each.
func (m Reading) sums() (watts float64, all bool, va float64, apparent bool) {
	all, apparent = true, true
	some := false
	for k := range m.Current {
		p, power := m.Power[k].Get()
		i, current := m.Current[k].Get()
		v, volts := m.Voltage[k].Get()
		watts, va = watts+float64(p), va+math.Abs(float64(v)*float64(i))
		some = some || power
		all = all && (power || !current)
		apparent = apparent && current == volts
		if current && volts {
			some = true
		}
	}
	return watts, all && some, va, apparent && some
}

// since returns what cannot be of a reading after an earlier one.
func (m Reading) since(before Reading) (why []string) {
	e0, a := before.Energy.Get()
	e1, b := m.Energy.Get()
	if !a || !b {
		return nil
	}
	const count = 1 // Wh: of a register
	hours := m.At.Sub(before.At).Hours()
	switch on := float64(e1 - e0); {
	case on < -count:
		return []string{fmt.Sprintf("the energy ran back from %s Wh to %s Wh: two meters, or a register that is no import", plain(float64(e0)), plain(float64(e1)))}
	case hours > 0 && on > mostPower*hours+1000*count:
		return []string{fmt.Sprintf("the energy went on by %s Wh in %v", plain(on), quantity.Seconds(3600*hours))}
	}
	return nil
}

// plain writes a number that may be of any size.
func plain(n float64) string { return fmt.Sprintf("%.4g", n) }
