package drawing

import (
	"fmt"
	"strings"

	"chargewright/model"
	"chargewright/quantity"
	"chargewright/trade"
	"chargewright/works"
)

// origin is the stations from the street to the board at the origin.
func (l *line) origin() []*station {
	out := []*station{l.street(), l.cutOut(), l.meter(), l.mainEarth()}
	var boards []*model.Board
	for _, b := range l.m.Boards {
		if b.Feed == nil {
			boards = append(boards, b)
		}
	}
	if len(boards) == 0 {
		return append(out, &station{id: "board", title: "Main board", symbol: unknownSymbol(), lane: l.lane(), missing: []string{"which board the supply feeds"}})
	}
	for _, b := range boards {
		out = append(out, l.boardStations(b)...)
	}
	return out
}

// lane is what runs beside the line below the main earthing terminal.
func (l *line) lane() earthLane {
	if !l.m.Job.Supply.Earthing.IsKnown() {
		return laneUnknown
	}
	return laneJoins
}

func (l *line) street() *station {
	supply := &l.m.Job.Supply
	s := &station{id: "street", title: "Supply from the street", symbol: transformerSymbol(), of: []string{works.TheSite.Path}}
	if private, ok := supply.Private.Get(); ok && private {
		s.title = "Supply from the site's own transformer"
	}
	s.knows(list(
		said(s, "earthing system", supply.Earthing, with[trade.EarthingSystem]("%s")),
		said(s, "phases", supply.Phases, phaseWords),
		said(s, "voltage", supply.Voltage, plain[quantity.Volts])))
	s.knows(said(s, "whether looped", supply.Looped, choose("looped: also feeds a neighbour", "not looped")))
	if unmetered, ok := supply.Unmetered.Get(); ok && unmetered {
		s.knows("unmetered")
	}
	if words := l.m.SourceWords(); len(words) > 0 {
		s.knows("also on site: " + strings.Join(words, "; "))
	}
	switch system, _ := supply.Earthing.Get(); system {
	case trade.TNCS:
		s.lane, s.laneLabel = lanePEN, "PEN"
	case trade.TNS:
		s.lane, s.laneLabel = lanePE, "PE"
	case "":
		s.lane, s.laneLabel = laneUnknown, "?"
	}
	return s
}

func phaseWords(n int) string {
	if n == 3 {
		return "three-phase"
	}
	return "single-phase"
}

// service is the lane between the street and the main earthing terminal.
func (l *line) service() earthLane {
	switch system, _ := l.m.Job.Supply.Earthing.Get(); system {
	case trade.TNCS:
		return lanePEN
	case trade.TNS:
		return lanePE
	case "":
		return laneUnknown
	}
	return laneEmpty
}

func (l *line) cutOut() *station {
	supply := &l.m.Job.Supply
	s := &station{id: "cut-out", title: "Cut-out", symbol: fuseSymbol(), lane: l.service(), of: []string{works.TheSupply.Path}}
	s.knows(list(
		said(s, "type of fuse", supply.CutOut.Type, with[standardFamily]("fuse %s")),
		said(s, "rating of fuse", supply.CutOut.Rating, plain[quantity.Amperes])))
	s.knows(stated(s, "Ze", supply.Ze))
	s.knows(stated(s, "Ipf", supply.Ipf))
	s.knows(said(s, "condition of the service equipment", supply.ServiceCondition, with[trade.Condition]("service equipment %s")))
	return s
}

// stated prints a quantity with how it is known.
func stated[Q any](s *station, what string, q works.Stated[Q]) string {
	v, ok := q.Value.Get()
	if !ok {
		s.lacks(what)
		return ""
	}
	return fmt.Sprintf("%s %v, %s", what, v, howKnown(q.KnownBy))
}

func howKnown(h quantity.Maybe[trade.HowKnown]) string {
	if how, ok := h.Get(); ok {
		return string(how)
	}
	return "not said how known"
}

func (l *line) meter() *station {
	supply := &l.m.Job.Supply
	s := &station{id: "meter", title: "Meter and tails", symbol: meterSymbol(), lane: l.service()}
	s.knows(list(
		said(s, "csa of tails", supply.Tails.CSA, with[quantity.SquareMillimetres]("tails %v")),
		said(s, "length of tails", supply.Tails.Length, plain[quantity.Metres])))
	if c, ok := supply.Capacity.Get(); ok {
		s.knows(fmt.Sprintf("agreed capacity %v per phase", c))
	}
	s.knows(stated(s, "maximum demand", supply.Demand))
	l.limits(s, "supply")
	return s
}

// limits adds the limiter that works at a place to its station.
func (l *line) limits(s *station, place string) {
	for i := range l.m.Job.Limiters {
		lim := &l.m.Job.Limiters[i]
		if lim.At != place {
			continue
		}
		s.of = append(s.of, lim.Thing().Path)
		s.knows(list(Named("limiter", lim.Name),
			said(s, "limit of "+lim.Name, lim.Limit, with[quantity.Amperes]("keeps to %v per phase"))))
		where := lim.Clamp
		if where == "" {
			s.lacks("place of the clamps of " + lim.Name)
		}
		s.knows(list(prefix("clamps: ", where), said(s, "phases of the clamps", lim.ClampPhases, with[trade.PhaseSet]("on %s")),
			said(s, "fail-safe current of "+lim.Name, lim.FailSafe, with[quantity.Amperes]("fail-safe %v"))))
	}
}

func prefix(before, text string) string {
	if text == "" {
		return ""
	}
	return before + text
}

func (l *line) mainEarth() *station {
	supply := &l.m.Job.Supply
	s := &station{id: "earthing", title: "Main earthing terminal", symbol: symbol{height: 12, shapes: []Shape{straight(0, 0, 0, 12)}},
		lane: laneBegins, laneLabel: "PE"}
	s.knows(said(s, "csa of earthing conductor", supply.EarthingConductor.CSA, with[quantity.SquareMillimetres]("earthing conductor %v")))
	for i := range supply.Bonding {
		b := &supply.Bonding[i]
		s.of = append(s.of, b.Thing().Path)
		s.knows(list("bonding to "+b.To, said(s, "csa of bonding to "+b.To, b.CSA, plain[quantity.SquareMillimetres]),
			said(s, "whether "+b.To+" is connected", b.Connected, choose("connected", "not connected"))))
	}
	if len(supply.Bonding) == 0 {
		s.lacks("main bonding")
	}
	switch system, _ := supply.Earthing.Get(); system {
	case trade.TT:
		s.lane = laneRises
	case "":
		s.lane = laneUnknown
	}
	for i := range l.m.Job.Electrodes {
		if e := &l.m.Job.Electrodes[i]; e.Name == supply.Electrode {
			s.of = append(s.of, e.Thing().Path)
			s.knows(electrodeWords(s, e))
		}
	}
	return s
}

func electrodeWords(s *station, e *works.Electrode) string {
	return list("electrode "+e.Name, said(s, "kind of electrode", e.Kind, electrodeKind), said(s, "length of electrode", e.Length, plain[quantity.Metres]),
		stated(s, "RA", e.Resistance))
}

func electrodeKind(k trade.ElectrodeKind) string { return string(k) }
