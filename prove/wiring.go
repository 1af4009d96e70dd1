package prove

import (
	"math"
	"slices"

	"chargewright/finding"
	"chargewright/model"
	"chargewright/network"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/trade"
	"chargewright/works"
)

// The wiring of a job as a meter sees it: the model's layout, its conductors
// gathered into stretches, each with the resistance it should have today and
// with what is not exactly known about it. Legs in series that share what is
// not known of them are one stretch. A fault changes stretches or adds one;
// everything that is read follows from the circuit laws, for the sound job and
// the faulty one alike. A test holds it to the network solved in full.
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
	of    []wire // what it is made of in the layout
}

// wire is a conductor of a span, or the armour that lies beside it.
type wire struct {
	span   *model.Span
	at     int
	armour bool
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
	carries  []network.Conductor // which line of the supply each is
	neutral  int
	core     []int // protective conductors that are no armour
	armour   []int // and that are
	beside   []int // of armour: those that share a leg with a core
	joint    int   // where the protective conductor has its joint; −1 without one
	from, to ends
	ownEarth bool                    // earthed by an electrode of its own
	fitted   bool                    // an RCD protects its point
	residual quantity.Maybe[float64] // rated residual current of that, A
	length   float64
	lengthBy int           // unknown of the length
	leadBy   int           // unknown of the tethered lead; −1 without one
	gap      finding.Lacks // what keeps it from being known
	upstream finding.Lacks // the same of what feeds it
}

// earthed reports whether the run has a protective conductor.
func (r *run) earthed() bool { return r.joint >= 0 }

// ends are the neutral and earth at one place.
type ends struct{ n, e node }

// tails are the stretches from the origin to a board.
type tails struct{ line, neutral int }

// wiring is the whole of it.
type wiring struct {
	model     *model.Model
	stretches []stretch
	nodes     int
	unknowns  int
	at        map[network.Terminal]node

	star, cutOut  ends
	means         node // terminal that earths the installation
	met           node
	lineSource    int // service line
	pen           int // PEN, or −1
	neutralSource int
	earthSource   int // sheath, electrode, or −1
	earthTerminal int // of a TN-C-S cut-out, or −1
	earthing      int // earthing conductor
	tails         map[*model.Board]tails
	electrodes    map[*works.Electrode]int
	runs          []*run
	byEnd         map[string]*run
	by            map[*model.Circuit]*run
	boards        map[string]*model.Board
	volts         int       // unknown of the supply voltage
	ground        int       // unknown of the transformer's own earth
	declared      bool      // its supply is known by a bound alone
	soilRead      bool      // the electrode stands as it was read
	belief        []float64 // of each stretch: what it most probably is today, where the record gives a greatest value
	warmth        int       // unknown of the temperature

	guessed map[string]bool // circuits whose length nobody knows
	net     *net            // of the sound wiring, once it was asked for
	paths   map[way][]int   // of line, once they were asked for
}

// Spreads of what is not exactly known, one standard deviation each
// (engineering judgement, no published source).
const (
	conductorSpread = 0.02 // cores against what they usually are
	armourSpread    = 0.06
	soilSpread      = 0.7   // of an electrode that was never measured, as a share
	soilLeast       = 30.0  // Ω
	endsTrimmed     = 0.3   // m, of a run: rounding, and what was cut off or left in the box
	separateSpread  = 0.1   // tails and earthing conductor, whose length is a guess
	warmthSpread    = 3.0   // °C between the conductors and the temperature of the day
	jointSpread     = 0.004 // Ω, terminals of one conductor
	tailSpread      = 0.001 // Ω, the same of a tail
	terminalSpread  = 0.002 // Ω, earth terminal of a cut-out
	perDegree       = 0.004 // BS 7671 Appendix 4
)

func newWiring(m *model.Model) *wiring { return newWiringOf(m, nil) }

