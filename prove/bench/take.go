package bench

import (
	"fmt"
	"math"
	"math/cmplx"

	"chargewright/reading"
)

// Reading is one thing a person read and how they wrote it down.
type Reading struct {
	At, Reading, Value, Function string
	asked                        bool // it was suggested, and written down as suggested
}

// Read takes a reading: what the instrument shows and the person writes. It
// reports false where no instrument reads that there, or the person cannot.
func (s *Site) Read(what, at, function string) (Reading, bool) {
	out := Reading{At: at, Reading: what, Function: function}
	if s.misplaced && what == "Zs" && at == "CP1" {
		at = "main board"
	}
	take, known := takes[what]
	if !known {
		return out, false
	}
	var ok bool
	out.Value, ok = take(s, at, ways(what, function))
	return out, ok
}

// ways is how a reading is taken, in the words of its kind.
func ways(what, function string) reading.Ways {
	k := reading.Of(what)
	if k == nil {
		return reading.Ways{}
	}
	out, err := k.Ways(function)
	if err != nil {
		panic(err)
	}
	return out
}

// takes says how each reading is taken.
var takes = map[string]func(s *Site, at string, w reading.Ways) (string, bool){
	"R1+R2":                         (*Site).lineAndEarth,
	"R1+Rn":                         (*Site).lineAndNeutral,
	"R2":                            (*Site).longLead,
	"earthing conductor":            (*Site).earthingConductor,
	"leads together":                (*Site).leadsTogether,
	"insulation live to earth":      insulated(func(le, ne, ln float64) float64 { return both(le, ne) }),
	"insulation between live":       insulated(func(le, ne, ln float64) float64 { return both(ln, le+ne) }),
	"insulation line to earth":      insulated(func(le, ne, ln float64) float64 { return both(le, ln+ne) }),
	"insulation neutral to earth":   insulated(func(le, ne, ln float64) float64 { return both(ne, ln+le) }),
	"polarity":                      (*Site).polarity,
	"RA":                            (*Site).electrode,
	"voltage line to neutral":       volts("L", "N"),
	"voltage line to earth":         volts("L", "E"),
	"voltage neutral to earth":      volts("N", "E"),
	"voltage earth to remote spike": (*Site).spike,
	"voltage fall under load":       (*Site).fall,
	"phase sequence":                (*Site).sequence,
	"Ze":                            (*Site).external,
	"line-neutral loop":             (*Site).neutralLoop,
	"Zs":                            (*Site).earthLoop,
	"Ipf":                           (*Site).faultCurrent,
	"RCD time at IΔn":               (*Site).residualTime,
	"RCD at half IΔn":               (*Site).residualHalf,
	"RCD ramp":                      (*Site).residualRamp,
	"6 mA d.c.":                     (*Site).direct,
	"protective conductor current":  (*Site).protective,
	"RCD test button":               (*Site).testButton,
	"pilot voltage in state A":      pilotAt(0, false),
	"pilot voltage in state B":      pilotAt(2740, false),
	"pilot voltage in state C":      pilotAt(882, false),
	"pilot negative peak":           pilotAt(2740, true),
	"pilot duty":                    (*Site).duty,
	"clamp step":                    (*Site).step,
}

// dead is the place with the supply off and the loads unplugged.
func (s *Site) dead(w reading.Ways) how {
	return how{noLoad: true, breaker: true, contactor: s.far(w) == "outlet"}
}

// far is where a dead test of the point's run is read: before what opens in the
// point, as who knows points does, but through the outlet where an adaptor is
// the way in.
func (s *Site) far(w reading.Ways) string {
	if s.opens && !w.Has("supply terminals") {
		return "outlet"
	}
	return "point"
}

// linked reads round a link at the board, over the run and back.
func (s *Site) linked(other, at string, w reading.Ways) (string, bool) {
	c := s.asWired(s.dead(w))
	b, far := s.board(), s.far(w)
	if s.where(at) == "sub" { // the sub-main, not the run to the point
		c.join("main.L1", "main."+other, 0)
		return s.low(c.between("sub.L1", "sub."+other), w), true
	}
	if s.nolink && other == "E" && !w.Has("link checked") {
		other = "N"
		c.join(b+".L1", b+".N", 0)
		return s.low(c.between(far+".L1", far+".N"), w), true
	}
	c.join(b+".L1", b+"."+other, 0)
	film := complex(s.odd["film"], 0)
	if other == "E" && s.opens && far == "outlet" {
		return s.low(complex(broken, 0), w), true
	}
	return s.low(c.between(far+".L1", far+"."+other)+film, w), true
}

