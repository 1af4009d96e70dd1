package model

// What one record says of one thing in two places must agree. Where it does
// not, neither place is believed: the facts are as good as not known, and
// nothing is computed on them.

import (
	"fmt"
	"slices"
	"strings"

	"chargewright/finding"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/trade"
	"chargewright/works"
)

// Doubt is facts of the record that cannot all be true, or hardly can.
type Doubt struct {
	Key   string // what disagrees, in a word: "phases"
	Of    works.Thing
	Paths []string // where the facts stand
	Facts string   // what they are, in words: "phases of the point and of its circuit"
	Says  string   // what contradicts what
	Next  string   // what to do
	Ask   bool     // can be true: a person looks, and the sums stand
}

// Lacks is the facts as not known.
func (d Doubt) Lacks() finding.Lacks {
	return finding.Lacks{{Path: d.Paths[0], Or: d.Paths[1:], Of: d.Of.Name, What: d.Facts + " that agree"}}
}

// Doubted is what keeps a fact of the record from being believed.
func (m *Model) Doubted(path string) finding.Lacks { return m.doubted[path] }

// doubt notes a doubt and the facts that are not believed for it.
func (m *Model) doubt(d Doubt, spoils ...string) {
	m.Doubts = append(m.Doubts, d)
	for _, path := range spoils {
		m.doubted[path] = finding.Gather(m.doubted[path], d.Lacks())
	}
}

// plausible returns a figure that facts are held against; 0 where the rulebook
// has none, which holds them against nothing.
func (m *Model) plausible(key string) float64 {
	v, _, err := m.Rules.Limit(key)
	if err != nil {
		return 0
	}
	return v
}

// findDoubts holds the facts of the record against each other.
func (m *Model) findDoubts() {
	m.doubted = map[string]finding.Lacks{}
	m.findReads()
	m.doubtSupply()
	m.doubtElectrodes()
	m.doubtSources()
	for i := range m.Job.Boards {
		m.doubtBoard(&m.Job.Boards[i])
		m.doubtSwitch(&m.Job.Boards[i])
	}
	for i := range m.Job.Circuits {
		c := &m.Job.Circuits[i]
		m.doubtPhases(c)
		m.doubtDevice(c)
		for k := range c.Legs {
			m.doubtLeg(c, k)
		}
	}
	m.doubtLines()
	m.doubtAlone()
	for i := range m.Job.Points {
		m.doubtPoint(&m.Job.Points[i])
	}
	for i := range m.Job.Loads {
		l := &m.Job.Loads[i]
		m.doubtPower(l.Thing(), l.Phases.Or(trade.L1).Count(), l.Power, l.Current, 0)
	}
	m.doubtWays()
	m.doubtAge()
	m.doubtService()
	m.doubtDates()
	m.doubtCalibration()
	m.doubtReadIpf()
}

