package ledger

import "time"

// civil is a time as a clock on the wall shows it, in seconds since 1970 as if
// the wall were in UTC.
type civil int64

// reading says how a wall-clock time can be understood.
type reading uint8

const (
	once    reading = iota // one instant
	twice                  // the hour that is lived twice, when clocks go back
	skipped                // the hour that is left out, when clocks go forward
)

// clock turns wall-clock times of one zone into instants. It remembers the
// stretch between two clock changes it was last in.
type clock struct {
	zone     *time.Location
	from, to int64 // in here, a day away from any change, offset holds
	offset   int64
}

// instants returns the instant of a wall-clock time; where the hour is lived
// twice, both. A time that the clocks leave out is taken as if they had not
// yet gone forward.
func (c *clock) instants(w civil) (first, second int64, how reading) {
	if u := int64(w); u >= c.from && u < c.to {
		return u - c.offset, u - c.offset, once
	}
	const day = 86400
	before, after := c.offsetAt(int64(w)-day), c.offsetAt(int64(w)+day)
	if before == after {
		c.remember(int64(w), before)
		return int64(w) - before, int64(w) - before, once
	}
	a, b := int64(w)-before, int64(w)-after
	aHolds, bHolds := c.offsetAt(a) == before, c.offsetAt(b) == after
	switch {
	case aHolds && bHolds:
		return min(a, b), max(a, b), twice
	case aHolds:
		return a, a, once
	case bHolds:
		return b, b, once
	}
	return a, a, skipped
}

func (c *clock) offsetAt(instant int64) int64 {
	_, offset := time.Unix(instant, 0).In(c.zone).Zone()
	return int64(offset)
}

// remember keeps the stretch around a wall-clock time in which the offset
// cannot change.
func (c *clock) remember(w, offset int64) {
	start, end := time.Unix(w-offset, 0).In(c.zone).ZoneBounds()
	const day = 2 * 86400
	c.offset, c.from, c.to = offset, -1<<60, 1<<60
	if !start.IsZero() {
		c.from = start.Unix() + offset + day
	}
	if !end.IsZero() {
		c.to = end.Unix() + offset - day
	}
}

// wall returns what the clock on the wall shows at an instant.
func (c *clock) wall(instant int64) civil {
	if w := instant + c.offset; w >= c.from && w < c.to {
		return civil(w)
	}
	offset := c.offsetAt(instant)
	c.remember(instant+offset, offset)
	return civil(instant + offset)
}

// day returns the number of the day of a wall-clock time, 0 for 1 January 1970.
func (w civil) day() int64 {
	if w < 0 {
		return (int64(w) - 86399) / 86400
	}
	return int64(w) / 86400
}

// month returns months since January of the year 0.
func (w civil) month() int32 {
	y, m, _ := dateOf(w.day())
	return int32(y*12 + m - 1)
}

// daysTo returns the number of the day of a date of the Gregorian calendar.
func daysTo(y, m, d int) int64 {
	// Counted from 1 March of the year 0, so that the leap day comes last.
	if m <= 2 {
		y--
		m += 12
	}
	era := y / 400
	if y < 0 {
		era = (y - 399) / 400
	}
	year := y - era*400
	return int64(era)*146097 + int64(year)*365 + int64(year/4-year/100+(153*(m-3)+2)/5+d-1) - 719468
}

// dateOf returns the date of a day's number.
func dateOf(day int64) (y, m, d int) {
	day += 719468
	era := day / 146097
	if day < 0 {
		era = (day - 146096) / 146097
	}
	of := day - era*146097
	year := (of - of/1460 + of/36524 - of/146096) / 365
	of -= 365*year + year/4 - year/100
	part := (5*of + 2) / 153
	d = int(of - (153*part+2)/5 + 1)
	m = int(part) + 3
	y = int(year + era*400)
	if m > 12 {
		m -= 12
		y++
	}
	return y, m, d
}

func daysIn(y, m int) int {
	if m == 12 {
		return 31
	}
	return int(daysTo(y, m+1, 1) - daysTo(y, m, 1))
}
