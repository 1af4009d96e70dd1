package standard

import (
	"fmt"
	"math"

	"chargewright/quantity"
)

// rcdTime is the shortest and longest operating time of an RCD.
type rcdTime struct{ least, most float64 }

func (t *tables) readResiduals(l *loader) {
	l.each("rcd-times.csv", "delayed,times_rated,shortest_s,longest_s", func(r *record) {
		v := rcdTime{r.number("shortest_s"), r.number("longest_s")}
		if math.IsNaN(v.least) && math.IsNaN(v.most) { // must not operate
			v = rcdTime{math.Inf(1), math.Inf(1)}
		}
		if math.IsNaN(v.least) {
			v.least = 0
		}
		t.rcdTimes[index(r.yes("delayed"))].add(r, r.filled("times_rated"), v)
	})
}

// RCDTime returns the shortest and longest time in which an RCD operates at a
// multiple of its rated residual operating current. Both are infinite where it
// must not operate at all.
//
//	delayed   time-delayed (type S)
//	multiple  0.5, 1, 2 or 5 times IΔn
//	source    BS EN 61008-1, BS EN 61009-1
func (b *Rulebook) RCDTime(delayed bool, multiple float64) (shortest, longest quantity.Seconds, cite Citation, err error) {
	col := b.rcdTimes[index(delayed)]
	c, ok := col.exact(multiple)
	if !ok {
		e := &notTabulated{Wanted: fmt.Sprintf("operating time of an RCD at %v × IΔn", multiple)}
		for _, k := range col {
			e.Known = append(e.Known, fmt.Sprint(k.at))
		}
		return 0, 0, Citation{}, e
	}
	return quantity.Seconds(c.value.least), quantity.Seconds(c.value.most), b.cite(c.row), nil
}
