package job

// What the parts of a job say of each other: names that must exist, boards and
// points that something must feed, phases that must be there.

import (
	"fmt"
	"slices"
	"strings"

	"chargewright/quantity"
	"chargewright/reading"
	"chargewright/sheet"
	"chargewright/trade"
	"chargewright/works"
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

	boards      map[string]*works.Board
	boardNames  *roll
	ends        *roll // what a circuit may end at
	places      *roll // what a reading may be of
	electrodes  *roll
	limiters    *roll
	instruments *roll
	rcds        *roll
	inRing      map[string]bool // boards that feed themselves
}

func check(j *Job, root *node, b *binder) {
	c := &checker{binder: b, job: j, root: root, boards: map[string]*works.Board{}, inRing: map[string]bool{}}
	var rcds []string
	for i := range j.Boards {
		board := &j.Boards[i]
		if c.boards[board.Name] == nil && board.Name != "" {
			c.boards[board.Name] = board
		}
		rcds = append(rcds, rcdNames(board)...)
	}
	boards := namesOf(j.Boards, func(b *works.Board) string { return b.Name })
	points := namesOf(j.Points, func(p *works.Point) string { return p.Name })
	loads := namesOf(j.Loads, func(l *works.Load) string { return l.Name })
	sources := namesOf(j.Sources, func(s *works.Source) string { return s.Name })
	circuits := namesOf(j.Circuits, func(c *works.Circuit) string { return c.Name })
	electrodes := namesOf(j.Electrodes, func(e *works.Electrode) string { return e.Name })
	c.boardNames = rollOf("board", boards)
	c.ends = rollOf("board, point, load or source", boards, points, loads, sources)
	c.places = rollOf("board, circuit or point", []string{theSupply}, boards, circuits, points, electrodes, rcds, j.Supply.Conductors())
	c.electrodes = rollOf("electrode", electrodes)
	c.limiters = rollOf("limiter", namesOf(j.Limiters, func(l *works.Limiter) string { return l.Name }))
	c.instruments = rollOf("instrument", namesOf(j.Instruments, func(i *works.Instrument) string { return i.Name }))
	c.rcds = rollOf("RCD", rcds)

	c.names()
	c.references()
	c.rings()
	c.feeds()
	c.phases()
	c.ways()
	c.photos()
	c.abouts()
}

func rcdNames(b *works.Board) []string {
	return namesOf(b.RCDs, func(r *works.BoardRCD) string { return r.Name })
}

// roll is the names of one kind of thing.
type roll struct {
	kind  string
	names []string
	has   map[string]bool
}

func rollOf(kind string, lists ...[]string) *roll {
	r := &roll{kind: kind, has: map[string]bool{}}
	for _, name := range slices.Concat(lists...) {
		if name != "" && !r.has[name] {
			r.names = append(r.names, name)
			r.has[name] = true
		}
	}
	return r
}

func namesOf[T any](of []T, name func(*T) string) []string {
	out := make([]string, len(of))
	for i := range of {
		out[i] = name(&of[i])
	}
	return out
}

// spot is a place in the file that a fault can be reported at.
type spot struct {
	c    *checker
	of   *Part
	node *node
	w    *where
	line int
}

func (c *checker) whole() spot { return spot{c: c, of: jobShape, node: c.root} }

// field returns the spot of a field under s.
func (s spot) field(name string) spot {
	f := s.of.byName[name]
	out := spot{c: s.c, of: f.Of, node: nothing, w: &where{up: s.w, field: f}, line: s.line}
	if p := s.node.get(f); p != nil {
		out.node, out.line = p.value, p.value.at.line
	}
	return out
}

// item returns the spot of item i, counted from 0, of the list under s.
func (s spot) item(list string, i int) spot {
	f := s.of.byName[list]
	out := spot{c: s.c, of: f.Of, node: nothing, line: s.line}
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
	s.c.add(Problem{Line: s.line, Field: s.w.String(), Want: fmt.Sprintf(format, args...), Err: sheet.ErrUnfinished})
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
	for i, s := range c.job.Sources {
		one("sources", "source", i, s.Name)
	}
}

