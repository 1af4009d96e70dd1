package demand

// How charge points share a current that is too small for them all.
//
// A point is given its least current or more, or nothing: less than 6 A cannot
// be signalled (IEC 61851-1 Annex A). A three-phase point has one limit for
// its three lines, so the line with least room decides.

import (
	"slices"

	"chargewright/trade"
)

// room is what is left in each of the three lines, and of the sum of the
// currents of all lines where only surplus power may be used.
type room [4]int64

const unlimited = int64(1) << 50

// asks is a claim in whole milliamperes.
type asks struct {
	on              uint8 // one bit a line
	most, least     int64
	arrived, leaves int64
}

// weight is how many lines the mask has: the share of the fourth room.
func (a *asks) weight() int64 { return int64(a.on&1 + a.on>>1&1 + a.on>>2&1) }

func maskOf(on [3]bool) uint8 {
	m := uint8(0)
	for k, is := range on {
		if is {
			m |= 1 << k
		}
	}
	return m
}

// sharer shares among those that have joined. It allocates nothing once its
// lists have grown.
type sharer struct {
	how    trade.Sharing
	turn   int
	claims []asks
	order  []int32 // those that take part, in the order they are served
	open   []int32 // scratch: those still rising
	wants  room    // what all of them would take
}

func newSharer(how trade.Sharing, n int) *sharer {
	return &sharer{how: how, claims: make([]asks, n), order: make([]int32, 0, n), open: make([]int32, 0, n)}
}

// join lets claim i take part, in the place its policy gives it.
func (s *sharer) join(i int, a asks) {
	s.claims[i] = a
	key := func(j int32) int64 {
		if s.how == trade.ByDeparture {
			return s.claims[j].leaves
		}
		return s.claims[j].arrived
	}
	at, _ := slices.BinarySearchFunc(s.order, int32(i), func(a, b int32) int {
		if key(a) <= key(b) {
			return -1
		}
		return 1
	})
	s.order = slices.Insert(s.order, at, int32(i))
	s.wanting(&s.claims[i], 1)
}

// leave takes claim i out.
func (s *sharer) leave(i int) {
	if at := slices.Index(s.order, int32(i)); at >= 0 {
		s.order = slices.Delete(s.order, at, at+1)
		s.wanting(&s.claims[i], -1)
	}
}

func (s *sharer) wanting(a *asks, sign int64) {
	for k := range 3 {
		if a.on>>k&1 != 0 {
			s.wants[k] += sign * a.most
		}
	}
	s.wants[3] += sign * a.most * a.weight()
}

// enough reports whether everyone can have all it asks for.
func (s *sharer) enough(left *room) bool {
	return s.wants[0] <= left[0] && s.wants[1] <= left[1] && s.wants[2] <= left[2] && s.wants[3] <= left[3]
}

// share writes what each is given into given; those that take no part keep theirs.
func (s *sharer) share(left room, given []int64) {
	if s.enough(&left) {
		for _, i := range s.order {
			given[i] = s.claims[i].most
		}
		return
	}
	n := len(s.order)
	first := 0
	if s.how == trade.ByTurns && n > 0 {
		first = s.turn % n
	}
	s.open = s.open[:0]
	greedy := s.how == trade.FirstCome || s.how == trade.ByDeparture
	for q := range n {
		i := s.order[(first+q)%n]
		a := &s.claims[i]
		most := a.fits(&left)
		switch {
		case most < a.least:
			given[i] = 0
		case greedy:
			given[i] = min(most, a.most)
			a.use(&left, given[i])
		default:
			given[i] = a.least
			a.use(&left, a.least)
			s.open = append(s.open, i)
		}
	}
	s.rise(left, given)
}

// fits returns the greatest current the rooms have for the claim.
func (a *asks) fits(left *room) int64 {
	most := left[3] / max(1, a.weight())
	for k := range 3 {
		if a.on>>k&1 != 0 {
			most = min(most, left[k])
		}
	}
	return most
}

func (a *asks) use(left *room, i int64) {
	for k := range 3 {
		if a.on>>k&1 != 0 {
			left[k] -= i
		}
	}
	left[3] -= i * a.weight()
}

// rise lifts all open claims together until each is full or has met a line
// without room.
func (s *sharer) rise(left room, given []int64) {
	for len(s.open) > 0 {
		var heads room // how many milliamperes all of them rising by one would use
		step := unlimited
		for _, i := range s.open {
			a := &s.claims[i]
			a.use(&heads, -1)
			step = min(step, a.most-given[i])
		}
		for k, h := range heads {
			if h > 0 {
				step = min(step, left[k]/h)
			}
		}
		step = max(step, 0)
		keep := s.open[:0]
		for _, i := range s.open {
			given[i] += step
			s.claims[i].use(&left, step)
		}
		for _, i := range s.open {
			a := &s.claims[i]
			stuck := given[i] >= a.most || heads[3] > 0 && left[3] < heads[3]
			for k := range 3 {
				stuck = stuck || a.on>>k&1 != 0 && left[k] < heads[k]
			}
			if !stuck {
				keep = append(keep, i)
			}
		}
		s.open = keep
	}
}
