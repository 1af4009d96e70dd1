package choose

// Putting what was chosen into the job, field by field.

import (
	"strconv"

	"chargewright/model"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/trade"
	"chargewright/works"
)

// write puts a solution into the site's job and notes every setting. Only what
// was open is written.
func (s *site) write(found solution, o offer) {
	usesElectrode := false
	for _, p := range found.picks {
		if !p.circuit.open {
			continue
		}
		r := s.circuitRecord(p.circuit.name())
		s.writeDevice(r, p.pair.guard)
		s.writeCable(r, p.pair.run)
		if row := p.pair.run.row; row != nil && row.Construction != standard.Armoured && p.circuit.model.Point != nil &&
			p.circuit.model.Point.Record.Outdoors.Or(true) {
			s.assume("circuit %s: where it runs outdoors the %s cable is kept from sun and wet (522.3, 522.11); else take armoured cable", r.Name, row.Construction)
		}
		if p.mode.measure != nil {
			s.writeMeasure(s.pointRecord(p.circuit.model.Point.Record.Name), p.mode, o)
		}
		usesElectrode = usesElectrode || p.mode.own
	}
	if usesElectrode && o.chosen != nil {
		s.writeElectrode(o)
	}
}

func (s *site) writeDevice(r *works.Circuit, g *guard) {
	if !g.bought {
		s.writeResidual(r, g)
		return
	}
	d, at := &r.Device, func(field string) []string { return []string{"circuits", r.Name, "device", field} }
	fill(s, &d.Type, g.row.Family, string(g.row.Family), at("type")...)
	fill(s, &d.Rating, quantity.Amperes(g.row.Rated), exact(quantity.Amperes(g.row.Rated)), at("rating")...)
	fill(s, &d.BreakingCapacity, quantity.Amperes(g.row.Capacity), exact(quantity.Amperes(g.row.Capacity)), at("breaking capacity")...)
	fill(s, &d.Poles, g.row.Poles, string(g.row.Poles), at("poles")...)
	if len(model.SourceNames(s.job)) > 0 { // what is bought where a source may feed it is bought for either side
		fill(s, &d.Sides, trade.EitherSide, string(trade.EitherSide), at("supply side")...)
	}
	if g.row.Ir > 0 {
		fill(s, &d.LongSetting, quantity.Amperes(g.row.Ir), exact(quantity.Amperes(g.row.Ir)), at("long-time setting")...)
		fill(s, &d.ShortSetting, quantity.Amperes(g.row.Im), exact(quantity.Amperes(g.row.Im)), at("short-time setting")...)
	}
	s.writeResidual(r, g)
}

func (s *site) writeResidual(r *works.Circuit, g *guard) {
	rcd := g.residual
	if rcd == nil || r.RCD.Residual.IsKnown() {
		return
	}
	at := func(field string) []string { return []string{"circuits", r.Name, "RCD", field} }
	fill(s, &r.RCD.Type, rcd.Type, string(rcd.Type), at("type")...)
	fill(s, &r.RCD.Residual, quantity.Amperes(rcd.Trips), exact(quantity.Amperes(rcd.Trips)), at("IΔn")...)
	fill(s, &r.RCD.Rating, quantity.Amperes(rcd.Rated), exact(quantity.Amperes(rcd.Rated)), at("rating")...)
	fill(s, &r.RCD.Delayed, rcd.Delayed, map[bool]string{true: "yes", false: "no"}[rcd.Delayed], at("time delayed")...)
	fill(s, &r.RCD.Poles, rcd.Poles, string(rcd.Poles), at("poles")...)
}

func (s *site) writeCable(r *works.Circuit, x *run) {
	if x.row == nil {
		return
	}
	c, at := &r.Cable, func(field string) []string { return []string{"circuits", r.Name, "cable", field} }
	fill(s, &c.Construction, x.row.Construction, string(x.row.Construction), at("construction")...)
	fill(s, &c.Insulation, x.row.Insulation, string(x.row.Insulation), at("insulation")...)
	fill(s, &c.Material, x.row.Material, string(x.row.Material), at("material")...)
	fill(s, &c.CSA, quantity.SquareMillimetres(x.row.CSA), exact(quantity.SquareMillimetres(x.row.CSA)), at("csa")...)
	if x.row.Cores > 1 {
		fill(s, &c.Cores, x.row.Cores, strconv.Itoa(x.row.Cores), at("cores")...)
	}
	large := r.Phases.Or("").Count() == 3 && x.row.CSA > s.limit("neutral reduced above")
	if csa := quantity.SquareMillimetres(x.row.CSA); large || x.row.Construction == standard.Singles {
		fill(s, &c.NeutralCSA, csa, exact(csa), at("neutral csa")...)
	}
	fill(s, &c.CPC, x.row.CPC, string(x.row.CPC), at("cpc")...)
	if x.row.CPCCSA > 0 {
		fill(s, &c.CPCCSA, quantity.SquareMillimetres(x.row.CPCCSA), exact(quantity.SquareMillimetres(x.row.CPCCSA)), at("cpc csa")...)
	}
}

func (s *site) writeMeasure(p *works.Point, m *mode, o offer) {
	at := func(field string) []string { return []string{"points", p.Name, "earthing", field} }
	fill(s, &p.Earthing.Measure, m.measure.Measure, string(m.measure.Measure), at("measure")...)
	if m.own {
		if p.Earthing.Electrode == "" {
			p.Earthing.Electrode = o.record.Name
			s.put(o.record.Name, at("electrode")...)
		}
		return
	}
	fill(s, &p.OpenPEN, m.measure.Device, string(m.measure.Device), "points", p.Name, "open-PEN device")
	fill(s, &p.Earthing.Opens, true, "yes", at("opens protective conductor")...)
}

// writeElectrode describes the electrode that was chosen, in the site's own
// copy of the record the offer was made for.
func (s *site) writeElectrode(o offer) {
	e := recordOf(s.job.Electrodes, func(e *works.Electrode) bool { return e.Name == o.record.Name })
	x := o.chosen
	at := func(field string) []string { return []string{"electrodes", e.Name, field} }
	fill(s, &e.Kind, x.Kind, string(x.Kind), at("kind")...)
	fill(s, &e.Length, quantity.Metres(x.Length), exact(quantity.Metres(x.Length)), at("length")...)
	if x.Row.Wide > 0 {
		fill(s, &e.Diameter, quantity.Metres(x.Row.Wide), exact(quantity.Metres(x.Row.Wide)), at("diameter")...)
	}
	if x.Kind == trade.Tape {
		fill(s, &e.Depth, quantity.Metres(x.Row.Depth), exact(quantity.Metres(x.Row.Depth)), at("depth")...)
	}
	if x.Kind == trade.Rod {
		fill(s, &e.Number, x.Number, strconv.Itoa(x.Number), at("number")...)
	}
	if x.Number > 1 {
		fill(s, &e.Spacing, quantity.Metres(x.Row.Spacing), exact(quantity.Metres(x.Row.Spacing)), at("spacing")...)
	}
}
