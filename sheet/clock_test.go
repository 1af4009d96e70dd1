package sheet

import (
	"testing"
	"time"

	"pgregory.net/rapid"
)

// TestDates holds the calendar against the time package, over 400 years.
func TestDates(t *testing.T) {
	for day := int64(-80000); day < 70000; day++ {
		y, m, d := DateOf(day)
		want := time.Unix(day*86400, 0).UTC()
		if y != want.Year() || m != int(want.Month()) || d != want.Day() || DaysTo(y, m, d) != day {
			t.Fatalf("day %d = %d-%d-%d; want %s", day, y, m, d, want.Format("2006-01-02 Mon"))
		}
	}
}

func zone(t testing.TB, name string) *time.Location {
	t.Helper()
	z, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return z
}

// TestClockChanges: the hour that is left out and the one lived twice, London
// and Oslo 2026 and a zone that changes by half an hour (tz database).
func TestClockChanges(t *testing.T) {
	for _, tt := range []struct {
		zone, wall    string
		how           Reading
		first, second string // UTC
	}{
		{"Europe/London", "2026-03-29 00:59", Once, "2026-03-29 00:59", "2026-03-29 00:59"},
		{"Europe/London", "2026-03-29 01:30", Skipped, "2026-03-29 01:30", "2026-03-29 01:30"},
		{"Europe/London", "2026-03-29 02:00", Once, "2026-03-29 01:00", "2026-03-29 01:00"},
		{"Europe/London", "2026-10-25 00:59", Once, "2026-10-24 23:59", "2026-10-24 23:59"},
		{"Europe/London", "2026-10-25 01:00", Twice, "2026-10-25 00:00", "2026-10-25 01:00"},
		{"Europe/London", "2026-10-25 01:59", Twice, "2026-10-25 00:59", "2026-10-25 01:59"},
		{"Europe/London", "2026-10-25 02:00", Once, "2026-10-25 02:00", "2026-10-25 02:00"},
		{"Europe/Oslo", "2019-10-27 02:30", Twice, "2019-10-27 00:30", "2019-10-27 01:30"},
		{"Australia/Lord_Howe", "2026-04-05 01:45", Twice, "2026-04-04 14:45", "2026-04-04 15:15"},
	} {
		c := Clock{Zone: zone(t, tt.zone)}
		st, ok := ReadStamp([]byte(tt.wall), false)
		if !ok {
			t.Fatal(tt.wall)
		}
		a, b, how := c.Instants(st.Wall)
		text := func(u int64) string { return time.Unix(u, 0).UTC().Format("2006-01-02 15:04") }
		if how != tt.how || text(a) != tt.first || text(b) != tt.second {
			t.Errorf("%s %s = %s, %s, %d; want %s, %s, %d", tt.zone, tt.wall, text(a), text(b), how, tt.first, tt.second, tt.how)
		}
	}
}

// TestWallAndBack: what the clock shows at an instant can mean that instant.
func TestWallAndBack(t *testing.T) {
	zones := []*time.Location{zone(t, "Europe/London"), zone(t, "Europe/Oslo"), zone(t, "America/New_York"), zone(t, "Australia/Lord_Howe"), time.UTC}
	rapid.Check(t, func(r *rapid.T) {
		c := Clock{Zone: rapid.SampledFrom(zones).Draw(r, "zone")}
		for range 4 { // the clock remembers: several in a row
			at := rapid.Int64Range(1_262_304_000, 2_000_000_000).Draw(r, "at")
			w := c.Wall(at)
			want := time.Unix(at, 0).In(c.Zone)
			if y, m, d := DateOf(w.Day()); y != want.Year() || m != int(want.Month()) || d != want.Day() || int64(w)%86400 != int64(want.Hour()*3600+want.Minute()*60+want.Second()) {
				r.Fatalf("wall(%d) = day %d, want %s", at, w.Day(), want)
			}
			if a, b, _ := c.Instants(w); a != at && b != at {
				r.Fatalf("instants(wall(%d)) = %d, %d", at, a, b)
			}
		}
	})
}

// TestStamps: forms of a written time, and what is none.
func TestStamps(t *testing.T) {
	for text, want := range map[string]string{
		"2026-11-25T14:05:30Z": "2026-11-25 14:05:30", "2026-11-25T14:05:30.123+01:00": "2026-11-25 13:05:30", "2026-11-25 14:05": "2026-11-25 14:05:00", "25.11.2026 14:05": "2026-11-25 14:05:00",
		"25/11/2026 14:05:06": "2026-11-25 14:05:06", "2026-11-25 14:05:30 +0530": "2026-11-25 08:35:30", "2024-02-29 00:00": "2024-02-29 00:00:00",
		"2026-02-29 00:00": "", "2026-13-01 00:00": "", "11/25/2026 14:05": "", "2026-11-25": "", "2026-11-25 24:00": "", "14:05": "", "yesterday": "", "2026-11-25 14:05 PM": "", "25-11.2026 14:05": "",
	} {
		st, ok := ReadStamp([]byte(text), false)
		got := ""
		if ok {
			got = time.Unix(int64(st.Wall)-st.Offset, 0).UTC().Format(time.DateTime)
		}
		if got != want {
			t.Errorf("ReadStamp(%q) = %q, want %q", text, got, want)
		}
	}
}
