package sheet

import "time"

// Civil is a time as a clock on the wall shows it, in seconds since 1970 as if
// the wall were in UTC.
type Civil int64

// Reading says how a wall-clock time can be understood.
type Reading uint8

const (
	Once    Reading = iota // one instant
	Twice                  // the hour that is lived twice, when clocks go back
	Skipped                // the hour that is left out, when clocks go forward
)

// Clock turns wall-clock times of one zone into instants. It remembers the
// stretch between two clock changes it was last in.
type Clock struct {
	Zone     *time.Location
	from, to int64 // in here, a day away from any change, offset holds
	offset   int64
}

// Instants returns the instant of a wall-clock time; where the hour is lived
// twice, both. A time that the clocks leave out is taken as if they had not
// yet gone forward.
func (c *Clock) Instants(w Civil) (first, second int64, how Reading) {
	if u := int64(w); u >= c.from && u < c.to {
		return u - c.offset, u - c.offset, Once
	}
	const day = 86400
	before, after := c.offsetAt(int64(w)-day), c.offsetAt(int64(w)+day)
	if before == after {
		c.remember(int64(w), before)
		return int64(w) - before, int64(w) - before, Once
	}
	a, b := int64(w)-before, int64(w)-after
	aHolds, bHolds := c.offsetAt(a) == before, c.offsetAt(b) == after
	switch {
	case aHolds && bHolds:
		return min(a, b), max(a, b), Twice
	case aHolds:
		return a, a, Once
	case bHolds:
		return b, b, Once
	}
	return a, a, Skipped
}

func (c *Clock) offsetAt(instant int64) int64 {
	_, offset := time.Unix(instant, 0).In(c.Zone).Zone()
	return int64(offset)
}

// remember keeps the stretch around a wall-clock time in which the offset
// cannot change.
func (c *Clock) remember(w, offset int64) {
	start, end := time.Unix(w-offset, 0).In(c.Zone).ZoneBounds()
	const day = 2 * 86400
	c.offset, c.from, c.to = offset, -1<<60, 1<<60
	if !start.IsZero() {
		c.from = start.Unix() + offset + day
	}
	if !end.IsZero() {
		c.to = end.Unix() + offset - day
	}
}

// Wall returns what the clock on the wall shows at an instant.
func (c *Clock) Wall(instant int64) Civil {
	if w := instant + c.offset; w >= c.from && w < c.to {
		return Civil(w)
	}
	offset := c.offsetAt(instant)
	c.remember(instant+offset, offset)
	return Civil(instant + offset)
}

// Day returns the number of the day of a wall-clock time, 0 for 1 January 1970.
func (w Civil) Day() int64 {
	if w < 0 {
		return (int64(w) - 86399) / 86400
	}
	return int64(w) / 86400
}

// Month returns months since January of the year 0.
func (w Civil) Month() int32 {
	y, m, _ := DateOf(w.Day())
	return int32(y*12 + m - 1)
}

// DaysTo returns the number of the day of a date of the Gregorian calendar.
func DaysTo(y, m, d int) int64 {
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

// DateOf returns the date of a day's number.
func DateOf(day int64) (y, m, d int) {
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

func DaysIn(y, m int) int {
	if m == 12 {
		return 31
	}
	return int(DaysTo(y, m+1, 1) - DaysTo(y, m, 1))
}
