package drawing

import (
	"fmt"
	"strings"

	"chargewright/model"
	"chargewright/quantity"
	"chargewright/trade"
)

// end is the point and the vehicle of a kind.
func (l *line) end(k *kind) []*station {
	s := l.pointStation(k)
	var places []string
	for _, p := range k.points {
		s.of = append(s.of, p.Record.Thing().Path)
		if place := strings.TrimSpace(p.Record.Mounting.Place); place != "" {
			places = append(places, place)
		}
	}
	s.knows(Names(places))
	if len(k.points) > 1 {
		s.title = "Points " + k.names()
		s.known = append([]string{fmt.Sprintf("%d alike", len(k.points))}, s.known...)
	}
	return []*station{s, vehicleStation(k.points[0])}
}

// pointStation is the first point of a kind, but for where it is fixed.
func (l *line) pointStation(k *kind) *station {
	r := k.points[0].Record
	s := &station{id: "point-" + r.Name, title: Named("Point", r.Name), symbol: pointSymbol()}
	current := ""
	if i, known := l.m.RatedCurrent(r).Get(); known {
		current = i.String()
	} else {
		s.lacks("rated current")
	}
	power := ""
	if w, ok := r.Power.Get(); ok {
		power = w.String()
	}
	s.knows(list(power, current, said(s, "phases", r.Phases, phaseWords)))
	if i, ok := r.Limit.Get(); ok {
		s.knows(fmt.Sprintf("set to %v", i))
	}
	if r.Limiter != "" && r.Limiter != "none" {
		s.knows("held back by " + Named("limiter", r.Limiter))
	}
	s.knows(list(said(s, "socket or tethered", r.Outlet, plain[trade.Outlet]),
		said(s, "whether outdoors", r.Outdoors, choose("outdoors", "indoors")),
		said(s, "whether public", r.Public, choose("public", "not public"))))
	measure, measured := r.Earthing.Measure.Get()
	s.lane, s.laneLabel = laneEnds, "PE"
	switch {
	case !measured:
		s.lacks("earthing measure")
		s.lane, s.laneLabel = laneUnknown, "?"
	case measure == trade.SeparateElectrode:
		s.knows("earthed by an electrode of its own")
		s.lane, s.laneLabel = laneBroken, "RA"
	case measure == trade.Separation:
		s.knows("electrically separated")
		s.lane, s.laneLabel = laneEmpty, ""
	case measure == trade.OpenPENDetection:
		s.knows("open-PEN device" + prefix(", ", said(s, "what the open-PEN device measures", r.OpenPEN, plain[trade.OpenPENDevice])))
	default:
		s.knows("earthing: " + string(measure))
	}
	for i := range l.m.Job.Electrodes {
		if e := &l.m.Job.Electrodes[i]; e.Name == r.Earthing.Electrode && e.Name != l.m.Job.Supply.Electrode {
			s.of = append(s.of, e.Thing().Path)
			s.knows(electrodeWords(s, e))
		}
	}
	s.knows(said(s, "6 mA d.c. detection", r.DCDetection, choose("6 mA d.c. detection built in", "no 6 mA d.c. detection")))
	s.knows(said(s, "height of the outlet", r.Mounting.OutletAt, func(h quantity.Metres) string { return "outlet at " + millimetres(h) }))
	return s
}

// millimetres prints a height as a wall drawing does.
func millimetres(h quantity.Metres) string { return fmt.Sprintf("%.0f mm", float64(h)*1000) }

func vehicleStation(p *model.Point) *station {
	s := &station{id: "vehicle-at-" + p.Record.Name, title: "Vehicle", symbol: vehicleSymbol()}
	switch outlet, _ := p.Record.Outlet.Get(); outlet {
	case trade.Tethered:
		s.knows(list("lead attached to the point", said(s, "length of lead", p.Record.TetherLength, plain[quantity.Metres])))
	case trade.Socket:
		s.knows("brings its own lead")
	}
	return s
}
