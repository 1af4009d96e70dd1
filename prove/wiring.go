package prove

import (
	"fmt"

	"chargewright/job"
	"chargewright/model"
	"chargewright/quantity"
	"chargewright/standard"
)

// The wiring of a job as a meter sees it: stretches of conductor between
// nodes, each with the resistance it should have today and with what is not
// exactly known about it. A fault changes stretches or adds one; everything
// that is read follows from the circuit laws, for the sound job and the faulty
// one alike.
//
// Lines run from the source to a place without a branch that could matter to a
// meter, so they are lists of stretches. Neutrals and protective conductors
// form the return network, which may have loops.

// node is a place in the return network: the star point, the neutral bar or
// the earth bar of a board, the neutral or earth terminal of a point.
type node int32

// stretch is one conductor between two nodes, its terminals included.
type stretch struct {
	a, b  node // of the return network; both noNode for a line
	ohms  float64
	drift []drift
}

const noNode node = -1

// drift says by how much one standard deviation of an unknown moves a value.
type drift struct {
	unknown int
	by      float64
}

// run is the wiring of one circuit.
type run struct {
	circuit  *model.Circuit
	feed     *run // nil at the origin
	lines    []int
	neutral  int
	cpc      []int // in series; core and armour stand side by side in the first
	armour   int   // −1 without one
	from, to ends
	ownEarth bool // earthed by an electrode of its own
	length   float64
	lengthBy int    // unknown of the length
	gap      string // what keeps it from being known
	upstream string // the same of what feeds it
}

// ends are the neutral and earth at one place.
type ends struct{ n, e node }

// wiring is the whole of it.
type wiring struct {
	model     *model.Model
	stretches []stretch
	nodes     int
	unknowns  int

	star, cutOut  ends
	means         node // terminal that earths the installation
	met           node
	lineSource    int // service line
	pen           int // PEN, or −1
	neutralSource int
	earthSource   int // sheath, electrode, or −1
	earthTerminal int // of a TN-C-S cut-out, or −1
	earthing      int // earthing conductor
	tails         map[*model.Board][2]int
	electrodes    map[*job.Electrode]int
	runs          []*run
	byEnd         map[string]*run
	boards        map[string]*model.Board
	volts         int      // unknown of the supply voltage
	warmth        int      // unknown of the temperature
	assumed       []string // what stands in for what the record does not say

	room room // to work in
}

// Spreads of what is not exactly known, one standard deviation each
// (engineering judgement, no published source).
const (
	conductorSpread = 0.025 // cores against the table, which gives the greatest
	armourSpread    = 0.10
	warmthSpread    = 3.0   // °C between the conductors and the temperature of the day
	jointSpread     = 0.004 // Ω, terminals of one conductor
	voltSpread      = 6.0
	perDegree       = 0.004 // BS 7671 Appendix 4
)

func newWiring(m *model.Model) *wiring {
	w := &wiring{model: m, tails: map[*model.Board][2]int{}, electrodes: map[*job.Electrode]int{}, byEnd: map[string]*run{}, boards: map[string]*model.Board{}}
	w.volts, w.warmth = w.unknown(), w.unknown()
	w.laySupply()
	for _, b := range m.Boards {
		w.boards[b.Record.Name] = b
	}
	at := map[*model.Board]ends{}
	for _, b := range m.Boards {
		if b.Feed == nil {
			at[b] = w.layTails(b)
		}
	}
	by := map[*model.Circuit]*run{}
	for _, c := range m.Circuits {
		r := w.layCircuit(c, at, by)
		w.runs = append(w.runs, r)
		by[c] = r
		w.byEnd[farEnd(c)] = r
		if _, taken := w.byEnd[c.Record.Name]; !taken {
			w.byEnd[c.Record.Name] = r
		}
		if c.Board != nil {
			at[c.Board] = r.to
		}
	}
	return w
}

func (w *wiring) unknown() int { w.unknowns++; return w.unknowns - 1 }

func (w *wiring) node() node { w.nodes++; return node(w.nodes - 1) }

func (w *wiring) lay(a, b node, ohms float64, d ...drift) int {
	w.stretches = append(w.stretches, stretch{a, b, ohms, d})
	return len(w.stretches) - 1
}

// share is a drift of a share of a value.
func shareOf(v, share float64, unknown int) drift { return drift{unknown, v * share} }

