package choose

// The search: every pair of every circuit, a feeder before what it feeds, with
// branches cut that cannot cost less than what is already found.

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"chargewright/design"
	"chargewright/finding"
	"chargewright/model"
	"chargewright/works"
)

// pick is what was chosen for one circuit.
type pick struct {
	circuit *circuit
	pair    *pair
	mode    *mode
	at      *place
}

// solution is a pick for every circuit of some trees.
type solution struct {
	cost  float64
	picks []pick
}

// prepare gathers the pairs of every circuit whose facts are known.
func (s *site) prepare(o offer) {
	for _, c := range s.circuits {
		if s.aim.left() {
			return
		}
		if len(c.lacks) == 0 {
			c.modes = s.modesOf(c, o)
		}
		if len(c.lacks) > 0 {
			continue
		}
		c.cables, c.devices = s.cablesOf(c), s.devicesOf(c)
		s.out.Proof.Candidates += len(c.cables) * len(c.devices)
		for _, cable := range c.cables {
			for _, device := range c.devices {
				x := pair{run: cable, guard: device, cost: cable.cost + device.fits}
				if c.suits(&x) {
					kept := x
					c.pairs = append(c.pairs, &kept)
				}
			}
		}
		slices.SortStableFunc(c.pairs, func(a, b *pair) int { return cmp.Compare(a.cost, b.cost) })
		for i, x := range c.pairs {
			x.id = i
		}
	}
	for i := len(s.circuits) - 1; i >= 0; i-- {
		c := s.circuits[i]
		c.floor = math.Inf(1)
		if len(c.pairs) > 0 && len(c.modes) > 0 {
			c.floor = c.cheapest()
		}
		for _, child := range c.children {
			c.floor += child.floor
		}
	}
}

// allows reports whether a mode may be used while electrodes are bought or not.
func (m *mode) allows(electrode bool) bool { return electrode || !m.own || m.measure == nil }

// best returns the cheapest picks for circuit c and all below it, if they cost
// less than most.
func (s *site) best(c *circuit, at *place, electrode bool, most float64) (solution, bool) {
	if c.final() {
		return s.bestFinal(c, at, electrode, most)
	}
	var found solution
	ok := false
	below := c.floor
	if len(c.pairs) > 0 {
		below -= c.pairs[0].cost
	}
	m := &c.modes[0]
	s.calls++
	call := s.calls
	for _, x := range c.pairs {
		if x.cost+below >= most {
			s.out.Proof.Cut++ // and so are all dearer pairs
			break
		}
		if s.out.Proof.Tried++; s.out.Proof.Tried > mostTried || s.out.Proof.Tried%between == 0 && s.aim.left() {
			s.gaveUp = true // what is found stands, with the floor as its bound
			break
		}
		if x.run.held == call || !s.holds(c, x, at, m) {
			continue
		}
		x.run.held = call // what is below sees the cable alone: a dearer device on it changes nothing
		next := s.beyond(c, x, at)
		total, picks, whole := x.cost, []pick{{c, x, m, at}}, true
		left := below
		for _, child := range c.children {
			left -= child.floor
			part, ok := s.best(child, next, electrode, most-total-left)
			if !ok {
				whole = false
				break
			}
			total += part.cost
			picks = append(picks, part.picks...)
		}
		if whole && total < most {
			found, ok, most = solution{total, picks}, true, total
		}
	}
	return found, ok
}

// bestFinal returns the cheapest pair and earthing of a final circuit.
func (s *site) bestFinal(c *circuit, at *place, electrode bool, most float64) (solution, bool) {
	var found solution
	ok := false
	for i := range c.modes {
		m := &c.modes[i]
		if !m.allows(electrode) {
			continue
		}
		for _, x := range c.pairs {
			if x.cost+m.cost >= most {
				s.out.Proof.Cut++
				break
			}
			s.out.Proof.Tried++
			if s.holds(c, x, at, m) {
				most = x.cost + m.cost
				found, ok = solution{most, []pick{{c, x, m, at}}}, true
				break
			}
		}
	}
	return found, ok
}

