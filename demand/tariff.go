package demand

// What the energy costs. Rates are whole thousandths of a penny for a
// kilowatt-hour, energy whole millijoules; the product is exact, and is rounded
// to the penny once.

import (
	"math/big"
	"time"
)

// tariffRate is pence for a kilowatt-hour from a time of day on.
type tariffRate struct {
	From  time.Duration // since midnight, local time
	Pence float64       // for a kWh
}

// dayTariff is the rates of a day, in the order of their times; the last of them
// holds past midnight. Export is pence for a kWh sent out.
type dayTariff struct {
	Rates  []tariffRate
	Export float64
}

// at returns which rate holds at a moment, and when the next begins.
func (t *dayTariff) at(now time.Time) (int, time.Time) {
	midnight := time.Date(now.Year(), now.Month(), now.Day(), 0, 0, 0, 0, now.Location())
	clock := func(day time.Time, d time.Duration) time.Time {
		return time.Date(day.Year(), day.Month(), day.Day(), int(d/time.Hour), int(d/time.Minute)%60, int(d/time.Second)%60, 0, day.Location())
	}
	rate := len(t.Rates) - 1
	for i, r := range t.Rates {
		if from := clock(midnight, r.From); from.After(now) {
			return rate, from
		}
		rate = i
	}
	return rate, clock(midnight.AddDate(0, 0, 1), t.Rates[0].From)
}

// wholePence is money in whole pence.
type wholePence int64

// bill returns the exact cost of energies, as millijoules times thousandths of
// a penny; a kilowatt-hour is 3.6e9 mJ.
func bill(energy []int64, rates []int64) *big.Int {
	sum := new(big.Int)
	for i, e := range energy {
		sum.Add(sum, new(big.Int).Mul(big.NewInt(e), big.NewInt(rates[i])))
	}
	return sum
}

var perPenny = big.NewInt(3_600_000_000 * 1000)

// round returns the cost in whole pence, a half upwards.
func round(exact *big.Int) wholePence {
	half := new(big.Int).Add(exact, new(big.Int).Div(perPenny, big.NewInt(2)))
	return wholePence(new(big.Int).Div(half, perPenny).Int64())
}
