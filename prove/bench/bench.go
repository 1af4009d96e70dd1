// Package bench is a workbench of invented places with known faults, to hold
// diagnosis to: it lays each out as a circuit of its own, solves it by node
// voltages, takes the readings an electrician would, and writes the record as
// people keep it. It shares no line with the model that explains the readings.
//
// Parts: circuit (node voltages), site (a place as it is), faults (what can be
// wrong), take and meter (what is read and shown), record (the job file).
package bench

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"
)

// Case is one place, what is wrong with it, and what a person wrote down.
type Case struct {
	Site     *Site
	Faults   []Fault // none: sound
	Readings []Reading
	Full     bool // the record and the readings are complete
	Record   string
	bonds    bool // whoever kept the record wrote down what is bonded
}

// usual are the readings a person takes without being told, and how often.
var usual = []struct {
	reading, at, function string
	often                 float64
}{
	{"R1+R2", "CP1", "", 0.95}, {"R1+Rn", "CP1", "", 0.5}, {"R2", "CP1", "", 0.25}, {"earthing conductor", "supply", "", 0.2},
	{"insulation live to earth", "CP1", "500 V", 0.9}, {"insulation between live", "CP1", "500 V", 0.45},
	{"polarity", "CP1", "", 0.9}, {"RA", "rod", "", 0.9},
	{"Ze", "supply", "two-wire high current", 0.9}, {"line-neutral loop", "supply", "two-wire high current", 0.5}, {"Zs", "CP1", "no-trip", 0.8},
	{"Ipf", "main board", "", 0.4}, {"voltage line to neutral", "supply", "", 0.6}, {"voltage line to earth", "supply", "", 0.4},
	{"voltage neutral to earth", "supply", "", 0.3}, {"RCD time at IΔn", "CP1", "", 0.85}, {"RCD ramp", "CP1", "", 0.3},
	{"6 mA d.c.", "CP1", "", 0.3}, {"RCD test button", "CP1", "", 0.5}, {"pilot voltage in state B", "CP1", "", 0.6},
	{"pilot voltage in state C", "CP1", "", 0.6}, {"pilot duty", "CP1", "", 0.5}, {"clamp step", "supply", "2.3 kW", 0.4},
	{"phase sequence", "supply", "", 0.5},
	{"R1+R2", "sub-board", "", 0.9}, {"R1+Rn", "sub-board", "", 0.4}, {"Zs", "sub-board", "two-wire high current", 0.6},
	{"line-neutral loop", "sub-board", "two-wire high current", 0.3},
}

