package ledger

// Miles by the odometers of the vehicles, where the records say what they showed.

import (
	"cmp"
	"fmt"
	"slices"
)

// driven is how far a vehicle went between its first and its last reading, and
// on how much energy from these points.
type driven struct {
	Vehicle  string   `json:"vehicle"`
	Readings int      `json:"readings"`
	From     string   `json:"from"`
	To       string   `json:"to"`
	Tenths   int64    `json:"tenthsOfAMile"`
	Energy   Energy   `json:"energyKWh"` // of the sessions after the first reading
	Economy  string   `json:"milesPerKWh,omitempty"`
	Doubts   []string `json:"doubts,omitempty"`
}

// Economies beyond which something else was driven on, or not driven: miles per
// kWh, in tenths; vans laden in winter and small cars in summer lie within
// (common practice, no source).
const (
	leastEconomy = 15
	mostEconomy  = 70
	fastest      = 80 // miles an hour, over all the time between two readings
)

// String says it on one line.
func (d driven) String() string {
	out := fmt.Sprintf("%s, %s to %s: %s miles by %d readings, %s charged here since the first", d.Vehicle,
		d.From, d.To, decimal(d.Tenths, 1), d.Readings, d.Energy)
	if d.Economy != "" {
		out += ": " + d.Economy + " miles per kWh"
	}
	for _, one := range d.Doubts {
		out += "; " + one
	}
	return out
}

// driven goes through the odometers, vehicle by vehicle. A reading that falls, or
// rises faster than anybody drives, is left out and told.
func (l *Ledger) driven(st *Statement, w wanted) []driven {
	by := map[name][]*session{}
	_ = l.each(st, w, func(s *session, _ bill) error {
		if s.Vehicle != 0 {
			by[s.Vehicle] = append(by[s.Vehicle], s)
		}
		return nil
	})
	var out []driven
	for vehicle, list := range by {
		slices.SortFunc(list, func(a, b *session) int { return cmp.Compare(a.Start, b.Start) })
		d := driven{Vehicle: l.names.text(vehicle)}
		var first, last *session
		var since Energy // after the last reading
		for _, s := range list {
			if first != nil {
				since += s.Energy
			}
			more := l.rare(s)
			if !more.odometer {
				continue
			}
			if last != nil {
				by, hours := more.Odometer-l.rare(last).Odometer, float64(s.Start-last.Start)/3600
				where := fmt.Sprintf("%s:%d", l.Tallies[s.File].File, s.Line)
				switch {
				case by < 0:
					d.Doubts = append(d.Doubts, where+": the odometer falls, and is left out")
					continue
				case float64(by) > 10*fastest*hours+10:
					d.Doubts = append(d.Doubts, where+fmt.Sprintf(": the odometer rises by %s miles in %s, and is left out", decimal(by, 1), spell(s.Start-last.Start)))
					continue
				}
			}
			d.Readings++
			if first == nil {
				first = s
			} else {
				d.Energy += since
			}
			last, since = s, 0
		}
		if d.Readings == 0 {
			continue
		}
		d.From, d.To = dayText(l.clock.Wall(first.Start).Day()), dayText(l.clock.Wall(last.Start).Day())
		d.Tenths = l.rare(last).Odometer - l.rare(first).Odometer
		if d.Energy > 0 && d.Tenths > 0 {
			tenths := divide(d.Tenths*int64(KWh), int64(d.Energy))
			switch d.Economy = decimal(tenths, 1); {
			case tenths > mostEconomy:
				d.Doubts = append(d.Doubts, "more than a vehicle goes: it was charged elsewhere as well")
			case tenths < leastEconomy:
				d.Doubts = append(d.Doubts, "less than a vehicle goes: another charged on its name, or a reading is wrong")
			}
		}
		out = append(out, d)
	}
	slices.SortFunc(out, func(a, b driven) int { return cmp.Compare(a.Vehicle, b.Vehicle) })
	return out
}
