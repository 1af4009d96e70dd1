package ledger

import (
	"testing"
	"time"
)

// TestWeekdays holds the days of the week against the time package, over 400
// years.
func TestWeekdays(t *testing.T) {
	for day := int64(-80000); day < 70000; day++ {
		if want := time.Unix(day*86400, 0).UTC(); weekday(day) != int(want.Weekday()+6)%7 {
			t.Fatalf("weekday(%d) = %d, want %s", day, weekday(day), want.Format("2006-01-02 Mon"))
		}
	}
}
