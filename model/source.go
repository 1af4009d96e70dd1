package model

// What feeds the installation beside the street: where each source is connected,
// what it gives out, and what it is on the far side of.

import (
	"fmt"
	"slices"
	"strings"

	"chargewright/finding"
	"chargewright/job"
	"chargewright/trade"
	"chargewright/works"
)

// Source is a source and where it is connected.
type Source struct {
	Record  *works.Source
	Circuit *Circuit // its own, the one it shares, or that of the point it gives back through; nil straight on a board
	Board   *Board   // that it feeds into; nil while that is not known
	Lacks   finding.Lacks
	model   *Model
}

// Own reports that the circuit ends at the source, and feeds nothing else.
func (s *Source) Own() bool { return s.Circuit != nil && s.Circuit.Record.To == s.Record.Name }

// Shares reports that the source is on a circuit that feeds something of its own.
func (s *Source) Shares() bool { return s.Circuit != nil && !s.Own() && s.Record.Point == "" }

// carries reports whether a source is on a circuit: its own, the one it shares, or
// that of the point it gives back through.
func carries(c *works.Circuit, s *works.Source) bool {
	return c.To != "" && (c.To == s.Name || c.To == s.Point) || c.Name != "" && c.Name == s.Circuit
}

// findSources places the sources of the record.
func (m *Model) findSources() {
	for i := range m.Job.Sources {
		s := &Source{Record: &m.Job.Sources[i], model: m}
		at := s.Record.Thing()
		for _, c := range m.Circuits {
			if carries(c.Record, s.Record) {
				s.Circuit = c
			}
		}
		switch {
		case s.Circuit != nil && s.Circuit.From == nil:
			s.Lacks = s.Circuit.thing.Lack("from", "the board it starts at")
		case s.Circuit != nil:
			s.Board = s.Circuit.From
		case m.board(s.Record.Board) != nil && s.Record.Board != "":
			s.Board = m.board(s.Record.Board)
		default:
			s.Lacks = at.Lack("board", "the board it is connected to", "on circuit", "through point")
			s.Lacks[0].Or = append(s.Lacks[0].Or, "circuits")
		}
		for b := s.Board; b != nil && len(s.Lacks) == 0; b = b.Feed.From {
			if b.Feed == nil {
				if b.Record.FedFrom == "" {
					s.Lacks = m.Unfed(b)
				}
				break
			}
			if b.Feed.From == nil {
				s.Lacks = b.Feed.thing.Lack("from", "the board it starts at")
				break
			}
		}
		if s.Record.Kind.Or("") == trade.VehicleOut && s.Record.Point == "" {
			s.Lacks = append(s.Lacks, at.Lack("through point", "the charge point it gives back through")...)
		}
		m.Sources = append(m.Sources, s)
	}
}

// Way returns the circuits between the source and the origin, nearest first.
func (s *Source) Way() []*Circuit {
	var out []*Circuit
	if s.Circuit != nil {
		out = append(out, s.Circuit)
	}
	for b := s.Board; b != nil && b.Feed != nil; b = b.Feed.From {
		out = append(out, b.Feed)
	}
	return out
}

// RCDs returns every RCD between the source and the origin, nearest it first.
func (s *Source) RCDs() []Protecting {
	if s.Circuit != nil {
		return s.Circuit.RCDs()
	}
	if s.Board == nil {
		return nil
	}
	return append(s.Board.mainRCD(), s.Board.Feed.RCDs()...)
}

// Currents returns the greatest current the source gives out in each line (Ig).
func (s *Source) Currents() Currents {
	i, ok := s.Record.Output.Get()
	if !ok {
		return Currents{Lacks: s.Record.Thing().Lack("output current", "greatest a.c. current it gives out (Ig)")}
	}
	set, said := s.Record.Phases.Get()
	var unplaced finding.Lacks
	switch {
	case s.model.oneLine():
		set = trade.L1
	case said:
	case s.Circuit != nil:
		set, unplaced = s.Circuit.lines()
	default:
		return Currents{Lacks: s.Record.Thing().Lack("phases", "which lines it is on")}
	}
	return Currents{Phase: spread(i, set), Why: []Share{{s.Record.Name, i.String()}}, line: unplaced}
}

// FedInto returns what the sources at a board, and at the boards beyond it, give
// out together (Ig).
func (m *Model) FedInto(b *Board) Currents {
	sum := m.givenBy(func(s *Source) bool { return s.Board != nil && feeds(s.Board, b) })
	for _, s := range m.Sources {
		sum.Lacks = append(sum.Lacks, s.Lacks...)
	}
	return sum
}

// Given returns what all sources give out together in each line.
func (m *Model) Given() Currents {
	return m.givenBy(func(*Source) bool { return true })
}

func (m *Model) givenBy(some func(*Source) bool) Currents {
	sum := Currents{Lacks: m.UnsaidSources()}
	for _, s := range m.Sources {
		if some(s) {
			sum.add(s.Currents())
		}
	}
	return sum
}

// fedMeanwhile returns what sources may have fed while the demand was found: a
// meter of the supply does not see it, and a cloud brings it back.
func (m *Model) fedMeanwhile() Currents {
	how := m.Job.Supply.Demand.KnownBy.Or(trade.Measured)
	if !m.hasSource(false) && !m.Job.Supply.OnSite.Or(false) && len(m.Job.Supply.OtherSources) == 0 || how != trade.Measured && how != trade.Declared {
		return Currents{}
	}
	off, said := m.Job.Supply.SourcesOff.Get()
	switch {
	case !said:
		return Currents{Lacks: works.TheSupply.Lack("sources off meanwhile", "whether the sources on site were off while the demand was measured")}
	case off:
		return Currents{}
	}
	return m.givenBy(func(s *Source) bool { return s.Record.Kind.Or("") != trade.VehicleOut }) // which comes with the work
}

