package design

import (
	"math"
	"testing"

	"chargewright/quantity"
	"chargewright/standard"
)

// TestSeries holds pairs of devices to what guides and standards say of them.
func TestSeries(t *testing.T) {
	rules, err := standard.Open("")
	if err != nil {
		t.Fatal(err)
	}
	without := quantity.Amperes(math.Inf(1))
	gG := func(in quantity.Amperes) standard.Device { return standard.Device{Family: standard.FuseGG, Rating: in} }
	of := func(f standard.Family, in quantity.Amperes) standard.Device {
		return standard.Device{Family: f, Rating: in}
	}
	for _, tt := range []struct {
		source       string
		ahead, below standard.Device
		icn, until   quantity.Amperes
	}{
		{"IEC 60269-2, fuse application guide: 100 over 63 counts as 1.6", gG(100), gG(63), 80000, without},
		{"IEC 60269-2, fuse application guide: 63 over 40 counts as 1.6", gG(63), gG(40), 80000, without},
		{"IEC 60269-2, fuse application guide: 80 over 63 does not", gG(80), gG(63), 80000, 0},
		{"BS EN 60898-1 bands: B32 below C63 up to 5 × 63 A", of(standard.BreakerC, 63), of(standard.BreakerB, 32), 6000, 315},
		{"BS EN 60898-1 bands: B16 below B40 up to 3 × 40 A", of(standard.BreakerB, 40), of(standard.BreakerB, 16), 6000, 120},
		{"IEC 60269-1 gates: C32 below 63 A gG, whose 0.1 s gate holds to 450 A; 55 000 A²s class limit above 9000 A²s", gG(63), of(standard.BreakerC, 32), 6000, 450},
		{"IEC 60269-1, EN 60898-1 Annex ZA: B32 of 3 kA lets through 18 000 A²s, under the 27 000 of 100 A gG", gG(100), of(standard.BreakerB, 32), 3000, 3000},
		{"IEC 60269-1, EN 60898-1 Annex ZA: B32 of 6 kA may let through 45 000 A²s, above the 27 000 of 100 A gG: gate only", gG(100), of(standard.BreakerB, 32), 6000, 820},
	} {
		t.Run(tt.source, func(t *testing.T) {
			got := Series(rules, tt.ahead, tt.below, tt.icn)
			if got.Until != tt.until && math.Abs(float64(got.Until-tt.until)) > 1 {
				t.Errorf("Series(%v, %v, %v) until %v, want %v; %s", tt.ahead, tt.below, tt.icn, got.Until, tt.until, got.Why)
			}
		})
	}
}
