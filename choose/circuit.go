package choose

// One circuit of the search: its facts, and the cables and devices it may have.

import (
	"fmt"
	"slices"
	"strings"

	"chargewright/finding"
	"chargewright/model"
	"chargewright/standard"
	"chargewright/trade"
	"chargewright/works"
)

// circuit is one circuit with what is fixed about it.
type circuit struct {
	model     *model.Circuit
	index     int
	feeder    *circuit
	above     []*circuit // feeders from the origin, nearest the origin first
	children  []*circuit
	phases    int
	lines     []int      // 0 to 2
	ib        float64    // greatest of the lines
	current   [3]float64 // design current in each line
	flows     [3][]flow  // of a final: by line, the tails and then each feeder
	greatest  float64    // In at most, by the point's maker
	diversity float64    // RDF of the board for a point's device; 1 for others
	dropLimit float64    // V from the origin, of a final circuit; 0 for a feeder
	modes     []mode
	cables    []*run
	devices   []*guard
	pairs     []*pair // context-free survivors, cheapest first
	floor     float64 // least cost of the circuit and all below it, upstream ignored
	open      bool
	chosen    *pick
	ways      int // of the device chosen
	lacks     finding.Lacks
}

// name returns the circuit's name in the job.
func (c *circuit) name() string { return c.model.Record.Name }

// final reports whether the circuit ends at equipment.
func (c *circuit) final() bool { return c.model.Board == nil }

// pair is a cable with a device, tried together.
type pair struct {
	*run
	*guard
	id   int
	cost float64 // by the aim
}

// read makes the tree of circuits, each with its candidates. A circuit that
// lacks a fact of the site is left to the person, with everything that shares
// a feeder with it.
func (s *site) read() {
	s.remake() // with the phases and limits that were chosen
	s.readSupply()
	byModel := map[*model.Circuit]*circuit{}
	for i, m := range s.model.Circuits {
		c := &circuit{model: m, index: i, phases: m.PhaseCount(), diversity: 1}
		byModel[m] = c
		s.circuits = append(s.circuits, c)
		if up := byModel[m.Feed()]; up != nil {
			c.feeder = up
			c.above = append(slices.Clone(up.above), up)
			up.children = append(up.children, c)
		} else {
			s.roots = append(s.roots, c)
		}
	}
	points := s.loads()
	for _, c := range s.circuits {
		s.readFacts(c)
		if c.final() {
			c.flows = s.flows(c, points)
		}
	}
	for i := len(s.circuits) - 1; i >= 0; i-- { // a feeder waits for what it feeds
		c := s.circuits[i]
		if c.feeder != nil && len(c.lacks) > 0 {
			c.feeder.lacks = append(c.feeder.lacks, c.lacking()...)
		}
	}
	for _, c := range s.circuits {
		if c.feeder != nil && len(c.feeder.lacks) > 0 {
			c.lacks = append(c.lacks, c.feeder.lacking()...)
		}
	}
}

// lacking says that another circuit waits for what this one lacks.
func (c *circuit) lacking() finding.Lacks {
	return finding.Lacks{{Path: c.model.Thing().Path, What: "what circuit " + c.name() + " lacks"}}
}

