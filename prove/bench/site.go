package bench

import (
	"fmt"
	"math"
	"math/rand/v2"
)

// Site is one invented place as it really is: nobody on it knows these figures.
type Site struct {
	rand *rand.Rand

	Earthing string // TN-C-S, TN-S, TT
	Phases   int
	Length   float64 // of the point's circuit, m
	Sub      float64 // length of a sub-main, m; 0 where the point is on the main board
	CSA      float64 // of the point's circuit, mm²
	CPC      string  // core, armour, core and armour; of the point's circuit
	Flat     bool    // flat twin and cpc, else armoured
	Three    bool    // the point takes three phases
	Tethered bool
	Surge    bool
	Measured bool    // the lengths in the record were measured
	Warm     float64 // what the conductors are at, °C
	Said     float64 // what the record says of that, °C

	ohms map[string]float64    // each conductor and joint, by name
	put  map[[2]string]float64 // what a fault put between two nodes where nothing was, Ω
	odd  map[string]float64    // slips of the person, by what is done, and other things no conductor tells

	cableL, cableN, cableE float64 // insulation, line and neutral to earth, line to neutral: Ω
	moist                  float64 // leak of the point's cable to earth, Ω; 0 for none
	surgeLeft, pointLeft   bool
	neutralLeft            bool // the neutral was not lifted for the test
	lampLeft               bool
	electronics, filter    float64 // of the point: line to neutral, each to earth, Ω

	trip      float64 // of the RCD, A; 0 where it never trips
	slow      float64 // times
	standing  float64 // A
	button    bool
	held      float64 // times as much as it takes without direct current
	dc        float64 // the 6 mA device trips at, A; 0 for never
	pilot     pilot
	setting   float64 // of the point's current, times the record's
	clamp     complex128
	load      []complex128 // existing load of each phase, Ω
	reversed  string       // "point" or "supply" where line and neutral are exchanged
	swapped   bool         // neutral and earth exchanged at the point
	crossed   bool         // L2 and L3 exchanged
	shut      bool         // the contactor can close
	opens     bool         // the point opens its protective conductor while dead
	volts     float64      // of the transformer, line to neutral
	nolink    bool         // the person linked line and neutral at the board, not line and cpc
	misplaced bool         // the reading of Zs was taken at the board and written for the point
	meter     meter
}

// pilot is what stands behind the control pilot.
type pilot struct {
	open, shorted, noSwitch, noDiode bool
	leak                             float64 // Ω; 0 for none
}

// copper is the greatest resistance of a copper conductor at 20 °C, Ω/km:
// IEC 60228 Table 1, classes 1 and 2.
var copper = map[float64]float64{1.5: 12.1, 2.5: 7.41, 4: 4.61, 6: 3.08, 10: 1.83, 16: 1.15, 25: 0.727, 35: 0.524}

// steel is the resistance of the wire armour at 20 °C, Ω/km, by cores and size:
// BS 5467, from memory; each times the area of its wires comes to 155 Ω·mm²/km,
// that of steel.
var steel = map[int]map[float64]float64{
	2: {4: 7.9, 6: 7.0, 10: 6.0, 16: 3.7},
	3: {4: 7.5, 6: 6.7, 10: 4.0, 16: 3.6},
	4: {4: 6.8, 6: 4.3, 10: 3.7, 16: 3.2},
	5: {4: 6.2, 6: 3.9, 10: 3.4, 16: 2.2},
}

// flatCPC is the cpc of a flat twin cable, mm²: BS 6004.
var flatCPC = map[float64]float64{4: 1.5, 6: 2.5, 10: 4}

// of returns the resistance of a copper run in Ω, as real cable has it: a little
// below the greatest, at its temperature.
func (s *Site) of(csa, length float64) float64 {
	made := 0.93 + 0.06*s.rand.Float64() // common practice, no source: drawn near the bound
	return copper[csa] / 1000 * length * made * (1 + 0.00393*(s.Warm-20))
}

func (s *Site) uniform(a, b float64) float64 { return a + s.rand.Float64()*(b-a) }

func (s *Site) spread(a, b float64) float64 { return a * math.Pow(b/a, s.rand.Float64()) }

func (s *Site) chance(p float64) bool { return s.rand.Float64() < p }

func one[T any](r *rand.Rand, of ...T) T { return of[r.IntN(len(of))] }

