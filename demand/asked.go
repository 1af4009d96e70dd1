package demand

// What a person asks of the runs, in the words it is asked in.

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"chargewright/model"
	"chargewright/quantity"
	"chargewright/sheet"
)

// Asked is what is asked of the runs of a job. What is not said is as usual for
// the premises.
type Asked struct {
	Years   float64
	Step    time.Duration
	Arrive  string                  // time of day at which vehicles usually come
	Stay    float64                 // hours
	Needs   float64                 // kWh
	Daily   float64                 // share of the days with a vehicle
	Three   quantity.Maybe[float64] // share of vehicles that charge on three phases
	Onboard string                  // current of the on-board chargers, per line
	Rates   string                  // tariff, like 00:00=8.95,05:00=27.4
	Sun     float64                 // kW
	Surplus bool
	Faults  []string // of the limiter's readings, every day: "zero 18:00 10m"
}

// AskedError is something asked that cannot be, with the field it was asked in.
type AskedError struct{ Field, Reason string }

func (e *AskedError) Error() string { return e.Field + ": " + e.Reason }

func cannot(field, format string, args ...any) error {
	return &AskedError{field, fmt.Sprintf(format, args...)}
}

// Plan makes a plan of what was asked, for a site in a time zone, from a
// recording if there is one.
func (a Asked) Plan(m *model.Model, log *Log, zone *time.Location) (Plan, error) {
	p := Plan{Step: a.Step, Log: log, Drops: true, Sun: quantity.Watts(1000 * a.Sun), Surplus: a.Surplus}
	if !(a.Years > 0) || a.Years > 10 {
		return p, cannot("years", "%v: above 0 and up to 10 is wanted", a.Years)
	}
	if !(a.Sun >= 0) || a.Sun > 1e5 {
		return p, cannot("sun", "%v: a peak power in kW is wanted", a.Sun)
	}
	if a.Step < time.Second || a.Step > 30*time.Minute || a.Step%time.Second != 0 {
		return p, cannot("step", "%v: whole seconds from 1s to 30m are wanted", a.Step)
	}
	p.Start = begins(log, zone)
	p.Length = max((time.Duration(a.Years * 365 * 24 * float64(time.Hour))).Truncate(a.Step), a.Step)
	var err error
	if p.Faults, err = readFaults(a.Faults); err != nil {
		return p, err
	}
	if p.Fleet, err = a.fleet(m); err != nil {
		return p, err
	}
	p.Tariff, err = readRates(a.Rates)
	return p, err
}

// YearPlan is the plan of a year as usual, for the maximum demand.
func YearPlan(log *Log, zone *time.Location) Plan {
	p := Plan{Start: begins(log, zone), Step: time.Minute, Length: 365 * 24 * time.Hour, Log: log}
	if log != nil && log.Step%time.Minute != 0 {
		p.Step = min(log.Step, 30*time.Minute)
	}
	return p
}

// begins is when the runs begin: with the recording, or on the first Monday of
// a year.
func begins(log *Log, zone *time.Location) time.Time {
	if log != nil {
		return log.Start.In(zone)
	}
	return time.Date(2026, 1, 5, 0, 0, 0, 0, zone)
}

// Steps is how many steps a run of the plan has.
func (p Plan) Steps() int64 { return int64(p.Length / p.Step) }

// fleet changes the usual fleet of the premises by what was said.
func (a Asked) fleet(m *model.Model) (*fleet, error) {
	f := usualFleet(m)
	if a.Arrive != "" {
		at, err := time.Parse("15:04", a.Arrive)
		if err != nil {
			return nil, cannot("arrive", "%q: a time of day is wanted, like 17:30", a.Arrive)
		}
		f.Hour = float64(at.Hour()) + float64(at.Minute())/60
	}
	for _, set := range []struct {
		field string
		said  float64
		to    *float64
		most  float64
	}{{"stay", a.Stay, &f.Stay, 240}, {"daily", a.Daily, &f.Daily, 1}} {
		if !(set.said >= 0) || set.said > set.most {
			return nil, cannot(set.field, "%v: above 0 and up to %v is wanted", set.said, set.most)
		}
		if set.said > 0 {
			*set.to = set.said
		}
	}
	if !(a.Needs >= 0) || a.Needs > 1000 {
		return nil, cannot("needs", "%v: an energy in kWh is wanted", a.Needs)
	}
	if a.Needs > 0 {
		f.Needs, f.NeedsSD = quantity.WattHours(1000*a.Needs), quantity.WattHours(500*a.Needs)
	}
	if share, said := a.Three.Get(); said {
		if !(share >= 0 && share <= 1) {
			return nil, cannot("three-phase", "%v: a share from 0 to 1 is wanted", share)
		}
		f.Three = share
	}
	if a.Onboard != "" {
		i, err := quantity.ParseAmperes(a.Onboard)
		if err != nil || !(i >= 6) || i > 1000 {
			return nil, cannot("onboard", "%q: a current per line of 6 A or more is wanted, like 16 A", a.Onboard)
		}
		f.MostOne, f.MostTri = i, i
	}
	return &f, nil
}

// readRates reads a tariff such as 00:00=8.95,05:00=27.4; nothing is none.
func readRates(text string) (*dayTariff, error) {
	if text == "" {
		return nil, nil
	}
	t := &dayTariff{}
	for _, part := range strings.Split(text, ",") {
		from, pence, ok := strings.Cut(strings.TrimSpace(part), "=")
		at, err1 := time.Parse("15:04", from)
		rate, err2 := strconv.ParseFloat(pence, 64)
		if !ok || err1 != nil || err2 != nil || math.Abs(rate) > 1000 || rate != rate {
			return nil, cannot("rates", "%q: a time of day and pence for a kWh are wanted, like 05:00=27.4", part)
		}
		since := time.Duration(at.Hour())*time.Hour + time.Duration(at.Minute())*time.Minute
		if n := len(t.Rates); n > 0 && since <= t.Rates[n-1].From {
			return nil, cannot("rates", "%q: later than the time before it is wanted", part)
		}
		t.Rates = append(t.Rates, tariffRate{From: since, Pence: rate})
	}
	return t, nil
}

// readFaults reads what befalls a limiter's readings every day: "zero 18:00 10m".
func readFaults(said []string) ([]dailyFault, error) {
	var out []dailyFault
	for _, one := range said {
		words := strings.Fields(one)
		var at time.Time
		var lasts time.Duration
		err := error(nil)
		if len(words) == 3 {
			if at, err = time.Parse("15:04", words[1]); err == nil {
				lasts, err = time.ParseDuration(words[2])
			}
		}
		if len(words) != 3 || err != nil || lasts < time.Second || lasts > 24*time.Hour || !slices.Contains(faultKinds, faultKind(words[0])) {
			return nil, cannot("fault", "%q: what befalls the limiter's readings, a time of day and how long are wanted, like \"zero 18:00 10m\"; there are %v", one,
				faultKinds)
		}
		from := int64(at.Hour()*3600 + at.Minute()*60)
		out = append(out, dailyFault{from, from + int64(lasts.Seconds()), faultKind(words[0])})
	}
	return out, nil
}

// SettingFor is what a job says of its supply to the reader of a recording.
func SettingFor(m *model.Model, file string) (Setting, error) {
	u0, known := m.U0().Get()
	phases, ok := m.Job.Supply.Phases.Get()
	if !known || !ok {
		return Setting{}, sheet.Fault{File: file, Want: "the recording cannot be made currents: the job does not say the supply's voltage and phases"}
	}
	return Setting{Volts: u0, Phases: phases}, nil
}
