package invent

// What there is at a site, part by part. Each row of words is what an
// electrician might find or choose there.

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"chargewright/job"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/trade"
)

// cable is a way to run a circuit: what lies how, and what serves as its cpc.
type cable struct {
	construction, insulation, methods, cpc string
	three, one                             bool // for how many phases
	cores                                  int  // besides the lines: neutral, and cpc where it is a core; 0 where cores are not said
}

var cables = []cable{
	{construction: "flat twin and cpc", insulation: "70 °C thermoplastic", methods: "C|100|102|A", one: true},
	{construction: "singles", insulation: "70 °C thermoplastic|90 °C thermosetting", methods: "A|B", cpc: "core|separate", one: true, three: true},
	{construction: "multicore", insulation: "70 °C thermoplastic|90 °C thermosetting", methods: "A|B|C|E", cpc: "core", one: true,
		three: true, cores: 2},
	{construction: "armoured", insulation: "90 °C thermosetting", methods: "C|D duct|D buried|E", cpc: "core", one: true,
		three: true, cores: 2},
	{construction: "armoured", insulation: "90 °C thermosetting", methods: "C|D duct|D buried|E", cpc: "core and armour", one: true, three: true, cores: 2},
	{construction: "armoured", insulation: "90 °C thermosetting", methods: "C|D duct|D buried|E", cpc: "armour", one: true, three: true, cores: 1},
}

// arrangements is how circuits lie together, by method of installation.
var arrangements = map[string]string{
	"A": "bunched", "B": "bunched", "C": "single layer on wall", "E": "single layer on tray|single layer on ladder", "100": "bunched",
	"102":      "bunched",
	"D buried": "buried touching|buried one diameter apart|buried 125 mm apart|buried 250 mm apart|buried 500 mm apart",
	"D duct":   "ducts touching|ducts 250 mm apart|ducts 500 mm apart|ducts 1 m apart",
}

func (d *drawer) site() {
	d.ambient = math.Round(5 + 20*d.r.Float64())
	d.put("site", "client", "The client (invented)", "address", "1 Example Lane (invented)", "premises",
		"dwelling|flats|workplace|shop or office|hotel|car park",
		"nation", "England|Wales|Scotland|Northern Ireland", "visited", "2026-11-19", "temperature", fmt.Sprintf("%v °C", d.ambient))
	d.put(d.item("people", "A. Spark"), "role", "designer and installer", "firm", "Sparks and Daughter (invented)")
	d.put(d.item("instruments", "tester 1"), "kind", "multifunction", "serial", "invented-1", "calibrated until", "2027-03-01", "leads nulled", "yes")
	d.stray("site", "site")
}

