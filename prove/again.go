package prove

// Readings taken again. What a later one takes the place of is no evidence: it
// was of the place as it was before it was put right.

import (
	"fmt"
	"math"
	"slices"

	"chargewright/finding"
	"chargewright/model"
	"chargewright/reading"
	"chargewright/works"
)

// Replaced returns, for each reading in the order taken, which later one stands
// in its place, −1 where it stands itself. A reading is taken again where the
// same is read at the same place, on the same conductor and in the same way, as
// far as both say how. Beside each other stand what a person says of it
// (earlier stands), and readings of three phases whose lines nobody named.
func Replaced(m *model.Model) []int {
	type test struct {
		kind *reading.Kind
		at   string
	}
	places := placesOf(m)
	earlier := map[test][]int{}
	out := make([]int, len(m.Job.Readings))
	for i := range m.Job.Readings {
		out[i] = -1
		r := &m.Job.Readings[i]
		v, err := r.Shown()
		k := r.Kind()
		if k == nil || err != nil || v.Is == reading.NotDone {
			continue
		}
		at := test{k, places.of(r.At)}
		if !r.Beside.Or(false) {
			for _, e := range earlier[at] {
				if out[e] < 0 && sameTest(m, &m.Job.Readings[e], r, at.at) {
					out[e] = i
				}
			}
		}
		earlier[at] = append(earlier[at], i)
	}
	for i := range slices.Backward(out) { // the last of them all
		if k := out[i]; k >= 0 && out[k] >= 0 {
			out[i] = out[k]
		}
	}
	return out
}

// otherwise are words of which two readings that say different ones are two
// tests; apart are those that make another test of it where one of two readings
// that say how they were taken says them and the other does not.
var (
	otherwise = [][]string{{"no-trip", "high current"}, {"500 V", "250 V", "1000 V"}, {"with parallel paths", "no parallel paths"},
		{"both half-waves", "positive half-wave", "negative half-wave"}, {"alternating current", "pulsating current", "smooth direct current"},
		{"one conductor", "all live conductors"}, {"line to neutral", "line to earth", "line to line"}, {"state A", "state B", "state C"}, {"L1", "L2", "L3"}}
	apart = []string{"cable alone", "point disconnected", "electronics off", "surge device out", "L2", "L3"}
)

// sameTest reports whether two readings of a kind at a place are of one thing,
// in one way.
func sameTest(m *model.Model, a, b *works.Reading, at string) bool {
	x, err1 := a.Ways()
	y, err2 := b.Ways()
	if err1 != nil || err2 != nil {
		return false
	}
	named := func(w reading.Ways) bool { return w.Has("L1") || w.Has("L2") || w.Has("L3") }
	if ofLine(a.Kind()) && severalLines(m, at) && (!named(x) || !named(y)) {
		return false
	}
	first := func(w reading.Ways, of []string) string {
		if i := slices.IndexFunc(of, w.Has); i >= 0 {
			return of[i]
		}
		return ""
	}
	for _, of := range otherwise {
		if p, q := first(x, of), first(y, of); p != "" && q != "" && p != q {
			return false
		}
	}
	if x.Load != y.Load || x.Power != y.Power {
		return false
	}
	silent := func(w reading.Ways) bool { return len(w.Words) == 0 }
	return silent(x) || silent(y) || !slices.ContainsFunc(apart, func(w string) bool { return x.Has(w) != y.Has(w) })
}

// ofLine reports whether each line has a reading of that kind of its own.
func ofLine(k *reading.Kind) bool {
	switch k.Name {
	case "R1+R2", "R1+Rn", "Zs", "Ze", "line-neutral loop", "Ipf", "voltage line to neutral", "voltage line to earth", "voltage fall under load",
		"insulation line to earth", "clamp step":
		return true
	}
	return false
}

// severalLines reports whether a place has more lines than one, or may have.
func severalLines(m *model.Model, at string) bool {
	if m.Job.Supply.Phases.Or(1) == 1 {
		return false
	}
	for _, c := range m.Circuits {
		if farEnd(c) == at {
			phases, known := c.Record.Phases.Get()
			return !known || phases.Count() > 1
		}
	}
	return true
}

// putRight says of readings taken again what became of them.
func (b *bench) putRight(rs []Residual) []string {
	var out []string
	for i, t := range b.readings {
		if t.again < 0 {
			continue
		}
		was, is := &rs[i], &rs[t.again]
		bad := func(r *Residual) bool { return r.Verdict.Verdict == finding.Fails || math.Abs(r.Off) > 3 }
		switch {
		case !bad(was):
		case bad(is):
			out = append(out, againWords(is.Reading, is.At, was.Taken, is.Taken)+": it is not put right")
		case b.readings[t.again].index >= 0:
			is.PutRight = was.Taken
			out = append(out, againWords(is.Reading, is.At, was.Taken, is.Taken)+itProves)
		}
	}
	return out
}

const itProves = ": it was put right, and this proves the repair; the earlier one is kept and counts no more"

func againWords(name, at, was, is string) string {
	return fmt.Sprintf("%s at %s was %s and, taken again, is %s", name, at, was, is)
}

// PutRight says that a reading taken again proves a repair; nothing where what
// was read before fitted, or what is read now does not.
func (e Expectation) PutRight(was, is string) string {
	if !e.Fit(was).Misfits() || e.Fit(is) != Fits {
		return ""
	}
	return againWords(e.Reading, e.At, was, is) + itProves
}
