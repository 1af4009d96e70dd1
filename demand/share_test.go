package demand

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"chargewright/quantity"
	"chargewright/trade"
)

func claims(n int, most quantity.Amperes, lines ...int) []Claim {
	out := make([]Claim, n)
	for i := range out {
		out[i] = Claim{Most: most, Least: 6, Arrived: quantity.Seconds(i), Leaves: quantity.Seconds(1000 - i)}
		if len(lines) == 0 {
			out[i].On = [3]bool{true, true, true}
		} else {
			out[i].On[lines[i%len(lines)]] = true
		}
	}
	return out
}

// TestSharingByHand checks each policy against a division done by hand.
func TestSharingByHand(t *testing.T) {
	three := claims(3, 32, 0)
	three[0].Most = 16
	for _, tt := range []struct {
		source string
		how    trade.Sharing
		left   Lines
		claims []Claim
		turn   int
		want   string
	}{
		{"by hand: 32 A among six, 6 A the least: 5 × 6.4 A and one waits (arithmetic of the trade facts)", trade.EqualShares, Lines{32}, claims(6, 32, 0), 0, "[6.4 A 6.4 A 6.4 A 6.4 A 6.4 A 0 A]"},
		{"the same by turns, second turn: the first waits", trade.ByTurns, Lines{32}, claims(6, 32, 0), 1, "[0 A 6.4 A 6.4 A 6.4 A 6.4 A 6.4 A]"},
		{"by hand: 50 A, a 16 A vehicle first: 16, 17, 17 A", trade.EqualShares, Lines{50}, three, 0, "[16 A 17 A 17 A]"},
		{"by hand: 50 A first come: 16, 32, and 2 A are too few", trade.FirstCome, Lines{50}, three, 0, "[16 A 32 A 0 A]"},
		{"by hand: 50 A by departure, the last to come leaves first: 32, then 18, then nothing", trade.ByDeparture, Lines{50}, three, 0, "[0 A 18 A 32 A]"},
		{"limit 60 A, others 45, 52, 38 A: the worst line leaves 8 A for a three-phase point (trade facts)", trade.EqualShares, Lines{15, 8, 22}, claims(1, 32), 0, "[8 A]"},
		{"house 55 A of 60: 5 A is a pause (trade facts)", trade.EqualShares, Lines{5}, claims(1, 32, 0), 0, "[0 A]"},
	} {
		t.Run(tt.source, func(t *testing.T) {
			if got := fmt.Sprint(Share(tt.how, tt.left, tt.claims, tt.turn)); got != tt.want {
				t.Errorf("Share = %s, want %s", got, tt.want)
			}
		})
	}
}

// TestGarages is case D3: 49 points of 32 A on three lines, 100 A a line, least
// 6 A: 16 may run in a line, 48 at once, and one of the line with 17 waits.
func TestGarages(t *testing.T) {
	all := claims(49, 32, 0, 1, 2)
	given := Share(trade.EqualShares, Lines{100, 100, 100}, all, 0)
	running := [3]int{}
	sum := Lines{}
	for i, g := range given {
		if g > 0 {
			running[i%3]++
		}
		sum[i%3] += g
	}
	if running != [3]int{16, 16, 16} {
		t.Errorf("running in the lines: %v, want 16 in each", running)
	}
	for k, s := range sum {
		if s > 100 {
			t.Errorf("line %d carries %v", k+1, s)
		}
	}
	full := Lines{}
	for i := range all {
		full[i%3] += 32
	}
	if full != (Lines{544, 512, 512}) || full.Greatest()+50 != 594 {
		t.Errorf("without control %v, want 544, 512 and 512 A, 594 A with the other loads", full)
	}
}

// TestSharingKeepsToTheRoom: whatever is asked, no line is given more than is
// left, nobody less than the least or more than it asked.
func TestSharingKeepsToTheRoom(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for range 20000 {
		n := 1 + rng.IntN(12)
		cs := make([]Claim, n)
		for i := range cs {
			cs[i] = Claim{Most: quantity.Amperes(6 + rng.IntN(27)), Least: 6, Arrived: quantity.Seconds(rng.IntN(5)), Leaves: quantity.Seconds(rng.IntN(5))}
			if k := rng.IntN(4); k == 3 {
				cs[i].On = [3]bool{true, true, true}
			} else {
				cs[i].On[k] = true
			}
		}
		left := Lines{quantity.Amperes(rng.IntN(130) - 10), quantity.Amperes(rng.IntN(130) - 10), quantity.Amperes(rng.IntN(130) - 10)}
		for _, how := range []trade.Sharing{trade.EqualShares, trade.FirstCome, trade.ByDeparture, trade.ByTurns} {
			given := Share(how, left, cs, rng.IntN(20))
			sum := Lines{}
			for i, g := range given {
				if g != 0 && (g < 6 || g > cs[i].Most) {
					t.Fatalf("%s: a claim of 6 A to %v was given %v", how, cs[i].Most, g)
				}
				for k, on := range cs[i].On {
					if on {
						sum[k] += g
					}
				}
			}
			for k := range sum {
				if sum[k] > max(0, left[k])+1e-9 {
					t.Fatalf("%s: line %d had %v and gave %v to %+v: %v", how, k+1, left[k], sum[k], cs, given)
				}
			}
		}
	}
}
