package choose

// Fewest different materials: the smallest set of cables and devices from which
// every circuit can be made, and of those sets the cheapest.

import (
	"cmp"
	"math"
	"slices"
)

// material numbers the things that are bought.
type material = int

// option is one way to make a final circuit from materials.
type option struct {
	uses []material
	cost float64
	pick pick
}

// cover is the search for the smallest set. It asks first for sets of as few
// materials as any design must have, then of one more, and so on: the first size
// at which there is a design is the least.
type cover struct {
	site      *site
	names     map[string]material
	in        []int // how often each material is in the set
	size      int
	most      int // materials that the set may have now
	electrode bool
	feeders   []pick
	spent     float64
	best      solution
	least     int              // materials of the best
	cut       bool             // gave up before the end
	cables    map[behind]int   // numbers of the cables up to a board, 0 at the origin
	at        map[*circuit]int // of a feeder that is chosen, the number of those up to its board
	seen      map[*circuit]map[int][]option
	apart     [][][]material // of circuits that share no material: what each may be made from
	cheapest  map[*circuit]float64
}

// behind is one more cable after those of a number.
type behind struct {
	before int
	run    *run
	own    bool // with electrodes bought
}

// mostSteps bounds the search, in options looked at: a few seconds of work, and
// memory for the options of each circuit behind each cable. Beyond it the answer
// is no longer proven, and says how few materials nothing can do with.
const mostSteps = 100_000_000

// fewest returns the design with the fewest different materials. A design of
// least cost is found first: the search never hands over a worse one.
func (s *site) fewest(trees []*circuit, o offer) (solution, bool) {
	k := &cover{site: s, names: map[string]material{}, cables: map[behind]int{}, at: map[*circuit]int{},
		seen: map[*circuit]map[int][]option{}, least: math.MaxInt, cheapest: map[*circuit]float64{}}
	k.best.cost = math.Inf(1)
	ways := []bool{false}
	if len(o.lacks) == 0 && s.electrodeUseful() {
		ways = append(ways, true)
	}
	lacks := slices.Clone(s.out.Lacks)
	for _, electrode := range ways {
		found, ok := s.solveWith(trees, electrode, math.Inf(1))
		if !ok {
			continue
		}
		if electrode {
			found.cost += o.cost
		}
		if n := found.different(); n < k.least || n == k.least && found.cost < k.best.cost {
			k.least, k.best = n, found
		}
	}
	if k.least == math.MaxInt {
		return solution{}, false
	}
	s.out.Lacks = lacks // one of the ways may have had no design
	var order []*circuit
	for _, root := range trees {
		order = appendTree(order, root)
	}
	for _, c := range order {
		k.cheapest[c] = c.cheapest()
	}
	k.setApart(order)
	k.most = k.wants()
	for s.out.Proof.AtLeast = k.most; k.most <= k.least && !k.cut; k.most++ {
		for _, k.electrode = range ways {
			k.spent = 0
			if k.electrode {
				k.spent = o.cost
			}
			k.choose(order, map[*circuit]*place{})
		}
		if !k.cut && k.least > k.most {
			s.out.Proof.AtLeast = k.most + 1
		}
	}
	if s.gaveUp = k.cut; !k.cut {
		s.out.Proof.AtLeast = k.least
	}
	return k.best, true
}

// setApart gathers circuits of which no two can be made from one material, the
// narrowest first. What each of them still lacks adds up: no set has fewer.
func (k *cover) setApart(order []*circuit) {
	narrow := slices.Clone(order)
	slices.SortStableFunc(narrow, func(a, b *circuit) int { return cmp.Compare(len(a.pairs), len(b.pairs)) })
	taken := map[material]bool{}
next:
	for _, c := range narrow {
		var ways [][]material
		for _, x := range c.pairs {
			uses := k.number(x)
			if slices.ContainsFunc(uses, func(m material) bool { return taken[m] }) {
				continue next
			}
			ways = append(ways, uses)
		}
		for _, uses := range ways {
			for _, m := range uses {
				taken[m] = true
			}
		}
		k.apart = append(k.apart, ways)
	}
}

