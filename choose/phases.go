package choose

// Which line serves each single-phase point: the least current in the most
// loaded line, then the least in the neutral.

import (
	"cmp"
	"math"
	"slices"

	"chargewright/finding"
	"chargewright/model"
	"chargewright/quantity"
	"chargewright/trade"
)

// PhaseChoice is the lines chosen for the points of one board.
type PhaseChoice struct {
	Board   string            `json:"board"`
	Lines   map[string]string `json:"lines"`   // by circuit
	Current [3]float64        `json:"current"` // in each line of the board, points in full
	Neutral float64           `json:"neutral"` // phasor sum of the three
	Exact   bool              `json:"exact"`
}

// allocation is loads shared out over three lines.
type allocation struct {
	Line    []int // for each load, 0 to 2
	Current [3]float64
	Neutral float64
	Exact   bool // nothing is better
}

// tenths is the step in which currents are counted when they are shared out.
const tenths = 10

// mostStates is where the exact count of states stops; 24 points of any mixture
// that charge points are made in stay far below it.
const mostStates = 2_000_000

// allocate shares single-phase loads out over three lines that already carry
// base, so that the most loaded line carries least, and of those ways the one
// with the least neutral current.
//
//	currents  of the loads, in A, counted to 0.1 A
//	formula   IN = √(I1² + I2² + I3² − I1I2 − I2I3 − I3I1), equal power factors
//
// Every reachable sum of the lines is followed, less those that a simple
// sharing already beats, so the result is exact; with more than two million
// sums the rest is cut and Exact is false.
func allocate(currents []float64, base [3]float64) allocation {
	type sum [3]int
	type step struct {
		from sum
		line int
	}
	start := sum{count(base[0]), count(base[1]), count(base[2])}
	order := make([]int, len(currents))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(currents[b], currents[a]) })
	most := simple(currents, order, start)
	layers := make([]map[sum]step, len(order))
	reached := []sum{start}
	exactly, states := true, 0
	for n, i := range order {
		next := map[sum]step{}
		var ends []sum // in the order they were reached, so that the answer is always the same
		for _, from := range reached {
			for line := range 3 {
				to := from
				to[line] += count(currents[i])
				if to[line] > most {
					continue
				}
				if _, seen := next[to]; !seen {
					next[to] = step{from, line}
					ends = append(ends, to)
				}
			}
		}
		if states += len(next); states > mostStates {
			exactly = false
			slices.SortStableFunc(ends, func(a, b sum) int { return cmp.Compare(neutral(a), neutral(b)) })
			ends = ends[:len(ends)/2+1]
		}
		layers[n], reached = next, ends
	}
	best, found := start, false
	for _, end := range reached {
		if !found || better(end, best) {
			best, found = end, true
		}
	}
	a := allocation{Line: make([]int, len(currents)), Exact: exactly}
	at := best
	for n := len(order) - 1; n >= 0; n-- {
		s := layers[n][at]
		a.Line[order[n]], at = s.line, s.from
	}
	for k := range 3 {
		a.Current[k] = base[k]
	}
	for i, line := range a.Line {
		a.Current[line] += currents[i]
	}
	a.Neutral = neutralOf(a.Current)
	return a
}

func count(amperes float64) int { return int(math.Round(amperes * tenths)) }

// simple shares the loads, largest first, each to the least loaded line, and
// returns what the most loaded line then carries: no answer need be worse.
func simple(currents []float64, order []int, sum [3]int) int {
	for _, i := range order {
		least := 0
		for k := range sum {
			if sum[k] < sum[least] {
				least = k
			}
		}
		sum[least] += count(currents[i])
	}
	return max(sum[0], sum[1], sum[2])
}

// neutral returns the square of the neutral current, in steps.
func neutral(s [3]int) int {
	return s[0]*s[0] + s[1]*s[1] + s[2]*s[2] - s[0]*s[1] - s[1]*s[2] - s[2]*s[0]
}