// names reports a name that names nothing on the roll, and is none of the
// words that may stand instead.
func (s spot) names(name string, r *roll, instead ...string) {
	if name == "" || r.has[name] || slices.Contains(instead, name) || s.c.full() {
		return
	}
	switch near := reading.Near(name, slices.Concat(instead, r.names)); {
	case near != "":
		s.fault(name, "no %s of that name; the nearest is %s", r.kind, near)
	case len(r.names) == 0:
		s.fault(name, "no %s of that name; there is none yet", r.kind)
	default:
		s.fault(name, "no %s of that name; there is %s", r.kind, some(r.names))
	}
}

// references reports names that name nothing.
func (c *checker) references() {
	j, whole := c.job, c.whole()
	s := whole.field("supply")
	s.field("electrode").names(j.Supply.Electrode, c.electrodes)
	s.stated("Ze", j.Supply.Ze.Instrument)
	s.stated("line-neutral loop", j.Supply.LineNeutralLoop.Instrument)
	s.stated("Ipf", j.Supply.Ipf.Instrument)
	s.stated("maximum demand", j.Supply.Demand.Instrument)
	for i, e := range j.Electrodes {
		whole.item("electrodes", i).stated("resistance", e.Resistance.Instrument)
	}
	for i, b := range j.Boards {
		if b.FedFrom != "" && b.FedFrom != theSupply {
			whole.item("boards", i).field("fed from").fault(b.FedFrom, "only supply is written here; another board is fed by a circuit, with to: %s", b.Name)
		}
	}
	for i, l := range j.Loads {
		whole.item("loads", i).field("board").names(l.Board, c.boardNames)
	}
	points := rollOf("point", namesOf(j.Points, func(p *works.Point) string { return p.Name }))
	circuits := rollOf("circuit", namesOf(j.Circuits, func(c *works.Circuit) string { return c.Name }))
	loads := rollOf("load", namesOf(j.Loads, func(l *works.Load) string { return l.Name }))
	for i, of := range j.Sources {
		s := whole.item("sources", i)
		s.field("board").names(of.Board, c.boardNames)
		s.field("on circuit").names(of.Circuit, circuits)
		s.field("through point").names(of.Point, points)
		s.field("charged as").names(of.Charging, loads, noneOf)
		s.field("electrode").names(of.Electrode, c.electrodes)
	}
	for i, ct := range j.Circuits {
		s := whole.item("circuits", i)
		s.field("from").names(ct.From, c.boardNames)
		s.field("to").names(ct.To, c.ends)
		if b := c.boards[ct.From]; b != nil {
			s.field("shared RCD").names(ct.SharedRCD, rollOf("RCD in "+b.Name, rcdNames(b)), noneOf)
		} else {
			s.field("shared RCD").names(ct.SharedRCD, c.rcds, noneOf)
		}
	}
	for i, p := range j.Points {
		s := whole.item("points", i)
		s.field("limiter").names(p.Limiter, c.limiters, noneOf)
		s.field("earthing").field("electrode").names(p.Earthing.Electrode, c.electrodes)
	}
	for i, l := range j.Limiters {
		whole.item("limiters", i).field("at").names(l.At, c.boardNames, theSupply)
	}
	people := rollOf("person", namesOf(j.People, func(p *works.Person) string { return p.Name }))
	for i, sg := range j.Certificate.Sign {
		whole.field("certificate").item("signing", i).field("name").names(sg.Name, people)
	}
	whole.field("notification").field("installer").names(j.Notification.Installer, people)
	for _, name := range j.Certificate.Circuits {
		whole.field("certificate").field("circuits").names(name, circuits)
	}
	for i, l := range j.Limitations {
		whole.item("limitations", i).field("at").names(l.At, c.places)
	}
	for i, r := range j.Runs {
		whole.item("runs", i).field("point").names(r.Point, points)
	}
	for i, r := range j.Readings {
		s := whole.item("readings", i)
		s.field("at").names(r.At, c.places)
		s.field("instrument").names(r.Instrument, c.instruments)
		if _, err := r.Ways(); err != nil {
			s.field("function").fault(r.Function, "%s", want(err))
		}
	}
}

