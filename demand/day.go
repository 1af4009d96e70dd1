package demand

// A day told in words: what the other loads draw, what that leaves, and what
// becomes of the vehicle.

import (
	"fmt"
	"math"
	"sort"
	"strings"
	"time"

	"chargewright/model"
	"chargewright/quantity"
	"chargewright/standard"
)

// lineOffer is what a limit leaves for a charge point at one moment.
type lineOffer struct {
	Others quantity.Amperes // in the line that decides
	Left   quantity.Amperes // below zero where the others alone pass the limit
	Given  quantity.Amperes // 0 is a pause
	Held   bool             // less than the point could give
}

// offerAt returns what is left of a limit, and what the point gets of it.
//
//	given  the least of what is left and what the point can give; 0 below its least current
func offerAt(limit quantity.Amperes, others Lines, on [3]bool, most, least quantity.Amperes) lineOffer {
	o := lineOffer{Left: quantity.Amperes(math.Inf(1))}
	for k, is := range on {
		if is && limit-others[k] < o.Left {
			o.Left, o.Others = limit-others[k], others[k]
		}
	}
	if o.Left >= least-1e-9 {
		o.Given = min(o.Left, most)
	}
	o.Held = o.Given < most
	return o
}

// Whole returns the offer in whole amperes, as many points are set.
func (o lineOffer) Whole(least quantity.Amperes) lineOffer {
	o.Given = quantity.Amperes(math.Floor(float64(o.Given) + 1e-9))
	if o.Given < least {
		o.Given = 0
	}
	return o
}

// String tells the offer in words.
func (o lineOffer) String() string {
	switch {
	case o.Left < 0:
		return fmt.Sprintf("pause; the other loads alone exceed the limit by %v, which a limiter cannot cure", -o.Left)
	case o.Given == 0:
		return fmt.Sprintf("pause; the %v that are left are too few to signal", o.Left)
	case o.Held:
		return fmt.Sprintf("%v for the vehicle, all that is left", o.Given)
	}
	return fmt.Sprintf("%v for the vehicle, all the point can give; %v are left", o.Given, o.Left)
}

// othersLeft returns what the other loads draw, from what a clamp on the whole
// supply and the point itself read.
func othersLeft(supply, point Lines) Lines {
	var out Lines
	for k := range out {
		out[k] = supply[k] - point[k]
	}
	return out
}

// fromWatts returns the current per line of a power limit given to a charge
// point that takes amperes, a pause where that is less than its least current.
func fromWatts(limit quantity.Watts, phases int, u0 quantity.Volts, least quantity.Amperes) (each, given quantity.Amperes) {
	each = quantity.Amperes(float64(limit) / (float64(phases) * float64(u0)))
	if each >= least-1e-9 {
		given = each
	}
	return each, given
}

// dayStretch is a part of a day in which the vehicle fares the same.
type dayStretch struct {
	From, To    time.Time
	Low, High   quantity.Amperes // of the other loads, in the line that decides
	Least, Most quantity.Amperes // for the vehicle
	Duty        quantity.Percent // of the pilot at the least, 100 for a pause
	Beyond      quantity.Amperes // by which the other loads alone pass the limit
	kind        int
}

// String tells the stretch in words.
func (s dayStretch) String() string {
	span := func(a, b quantity.Amperes) string {
		if a.String() == b.String() {
			return a.String()
		}
		return strings.TrimSuffix(a.String(), " A") + " to " + b.String()
	}
	text := fmt.Sprintf("%s to %s  others %s: ", s.From.Format("15:04"), s.To.Format("15:04"), span(s.Low, s.High))
	switch s.kind {
	case 0:
		return text + fmt.Sprintf("vehicle %s in full", s.Most)
	case 1:
		return text + fmt.Sprintf("vehicle held to %s, pilot down to %s", span(s.Least, s.Most), s.Duty)
	case 2:
		return text + "vehicle paused, less is left than can be signalled"
	}
	return text + fmt.Sprintf("vehicle paused, and the others alone are up to %v over: no limiter can help", s.Beyond)
}