// supply draws what comes from the street, great enough for what it feeds
// unless a limiter holds the points.
func (d *drawer) supply() {
	d.system, d.three, d.u0 = d.pick("TN-S|TN-C-S|TN-C-S|TT"), d.chance(0.5), 230
	points := 1 + d.r.IntN(d.o.Points)
	if d.chance(0.5) {
		points = 1 + d.r.IntN(min(3, d.o.Points))
	}
	d.drawBoards()
	d.loads()
	shares := make([]int, len(d.boards))
	for range points {
		if i := d.r.IntN(len(shares)); shares[i] < 3 {
			shares[i]++
		} else {
			shares[0]++
		}
	}
	limited := d.chance(0.5)
	existing := 15 + 20*d.r.Float64() + 20*float64(d.items["loads"])
	total := existing
	for i := len(d.boards) - 1; i >= 0; i-- {
		b := d.boards[i]
		for range shares[i] {
			b.amps += d.drawPoint(b, limited)
		}
		if b.from != nil {
			b.from.amps += b.amps
		} else {
			total += b.amps
		}
	}
	rating := 60.0
	for _, rating = range []float64{60, 80, 100, 125, 160, 200, 250, 315, 400, 500, 630} {
		if rating >= total || limited && rating >= existing+40 && d.chance(0.5) {
			break
		}
	}
	family, breaking, tails := "BS 88-3|BS 1361", "33 kA", "25"
	if rating == 125 || rating > 100 {
		family, breaking, tails = "BS 88-2 gG", "80 kA", d.size(rating)
	}
	d.ze = 0.08 + 0.27*d.r.Float64()
	if rating > 100 {
		d.ze = 0.05 + 0.04*d.r.Float64()
	}
	loop, external := d.ze, d.ze
	if d.system == "TT" {
		external = 20 + 100*d.r.Float64()
		d.link("supply", "electrode", d.drawElectrode("rod at the meter", external))
		d.ze = external
	}
	ipf := d.u0 / loop
	phases := "1"
	if d.three {
		ipf *= 2 // between lines and neutral there is half the loop's impedance in each
		phases = "3"
	}
	d.link("supply", "phases", phases)
	d.put("supply", "earthing", d.system, "voltage", "230 V", "private", "no", "frequency", "50 Hz", "polarity confirmed", "yes",
		"cut-out/type", family, "cut-out/rating", amperes(rating), "cut-out/breaking capacity", breaking,
		"Ze", fmt.Sprintf("%.3f Ω (measured)", external),
		"Ipf", fmt.Sprintf("%.2f kA (measured)", ipf/1000), "looped", "no", "unmetered", "no", "service equipment", "sound",
		"supply neutral", tails+" mm²|35 mm²",
		"agreed capacity", amperes(rating), "maximum demand", fmt.Sprintf("%.1f A (measured)", existing), "tails/csa", tails+" mm²",
		"tails/length", "0.5..3.0 m", "tails/method", "C",
		"tails/insulation", "70 °C thermoplastic", "earthing conductor/csa", d.half(tails)+" mm²", "earthing conductor/length", "1..4 m",
		"earthing conductor/buried", "no", "earthing conductor/connected", "yes")
	for i := range d.entries {
		if e := &d.entries[i]; e.Path == "supply/maximum demand" {
			e.Who, e.When = "A. Spark", "2026-11-19"
		}
	}
	d.link("supply", "generation or storage", "no")
	d.link("supply", "capacity agreed", "yes")
	if d.system == "TN-C-S" && d.chance(0.5) || d.chance(0.2) {
		d.put("supply", "line-neutral loop", fmt.Sprintf("%.3f Ω (measured)", loop))
	}
	for _, service := range []string{"water", "gas", "oil", "structural steel"} {
		if service == "water" || d.chance(0.4) {
			d.put(d.item("supply/main bonding", service), "csa", d.half(tails)+" mm²", "length", "2..15 m", "connected", "yes")
		}
	}
	if d.chance(0.3) {
		d.put(d.item("supply/neighbours", "next door"), "phases", "L1|L2|L3|L1 L2 L3", "current", "5..40 A", "electrode", "10..300 Ω")
	}
	d.stray("supply", "supply")
	if limited {
		d.limiter(rating)
	}
	d.feedBoards()
}

// size returns the csa of tails and feeders that carry a current, in mm².
func (d *drawer) size(amps float64) string {
	for _, csa := range []float64{25, 35, 50, 70, 95, 120, 150, 185, 240, 300} {
		it, _, err := d.rules.Rating(standard.Copper, standard.Singles, standard.Thermoplastic70, standard.MethodC, 3, quantity.SquareMillimetres(csa))
		if err == nil && float64(it) >= amps {
			return strconv.FormatFloat(csa, 'f', -1, 64)
		}
	}
	return "400"
}

// half returns the next standard size at or above half of a csa, no less than 16 mm².
func (d *drawer) half(csa string) string {
	for _, s := range []float64{16, 25, 35, 50, 70, 95, 120, 150, 185} {
		if s >= number(csa)/2 {
			return strconv.FormatFloat(s, 'f', -1, 64)
		}
	}
	return "240"
}

func (d *drawer) drawElectrode(name string, ohms float64) string {
	d.put(d.item("electrodes", name), "place", "in the flower bed", "kind", "rod|tape|plate", "length", "1.2..3.0 m", "diameter",
		"16 mm|25 mm", "depth", "0.5 m|0.7 m|1 m",
		"number", "1|2|3|4", "spacing", "2.5..5.0 m", "soil", "30..300 Ω·m", "resistance", fmt.Sprintf("%.1f Ω (measured)", ohms),
		"from buried PME metalwork", "6..20 m")
	d.stray("electrodes/"+name, "electrodes/*")
	return name
}