// doubtSupply holds voltage, loop and fault current against each other.
//
//	clause   a fault of line and earth draws U0/Ze, and Ipf is the greatest
//	         fault there is: Ipf ≥ U0/Ze; of three lines about twice as much
func (m *Model) doubtSupply() {
	s := &m.Job.Supply
	u0, hasVoltage := s.Voltage.Get()
	if most := quantity.Volts(m.plausible("supply voltage high")); hasVoltage && most > 0 && u0 > most {
		m.doubt(Doubt{Key: "voltage", Of: works.TheSupply, Paths: []string{"supply/voltage"}, Facts: "a nominal voltage line to neutral",
			Says: fmt.Sprintf("U0 is %v, and a public supply is at most %v line to neutral", u0, most),
			Next: "line to neutral? enter 230 V for a supply of 400 V between lines"}, "supply/voltage")
		return
	}
	if !hasVoltage { // the one declared for every public supply
		u0 = quantity.Volts(m.plausible("nominal voltage"))
	}
	system := s.Earthing.Or("")
	ze, hasZe := s.Ze.Value.Get()
	least := quantity.Ohms(m.plausible("electrode plausible"))
	if hasZe && system == trade.TT && ze < least {
		m.doubt(Doubt{Key: "electrode", Of: works.TheSupply, Paths: []string{"supply/Ze", "supply/earthing"}, Facts: "an earth loop and an earthing system",
			Says: fmt.Sprintf("the supply is recorded as TT and its loop as %v: that is the loop of a cable's sheath or of a PEN conductor, not of an electrode", ze),
			Next: "see what the earthing conductor is joined to, and measure the electrode on its own"}, "supply/Ze")
	}
	m.doubtReadZe(ze, hasZe)
	ipf, hasIpf := s.Ipf.Value.Get()
	if !hasZe || !hasIpf {
		return
	}
	loop := quantity.Amperes(float64(u0 / quantity.Volts(ze)))
	spread := m.plausible("null repeatability")
	if float64(ipf) < m.plausible("fault current agrees with Ze")*float64(u0)/(float64(ze)+spread) {
		m.doubt(Doubt{Key: "fault current", Of: works.TheSupply, Paths: []string{"supply/Ipf", "supply/Ze"}, Facts: "Ipf and Ze",
			Says: fmt.Sprintf("Ipf is %v, and Ze of %v alone lets %v flow to earth", ipf, ze, loop),
			Next: "measure both again at the origin, line to earth and line to neutral, and enter the greater current"}, "supply/Ipf", "supply/Ze")
	} else if s.Phases.Or(3) == 3 && float64(ipf) < m.plausible("fault current of three lines")*float64(loop) {
		m.doubt(Doubt{Key: "fault current", Of: works.TheSupply, Paths: []string{"supply/Ipf", "supply/Ze", "supply/phases"}, Facts: "an Ipf of three lines together",
			Says: fmt.Sprintf("Ipf is %v for three phases, which is what one line and earth let flow (%v): three lines together let about twice as much", ipf, loop),
			Next: "line to neutral? double it, or ask the network operator for the fault current of all three lines"}, "supply/Ipf")
	}
}

// doubtReadZe holds a reading of Ze against the one entered. What is declared
// is a greatest value, and a reading below it is no contradiction.
func (m *Model) doubtReadZe(ze quantity.Ohms, known bool) {
	at, is, ok := m.lastRead("Ze", "supply")
	if !ok || !known {
		return
	}
	read := quantity.Ohms(is)
	share, spread := quantity.Ohms(m.plausible("readings agree")), quantity.Ohms(m.plausible("null repeatability"))
	how := m.Job.Supply.Ze.KnownBy.Or("how is not said")
	usual := quantity.Ohms(m.plausible("ze " + strings.ToLower(string(m.Job.Supply.Earthing.Or("")))))
	most := (usual == 0 || ze <= usual) && how != trade.Measured && how != "how is not said" // a greatest value, as such values are
	if read > ze*(1+share)+spread || !most && read < ze*(1-share)-spread {
		m.doubt(Doubt{Key: "Ze read", Of: works.TheSupply, Paths: []string{"supply/Ze", at}, Facts: "Ze as entered and as read",
			Says: fmt.Sprintf("Ze is entered as %v (%s), and was read as %v", ze, how, read),
			Next: "find out which is right: leads nulled, earthing conductor disconnected for the reading, and reconnected before anything is energised"}, "supply/Ze")
	}
}

// numberRead is the last number read of a kind at a place.
type numberRead struct {
	reading int
	amount  float64 // in the unit of its kind
}

// findReads gathers the numbers read, so that holding each circuit against them
// does not look through all readings again.
func (m *Model) findReads() {
	m.reads = make(map[[2]string]numberRead, len(m.Job.Readings))
	for i := range m.Job.Readings {
		r := &m.Job.Readings[i]
		k := r.Kind()
		if k == nil {
			continue
		}
		if v, err := r.Shown(); err == nil && v.HasAmount() && v.Amount > 0 {
			m.reads[[2]string{k.Name, r.At}] = numberRead{i, v.Amount}
		}
	}
}

// lastRead returns the last number read of a kind at a place, in its unit.
func (m *Model) lastRead(kind, at string) (path string, amount float64, ok bool) {
	r, ok := m.reads[[2]string{kind, at}]
	if !ok {
		return "", 0, false
	}
	return fmt.Sprintf("readings/%d/value", r.reading+1), r.amount, true
}