// newSite draws a sound place.
func newSite(r *rand.Rand) *Site {
	s := &Site{rand: r, ohms: map[string]float64{}, put: map[[2]string]float64{}, odd: map[string]float64{}}
	s.Earthing = one(r, "TN-C-S", "TN-C-S", "TN-C-S", "TN-S", "TN-S", "TT")
	s.Phases = one(r, 1, 1, 3)
	s.Three = s.Phases == 3 && s.chance(0.4)
	s.Flat = !s.Three && s.chance(0.35)
	s.CSA = one(r, 6.0, 6.0, 10.0, 4.0)
	if s.Flat {
		s.CSA, s.CPC = one(r, 6.0, 10.0), "core"
	} else {
		s.CPC = one(r, "core", "core", "core and armour", "armour")
	}
	s.Length = math.Round(s.uniform(4, 45))
	if s.chance(0.3) {
		s.Sub = math.Round(s.uniform(8, 45))
	}
	s.Tethered = s.chance(0.5)
	s.Surge = s.chance(0.5)
	s.Measured = s.chance(0.6)
	s.Said = math.Round(s.uniform(3, 27))
	s.Warm = s.Said + 2*r.NormFloat64()
	s.volts = s.uniform(234, 246)
	s.wire()
	s.state()
	s.meter = newMeter(r)
	return s
}

// wire draws every conductor and joint.
func (s *Site) wire() {
	put := func(name string, ohms float64) { s.ohms[name] = ohms }
	line := s.uniform(0.03, 0.16)
	if s.chance(0.12) { // a rural service, weak and sound
		line = s.uniform(0.16, 0.32)
	}
	for _, l := range s.lines() {
		put("service "+l, line*s.uniform(0.97, 1.03))
		put("tails "+l, s.of(25, s.uniform(1, 4))+0.0006)
		put("sub "+l, s.run(s.Sub, 16))
		put("run "+l, s.run(s.Length, s.CSA))
		put("lead "+l, s.lead())
	}
	put("service N", line*s.uniform(0.97, 1.03))
	put("sheath", line*s.uniform(1.2, 2.6))
	put("star earth", s.uniform(0.5, 8))
	put("network earth", s.uniform(4, 40))
	put("cut-out link", 0.0005)
	put("tails N", s.of(25, s.uniform(1, 4))+0.0006)
	put("earthing conductor", s.of(16, s.uniform(1, 8)))
	put("terminal", 0.0005)
	put("rod", s.spread(15, 160))
	put("bonds", s.of(10, s.uniform(2, 12)))
	put("pipes", s.spread(8, 400)) // plastic services give almost none
	if s.chance(0.45) {
		put("pipes", 1e6)
	}
	put("sub N", s.run(s.Sub, 16))
	put("sub E", s.armour(s.Sub, 16, map[int]int{1: 2, 3: 4}[s.Phases]))
	put("run N", s.run(s.Length, s.CSA))
	put("core E", broken)
	put("armour E", broken)
	switch {
	case s.Flat:
		put("core E", s.run(s.Length, flatCPC[s.CSA]))
	case s.CPC == "core":
		put("core E", s.run(s.Length, s.CSA))
	case s.CPC == "armour":
		put("armour E", s.armour(s.Length, s.CSA, s.cores()))
	default:
		put("core E", s.run(s.Length, s.CSA))
		put("armour E", s.armour(s.Length, s.CSA, s.cores()))
	}
	put("lead N", s.lead())
	put("lead E", s.lead())
}

func (s *Site) lead() float64 {
	if !s.Tethered {
		return 0.002
	}
	return s.of(6, s.uniform(4.5, 7.5)) + 0.002
}

// run is a copper run with its two terminals.
func (s *Site) run(length, csa float64) float64 { return s.of(csa, length) + 0.001*s.uniform(0.5, 2) }

// cores is how many the cable of the point has.
func (s *Site) cores() int {
	n := len(s.served()) + 1
	if s.CPC != "armour" {
		n++
	}
	return n
}

func (s *Site) armour(length, csa float64, cores int) float64 {
	return steel[cores][csa]/1000*length*s.uniform(0.92, 1)*(1+0.0045*(s.Warm-20)) + 0.002*s.uniform(0.5, 2)
}

func (s *Site) lines() []string {
	if s.Phases == 3 {
		return []string{"L1", "L2", "L3"}
	}
	return []string{"L1"}
}

// state draws what is no conductor: insulation, devices, pilot, loads.
func (s *Site) state() {
	s.cableL, s.cableN, s.cableE = s.spread(3e8, 2e10), s.spread(3e8, 2e10), s.spread(3e8, 2e10)
	s.electronics, s.filter = s.spread(2e5, 8e5), s.spread(1e6, 6e6)
	s.held, s.trip, s.slow, s.standing, s.button = 1, s.uniform(0.019, 0.026), 1, s.uniform(0.0003, 0.0022), true
	s.dc = s.uniform(0.0038, 0.0056)
	s.setting, s.clamp, s.shut = 1, 1, true
	for range s.lines() {
		s.load = append(s.load, complex(s.spread(12, 400), 0))
	}
}