// newWiringOf is the wiring of a job with runs that only stand in.
func newWiringOf(m *model.Model, guessed map[string]bool) *wiring {
	w := &wiring{model: m, guessed: guessed,
		at: map[network.Terminal]node{}, paths: map[way][]int{}, tails: map[*model.Board]tails{}, electrodes: map[*works.Electrode]int{},
		byEnd: map[string]*run{}, by: map[*model.Circuit]*run{}, boards: map[string]*model.Board{}, pen: -1, earthSource: -1, earthTerminal: -1}
	w.volts, w.warmth, w.ground = w.unknown(), w.unknown(), w.unknown()
	star := w.node()
	w.star = ends{star, star}
	for _, s := range m.Layout.Spans {
		w.layOutside(s)
	}
	cutOut, origin := m.Layout.CutOut, m.Layout.Origin
	w.cutOut, w.means, w.met = ends{w.place(cutOut.At(network.N)), w.place(cutOut.At(network.PE))}, w.place(cutOut.At(network.PE)), w.place(origin.At(network.PE))
	if w.pen >= 0 {
		w.cutOut.e = w.cutOut.n
	}
	for _, b := range m.Boards {
		w.boards[b.Record.Name] = b
	}
	for _, c := range m.Circuits {
		r := w.layCircuit(c)
		w.runs = append(w.runs, r)
		w.by[c] = r
		w.byEnd[farEnd(c)] = r
		if _, taken := w.byEnd[c.Record.Name]; !taken {
			w.byEnd[c.Record.Name] = r
		}
	}
	w.believe()
	return w
}

func (w *wiring) unknown() int { w.unknowns++; return w.unknowns - 1 }

func (w *wiring) node() node { w.nodes++; return node(w.nodes - 1) }

// place returns the node of a terminal. The main in the street is the star
// point itself.
func (w *wiring) place(t network.Terminal) node {
	if t.Conductor == network.Earth || t.Node == w.model.Layout.Source || t.Node == w.model.Layout.Street {
		return w.star.n
	}
	n, known := w.at[t]
	if !known {
		n = w.node()
		w.at[t] = n
	}
	return n
}

func (w *wiring) lay(a, b node, ohms float64, of []wire, d ...drift) int {
	w.stretches = append(w.stretches, stretch{a, b, ohms, d, of})
	return len(w.stretches) - 1
}

// share is a drift of a share of a value.
func shareOf(v, share float64, unknown int) drift { return drift{unknown, v * share} }

// layOutside lays what is no leg of a circuit: the supply, the earthing
// conductor, tails and electrodes.
func (w *wiring) layOutside(s *model.Span) {
	o := &w.model.Outside
	end := func(k int) (node, node) {
		return w.place(s.To.At(s.Wires[k].Conductor)), w.place(s.From.At(s.Wires[k].Conductor))
	}
	join := func(k int) { // a perfect join makes one node of two
		w.at[s.To.At(s.Wires[k].Conductor)] = w.place(s.From.At(s.Wires[k].Conductor))
	}
	switch s.Kind {
	case model.Service:
		w.layService(s, end)
	case model.CutOut:
		w.at[s.From.At(network.N)] = w.place(s.From.At(network.PEN))
		w.earthTerminal = w.lay(w.place(s.From.At(network.PE)), w.place(s.From.At(network.PEN)), 0, nil, drift{w.unknown(), terminalSpread})
	case model.Intake:
		join(len(s.Wires) - 1)
	case model.EarthingConductor:
		to, from := end(0)
		ohms := w.ohms(s, 0)
		w.earthing = w.lay(to, from, ohms, []wire{{s, 0, false}}, drift{w.unknown(), separateSpread*ohms + jointSpread})
	case model.Tails:
		n := len(s.Wires) - 2
		ohms, by := w.ohms(s, n), w.unknown()
		d := drift{by, separateSpread*ohms + tailSpread}
		to, from := end(n)
		w.tails[s.Board] = tails{w.lay(noNode, noNode, ohms, []wire{{s, 0, false}}, d), w.lay(to, from, ohms, []wire{{s, n, false}}, d)}
		join(n + 1)
	case model.Electrode:
		spread := drift{w.unknown(), float64(o.Earth.Spread)}
		if s.From != w.model.Layout.CutOut {
			spread.by = 0.4 * float64(s.Ohms)
			if s.How == trade.Measured {
				spread.by = 0.15 * float64(s.Ohms)
			}
		}
		if s.How != trade.Measured || s.Electrode != nil && !s.Electrode.Resistance.Value.IsKnown() { // of a soil nobody has measured, or only its reading tells
			spread.by = max(spread.by, soilSpread*float64(s.Ohms), soilLeast)
		}
		i := w.lay(w.place(s.From.At(network.PE)), w.star.n, float64(s.Ohms), []wire{{s, 0, false}}, spread)
		if s.From == w.model.Layout.CutOut {
			w.earthSource = i
		}
		if s.Electrode != nil {
			w.electrodes[s.Electrode] = i
		}
	case model.Earthing:
		w.at[s.From.At(network.PE)] = w.place(s.To.At(network.PE))
	}
}

