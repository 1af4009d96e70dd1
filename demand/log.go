package demand

// A recording of the site's demand: a meter's half-hours, or a logger's
// currents. What is missing stays missing, is counted and said.

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"time"

	"chargewright/quantity"
	"chargewright/sheet"
)

// Columns says what the columns of a file hold, by their headings. What is not
// named is looked for by the usual words and units.
type Columns struct {
	Time     string    // date and time together
	Date     string    // or apart
	Clock    string    //
	Current  [3]string // A, line by line
	Power    string    // kW, all lines together
	Energy   string    // kWh of the interval that begins at the time
	Register string    // kWh, a meter's reading that only rises
}

// Log is a recording on a regular grid of time.
type Log struct {
	File     string
	What     string // what was recorded: "current of each line", "energy"
	Start    time.Time
	Step     time.Duration
	Lines    int       // 1 or 3
	Values   []present // mA
	Known    []bool
	Balanced bool     // the lines are not known apart: the power was shared equally, at unity power factor
	Notes    []string // gaps, resets and whatever else a reader must know
	Gaps     int      // intervals without a value
	Longest  time.Duration
	Resets   int
	Zeros    int // intervals of exactly nothing
	zone     *time.Location
}

// Setting is what a reader must know beside the file.
type Setting struct {
	Zone   *time.Location // of times without an offset; UTC where not said
	Local  *time.Location // of the site; as Zone where not said
	Volts  quantity.Volts // nominal, line to neutral
	Phases int            // of the supply, 1 or 3
}

// sample is one row as read.
type sample struct {
	at     time.Time
	line   int
	values [3]float64
	known  bool
}

// ReadLog reads a recording.
func ReadLog(file string, text []byte, c Columns, set Setting) (*Log, error) {
	in, cols, err := openLog(file, text, c)
	if err != nil {
		return nil, err
	}
	if set.Zone == nil {
		set.Zone = time.UTC
	}
	if set.Local == nil {
		set.Local = set.Zone
	}
	l := &Log{File: file, zone: set.Local, What: cols.what, Lines: 1}
	if set.Phases == 3 {
		l.Lines = 3
	}
	if !(set.Volts > 0) && cols.what != whatCurrent {
		return nil, sheet.Fault{File: file, Want: "the nominal voltage is wanted to make currents of " + cols.what}
	}
	rows, err := cols.samples(in, set.Zone)
	if err != nil {
		return nil, err
	}
	if len(rows) > 0 {
		rows = l.inOrder(rows)
	}
	if len(rows) < 2 {
		return nil, sheet.Fault{File: file, Line: in.Lines, Want: "two readings at least are wanted, at different times"}
	}
	if err := l.findStep(rows); err != nil {
		return nil, err
	}
	l.place(rows, cols, set)
	l.count()
	return l, nil
}

// inOrder sorts the rows and drops the second of two at one time.
func (l *Log) inOrder(rows []sample) []sample {
	if !sort.SliceIsSorted(rows, func(i, k int) bool { return rows[i].at.Before(rows[k].at) }) {
		sort.SliceStable(rows, func(i, k int) bool { return rows[i].at.Before(rows[k].at) })
	}
	keep := rows[:1]
	twice := 0
	for _, r := range rows[1:] {
		if r.at.Equal(keep[len(keep)-1].at) {
			twice++
			continue
		}
		keep = append(keep, r)
	}
	if twice > 0 {
		l.note("%s with a time that was there already: the first of each is kept", many(twice, "reading"))
	}
	return keep
}

// findStep takes the usual distance of two readings for the step.
func (l *Log) findStep(rows []sample) error {
	gaps := make([]time.Duration, 0, len(rows)-1)
	for i := 1; i < len(rows); i++ {
		gaps = append(gaps, rows[i].at.Sub(rows[i-1].at))
	}
	slices.Sort(gaps)
	l.Step = gaps[len(gaps)/2].Round(time.Second)
	l.Start = rows[0].at
	if l.Step < time.Second || l.Step > 24*time.Hour {
		return sheet.Fault{File: l.File, Line: rows[1].line, Want: fmt.Sprintf("readings are %v apart: a second to a day is wanted", gaps[len(gaps)/2])}
	}
	if span := rows[len(rows)-1].at.Sub(l.Start); span/l.Step > 40_000_000 {
		return sheet.Fault{File: l.File, Line: rows[len(rows)-1].line,
			Want: fmt.Sprintf("the recording spans %v at %v: that is too much to hold; split it", span, l.Step)}
	}
	return nil
}

// place puts the rows on the grid, as currents.
func (l *Log) place(rows []sample, cols *columns, set Setting) {
	n := int(rows[len(rows)-1].at.Sub(l.Start)/l.Step) + 1
	l.Values, l.Known = make([]present, n), make([]bool, n)
	l.Balanced = cols.what != whatCurrent && l.Lines == 3
	hours := l.Step.Hours()
	off := 0
	var before *sample
	for i := range rows {
		r := &rows[i]
		slot := int((r.at.Sub(l.Start) + l.Step/2) / l.Step)
		if r.at.Sub(l.Start)%l.Step != 0 {
			off++
		}
		if slot >= n || !r.known {
			continue
		}
		var kw float64
		switch cols.what {
		case whatCurrent:
			for k := range l.Lines {
				l.Values[slot][k] = int64(math.Round(r.values[k] * 1000))
			}
			l.Known[slot] = true
			continue
		case whatPower:
			kw = r.values[0]
		case whatEnergy:
			kw = r.values[0] / hours
		case whatRegister: // the rise since the reading before belongs to the interval before
			was := before
			before = r
			if was == nil || r.at.Sub(was.at) > l.Step*3/2 || slot == 0 {
				continue
			}
			if r.values[0] < was.values[0] {
				l.Resets++
				continue
			}
			kw = (r.values[0] - was.values[0]) / hours
			slot--
		}
		if kw == 0 {
			l.Zeros++
		}
		for k := range l.Lines {
			l.Values[slot][k] = int64(math.Round(kw * 1e6 / (float64(set.Volts) * float64(l.Lines))))
		}
		l.Known[slot] = true
	}
	if cols.what == whatRegister && n > 1 { // the last reading only ends an interval
		l.Values, l.Known = l.Values[:n-1], l.Known[:n-1]
	}
	if off > 0 {
		l.note("%s off the grid of %s, put in the nearest place", many(off, "reading"), lasting(l.Step))
	}
}