// known reports whether everything of the tree under c is known.
func known(c *circuit) bool {
	if len(c.lacks) > 0 {
		return false
	}
	return !slices.ContainsFunc(c.children, func(child *circuit) bool { return !known(child) })
}

// search finds the best design of every tree of circuits and confirms it on
// the whole model.
func (s *site) search() {
	o := s.electrodeOffer()
	s.prepare(o)
	for _, c := range s.circuits {
		s.lack(c.lacks)
	}
	var trees []*circuit
	for _, c := range s.roots {
		if known(c) {
			trees = append(trees, c)
		}
	}
	s.compareMeasures(o)
	for range mostStrikes {
		if s.aim.left() {
			return
		}
		found, ok := s.solve(trees, o)
		if !ok || s.aim.left() {
			return
		}
		if s.confirm(found, o) {
			s.settle(found, o)
			return
		}
	}
	s.lack(finding.Lacks{{Of: "a design", What: fmt.Sprintf("%d in a row that met the closed forms failed on the whole model", mostStrikes)}})
}

// mostTried bounds a search through boards behind boards behind boards; beyond
// it the answer comes with a bound instead of a proof.
const mostTried = 20_000_000

// between is how many pairs are tried between two looks whether somebody waits.
const between = 256

// mostStrikes is how many winners the whole model may refuse.
const mostStrikes = 200

// solve returns the best of all trees together, with and without an electrode.
func (s *site) solve(trees []*circuit, o offer) (solution, bool) {
	if s.aim.Purpose == Materials {
		return s.fewest(trees, o)
	}
	best, ok := s.solveWith(trees, false, math.Inf(1))
	if len(o.lacks) == 0 && s.electrodeUseful() {
		limit := math.Inf(1)
		if ok {
			limit = best.cost - o.cost
		}
		if with, also := s.solveWith(trees, true, limit); also {
			with.cost += o.cost
			best, ok = with, true
		}
	}
	return best, ok
}

// electrodeUseful reports whether any point could be earthed by the electrode.
func (s *site) electrodeUseful() bool {
	return slices.ContainsFunc(s.circuits, func(c *circuit) bool {
		return slices.ContainsFunc(c.modes, func(m mode) bool { return m.own && m.measure != nil })
	})
}

func (s *site) solveWith(trees []*circuit, electrode bool, most float64) (solution, bool) {
	var sum solution
	for _, c := range trees {
		part, ok := s.best(c, s.origin(), electrode, most-sum.cost)
		if !ok {
			if math.IsInf(most, 1) {
				s.lack(s.whyNone(c))
			}
			return solution{}, false
		}
		sum.cost += part.cost
		sum.picks = append(sum.picks, part.picks...)
	}
	return sum, true
}

// whyNone says what keeps every pair of a tree from holding: the first circuit
// with none, and the rule its best pair misses by least.
func (s *site) whyNone(c *circuit) finding.Lacks {
	of := c.model.Thing()
	switch {
	case len(c.cables) == 0:
		return of.Lack("cable/construction", "a cable; "+s.whyNoCable(c))
	case len(c.devices) == 0:
		return of.Lack("device/type", "a device; the catalogue has none for its facts")
	case len(c.pairs) == 0:
		return of.Lack("cable/csa", fmt.Sprintf("a cable and device that carry %.3g A there; the catalogue has none", c.ib))
	}
	nearest, share := Margin{}, math.Inf(-1)
	for _, x := range c.pairs {
		for i := range c.modes {
			if m, ok := short(s.margins(c, x, s.origin(), &c.modes[i])); ok && m.share() > share {
				nearest, share = m, m.share()
			}
		}
	}
	for _, child := range c.children {
		if len(child.pairs) == 0 {
			return s.whyNone(child)
		}
	}
	if nearest.Rule == "" {
		return of.Lack("", "a design with everything it feeds")
	}
	return of.Lack("cable/csa", fmt.Sprintf("a cable and device; the nearest misses %s by %s", nearest.Rule, nearest.Show(-nearest.Room)))
}