// readFacts takes the facts of one circuit, and names those that are missing.
func (s *site) readFacts(c *circuit) {
	r := c.model.Record
	need := func(of works.Thing, known bool, field, what string) {
		c.lacks = append(c.lacks, of.Unless(known, field, what)...)
	}
	ib, own := c.model.DesignCurrents(), c.model.Thing()
	c.lacks = append(append(c.lacks, ib.Lacks...), s.model.NotAllLoads(c.model)...)
	c.ib, c.current = float64(ib.Greatest()), amperes(ib.Phase)
	need(own, c.phases > 0, "phases", "phases")
	c.lines = []int{0, 1, 2}
	if c.phases == 1 {
		c.lines = []int{model.LineNumber(c.model.Lines())}
	}
	need(own, c.model.From != nil, "from", "the board it starts at")
	c.lacks = append(c.lacks, c.model.NoLegs()...)
	for _, l := range c.model.Legs {
		leg, own := l.Record, l.Thing()
		need(own, leg.Length.IsKnown(), "length", "length")
		need(own, leg.Method.IsKnown(), "method", "installation method")
		need(own, leg.Ambient.IsKnown(), "ambient", "temperature of the surroundings")
		n, ok := leg.Together.Get()
		need(own, ok, "circuits together", "circuits together, this one included")
		need(own, n < 2 || leg.Arrangement.IsKnown(), "arrangement", "how the circuits lie together")
		if leg.Method.Or("").Buried() {
			need(own, leg.Depth.IsKnown(), "depth", "depth of laying")
			need(own, leg.Soil.IsKnown(), "soil", "thermal resistivity of the soil")
		}
	}
	if p := c.model.Point; p != nil {
		most, ok := p.Record.GreatestDevice.Get()
		need(p.Record.Thing(), ok, "greatest upstream device", "greatest upstream device its maker allows")
		c.greatest = float64(most)
		if c.model.From != nil {
			rdf, ok := c.model.From.Record.DiversityFactor.Get()
			need(c.model.From.Record.Thing(), ok, "rated diversity factor", "rated diversity factor")
			c.diversity = rdf
		}
	}
	if c.final() {
		use, network := "other", "public"
		if c.model.Load != nil && c.model.Load.Kind.Or("") == trade.Lighting {
			use = "lighting"
		}
		if s.job.Supply.Private.Or(false) {
			network = "private"
		}
		c.dropLimit = s.limit("volt drop "+use+" "+network) * s.supply.u0
	}
	c.open = !r.Existing && (!cableSettled(&r.Cable) || !r.Device.Rating.IsKnown() || !r.Device.Type.IsKnown() ||
		!r.Device.BreakingCapacity.IsKnown() || s.measureOpen(c) || c.model.Point != nil && !r.RCD.Residual.IsKnown() && r.SharedRCD == "" && !s.ownBuiltIn(c))
}

// ownBuiltIn reports whether the point brings an RCD that serves as its own.
func (s *site) ownBuiltIn(c *circuit) bool {
	if c.model.Point == nil {
		return false
	}
	r := c.model.Point.Record.BuiltInRCD
	most := s.limit("rcd point")
	return r.Residual.IsKnown() && float64(r.Residual.Or(1)) <= most && r.Poles.Or("") == trade.AllLive && s.typeSuits(c, r.Type.Or(""))
}

// typeSuits reports whether an RCD of type t copes with the smooth d.c. its
// point can pass (BS 7671 722.531.3.101).
func (s *site) typeSuits(c *circuit, t trade.RCDType) bool {
	switch t {
	case trade.TypeB:
		return true
	case trade.TypeA, trade.TypeF:
		return c.model.Point.Record.DCDetection.Or(false)
	}
	return false
}

// fits reports whether the catalogue's value agrees with what is entered.
func fits[T comparable](entered interface{ Get() (T, bool) }, v T) bool {
	known, ok := entered.Get()
	return !ok || known == v
}

// cableName names a cable as a material.
func cableName(c *works.Cable) string {
	var parts []string
	if n, ok := c.Cores.Get(); ok && n > 1 {
		parts = append(parts, fmt.Sprintf("%d-core", n))
	}
	if size, ok := c.CSA.Get(); ok {
		parts = append(parts, size.String())
	}
	parts = append(parts, string(c.Construction.Or("")))
	if c.CPC.Or(trade.CPCCore) != trade.CPCCore {
		parts = append(parts, "("+string(c.CPC.Or(""))+" as cpc)")
	}
	if ins, ok := c.Insulation.Get(); ok && c.Construction.Or("") == standard.Singles {
		parts = append(parts, string(ins))
	}
	return strings.Join(parts, " ")
}
