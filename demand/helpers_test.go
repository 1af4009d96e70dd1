package demand

import (
	"chargewright/quantity"
	"chargewright/trade"
)

// Claim is what one connected vehicle asks for.
type Claim struct {
	On      [3]bool          // the lines it loads
	Most    quantity.Amperes // per line, vehicle, cable and point together
	Least   quantity.Amperes // below it charging pauses
	Arrived quantity.Seconds // any common clock
	Leaves  quantity.Seconds
}

// Share divides what is left in each line among the claims, and returns what
// each is given, in their order. With equal currents those that do not fit
// wait; turn says who comes first when they take turns.
//
//	equal         as many as their least current allows, in order of arrival; the same to each
//	first come    in order of arrival, each all it can take
//	by departure  in order of leaving, each all it can take
//	by turns      as equal, and the first place moves on with every turn
func Share(how trade.Sharing, left Lines, claims []Claim, turn int) []quantity.Amperes {
	s := newSharer(how, len(claims))
	for i, c := range claims {
		s.join(i, asks{on: maskOf(c.On), most: milliamperes(c.Most), least: milliamperes(c.Least), arrived: milliseconds(c.Arrived), leaves: milliseconds(c.Leaves)})
	}
	s.turn = turn
	given := make([]int64, len(claims))
	m := toMilli(left)
	s.share(room{m[0], m[1], m[2], unlimited}, given)
	out := make([]quantity.Amperes, len(claims))
	for i, g := range given {
		out[i] = amperes(g)
	}
	return out
}

// Steady is other loads that never change.
type Steady Lines

// Fill writes the same again.
func (s Steady) Fill(into []present) {
	m := present(toMilli(Lines(s)))
	for i := range into {
		into[i] = m
	}
}

// millijoules returns what was recorded in all, at the nominal voltage.
func (l *Log) Energy(u0 quantity.Volts) quantity.WattHours {
	sum := 0.0
	for i, v := range l.Values {
		if l.Known[i] {
			sum += float64(v[0] + v[1] + v[2])
		}
	}
	return quantity.WattHours(sum / 1000 * float64(u0) * l.Step.Hours())
}
