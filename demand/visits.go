package demand

// Vehicles that come and go.

import (
	"math"
	"math/rand/v2"
	"sort"

	"chargewright/quantity"
)

// vehicleVisit is one vehicle at one charge point.
type vehicleVisit struct {
	Arrive, Leave quantity.Seconds   // after the start of the run
	Needs         quantity.WattHours // at the charge point
	Most          quantity.Amperes   // of its on-board charger, per line
	Phases        int                // of its on-board charger, 1 or 3
	Ramp          quantity.Amperes   // how fast it takes up current, in A each second; 0 for at once
}

// visitSource gives each charge point its vehicles, one after the other.
type visitSource interface {
	// Next returns the first vehicle of a point that comes at or after a time.
	Next(point int, after quantity.Seconds) (vehicleVisit, bool)
}

// booked is visits known beforehand, for each point in order of arrival.
type booked [][]vehicleVisit

// Next returns the next one booked.
func (b booked) Next(point int, after quantity.Seconds) (vehicleVisit, bool) {
	if point >= len(b) {
		return vehicleVisit{}, false
	}
	i := sort.Search(len(b[point]), func(i int) bool { return b[point][i].Arrive >= after })
	if i == len(b[point]) {
		return vehicleVisit{}, false
	}
	return b[point][i], true
}

// fleet is visits drawn from a seed: a vehicle a day, or none, about a usual
// hour, for a usual stay.
type fleet struct {
	Daily    float64 // share of the days on which a vehicle comes
	Hour     float64 // of arrival, usual
	HourSD   float64
	Stay     float64 // hours, usual
	StaySD   float64
	Needs    quantity.WattHours // usual
	NeedsSD  quantity.WattHours
	Three    float64          // share of vehicles that charge on three phases
	MostOne  quantity.Amperes // single-phase on-board charger
	MostTri  quantity.Amperes // three-phase on-board charger, per line
	FirstDay int              // of the run, 0 for one that begins on a Monday; a weekday-only fleet rests on days 5 and 6
	Weekdays bool
	rng      *rand.Rand
}

// Seeded returns the fleet with its own random source.
func (f fleet) Seeded(seed uint64) *fleet {
	f.rng = rand.New(rand.NewPCG(seed, 0xf1ee7))
	return &f
}

// homeFleet is private cars that come home. The energy is the mean of 6,878
// recorded sessions at apartment buildings, 12.7 kWh (Data in Brief 36 (2021)
// 107105), with a spread of the same size; seven days in ten have a charge
// (EV network trial, 2014-15); hours and on-board chargers are from memory.
var homeFleet = fleet{Daily: 0.7, Hour: 17.5, HourSD: 2, Stay: 13, StaySD: 2, Needs: 12_720, NeedsSD: 12_000, Three: 0.5, MostOne: 32, MostTri: 16}

// workFleet is vehicles of a firm, back from the morning's round; an assumption
// throughout.
var workFleet = fleet{Daily: 0.9, Hour: 13, HourSD: 1, Stay: 15, StaySD: 1, Needs: 25_000, NeedsSD: 10_000, Three: 0, MostOne: 32, MostTri: 16, Weekdays: true}

// Next draws the point's next vehicle.
func (f *fleet) Next(_ int, after quantity.Seconds) (vehicleVisit, bool) {
	for day := math.Floor(float64(after) / 86400); ; day++ {
		come := f.rng.Float64() < f.Daily
		hour := f.Hour + f.HourSD*f.rng.NormFloat64()
		stay := math.Max(0.25, f.Stay+f.StaySD*f.rng.NormFloat64())
		needs := f.draw()
		three := f.rng.Float64() < f.Three
		at := quantity.Seconds(math.Round(day*86400 + hour*3600))
		if !come || at < after || f.Weekdays && (int(day)+f.FirstDay)%7 >= 5 {
			continue
		}
		v := vehicleVisit{Arrive: at, Leave: at + quantity.Seconds(math.Round(stay*3600)), Needs: needs, Most: f.MostOne, Phases: 1}
		if three {
			v.Most, v.Phases = f.MostTri, 3
		}
		return v, true
	}
}

// draw returns an energy whose logarithm is even about a mean, which keeps it
// above zero.
func (f *fleet) draw() quantity.WattHours {
	spread := math.Log(1 + math.Pow(float64(f.NeedsSD/f.Needs), 2))
	return f.Needs * quantity.WattHours(math.Exp(math.Sqrt(spread)*f.rng.NormFloat64()-spread/2))
}
