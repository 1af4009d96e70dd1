package demand

import (
	"math"
	"math/rand/v2"
	"testing"

	"chargewright/quantity"
	"chargewright/trade"
)

// remade is a limiter made a second time, for the test alone: in floating point,
// with a list instead of a ring, sharing by trial, and no line in common with the
// first. It keeps a list of what it saw and when, and knows nothing of a proof.
type remade struct {
	limit, failSafe, every, averages, lag, timeOut, waits float64
	sees                                                  bool
	error                                                 float64
	points                                                []int // which of the site's
	seen                                                  [][3]float64
	lastSeen, lastLow                                     float64
	told                                                  map[int]float64
}

// plug is a charge point of the test's own site.
type plug struct {
	lines       []int
	most, least float64
	takes       float64 // now
	heard       []order // settings on their way
	here        bool
}

type order struct{ at, amps float64 }

// decide tells the points of a limiter what they may take.
func (l *remade) decide(now float64, site []*plug) (orders map[int]float64) {
	wanted := max(1, int(math.Ceil(l.averages/l.every-1e-9)))
	room := [3]float64{l.failSafe, l.failSafe, l.failSafe}
	if len(l.seen) >= wanted {
		for k := range room {
			mean := 0.0
			for _, r := range l.seen[len(l.seen)-wanted:] {
				mean += r[k] / float64(wanted)
			}
			room[k] = l.limit - mean
		}
	}
	// All that are here get the same, as much as fits: found by trying, and those
	// that do not fit with the least are left out from the last on.
	var in []int
	for _, i := range l.points {
		if site[i].here {
			in = append(in, i)
		}
	}
	fits := func(set []int, amps float64) bool {
		var sum [3]float64
		for _, i := range set {
			for _, k := range site[i].lines {
				sum[k] += max(site[i].least, min(amps, site[i].most))
			}
		}
		for k := range sum {
			if sum[k] > 0 && sum[k] > room[k]+1e-9 {
				return false
			}
		}
		return true
	}
	for len(in) > 0 && !fits(in, 0) {
		in = in[:len(in)-1]
	}
	low, high := 0.0, 64.0
	for range 24 {
		if mid := (low + high) / 2; fits(in, mid) {
			low = mid
		} else {
			high = mid
		}
	}
	given := map[int]float64{}
	for _, i := range in {
		given[i] = max(site[i].least, min(low, site[i].most))
	}
	orders = map[int]float64{}
	for _, i := range l.points {
		if given[i] < l.told[i] {
			l.told[i], orders[i], l.lastLow = given[i], given[i], now
		}
	}
	if now-l.lastLow >= l.waits {
		for _, i := range l.points {
			if given[i] > l.told[i] {
				l.told[i], orders[i] = given[i], given[i]
			}
		}
	}
	return orders
}