// count counts what is missing, and says what a reader must know.
func (l *Log) count() {
	run, seen, runs := 0, 0, 0
	for _, known := range l.Known {
		if known {
			run = 0
			seen++
			continue
		}
		if run == 0 {
			runs++
		}
		run++
		l.Gaps++
		l.Longest = max(l.Longest, time.Duration(run)*l.Step)
	}
	if l.Gaps > 0 {
		l.note("%d of %d intervals are missing, in %s, the longest %s: the greatest demand may have been there", l.Gaps, len(l.Known), many(runs, "gap"),
			lasting(l.Longest))
	}
	if l.Resets > 0 {
		l.note("the meter's register went back %s (changed or reset): what was used then is left out", many(l.Resets, "time"))
	}
	if l.Zeros > 0 && l.Zeros < seen {
		l.note("%s exactly 0: a site seldom draws nothing, so they are probably missing and not at rest", many(l.Zeros, "interval"))
	}
	if l.Balanced {
		l.note("the lines are not recorded apart: shared equally at unity power factor; the most loaded line carries more")
	}
	if l.Step > time.Minute {
		l.note("each value is a mean over %s: shorter peaks do not show, and a limiter is not proved by it", lasting(l.Step))
	}
}

func (l *Log) note(format string, args ...any) {
	l.Notes = append(l.Notes, fmt.Sprintf(format, args...))
}

// logPeak is the greatest of a recording.
type logPeak struct {
	Current  quantity.Amperes
	Line     int // from 0
	At       time.Time
	Question string // why it should be questioned, or nothing
}

// Greatest returns the greatest value of each line and the greatest of all.
func (l *Log) Greatest() (Lines, logPeak) {
	var most Lines
	best := logPeak{}
	for i, v := range l.Values {
		if !l.Known[i] {
			continue
		}
		for k := range l.Lines {
			a := amperes(v[k])
			most[k] = max(most[k], a)
			if a > best.Current || best.At.IsZero() {
				best = logPeak{Current: a, Line: k, At: l.at(i)}
			}
		}
	}
	best.Question = l.question(best.At)
	return most, best
}

// question says why a value at a moment should be doubted.
func (l *Log) question(at time.Time) string {
	if at.IsZero() || l.Step < 30*time.Minute {
		return ""
	}
	local := at.In(l.zone)
	day := time.Date(local.Year(), local.Month(), local.Day(), 0, 0, 0, 0, l.zone)
	length := day.AddDate(0, 0, 1).Sub(day)
	if length > 24*time.Hour && local.Hour() <= 3 {
		return "it falls in the night the clocks went back: two intervals may have been added together"
	}
	return ""
}

func (l *Log) at(i int) time.Time { return l.Start.Add(time.Duration(i) * l.Step) }

// HalfHours returns the greatest mean of a clock half-hour in each line, each
// half-hour known in full, and when the greatest of all was. A recording with
// longer steps has none.
func (l *Log) HalfHours() (Lines, logPeak) {
	var most Lines
	var best logPeak
	per := int(30 * time.Minute / l.Step)
	if per < 1 || 30*time.Minute%l.Step != 0 {
		return most, best
	}
	first := 0
	for first < len(l.Values) && l.at(first).Truncate(30*time.Minute) != l.at(first) {
		first++
	}
	for i := first; i+per <= len(l.Values); i += per {
		var sum milli
		whole := true
		for q := i; q < i+per; q++ {
			whole = whole && l.Known[q]
			for k := range sum {
				sum[k] += l.Values[q][k]
			}
		}
		if !whole {
			continue
		}
		for k := range l.Lines {
			a := amperes(sum[k]) / quantity.Amperes(per)
			most[k] = max(most[k], a)
			if a > best.Current || best.At.IsZero() {
				best = logPeak{Current: a, Line: k, At: l.at(i)}
			}
		}
	}
	best.Question = l.question(best.At)
	return most, best
}

// otherLoads returns the recording as the other loads of a run with the given step.
// A gap is filled with the greater of the values on either side.
func (l *Log) Site(step time.Duration) (*replay, error) {
	if l.Step%step != 0 {
		return nil, fmt.Errorf("%s: its values are %v apart: the step of the run, %v, must go into that without rest", l.File, l.Step, step)
	}
	values := append([]present(nil), l.Values...)
	for i := 0; i < len(values); i++ {
		if l.Known[i] {
			continue
		}
		end := i
		for end < len(values) && !l.Known[end] {
			end++
		}
		var fill present
		for k := range fill {
			if i > 0 {
				fill[k] = values[i-1][k]
			}
			if end < len(values) {
				fill[k] = max(fill[k], values[end][k])
			}
		}
		for ; i < end; i++ {
			values[i] = fill
		}
	}
	return &replay{Values: values, Hold: int(l.Step / step)}, nil
}

// String names the recording in a sentence.
func (l *Log) String() string {
	return fmt.Sprintf("%s: %s from %s to %s, every %s", l.File, l.What, clockOf(l.Start.In(l.zone)), clockOf(l.at(len(l.Values)).In(l.zone)), lasting(l.Step))
}
