package drawing

import "chargewright/prove"

// Ruler is where the marks of an expectation stand along a line from zero, as
// shares of its length.
type Ruler struct {
	HasBand              bool
	From, To             float64 // of the band
	OpenBelow, OpenAbove bool    // it has no edge there
	HasMid               bool
	Mid                  float64
	HasLimit             bool
	Limit                float64
	LimitAtLeast         bool
	Broken               bool // not to scale beyond Break
	Break                float64
	HasRead              bool
	Read                 float64
	Before               []float64 // what was read before and counts no more
}

// RulerOf returns the ruler of an expectation, with its reading if it has one,
// and readings before it that count no more.
func RulerOf(e prove.Expectation, before ...float64) Ruler {
	const length = bandRight - bandLeft
	share := func(x float64) float64 { return (x - bandLeft) / length }
	hasBand := e.Known() && (!e.Low.IsZero() || !e.High.IsZero())
	read, has, beyond := taken(e)
	r := Ruler{HasBand: hasBand, OpenBelow: e.Low.IsZero(), OpenAbove: e.High.IsZero(), HasLimit: !e.Limit.IsZero(), LimitAtLeast: e.LimitIs == "at least"}
	widest, hasWidest := read, has
	for _, b := range before {
		widest, hasWidest = max(widest, b), true
	}
	a := axisFor(e, hasBand, widest, hasWidest)
	if a.to <= a.from {
		a.to = a.from + 1
	}
	r.From, r.To = 0, 1
	if !r.OpenBelow {
		r.From = share(a.x(e.Low.Number))
	}
	if !r.OpenAbove {
		r.To = share(a.x(e.High.Number))
	}
	if r.HasMid = hasBand && !e.Mid.IsZero(); r.HasMid {
		r.Mid = share(a.x(e.Mid.Number))
	}
	if r.HasLimit {
		r.Limit = share(a.x(e.Limit.Number))
	}
	r.Broken, r.Break = a.broken, share(a.breakX)
	switch {
	case beyond:
		r.HasRead, r.Read = true, 0.97
	case has:
		r.HasRead, r.Read = true, share(a.x(read))
	}
	for _, b := range before {
		r.Before = append(r.Before, share(a.x(b)))
	}
	return r
}