// drawBoards draws the boards, the first at the origin and each other behind one before it.
func (d *drawer) drawBoards() {
	for i := range 1 + d.r.IntN(d.o.Boards) {
		b := &board{name: fmt.Sprintf("board %d", i+1), three: d.three && (i == 0 || d.chance(0.7)), ways: 48}
		b.path = d.item("boards", b.name)
		if i > 0 {
			b.from = d.boards[d.r.IntN(i)]
			b.three = b.three && b.from.three
			if b.line = b.from.line; b.line == "" && !b.three {
				b.line = d.pick("L1|L2|L3")
			}
		} else {
			if !d.three {
				b.line = "L1"
			}
			d.link(b.path, "fed from", "supply")
			d.put(b.path, "main switch/standard", "BS EN 60947-3", "main switch/poles", map[bool]string{true: "4", false: "2"}[d.three],
				"main switch/rating", "630 A", "main switch/voltage", "230 V|400 V")
		}
		d.link(b.path, "phases", map[bool]string{true: "3", false: "1"}[b.three])
		d.link(b.path, "ways", strconv.Itoa(b.ways))
		d.link(b.path, "ways free", strconv.Itoa(20+d.r.IntN(b.ways-20)))
		if i > 0 { // what the whole installation draws is measured
			d.link(b.path, "all loads entered", "yes")
		}
		d.put(b.path, "place", "under the stairs", "rated current", "630 A", "ambient", "25 °C|30 °C", "short-circuit rating",
			"16 kA|25 kA", "rated diversity factor",
			"0.8|0.9|1")
		if d.chance(0.3) {
			b.shared, b.parted = fmt.Sprintf("RCD %d", i+1), true
			d.put(d.item(b.path+"/RCDs", b.shared), "type", "A|F|B", "IΔn", "30 mA", "rating", "63 A|80 A|100 A", "time delayed", "no", "poles",
				"all live")
			d.stray(b.path+"/RCDs/"+b.shared, "boards/*/RCDs/*")
		}
		if i == 0 || d.chance(0.3) {
			spd := d.item(b.path+"/surge protection", fmt.Sprintf("SPD %d", i+1))
			d.put(spd, "type", "1+2|2", "connection", map[bool]string{true: "CT2", false: "CT1|CT2"}[d.system == "TT"], "protection level",
				"1.2 kV|1.4 kV|1.5 kV", "live lead", "0.10..0.25 m",
				"earth lead", "0.10..0.25 m", "live lead csa", "6 mm²|16 mm²", "earth lead csa", "16 mm²", "greatest backup fuse", "630 A")
			if d.chance(0.3) {
				d.put(spd+"/device", "type", "BS 88-2 gG", "rating", "63 A|100 A", "breaking capacity", "80 kA")
			}
			d.stray(spd, "boards/*/surge protection/*")
		}
		d.stray(b.path, "boards/*")
		d.boards = append(d.boards, b)
	}
}

// power is what points are sold in, and the current each draws in a phase.
var power = []struct {
	text  string
	three bool
	amps  float64
}{{"7.36 kW", false, 32}, {"7.4 kW", false, 32.2}, {"3.68 kW", false, 16}, {"11 kW", true, 15.9}, {"22 kW", true, 31.9}}

// drawPoint draws a point on a circuit of its own and returns its current in a phase.
func (d *drawer) drawPoint(b *board, limited bool) float64 {
	p := power[d.r.IntN(len(power))]
	for p.three && !b.three {
		p = power[d.r.IntN(len(power))]
	}
	name := fmt.Sprintf("CP%d", d.items["points"]+1)
	at := d.item("points", name)
	outdoors := d.pick("yes|yes|no")
	d.put(at, "make and model", "a make and model (invented)", "serial", "invented", "power", p.text,
		"phases", map[bool]string{true: "3", false: "1"}[p.three], "outlet", "socket|tethered", "outlet rating", amperes(32),
		"tether length", "5 m|7.5 m", "outdoors", outdoors, "public", "no|no|yes", "6 mA d.c. detection", "yes", "standing leakage",
		"0.5..3.5 mA", "greatest upstream device", "50 A|63 A",
		"least current", "6 A", "impulse withstand", "4 kV", "IP", "IP54|IP55|IP65", "IK", "IK08|IK10", "mounting/place", "front wall",
		"mounting/underside", "760..800 mm",
		"mounting/outlet height", "820..940 mm", "mounting/highest control", "1100..1190 mm", "mounting/top", "1200..1300 mm",
		"mounting/screen", "no")
	measure := "open-PEN device|open-PEN device|separate electrode"
	if d.system != "TN-C-S" {
		measure = "supply earthing"
	}
	switch measure = d.pick(measure); measure {
	case "open-PEN device":
		reference := "measures to earth electrode|measures line to neutral"
		if d.three {
			reference = "measures to earth electrode|measures from three lines"
		}
		d.put(at, "earthing/measure", measure, "earthing/opens protective conductor", "yes", "open-PEN device", reference)
	case "separate electrode":
		d.put(at, "earthing/measure", measure, "earthing/from PME metalwork", "3..8 m", "earthing/earthing conductor/csa", "16 mm²",
			"earthing/earthing conductor/buried", "no")
		d.link(at, "earthing/electrode", d.drawElectrode("rod of "+name, 20+100*d.r.Float64()))
	default:
		d.put(at, "earthing/measure", measure)
	}
	if limited && !d.chance(d.o.Wild) {
		d.link(at, "limiter", "limiter 1")
	} else if d.chance(0.5) {
		d.link(at, "limiter", "none")
	}
	d.stray(at, "points/*")
	d.circuit(b, name, p.three, p.amps, 1.25*p.amps, true)
	return p.amps
}

