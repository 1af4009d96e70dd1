package demand

import (
	"math"
	"strings"
	"testing"
	"time"

	"chargewright/job"
	"chargewright/model"
	"chargewright/quantity"
	"chargewright/standard"
)

// TestDemandOverTime is case D1: base 15 A, heat pump 25 A, shower 35 A, hob
// 32 A, a charge point of 32 A, on fuses of 60, 80 and 100 A.
func TestDemandOverTime(t *testing.T) {
	for _, tt := range []struct {
		others quantity.Amperes
		want   [3]string
	}{
		{15 + 25, [3]string{"20 A for the vehicle", "32 A for the vehicle, all the point", "32 A for the vehicle, all the point"}},
		{15 + 25 + 35, [3]string{"pause; the other loads alone exceed the limit by 15 A, which a limiter cannot cure", "pause; the 5 A that are left", "25 A for the vehicle"}},
		{15 + 25 + 32, [3]string{"exceed the limit by 12 A", "8 A for the vehicle", "28 A for the vehicle"}},
		{15 + 25 + 35 + 32, [3]string{"exceed the limit by 47 A", "exceed the limit by 27 A", "exceed the limit by 7 A"}},
	} {
		for i, fuse := range []quantity.Amperes{60, 80, 100} {
			got := offerAt(fuse, Lines{tt.others}, [3]bool{true}, 32, 6)
			if !strings.Contains(got.String(), tt.want[i]) {
				t.Errorf("others %v on %v: %q, want %q", tt.others, fuse, got, tt.want[i])
			}
		}
	}
}

// TestThrottle is case D18: grid 15.9, 16.8, 17.1 A with a three-phase vehicle
// at 15.1, 15.3, 15.2 A; limits of 16, 10 and 7 A give 14 A, 8 A and a pause.
func TestThrottle(t *testing.T) {
	others := othersLeft(Lines{15.9, 16.8, 17.1}, Lines{15.1, 15.3, 15.2})
	for limit, want := range map[quantity.Amperes]quantity.Amperes{16: 14, 10: 8, 7: 0} {
		if got := offerAt(limit, others, [3]bool{true, true, true}, 32, 6).Whole(6); got.Given != want {
			t.Errorf("limit %v: %v, want %v", limit, got.Given, want)
		}
	}
}

// TestWattsAndAmps is case D22: 2300 W is 10 A on one line, 3.3 A on three,
// which is a pause; 32 A would be 7360 or 22 080 W.
func TestWattsAndAmps(t *testing.T) {
	if each, given := fromWatts(2300, 1, 230, 6); each != 10 || given != 10 {
		t.Errorf("one phase: %v, given %v", each, given)
	}
	if each, given := fromWatts(2300, 3, 230, 6); each.String() != "3.33 A" || given != 0 {
		t.Errorf("three phases: %v, given %v", each, given)
	}
	for phases, watts := range map[int]quantity.Watts{1: 7360, 3: 22080} {
		if each, _ := fromWatts(watts, phases, 230, 6); math.Abs(float64(each)-32) > 1e-9 {
			t.Errorf("%v on %d phases is %v, want 32 A", watts, phases, each)
		}
	}
}

// TestTellDay: a morning told from a recording. The pilot's duty cycle for
// 24 A is 40 % (IEC 61851-1 Annex A: 0.6 A for each per cent).
func TestTellDay(t *testing.T) {
	text := "time,L1 A\n2026-11-20 05:00,40\n2026-11-20 05:30,71\n2026-11-20 06:00,90\n2026-11-20 06:30,99\n2026-11-20 07:00,20\n"
	l, err := ReadLog("day", []byte(text), Columns{}, Setting{Zone: time.UTC, Volts: 230, Phases: 1})
	if err != nil {
		t.Fatal(err)
	}
	rules, err := standard.Open("")
	if err != nil {
		t.Fatal(err)
	}
	var told []string
	for _, s := range tellDay(l, limiterControl{Limit: 95}, bayFacts{On: [3]bool{true}, Most: 32, Least: 6}, rules) {
		told = append(told, s.String())
	}
	want := `05:00 to 05:30  others 40 A: vehicle 32 A in full
05:30 to 06:00  others 71 A: vehicle held to 24 A, pilot down to 40 %
06:00 to 06:30  others 90 A: vehicle paused, less is left than can be signalled
06:30 to 07:00  others 99 A: vehicle paused, and the others alone are up to 4 A over: no limiter can help
07:00 to 07:30  others 20 A: vehicle 32 A in full`
	if got := strings.Join(told, "\n"); got != want {
		t.Errorf("told:\n%s\nwant:\n%s", got, want)
	}
}

func modelOf(t testing.TB, text string) *model.Model {
	t.Helper()
	j, err := job.Read("job", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	rules, err := standard.Open(j.Edition)
	if err != nil {
		t.Fatal(err)
	}
	return model.New(j, rules)
}

// house is the worked house of the trade facts (D036): lights, ring circuits,
// cooker and shower, and a charge point.
const house = `job: house
site: {premises: dwelling}
supply:
  earthing: TN-C-S
  phases: 1
  voltage: 230 V
  cut-out: {type: BS 88-3, rating: 100 A}
boards:
  - {name: board, fed from: supply, phases: 1, all loads entered: yes}
loads:
  - {name: lights, board: board, phases: L1, kind: lighting, current: 6 A}
  - {name: ring 1, board: board, phases: L1, kind: socket circuit, current: 32 A}
  - {name: ring 2, board: board, phases: L1, kind: socket circuit, current: 32 A}
  - {name: cooker, board: board, phases: L1, kind: cooking, current: 52.17 A}
  - {name: shower, board: board, phases: L1, kind: instantaneous water heater, current: 41.93 A}
circuits:
  - {name: car, from: board, to: CP1, phases: L1}
points:
  - {name: CP1, current: 32 A, phases: 1, least current: 6 A}
`

// TestAllowances: IET On-Site Guide Table A2 on the worked house:
// 3.96 + 32 + 12.8 + 22.65 + 41.93 = 113.3 A, and 145.3 A with the point in full.
func TestAllowances(t *testing.T) {
	e := ByAllowance(modelOf(t, house))
	if !e.Known() || math.Abs(float64(e.Existing[0])-113.34) > 0.01 || math.Abs(float64(e.InFull[0])-145.34) > 0.01 || e.Held != e.InFull {
		t.Errorf("existing %v, with the point %v, held %v, missing %v: want 113.3, 145.3, 145.3 A", e.Existing[0], e.InFull[0], e.Held[0], e.Lacks)
	}
	if !strings.Contains(e.Source.String(), "On-Site Guide Table A2") {
		t.Errorf("source %q", e.Source)
	}
}

// TestAllowancesWantFacts: what is not said is asked for, not assumed.
func TestAllowancesWantFacts(t *testing.T) {
	for _, missing := range []string{"site: {premises: dwelling}\n", "kind: lighting, "} {
		if e := ByAllowance(modelOf(t, strings.Replace(house, missing, "", 1))); e.Known() {
			t.Errorf("without %q the demand is given as %v", missing, e.Existing)
		}
	}
}