// board is the node name of the board that the point is fed from.
func (s *Site) board() string {
	if s.Sub > 0 {
		return "sub"
	}
	return "main"
}

// how says which switches stand closed and what was taken apart for a reading.
type how struct {
	main, breaker, contactor bool
	noEarthing               bool // the earthing conductor is off its terminal
	noLoad                   bool
	vehicle                  float64 // load at the outlet, Ω; 0 for none
}

// asWired lays the place out as a circuit.
func (s *Site) asWired(h how) *circuit {
	c := newCircuit()
	sw := func(closed bool, ohms float64) complex128 {
		if !closed {
			return broken
		}
		return complex(ohms, 0)
	}
	r := func(name string) complex128 { return complex(s.ohms[name], 0) }
	react := func(name string) complex128 { return complex(s.ohms[name], 0.25*math.Min(s.ohms[name], 0.2)) }
	for i, l := range s.lines() {
		angle := -2 * math.Pi / 3 * float64(i)
		emf := complex(s.volts*math.Cos(angle), s.volts*math.Sin(angle))
		c.feed("star", "cut."+l, react("service "+l), emf*complex(1-s.centre(), 0))
		pole := 0.0
		if i == 0 {
			pole = s.odd["main pole"]
		}
		c.join("cut."+l, "main."+l, r("tails "+l)+sw(h.main, 0.0004+pole))
		if s.Sub > 0 {
			c.join("main."+l, "sub."+l, r("sub "+l))
		}
		if !h.noLoad {
			c.join("main."+l, "main.N", s.load[i])
		}
	}
	c.feed("ground", "star", r("star earth"), complex(s.odd["star volts"], 0))
	c.feed("star", "cut.N", react("service N"), complex(-s.volts*s.centre(), 0))
	switch s.Earthing {
	case "TN-C-S":
		c.join("cut.N", "cut.E", r("cut-out link"))
		c.join("cut.N", "ground", r("network earth"))
	case "TN-S":
		c.join("star", "cut.E", react("sheath"))
	default:
		c.join("cut.E", "ground", r("rod"))
	}
	c.join("cut.N", "main.N", r("tails N")+sw(h.main, 0.0004))
	if !h.noEarthing {
		c.join("cut.E", "met", r("earthing conductor"))
	}
	c.join("met", "main.E", r("terminal"))
	c.join("met", "pipe", r("bonds"))
	c.join("pipe", "ground", r("pipes"))
	if s.Sub > 0 {
		c.join("main.N", "sub.N", r("sub N"))
		c.join("main.E", "sub.E", r("sub E"))
	}
	b := s.board()
	line, neutral, earth := s.ends()
	for _, l := range s.served() {
		c.join(b+"."+l, "point."+line(l), r("run "+l)+sw(h.breaker, 0.004))
		c.join("point."+l, "outlet."+l, r("lead "+l)+sw(h.contactor && s.shut, 0.003))
	}
	c.join(b+".N", "point."+neutral, r("run N")+sw(h.breaker, 0.004))
	c.join("point.N", "outlet.N", r("lead N")+sw(h.contactor && s.shut, 0.003))
	c.join(b+".E", "point."+earth, r("core E"))
	c.join(b+".E", "point."+earth, r("armour E"))
	c.join("point.E", "outlet.E", r("lead E"))
	if z := s.odd["borrowed neutral"]; z > 0 && h.main {
		c.join("point.N", "main.N", complex(z, 0))
	}
	if h.vehicle > 0 {
		for _, l := range s.served() {
			c.join("outlet."+l, "outlet.N", complex(h.vehicle, 0))
		}
	}
	for ends, ohms := range s.put {
		c.join(ends[0], ends[1], complex(ohms, 0))
	}
	return c
}

// ends says at which terminal of the point each conductor of its run ends.
func (s *Site) ends() (line func(string) string, neutral, earth string) {
	line, neutral, earth = func(l string) string { return l }, "N", "E"
	switch {
	case s.reversed == "point":
		line, neutral = func(string) string { return "N" }, s.served()[0]
	case s.swapped:
		neutral, earth = "E", "N"
	}
	return line, neutral, earth
}

// served are the lines that the point takes.
func (s *Site) served() []string {
	if s.Three {
		return []string{"L1", "L2", "L3"}
	}
	return []string{"L1"}
}

// String describes the place in one line.
func (s *Site) String() string {
	return fmt.Sprintf("%s, %d-phase, run %.0f m of %g mm² (%s), sub-main %.0f m", s.Earthing, s.Phases, s.Length, s.CSA, s.CPC, s.Sub)
}
