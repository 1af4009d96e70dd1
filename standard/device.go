package standard

import (
	"fmt"
	"math"
	"strconv"

	"chargewright/quantity"
)

// Device is an overcurrent protective device. Ir and Im are the long-time and
// short-time settings of an adjustable one.
type Device struct {
	Family Family
	Rating quantity.Amperes
	Ir, Im quantity.Amperes
}

func (d Device) String() string { return string(d.Family) + ", " + d.Rating.String() }

// family is what the tables hold about one kind of device.
type family struct {
	ratings    column[struct{}]
	multiples  column[float64]                               // of the rated current, by time
	currents   map[quantity.Amperes]column[float64]          // by rating, by time
	printed    map[quantity.Amperes]column[printedZs]        // by rating, by time
	long       column[conventional]                          // by rating, up to
	bands      column[tripBand]                              // one row: how the magnetic or short-time part acts
	middle     column[middleTest]                            // by rating, up to
	gates      column[gate]                                  // by rating
	energies   column[column[quantity.AmpereSquaredSeconds]] // by rating, up to; by rated short-circuit capacity
	i2         cell[float64]
	breaking   column[quantity.Amperes] // by rating, up to
	capacities column[struct{}]         // standard short-circuit capacities
	adjusted   bool                     // acts by its settings, not by its rating
}

type printedZs struct{ zs, measured float64 }

// conventional is the long-time test: the multiple of the rated current that
// must be carried, the one that must operate the device, and the time.
type conventional struct{ carries, operates, seconds float64 }

// tripBand is the magnetic part: the multiple that must not trip it within
// 0.1 s and the one that must.
type tripBand struct{ holds, trips, seconds float64 }

// middleTest is the test between: shortest and longest time at a multiple.
type middleTest struct{ multiple, shortest, longest float64 }

// gate is a fuse's published gates.
type gate struct {
	holds10s, operates5s, holds100ms, operates100ms quantity.Amperes
	preArcingLeast, preArcingMost                   quantity.AmpereSquaredSeconds
}

