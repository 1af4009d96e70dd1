package demand

import (
	"math"
	"math/rand/v2"
	"os"
	"testing"
	"time"

	"chargewright/quantity"
)

func recording(t testing.TB, file string) evenSamples {
	t.Helper()
	text, err := os.ReadFile("../examples/bakery/clamp/" + file + ".csv")
	if err != nil {
		t.Fatal(err)
	}
	l, err := ReadLog(file, text, Columns{}, Setting{Zone: time.UTC, Phases: 3})
	if err != nil {
		t.Fatal(err)
	}
	return l.Recording()
}

// TestSixRecordings: each invented recording carries one fault and is told.
func TestSixRecordings(t *testing.T) {
	point := recording(t, "point")
	for _, tt := range []struct {
		file    string
		verdict ClampVerdict
		seen    int
		share   float64
		delay   quantity.Seconds
	}{
		{"right", ClampRight, 1, 1, 3},
		{"reversed", ClampReversed, 1, -1, 3},
		{"other-phase", ClampOtherPhase, 2, 1, 2},
		{"wrong-ratio", ClampWrongRatio, 1, 0.5, 5},
		{"not-seen", ClampNotSeen, -1, 0, -1},
		{"paired", ClampPaired, 1, -0.5, 1},
	} {
		got := proveClamp(recording(t, tt.file), point, 1)
		if got.Verdict != tt.verdict || got.Confidence < 0.9 || got.Seen != tt.seen {
			t.Errorf("%s: %s (%.3f) in channel %d: %s", tt.file, got.Verdict, got.Confidence, got.Seen, got.Why)
		}
		if tt.seen >= 0 && (math.Abs(got.Share[tt.seen]-tt.share) > 0.03 || math.Abs(float64(got.Delay-tt.delay)) > 1) {
			t.Errorf("%s: share %.3f, delay %v: want %v, %v", tt.file, got.Share[tt.seen], got.Delay, tt.share, tt.delay)
		}
	}
}

// TestSixNumbers gives the same answers from six numbers each.
func TestSixNumbers(t *testing.T) {
	before := [3]float64{20, 31, 28}
	for _, tt := range []struct {
		source  string
		during  [3]float64
		verdict ClampVerdict
	}{
		{"by hand: L2 rises by the point's 32 A", [3]float64{20.4, 63, 28}, ClampRight},
		{"by hand: L2 falls by 32 A", [3]float64{20, -1, 28.3}, ClampReversed},
		{"by hand: L3 rises instead", [3]float64{20, 31, 60}, ClampOtherPhase},
		{"by hand: L2 rises by half", [3]float64{20, 47, 28}, ClampWrongRatio},
		{"by hand: L2 rises to double", [3]float64{20, 95, 28}, ClampWrongRatio},
		{"by hand: nothing moves", [3]float64{20.2, 31, 28}, ClampNotSeen},
		{"by hand: L2 falls by half: cos 120°", [3]float64{20, 15, 28}, ClampPaired},
	} {
		if got := OnSiteThree(before, tt.during, 32, 1); got.Verdict != tt.verdict {
			t.Errorf("%s: %s (%.2f) %s, want %s", tt.source, got.Verdict, got.Confidence, got.Why, tt.verdict)
		}
	}
	if got := OnSiteThree(before, [3]float64{20, 31, 28}, 2, 1); got.Verdict != ClampNotKnown {
		t.Errorf("a charge of 2 A proves nothing, and the verdict is %s", got.Verdict)
	}
	if got := OnSiteThree(before, [3]float64{45, 55, 8}, 32, 1); got.Verdict == ClampRight {
		t.Error("a site that moves by 20 A in every line is called right")
	}
	for _, tt := range []struct {
		source       string
		clamp, point [3]float64
		verdict      ClampVerdict
	}{
		// Case D19: house 40 A reads −40; +3.0 kW at 230 V is 13.0 A.
		{"case D19", [3]float64{-40, -53, -40}, [3]float64{0, 13.04, 0}, ClampReversed},
		{"case D19, clamp turned round", [3]float64{40, 53, 40}, [3]float64{0, 13.04, 0}, ClampRight},
		{"by hand: rises by a fifth", [3]float64{10, 16.4, 10}, [3]float64{0, 32, 0}, ClampWrongRatio},
		{"by hand: not moved", [3]float64{10, 10.2, 10}, [3]float64{0, 32, 0}, ClampNotSeen},
	} {
		if got := OnSiteOne(tt.clamp, tt.point); got.Verdict != tt.verdict {
			t.Errorf("%s: %s (%.2f), want %s", tt.source, got.Verdict, got.Confidence, tt.verdict)
		}
	}
}

// TestReversedClampOverloads is the rest of case D19: on a 60 A fuse the
// reading of −40 A lets the vehicle have all 32 A, 72 A in all, 120 %.
func TestReversedClampOverloads(t *testing.T) {
	o := offerAt(60, Lines{-40}, [3]bool{true}, 32, 6)
	if total := 40 + o.Given; o.Given != 32 || total != 72 || total/60 != 1.2 {
		t.Errorf("given %v, in all %v", o.Given, 40+o.Given)
	}
}

