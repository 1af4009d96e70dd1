package job

// What the parts of a job say of each other: names that must exist, boards and
// points that something must feed, phases that must be there.

import (
	"fmt"
	"slices"
	"strings"

	"chargewright/quantity"
)

const (
	theSupply = "supply" // the name of the supply where a board may be named too
	noneOf    = "none"   // written where there is deliberately none
)

// checker holds the parts of one job against each other.
type checker struct {
	*binder
	job  *Job
	root *node
}

func check(j *Job, root *node, b *binder) {
	c := &checker{b, j, root}
	c.names()
	c.references()
	c.rings()
	c.feeds()
	c.phases()
	c.ways()
}

// spot is a place in the file that a fault can be reported at.
type spot struct {
	c    *checker
	of   *shape
	node *node
	w    *where
	line int
}

func (c *checker) whole() spot { return spot{c: c, of: jobShape, node: c.root} }

// field returns the spot of a field under s.
func (s spot) field(name string) spot {
	f := s.of.byName[name]
	out := spot{c: s.c, of: f.of, node: nothing, w: &where{up: s.w, field: f}, line: s.line}
	if p := s.node.get(f); p != nil {
		out.node, out.line = p.value, p.value.at.line
	}
	return out
}

// item returns the spot of item i, counted from 0, of the list under s.
func (s spot) item(list string, i int) spot {
	f := s.of.byName[list]
	out := spot{c: s.c, of: f.of, node: nothing, line: s.line}
	if p := s.node.get(f); p != nil && i < len(p.value.items) {
		out.node = p.value.items[i]
		out.line = out.node.at.line
	}
	out.w = &where{up: s.w, field: f, item: i + 1, node: out.node}
	return out
}

// fault reports a fault at the spot.
func (s spot) fault(found, format string, args ...any) {
	s.c.binder.fault(s.w, s.line, found, fmt.Sprintf(format, args...))
}

// missing reports that something beside the spot is still to be written.
func (s spot) missing(format string, args ...any) {
	s.c.add(Problem{Line: s.line, Field: s.w.String(), Want: fmt.Sprintf(format, args...), unfinished: true})
}

// names refuses names that another part has, where either could be meant.
func (c *checker) names() {
	taken := map[string]string{}
	one := func(list, what string, i int, name string) {
		if name == "" {
			return
		}
		s := c.whole().item(list, i)
		if name == theSupply || name == noneOf {
			s.fault("", "%s means something else in a job file; another name is wanted", name)
			return
		}
		if other, ok := taken[name]; ok && other != what {
			s.fault("", "a %s has the same name; a name of its own is wanted", other)
			return
		}
		taken[name] = what
	}
	for i, b := range c.job.Boards {
		one("boards", "board", i, b.Name)
	}
	for i, p := range c.job.Points {
		one("points", "point", i, p.Name)
	}
	for i, l := range c.job.Loads {
		one("loads", "load", i, l.Name)
	}
}

// known reports a name that names nothing of the kinds listed.
func (s spot) known(name, kinds string, lists ...[]string) bool {
	if name == "" {
		return true
	}
	all := slices.Concat(lists...)
	if slices.Contains(all, name) {
		return true
	}
	all = slices.DeleteFunc(all, func(n string) bool { return n == "" })
	switch near := nearest(name, all); {
	case near != "":
		s.fault(name, "no %s of that name; the nearest is %s", kinds, near)
	case len(all) == 0:
		s.fault(name, "no %s of that name; none is written", kinds)
	default:
		s.fault(name, "no %s of that name; there is %s", kinds, some(all))
	}
	return false
}

func namesOf[T any](of []T, name func(*T) string) []string {
	out := make([]string, len(of))
	for i := range of {
		out[i] = name(&of[i])
	}
	return out
}

