package demand

import (
	"fmt"
	"time"
)

// lasting tells a length of time in the unit that suits it.
func lasting(d time.Duration) string {
	switch {
	case d >= 48*time.Hour:
		return trimmed(d.Hours()/24) + " days"
	case d >= time.Hour && (d >= 2*time.Hour || d%time.Hour == 0):
		return trimmed(d.Hours()) + " h"
	case d >= time.Minute && (d >= 2*time.Minute || d%time.Minute == 0):
		return trimmed(d.Minutes()) + " min"
	}
	return trimmed(d.Seconds()) + " s"
}

func trimmed(v float64) string { return fmt.Sprintf("%.4g", v) }

// many counts things in words: "1 gap", "3 gaps".
func many(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return fmt.Sprintf("%d %ss", n, thing)
}

// sure prints a probability; nothing is told as certain.
func sure(p float64) string {
	if p > 0.99 {
		return "more than 99 %"
	}
	return fmt.Sprintf("%.0f %%", 100*p)
}
