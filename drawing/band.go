package drawing

import (
	"math"
	"strings"

	"chargewright/prove"
	"chargewright/reading"
)

// Size of a band picture, in mm.
const (
	bandWidth  = 46.0
	bandHeight = 8.0
	bandLeft   = 2.0
	bandRight  = bandWidth - 2.0
	bandAxis   = 4.6
)

// BandPicture draws an expectation small, for a table or a screen: the
// expected band on a line, its most likely value, the limit with a foot on the
// side that is allowed, and the reading as a dot once it is taken. Nothing is
// drawn of what is not known.
func BandPicture(e prove.Expectation) Scene {
	s := Scene{Name: "band-" + attribute(e.Reading+" "+e.At), Title: e.Reading + " at " + e.At, Width: bandWidth, Height: bandHeight}
	low, hasLow := e.Low.Number, !e.Low.IsZero()
	mid, hasMid := e.Mid.Number, !e.Mid.IsZero()
	high, hasHigh := e.High.Number, !e.High.IsZero()
	limit, hasLimit := e.Limit.Number, !e.Limit.IsZero()
	read, hasReading, beyond := taken(e)
	s.Description = describeBand(e)
	hasBand := e.Known() && (hasLow || hasHigh)
	if !hasBand && !hasLimit && !hasReading && !beyond {
		return s
	}
	a := axisFor(e, hasBand, read, hasReading)
	add := func(shapes ...Shape) { s.Shapes = append(s.Shapes, shapes...) }
	add(Line{XY{bandLeft, bandAxis}, XY{bandRight, bandAxis}, fine})
	if hasBand {
		from, to := bandLeft, bandRight
		if hasLow {
			from = a.x(low)
		}
		if hasHigh {
			to = a.x(high)
		}
		add(Rectangle{XY{from, bandAxis - 1.5}, max(to-from, 0.8), 3, Pale, Stroke{}})
		add(Line{XY{bandLeft, bandAxis}, XY{bandRight, bandAxis}, fine})
		for _, end := range []struct {
			is bool
			x  float64
		}{{hasLow, from}, {hasHigh, to}} {
			if end.is {
				add(Line{XY{end.x, bandAxis - 1.5}, XY{end.x, bandAxis + 1.5}, fine})
			}
		}
		if !hasHigh {
			add(arrow(bandRight, 1))
		}
		if !hasLow {
			add(arrow(bandLeft, -1))
		}
	}
	if hasMid && e.Known() {
		add(Line{XY{a.x(mid), bandAxis - 1.5}, XY{a.x(mid), bandAxis + 1.5}, Stroke{Ink: Black, Width: 0.5}})
	}
	if hasLimit {
		x := a.x(limit)
		side := -1.0
		if e.LimitIs == "at least" {
			side = 1
		}
		heavy := Stroke{Ink: Black, Width: 0.8}
		add(Line{XY{x, 0.8}, XY{x, bandAxis + 2.4}, heavy}, Line{XY{x, 0.8}, XY{x + 2*side, 0.8}, heavy})
		if a.broken {
			add(breakMark(a.breakX)...)
		}
	}
	if hasReading {
		add(Circle{Centre: XY{a.x(read), bandAxis}, Radius: 1.3, Fill: Black, Stroke: Stroke{Ink: White, Width: 0.4}})
	}
	if beyond {
		add(Circle{Centre: XY{bandRight - 1.3, bandAxis}, Radius: 1.3, Fill: Black, Stroke: Stroke{Ink: White, Width: 0.4}})
	}
	return s
}

// axis places numbers on the line. Where the limit lies far beyond the band
// the line is broken, and what lies beyond stands at its far end.
type axis struct {
	from, to float64
	log      bool
	broken   bool
	breakX   float64
	beyond   float64 // numbers from here on stand beyond the break
}

func (a axis) x(v float64) float64 {
	right := bandRight - 1
	if a.broken {
		if v >= a.beyond {
			return right - 2
		}
		right = a.breakX - 2
	}
	from, to := a.from, a.to
	if a.log {
		v, from, to = math.Log10(max(v, a.from)), math.Log10(a.from), math.Log10(a.to)
	}
	if to <= from {
		return bandLeft + 1
	}
	share := min(max((v-from)/(to-from), 0), 1)
	return bandLeft + 1 + share*(right-bandLeft-1)
}

func axisFor(e prove.Expectation, hasBand bool, read float64, hasReading bool) axis {
	values := []float64{}
	use := func(is bool, v float64) {
		if is {
			values = append(values, v)
		}
	}
	use(hasBand && !e.Low.IsZero(), e.Low.Number)
	use(hasBand && !e.Mid.IsZero(), e.Mid.Number)
	use(hasBand && !e.High.IsZero(), e.High.Number)
	use(hasReading, read)
	least, most := 0.0, 0.0
	for i, v := range values {
		if i == 0 || v < least {
			least = v
		}
		most = max(most, v)
	}
	limit := e.Limit.Number
	if e.Limit.IsZero() {
		return axis{to: most * 1.15}
	}
	if len(values) == 0 {
		return axis{to: limit * 1.3}
	}
	if e.LimitIs == "at least" && limit > 0 && least > 10*limit {
		return axis{from: limit / 3, to: max(most, least) * 3, log: true}
	}
	if limit > 4*most && most > 0 {
		return axis{to: most * 1.1, broken: true, breakX: bandRight - 9, beyond: limit}
	}
	return axis{to: max(most, limit) * 1.15}
}

// arrow says that the band goes on.
func arrow(x, side float64) Shape {
	return Path{Points: []XY{{x - 1.6*side, bandAxis - 1.1}, {x, bandAxis}, {x - 1.6*side, bandAxis + 1.1}}, Stroke: fine}
}

// breakMark says that the line is not to scale here.
func breakMark(x float64) []Shape {
	return []Shape{
		Rectangle{XY{x, bandAxis - 1}, 1.2, 2, White, Stroke{}},
		Line{XY{x - 0.5, bandAxis + 1.4}, XY{x + 0.5, bandAxis - 1.4}, fine},
		Line{XY{x + 0.7, bandAxis + 1.4}, XY{x + 1.7, bandAxis - 1.4}, fine},
	}
}

// taken returns the number of the reading, if one was taken, or that it lies
// beyond all numbers. A reading off the end of a range counts as that end.
func taken(e prove.Expectation) (number float64, is, beyond bool) {
	k := e.Kind()
	if k == nil || e.Taken == "" {
		return 0, false, false
	}
	v, err := k.Parse(e.Taken)
	if err != nil {
		return 0, false, false
	}
	return v.Amount, v.HasAmount(), v.Is == reading.Open || v.Is == reading.NoTrip
}

func describeBand(e prove.Expectation) string {
	var parts []string
	switch {
	case !e.Known():
		parts = append(parts, "not known: "+strings.Join(e.Missing.Words(), ", "))
	case !e.Low.IsZero() && !e.High.IsZero():
		parts = append(parts, "expected "+e.Low.String()+" to "+e.High.String())
	case !e.Low.IsZero():
		parts = append(parts, "expected "+e.Low.String()+" or more")
	case !e.High.IsZero():
		parts = append(parts, "expected up to "+e.High.String())
	case e.Mid.IsZero() && e.Limit.IsZero():
		parts = append(parts, "no number is expected")
	}
	if !e.Mid.IsZero() {
		parts = append(parts, "most likely "+e.Mid.String())
	}
	if !e.Limit.IsZero() {
		parts = append(parts, e.LimitIs+" "+e.Limit.String())
	}
	if e.Taken != "" {
		parts = append(parts, "read "+e.Taken)
	}
	return list(parts...)
}