func (t *tables) readDevices(l *loader) {
	t.devices = map[Family]*family{}
	of := func(r *record, f func(d *family)) {
		for _, name := range r.listed("families") {
			d := t.devices[Family(name)]
			if d == nil {
				d = &family{currents: map[quantity.Amperes]column[float64]{}, printed: map[quantity.Amperes]column[printedZs]{}}
				t.devices[Family(name)] = d
			}
			f(d)
		}
	}
	l.each("device-ratings.csv", "families,amperes", func(r *record) {
		of(r, func(d *family) { d.ratings.add(r, r.filled("amperes"), struct{}{}) })
	})
	l.each("operating-multiples.csv", "families,within_s,times_rated", func(r *record) {
		of(r, func(d *family) { d.multiples.add(r, r.filled("within_s"), r.filled("times_rated")) })
	})
	l.each("operating-currents.csv", "families,rated_a,within_s,amperes", func(r *record) {
		of(r, func(d *family) {
			in := quantity.Amperes(r.filled("rated_a"))
			c := d.currents[in]
			c.add(r, r.filled("within_s"), r.filled("amperes"))
			d.currents[in] = c
		})
	})
	l.each("greatest-zs.csv", "families,rated_a,within_s,operating_a,zs_ohm,measured_ohm", func(r *record) {
		of(r, func(d *family) {
			in := quantity.Amperes(r.filled("rated_a"))
			c := d.printed[in]
			for _, s := range r.listed("within_s") {
				at, err := strconv.ParseFloat(s, 64)
				if err != nil {
					l.fault("%s:%d: within_s is %q: it must be a number", r.file, r.line, s)
				}
				c.add(r, at, printedZs{r.filled("zs_ohm"), r.filled("measured_ohm")})
			}
			d.printed[in] = c
		})
	})
	l.each("conventional-currents.csv", "families,rated_up_to_a,carries_times,operates_times,seconds", func(r *record) {
		of(r, func(d *family) {
			d.long.add(r, upTo(r, "rated_up_to_a"), conventional{r.filled("carries_times"), r.filled("operates_times"), r.filled("seconds")})
		})
	})
	l.each("trip-bands.csv", "families,holds_times,trips_times,seconds,by_settings", func(r *record) {
		of(r, func(d *family) {
			d.bands.add(r, 0, tripBand{r.filled("holds_times"), r.filled("trips_times"), r.filled("seconds")})
			d.adjusted = r.yes("by_settings")
		})
	})
	l.each("middle-tests.csv", "families,rated_up_to_a,times_rated,shortest_s,longest_s", func(r *record) {
		of(r, func(d *family) {
			d.middle.add(r, upTo(r, "rated_up_to_a"), middleTest{r.filled("times_rated"), r.filled("shortest_s"), r.filled("longest_s")})
		})
	})
	l.each("fuse-gates.csv", "families,rated_a,holds_10s_a,operates_5s_a,holds_100ms_a,operates_100ms_a,pre_arcing_least_a2s,pre_arcing_most_a2s",
		func(r *record) {
			of(r, func(d *family) {
				d.gates.add(r, r.filled("rated_a"), gate{
					quantity.Amperes(r.filled("holds_10s_a")), quantity.Amperes(r.filled("operates_5s_a")),
					quantity.Amperes(r.filled("holds_100ms_a")), quantity.Amperes(r.filled("operates_100ms_a")),
					quantity.AmpereSquaredSeconds(r.filled("pre_arcing_least_a2s")), quantity.AmpereSquaredSeconds(r.filled("pre_arcing_most_a2s"))})
			})
		})
	l.each("let-through.csv", "families,rated_up_to_a,capacity_a,class2_a2s,class3_a2s", func(r *record) {
		of(r, func(d *family) {
			at := r.filled("rated_up_to_a")
			if n := len(d.energies); n == 0 || d.energies[n-1].at != at {
				d.energies.add(r, at, nil)
			}
			last := &d.energies[len(d.energies)-1]
			last.value.add(r, r.filled("capacity_a"), quantity.AmpereSquaredSeconds(r.filled("class3_a2s")))
		})
	})
	l.each("i2.csv", "families,times", func(r *record) {
		of(r, func(d *family) { d.i2 = cell[float64]{value: r.filled("times"), row: r.row} })
	})
	l.each("breaking-capacities.csv", "families,rated_up_to_a,amperes", func(r *record) {
		of(r, func(d *family) {
			d.breaking.add(r, upTo(r, "rated_up_to_a"), quantity.Amperes(r.filled("amperes")))
		})
	})
	l.each("standard-capacities.csv", "families,amperes", func(r *record) {
		of(r, func(d *family) { d.capacities.add(r, r.filled("amperes"), struct{}{}) })
	})
	l.each("service-capacity.csv", "capacity_up_to_a,share,least_a", func(r *record) {
		t.service.add(r, upTo(r, "capacity_up_to_a"), serviceShare{r.filled("share"), quantity.Amperes(r.filled("least_a"))})
	})
	l.each("test-circuits.csv", "up_to_a,power_factor,peak_factor", func(r *record) {
		t.testCircuits.add(r, r.filled("up_to_a"), testCircuit{r.filled("power_factor"), r.filled("peak_factor")})
	})
}

func (b *Rulebook) family(f Family) (*family, error) {
	if d := b.devices[f]; d != nil {
		return d, nil
	}
	return nil, &notTabulated{Wanted: fmt.Sprintf("the type of device %q", string(f)), Known: sorted(b.devices)}
}

// Ratings returns the ratings a family is made in, smallest first; nothing for
// an adjustable device.
func (b *Rulebook) Ratings(f Family) []quantity.Amperes {
	d := b.devices[f]
	if d == nil {
		return nil
	}
	return keys[quantity.Amperes](d.ratings)
}

// shorterRow is the note on a row for a shorter time than was asked: what
// operates in the shorter time has operated by the longer one.
const shorterRow = "no row for this time: the current of the next shorter time"

