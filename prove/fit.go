package prove

import "chargewright/reading"

// Fit is how a reading stands to what was expected of it. It is no verdict: a
// limit has those.
type Fit uint8

// How a reading may stand. The zero value is that there is nothing to hold it
// to, or nothing was read.
const (
	NoFit Fit = iota
	Fits
	TooHigh
	FarTooHigh
	TooLow
	FarTooLow
)

// far is how many times beyond the edge of its band a reading lies far off:
// what no temperature and no tolerance of an instrument explains. Ours, no
// source.
const far = 2

// Fit returns how what was read stands to the band.
func (e Expectation) Fit(taken string) Fit {
	k := e.Kind()
	if k == nil || taken == "" || k.Seen() {
		return NoFit
	}
	v, err := k.Parse(taken)
	if err != nil || v.Is == reading.NotDone {
		return NoFit
	}
	switch hasLow, hasHigh := !e.Low.IsZero(), !e.High.IsZero(); {
	case hasHigh && (v.Is == reading.Open || v.Is == reading.NoTrip):
		return FarTooHigh
	case !v.Outside(e.Low, e.High):
		if !hasLow && !hasHigh || !e.Known() {
			return NoFit
		}
		return Fits
	case hasHigh && v.Amount > e.High.Number:
		if v.Amount > far*e.High.Number {
			return FarTooHigh
		}
		return TooHigh
	case v.Amount*far < e.Low.Number:
		return FarTooLow
	}
	return TooLow
}

// Misfits reports that a reading lies outside what was expected.
func (f Fit) Misfits() bool { return f > Fits }

// String says it in the words of every screen.
func (f Fit) String() string {
	return [...]string{"", "Fits", "Too high", "Far too high", "Too low", "Far too low"}[f]
}