// tellDay tells the day of a recording on which the other loads are greatest,
// for one charge point that is connected all day.
func tellDay(log *Log, c limiterControl, bay bayFacts, rules *standard.Rulebook) []dayStretch {
	_, peak := log.Greatest()
	local := peak.At.In(log.zone)
	from := time.Date(local.Year(), local.Month(), local.Day(), 0, 0, 0, 0, log.zone)
	to := from.AddDate(0, 0, 1)
	var out []dayStretch
	for i, v := range log.Values {
		at := log.at(i).In(log.zone)
		if !log.Known[i] || at.Before(from) || !at.Before(to) {
			continue
		}
		o := offerAt(c.Limit, milli(v).amperes(), bay.On, bay.Most, bay.Least)
		kind := 0
		switch {
		case o.Left < 0:
			kind = 3
		case o.Given == 0:
			kind = 2
		case o.Held:
			kind = 1
		}
		s := dayStretch{From: at, To: at.Add(log.Step), Low: o.Others, High: o.Others, Least: o.Given, Most: o.Given, Beyond: max(0, -o.Left), Duty: 100, kind: kind}
		if n := len(out) - 1; n >= 0 && (out[n].kind == kind || at.Sub(out[n].From) < 10*time.Minute) && out[n].To.Equal(at) {
			out[n] = out[n].with(s)
		} else {
			out = append(out, s)
		}
	}
	for i := range out {
		if out[i].Least > 0 {
			if duty, _, err := rules.PilotDuty(out[i].Least); err == nil {
				out[i].Duty = duty
			}
		}
	}
	return out
}

// with joins the next moment to a stretch; the worse of two kinds names it.
func (s dayStretch) with(n dayStretch) dayStretch {
	s.To = n.To
	s.Low, s.High = min(s.Low, n.Low), max(s.High, n.High)
	s.Least, s.Most = min(s.Least, n.Least), max(s.Most, n.Most)
	s.Beyond = max(s.Beyond, n.Beyond)
	s.kind = max(s.kind, n.kind)
	return s
}

// loadLevel is what is left with some of the recorded loads on.
type loadLevel struct {
	On []string
	lineOffer
}

// tellLoads goes from the smallest recorded load to all of them at once, each
// step with one more on, in full and without diversity, for one charge point.
// Loads whose current is not known are left out.
func tellLoads(m *model.Model, c limiterControl, bay bayFacts) []loadLevel {
	type load struct {
		name string
		in   Lines
	}
	var loads []load
	for i := range m.Job.Loads {
		l := &m.Job.Loads[i]
		if cur := m.LoadCurrents(l); cur.Known() {
			loads = append(loads, load{l.Name, Lines(cur.Phase)})
		}
	}
	sort.SliceStable(loads, func(i, k int) bool { return loads[i].in.Greatest() < loads[k].in.Greatest() })
	var out []loadLevel
	var on []string
	var sum Lines
	for _, l := range loads {
		on = append(on, l.name)
		for k := range sum {
			sum[k] += l.in[k]
		}
		out = append(out, loadLevel{append([]string(nil), on...), offerAt(c.Limit, sum, bay.On, bay.Most, bay.Least)})
	}
	return out
}

// String tells the level in words.
func (l loadLevel) String() string {
	return fmt.Sprintf("with %s on, others %v: %s", strings.Join(l.On, ", "), l.Others, l.lineOffer)
}

// PowerUp and Lost tell what the limiter does when it wakes, and when it no
// longer hears its clamp.
func (c limiterControl) PowerUp() string {
	wait := quantity.Seconds(c.readings()) * c.Samples
	return fmt.Sprintf("At power-up the points together take %s until %v of readings are in; then what is left of %v, first felt within %v more.",
		pauseOr(c.FailSafe), wait, c.Limit, c.lag())
}

// Lost tells what happens when the signal is lost.
func (c limiterControl) Lost(others, within quantity.Amperes) string {
	l := loop{limiterControl: c}
	text := fmt.Sprintf("When the clamp, its cable or the link dies the points keep what they had for up to %v, then take %s together", l.afterLoss(),
		pauseOr(c.FailSafe))
	if !c.NoticesLoss {
		return "When the clamp or its cable dies the limiter reads 0 A and gives the points all they can take."
	}
	return text + fmt.Sprintf("; with the other loads at %v that is %v of %v.", others, others+c.FailSafe, within)
}

func pauseOr(i quantity.Amperes) string {
	if i == 0 {
		return "nothing"
	}
	return i.String()
}