// SourceNames returns what a job says there is of sources, by name.
func SourceNames(j *job.Job) []string {
	var out []string
	vehicle := false
	for _, s := range j.Sources {
		out = append(out, s.Name)
		vehicle = vehicle || s.Kind.Or("") == trade.VehicleOut
	}
	for _, name := range j.Supply.OtherSources {
		if !slices.Contains(out, name) {
			out = append(out, name)
		}
	}
	if j.Supply.OnSite.Or(false) && len(out) == 0 {
		out = append(out, "generation or storage")
	}
	if j.Notification.ToSupply.Or(false) && !vehicle {
		out = append(out, "a vehicle that feeds back")
	}
	return out
}

// hasSource reports whether a source that is a vehicle is entered, or one that is
// none.
func (m *Model) hasSource(vehicle bool) bool {
	return slices.ContainsFunc(m.Job.Sources, func(s works.Source) bool { return (s.Kind.Or("") == trade.VehicleOut) == vehicle })
}

// UnsaidSources is what keeps it from being known which sources there are: the
// question unanswered, or one that is named and not entered with where it is
// connected and what it gives out.
func (m *Model) UnsaidSources() finding.Lacks {
	s, told := &m.Job.Supply, works.Thing{Path: "notification", Name: "network operator"}
	lacks := finding.Gather(m.Doubted("sources"),
		works.TheSupply.Unless(s.OnSite.IsKnown() || m.hasSource(false) || len(s.OtherSources) > 0, "generation or storage",
			"generation or storage on site, or that there is none", "other sources"),
		told.Unless(m.Job.Notification.ToSupply.IsKnown() || m.hasSource(true), "feeds back", "whether a point can feed the supply"))
	entered := map[string]bool{}
	for _, of := range m.Job.Sources {
		entered[of.Name] = true
	}
	ask := func(what string) {
		lacks = append(lacks, finding.Lack{Path: "sources", Of: what, What: "where it is connected, and the current it gives out"})
	}
	for _, name := range s.OtherSources {
		if !entered[name] {
			ask(name)
		}
	}
	if s.OnSite.Or(false) && len(s.OtherSources) == 0 && !m.hasSource(false) {
		ask("generation or storage")
	}
	if m.Job.Notification.ToSupply.Or(false) && !m.hasSource(true) {
		ask("the vehicle that feeds back")
	}
	return lacks
}

// doubtSources holds what is said of sources in general against those entered.
func (m *Model) doubtSources() {
	var names []string
	for _, s := range m.Job.Sources {
		names = append(names, s.Name)
	}
	names = append(names, m.Job.Supply.OtherSources...)
	if on, said := m.Job.Supply.OnSite.Get(); said && !on && (m.hasSource(false) || len(m.Job.Supply.OtherSources) > 0) {
		m.doubt(Doubt{Key: "sources", Of: works.TheSupply, Paths: []string{"supply/generation or storage", "sources", "supply/other sources"},
			Facts: "what is said of generation and storage", Says: "there is none on site, and there is " + strings.Join(names, ", "),
			Next: "look for every source, and enter it or take it out"}, "sources")
	}
	if back, said := m.Job.Notification.ToSupply.Get(); said && !back && m.hasSource(true) {
		m.doubt(Doubt{Key: "sources", Of: works.TheSupply, Paths: []string{"notification/feeds back", "sources"},
			Facts: "whether a vehicle feeds back", Says: "no point can feed the supply, and a vehicle is entered that does",
			Next: "ask the point's maker whether it gives back"}, "sources")
	}
	for i := range m.Job.Sources {
		s := &m.Job.Sources[i]
		if s.Board == "" {
			continue
		}
		for k := range m.Job.Circuits {
			c := &m.Job.Circuits[k]
			if carries(c, s) && c.From != "" && c.From != s.Board {
				m.doubt(Doubt{Key: "sources", Of: s.Thing(), Paths: []string{s.Thing().Path + "/board", c.Thing().Path + "/from"},
					Facts: "board of the source and of its circuit",
					Says:  fmt.Sprintf("%s is said to be on %s, and %s starts at %s", s.Name, s.Board, c.Name, c.From),
					Next:  "follow the cable from the source to its board"}, "sources")
			}
		}
	}
}

// Charges returns the load that a battery is entered as while it takes from the
// supply, and what keeps that from being known.
func (s *Source) Charges() (*works.Load, finding.Lacks) {
	for i := range s.model.Job.Loads {
		if l := &s.model.Job.Loads[i]; l.Name == s.Record.Charging {
			return l, nil
		}
	}
	return nil, s.Record.Thing().Unless(s.Record.Charging != "", "charged as", "the load it is entered as, or none where it takes nothing")
}

// Source returns the source the circuit ends at, if it ends at one.
func (c *Circuit) Source() *Source {
	for _, s := range c.model.Sources {
		if s.Circuit == c && s.Own() {
			return s
		}
	}
	return nil
}

// SourceWords returns what there is of sources, each with what is known of it:
// "roof panels: solar, 16 A into board main".
func (m *Model) SourceWords() []string {
	out := SourceNames(m.Job)
	for _, s := range m.Sources {
		var said []string
		if kind, ok := s.Record.Kind.Get(); ok {
			said = append(said, string(kind))
		}
		if i, ok := s.Record.Output.Get(); ok {
			said = append(said, i.String())
		}
		words := strings.Join(said, ", ")
		if s.Board != nil {
			words = strings.TrimSpace(words + " into " + s.Board.Record.Thing().Name)
		}
		if i := slices.Index(out, s.Record.Name); words != "" {
			out[i] += ": " + words
		}
	}
	return out
}