// layService lays the conductors from the source to the cut-out. What is not
// known of a loop is not known of its line and its return alike.
func (w *wiring) layService(s *model.Span, end func(int) (node, node)) {
	o := &w.model.Outside
	loopBy := w.unknown()
	lay := func(k int, p model.Part, by int, line bool) int {
		a, b := noNode, noNode
		if !line {
			a, b = end(k)
		}
		return w.lay(a, b, float64(p.Ohms), []wire{{s, k, false}}, drift{by, float64(p.Spread)})
	}
	back := len(o.Lines)
	w.lineSource = lay(0, o.Line, loopBy, true)
	w.neutralSource = lay(back, o.Neutral, loopBy, false)
	if s.Wires[back].Conductor == network.PEN {
		w.pen = w.neutralSource
	}
	if len(s.Wires) > back+1 {
		w.earthSource = lay(back+1, o.Earth, w.unknown(), false)
	}
}

// ohms returns the resistance of a wire on the day of the test.
func (w *wiring) ohms(s *model.Span, k int) float64 {
	return real(s.Impedance(k, model.AtTest, w.model.TestTemperature()))
}

// layCircuit lays the conductors of a circuit.
func (w *wiring) layCircuit(c *model.Circuit) *run {
	r := &run{circuit: c, joint: -1, leadBy: -1, feed: w.by[c.Feed()]}
	length := c.Length()
	r.gap = length.Lacks
	_, fed := w.model.Layout.Boards[c.From]
	switch {
	case c.From == nil || !fed:
		r.upstream = c.Thing().Lack("from", "the board it starts at")
	case r.feed != nil && len(r.feed.gap) > 0:
		r.upstream = r.feed.gap
	case r.feed != nil:
		r.upstream = r.feed.upstream
	}
	if c.Point != nil {
		_, r.ownEarth = w.model.OwnElectrode(c.Point)
		r.fitted, r.residual = rcdOf(c.Point)
	}
	for _, leg := range c.Legs {
		for _, part := range []*model.Conductor{&leg.Line, &leg.Neutral, &leg.CPC} {
			if len(r.gap) == 0 && !part.Known() && (part != &leg.CPC || !r.ownEarth) {
				r.gap = part.Lacks
			}
		}
	}
	if len(r.gap) == 0 && r.ownEarth {
		e, _ := w.model.OwnElectrode(c.Point)
		r.gap = w.model.PointElectrode(c.Point, e).Lacks
	}
	if len(r.gap) > 0 {
		return r
	}
	legs := w.model.Layout.Circuit[c]
	if len(r.upstream) == 0 && legs[0].Adrift {
		r.upstream = c.Thing().Lack("phases", "phases that its supply has")
	}
	r.from, r.to = w.endsAt(legs[0].From), w.endsAt(legs[len(legs)-1].To)
	r.length, r.lengthBy = float64(length.Value), w.unknown()
	if c.Point != nil && c.Point.Record.Outlet.Or(trade.Socket) == trade.Tethered {
		r.leadBy = w.unknown()
	}
	w.layLegs(r, legs)
	return r
}

func (w *wiring) endsAt(n network.NodeID) ends {
	return ends{w.place(n.At(network.N)), w.place(n.At(network.PE))}
}

// series is a stretch in the making.
type series struct {
	ohms, beside float64
	of, armour   []wire
	like         *model.Conductor // of core and armour side by side
}

