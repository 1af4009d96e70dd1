package demand

import (
	"math"
	"math/rand/v2"
	"testing"

	"chargewright/quantity"
	"chargewright/trade"
)

// quick is an invented limiter: readings every second, three averaged.
func quick() limiterControl {
	return limiterControl{Name: "quick", Limit: 95, FailSafe: 16, SeesPoints: true, Error: 2, Samples: 1, Averages: 3, PassesOn: 1, Follows: 5, TimeOut: 3, NoticesLoss: true, Waits: 30, Sharing: trade.EqualShares}
}

// TestBoundHoldsAndIsTight runs the limiter wherever the search looks, and
// thousands of random loads besides: the bound is never passed, and the search
// comes within one sampling time of it.
func TestBoundHoldsAndIsTight(t *testing.T) {
	for _, c := range []struct {
		name string
		set  func(*loop)
	}{
		{"plain", func(l *loop) {}},
		{"clamp on the other loads", func(l *loop) { l.SeesPoints = false }},
		{"no averaging", func(l *loop) { l.Averages = 0 }},
		{"slow readings", func(l *loop) { l.Samples, l.Averages = 5, 30 }},
		{"fast readings", func(l *loop) { l.Samples, l.Averages = 0.2, 1 }},
		{"several points", func(l *loop) { l.points, l.least = 96, 0 }},
		{"others beyond the fuse", func(l *loop) { l.others = 130 }},
	} {
		l := &loop{limiterControl: quick(), points: 32, least: 6, others: 71, holds: 100}
		c.set(l)
		bound, _, proved := l.response()
		if !proved {
			t.Errorf("%s: not proved", c.name)
			continue
		}
		found := l.search(LoadStep)
		if found.Late > bound+1e-9 {
			t.Errorf("%s: the bound is %v and a run took %v", c.name, bound, found.Late)
		}
		if found.Late < bound-l.Samples-1e-9 {
			t.Errorf("%s: the bound is %v and the longest run found only %v", c.name, bound, found.Late)
		}
		if wander := l.wander(rand.New(rand.NewPCG(7, 7)), 3000); wander > bound+1e-9 {
			t.Errorf("%s: the bound is %v and random loads stayed over for %v", c.name, bound, wander)
		}
	}
}

// wander drives the limiter with loads that step at random and then stay for
// longer than the bound, the vehicle following at random within its time, and
// returns the longest time over after any step.
func (l *loop) wander(rng *rand.Rand, steps int) quantity.Seconds {
	bound, _, _ := l.response()
	s := newSharer(l.Sharing, 1)
	s.join(0, asks{on: 1, most: milliamperes(l.points), least: max(1, milliamperes(l.least))})
	lim := newLimiter(l.action(), s, 1)
	lag := float64(l.lag())
	type heard struct{ at, to float64 }
	var ahead []heard
	drawn, others, now, stepAt := 0.0, 0.0, 0.0, 0.0
	next := rng.Float64() * float64(l.Samples)
	longest := 0.0
	for range steps {
		others = rng.Float64() * float64(l.others)
		stepAt = now
		end := now + float64(bound) + rng.Float64()*20
		for now < end {
			at := next
			if len(ahead) > 0 && ahead[0].at < at {
				at = ahead[0].at
			}
			if over := others+drawn > float64(l.holds)+1e-3 && drawn > 0; over && at > now {
				longest = max(longest, min(at, end)-stepAt)
			}
			now = at
			if len(ahead) > 0 && ahead[0].at <= now {
				drawn, ahead = ahead[0].to, ahead[1:]
				continue
			}
			e := float64(l.Error) / 100
			reading := others * (1 + e*(2*rng.Float64()-1))
			if l.SeesPoints {
				reading = others + (others+drawn)*e*(2*rng.Float64()-1) - drawn*e*(2*rng.Float64()-1)
			}
			r := int64(math.Floor(reading * 1000))
			if lim.read(milliseconds(quantity.Seconds(now)), &milli{r}) {
				wait := now + lag*rng.Float64()
				if n := len(ahead); n > 0 {
					wait = max(wait, ahead[n-1].at) // signals do not overtake each other
				}
				ahead = append(ahead, heard{wait, float64(lim.setting[0]) / 1000})
			}
			next += float64(l.Samples)
		}
	}
	return quantity.Seconds(longest)
}