// stated reports an instrument that is not listed, of a fact under s.
func (s spot) stated(field, instrument string) {
	s.field(field).field("instrument").names(instrument, s.c.instruments)
}

// feeder is a circuit or the supply, as what feeds a board or a point.
type feeder struct {
	circuit *works.Circuit // nil for the supply
	line    int
}

func (f *feeder) String() string {
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
	for i := range j.Circuits {
		ct := &j.Circuits[i]
		by[ct.To] = append(by[ct.To], feeder{ct, whole.item("circuits", i).line})
		settled = settled && c.ends.has[ct.To]
	}
	told := map[string]bool{"": true, theSupply: true, noneOf: true}
	fed := func(s spot, name string, fs []feeder, right string) {
		if told[name] {
			return
		}
		told[name] = true
		switch {
		case len(fs) > 1:
			s.fault("", "it is fed %s, by %s; once is wanted", times(len(fs)), some(namesOf(fs, (*feeder).String)))
		case len(fs) == 0 && settled:
			s.missing("nothing feeds it; %s is wanted", right)
		}
	}
	for i, b := range j.Boards {
		fs := by[b.Name]
		switch {
		case c.inRing[b.Name], b.FedFrom != "" && b.FedFrom != theSupply:
			continue // said already
		case b.FedFrom == theSupply:
			fs = append([]feeder{{}}, fs...)
		}
		fed(whole.item("boards", i), b.Name, fs, "fed from: supply, or a circuit with to: "+b.Name+",")
	}
	for i, p := range j.Points {
		fed(whole.item("points", i), p.Name, by[p.Name], "a circuit with to: "+p.Name)
	}
}

func times(n int) string {
	if n == 2 {
		return "twice"
	}
	return fmt.Sprintf("%d times", n)
}

// rings reports circuits that run in a ring, at the circuit that closes it.
func (c *checker) rings() {
	from := map[string][]int{} // circuits from a board to a board
	for i, ct := range c.job.Circuits {
		if c.boards[ct.From] != nil && c.boards[ct.To] != nil {
			from[ct.From] = append(from[ct.From], i)
		}
	}
	done := map[string]bool{}
	var path []string
	var follow func(board string)
	follow = func(board string) {
		done[board] = true
		path = append(path, board)
		for _, i := range from[board] {
			to := c.job.Circuits[i].To
			if k := slices.Index(path, to); k >= 0 {
				ring := append(slices.Clone(path[k:]), to)
				for _, b := range ring {
					c.inRing[b] = true
				}
				c.whole().item("circuits", i).field("to").fault(to, "the circuits run in a ring, %s; a board cannot feed itself", strings.Join(ring, " to "))
			} else if !done[to] {
				follow(to)
			}
		}
		path = path[:len(path)-1]
	}
	for _, origin := range []bool{true, false} { // from the supply down, then what it does not reach
		for _, b := range c.job.Boards {
			if (b.FedFrom == theSupply) == origin && !done[b.Name] {
				follow(b.Name)
			}
		}
	}
}

// phases reports three-phase circuits and loads where there is one phase.
func (c *checker) phases() {
	is := func(m quantity.Maybe[int], n int) bool { v, known := m.Get(); return known && v == n }
	j, whole := c.job, c.whole()
	three := func(s spot, phases quantity.Maybe[trade.PhaseSet], board string) {
		set, _ := phases.Get()
		if set != trade.ThreePhase {
			return
		}
		if b := c.boards[board]; b != nil && is(b.Phases, 1) {
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
	for i, s := range j.Sources {
		three(whole.item("sources", i), s.Phases, s.Board)
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