// telling are readings that a fault is looked for with: it is on the bench only
// where one of them is taken, since nobody can find what nobody looked at.
var telling = map[string][]string{
	"RCD dead": {"RCD time at IΔn"}, "RCD slow": {"RCD time at IΔn"}, "core held by direct current": {"RCD time at IΔn"},
	"RCD trips early": {"RCD ramp"}, "standing leakage": {"RCD ramp"}, "test button dead": {"RCD test button"},
	"6 mA device dead": {"6 mA d.c."}, "6 mA device late": {"6 mA d.c."}, "6 mA device early": {"6 mA d.c."},
	"pilot open": {"pilot voltage in state B"}, "pilot joined to earth": {"pilot voltage in state B"},
	"second resistor not switched": {"pilot voltage in state C"}, "no diode behind the pilot": {"pilot negative peak", "pilot voltage in state C"},
	"pilot leaks to earth":       {"pilot voltage in state B", "pilot voltage in state C"},
	"point set above the record": {"pilot duty"}, "point set below the record": {"pilot duty"},
	"clamp turned": {"clamp step"}, "clamp on another phase's voltage": {"clamp step"}, "clamp elsewhere": {"clamp step"}, "clamp ratio halved": {"clamp step"},
	"two lines exchanged": {"phase sequence"}, "transformer tap high": {"voltage line to neutral"}, "transformer tap low": {"voltage line to neutral"},
	"surge device left in": {"insulation live to earth"}, "electronics left in": {"insulation live to earth"}, "moisture in a gland": {"insulation live to earth"},
	"neutral not lifted": {"insulation live to earth"}, "line touches earth": {"insulation live to earth"},
	"lamp or load left in": {"insulation between live"}, "line touches neutral": {"insulation between live"},
	"insulation written in kilohms": {"insulation live to earth"},
	"service line joint":            {"Ze", "line-neutral loop"},
	"tail of the line loose":        {"Ze", "line-neutral loop"}, "tail of the neutral loose": {"line-neutral loop"},
	"service neutral joint": {"line-neutral loop"}, "service neutral lost": {"line-neutral loop", "voltage line to neutral"},
	"neutral of the cut-out loose behind its earth": {"line-neutral loop"}, "PEN lost": {"Ze", "voltage line to earth"},
	"PEN going high":                      {"Ze", "line-neutral loop"},
	"earth terminal at the cut-out loose": {"Ze"}, "supply sheath corroded": {"Ze"}, "supply earth lost": {"Ze"},
	"recorded as TN-S, is TN-C-S":        {"Ze", "line-neutral loop"},
	"recorded as TN-C-S, has only a rod": {"Ze"}, "recorded as TT, is TN": {"Ze", "RA"}, "pipes beside the electrode": {"Ze", "RA"},
	"electrode dry": {"RA", "Ze"}, "electrode clamp open": {"RA", "Ze"}, "main earthing terminal loose": {"Zs"},
	"earthing conductor loose":   {"earthing conductor", "Zs"},
	"neutral joint at the point": {"R1+Rn"}, "neutral joint in the sub-main": {"R1+Rn"}, "neutral conductor broken": {"R1+Rn"},
	"neutral of the sub-main broken":      {"line-neutral loop", "R1+Rn"},
	"coil of the RCD in the no-trip test": {"Zs"}, "fused leads on the loop test": {"Zs", "Ze"}, "loop range out of calibration": {"Zs", "Ze"},
	"loop tested at the board, written for the point": {"Zs"}, "neutral joined to earth beyond the RCD": {"RCD time at IΔn"},
	"line and neutral exchanged in the supply": {"voltage line to earth"}, "contactor does not close": {"Zs"},
	"two readings written in each other's place": {"R1+Rn"},
	"neutral linked in place of the cpc":         {"R1+Rn"}, "line and neutral exchanged at the point": {"polarity"},
	"neutral and earth exchanged at the point": {"polarity", "Zs"},
}

// New draws case number n of a seed: sound, with one fault, or with two. Of
// twenty places four are sound, two have two faults, one has one on no list.
func New(seed uint64, n int) *Case {
	r := rand.New(rand.NewPCG(seed, uint64(n)))
	for {
		c := &Case{Site: newSite(r), Full: n%2 == 0}
		c.bonds = c.Site.chance(0.7)
		switch n % 10 {
		case 0, 5: // sound
		case 3: // two
			made := 0
			for made < 2 && c.fault(&Faults[r.IntN(len(Faults))]) {
				made++
			}
			if made < 2 {
				continue
			}
		case 7:
			if n%20 == 7 { // on no list
				if !c.unlisted(n/20 + int(seed)) {
					continue
				}
				break
			}
			fallthrough
		default:
			if !c.fault(&Faults[(n/10*7+n%10+int(seed))%len(Faults)]) {
				if !c.fault(&Faults[r.IntN(len(Faults))]) {
					continue
				}
			}
		}
		c.take()
		c.Record = c.write()
		return c
	}
}

// NewUnlisted draws case number n of a seed with a fault that is on no list,
// each in turn.
func NewUnlisted(seed uint64, n int) *Case {
	r := rand.New(rand.NewPCG(seed, 1<<32+uint64(n)))
	for {
		c := &Case{Site: newSite(r), Full: n%2 == 0}
		c.bonds = c.Site.chance(0.7)
		if c.fault(&Unlisted[n%len(Unlisted)]) {
			c.take()
			c.Record = c.write()
			return c
		}
	}
}