// laySupply lays the conductors from the source to the means of earthing.
func (w *wiring) laySupply() {
	s := &w.model.Job.Supply
	star := w.node()
	w.star = ends{star, star}
	w.pen, w.earthSource, w.earthTerminal = -1, -1, -1
	system, said := s.Earthing.Get()
	if !said {
		system = job.TNCS
		w.assumed = append(w.assumed, "assumed: the earthing system is not recorded; TN-C-S stands in for it")
	}
	if !w.model.U0().Known() {
		w.assumed = append(w.assumed, "assumed: the nominal voltage is not recorded; 230 V stands in for it")
	}
	ze, spread := w.externalLoop(system)
	zeBy, neutralBy := w.unknown(), w.unknown()
	if system == job.TNCS {
		w.cutOut.n = w.node()
		w.cutOut.e = w.cutOut.n
		w.means = w.node()
		w.lineSource = w.lay(noNode, noNode, ze/2, drift{zeBy, spread / 2})
		w.pen = w.lay(w.cutOut.n, star, ze/2, drift{zeBy, spread / 2})
		w.neutralSource = w.pen
		w.earthTerminal = w.lay(w.means, w.cutOut.e, 0, drift{w.unknown(), 0.002})
	} else {
		w.cutOut = ends{w.node(), w.node()}
		w.means = w.cutOut.e
		loop, loopSpread := w.neutralLoop(system, ze)
		lineOhms := min(loop/2, ze/2)
		w.lineSource = w.lay(noNode, noNode, lineOhms, drift{neutralBy, loopSpread / 2})
		w.neutralSource = w.lay(w.cutOut.n, star, loop-lineOhms, drift{neutralBy, loopSpread / 2})
		w.earthSource = w.lay(w.cutOut.e, star, ze-lineOhms, drift{zeBy, spread})
		if e := w.supplyElectrode(); e != nil {
			w.electrodes[e] = w.earthSource
		}
	}
	w.met = w.node()
	ohms := w.separate(s.EarthingConductor.CSA, s.EarthingConductor.Length)
	w.earthing = w.lay(w.met, w.means, ohms, drift{w.unknown(), 0.1*ohms + jointSpread})
}

func (w *wiring) supplyElectrode() *job.Electrode {
	for i := range w.model.Job.Electrodes {
		if e := &w.model.Job.Electrodes[i]; e.Name == w.model.Job.Supply.Electrode && e.Name != "" {
			return e
		}
	}
	return nil
}

// Usual values of Ze where none is entered (engineering judgement).
var usualZe = map[job.EarthingSystem]float64{job.TNCS: 0.18, job.TNS: 0.35, job.TT: 80}

// zeSpread is how far Ze may be out as a share, by how it is known: what is
// declared is a greatest value, and the true one is mostly well below it.
var zeSpread = map[job.HowKnown]float64{job.Measured: 0.08, job.Declared: 0.45, job.Calculated: 0.3, job.Assumed: 0.45}

// externalLoop returns Ze and its spread.
func (w *wiring) externalLoop(system job.EarthingSystem) (ze, spread float64) {
	s := &w.model.Job.Supply
	if v, ok := s.Ze.Value.Get(); ok {
		return float64(v), zeSpread[s.Ze.KnownBy.Or(job.Declared)]*float64(v) + 0.01
	}
	if system == job.TT {
		if l := w.model.External(); l.Known() {
			return float64(l.Magnitude()), 0.3 * float64(l.Magnitude())
		}
	}
	w.assumed = append(w.assumed, fmt.Sprintf("assumed: Ze is not recorded; the usual %v of a %s supply stands in for it, within a half", quantity.Ohms(usualZe[system]), system))
	return usualZe[system], 0.5 * usualZe[system]
}

// neutralLoop returns the loop of line and neutral at the origin of a supply
// whose earth does not share the neutral.
func (w *wiring) neutralLoop(system job.EarthingSystem, ze float64) (loop, spread float64) {
	s := &w.model.Job.Supply
	if v, ok := s.LineNeutralLoop.Value.Get(); ok {
		return float64(v), zeSpread[s.LineNeutralLoop.KnownBy.Or(job.Declared)]*float64(v) + 0.01
	}
	u0, known := w.model.U0().Get()
	if i, ok := s.Ipf.Value.Get(); ok && known && i > 0 {
		loop = float64(u0) / float64(i)
		if s.Phases.Or(1) == 3 {
			loop *= 2
		}
		return loop, zeSpread[s.Ipf.KnownBy.Or(job.Declared)]*loop + 0.01
	}
	if system == job.TT {
		return 0.25, 0.1
	}
	return 0.8 * ze, 0.25 * ze
}

// separate returns the resistance of a copper conductor on its own.
func (w *wiring) separate(csa quantity.Maybe[quantity.SquareMillimetres], length quantity.Maybe[quantity.Metres]) float64 {
	size, ok1 := csa.Get()
	l, ok2 := length.Get()
	if !ok1 || !ok2 {
		return 0
	}
	r, _, err := w.model.Rules.Resistance(standard.Copper, standard.Stranded, size)
	if err != nil {
		return 0
	}
	return float64(r.Over(l).At(w.model.TestTemperature()))
}

// layTails lays the tails to a board at the origin.
func (w *wiring) layTails(b *model.Board) ends {
	s := &w.model.Job.Supply
	ohms := w.separate(s.Tails.CSA, s.Tails.Length)
	n := w.node()
	by := w.unknown()
	w.tails[b] = [2]int{w.lay(noNode, noNode, ohms, drift{by, 0.1*ohms + 0.001}), w.lay(n, w.cutOut.n, ohms, drift{by, 0.1*ohms + 0.001})}
	return ends{n, w.met}
}