// gateRow is the note on the gate used where there is no printed row.
const gateRow = "no printed row: the gate's own current, which is not less"

// gateCurve is the note on a current read between the gates of a fuse.
const gateCurve = "no printed row: read between its gates at 0.1 s and 5 s on the scales of the curve, above which no printed row lies"

// OperatingCurrent returns the current that operates a device within a time.
//
//	symbol  Ia, in A
//	within  the disconnection time, in s
//	source  BS 7671 Appendix 3, Figures 3A1 to 3A6; IEC 60269-1 gates
//
// Where no row has this time, the current of the next shorter time is given:
// it is greater, so the limit drawn from it is on the safe side. A fuse with
// no such row is read between the gates of the product standard, which every
// fuse of that rating has passed by then. An adjustable breaker
// acts by its short-time setting, tolerance included.
func (b *Rulebook) OperatingCurrent(d Device, within quantity.Seconds) (quantity.Amperes, Citation, error) {
	f, err := b.family(d.Family)
	if err != nil {
		return 0, Citation{}, err
	}
	if !(d.Rating > 0) || !(within > 0) {
		return 0, Citation{}, fmt.Errorf("operating current of %s within %v: rating and time must both be above zero", d, within)
	}
	t := float64(within)
	if f.adjusted {
		band := f.bands[0]
		if !(d.Im > 0) {
			return 0, Citation{}, fmt.Errorf("operating current of %s: its short-time setting Im is not known", d)
		}
		if t < band.value.seconds {
			return 0, Citation{}, &notTabulated{Wanted: fmt.Sprintf("operating current of %s within %v", d, within),
				Known: []string{quantity.Seconds(band.value.seconds).String()}}
		}
		return d.Im * quantity.Amperes(band.value.trips), b.cite(band.row), nil
	}
	if c, ok := f.multiples.downward(t); ok {
		return d.Rating * quantity.Amperes(c.value), b.timed(c.row, c.at == t), nil
	}
	if c, ok := f.currents[d.Rating].downward(t); ok {
		return quantity.Amperes(c.value), b.timed(c.row, c.at == t), nil
	}
	if g, ok := f.gates.exact(float64(d.Rating)); ok && t >= 0.1 {
		if t >= 5 {
			return g.value.operates5s, b.cite(g.row).with(gateRow), nil
		}
		slow, fast := float64(g.value.operates5s), float64(g.value.operates100ms)
		along := math.Log(5/t) / math.Log(5/0.1)
		return quantity.Amperes(slow * math.Pow(fast/slow, along)), b.cite(g.row).with(gateCurve), nil
	}
	e := &notTabulated{Wanted: fmt.Sprintf("operating current of %s within %v", d, within)}
	switch known := f.currents[d.Rating]; {
	case len(f.multiples) > 0:
		e.Known = names(keys[quantity.Seconds](f.multiples))
	case len(known) > 0:
		e.Known = names(keys[quantity.Seconds](known))
	default:
		e.Why = "the rating is not one of the family's"
		e.Known = names(keys[quantity.Amperes](f.ratings))
	}
	return 0, Citation{}, e
}

func (b *Rulebook) timed(r *row, exact bool) Citation {
	if exact {
		return b.cite(r)
	}
	return b.cite(r).with(shorterRow)
}

// MaxZs returns the greatest earth fault loop impedance at which a device
// disconnects in time, for conductors at their operating temperature.
//
//	symbol   Zs, in Ω
//	formula  Zs ≤ U0 × Cmin ÷ Ia
//	clause   BS 7671 411.4.4
//
// The citation is that of Ia; the clause and Cmin have their own.
func (b *Rulebook) MaxZs(d Device, within quantity.Seconds, u0 quantity.Volts) (quantity.Ohms, Citation, error) {
	ia, cite, err := b.OperatingCurrent(d, within)
	if err != nil {
		return 0, Citation{}, err
	}
	cmin, _, err := b.Limit("cmin")
	if err != nil {
		return 0, Citation{}, err
	}
	if !(u0 > 0) {
		return 0, Citation{}, fmt.Errorf("greatest Zs of %s: U0 is %v: it must be above zero", d, u0)
	}
	return quantity.Ohms(float64(u0) * cmin / float64(ia)), cite, nil
}

