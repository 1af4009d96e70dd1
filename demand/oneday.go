package demand

// One day to look at: noon to noon about the greatest demand, with a vehicle at
// every point that takes all it can get from its usual hour to its leaving.

import (
	"math"
	"time"

	"chargewright/quantity"
)

// Day returns the run of that day, every step recorded.
func (s *Studied) Day(seed uint64) (*runSetup, error) {
	out, err := s.Scenario(seed)
	if err != nil {
		return nil, err
	}
	noon := time.Date(s.Start.Year(), s.Start.Month(), s.Start.Day(), 12, 0, 0, 0, s.Start.Location())
	if s.Log != nil {
		_, peak := s.Log.Greatest()
		at := peak.At.In(s.Log.zone)
		noon = time.Date(at.Year(), at.Month(), at.Day(), 12, 0, 0, 0, s.Log.zone)
		if noon.After(at) {
			noon = noon.AddDate(0, 0, -1)
		}
		if noon.Before(s.Log.Start) {
			noon = s.Log.Start.In(s.Log.zone)
		}
		r := out.Site
		if with, ok := r.(*added); ok {
			r = with.otherLoads
		}
		if recorded, ok := r.(*replay); ok {
			recorded.at = int(noon.Sub(s.Log.Start) / s.Log.Step)
		}
	} else {
		most := s.existing
		out.Site = newTypical(s.shape, most, noon, s.Step, seed)
		if s.free != (Lines{}) {
			out.Site = &added{out.Site, toMilli(s.free)}
		}
	}
	out.Start, out.Length, out.Record, out.Tariff = noon, 24*time.Hour, true, nil
	arrive := math.Max(0, s.fleet.Hour-12) * 3600
	if s.fleet.Hour < 12 {
		arrive = (s.fleet.Hour + 12) * 3600
	}
	leave := math.Min(24, arrive/3600+s.fleet.Stay) * 3600
	book := make(booked, len(s.bays))
	for i, b := range s.bays {
		phases := 1
		if b.On == [3]bool{true, true, true} && s.fleet.Three > 0 {
			phases = 3
		}
		book[i] = []vehicleVisit{{Arrive: quantity.Seconds(arrive), Leave: quantity.Seconds(leave), Needs: 1e6, Most: b.Most, Phases: phases}}
	}
	out.Visits = book
	return out, nil
}

// FirstBay returns a point that the supply's limiter controls, to tell a day by.
func (s *Studied) FirstBay() (bayFacts, bool) {
	if len(s.bays) == 0 {
		return bayFacts{}, false
	}
	return s.bays[0], true
}

// Limited returns the limiter at the supply, if there is one.
func (s *Studied) Limited() (limiterControl, bool) {
	if s.control == nil {
		return limiterControl{}, false
	}
	return *s.control, true
}
