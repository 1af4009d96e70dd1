package standard

import (
	"fmt"
	"math"

	"chargewright/quantity"
)

// point is one point of a time-current curve.
type point struct{ amperes, seconds float64 }

// OperatingTime returns the shortest and the longest time in which a device of
// this family may operate at a steady current.
//
//	i         current, in A
//	shortest  no device of the family operates sooner; 0 where it may be instant
//	longest   every device of the family has operated by then; +Inf where none need
//	source    product standards: conventional currents, trip bands, gates
//
// The standards give points and gates. Between two of them a straight line on
// logarithmic scales is read, which is the form the curves are printed in: an
// estimate, not a limit. From a breaker's last thermal point to its magnetic
// part the heat that trips it is taken as constant, which errs on the long
// side. Outside the points nothing is assumed: the longest time stays that of
// the last point and the shortest becomes 0.
func (b *Rulebook) OperatingTime(d Device, i quantity.Amperes) (shortest, longest quantity.Seconds, cite Citation, err error) {
	f, err := b.family(d.Family)
	if err != nil {
		return 0, 0, Citation{}, err
	}
	if !(d.Rating > 0) || !(i >= 0) {
		return 0, 0, Citation{}, fmt.Errorf("operating time of %s at %v: rating and current must be above zero", d, i)
	}
	rated := float64(d.Rating)
	if f.adjusted {
		if !(d.Ir > 0) || !(d.Im > 0) {
			return 0, 0, Citation{}, fmt.Errorf("operating time of %s: its settings Ir and Im are not both known", d)
		}
		rated = float64(d.Ir)
	}
	long, ok := f.long.upward(rated)
	if !ok {
		return 0, 0, Citation{}, &notTabulated{Wanted: "time-current points of " + d.String()}
	}
	// At most five points each; arrays keep a curve of many currents cheap.
	var soon, late [5]point
	early, slow := append(soon[:0], point{long.value.carries * rated, long.value.seconds}),
		append(late[:0], point{long.value.operates * rated, long.value.seconds})
	cite = b.cite(long.row)
	if len(f.bands) > 0 {
		band := f.bands[0].value
		base := rated
		if f.adjusted {
			base = float64(d.Im)
		}
		if m, ok := f.middle.upward(rated); ok {
			early = append(early, point{m.value.multiple * rated, m.value.shortest})
			slow = append(slow, point{m.value.multiple * rated, m.value.longest})
		}
		early = append(early, point{band.holds * base, band.seconds})
		last := slow[len(slow)-1]
		if trips := band.trips * base; float64(i) >= trips {
			return 0, quantity.Seconds(band.seconds), b.cite(f.bands[0].row), nil
		} else if float64(i) > last.amperes { // I²t constant
			heat := last.amperes / float64(i)
			return quantity.Seconds(readEarly(early, float64(i))), quantity.Seconds(max(last.seconds*heat*heat, band.seconds)), b.cite(f.bands[0].row), nil
		}
		return quantity.Seconds(readEarly(early, float64(i))), quantity.Seconds(readLate(slow, float64(i))), cite, nil
	}
	if g, ok := f.gates.exact(rated); ok {
		early = append(early, point{float64(g.value.holds10s), 10}, point{float64(g.value.holds100ms), 0.1})
		slow = append(slow, point{float64(g.value.operates5s), 5}, point{float64(g.value.operates100ms), 0.1})
		shortest = quantity.Seconds(readEarly(early, float64(i)))
		if float64(i) > float64(g.value.holds100ms) { // beyond the gate: least pre-arcing heat
			shortest = quantity.Seconds(min(0.1, float64(g.value.preArcingLeast)/(float64(i)*float64(i))))
		}
		return shortest, quantity.Seconds(readLate(slow, float64(i))), b.cite(g.row), nil
	}
	points := f.currents[d.Rating]
	if len(points) == 0 {
		return 0, 0, Citation{}, &notTabulated{Wanted: "time-current points of " + d.String(), Known: names(keys[quantity.Amperes](f.ratings))}
	}
	for n := len(points) - 1; n >= 0; n-- {
		slow = append(slow, point{points[n].value, points[n].at})
	}
	return quantity.Seconds(readEarly(early, float64(i))), quantity.Seconds(readLate(slow, float64(i))), b.cite(points[0].row), nil
}