// PrintedMaxZs returns the greatest earth fault loop impedance as the table
// prints it, and the greatest reading on cold conductors: 0.8 times it,
// rounded down to the hundredth.
//
//	source  BS 7671 Tables 41.2 to 41.4; Appendix 3 for the 0.8
func (b *Rulebook) PrintedMaxZs(d Device, within quantity.Seconds) (zs, measured quantity.Ohms, cite Citation, err error) {
	f, err := b.family(d.Family)
	if err != nil {
		return 0, 0, Citation{}, err
	}
	col := f.printed[d.Rating]
	c, ok := col.exact(float64(within))
	if !ok {
		e := &notTabulated{Wanted: fmt.Sprintf("printed greatest Zs of %s within %v", d, within), Known: names(keys[quantity.Seconds](col))}
		if len(col) == 0 {
			e.Why = "no row for this rating has been confirmed"
		}
		return 0, 0, Citation{}, e
	}
	return quantity.Ohms(c.value.zs), quantity.Ohms(c.value.measured), b.cite(c.row), nil
}

// I2Factor returns the multiple of the rated current that operates a device in
// its conventional time, as the overload rule counts it.
//
//	symbol  I2 ÷ In
//	clause  BS 7671 433.1.1, 433.1.201, 433.1.202
//
// A gG fuse counts as 1.45 though it fuses at 1.6 In: the rules accept it
// where In ≤ Iz. An unknown family gives not-a-number.
func (b *Rulebook) I2Factor(d Device) (float64, Citation) {
	f := b.devices[d.Family]
	if f == nil || f.i2.row == nil {
		return math.NaN(), Citation{}
	}
	return f.i2.value, b.cite(f.i2.row)
}

// BreakingCapacity returns the breaking capacity that a family's standard
// gives a rating, where it gives one. A mark on the device goes before it.
func (b *Rulebook) BreakingCapacity(d Device) (quantity.Amperes, Citation, error) {
	f, err := b.family(d.Family)
	if err != nil {
		return 0, Citation{}, err
	}
	if c, ok := f.breaking.upward(float64(d.Rating)); ok {
		return c.value, b.cite(c.row), nil
	}
	return 0, Citation{}, &notTabulated{Wanted: "breaking capacity of " + d.String(), Why: "read it off the device",
		Known: names(keys[quantity.Amperes](f.capacities))}
}

// ServiceCapacity returns the fault current a breaker of rated short-circuit
// capacity icn breaks and is fit for service afterwards.
//
//	symbol  Ics, in A
//	source  BS EN 60898-1
func (b *Rulebook) ServiceCapacity(icn quantity.Amperes) (quantity.Amperes, Citation, error) {
	c, ok := b.service.upward(float64(icn))
	if !ok || !(icn > 0) {
		return 0, Citation{}, &notTabulated{Wanted: fmt.Sprintf("service capacity of a breaker of %v", icn)}
	}
	return max(icn*quantity.Amperes(c.value.share), c.value.least), b.cite(c.row), nil
}

// serviceShare is the service capacity as a share of the rated one, and the
// least it may be.
type serviceShare struct {
	share float64
	least quantity.Amperes
}

// testCircuit is the power factor at which devices are tested for a fault
// current, and the ratio of its greatest peak to its r.m.s. value.
type testCircuit struct{ PowerFactor, PeakFactor float64 }

// testCircuit returns how devices are tested for a fault current.
func (b *Rulebook) TestCircuit(ipf quantity.Amperes) (testCircuit, Citation, error) {
	c, ok := b.testCircuits.upward(float64(ipf))
	if !ok || !(ipf > 0) {
		return testCircuit{}, Citation{}, &notTabulated{Wanted: fmt.Sprintf("test power factor at %v", ipf)}
	}
	return c.value, b.cite(c.row), nil
}
