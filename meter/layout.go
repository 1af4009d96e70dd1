package meter

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
)

// Layout is another way to read the same meter, under which the reading can be.
type Layout struct {
	Registers []Register
	Changes   []string // from the map that was given
	Reading   Reading
}

func (l Layout) String() string {
	if len(l.Changes) == 0 {
		return "as it is"
	}
	text := strings.Join(l.Changes, ", ")
	if v, known := l.Reading.Voltage[0].Get(); known {
		text += fmt.Sprintf(" (then voltage L1 is %v", v)
		if i, known := l.Reading.Current[0].Get(); known {
			text += fmt.Sprintf(", current %v", i)
		}
		text += ")"
	}
	return text
}

// registers is what stands in a meter, as it travels, by its kind and place.
type registers map[bool]map[uint16]uint16

// words returns what a register holds; false where it is not there.
func (rs registers) words(r Register) ([]uint16, bool) {
	out := make([]uint16, types[r.Type])
	for k := range out {
		w, there := rs[r.Holding][r.At+uint16(k)]
		if !there {
			return nil, false
		}
		out[k] = w
	}
	return out, true
}

// under is the reading of registers under a layout; false where one of them is
// not there.
func (rs registers) under(at []Register) (Reading, bool) {
	var out Reading
	for _, r := range at {
		words, there := rs.words(r)
		if !there {
			return out, false
		}
		if n, ok := r.decode(words); ok {
			out.put(r, n)
		}
	}
	return out, true
}

// alike are the kinds of number that take as many registers.
var alike = map[string][]string{
	"float32": {"int32", "uint32"}, "int32": {"float32"}, "uint32": {"float32", "int32"},
	"int16": {"uint16"}, "uint16": {"int16"},
	"float64": {"int64", "uint64"}, "int64": {"float64"}, "uint64": {"float64", "int64"},
}

// mostChanges is how far from the map that was given a layout may be: beyond that
// it is another meter, not this map misread. Engineering judgement.
const mostChanges = 3

// mostTold is how many layouts are told where more are as near.
const mostTold = 3

// nearest returns the layouts closest to a map under which what the meter holds
// can be: other registers, a place off by one, the words or bytes of a number the
// other way round, another kind of number, another size of one count.
func nearest(at []Register, held registers) []Layout {
	var out []Layout
	best := mostChanges + 1
	try := func(changed []Register, changes []string) {
		if len(changes) > best {
			return
		}
		reading, there := held.under(changed)
		if !there {
			return
		}
		for _, sized := range sizes(reading, best-len(changes)) {
			all := slices.Concat(changes, sized.says)
			if len(all) > best {
				continue
			}
			scaled := slices.Clone(changed)
			for k := range scaled {
				scaled[k].Scale *= sized.by(scaled[k].What)
			}
			final, _ := held.under(scaled)
			if final.impossible() != nil || !final.convincing() {
				continue
			}
			if len(all) < best {
				best, out = len(all), nil
			}
			if !slices.ContainsFunc(out, func(l Layout) bool { return slices.Equal(l.Changes, all) }) {
				out = append(out, Layout{scaled, all, final})
			}
		}
	}
	for _, other := range []bool{false, true} {
		for _, off := range []int{0, -1, 1} {
			for _, low := range []bool{false, true} {
				for _, swapped := range []bool{false, true} {
					for kind := range 3 {
						changed, changes, ok := change(at, other, off, low, swapped, kind)
						if ok {
							try(changed, changes)
						}
					}
				}
			}
		}
	}
	return out[:min(len(out), mostTold)]
}

