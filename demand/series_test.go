package demand

import (
	"math"
	"testing"
	"time"

	"chargewright/quantity"
	"chargewright/trade"
)

// TestLimitersInSeries, by hand: 30 A of other loads on L1, a board whose limiter
// holds its point to 20 A, and a limiter at the supply set to 60 A that holds the
// other point: 60 − 30 − 20 leave it 10 A. When the board's vehicle leaves after an
// hour it has 30 A.
func TestLimitersInSeries(t *testing.T) {
	at := limiterControl{Name: "supply", Limit: 60, SeesPoints: true, Samples: 1, Sharing: trade.EqualShares}
	board := limiterControl{Name: "board", Limit: 20, SeesPoints: true, Samples: 1, Sharing: trade.EqualShares}
	one := bayFacts{Name: "a", On: [3]bool{true}, Most: 32, Least: 6}
	other := bayFacts{Name: "b", On: [3]bool{true}, Most: 32, Least: 6, By: 1}
	visits := booked{{{Leave: 7200, Needs: 1e6, Most: 32, Phases: 1}}, {{Leave: 3600, Needs: 1e6, Most: 32, Phases: 1}}}
	r := mustRun(t, &runSetup{Start: monday, Step: time.Second, Length: 2 * time.Hour, Volts: 230, Site: Steady{30}, Control: &at,
		Further: []furtherControl{{limiterControl: board}}, Bays: []bayFacts{one, other}, Visits: visits})
	amperes := func(i int, hours float64) float64 { return float64(r.Bays[i].Energy) / 3.6e6 / 230 / hours }
	if got := amperes(1, 1); math.Abs(got-20) > 0.1 {
		t.Errorf("the board's point has %.2f A, want 20 A", got)
	}
	if got := amperes(0, 2); math.Abs(got-20) > 0.1 { // 10 A in the first hour, 30 A in the second
		t.Errorf("the supply's point has %.2f A on the mean, want 20 A", got)
	}
	if r.Above(0, 61) > 3 {
		t.Errorf("the line is above 61 A for %v", r.Above(0, 61))
	}
}

// TestFaultsOfReadings, by hand: 40 A of other loads, limit 50 A, 32 A at the
// point, which so has 10 A. Every hour of the run has the fault.
func TestFaultsOfReadings(t *testing.T) {
	c := limiterControl{Name: "l", Limit: 50, FailSafe: 8, SeesPoints: true, Samples: 1, TimeOut: 3, Sharing: trade.EqualShares}
	for _, tt := range []struct {
		kind     faultKind
		notices  bool
		noSource bool
		want     quantity.Amperes // that the point draws
		why      string
	}{
		{"", false, false, 10, "no fault"},
		{faultLost, false, false, 8, "the fail-safe current"},
		{faultZero, false, false, 32, "the points' own is taken off nothing, and the limiter gives all there is"},
		{faultReversed, false, false, 32, "−40 A of other loads"},
		{faultLow, false, false, 32, "(40 + i)/2 − i leaves 50 − 20 + i/2, at least all the point takes"},
		{faultZero, true, true, 8, "below zero by the point's own: it cannot be, and is no reading"},
		{faultReversed, true, true, 8, "below zero"},
		{faultReversed, true, false, 32, "something may feed back: below zero may be true"},
		{faultPowerUp, false, false, 10, "it starts anew once, and reads"},
	} {
		c := c
		c.NoticesLoss, c.NoSource = tt.notices, tt.noSource
		s := &runSetup{Start: monday, Step: time.Second, Length: 2 * time.Hour, Volts: 230, Site: Steady{40}, Control: &c,
			Bays: []bayFacts{{Name: "CP1", On: [3]bool{true}, Most: 32, Least: 6}}, Visits: booked{{{Leave: 7200, Needs: 1e6, Most: 32, Phases: 1}}}}
		if tt.kind != "" {
			s.Faults = []dailyFault{{0, 86400, tt.kind}}
		}
		r := mustRun(t, s)
		if got := float64(r.Bays[0].Energy) / 3.6e6 / 230 / 2; math.Abs(got-float64(tt.want)) > 0.3 {
			t.Errorf("%q, noticed %v, no source %v: the point draws %.2f A, want %v: %s", tt.kind, tt.notices, tt.noSource, got, tt.want, tt.why)
		}
	}
	for text, ok := range map[string]bool{"zero 18:00 10m": true, "lost 23:50 1h": true, "zero 18:00": false, "half 18:00 10m": false, "zero 25:00 10m": false, "zero 18:00 0s": false} {
		if _, err := readFaults([]string{text}); (err == nil) != ok {
			t.Errorf("%q: %v", text, err)
		}
	}
}
