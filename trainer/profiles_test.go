package trainer

import (
	"chargewright/ocpp"
	"chargewright/quantity"
	"testing"
	"time"
)

// TestWattsAndAmperes: situation D22 of the trade and OCPP 1.6 errata 3.68: watts are shared
// out over the phases, three where none are named; amperes are for each phase.
func TestWattsAndAmperes(t *testing.T) {
	began := time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)
	hold := func(limit float64, watts bool) profiles {
		return profiles{{purpose: ocpp.AnySession, watts: watts, periods: []ocpp.Period{{Limit: limit}}}}
	}
	for _, tt := range []struct {
		source string
		ps     profiles
		phases int
		want   quantity.Amperes
	}{
		{"2300 W on one phase", hold(2300, true), 1, 10},
		{"22080 W on three phases", hold(22080, true), 3, 32},
		{"7360 W, three phases assumed", hold(7360, true), 3, 10.6667},
		{"16 A on three phases is 16 A in each", hold(16, false), 3, 16},
	} {
		got, _, _ := tt.ps.limit(began, "", 230, tt.phases)
		if got < tt.want-0.001 || got > tt.want+0.001 {
			t.Errorf("%s: limit = %v, want %v", tt.source, got, tt.want)
		}
	}
	standing := profiles{{purpose: ocpp.AnySession, level: 0, periods: []ocpp.Period{{Limit: 16}}}, {purpose: ocpp.OneSession, transaction: "1", level: 2, from: began, lasts: 30 * time.Second, periods: []ocpp.Period{{Limit: 32}}}, {purpose: ocpp.WholePoint, periods: []ocpp.Period{{Limit: 20}}}}
	for after, want := range map[int]quantity.Amperes{0: 20, 29: 20, 30: 16} { // OCPP 1.6 section 3.13 and errata 3.43
		if got, _, _ := standing.limit(began.Add(time.Duration(after)*time.Second), "1", 230, 1); got != want {
			t.Errorf("after %d s: limit = %v, want %v", after, got, want)
		}
	}
}