// doubtElectrodes holds each electrode against what earth can be.
func (m *Model) doubtElectrodes() {
	least := quantity.Ohms(m.plausible("electrode plausible"))
	for i := range m.Job.Electrodes {
		e := &m.Job.Electrodes[i]
		r := m.enteredElectrode(e)
		at, byShape := e.Thing().Path, m.electrodeByShape(e)
		switch {
		case !r.Known() || byShape.Known() && byShape.Value <= 2*r.Value:
			continue
		case r.Value >= least:
			if times := quantity.Ohms(m.plausible("electrode against its shape")); byShape.Known() && byShape.Value > times*r.Value {
				m.ask("electrode", e.Thing(), "resistance and shape", fmt.Sprintf("%v by measurement, and %v by its shape and soil", r.Value, byShape.Value),
					"see that nothing else was joined to it while it was measured", at+"/resistance", at+"/length", at+"/soil")
			}
			continue
		}
		m.doubt(Doubt{Key: "electrode", Of: e.Thing(), Paths: []string{at + "/resistance", at + "/kind"}, Facts: "a resistance that an electrode can have",
			Says: fmt.Sprintf("%v is the resistance of a cable's sheath or of bonded metalwork, not of an electrode", r.Value),
			Next: "measure it disconnected from everything else, and reconnect it before anything is energised"}, at+"/resistance")
	}
}

// doubtBoard holds a board at the origin against the supply.
func (m *Model) doubtBoard(b *works.Board) {
	n, ok := b.Phases.Get()
	if supply, known := m.Job.Supply.Phases.Get(); ok && known && b.FedFrom == "supply" && n > supply {
		m.doubt(Doubt{Key: "phases", Of: b.Thing(), Paths: []string{b.Thing().Path + "/phases", "supply/phases"}, Facts: "phases of the board and of the supply",
			Says: "the board has three phases, and the supply that feeds it has one", Next: "look at the cut-out: one fuse or three"}, "supply/phases")
	}
}

// doubtPhases holds the lines of a circuit against what it feeds and what feeds it.
func (m *Model) doubtPhases(c *works.Circuit) {
	lines, ok := c.Phases.Get()
	if !ok {
		return
	}
	at := c.Thing().Path + "/phases"
	differ := func(what works.Thing, n int) {
		if n != lines.Count() {
			m.doubt(Doubt{Key: "phases", Of: c.Thing(), Paths: []string{at, what.Path + "/phases", c.Thing().Path + "/to"},
				Facts: "phases of the circuit and of " + what.Name,
				Says:  fmt.Sprintf("%s is for %s, and the circuit has %s", what.Name, phaseWords(n), phaseWords(lines.Count())),
				Next:  "count the line conductors in the cable, and read the plate of what it feeds"}, at, what.Path+"/phases")
		}
	}
	for i := range m.Job.Points {
		if p := &m.Job.Points[i]; p.Name == c.To && p.Phases.IsKnown() {
			differ(p.Thing(), p.Phases.Or(0))
		}
	}
	for i := range m.Job.Boards {
		if b := &m.Job.Boards[i]; b.Name == c.To && b.Phases.IsKnown() {
			differ(b.Thing(), b.Phases.Or(0))
		}
	}
	for i := range m.Job.Loads {
		if l := &m.Job.Loads[i]; l.Name == c.To && l.Phases.IsKnown() {
			differ(l.Thing(), l.Phases.Or("").Count())
		}
	}
}

func phaseWords(n int) string {
	if n == 3 {
		return "three phases"
	}
	return "one phase"
}

// doubtDevice holds the settings of a device against its rating and kind.
func (m *Model) doubtDevice(c *works.Circuit) {
	d, at := &c.Device, c.Thing().Path+"/device"
	ir, hasIr := d.LongSetting.Get()
	im, hasIm := d.ShortSetting.Get()
	in, hasIn := d.Rating.Get()
	family, hasType := d.Type.Get()
	differ := func(says string, paths ...string) {
		for i := range paths {
			paths[i] = at + "/" + paths[i]
		}
		m.doubt(Doubt{Key: "settings", Of: c.Thing(), Paths: paths, Facts: "settings within the range of its device", Says: says,
			Next: "read the plate and the dials of the device"}, at)
	}
	if hasIr && hasIn && ir > in {
		differ(fmt.Sprintf("Ir is set to %v, and the device is rated %v", ir, in), "long-time setting", "rating")
	}
	if hasIm && hasIr && im < ir || hasIm && !hasIr && hasIn && family == standard.MCCB && im < in {
		differ(fmt.Sprintf("Im is set to %v, below Ir of %v", im, d.LongSetting.Or(in)), "short-time setting", "long-time setting", "rating")
	}
	if own, said := c.RCD.Rating.Get(); said && hasIn && family.Residual() && own != in {
		m.ask("settings", c.Thing(), "one rating of one device",
			fmt.Sprintf("a %s is overcurrent device and RCD in one, and is said to be rated %v and %v", family, in, own),
			"read its plate; where an RCD of its own stands beside it, enter that one", c.RCDThing().Path+"/rating", at+"/rating", at+"/type")
	}
	if own, poles := c.RCD.Poles, d.Poles; own.IsKnown() && poles.IsKnown() && family.Residual() && own != poles {
		m.ask("settings", c.Thing(), "poles of one device", fmt.Sprintf("a %s is overcurrent device and RCD in one, and is said to open %s and %s", family,
			poles.Or(""), own.Or("")), "look at its terminals", c.RCDThing().Path+"/poles", at+"/poles", at+"/type")
	}
	if hasType && family != standard.MCCB && (hasIr || hasIm) {
		differ(fmt.Sprintf("a %s has no settings", family), "type", "long-time setting", "short-time setting")
	}
}