func (j *Job) boardNames() []string {
	return namesOf(j.Boards, func(b *Board) string { return b.Name })
}
func (j *Job) pointNames() []string {
	return namesOf(j.Points, func(p *Point) string { return p.Name })
}
func (j *Job) loadNames() []string { return namesOf(j.Loads, func(l *Load) string { return l.Name }) }
func (j *Job) circuitNames() []string {
	return namesOf(j.Circuits, func(c *Circuit) string { return c.Name })
}
func (j *Job) electrodeNames() []string {
	return namesOf(j.Electrodes, func(e *Electrode) string { return e.Name })
}
func (j *Job) limiterNames() []string {
	return namesOf(j.Limiters, func(l *Limiter) string { return l.Name })
}
func (j *Job) instrumentNames() []string {
	return namesOf(j.Instruments, func(i *Instrument) string { return i.Name })
}
func (b *Board) rcdNames() []string {
	return namesOf(b.RCDs, func(r *BoardRCD) string { return r.Name })
}

// references reports names that name nothing.
func (c *checker) references() {
	j, whole := c.job, c.whole()
	boards, points, loads, circuits := j.boardNames(), j.pointNames(), j.loadNames(), j.circuitNames()
	electrodes, limiters, instruments := j.electrodeNames(), j.limiterNames(), j.instrumentNames()
	supply, none := []string{theSupply}, []string{noneOf}

	s := whole.field("supply")
	s.field("electrode").known(j.Supply.Electrode, "electrode", electrodes)
	for field, instrument := range map[string]string{
		"Ze": j.Supply.Ze.Instrument, "line-neutral loop": j.Supply.LineNeutralLoop.Instrument,
		"Ipf": j.Supply.Ipf.Instrument, "maximum demand": j.Supply.Demand.Instrument,
	} {
		s.field(field).field("instrument").known(instrument, "instrument", instruments)
	}
	for i, e := range j.Electrodes {
		whole.item("electrodes", i).field("resistance").field("instrument").known(e.Resistance.Instrument, "instrument", instruments)
	}
	var rcds []string
	for i := range j.Boards {
		b := &j.Boards[i]
		if b.FedFrom != "" && b.FedFrom != theSupply {
			whole.item("boards", i).field("fed from").fault(b.FedFrom, "only supply is written here; another board is fed by a circuit, with to: %s", b.Name)
		}
		rcds = append(rcds, b.rcdNames()...)
	}
	for i, l := range j.Loads {
		whole.item("loads", i).field("board").known(l.Board, "board", boards)
	}
	for i, ct := range j.Circuits {
		s := whole.item("circuits", i)
		from := s.field("from").known(ct.From, "board", boards)
		s.field("to").known(ct.To, "board, point or load", boards, points, loads)
		if b, ok := j.Board(ct.From); ok && from {
			s.field("shared RCD").known(ct.SharedRCD, "RCD in "+b.Name, b.rcdNames(), none)
		} else {
			s.field("shared RCD").known(ct.SharedRCD, "RCD", rcds, none)
		}
	}
	for i, p := range j.Points {
		s := whole.item("points", i)
		s.field("limiter").known(p.Limiter, "limiter", limiters, none)
		s.field("earthing").field("electrode").known(p.Earthing.Electrode, "electrode", electrodes)
	}
	for i, l := range j.Limiters {
		whole.item("limiters", i).field("at").known(l.At, "board", boards, supply)
	}
	for i, r := range j.Readings {
		s := whole.item("readings", i)
		s.field("at").known(r.At, "board, circuit or point", supply, boards, circuits, points, electrodes, rcds)
		s.field("instrument").known(r.Instrument, "instrument", instruments)
	}
}

// feeder is a circuit or the supply, as what feeds a board or a point.
type feeder struct {
	circuit *Circuit // nil for the supply
	line    int
}

func (f feeder) String() string {
	if f.circuit == nil {
		return "the supply"
	}
	if f.line == 0 {
		return "circuit " + f.circuit.Name
	}
	return fmt.Sprintf("circuit %s (line %d)", f.circuit.Name, f.line)
}