// TestPairedWithAnotherVoltage is case D20: 14 A on L2, its channel shows
// −7 A, the others are unmoved; cos 120° = −0.5.
func TestPairedWithAnotherVoltage(t *testing.T) {
	if got := OnSiteThree([3]float64{}, [3]float64{0, -7, 0}, 14, 1); got.Verdict != ClampPaired {
		t.Errorf("%s (%.2f): %s", got.Verdict, got.Confidence, got.Why)
	}
}

// TestClampAgainstManySites: thousands of invented sites whose loads switch at
// random. A verdict may be "not known"; it may hardly ever be wrong.
func TestClampAgainstManySites(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	kinds := []struct {
		verdict ClampVerdict
		on      int
		share   float64
	}{{ClampRight, 0, 1}, {ClampReversed, 0, -1}, {ClampOtherPhase, 1, 1}, {ClampWrongRatio, 0, 2}, {ClampNotSeen, -1, 0}, {ClampPaired, 0, -0.5}}
	wrong, unknown, n := 0, 0, 0
	for range 40 {
		for _, kind := range kinds {
			site, point := evenSamples{Step: 1, Lines: 3}, evenSamples{Step: 1, Lines: 1}
			level := [3]float64{20, 20, 20}
			delay := rng.IntN(20)
			for i := range 600 {
				own, late := 0.0, 0.0
				if i%150 > 60 {
					own = 16
				}
				if (i-delay)%150 > 60 {
					late = 16
				}
				for k := range level {
					if rng.Float64() < 0.02 {
						level[k] = 5 + 30*rng.Float64()
					}
				}
				v := level
				for k := range v {
					v[k] += rng.NormFloat64()
				}
				if kind.on >= 0 {
					v[kind.on] += kind.share * late
				}
				site.Values, site.Known = append(site.Values, v), append(site.Known, true)
				point.Values, point.Known = append(point.Values, [3]float64{own}), append(point.Known, true)
			}
			got := proveClamp(site, point, 0)
			n++
			switch got.Verdict {
			case kind.verdict:
			case ClampNotKnown:
				unknown++
			default:
				wrong++
				t.Logf("%s taken for %s (%.2f): shares %.2f ± %.2f", kind.verdict, got.Verdict, got.Confidence, got.Share, got.Spread)
			}
		}
	}
	if wrong > n/100 || unknown > n/4 {
		t.Errorf("%d wrong and %d not known of %d", wrong, unknown, n)
	}
}

// TestClocksApart: the same invented recordings, the site's clock set wrong by
// whole and quarter hours. The offset is found first, then the clamp is judged
// as it is by clocks that agree; a clamp that sees nothing is never explained
// away by its clock.
func TestClocksApart(t *testing.T) {
	log := func(file string, ahead time.Duration) *Log {
		text, err := os.ReadFile("../examples/bakery/clamp/" + file + ".csv")
		if err != nil {
			t.Fatal(err)
		}
		l, err := ReadLog(file, text, Columns{}, Setting{Zone: time.UTC, Phases: 3})
		if err != nil {
			t.Fatal(err)
		}
		l.Start = l.Start.Add(ahead)
		return l
	}
	for _, tt := range []struct {
		file    string
		verdict ClampVerdict
	}{{"right", ClampRight}, {"reversed", ClampReversed}, {"other-phase", ClampOtherPhase}, {"wrong-ratio", ClampWrongRatio}, {"paired", ClampPaired}, {"not-seen", ClampNotKnown}} {
		for _, ahead := range []time.Duration{time.Hour, -time.Hour, 5*time.Hour + 45*time.Minute, -15 * time.Minute} {
			r, err := ProveLogs(log(tt.file, ahead), log("point", 0), 1)
			if err != nil {
				t.Fatal(err)
			}
			if r.Verdict != tt.verdict && !(tt.verdict == ClampNotKnown && r.Verdict == ClampNotSeen) {
				t.Errorf("%s, %v ahead: %s (%.2f): %s", tt.file, ahead, r.Verdict, r.Confidence, r.Why)
			}
			if r.Verdict == tt.verdict && tt.verdict != ClampNotKnown && r.Apart != ahead {
				t.Errorf("%s: the clocks are %v apart, found %v", tt.file, ahead, r.Apart)
			}
		}
	}
	if r, err := ProveLogs(log("right", 0), log("point", 0), 1); err != nil || r.Apart != 0 || r.Verdict != ClampRight {
		t.Errorf("clocks that agree: %v, %s, %v", r.Apart, r.Verdict, err)
	}
}

// TestTurnedAndWrongRatio: a clamp that is turned round and set to another ratio
// has both named together; case by case from the share of each step.
func TestTurnedAndWrongRatio(t *testing.T) {
	for _, share := range []float64{-2, -0.2, -4, -0.25} {
		during := [3]float64{20, 31 + share*32, 28}
		if got := OnSiteThree([3]float64{20, 31, 28}, during, 32, 1); got.Verdict != ClampTurned {
			t.Errorf("L2 moves by %.2f of the load: %s (%.2f)", share, got.Verdict, got.Confidence)
		}
	}
	if got := OnSiteThree([3]float64{20, 31, 28}, [3]float64{20, 31 + 64, 28}, 32, 1); got.Verdict != ClampWrongRatio {
		t.Errorf("L2 moves by 2.00 of the load: %s", got.Verdict)
	}
}