// doubtLeg holds the cable of a leg against the circuit, and what is said of
// the way it lies against its method.
func (m *Model) doubtLeg(c *works.Circuit, k int) {
	leg, of := &c.Legs[k], c.LegThing(k)
	m.doubtCores(c, k)
	m.doubtCable(c, k)
	method, ok := leg.Method.Get()
	differ := func(facts, says, next string, paths ...string) {
		d := Doubt{Key: "method", Of: of, Facts: facts, Says: says, Next: next}
		for _, p := range append([]string{"method"}, paths...) {
			d.Paths = append(d.Paths, of.Path+"/"+p)
		}
		m.doubt(d, of.Path)
	}
	arrangement, said := leg.Arrangement.Get()
	if lie := m.Rules.Arrangements(method); ok && said && leg.Together.Or(1) > 1 && !slices.Contains(lie, arrangement) {
		var can []string
		for _, a := range lie {
			can = append(can, string(a))
		}
		next := "describe the leg as it lies"
		if len(can) > 0 {
			next += ": by method " + string(method) + " circuits lie " + strings.Join(can, ", ")
		}
		differ("method and arrangement", fmt.Sprintf("by method %s no circuits lie %s", method, arrangement), next, "arrangement", "circuits together")
	}
	if ok && !method.Buried() && (leg.Depth.IsKnown() || leg.Soil.IsKnown()) {
		differ("method and depth of laying", fmt.Sprintf("a cable by method %s is not in the ground, and a depth or a soil is given", method),
			"enter the stretch in the ground as a leg of its own", "depth", "soil")
	}
	switch around, _ := leg.Surrounded.Get(); {
	case !ok || around == 0 || method == standard.Method103: // which is rated as surrounded
	case method.Buried():
		differ("method and thermal insulation", "a cable in the ground is not in thermal insulation",
			"enter the stretch in insulation as a leg of its own", "in insulation")
	case method.InInsulation():
		differ("method and thermal insulation", fmt.Sprintf("by method %s the cable touches a surface that cools it, and %v are wholly surrounded by insulation",
			method, around),
			"enter the stretch that is wholly surrounded as a leg of its own", "in insulation")
	}
	if l, known := leg.Length.Get(); known && m.plausible("leg plausible") > 0 && l > quantity.Metres(m.plausible("leg plausible")) {
		m.doubt(Doubt{Key: "length", Of: of, Paths: []string{of.Path + "/length"}, Facts: "length", Ask: true,
			Says: fmt.Sprintf("%v is far for one stretch of cable", l), Next: "measure it, or see that it is metres that were meant"})
	}
}