// readEarly reads the shortest time: never before the first point, 0 beyond the last.
func readEarly(points []point, i float64) float64 {
	if i < points[0].amperes {
		return math.Inf(1)
	}
	if last := points[len(points)-1]; i > last.amperes {
		return 0
	}
	return logLog(points, i)
}

// readLate reads the longest time: never before the first point, the last
// point's time beyond it.
func readLate(points []point, i float64) float64 {
	if i < points[0].amperes {
		return math.Inf(1)
	}
	if last := points[len(points)-1]; i > last.amperes {
		return last.seconds
	}
	return logLog(points, i)
}

// logLog reads a curve between its points on logarithmic scales.
func logLog(points []point, i float64) float64 {
	for n := 1; n < len(points); n++ {
		a, z := points[n-1], points[n]
		if i <= z.amperes && z.amperes > a.amperes {
			along := math.Log(i/a.amperes) / math.Log(z.amperes/a.amperes)
			return a.seconds * math.Pow(z.seconds/a.seconds, along)
		}
	}
	return points[len(points)-1].seconds
}

// ifMarked and fromGate are notes on let-through figures.
const (
	ifMarked = "for a device marked energy limiting class 3"
	fromGate = "bound drawn from the gate at 0.1 s; the total at high current is maker's data"
)

// LetThrough returns the greatest energy a device lets through while it clears
// a fault in less than 0.1 s.
//
//	symbol  I²t, in A²s
//	ipf     prospective fault current
//	icn     rated short-circuit capacity of a breaker, as marked
//	source  BS EN 60898-1 energy limiting class 3; IEC 60269-1 gates
//
// A breaker's figure holds only for a device marked class 3, and there is none
// for type D or above 40 A. A fuse's figure is (current of its 0.1 s gate)² ×
// 0.1 s, which is above the greatest pre-arcing energy. Without a figure the
// error says that the maker's data is needed.
func (b *Rulebook) LetThrough(d Device, ipf, icn quantity.Amperes) (quantity.AmpereSquaredSeconds, Citation, error) {
	f, err := b.family(d.Family)
	if err != nil {
		return 0, Citation{}, err
	}
	if !(ipf > 0) {
		return 0, Citation{}, fmt.Errorf("let-through of %s: the prospective fault current is not known", d)
	}
	if g, ok := f.gates.exact(float64(d.Rating)); ok {
		i := float64(g.value.operates100ms)
		return quantity.AmpereSquaredSeconds(i * i * 0.1), b.cite(g.row).with(fromGate), nil
	}
	if len(f.energies) > 0 {
		if !(icn > 0) {
			return 0, Citation{}, fmt.Errorf("let-through of %s: its rated short-circuit capacity is not known", d)
		}
		if ipf > icn {
			return 0, Citation{}, fmt.Errorf("let-through of %s: the fault of %v is above its rated short-circuit capacity of %v", d, ipf, icn)
		}
		if col, ok := f.energies.upward(float64(d.Rating)); ok {
			if c, ok := col.value.upward(float64(icn)); ok {
				return c.value, b.cite(c.row).with(ifMarked), nil
			}
		}
	}
	return 0, Citation{}, &notTabulated{Wanted: "let-through of " + d.String(), Why: "not known: maker's data"}
}

// MinLetThrough returns the least energy that makes a fuse operate, its
// pre-arcing energy; a device ahead is selective while the energy below stays
// under it.
//
//	symbol  I²t, in A²s
//	source  IEC 60269-1
func (b *Rulebook) MinLetThrough(d Device) (quantity.AmpereSquaredSeconds, Citation, error) {
	f, err := b.family(d.Family)
	if err != nil {
		return 0, Citation{}, err
	}
	if g, ok := f.gates.exact(float64(d.Rating)); ok {
		return g.value.preArcingLeast, b.cite(g.row), nil
	}
	return 0, Citation{}, &notTabulated{Wanted: "least operating energy of " + d.String(), Why: "not known: maker's data",
		Known: names(keys[quantity.Amperes](f.gates))}
}