// low writes a continuity reading, with the leads nulled where it is asked.
func (s *Site) low(z complex128, w reading.Ways) string {
	m := s.meter
	if w.Has("leads nulled") {
		m.null = 0.004 * s.rand.NormFloat64()
	}
	return m.low(s.rand, z)
}

func (s *Site) lineAndEarth(at string, w reading.Ways) (string, bool)   { return s.linked("E", at, w) }
func (s *Site) lineAndNeutral(at string, w reading.Ways) (string, bool) { return s.linked("N", at, w) }

func (s *Site) longLead(at string, w reading.Ways) (string, bool) {
	c := s.asWired(s.dead(w))
	if s.where(at) == "sub" {
		return s.low(c.between("main.E", "sub.E"), w), true
	}
	if s.opens && s.far(w) == "outlet" {
		return s.low(complex(broken, 0), w), true
	}
	return s.low(c.between(s.board()+".E", "point.E"), w), true
}

func (s *Site) earthingConductor(at string, w reading.Ways) (string, bool) {
	c := newCircuit()
	c.join("cut.E", "met", complex(s.ohms["earthing conductor"], 0))
	return s.low(c.between("cut.E", "met"), w), true
}

func (s *Site) leadsTogether(at string, w reading.Ways) (string, bool) { return s.low(0, w), true }

func both(a, b float64) float64 { return a * b / (a + b) }

// insulated reads the run's insulation: three resistances between line,
// neutral and earth, seen from two of them.
func insulated(seen func(le, ne, ln float64) float64) func(*Site, string, reading.Ways) (string, bool) {
	return func(s *Site, at string, w reading.Ways) (string, bool) {
		alone := w.Has("cable alone")
		le, ne, ln := s.cableL, s.cableN, s.cableE
		if s.where(at) == "sub" { // another cable, and nothing of the point's in it
			return s.meter.insulation(s.rand, seen(le, ln, ne)), true
		}
		if s.moist > 0 {
			le, ne = both(le, 1.7*s.moist), both(ne, 2.4*s.moist)
		}
		for pair, ohms := range s.put {
			switch pair {
			case [2]string{"point.L1", "point.E"}:
				le = both(le, ohms)
			case [2]string{"point.N", "point.E"}:
				ne = both(ne, ohms)
			case [2]string{"point.L1", "point.N"}:
				ln = both(ln, ohms)
			}
		}
		if s.pointLeft && !alone && !w.Has("point disconnected") {
			ln, le, ne = both(ln, s.electronics), both(le, s.filter), both(ne, s.filter)
		}
		if s.lampLeft && !alone {
			ln = both(ln, 4e4)
		}
		if s.neutralLeft && !alone {
			ne = both(ne, 4e6)
		}
		if s.surgeLeft && !alone && !w.Has("surge device out") {
			knee := 6e5
			if w.Has("250 V") {
				knee = 3e8
			}
			le, ne = both(le, knee), both(ne, knee)
		}
		return s.meter.insulation(s.rand, seen(le, ne, ln)), true
	}
}

func (s *Site) polarity(at string, w reading.Ways) (string, bool) {
	if s.reversed == "point" || s.swapped {
		return "not correct", true
	}
	return "correct", true
}

func (s *Site) electrode(at string, w reading.Ways) (string, bool) {
	if s.Earthing != "TT" {
		return "", false
	}
	v := s.ohms["rod"] * s.meter.gain
	return s.meter.shows(v, 0.1, 1999, "Ω"), true
}

// live is the place in use.
func (s *Site) live() how { return how{main: true, breaker: true, contactor: true, noLoad: true} }

// where returns the nodes that a live reading is taken at.
func (s *Site) where(at string) string {
	switch at {
	case "CP1", "point circuit":
		return "outlet"
	case "sub-board":
		return "sub"
	}
	return "main"
}