// doubtCores counts the cores that a leg's conductors want: lines, neutral, and
// the cpc where it is a core.
func (m *Model) doubtCores(c *works.Circuit, k int) {
	cable, of := m.cableOf(c, k)
	kind := cable.Construction.Or("")
	cores, counted := cable.Cores.Get()
	phases, known := c.Phases.Get()
	if !counted || !known || kind != standard.Multicore && kind != standard.Armoured {
		return
	}
	wanted, words := phases.Count()+1, phaseWords(phases.Count())+" and neutral"
	if phases == trade.ThreePhase && slices.ContainsFunc(m.Job.Loads, func(l works.Load) bool { return l.Name == c.To }) {
		wanted, words = 3, "three phases" // a motor has no neutral
	}
	cpc, said := cable.CPC.Get()
	if said && (cpc == trade.CPCCore || cpc == trade.CPCCoreAndArmour) {
		wanted, words = wanted+1, words+", with a core as cpc"
	}
	if cores >= wanted {
		return
	}
	m.doubt(Doubt{Key: "cores", Of: c.LegThing(k), Paths: []string{of.Path + "/cable/cores", c.Thing().Path + "/phases", of.Path + "/cable/cpc"},
		Facts: "cores, phases and cpc", Says: fmt.Sprintf("the cable has %s, and %s take %d", coreWords(cores), words, wanted),
		Next: "count the cores at an end of the cable, and see what each is"}, c.LegThing(k).Path)
}

// cableOf is the cable of leg k, and the thing that is said to have it.
func (m *Model) cableOf(c *works.Circuit, k int) (*works.Cable, works.Thing) {
	if cable := cableIn(c, k); cable != &c.Cable {
		return cable, c.LegThing(k)
	}
	return &c.Cable, c.Thing()
}

// doubtCable holds what is said of a cable against how such cables are made.
//
//	source   BS 5467, BS 6724, BS 7211: the cores of one cable are alike, but for
//	         the neutral of a large one; BS 6004 Table 8: the cpc of flat twin
func (m *Model) doubtCable(c *works.Circuit, k int) {
	cable, of := m.cableOf(c, k)
	kind, made := cable.Construction.Get()
	line, sized := cable.CSA.Get()
	differ := func(facts, says, next string, paths ...string) {
		d := Doubt{Key: "cable", Of: c.LegThing(k), Facts: facts, Says: says, Next: next}
		for _, p := range append(paths, "construction") {
			d.Paths = append(d.Paths, of.Path+"/cable/"+p)
		}
		if d.Ask = paths[0] == "neutral csa"; d.Ask { // thinner or thicker, it is reckoned with as it is said to be
			m.doubt(d)
		} else {
			m.doubt(d, c.LegThing(k).Path)
		}
	}
	cpc, said := cable.CPC.Get()
	if armour := cpc == trade.CPCArmour || cpc == trade.CPCCoreAndArmour; made && said && armour && kind != standard.Armoured {
		differ("a cpc that the cable has", fmt.Sprintf("the armour is said to serve as cpc, and %s has none", kind), "look at an end of the cable", "cpc")
	}
	if !made || !sized || kind == standard.Singles {
		return
	}
	if n, counted := cable.Cores.Get(); counted && kind == standard.FlatTwin && (n < 2 || n > 3) {
		differ("cores of a flat twin", fmt.Sprintf("%s has two cores and a cpc, and %d are given", kind, n), "look at an end of the cable", "cores")
	}
	large := quantity.SquareMillimetres(m.plausible("neutral reduced above"))
	if n, said := cable.NeutralCSA.Get(); said && n != line && (line <= large || kind == standard.FlatTwin) {
		differ("csa of the cores", fmt.Sprintf("a neutral of %v beside lines of %v: the cores of such a cable are alike", n, line),
			"read the csa on the sheath, or see whether the neutral is a conductor of its own", "neutral csa", "csa")
	}
	most := line
	if kind == standard.FlatTwin {
		if tabled, _, err := m.Rules.FlatTwinCPC(line); err == nil {
			most = tabled
		}
	}
	if own, said := cable.CPCCSA.Get(); said && own > most && (cpc == trade.CPCCore || cpc == trade.CPCCoreAndArmour || cpc == "") {
		differ("csa of the cores", fmt.Sprintf("a core of %v as cpc: %s of %v has none of more than %v", own, kind, line, most),
			"read the csa on the sheath, or enter the cpc as a separate one", "cpc csa", "csa", "cpc")
	}
}

func coreWords(n int) string {
	if n == 1 {
		return "1 core"
	}
	return fmt.Sprintf("%d cores", n)
}

// doubtDemand asks back where more was found to flow than all the loads in full,
// which are said to be all there are, come to.
func (m *Model) doubtDemand() {
	loads, less := m.LessThanFound()
	if !less {
		return
	}
	d := Doubt{Key: "demand", Of: works.TheSupply, Paths: []string{"supply/maximum demand"}, Facts: "demand and loads", Ask: true,
		Says: fmt.Sprintf("%v before the points (%s), and the loads entered, which are said to be all, come to %v in full",
			m.ExistingDemand().Greatest(), m.DemandSource(), loads),
		Next: "find what is connected beside them, or measure again: both cannot be so"}
	for _, b := range m.Boards {
		if b.Feed == nil {
			d.Paths = append(d.Paths, b.Record.Thing().Path+"/all loads entered")
		}
	}
	m.doubt(d)
}