// unlisted makes one fault that is on no list: the nth, or whichever comes next
// that such a place can have.
func (c *Case) unlisted(n int) bool {
	return c.fault(&Unlisted[n%len(Unlisted)]) || c.fault(&Unlisted[c.Site.rand.IntN(len(Unlisted))])
}

// fault makes one fault there, once.
func (c *Case) fault(f *Fault) bool {
	if f.fits != nil && !f.fits(c.Site) || len(c.Faults) > 0 && c.Faults[0].Name == f.Name {
		return false
	}
	f.make(c.Site)
	c.Faults = append(c.Faults, *f)
	return true
}

// wanted reports whether a fault of this case is looked for with a reading.
func (c *Case) wanted(reading string) bool {
	for _, f := range c.Faults {
		if slices.Contains(telling[f.Name], reading) || slices.Contains(tellingUnlisted[f.Name], reading) {
			return true
		}
	}
	return false
}

// take takes what a person takes.
func (c *Case) take() {
	for _, u := range usual {
		if !c.Full && !c.wanted(u.reading) && c.Site.rand.Float64() > u.often {
			continue
		}
		if u.reading == "RA" && c.Site.Earthing != "TT" || u.at == "sub-board" && c.Site.Sub == 0 {
			continue
		}
		if r, ok := c.Site.Read(u.reading, u.at, u.function); ok {
			c.Readings = append(c.Readings, r)
		}
	}
	c.slip()
}

// Add takes one more reading, that was suggested, and writes the record anew.
// It reports false where it cannot be taken.
func (c *Case) Add(reading, at, function string) bool {
	r, ok := c.Site.Read(reading, at, function)
	if !ok {
		return false
	}
	r.asked = true
	c.Readings = append(c.Readings, r)
	c.Record = c.write()
	return true
}

// slip spoils one reading as a person in a hurry does.
func (c *Case) slip() {
	s := c.Site
	find := func(name string) *Reading {
		for i := range c.Readings {
			if c.Readings[i].Reading == name {
				return &c.Readings[i]
			}
		}
		return nil
	}
	spoil := func(r *Reading, by func(float64) float64) {
		number, unit, _ := strings.Cut(r.Value, " ")
		if v, err := strconv.ParseFloat(number, 64); err == nil {
			r.Value = strings.TrimSpace(fmt.Sprintf("%.4g %s", by(v), unit))
		}
	}
	victim := find(one(s.rand, "R1+R2", "Zs", "Ze"))
	if victim == nil {
		victim = find("R1+R2")
	}
	for what, size := range s.odd {
		switch {
		case what == "slip unit":
			if r := find("insulation live to earth"); r != nil {
				r.Value = "200 kΩ"
			}
		case what == "slip crossed":
			a, b := find("R1+R2"), find("R1+Rn")
			if a != nil && b != nil {
				a.Value, b.Value = b.Value, a.Value
			}
		case victim == nil:
		case what == "slip ten":
			spoil(victim, func(v float64) float64 { return 10 * v })
		case what == "slip turned":
			spoil(victim, turned)
		case what == "slip probe":
			spoil(victim, func(v float64) float64 { return v + math.Round(100*size)/100 })
		}
	}
}

// turned exchanges the two digits after the point, or moves the figure where
// they are alike.
func turned(v float64) float64 {
	cents := int(math.Round(100 * v))
	tens, units := cents/10%10, cents%10
	out := float64(cents-10*tens-units+10*units+tens) / 100
	if tens == units {
		out = v + 0.5
	}
	return out
}

// Danger reports whether one of its faults is a danger.
func (c *Case) Danger() bool {
	for _, f := range c.Faults {
		if f.Danger {
			return true
		}
	}
	return false
}

// Outside reports whether its fault is on no list.
func (c *Case) Outside() bool { return len(c.Faults) == 1 && len(c.Faults[0].Is) == 0 }

// Names says what is wrong in a line.
func (c *Case) Names() string {
	if len(c.Faults) == 0 {
		return "sound"
	}
	var out []string
	for _, f := range c.Faults {
		out = append(out, f.Name)
	}
	return strings.Join(out, " + ")
}
