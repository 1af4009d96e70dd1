package ledger

import (
	"math/big"
	"testing"

	"pgregory.net/rapid"
)

// TestRounding: half up, away from zero, once.
func TestRounding(t *testing.T) {
	for _, tt := range []struct {
		m    Money
		want string
	}{{149, "£0.01"}, {150, "£0.02"}, {-150, "−£0.02"}, {-149, "−£0.01"}, {1234567, "£123.46"}, {0, "£0.00"}} {
		if got := tt.m.String(); got != tt.want {
			t.Errorf("%d hundredths of a penny = %s, want %s", tt.m, got, tt.want)
		}
	}
	rapid.Check(t, func(r *rapid.T) {
		e := Energy(rapid.Int64Range(0, int64(mostOfOne)).Draw(r, "energy"))
		p := unitPrice(rapid.Int64Range(-1000_0000, 1000_0000).Draw(r, "price"))
		var x exact
		x.add(e, p)
		// The same in rationals: energy × price, rounded half away from zero.
		want := new(big.Rat).Mul(big.NewRat(int64(e), 1), big.NewRat(int64(p), finest))
		half := big.NewRat(1, 2)
		if want.Sign() < 0 {
			half.Neg(half)
		}
		want.Add(want, half)
		q := new(big.Int).Quo(want.Num(), want.Denom())
		if int64(x.money()) != q.Int64() {
			r.Fatalf("%d × %d = %d, want %s", e, p, x.money(), q)
		}
	})
}

// TestSpreadingLosesNothing: the parts of an energy over bands sum to it.
func TestSpreadingLosesNothing(t *testing.T) {
	tl, err := tariff(t, "what,band,from,to,value,unit\nenergy,a,00:00,05:10,7,p/kWh\nenergy,b,05:10,16:00,20,p/kWh\nenergy,c,16:00,24:00,33.3333,p/kWh\n").Timeline(zone(t, "Europe/London"), 1_772_323_200, 1_795_000_000)
	if err != nil {
		t.Fatal(err)
	}
	rapid.Check(t, func(r *rapid.T) {
		from := rapid.Int64Range(1_772_323_200, 1_790_000_000).Draw(r, "from")
		to := from + rapid.Int64Range(1, 40*86400).Draw(r, "length")
		e := Energy(rapid.Int64Range(0, int64(mostOfOne)).Draw(r, "energy"))
		b := bill{Known: true}
		var sum exact
		tl.spread(from, to, e, &b, &sum)
		var all Energy
		for _, part := range b.Bands {
			if part < 0 {
				r.Fatalf("a band holds %d", part)
			}
			all += part
		}
		if all != e || !b.Known {
			r.Fatalf("bands sum to %d, want %d", all, e)
		}
		cheap, dear := exact{}, exact{}
		cheap.add(e, 70_000)
		dear.add(e, 333_333)
		if c := sum.money(); c < cheap.money() || c > dear.money() {
			r.Fatalf("cost %d is not between %d and %d", c, cheap.money(), dear.money())
		}
	})
}
