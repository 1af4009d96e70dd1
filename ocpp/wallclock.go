package ocpp

import (
	"time"
	_ "time/tzdata" // the clock on the wall is known on every machine
)

// Britain is the time on the wall where the smart charge point regulations
// count their hours.
var Britain = func() *time.Location {
	l, err := time.LoadLocation("Europe/London")
	if err != nil {
		return time.UTC
	}
	return l
}()

// offPeak are the weekday hours in which no charge begins by itself.
//
//	source  SI 2021/1467 reg 10 (secondary; standard table requirements, R119)
var offPeak = []struct{ from, to int }{{8, 11}, {16, 22}}

// InPeak reports whether t lies in a weekday peak by the clock on the wall.
func InPeak(t time.Time) bool {
	t = t.In(Britain)
	if t.Weekday() == time.Saturday || t.Weekday() == time.Sunday {
		return false
	}
	for _, peak := range offPeak {
		if t.Hour() >= peak.from && t.Hour() < peak.to {
			return true
		}
	}
	return false
}