// feedBoards draws the circuits from board to board, and sums up the earth loop.
func (d *drawer) feedBoards() {
	for _, b := range d.boards[1:] {
		d.circuit(b.from, b.name, b.three, b.amps, 1.05*b.amps+10, false)
		b.zs = b.from.zs + d.runs[len(d.runs)-1].r1r2
	}
	for _, r := range d.runs {
		r.zs = r.from.zs + r.r1r2
	}
}

// circuit draws a circuit whose device carries at least so much and whose cable
// carries the device and keeps the volt drop down.
func (d *drawer) circuit(b *board, to string, three bool, ib, least float64, point bool) {
	name := "way to " + to
	at := d.item("circuits", name)
	d.link(at, "from", b.name)
	d.link(at, "to", to)
	d.link(at, "way", strconv.Itoa(d.items["circuits"]))
	phases := d.line(b)
	if to, ok := d.board(to); ok && !three {
		phases = to.line
	}
	if three || d.chance(d.o.Wild/4) && b.three {
		phases = "L1 L2 L3"
	}
	d.link(at, "phases", phases)
	family, ratings, breaking := "BS EN 61009 type B|BS EN 61009 type C", []float64{20, 32, 40, 50, 63}, "10 kA"
	if point && d.chance(0.2) {
		family = "BS EN 60898 type B|BS EN 60898 type C"
	}
	if !point {
		family, ratings, breaking = "BS 88-2 gG|BS EN 60947-2", []float64{32, 40, 63, 80, 100, 125, 160, 200, 250, 315, 400, 500, 630},
			"25 kA|50 kA|80 kA"
	}
	rating := ratings[0]
	for _, rating = range ratings {
		if rating >= least {
			break
		}
	}
	family = d.pick(family)
	d.put(at, "device/type", family, "device/rating", amperes(rating), "device/breaking capacity", breaking,
		"device/poles", map[bool]string{true: "lines only", false: "all live"}[three && !point])
	if family == "BS EN 60947-2" {
		d.put(at, "device/long-time setting", amperes(rating), "device/short-time setting", amperes(5*rating))
	}
	switch {
	case point && family[:11] != "BS EN 60898" || point && b.shared == "":
		d.put(at, "RCD/type", "A|F|B", "RCD/IΔn", "30 mA", "RCD/rating", amperes(rating), "RCD/poles", "all live", "RCD/time delayed", "no")
	case point:
		d.link(at, "shared RCD", b.shared)
		if !d.chance(d.o.Wild) {
			b.shared = "" // an RCD for this point alone
		}
	case d.system == "TT" || d.chance(0.15):
		d.put(at, "RCD/type", "B", "RCD/IΔn", "100 mA|300 mA", "RCD/rating", amperes(rating), "RCD/poles", "all live", "RCD/time delayed", "yes")
	}
	if b.parted && !d.said(at+"/shared RCD") {
		d.put(at, "shared RCD", "none")
	}
	d.put(at, "terminals rated", "70 °C", "existing", "", "isolator rating", "0 A")
	d.legs(b, at, to, three, ib, rating, point)
	d.stray(at, "circuits/*")
}

// said reports that a fact was entered.
func (d *drawer) said(path string) bool {
	return slices.ContainsFunc(d.entries, func(e job.Entry) bool { return e.Path == path })
}

// line draws a line that a board has; one it has not where wild.
func (d *drawer) line(b *board) string {
	if b.line == "" || d.chance(d.o.Wild/2) {
		return d.pick("L1|L2|L3")
	}
	return b.line
}

func (d *drawer) board(name string) (*board, bool) {
	for _, b := range d.boards {
		if b.name == name {
			return b, true
		}
	}
	return nil, false
}