// doubtLines asks back where a line is named that the supply or the board has not.
func (m *Model) doubtLines() {
	if n, ok := m.Job.Supply.Phases.Get(); ok && n == 1 {
		ask := func(of works.Thing, field string, lines quantity.Maybe[trade.PhaseSet]) {
			if l, ok := lines.Get(); ok && l != trade.L1 {
				m.doubt(Doubt{Key: "lines", Of: of, Paths: []string{of.Path + "/" + field, "supply/phases"}, Facts: "the line it is on", Ask: true,
					Says: fmt.Sprintf("the supply has one line, and %s is given", string(l)), Next: "call the one line L1, or look at the cut-out: one fuse or three"})
			}
		}
		for i := range m.Job.Circuits {
			ask(m.Job.Circuits[i].Thing(), "phases", m.Job.Circuits[i].Phases)
		}
		for i := range m.Job.Loads {
			ask(m.Job.Loads[i].Thing(), "phases", m.Job.Loads[i].Phases)
		}
		for i := range m.Job.Limiters {
			ask(m.Job.Limiters[i].Thing(), "clamp phases", m.Job.Limiters[i].ClampPhases)
		}
		return
	}
	for i := range m.Job.Circuits {
		c := &m.Job.Circuits[i]
		line, ok := c.Phases.Get()
		feed, fed := m.onlyLine(c.From)
		if ok && fed && line.Count() == 1 && line != feed {
			m.doubt(Doubt{Key: "lines", Of: c.Thing(), Paths: []string{c.Thing().Path + "/phases", works.Under("boards", c.From) + "/phases", "supply/phases"},
				Facts: "the line it is on",
				Says:  fmt.Sprintf("board %s has one line, %s, and the circuit is on %s", c.From, feed, line),
				Next:  "follow the feed of the board to see which line it is"}, c.Thing().Path+"/phases")
		}
	}
}

// onlyLine returns the line that feeds a single-phase board.
func (m *Model) onlyLine(board string) (trade.PhaseSet, bool) {
	if board == "" || !slices.ContainsFunc(m.Job.Boards, func(b works.Board) bool { return b.Name == board && b.Phases.Or(0) == 1 }) {
		return "", false
	}
	for i := range m.Job.Circuits {
		if c := &m.Job.Circuits[i]; c.To == board {
			line, ok := c.Phases.Get()
			return line, ok && line.Count() == 1
		}
	}
	return "", false
}

// doubtAlone asks back where circuits of one board run through a place of one
// name by one method, and one of them is said to run there alone.
func (m *Model) doubtAlone() {
	type place struct {
		from, name string
		method     standard.Method
	}
	circuits := map[place][]string{}
	each := func(see func(c *works.Circuit, k int, at place)) {
		for i := range m.Job.Circuits {
			c := &m.Job.Circuits[i]
			for k := range c.Legs {
				l := &c.Legs[k]
				if method, ok := l.Method.Get(); ok && c.From != "" && l.Name != "" {
					see(c, k, place{c.From, l.Name, method})
				}
			}
		}
	}
	each(func(c *works.Circuit, _ int, at place) {
		if !slices.Contains(circuits[at], c.Name) {
			circuits[at] = append(circuits[at], c.Name)
		}
	})
	each(func(c *works.Circuit, k int, at place) {
		n, said := c.Legs[k].Together.Get()
		if others := circuits[at]; said && n == 1 && len(others) > 1 {
			of := c.LegThing(k)
			path := of.Path + "/circuits together"
			m.doubt(Doubt{Key: "together", Of: of, Paths: []string{path, works.Under("circuits", others[0]) + "/legs", works.Under("circuits", others[1]) + "/legs"},
				Facts: "how many circuits run together",
				Says:  fmt.Sprintf("one circuit alone is said to run here, and %s all run through %s", strings.Join(others, ", "), at.name),
				Next:  "say how many run together, this one included; or call the places by different names"}, path)
		}
	})
}