// change is a map with its registers read in another way, and that in words;
// false where there is no such way.
func change(at []Register, other bool, off int, low, swapped bool, kind int) (out []Register, says []string, ok bool) {
	out = slices.Clone(at)
	kinds := map[string]bool{}
	long := false
	for k := range out {
		r := &out[k]
		place := int(r.At) + off
		if place < 0 || place+int(types[r.Type]) > 1<<16 {
			return nil, nil, false
		}
		r.At = uint16(place)
		r.Holding = r.Holding != other
		r.LowFirst = r.LowFirst != low
		r.Swapped = r.Swapped != swapped
		long = long || types[r.Type] > 1
		if kind > 0 {
			if kind > len(alike[r.Type]) {
				continue
			}
			r.Type = alike[r.Type][kind-1]
			kinds[r.Type] = true
		}
	}
	if kind > 0 && len(kinds) == 0 || low && !long {
		return nil, nil, false
	}
	if other {
		says = append(says, "from "+map[bool]string{true: "holding registers (function 3)", false: "input registers (function 4)"}[out[0].Holding])
	}
	switch off {
	case -1:
		says = append(says, "one register lower, as its papers count from 1")
	case 1:
		says = append(says, "one register higher")
	}
	if low {
		says = append(says, "with the "+map[bool]string{true: "low", false: "high"}[out[0].LowFirst]+" word first")
	}
	if swapped {
		says = append(says, "with the two bytes of each register the other way round")
	}
	for _, name := range []string{"float32", "int32", "uint32", "int16", "uint16", "float64", "int64", "uint64"} {
		if kinds[name] {
			says = append(says, "as "+name)
			break
		}
	}
	return out, says, true
}

// size is how much larger one count of volts, amperes and watts is than the map
// has it.
type size struct {
	volts, amperes, watts float64
	says                  []string
}

func (s size) by(what string) float64 {
	switch what {
	case "voltage":
		return s.volts
	case "current":
		return s.amperes
	case "power":
		return s.watts
	}
	return 1
}

// decades are the sizes of one count that meters have.
var decades = []float64{1, 0.1, 10, 0.01, 100, 0.001, 1000}

// sizes returns the sizes of one count under which volts are volts and power
// agrees with volts times amperes, those with fewest changes first.
func sizes(m Reading, most int) []size {
	var out []size
	for _, v := range decades {
		if !likeMains(m, v) {
			continue
		}
		for _, i := range decades {
			for _, p := range decades {
				s := size{volts: v, amperes: i, watts: p}
				for _, one := range []struct {
					by   float64
					what string
				}{{v, "volts"}, {i, "amperes"}, {p, "watts"}} {
					if one.by != 1 {
						s.says = append(s.says, fmt.Sprintf("with %s %s the map's", one.what, timesOf(one.by)))
					}
				}
				if len(s.says) <= most {
					out = append(out, s)
				}
			}
		}
	}
	slices.SortStableFunc(out, func(a, b size) int { return cmp.Compare(len(a.says), len(b.says)) })
	return out
}

func timesOf(by float64) string {
	if by >= 1 {
		return fmt.Sprintf("%g times", by)
	}
	return fmt.Sprintf("1/%g of", math.Round(1/by))
}

// likeMains reports whether the volts, so much larger, are those of a supply. A map
// without volts is not held against them.
func likeMains(m Reading, by float64) bool {
	const low, high = 200, 260 // V: a supply as it is on most days
	live, known := 0, 0
	for _, v := range m.Voltage {
		n, is := v.Get()
		if !is {
			continue
		}
		known++
		switch at := float64(n) * by; {
		case at >= low && at <= high:
			live++
		case math.Abs(at) >= noVolts || at != 0:
			return false
		}
	}
	return live > 0 || known == 0 && by == 1
}

// convincing reports whether a reading says more than that it is not impossible:
// where a line carries, its power is that of a load.
func (m Reading) convincing() bool {
	const worth, low = 100, 0.3 // VA; power factor: engineering judgement
	for k := range m.Current {
		p, power := m.Power[k].Get()
		i, current := m.Current[k].Get()
		v, volts := m.Voltage[k].Get()
		va := math.Abs(float64(v) * float64(i))
		if power && current && volts {
			if va > worth && math.Abs(float64(p)) < low*va {
				return false
			}
			if va <= worth && math.Abs(float64(p)) > worth {
				return false
			}
		}
	}
	return true
}