// laid is the place in use, its supply turned where a fault has it so.
func (s *Site) laid(h how) *circuit {
	c := s.asWired(h)
	other := "main.L1" // exchanged with the neutral at the meter
	switch {
	case s.odd["line for neutral"] > 0:
		other = "main.L2"
	case s.reversed != "supply":
		return c
	}
	l, n := c.node(other), c.node("main.N")
	for i := range c.branches {
		b := &c.branches[i]
		if b.a == c.node("cut"+other[len("main"):]) || b.a == c.node("cut.N") {
			switch b.b {
			case l:
				b.b = n
			case n:
				b.b = l
			}
		}
	}
	return c
}

func volts(a, b string) func(*Site, string, reading.Ways) (string, bool) {
	return func(s *Site, at string, w reading.Ways) (string, bool) {
		h := s.live()
		h.noLoad = false
		c := s.laid(h)
		node := func(x string) string {
			if x == "L" {
				x = "L1"
			}
			return s.where(at) + "." + x
		}
		u := math.Abs(cmplx.Abs(c.voltage(node(a), node(b))) + s.swung())
		return s.meter.shows(u*(1+0.004*s.rand.NormFloat64()), 0.1, 1000, "V"), true
	}
}

// spike: the main terminal against an earth spike away from all metal.
func (s *Site) spike(at string, w reading.Ways) (string, bool) {
	h := s.live()
	h.vehicle = 23
	return s.meter.shows(cmplx.Abs(s.laid(h).voltage("met", "ground")), 0.1, 1000, "V"), true
}

func (s *Site) fall(at string, w reading.Ways) (string, bool) {
	h := s.live()
	idle, loaded := s.laid(h), s.laid(h)
	x := s.where(at)
	loaded.join(x+".L1", x+".N", 23)
	fall := cmplx.Abs(idle.voltage(x+".L1", x+".N")) - cmplx.Abs(loaded.voltage(x+".L1", x+".N"))
	return s.meter.shows(fall+0.1*s.rand.NormFloat64(), 0.1, 1000, "V"), true
}

func (s *Site) sequence(at string, w reading.Ways) (string, bool) {
	if s.Phases == 1 {
		return "", false
	}
	if s.crossed {
		return "L1 L3 L2", true
	}
	return "L1 L2 L3", true
}

func (s *Site) external(at string, w reading.Ways) (string, bool) {
	h := s.live()
	h.noEarthing, h.main = true, false
	c := s.asWired(h)
	z := c.between("cut.L1", "cut.E") + complex(s.ohms["tails L1"], 0)
	return s.meter.loop(s.rand, z, w.Has("no-trip")), true
}

func (s *Site) neutralLoop(at string, w reading.Ways) (string, bool) {
	x := s.where(at)
	return s.meter.loop(s.rand, s.laid(s.live()).between(x+".L1", x+".N"), false), true
}

func (s *Site) earthLoop(at string, w reading.Ways) (string, bool) {
	x := s.where(at)
	c := s.laid(s.live())
	live := x + ".L1"
	if s.reversed == "supply" || s.reversed == "point" && x == "outlet" {
		live = x + ".N" // the probe finds the line where it is
	}
	return s.meter.loop(s.rand, c.between(live, x+".E"), w.Has("no-trip")), true
}

func (s *Site) faultCurrent(at string, w reading.Ways) (string, bool) {
	x := s.where(at)
	c := s.laid(s.live())
	z := min(cmplx.Abs(c.between(x+".L1", x+".N")), cmplx.Abs(c.between(x+".L1", x+".E")))
	z = max(z*s.meter.loopGain+0.01*s.rand.NormFloat64(), 0.01)
	k := 230 / z / 1000
	if s.Phases == 3 { // twice the single-phase figure: common practice, no source
		k *= 2
	}
	return s.meter.shows(k, 0.01, 20, "kA"), true
}

// passed is the share of a current from line to earth at the outlet that the
// RCD sees: what does not come back over the neutral beyond it.
func (s *Site) passed() float64 {
	c := s.asWired(s.live())
	u := c.solve(true, map[string]complex128{"outlet.L1": -1, "outlet.E": 1})
	_, neutral, _ := s.ends()
	i := (u[c.node("point."+neutral)] - u[c.node(s.board()+".N")]) / complex(s.ohms["run N"]+0.004, 0)
	return 1 - math.Abs(real(i))
}

