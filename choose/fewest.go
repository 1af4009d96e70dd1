package choose

// Fewest different materials: the smallest set of cables and devices from which
// every circuit can be made, and of those sets the cheapest.

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
)

// material numbers the things that are bought.
type material = int

// option is one way to make a final circuit from materials.
type option struct {
	uses []material
	cost float64
	pick pick
}

// cover is the search for the smallest set.
type cover struct {
	site      *site
	names     map[string]material
	in        []int // how often each material is in the set
	size      int
	electrode bool
	feeders   []pick
	spent     float64
	best      solution
	least     int // materials of the best
	steps     int
	cut       bool // gave up before the end
	seen      map[string][][]option
}

// mostSteps bounds the search; beyond it the answer is no longer proven.
const mostSteps = 3_000_000

// fewest returns the design with the fewest different materials.
func (s *site) fewest(trees []*circuit, o offer) (solution, bool) {
	k := &cover{site: s, names: map[string]material{}, seen: map[string][][]option{}, least: math.MaxInt}
	k.best.cost = math.Inf(1)
	var order []*circuit
	for _, root := range trees {
		order = appendTree(order, root)
	}
	for _, electrode := range []bool{false, true} {
		if electrode && (len(o.lacks) > 0 || !s.electrodeUseful()) {
			continue
		}
		k.electrode, k.spent = electrode, 0
		if electrode {
			k.spent = o.cost
		}
		k.choose(order, map[*circuit]*place{})
	}
	if k.least == math.MaxInt {
		for _, root := range trees {
			s.lack(s.whyNone(root))
		}
		return solution{}, false
	}
	s.gaveUp = k.cut
	return k.best, true
}

// appendTree appends a circuit and all below it, feeders before what they feed.
func appendTree(to []*circuit, c *circuit) []*circuit {
	to = append(to, c)
	for _, child := range c.children {
		to = appendTree(to, child)
	}
	return to
}

// number returns the numbers of the materials of a pair.
func (k *cover) number(x *pair) []material {
	var out []material
	for _, name := range x.materials() {
		n, ok := k.names[name]
		if !ok {
			n = len(k.in)
			k.names[name] = n
			k.in = append(k.in, 0)
		}
		out = append(out, n)
	}
	return out
}

func (k *cover) take(uses []material) {
	for _, m := range uses {
		if k.in[m] == 0 {
			k.size++
		}
		k.in[m]++
	}
}

func (k *cover) giveBack(uses []material) {
	for _, m := range uses {
		if k.in[m]--; k.in[m] == 0 {
			k.size--
		}
	}
}

// missing counts the materials of uses that are not in the set.
func (k *cover) missing(uses []material) int {
	n := 0
	for _, m := range uses {
		if k.in[m] == 0 {
			n++
		}
	}
	return n
}

// choose tries every pair of the first feeder left in order; with none left it
// covers the final circuits.
func (k *cover) choose(order []*circuit, places map[*circuit]*place) {
	s := k.site
	for n, c := range order {
		if c.final() {
			continue
		}
		at := s.origin()
		if c.feeder != nil {
			at = places[c.feeder]
		}
		rest := append(slices.Clone(order[:n]), order[n+1:]...)
		for _, x := range c.pairs {
			uses := k.number(x)
			if k.size+k.missing(uses) > k.least || k.over() {
				continue
			}
			s.out.Proof.Tried++
			if !s.holds(c, x, at, &c.modes[0]) {
				continue
			}
			k.take(uses)
			k.spent += x.cost
			k.feeders = append(k.feeders, pick{c, x, &c.modes[0], at})
			places[c] = s.beyond(c, x, at)
			k.choose(rest, places)
			k.feeders = k.feeders[:len(k.feeders)-1]
			k.spent -= x.cost
			k.giveBack(uses)
		}
		return
	}
	k.finals(order, places)
}

func (k *cover) over() bool {
	k.steps++
	k.cut = k.cut || k.steps > mostSteps
	return k.cut
}

// finals covers the final circuits, the one with fewest options first.
func (k *cover) finals(order []*circuit, places map[*circuit]*place) {
	all, ok := k.options(order, places)
	if !ok {
		return
	}
	floor := k.spent
	for _, options := range all {
		floor += options[0].cost
	}
	for most := k.size; most <= k.least; most++ {
		if most == k.least && floor >= k.best.cost {
			return
		}
		found := k.least
		k.spread(all, most)
		if k.least < found || k.least == most {
			return
		}
	}
}

// options returns what every final circuit may be made from, the one with
// fewest first; false where one has nothing. They depend on the feeders' cables
// and not on their devices, so they are worked out once for a set of cables.
func (k *cover) options(order []*circuit, places map[*circuit]*place) ([][]option, bool) {
	var name strings.Builder
	fmt.Fprint(&name, k.electrode)
	for _, f := range k.feeders {
		fmt.Fprintf(&name, " %d:%p", f.circuit.index, f.pair.run)
	}
	if all, seen := k.seen[name.String()]; seen {
		return all, all != nil
	}
	s := k.site
	all := make([][]option, 0, len(order))
	for _, c := range order {
		at := s.origin()
		if c.feeder != nil {
			at = places[c.feeder]
		}
		var options []option
		for i := range c.modes {
			m := &c.modes[i]
			if !m.allows(k.electrode) {
				continue
			}
			for _, x := range c.pairs {
				s.out.Proof.Tried++
				if s.holds(c, x, at, m) {
					options = append(options, option{k.number(x), x.cost + m.cost, pick{c, x, m, at}})
				}
			}
		}
		if len(options) == 0 {
			k.seen[name.String()] = nil
			return nil, false
		}
		slices.SortStableFunc(options, func(a, b option) int { return cmp.Compare(a.cost, b.cost) })
		all = append(all, options)
	}
	slices.SortStableFunc(all, func(a, b []option) int { return cmp.Compare(len(a), len(b)) })
	k.seen[name.String()] = all
	return all, true
}

// first returns the cheapest option that the set makes possible, or -1.
func (k *cover) first(options []option) int {
next:
	for i := range options {
		for _, m := range options[i].uses {
			if k.in[m] == 0 {
				continue next
			}
		}
		return i
	}
	return -1
}

// spread adds materials, no more than most in all, until every final circuit
// has an option, and keeps the cheapest of the smallest sets.
func (k *cover) spread(all [][]option, most int) {
	if k.over() {
		return
	}
	for _, options := range all {
		if k.first(options) >= 0 {
			continue
		}
		if k.size >= most {
			return
		}
		tried := map[[2]material]bool{}
		for i := range options {
			uses := options[i].uses
			if k.size+k.missing(uses) > most || tried[key(uses)] {
				continue
			}
			tried[key(uses)] = true
			k.take(uses)
			k.spread(all, most)
			k.giveBack(uses)
		}
		return
	}
	cost := k.spent
	picks := slices.Clone(k.feeders)
	for _, options := range all {
		i := k.first(options)
		cost += options[i].cost
		picks = append(picks, options[i].pick)
	}
	if k.size < k.least || k.size == k.least && cost < k.best.cost {
		k.least, k.best = k.size, solution{cost, picks}
	}
}

// key names what an option uses.
func key(uses []material) [2]material {
	k := [2]material{-1, -1}
	copy(k[:], uses)
	return k
}