// layCircuit lays the conductors of a circuit.
func (w *wiring) layCircuit(c *model.Circuit, at map[*model.Board]ends, by map[*model.Circuit]*run) *run {
	r := &run{circuit: c, armour: -1, feed: by[c.Feed()]}
	from, fed := at[c.From]
	length := c.Length()
	r.gap = length.Lacks.String()
	switch {
	case c.From == nil || !fed:
		r.upstream = c.Name() + ": the board it starts at"
	case r.feed != nil && r.feed.gap != "":
		r.upstream = r.feed.gap
	case r.feed != nil:
		r.upstream = r.feed.upstream
	}
	if r.upstream != "" { // it can still be tested dead
		from = ends{w.node(), w.node()}
	}
	for _, leg := range c.Legs {
		for _, part := range []*model.Conductor{&leg.Line, &leg.Neutral} {
			if r.gap == "" && !part.Known() {
				r.gap = part.Lacks.String()
			}
		}
	}
	if r.gap != "" {
		return r
	}
	var electrode *job.Electrode
	if c.Point != nil {
		electrode, r.ownEarth = w.model.OwnElectrode(c.Point)
	}
	r.from, r.to = from, ends{w.node(), w.node()}
	r.length = float64(length.Value)
	share, _ := lengthSpread(c)
	r.lengthBy = w.unknown()
	coreBy, cpcBy, armourBy := w.unknown(), w.unknown(), w.unknown()
	var line, neutral, core, armour float64
	known, beside := true, false
	t := w.model.TestTemperature()
	for _, leg := range c.Legs {
		l := leg.Record.Length.Or(0)
		line += real(complex128(leg.Line.Impedance(l, model.AtTest, t)))
		neutral += real(complex128(leg.Neutral.Impedance(l, model.AtTest, t)))
		if !leg.CPC.Known() {
			known = false
			if !r.ownEarth {
				r.gap = leg.CPC.Lacks.String()
			}
			continue
		}
		alone := leg.CPC
		alone.Beside = nil
		core += real(complex128(alone.Impedance(l, model.AtTest, t)))
		if leg.CPC.Beside != nil {
			beside = true
			armour += real(complex128(leg.CPC.Beside.Impedance(l, model.AtTest, t)))
		}
	}
	if r.gap != "" {
		return r
	}
	drifts := func(v float64, quality int, spread float64) []drift {
		return []drift{shareOf(v, share, r.lengthBy), shareOf(v, spread, quality), shareOf(v, perDegree*warmthSpread, w.warmth), {w.unknown(), jointSpread}}
	}
	for range max(1, c.PhaseCount()) {
		r.lines = append(r.lines, w.lay(noNode, noNode, line, drifts(line, coreBy, conductorSpread)...))
	}
	r.neutral = w.lay(r.to.n, from.n, neutral, drifts(neutral, coreBy, conductorSpread)...)
	switch {
	case r.ownEarth:
		ra := w.model.PointElectrode(c.Point, electrode)
		if !ra.Known() {
			r.gap = ra.Lacks.String()
			return r
		}
		if _, laid := w.electrodes[electrode]; !laid {
			spread := 0.4
			if ra.How == job.Measured {
				spread = 0.15
			}
			w.electrodes[electrode] = w.lay(r.to.e, w.star.n, float64(ra.Value), shareOf(float64(ra.Value), spread, w.unknown()))
		} else { // points on one electrode share it
			r.to.e = w.stretches[w.electrodes[electrode]].a
		}
	case known && beside && armour > 0:
		middle := w.node()
		a := w.lay(middle, from.e, core, drifts(core, cpcBy, conductorSpread)...)
		r.armour = w.lay(middle, from.e, armour, drifts(armour, armourBy, armourSpread)...)
		r.cpc = []int{a, w.lay(r.to.e, middle, 0, drift{w.unknown(), jointSpread})}
	case known:
		spread := conductorSpread
		if c.Legs[0].CPC.Role == standard.ArmourAsCPC {
			spread = armourSpread
		}
		r.cpc = []int{w.lay(r.to.e, from.e, core, drifts(core, cpcBy, spread)...)}
	}
	return r
}

// path returns the stretches of line from the source to the end of a run, or
// to the main board where r is nil.
func (w *wiring) path(r *run, b *model.Board, phase int) []int {
	if r == nil {
		out := []int{w.lineSource}
		if t, ok := w.tails[b]; ok {
			out = append(out, t[0])
		}
		return out
	}
	return append(w.path(r.feed, r.circuit.From, phase), r.lines[min(phase, len(r.lines)-1)])
}

// board returns the ends of a board and the run that feeds it.
func (w *wiring) board(b *model.Board) (ends, *run, bool) {
	if b.Feed == nil {
		t, ok := w.tails[b]
		if !ok {
			return ends{}, nil, false
		}
		return ends{w.stretches[t[1]].a, w.met}, nil, true
	}
	for _, r := range w.runs {
		if r.circuit == b.Feed && r.gap == "" && r.upstream == "" {
			return r.to, r, true
		}
	}
	return ends{}, nil, false
}