// TestBoundByHand follows one limiter with pencil and paper.
//
// Readings every 2 s, two averaged, 1 s to the point, 5 s for the vehicle, no
// error, limit and holds equal: the second reading after the step, at most 4 s
// after it, is the first whose average holds nothing older; 4 + 6 = 10 s.
func TestBoundByHand(t *testing.T) {
	c := limiterControl{Limit: 60, Samples: 2, Averages: 4, PassesOn: 1, Follows: 5, TimeOut: 7}
	l := &loop{limiterControl: c, points: 32, least: 6, others: 55, holds: 60}
	if got, _, ok := l.response(); !ok || got != 10 {
		t.Errorf("response = %v, %v, want 10 s", got, ok)
	}
	// Time-out 7 s is met at the fourth missing reading, 8 s; 8 + 6 = 14 s.
	if got := l.afterLoss(); got != 14 {
		t.Errorf("afterLoss = %v, want 14 s", got)
	}
	// Without error it settles at the limit itself.
	if got, _ := l.settled(); math.Abs(float64(got-60)) > 1e-6 {
		t.Errorf("settled = %v, want 60 A", got)
	}
	// With E it settles at s + (limit − s(1 − E))/(1 − 2E), greatest where the
	// points are just at their most; E = 2 %: e = 32, s = (60 − 32 × 0.96)/0.98.
	l.Error, l.SeesPoints = 2, true
	want := (60-32*0.96)/0.98 + 32
	if got, _ := l.settled(); math.Abs(float64(got)-want) > 0.1 {
		t.Errorf("settled = %v, want %.2f A", got, want)
	}
}

// TestTooMuchErrorIsNotProved: a clamp 10 % low on a limit equal to what it
// protects must not be passed.
func TestTooMuchErrorIsNotProved(t *testing.T) {
	l := &loop{limiterControl: quick(), points: 32, least: 6, others: 90, holds: 100}
	l.Limit, l.Error = 100, 10
	if got, at, ok := l.response(); ok {
		t.Errorf("response = %v at %v, want not proved", got, at)
	}
	if found := l.search(LoadStep); !math.IsInf(float64(found.Late), 1) {
		t.Errorf("the longest run found is %v, want one that never comes back", found.Late)
	}
}

// TestLifeOfALimiter: power-up, a gap in the readings, and a clamp that reads the
// wrong way about, each with pencil and paper.
//
// Readings every 2 s, two averaged, 1 s to the point, 5 s for the vehicle, limit
// and holds 60 A, time-out 7 s, fail-safe nothing: after power-up the first reading,
// at most 2 s later, lowers to nothing: 2 + 6 = 8 s. Readings may be missing for 6 s
// (three of them; the fourth is the time-out), then two are wanted: 6 + 4 + 6 = 16 s.
func TestLifeOfALimiter(t *testing.T) {
	c := limiterControl{Limit: 60, Samples: 2, Averages: 4, PassesOn: 1, Follows: 5, TimeOut: 7}
	l := &loop{limiterControl: c, points: 32, least: 6, others: 55, holds: 60}
	if got := l.search(PowerUp).Late; got != 8 {
		t.Errorf("after power-up %v, want 8 s", got)
	}
	if gap, got := l.gap(), l.search(SignalBack).Late; gap != 6 || got != 16 {
		t.Errorf("after a gap of %v it takes %v, want 6 s and 16 s", gap, got)
	}
	// The clamp on the other loads alone, the wrong way about: 55 A are taken for
	// −55 A, and the point gets all it can, 87 A in all, for ever.
	if got := l.search(ReadsReversed); got.Greatest != 87 || !math.IsInf(float64(got.Late), 1) {
		t.Errorf("read the wrong way about the line carries %v for %v, want 87 A for ever", got.Greatest, got.Late)
	}
	// A limiter that notices, where nothing feeds back, takes it for lost: four
	// samples of 2 s and 6 s.
	l.NoticesLoss, l.NoSource = true, true
	if got := l.search(ReadsReversed); got.Late != 14 {
		t.Errorf("a reading that cannot be is believed for %v, want 14 s", got.Late)
	}
	if said := back(60, 0); said != "at no time over 60 A" {
		t.Errorf("no time is told as %q", said)
	}
}

// TestMeterDataLost is case D17: limit 25 A, house 20 A then 24 A, data lost.
// A limiter that puts 0 A in its place lets the vehicle take 25 A, 49 A in all.
func TestMeterDataLost(t *testing.T) {
	c := quick()
	c.Limit, c.FailSafe, c.Error, c.Averages = 25, 0, 0, 0
	l := &loop{limiterControl: c, points: 32, least: 6, others: 24, holds: 25}
	lost := l.run(trial{SignalLost, 20, 24, 1, 0}, true)
	if last := lost.Moments[len(lost.Moments)-1]; last.Points != 0 || last.Total() != 24 {
		t.Errorf("after the loss the points draw %v, want a pause", last.Points)
	}
	l.NoticesLoss, l.SeesPoints = false, false
	dead := l.run(trial{ClampDead, 20, 24, 1, 0}, true)
	if last := dead.Moments[len(dead.Moments)-1]; last.Total() != 49 {
		t.Errorf("a clamp taken for 0 A: total %v, want 49 A", last.Total())
	}
	if worst := l.search(ClampDead); worst.Greatest < 49 {
		t.Errorf("the search missed it: greatest %v", worst.Greatest)
	}
}
