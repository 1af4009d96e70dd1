package invent

import (
	"fmt"
	"strconv"
)

// readings draws what a tester finds, point by point: what the wiring gives,
// within the few per cent a meter may err, or anything at all where wild.
func (d *drawer) readings() {
	if d.chance(0.3) {
		return // nothing was measured yet
	}
	d.reading("supply", "Ze", d.ohms(d.ze))
	for _, r := range d.runs {
		if !r.point {
			continue
		}
		d.reading(r.to, "R1+R2", d.ohms(r.r1r2*(1+0.004*(d.ambient-20))))
		d.reading(r.to, "Zs", d.ohms(d.ze+r.zs*(1+0.004*(d.ambient-20))))
		for _, seen := range seen {
			d.reading(r.to, seen[0], d.pick(seen[1]))
		}
	}
	d.reading(d.boards[0].name, "SPD indicator", "good")
}

// seen is what a sound point shows whatever its wiring, each with its range.
var seen = [][2]string{
	{"insulation live to earth", "> 200 MΩ|> 999 MΩ|150 MΩ"},
	{"insulation between live", "> 200 MΩ|180 MΩ"},
	{"polarity", "correct"},
	{"RCD time at IΔn", "15..35 ms"},
	{"RCD at half IΔn", "does not trip"},
	{"6 mA d.c.", "3.5..5.5 mA"},
	{"RCD test button", "works"},
}

// odd is what else stands in the column of a table of readings.
var odd = []string{"0.00 Ω", "0.31 Ω", "2.4 Ω", "> 2000 Ω", "open", "no trip", "does not trip", "trips", "OL", "0.02 MΩ", "299 MΩ",
	"230 V", "20 V", "410 V", "27 ms", "310 ms",
	"5.8 mA", "6.4 mA", "1.2 kA", "correct", "not correct", "good", "spent", "works", "not done", "?"}

func (d *drawer) ohms(sound float64) string {
	return fmt.Sprintf("%.2f Ω", sound*(1+0.04*(d.r.Float64()-0.5)))
}

// reading adds one reading; readings have no name, so they go by a number.
func (d *drawer) reading(at, kind, value string) {
	if d.chance(d.o.Missing) {
		return
	}
	if d.chance(d.o.Wild) {
		value = odd[d.r.IntN(len(odd))]
	}
	path := d.item("readings", strconv.Itoa(d.items["readings"]+1))
	d.link(path, "at", at)
	d.link(path, "reading", kind)
	d.link(path, "value", value)
	d.put(path, "leads nulled", "yes", "temperature", fmt.Sprintf("%v °C", d.ambient))
	d.add(path+"/instrument", "tester 1")
	d.add(path+"/who", "A. Spark")
	d.add(path+"/when", fmt.Sprintf("2026-11-24 %02d:%02d", 10+d.items["readings"]/60%12, d.items["readings"]%60))
}