func neutralOf(i [3]float64) float64 {
	return math.Sqrt(max(0, i[0]*i[0]+i[1]*i[1]+i[2]*i[2]-i[0]*i[1]-i[1]*i[2]-i[2]*i[0]))
}

// better compares two ends: the most loaded line, the neutral, then the lines
// in order, so that the answer is always the same one.
func better(a, b [3]int) bool {
	if c := cmp.Compare(max(a[0], a[1], a[2]), max(b[0], b[1], b[2])); c != 0 {
		return c < 0
	}
	if c := cmp.Compare(neutral(a), neutral(b)); c != 0 {
		return c < 0
	}
	return slices.Compare(a[:], b[:]) > 0
}

// choosePhases gives a line to every new single-phase circuit that has none,
// board by board. Of circuits of one current the longest go to the lines that
// carry least, where the feeder drops least.
func (s *site) choosePhases() {
	if n, ok := s.job.Supply.Phases.Get(); !ok || n != 3 {
		for _, c := range s.model.Circuits {
			if c.Point != nil && !c.Record.Existing && ok {
				fill(s, &c.Record.Phases, trade.L1, string(trade.L1), "circuits", c.Record.Name, "phases")
			}
		}
		return
	}
	lines := [3]trade.PhaseSet{trade.L1, trade.L2, trade.L3}
	for _, b := range s.model.Boards {
		var open []*model.Circuit
		var currents []float64
		var base [3]float64
		if b.Feed == nil {
			if existing := s.model.ExistingDemand(); existing.Known() {
				base = amperes(existing.Phase)
			}
		} else {
			for _, l := range b.Loads {
				add(&base, s.model.LoadCurrents(l).Phase)
			}
		}
		for _, c := range b.Circuits {
			ib := c.DesignCurrents()
			switch {
			case c.Record.Phases.IsKnown() || c.Record.Existing:
				if c.Load == nil || b.Feed != nil { // at the origin loads are in the existing demand
					add(&base, ib.Phase)
				}
			case c.PhaseCount() == 3:
				c.Record.Phases = quantity.Known(trade.ThreePhase)
				s.put(string(trade.ThreePhase), "circuits", c.Record.Name, "phases")
				add(&base, ib.Phase)
			case c.PhaseCount() == 1 && ib.Known():
				open = append(open, c)
				currents = append(currents, float64(ib.Greatest()))
			default:
				s.lack(finding.Gather(c.Thing().Lack("phases", "phases, or the rated current of what it feeds"), ib.Lacks))
			}
		}
		if len(open) == 0 {
			continue
		}
		a := allocate(currents, base)
		longestToLightest(open, currents, &a)
		choice := PhaseChoice{Board: b.Record.Name, Lines: map[string]string{}, Current: a.Current, Neutral: a.Neutral, Exact: a.Exact}
		for i, c := range open {
			line := lines[a.Line[i]]
			c.Record.Phases = quantity.Known(line)
			s.put(string(line), "circuits", c.Record.Name, "phases")
			choice.Lines[c.Record.Name] = string(line)
		}
		s.out.Phases = append(s.out.Phases, choice)
	}
}

// longestToLightest swaps circuits of one current between lines.
func longestToLightest(open []*model.Circuit, currents []float64, a *allocation) {
	groups := map[float64][]int{}
	for i := range open {
		groups[currents[i]] = append(groups[currents[i]], i)
	}
	for _, group := range groups {
		var given []int
		for _, i := range group {
			given = append(given, a.Line[i])
		}
		slices.SortStableFunc(given, func(x, y int) int { return cmp.Compare(a.Current[x], a.Current[y]) })
		slices.SortStableFunc(group, func(x, y int) int {
			return cmp.Compare(open[y].Length().Value, open[x].Length().Value)
		})
		for n, i := range group {
			a.Line[i] = given[n]
		}
	}
}

func amperes(i [3]quantity.Amperes) [3]float64 {
	return [3]float64{float64(i[0]), float64(i[1]), float64(i[2])}
}

func add(to *[3]float64, i [3]quantity.Amperes) {
	for k := range to {
		to[k] += float64(i[k])
	}
}