// TestProofAgainstASecondSimulation: 2,000 sites drawn at random, of one to six
// points on one line or three, one limiter or two in series, with solar or none,
// readings that fail and come back. Whatever happens there, no line stays over
// what it must hold for longer than the proof says, counted from the last step of
// what the limiter does not hold back. A limiter in series makes such a step each
// time it moves its own points.
func TestProofAgainstASecondSimulation(t *testing.T) {
	rng := rand.New(rand.NewPCG(20, 26))
	sites, proved, over, series, sunny, closest := 2000, 0, 0, 0, 0, 0.0
	for n := range sites {
		c := limiterControl{Limit: quantity.Amperes(40 + rng.IntN(60)), SeesPoints: rng.IntN(2) == 0, Error: quantity.Percent(rng.IntN(4)),
			Samples: quantity.Seconds([]float64{0.5, 1, 2, 5}[rng.IntN(4)]), PassesOn: quantity.Seconds(1 + rng.IntN(3)), Follows: quantity.Seconds(2 + rng.IntN(4)),
			NoticesLoss: true, Sharing: trade.EqualShares}
		c.Averages = c.Samples * quantity.Seconds(1+rng.IntN(5))
		c.TimeOut = c.Samples * quantity.Seconds(1+rng.IntN(4))
		c.Waits = c.lag() + quantity.Seconds(rng.IntN(20))
		holds := float64(c.Limit) * (1.12 + 0.1*rng.Float64())
		others := holds * (0.5 + 0.45*rng.Float64())
		site := []*plug{}
		for range 1 + rng.IntN(6) {
			p := &plug{lines: []int{rng.IntN(3)}, most: []float64{16, 32}[rng.IntN(2)], least: 6}
			if rng.IntN(3) == 0 {
				p.lines = []int{0, 1, 2}
			}
			site = append(site, p)
		}
		main := &remade{limit: float64(c.Limit), every: float64(c.Samples), averages: float64(c.Averages), lag: float64(c.lag()), timeOut: float64(c.TimeOut),
			waits: float64(c.Waits), sees: c.SeesPoints, error: float64(c.Error) / 100, told: map[int]float64{}, lastLow: -1e9, lastSeen: -1e9}
		board := &remade{limit: 20 + 20*rng.Float64(), every: main.every, averages: main.averages, lag: main.lag, timeOut: 1e9, waits: main.waits, told: map[int]float64{},
			lastLow: -1e9}
		limiters := []*remade{main}
		for i := range site {
			if len(site) > 2 && i >= len(site)-1 { // the last hangs on a board that has a limiter of its own
				board.points = append(board.points, i)
				continue
			}
			main.points = append(main.points, i)
		}
		if len(board.points) > 0 {
			limiters, series = append(limiters, board), series+1
		}
		sun := 0.0
		if rng.IntN(2) == 0 {
			sun, sunny = 10+20*rng.Float64(), sunny+1
		}
		// The proof, line by line; what the other limiter's points take is other load.
		var bound [3]float64
		ok, loaded := true, [3]bool{}
		for k := range 3 {
			l := &loop{limiterControl: c, holds: quantity.Amperes(holds), others: quantity.Amperes(others)}
			sharers := 0
			for _, i := range main.points {
				for _, on := range site[i].lines {
					if on == k {
						l.points += quantity.Amperes(site[i].most)
						sharers++
					}
				}
			}
			if sharers == 0 {
				continue
			}
			loaded[k] = true
			if sharers == 1 {
				l.least = 6
			}
			b, _, good := l.response()
			bound[k], ok = float64(b), ok && good
		}
		if !ok {
			continue
		}
		proved++
		// The site, in steps of a tenth of a second.
		const tick = 0.1
		var loads [3]float64
		var overSince [3]float64
		stepAt, next := 0.0, 0.0
		samplesAt := rng.Float64() * main.every
		blind := -1.0 // readings fail until then
		for s := 0; s < 900; s++ {
			now := float64(s) * tick
			if now >= next {
				for k := range loads {
					loads[k] = rng.Float64() * others
					if len(board.points) > 0 {
						loads[k] = min(loads[k], max(0, others-32))
					}
					if sun > 0 && rng.IntN(2) == 0 {
						loads[k] -= sun
					}
				}
				i := rng.IntN(len(site))
				site[i].here = !site[i].here
				if !site[i].here {
					site[i].takes, site[i].heard = 0, nil
					main.told[i], board.told[i] = 0, 0
				}
				stepAt, next = now, now+4+rng.Float64()*25
				if rng.IntN(8) == 0 {
					blind = now + rng.Float64()*2*main.timeOut
				}
			}
			for i, p := range site {
				for len(p.heard) > 0 && p.heard[0].at <= now {
					if p.takes != p.heard[0].amps && len(board.points) > 0 && i == board.points[0] {
						stepAt = now // to the limiter ahead it is a step of the other loads
					}
					p.takes, p.heard = p.heard[0].amps, p.heard[1:]
				}
			}
			if now < blind {
				stepAt = now // nothing is promised while readings fail: that is another bound
			}
			var ours, theirs [3]float64
			for i, p := range site {
				to := &theirs
				if len(board.points) == 0 || i != board.points[0] {
					to = &ours
				}
				for _, k := range p.lines {
					to[k] += p.takes
				}
			}
			for k := range loads {
				if !loaded[k] || loads[k]+theirs[k]+ours[k] <= holds+0.01 || ours[k] == 0 {
					overSince[k] = now
					continue
				}
				closest = max(closest, (now-stepAt)/bound[k])
				if now-stepAt > bound[k]+2*tick {
					over++
					t.Errorf("site %d: L%d carries %.1f A of %.1f A, %.1f s after the last step; the proof says %.1f s", n, k+1, loads[k]+theirs[k]+ours[k], holds, now-stepAt, bound[k])
					s = 1 << 30
					break
				}
			}
			if now < samplesAt {
				continue
			}
			samplesAt += main.every
			for _, l := range limiters {
				var r [3]float64
				for k := range r {
					off := l.error * (2*rng.Float64() - 1)
					switch {
					case l == board:
						r[k] = 0 // nothing but its point hangs on the board
					case l.sees:
						whole := loads[k] + theirs[k] + ours[k]
						r[k] = whole*(1+off) - ours[k]*(1+l.error*(2*rng.Float64()-1))
					default:
						r[k] = (loads[k] + theirs[k]) * (1 + off)
					}
				}
				if l == main && now < blind {
					if now-l.lastSeen >= l.timeOut {
						l.seen = nil
					}
				} else {
					l.seen, l.lastSeen = append(l.seen, r), now
				}
				for i, amps := range l.decide(now, site) {
					at := now + l.lag*rng.Float64()
					if h := site[i].heard; len(h) > 0 {
						at = max(at, h[len(h)-1].at)
					}
					site[i].heard = append(site[i].heard, order{at, amps})
				}
			}
		}
	}
	t.Logf("%d sites, %d proved, %d with limiters in series, %d with solar; the longest came to %.0f %% of its bound", sites, proved, series, sunny, 100*closest)
	if proved < sites/2 || series < sites/4 || sunny < sites/4 || closest < 0.5 {
		t.Errorf("%d proved, %d in series, %d with solar of %d, the closest at %.2f: too few or too far off to prove anything", proved, series, sunny, sites, closest)
	}
}