// stretch is one leg while it is drawn, and the share of its rating it may use.
type stretch struct {
	cable
	method, ambient, arrangement string
	length, factor               float64
	together                     int
}

// legs draws one stretch of cable or two, and the cable of the circuit: the
// first kind drawn that is made large enough.
func (d *drawer) legs(b *board, at, to string, three bool, ib, rating float64, point bool) {
	lines := 1
	if three {
		lines = 3
	}
	var legs []stretch
	csa := 0.0
	for try := 0; csa == 0 && try < 200; try++ {
		legs = []stretch{d.stretch(d.suits(three))}
		if d.chance(0.5) {
			c := legs[0].cable
			if d.chance(0.3) {
				c = d.suits(three) // joined on
			}
			legs = append(legs, d.stretch(c))
		}
		csa = d.enough(legs, lines, ib, rating)
	}
	if csa == 0 {
		csa = 16 // nothing was large enough: an electrician finds that too
	}
	size := strconv.FormatFloat(csa, 'f', -1, 64) + " mm²"
	c := legs[0].cable
	material := "copper"
	if c.construction != "flat twin and cpc" && csa >= 16 && d.chance(d.o.Wild/2) {
		material = "aluminium"
	}
	d.run(at, c, material, size, lines)
	r := &run{to: to, point: point, from: b}
	for i, l := range legs {
		leg := d.item(at+"/legs", fmt.Sprintf("leg %d to %s", i+1, to)) // each is a place of its own
		d.put(leg, "length", fmt.Sprintf("%.1f m", l.length), "length known by", "measured|declared", "method", l.method, "ambient", l.ambient,
			"circuits together", strconv.Itoa(l.together), "arrangement", l.arrangement)
		if standard.Method(l.method).Buried() {
			d.put(leg, "depth", "0.7 m", "soil", "2.5 K·m/W")
		} else {
			d.put(leg, "in insulation", "0 m", "depth in wall", "0 m")
		}
		if l.cable != c {
			d.run(leg, l.cable, material, size, lines)
		}
		d.stray(leg, "circuits/*/legs/*")
		r.r1r2 += l.length * (0.0183/csa + d.protective(l.cable, lines, csa))
	}
	d.runs = append(d.runs, r)
}

// suits draws a cable for so many phases.
func (d *drawer) suits(three bool) cable {
	for {
		if c := cables[d.r.IntN(len(cables))]; three && c.three || !three && c.one {
			return c
		}
	}
}

// run enters the cable of a circuit, or of one leg.
func (d *drawer) run(at string, c cable, material, size string, lines int) {
	d.put(at, "cable/construction", c.construction, "cable/insulation", c.insulation, "cable/material", material, "cable/csa", size, "cable/cpc", c.cpc)
	if c.cores > 0 {
		d.put(at, "cable/cores", strconv.Itoa(lines+c.cores))
	} else if c.construction == "singles" {
		d.put(at, "cable/cpc csa", size, "cable/neutral csa", size)
		if strings.Contains(c.cpc, "separate") {
			if d.said(at + "/cable/cpc csa") {
				d.link(at, "cable/cpc material", "copper")
			}
		}
	}
}

func (d *drawer) stretch(c cable) stretch {
	l := stretch{cable: c, method: d.pick(c.methods), ambient: "30 °C", length: math.Round(30+200*d.r.Float64()) / 10, together: 1, factor: 1}
	if standard.Method(l.method).Buried() {
		l.ambient, l.factor = "20 °C", 0.9 // what an overload may use of a cable in the ground
	}
	if d.chance(0.4) {
		l.together, l.arrangement = 2+d.r.IntN(3), d.pick(arrangements[l.method])
		if cg, _, err := d.rules.GroupingFactor(standard.Method(l.method), standard.Arrangement(l.arrangement), l.together); err == nil {
			l.factor *= cg
		}
	}
	return l
}

// enough returns the least csa, from 6 mm², that carries the device in every
// leg with a volt drop of 1.5 % or less; 0 when none does.
func (d *drawer) enough(legs []stretch, lines int, ib, rating float64) float64 {
	for _, csa := range []float64{6, 10, 16, 25, 35, 50, 70, 95, 120, 150, 185, 240, 300} {
		fits, drop := true, 0.0
		for _, l := range legs {
			it, _, err := d.rules.Rating(standard.Copper, standard.Construction(l.construction), standard.Thermoplastic70, standard.Method(l.method), max(lines, 2),
				quantity.SquareMillimetres(csa))
			fits = fits && err == nil && float64(it)*l.factor >= rating && (l.construction != "armoured" || d.hasArmour(lines+l.cores, csa)) &&
				(l.construction != "flat twin and cpc" || csa > 6) // its cpc is smaller, and the fault heats it
			drop += ib * l.length * 44 / csa / 1000 // about 44 mV per ampere and metre for 1 mm²
		}
		if fits && drop < 0.015*d.u0 {
			return csa
		}
	}
	return 0
}

