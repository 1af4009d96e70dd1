package hear

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"chargewright/quantity"
)

// offsets are how far the times that messages carry lie from those in front of
// the lines, in whole quarters of a minute. A constant offset of whole quarters
// of an hour is the zone the log is written in; a message that came late lies
// behind; what is left is a clock.
type offsets struct {
	points   map[int]int
	centrals map[int]int
	where    map[int]int // line of the first of each
	stamps   map[int]map[time.Time]bool
	zoned    int
	all      int
}

const (
	bucket      = 15 * time.Second
	mostBuckets = 1000
)

func newOffsets() offsets {
	return offsets{points: map[int]int{}, centrals: map[int]int{}, where: map[int]int{}, stamps: map[int]map[time.Time]bool{}}
}

// between is how far a time lies from that of a line, as far as the line tells.
func between(l logLine, at time.Time) (int, bool) {
	if !l.at.known() || l.at.dateless {
		return 0, false
	}
	log := l.at.Time
	if l.at.yearless {
		log = log.AddDate(at.UTC().Year()-log.Year(), 0, 0)
		switch off := at.Sub(log); { // about the turn of the year
		case off > 180*24*time.Hour:
			log = log.AddDate(1, 0, 0)
		case off < -180*24*time.Hour:
			log = log.AddDate(-1, 0, 0)
		}
	}
	return int(at.Sub(log).Round(bucket) / bucket), true
}

func (o *offsets) point(l logLine, at time.Time) {
	off, ok := between(l, at)
	if !ok {
		return
	}
	o.all++
	if l.at.zoned {
		o.zoned++
	}
	if len(o.points) < mostBuckets || o.points[off] > 0 {
		o.points[off]++
		if o.where[off] == 0 {
			o.where[off] = l.number
			o.stamps[off] = map[time.Time]bool{}
		}
		if few := o.stamps[off]; len(few) < 3 {
			few[at] = true
		}
	}
}

func (o *offsets) central(l logLine, at time.Time) {
	if off, ok := between(l, at); ok && (len(o.centrals) < mostBuckets || o.centrals[off] > 0) {
		o.centrals[off]++
	}
}

// most is the offset most messages have; of as many the greatest.
func most(counts map[int]int) (off, times int) {
	for at, n := range counts {
		if n > times || n == times && at > off {
			off, times = at, n
		}
	}
	return off, times
}

// latest is the greatest offset that is no lone one: a message may come late,
// never early.
func latest(counts map[int]int) int {
	offs := make([]int, 0, len(counts))
	sum := 0
	for at, n := range counts {
		offs = append(offs, at)
		sum += n
	}
	slices.SortFunc(offs, func(a, b int) int { return cmp.Compare(b, a) })
	for _, at := range offs {
		near := counts[at] + counts[at-1] + counts[at-2]
		if near*10 >= sum || sum < 4 {
			return at
		}
	}
	return 0
}

// judge tells what the times of the log come to.
func (o *offsets) judge(t *teller) {
	if o.all == 0 {
		return
	}
	const quarter = int(15 * time.Minute / bucket)
	const near = int(time.Minute / bucket)
	point := latest(o.points)
	zone, known := 0, false
	if central, n := most(o.centrals); n > 0 {
		zone, known = central, true
	}
	whole := (point + quarter/2) / quarter * quarter
	if point < 0 {
		whole = (point - quarter/2) / quarter * quarter
	}
	if !known && o.zoned < o.all && abs(point-whole) <= near && abs(whole) <= 14*4*quarter {
		zone, known = whole, true
	}
	if abs(zone) > near {
		t.note("log's zone", o.first(), "its own clock is %v %s of the messages'", quantity.Seconds((time.Duration(abs(zone)) * bucket).Seconds()),
			map[bool]string{true: "behind", false: "ahead"}[zone > 0])
	}
	late := 0
	for off, n := range o.points {
		if off < point-near {
			late += n
		}
	}
	if late > 0 {
		t.note("late", o.first(), "%d meter values and messages came later than they were written", late)
	}
	off := point - zone
	if abs(off) <= near {
		return
	}
	stamps := 0
	for at, few := range o.stamps {
		if abs(at-point) <= 2 {
			stamps += len(few)
		}
	}
	if off < 0 && stamps < 2 { // one time, and an old one: it may be late
		return
	}
	says := fmt.Sprintf("its times lie %v %s the log's", quantity.Seconds((time.Duration(abs(off)) * bucket).Seconds()),
		map[bool]string{true: "ahead of", false: "behind"}[off > 0])
	if abs(off-(off+sign(off)*quarter/2)/quarter*quarter) <= near && abs(off) >= quarter {
		says += ": it may write local time and call it UTC"
	}
	t.note("clock off", o.where[point], "%s", says)
}

func (o *offsets) first() int {
	first := 0
	for _, line := range o.where {
		if first == 0 || line < first {
			first = line
		}
	}
	return first
}

func abs(n int) int { return max(n, -n) }

func sign(n int) int {
	if n < 0 {
		return -1
	}
	return 1
}