// layLegs gathers the legs of a run into stretches: the lines, the neutral, and
// the protective conductor leg by leg, since core and armour share a current
// in each leg by itself.
func (w *wiring) layLegs(r *run, legs []*model.Span) {
	var line, neutral, alone, armour series
	var pairs []series
	lines := len(legs[0].Wires) - 1
	for _, s := range legs {
		for k, wire := range s.Wires {
			if wire.Conductor == network.N {
				lines = k
			}
		}
		line.add(w, s, 0)
		neutral.add(w, s, lines)
		if len(s.Wires) == lines+1 || r.ownEarth {
			continue
		}
		switch cpc := s.Wires[lines+1].Of; {
		case cpc.Beside != nil:
			pairs = gather(pairs, w, s, lines+1)
		case cpc.Role == standard.ArmourAsCPC:
			armour.add(w, s, lines+1)
		default:
			alone.add(w, s, lines+1)
		}
	}
	share := w.lengthShare(r)
	share = math.Hypot(share, endsTrimmed/max(r.length, 1))
	coreBy, cpcBy, armourBy := w.unknown(), w.unknown(), w.unknown()
	lay := func(a, b node, v float64, of []wire, quality int, spread float64) int {
		return w.lay(a, b, v, of, shareOf(v, share, r.lengthBy), shareOf(v, spread, quality), shareOf(v, perDegree*warmthSpread, w.warmth),
			drift{w.unknown(), jointSpread})
	}
	for k := range lines {
		of := make([]wire, len(line.of))
		for i, o := range line.of {
			of[i] = wire{o.span, k, false}
		}
		r.lines = append(r.lines, lay(noNode, noNode, line.ohms, of, coreBy, conductorSpread))
		r.carries = append(r.carries, legs[0].Wires[k].Conductor)
	}
	r.neutral = lay(r.to.n, r.from.n, neutral.ohms, neutral.of, coreBy, conductorSpread)
	at := r.from.e
	stop := func(last bool) (from, to node) {
		from = at
		if at = r.to.e; !last {
			at = w.node()
		}
		return from, at
	}
	rest := len(alone.of) > 0
	for i, p := range pairs {
		from, to := stop(false)
		r.core = append(r.core, lay(to, from, p.ohms, p.of, cpcBy, conductorSpread))
		r.beside = append(r.beside, lay(to, from, p.beside, p.armour, armourBy, armourSpread))
		if i == len(pairs)-1 && !rest && len(armour.of) == 0 {
			from, to := stop(true)
			r.joint = w.lay(to, from, 0, nil, drift{w.unknown(), jointSpread})
		}
	}
	r.armour = append(r.armour, r.beside...)
	if len(armour.of) > 0 {
		from, to := stop(!rest)
		r.joint = lay(to, from, armour.ohms, armour.of, cpcBy, armourSpread)
		r.armour = append(r.armour, r.joint)
	}
	if rest {
		from, to := stop(true)
		r.joint = lay(to, from, alone.ohms, alone.of, cpcBy, conductorSpread)
		r.core = append(r.core, r.joint)
	}
}

// lengthShare is one deviation of a run's length as a share of it.
func (w *wiring) lengthShare(r *run) float64 {
	if w.guessed[r.circuit.Record.Name] {
		return guessedShare
	}
	share, _ := lengthSpread(r.circuit)
	return share
}

// add puts wire k of a leg in series.
func (g *series) add(w *wiring, s *model.Span, k int) {
	g.ohms += w.ohms(s, k)
	g.of = append(g.of, wire{s, k, false})
}

// gather puts a leg with core and armour side by side with those of the same
// cable, whose currents divide in the same way.
func gather(pairs []series, w *wiring, s *model.Span, k int) []series {
	cpc := s.Wires[k].Of
	alone := *cpc
	alone.Beside = nil
	i := 0
	for i < len(pairs) && !(pairs[i].like.Resistance == cpc.Resistance && pairs[i].like.Beside.Resistance == cpc.Beside.Resistance) {
		i++
	}
	if i == len(pairs) {
		pairs = append(pairs, series{like: cpc})
	}
	p, t := &pairs[i], w.model.TestTemperature()
	p.ohms += real(alone.Impedance(s.Length, model.AtTest, t))
	p.beside += real(cpc.Beside.Impedance(s.Length, model.AtTest, t))
	p.of, p.armour = append(p.of, wire{s, k, false}), append(p.armour, wire{s, k, true})
	return pairs
}

// way is a place on a line.
type way struct {
	run   *run
	board *model.Board
	phase int
}

// path returns the stretches of line from the source to the end of a run, or
// to the main board where r is nil. Each circuit is fed by the line of the same
// name.
func (w *wiring) path(r *run, b *model.Board, phase int) []int {
	at := way{r, b, phase}
	out, known := w.paths[at]
	if !known {
		out = w.follow(r, b, phase)
		w.paths[at] = out
	}
	return out[:len(out):len(out)]
}

func (w *wiring) follow(r *run, b *model.Board, phase int) []int {
	if r == nil {
		out := []int{w.lineSource}
		if t, ok := w.tails[b]; ok {
			out = append(out, t.line)
		}
		return out
	}
	if len(r.lines) == 0 { // the record does not say enough to lay it
		return nil
	}
	phase = min(phase, len(r.lines)-1)
	ahead := phase
	if r.feed != nil {
		ahead = max(0, slices.Index(r.feed.carries, r.carries[phase]))
	}
	return append(w.path(r.feed, r.circuit.From, ahead), r.lines[phase])
}

// board returns the ends of a board and the run that feeds it.
func (w *wiring) board(b *model.Board) (ends, *run, bool) {
	at, laid := w.model.Layout.Boards[b]
	feed := w.by[b.Feed]
	if !laid || feed != nil && (len(feed.gap) > 0 || len(feed.upstream) > 0) {
		return ends{}, nil, false
	}
	return w.endsAt(at), feed, true
}