func (s *Site) residualTime(at string, w reading.Ways) (string, bool) {
	seen := 0.03*s.passed() + 0.5*s.standing
	if s.trip == 0 || seen < s.trip*s.held || !s.shut || s.swapped {
		return one(s.rand, "no trip", "did not trip", ">300 ms"), true
	}
	ms := 1000 * s.slow * s.uniform(0.014, 0.032) * math.Pow(s.trip/seen*1.25, 1.2)
	if ms > 300 {
		return one(s.rand, "no trip", ">300 ms"), true
	}
	return s.meter.shows(ms, 1, 2000, "ms"), true
}

func (s *Site) residualHalf(at string, w reading.Ways) (string, bool) {
	if s.trip > 0 && 0.015*s.passed()+s.standing > s.trip {
		return "trips", true
	}
	return "does not trip", true
}

func (s *Site) residualRamp(at string, w reading.Ways) (string, bool) {
	if s.trip == 0 || !s.shut {
		return "no trip", true
	}
	i := max(s.trip*s.held-s.standing, 0.003) / max(s.passed(), 0.05)
	if i > 0.033 {
		return one(s.rand, "no trip", ">33 mA"), true
	}
	return s.meter.shows(1000*i*(1+0.03*s.rand.NormFloat64()), 1, 100, "mA"), true
}

func (s *Site) direct(at string, w reading.Ways) (string, bool) {
	if s.dc == 0 || !s.shut { // no way for the current through an open contactor
		return "no trip", true
	}
	return s.meter.shows(1000*s.dc, 0.1, 50, "mA"), true
}

func (s *Site) protective(at string, w reading.Ways) (string, bool) {
	return s.meter.shows(1000*s.standing*(1+0.05*s.rand.NormFloat64()), 0.1, 1000, "mA"), true
}

func (s *Site) testButton(at string, w reading.Ways) (string, bool) {
	if s.button {
		return "works", true
	}
	return "does not work", true
}

// pilotAt reads the pilot with a resistor and a diode behind it: source 12 V
// behind 1 kΩ, IEC 61851-1 Annex A.
func pilotAt(resistor float64, negative bool) func(*Site, string, reading.Ways) (string, bool) {
	return func(s *Site, at string, w reading.Ways) (string, bool) {
		p, resistor := s.pilot, resistor
		if p.noSwitch && resistor == 882 {
			resistor = 2740
		}
		if p.open {
			resistor = 0
		}
		// The pilot as a source of its own, with the leak beside it.
		u, source := 12.0, 1000.0
		if by := s.odd["pilot source"]; by > 0 {
			u *= by
		}
		if negative {
			u = -u
		}
		if p.leak > 0 {
			u, source = u*p.leak/(p.leak+source), source*p.leak/(p.leak+source)
		}
		source += s.odd["pilot"]
		diode := 0.7
		if p.noDiode {
			diode = 0
		}
		v := u
		switch {
		case p.shorted:
			v = 0
		case resistor > 0 && (!negative || p.noDiode):
			sign := math.Copysign(1, u)
			v = sign*diode + (u-sign*diode)*resistor/(resistor+source)
		}
		v += 0.08*s.rand.NormFloat64() + s.odd["pilot induced"]
		return fmt.Sprintf("%.1f V", v), true
	}
}

// duty is what the point offers: 0.6 A for each per cent to 51 A (IEC 61851-1
// Annex A).
func (s *Site) duty(at string, w reading.Ways) (string, bool) {
	if s.pilot.shorted {
		return "", false
	}
	return fmt.Sprintf("%.1f %%", min(32*s.setting, 51)/0.6+0.2*s.rand.NormFloat64()), true
}

// step is what a clamp shows of a load of 10 A.
func (s *Site) step(at string, w reading.Ways) (string, bool) {
	return fmt.Sprintf("%.1f A", 10*real(s.clamp)*s.meter.gain+s.odd["clamp offset"]+0.1*s.rand.NormFloat64()), true
}