// feeds reports boards and points that are fed twice, or by nothing. While a
// circuit's end is empty or names nothing, it may be the one that is missed.
func (c *checker) feeds() {
	j, whole := c.job, c.whole()
	by := map[string][]feeder{}
	settled := true
	ends := slices.Concat(j.boardNames(), j.pointNames(), j.loadNames())
	for i := range j.Circuits {
		ct := &j.Circuits[i]
		by[ct.To] = append(by[ct.To], feeder{ct, whole.item("circuits", i).line})
		if ct.To == "" || !slices.Contains(ends, ct.To) {
			settled = false
		}
	}
	fed := func(s spot, name string, fs []feeder, right string) {
		switch {
		case name == "":
		case len(fs) > 1:
			var each []string
			for _, f := range fs {
				each = append(each, f.String())
			}
			s.fault("", "it is fed %s, by %s; once is wanted", times(len(fs)), allOf(each))
		case len(fs) == 0 && settled:
			s.missing("nothing feeds it; %s is wanted", right)
		}
	}
	for i, b := range j.Boards {
		if c.inRing(b.Name) || slices.Index(j.boardNames(), b.Name) != i {
			continue
		}
		fs := by[b.Name]
		if b.FedFrom == theSupply {
			fs = append([]feeder{{}}, fs...)
		} else if b.FedFrom != "" {
			continue // said already
		}
		fed(whole.item("boards", i), b.Name, fs, "fed from: supply, or a circuit with to: "+b.Name+",")
	}
	for i, p := range j.Points {
		if slices.Index(j.pointNames(), p.Name) == i {
			fed(whole.item("points", i), p.Name, by[p.Name], "a circuit with to: "+p.Name)
		}
	}
}

func times(n int) string {
	if n == 2 {
		return "twice"
	}
	return fmt.Sprintf("%d times", n)
}

// below returns the boards that the circuits from board name end at.
func (j *Job) below(name string) []string {
	var out []string
	for _, ct := range j.Circuits {
		if ct.From == name && ct.To != "" && slices.Contains(j.boardNames(), ct.To) {
			out = append(out, ct.To)
		}
	}
	return out
}

// route returns the boards from one board down to another, both included, or
// nothing when there is no way. A board that feeds itself is a way.
func (j *Job) route(from, to string) []string {
	var walk func(at string, seen []string) []string
	dead := map[string]bool{}
	walk = func(at string, seen []string) []string {
		for _, next := range j.below(at) {
			if next == to {
				return append(seen, next)
			}
			if slices.Contains(seen, next) || dead[next] {
				continue
			}
			if found := walk(next, append(seen, next)); found != nil {
				return found
			}
			dead[next] = true
		}
		return nil
	}
	return walk(from, []string{from})
}

func (c *checker) inRing(board string) bool { return c.job.route(board, board) != nil }

// rings reports circuits that run in a ring, once for each ring, at the
// circuit that closes it.
func (c *checker) rings() {
	var told []string
	for _, b := range c.job.Boards {
		if slices.Contains(told, b.Name) {
			continue
		}
		ring := c.job.route(b.Name, b.Name)
		if ring == nil {
			continue
		}
		told = append(told, ring...)
		for i, ct := range c.job.Circuits {
			if ct.From == ring[len(ring)-2] && ct.To == b.Name {
				c.whole().item("circuits", i).field("to").fault(ct.To, "the circuits run in a ring, %s; a board cannot feed itself", strings.Join(ring, " to "))
				break
			}
		}
	}
}

// phases reports three-phase circuits and loads where there is one phase.
func (c *checker) phases() {
	is := func(m quantity.Maybe[int], n int) bool { v, known := m.Get(); return known && v == n }
	j, whole := c.job, c.whole()
	three := func(s spot, phases quantity.Maybe[PhaseSet], board string) {
		set, _ := phases.Get()
		if set != ThreePhase {
			return
		}
		if b, ok := j.Board(board); ok && is(b.Phases, 1) {
			s.field("phases").fault(string(set), "board %s is single-phase; L1, L2 or L3 is wanted", b.Name)
		} else if is(j.Supply.Phases, 1) {
			s.field("phases").fault(string(set), "the supply is single-phase; L1, L2 or L3 is wanted")
		}
	}
	for i, ct := range j.Circuits {
		three(whole.item("circuits", i), ct.Phases, ct.From)
	}
	for i, l := range j.Loads {
		three(whole.item("loads", i), l.Phases, l.Board)
	}
}

// ways reports boards with more ways free than they have.
func (c *checker) ways() {
	for i, b := range c.job.Boards {
		all, known := b.Ways.Get()
		if free, ok := b.WaysFree.Get(); ok && known && free > all {
			c.whole().item("boards", i).field("ways free").fault(fmt.Sprint(free), "the board has %d ways; at most %d is wanted", all, all)
		}
	}
}
