package demand

// Where the other loads of a run come from: a recording, a constant, or a
// typical day made up from a seed.

import (
	"math"
	"math/rand/v2"
	"time"

	"chargewright/quantity"
)

// otherLoads gives the other loads, step after step, without end. Below zero is
// current sent out.
type otherLoads interface {
	// Fill writes the next steps.
	Fill(into []present)
}

// present is the current of each line in one step, in mA.
type present = [3]int64

// replay plays a recording, each value for Hold steps, and begins anew when
// it ends.
type replay struct {
	Values []present
	Hold   int // steps of the run for each value, one at least
	at     int
	held   int
}

// Fill writes the next of the recording.
func (r *replay) Fill(into []present) {
	for i := range into {
		into[i] = r.Values[r.at]
		if r.held++; r.held >= r.Hold {
			r.held = 0
			if r.at++; r.at == len(r.Values) {
				r.at = 0
			}
		}
	}
}

// typicalYear is a made-up year: a day's shape in hours, scaled to a greatest
// current in each line, with noise that lasts for a while. It is an
// assumption, to be replaced by a recording.
type typicalYear struct {
	shape    [24]float64 // share of the greatest, by hour of the day
	greatest [3]float64  // mA, without the noise
	most     milli       // mA, never passed
	stays    float64     // how much of the noise is left a step later
	fresh    float64     // how much each number of bell adds to it
	step     int64       // s
	clock    int64       // s since midnight of the first day
	rng      *rand.PCG
	noise    [3]float64 // share of the present value by which a line is off
	minute   int64      // noise is drawn no more often than once a minute
	last     present
}

// noise is one standard deviation of a site's noise, as a share of the present
// value; engineering judgement, no published source.
const noise = 0.15

// Shapes of a day, by hour, as shares of its greatest. They are engineering
// judgement with no published source; the evening peak of dwellings is at 16
// to 20 h (network-revolution report CLNR-L217).
var (
	dwellingDay  = [24]float64{.25, .2, .18, .18, .18, .2, .3, .5, .5, .4, .38, .4, .45, .42, .4, .45, .6, .85, 1, .95, .8, .65, .5, .35}
	WorkplaceDay = [24]float64{.25, .25, .25, .25, .25, .3, .45, .7, .9, 1, 1, 1, .95, .95, 1, .95, .85, .65, .45, .35, .3, .28, .26, .25}
)

// newTypical returns a made-up site from a seed.
//
//	greatest   what the noise brings the busiest hours to, and never past
//	begins     the moment of the first step, in local time
func newTypical(shape [24]float64, greatest Lines, begins time.Time, step time.Duration, seed uint64) *typicalYear {
	t := &typicalYear{shape: shape, step: int64(step / time.Second), rng: rand.NewPCG(seed, 0x517e), minute: -1}
	t.clock = int64(begins.Hour()*3600 + begins.Minute()*60 + begins.Second())
	t.stays = math.Exp(-math.Max(float64(t.step), 60) / 1200)
	t.fresh = noise * math.Sqrt(1-t.stays*t.stays) / bellDeviation
	t.most = toMilli(greatest)
	for k, most := range t.most {
		t.greatest[k] = float64(most) / (1 + 2*noise)
	}
	return t
}

// Fill writes the next steps.
func (t *typicalYear) Fill(into []present) {
	for i := range into {
		if minute := t.clock / 60; minute != t.minute {
			t.minute = minute
			t.draw()
		}
		into[i] = present{t.last[0], t.last[1], t.last[2]}
		t.clock += t.step
	}
}

// draw makes the currents of a minute.
func (t *typicalYear) draw() {
	second := t.clock % 86400
	hour := second / 3600
	part := float64(second%3600) / 3600
	level := t.shape[hour]*(1-part) + t.shape[(hour+1)%24]*part
	for k := range t.last {
		if t.most[k] == 0 {
			continue
		}
		t.noise[k] = t.stays*t.noise[k] + t.fresh*bell(t.rng.Uint64())
		share := 1 + t.noise[k]
		if share < 0.2 {
			share = 0.2
		}
		t.last[k] = min(t.most[k], int64(t.greatest[k]*level*share))
	}
}

// bellDeviation is one standard deviation of bell: √4 × 65536/√12.
const bellDeviation = 65536 * 0.57735

// bell makes a number of mean 0 from random bits: the sum of four even ones of
// 16 bits, which has ends, as a site's demand has.
func bell(bits uint64) float64 {
	sum := bits&0xffff + bits>>16&0xffff + bits>>32&0xffff + bits>>48
	return float64(int64(sum) - 2*0xffff)
}

// sunSource takes what a solar array gives off the other loads.
//
//	formula  power = peak × sin(elevation) × clearness of the day
//	place    latitude 52°; declination by the usual cosine of the day of the year (textbook)
//
// The clearness is drawn for each day, from 0.1 to 0.8: an assumption.
type sunSource struct {
	otherLoads
	peak  [3]float64 // mA
	step  int64
	begin time.Time
	at    int64 // s since begin
	day   int
	clear float64
	rng   *rand.PCG
}

// newSun returns site with an array of the given peak power beside it, spread
// over its lines.
func newSun(site otherLoads, peak quantity.Watts, lines [3]bool, u0 quantity.Volts, begins time.Time, step time.Duration, seed uint64) *sunSource {
	s := &sunSource{otherLoads: site, step: int64(step / time.Second), begin: begins, day: -1, rng: rand.NewPCG(seed, 0x50a)}
	n := 0.0
	for _, on := range lines {
		if on {
			n++
		}
	}
	for k, on := range lines {
		if on {
			s.peak[k] = 1000 * float64(peak) / float64(u0) / n
		}
	}
	return s
}

// Fill writes the next steps.
func (s *sunSource) Fill(into []present) {
	s.otherLoads.Fill(into)
	const latitude = 52 * math.Pi / 180
	for i := range into {
		now := s.begin.Add(time.Duration(s.at) * time.Second)
		if now.YearDay() != s.day {
			s.day = now.YearDay()
			s.clear = 0.1 + 0.7*float64(s.rng.Uint64()>>11)/(1<<53)
		}
		declination := -23.44 * math.Pi / 180 * math.Cos(2*math.Pi*float64(s.day+10)/365)
		hour := (float64(now.Hour()) + float64(now.Minute())/60 - 12) * math.Pi / 12
		if high := math.Sin(latitude)*math.Sin(declination) + math.Cos(latitude)*math.Cos(declination)*math.Cos(hour); high > 0 {
			for k := range into[i] {
				into[i][k] -= int64(s.peak[k] * high * s.clear)
			}
		}
		s.at += s.step
	}
}