// wants is how many materials any set must have that holds the present one.
func (k *cover) wants() int {
	n := k.size
	for _, ways := range k.apart {
		least := math.MaxInt
		k.site.worked += len(ways)
		for _, uses := range ways {
			if least = min(least, k.missing(uses)); least == 0 {
				break
			}
		}
		n += least
	}
	return n
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
	floor := k.spent
	for _, c := range order {
		floor += k.cheapest[c]
	}
	if k.over() || k.most == k.least && floor >= k.best.cost {
		return
	}
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
			if k.size+k.missing(uses) > k.most {
				continue
			}
			if k.over() {
				return
			}
			k.take(uses)
			if k.wants() <= k.most {
				s.out.Proof.Tried++
				if s.holds(c, x, at, &c.modes[0]) {
					k.spent += x.cost
					k.feeders = append(k.feeders, pick{c, x, &c.modes[0], at})
					places[c] = s.beyond(c, x, at)
					k.at[c] = k.along(behind{k.upTo(c), x.run, k.electrode})
					if k.coverable(c, places[c]) {
						k.choose(rest, places)
					}
					k.feeders = k.feeders[:len(k.feeders)-1]
					k.spent -= x.cost
				}
			}
			k.giveBack(uses)
		}
		return
	}
	k.finals(order, places)
}

// coverable reports whether each final circuit of a feeder can still be made
// with no more materials than the set may have.
func (k *cover) coverable(feeder *circuit, at *place) bool {
	for _, c := range feeder.children {
		if c.final() && !slices.ContainsFunc(k.options(c, at), func(o option) bool { k.site.worked++; return k.size+k.missing(o.uses) <= k.most }) {
			return false
		}
	}
	return true
}

func (k *cover) over() bool {
	k.site.worked++
	k.cut = k.cut || k.site.worked > mostSteps || k.site.worked%between == 0 && k.site.aim.left()
	return k.cut
}

// finals covers the final circuits, the one with fewest options first.
func (k *cover) finals(order []*circuit, places map[*circuit]*place) {
	all := make([][]option, 0, len(order))
	floor := k.spent
	for _, c := range order {
		at := k.site.origin()
		if c.feeder != nil {
			at = places[c.feeder]
		}
		options := k.options(c, at)
		if len(options) == 0 {
			return
		}
		floor += options[0].cost
		all = append(all, options)
	}
	if k.most == k.least && floor >= k.best.cost {
		return
	}
	k.spread(k.different(all), all)
}

// different is the lists of options of which no two can be made from the same
// materials alone: one circuit stands for all that are alike in that, the one
// with fewest options first.
func (k *cover) different(all [][]option) [][]option {
	var out [][]option
	seen := map[string]bool{}
	for _, options := range all {
		var name []byte
		for i := range options {
			for _, m := range options[i].uses {
				name = append(name, byte(m), byte(m>>8))
			}
			name = append(name, 0xff, 0xff)
		}
		k.site.worked += len(options)
		if !seen[string(name)] {
			seen[string(name)] = true
			out = append(out, options)
		}
	}
	slices.SortStableFunc(out, func(a, b []option) int { return cmp.Compare(len(a), len(b)) })
	return out
}

// along numbers the cables up to a board.
func (k *cover) along(b behind) int {
	n, known := k.cables[b]
	if !known {
		n = len(k.cables) + 2 // below are the origin without electrodes and with them
		k.cables[b] = n
	}
	return n
}

// upTo is the number of the cables ahead of a circuit.
func (k *cover) upTo(c *circuit) int {
	switch {
	case c.feeder != nil:
		return k.at[c.feeder]
	case k.electrode:
		return 1
	}
	return 0
}

// options returns what a final circuit may be made from, the cheapest first.
// They depend on the cables ahead and not on their devices, so they are worked
// out once for those.
func (k *cover) options(c *circuit, at *place) []option {
	here := k.upTo(c)
	if k.seen[c] == nil {
		k.seen[c] = map[int][]option{}
	}
	options, seen := k.seen[c][here]
	if seen {
		return options
	}
	s := k.site
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
	slices.SortStableFunc(options, func(a, b option) int { return cmp.Compare(a.cost, b.cost) })
	k.seen[c][here] = options
	return options
}

// first returns the cheapest option that the set makes possible, or -1.
func (k *cover) first(options []option) int {
next:
	for i := range options {
		k.site.worked++
		for _, m := range options[i].uses {
			if k.in[m] == 0 {
				continue next
			}
		}
		return i
	}
	return -1
}

// spread adds materials, no more than the set may have, until every final circuit
// has an option, and keeps the cheapest of the smallest sets.
func (k *cover) spread(must, all [][]option) {
	if k.over() {
		return
	}
	for _, options := range must {
		if k.first(options) >= 0 {
			continue
		}
		if k.size >= k.most {
			return
		}
		tried := map[[2]material]bool{}
		k.site.worked += len(options)
		for i := range options {
			uses := options[i].uses
			if k.size+k.missing(uses) > k.most || tried[key(uses)] {
				continue
			}
			tried[key(uses)] = true
			k.take(uses)
			k.spread(must, all)
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