// whyNoCable says why no cable of the catalogue could be tried in c: what the
// tables lack for the first that suits its methods.
func (s *site) whyNoCable(c *circuit) string {
	for i := range s.catalogue.Cables {
		row := &s.catalogue.Cables[i]
		if !row.runs(c.phases) || !suited(row, c) {
			continue
		}
		cable := row.cable()
		for _, l := range c.model.Legs {
			if r := design.RateLeg(s.model, c.model, l.In(&cable)); len(r.Lacks) > 0 {
				return r.Lacks[0].What
			}
		}
	}
	return "the catalogue has none for its methods"
}

// mark names a pair in its place, for those that were struck out.
func (s *site) mark(c *circuit, x *pair, at *place, m *mode) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%d %d %v", c.index, x.id, m.own)
	for _, up := range at.path {
		fmt.Fprintf(&b, " %d", up.id)
	}
	return b.String()
}

// confirm lays the solution out as a job and holds it to every requirement. A
// pick whose circuit fails there, or is left to judgement, is struck out.
func (s *site) confirm(found solution, o offer) bool {
	j := copyOf(s.job)
	trial := &site{rules: s.rules, catalogue: s.catalogue, aim: s.aim, job: j, out: &Outcome{}, supply: s.supply}
	trial.write(found, o)
	m := model.New(j, s.rules)
	var bad []string
	for _, f := range design.Check(m) {
		if f.Verdict != finding.Meets && ofCircuit[f.Key] {
			bad = append(bad, f.Path)
		}
	}
	good := true
	for _, p := range found.picks {
		if p.circuit.open && slices.ContainsFunc(bad, func(path string) bool { return works.Within(path, p.circuit.model.Thing().Path) }) {
			s.struck[s.mark(p.circuit, p.pair, p.at, p.mode)] = true
			s.out.Proof.StruckOut++
			good = false
		}
	}
	return good
}

// ofCircuit are the requirements a pair must meet on the whole model.
var ofCircuit = map[string]bool{
	"design current": true, "cable rating": true, "continuous load": true, "breaking capacity": true, "disconnection": true, "volt drop": true,
	"adiabatic line conductor": true, "adiabatic cpc": true, "adiabatic armour as cpc": true,
}

// settle keeps the solution as the outcome.
func (s *site) settle(found solution, o offer) {
	s.write(found, o)
	s.out.Cost, s.out.Bound = found.cost, found.cost
	if s.out.Proof.Complete = !s.gaveUp; s.gaveUp {
		s.out.Bound = 0
		for _, c := range s.roots {
			if known(c) {
				s.out.Bound += c.floor
			}
		}
	}
	for i := range found.picks {
		found.picks[i].circuit.chosen = &found.picks[i]
	}
	for _, p := range found.picks {
		if p.circuit.open {
			s.out.Circuits = append(s.out.Circuits, s.explain(p))
		}
		p.circuit.ways = p.pair.guard.ways(p.circuit.phases)
	}
	s.out.Different = found.different()
	s.countMeasures(found)
}

// different counts the materials of a solution, each once.
func (f solution) different() int {
	used := map[string]bool{}
	for _, p := range f.picks {
		for _, name := range p.pair.materials() {
			used[name] = true
		}
	}
	return len(used)
}

// cheapest is what the circuit costs at least by itself: its cheapest pair and
// its cheapest earthing.
func (c *circuit) cheapest() float64 {
	return c.pairs[0].cost + slices.MinFunc(c.modes, func(a, b mode) int { return cmp.Compare(a.cost, b.cost) }).cost
}

// materials names what is bought for a pair.
func (x *pair) materials() []string {
	var out []string
	if x.run.row != nil {
		out = append(out, x.run.name)
	}
	if x.bought {
		out = append(out, x.guard.name)
	}
	return out
}

// countMeasures notes how many points got each measure.
func (s *site) countMeasures(found solution) {
	for _, p := range found.picks {
		if p.mode.measure == nil {
			continue
		}
		name := string(p.mode.measure.Measure)
		if p.mode.measure.Device != "" {
			name += ", " + string(p.mode.measure.Device)
		}
		for i := range s.out.Earthing {
			if s.out.Earthing[i].Measure == name {
				s.out.Earthing[i].Chosen++
			}
		}
	}
}