// protective returns the resistance of a metre of cpc at 20 °C, in Ω.
func (d *drawer) protective(c cable, lines int, csa float64) float64 {
	size := quantity.SquareMillimetres(csa)
	if c.construction == "flat twin and cpc" {
		if s, _, err := d.rules.FlatTwinCPC(size); err == nil {
			size = s
		}
	}
	core := 0.0183 / float64(size)
	armour, _, err := d.rules.Armour(standard.Copper, standard.Thermosetting90, lines+c.cores, size)
	switch {
	case err == nil && c.cpc == string(trade.CPCArmour):
		return float64(armour.Resistance)
	case err == nil && c.cpc == string(trade.CPCCoreAndArmour):
		return 1 / (1/core + 1/float64(armour.Resistance))
	}
	return core
}

func (d *drawer) hasArmour(cores int, csa float64) bool {
	_, _, err := d.rules.Armour(standard.Copper, standard.Thermosetting90, cores, quantity.SquareMillimetres(csa))
	return err == nil
}

func (d *drawer) limiter(rating float64) {
	at := d.item("limiters", "limiter 1")
	d.link(at, "at", "supply")
	d.put(at, "limit", amperes(math.Floor(0.9*rating)), "fail-safe current", "0 A", "response time", "5 s|10 s", "clamp place",
		"supply tails", "clamp phases", map[bool]string{true: "L1 L2 L3", false: "L1"}[d.three],
		"clamp lead", "3..20 m", "greatest clamp lead", "30 m", "clamp sees", "whole supply|other loads", "clamp error", "1 %|2 %",
		"samples every", "1 s", "averages over", "0 s|2 s", "passes on within", "1 s",
		"vehicle follows within", "5 s", "lost-signal time-out", "2 s", "notices a lost clamp", "yes", "waits before raising", "60 s",
		"sharing", "equal|first come|by departure|by turns")
	d.stray(at, "limiters/*")
}

// loads draws what was there before, on boards that the points share.
func (d *drawer) loads() {
	for i := range d.r.IntN(4) {
		name := fmt.Sprintf("load %d", i+1)
		at := d.item("loads", name)
		b := d.boards[d.r.IntN(len(d.boards))]
		b.amps += 20
		d.link(at, "board", b.name)
		d.link(at, "phases", d.line(b))
		d.put(at, "kind",
			strings.Join(trade.LoadKind("").Values(), "|"),
			"current", "2..20 A", "power factor", "0.9|1", "known by", "measured|declared")
		d.stray(at, "loads/*")
	}
}

// sources draws what else feeds some of the sites, last, so that the rest of a
// site is as it would be without.
func (d *drawer) sources() {
	if !d.chance(0.2) {
		return
	}
	for i := range d.entries {
		if d.entries[i].Path == "supply/generation or storage" {
			d.entries[i].Value = "yes"
		}
	}
	d.link("supply", "sources off meanwhile", d.pick("yes|no"))
	at := d.item("sources", "source 1")
	b := d.boards[d.r.IntN(len(d.boards))]
	d.link(at, "board", b.name)
	lines := d.line(b)
	if b.three && d.chance(0.3) {
		lines = "L1 L2 L3"
	}
	d.link(at, "phases", lines)
	d.put(at, "kind", "solar|battery|generator|wind", "output current", "4..16 A", "RCD asked for", "A|B", "charged as", "none",
		"works without the street", "no", "connection agreed", "told of in 2025 (invented)")
	d.stray(at, "sources/*")
}

func (d *drawer) papers() {
	d.put("notification", "network operator", "the network operator (invented)", "installer", "A. Spark", "demand method", "logger on the tails for a week",
		"harmonics and flicker", "BS EN 61000-3-2 (invented)", "feeds back", "no",
		"building control notifiable", "yes|no", "building control route", "self-certification", "scheme", "a registration body (invented)")
	d.stray("notification", "notification")
	d.stray("certificate", "certificate")
	d.stray("handover", "handover")
}

func amperes(a float64) string { return strconv.FormatFloat(a, 'f', -1, 64) + " A" }
