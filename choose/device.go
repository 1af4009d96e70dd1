package choose

// A device tried in a circuit: what it carries and cuts off there.

import (
	"math"

	"chargewright/model"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/trade"
)

// guard is an overcurrent device, with the RCD that stands beside it.
type guard struct {
	row      *deviceRow
	residual *residualRow // of the device itself or beside it; nil for none
	beside   bool         // the RCD is a device of its own
	bought   bool         // the device is the catalogue's, not the job's
	device   standard.Device
	name     string
	rated    float64
	semi     bool
	maxZs    float64 // by the device, for the time the circuit has
	instant  float64 // loop up to which it operates within 0.1 s
	trips    float64 // IΔn of the RCD that cuts off an earth fault; 0 for none
	fits     float64 // what it costs, fitted
}

// devicesOf returns every device of the catalogue that the job allows in
// circuit c, each with the RCD the circuit needs, or what the job settles.
func (s *site) devicesOf(c *circuit) []*guard {
	r := c.model.Record
	d := &r.Device
	upstream := 0.0
	if rcd, ok := c.model.RCD(); ok {
		upstream = float64(rcd.Residual.Or(0))
	}
	var rows []*deviceRow
	settled := d.Type.IsKnown() && (d.Rating.IsKnown() || d.LongSetting.IsKnown()) && d.BreakingCapacity.IsKnown() || r.Existing
	if settled {
		rows = []*deviceRow{{Family: d.Type.Or(""), Rated: float64(d.Rating.Or(d.LongSetting.Or(0))), Ir: float64(d.LongSetting.Or(0)),
			Im:       float64(d.ShortSetting.Or(0)),
			Capacity: float64(d.BreakingCapacity.Or(0)), Phases: c.phases, Poles: d.Poles.Or("")}}
	} else {
		for i := range s.catalogue.Devices {
			row := &s.catalogue.Devices[i]
			if row.Phases == c.phases && fits(d.Type, row.Family) && fits(d.Rating, quantity.Amperes(row.Rated)) && fits(d.Poles, row.Poles) &&
				fits(d.BreakingCapacity, quantity.Amperes(row.Capacity)) &&
				(row.Ir == 0 || fits(d.LongSetting, quantity.Amperes(row.Ir)) && fits(d.ShortSetting, quantity.Amperes(row.Im))) {
				rows = append(rows, row)
			}
		}
	}
	var out []*guard
	for _, row := range rows {
		switch {
		case r.RCD.Residual.IsKnown() || settled && r.Existing: // the job settles the RCD
			out = s.withDevice(out, c, row, nil, !settled, upstream)
		case c.model.Point == nil:
			if s.supply.system != trade.TT && row.Residual == nil {
				out = s.withDevice(out, c, row, nil, !settled, upstream)
			} else if s.supply.system == trade.TT {
				out = s.besideTT(out, c, row, !settled, upstream)
			}
		case row.Residual != nil:
			if s.serves(c, row.Residual) {
				out = s.withDevice(out, c, row, row.Residual, !settled, row.Residual.Trips)
			}
		default:
			if s.ownBuiltIn(c) {
				out = s.withDevice(out, c, row, nil, !settled, upstream)
			}
			for i := range s.catalogue.Residual {
				if rcd := &s.catalogue.Residual[i]; rcd.Rated >= row.carries() && s.serves(c, rcd) {
					out = s.withDevice(out, c, row, rcd, !settled, rcd.Trips)
				}
			}
		}
	}
	return out
}

// ways returns the ways the device takes in its board, its RCD included; one
// for each line where the job settled it.
func (g *guard) ways(phases int) int {
	n := g.row.Ways
	if n == 0 {
		n = phases
	}
	if g.beside {
		n += g.residual.Ways
	}
	return n
}

// besideTT adds a time-delayed RCD to a feeder of a TT installation, of a type
// and IΔn that the points behind it do not blind or trip.
func (s *site) besideTT(out []*guard, c *circuit, row *deviceRow, bought bool, upstream float64) []*guard {
	if upstream > 0 {
		return s.withDevice(out, c, row, nil, bought, upstream)
	}
	points, leakage := 0, 0.0
	for _, f := range c.model.Finals() {
		if f.Point != nil {
			points++
			leakage += float64(f.Point.Record.Leakage.Or(0))
		}
	}
	for i := range s.catalogue.Residual {
		rcd := &s.catalogue.Residual[i]
		direct := float64(points) * s.limit("dc detection")
		if rcd.Phases != c.phases || !rcd.Delayed || rcd.Rated < row.carries() || leakage > s.limit("leakage share")*rcd.Trips ||
			rcd.Type != trade.TypeB && points > 0 && direct > s.limit("dc a type "+string(rcd.Type)+" stands") {
			continue
		}
		out = s.withDevice(out, c, row, rcd, bought, rcd.Trips)
	}
	return out
}

// carries returns what the device is rated or set for.
func (d *deviceRow) carries() float64 {
	if d.Ir > 0 {
		return d.Ir
	}
	return d.Rated
}

// serves reports whether an RCD may be the point's own.
func (s *site) serves(c *circuit, r *residualRow) bool {
	e := &c.model.Record.RCD
	return r.Phases == c.phases && !r.Delayed && r.Trips <= s.limit("rcd point") && r.Poles == trade.AllLive && s.typeSuits(c, r.Type) && fits(e.Type, r.Type) &&
		fits(e.Poles, r.Poles)
}

// withDevice adds a device and an RCD, with what they do in the circuit.
func (s *site) withDevice(out []*guard, c *circuit, row *deviceRow, rcd *residualRow, bought bool, trips float64) []*guard {
	g := &guard{row: row, residual: rcd, beside: rcd != nil && rcd != row.Residual, bought: bought, trips: trips, rated: row.carries(),
		semi: row.Family == standard.FuseBS3036}
	g.device = standard.Device{Family: row.Family, Rating: quantity.Amperes(row.Rated), Ir: quantity.Amperes(row.Ir), Im: quantity.Amperes(row.Im)}
	g.name = string(row.Family) + " " + quantity.Amperes(g.rated).String() + ", " + quantity.Amperes(row.Capacity).String()
	if g.beside {
		g.name += " with an RCD type " + string(rcd.Type) + " " + quantity.Amperes(rcd.Trips).String() + " " + quantity.Amperes(rcd.Rated).String()
	}
	within := s.within(c, g.rated)
	if z, _, err := s.rules.MaxZs(g.device, quantity.Seconds(within), quantity.Volts(s.supply.u0)); err == nil {
		g.maxZs = float64(z)
	}
	if z, _, err := s.rules.MaxZs(g.device, 0.1, quantity.Volts(s.supply.u0)); err == nil {
		g.instant = float64(z)
	}
	if bought {
		g.fits = s.catalogue.Cost(row.outlay)
	}
	if g.beside {
		g.fits += s.catalogue.Cost(rcd.outlay)
	}
	return append(out, g)
}

// within returns the longest time a fault may last (BS 7671 411.3.2).
func (s *site) within(c *circuit, rated float64) float64 {
	if !c.final() {
		return s.limit("disconnection tn distribution")
	}
	key := "tn final fixed greatest"
	if c.model.Point != nil || c.model.Load != nil && c.model.Load.Kind.Or("") == trade.Sockets {
		key = "tn final socket greatest"
	}
	if rated <= s.limit(key) {
		return s.limit("disconnection tn final")
	}
	return s.limit("disconnection tn distribution")
}

// farEnergy returns the energy of an earth fault at the far end until it is
// cut off, and infinity where that takes longer than 5 s.
//
//	formula  I²t, I = Cmin × U0/Zs, t at least 0.1 s
func (s *site) farEnergy(g *guard, zs float64) float64 {
	i := s.supply.cmin * s.supply.u0 / zs
	if zs <= g.instant {
		return i * i * 0.1
	}
	t := s.cutOff(g, zs)
	if t > 5 {
		return math.Inf(1)
	}
	return i * i * max(t, 0.1)
}

// cutOff returns the longest time until the device, or its RCD, cuts off an
// earth fault in a loop of zs.
func (s *site) cutOff(g *guard, zs float64) float64 {
	i := s.supply.cmin * s.supply.u0 / zs
	_, longest, _, err := s.rules.OperatingTime(g.device, quantity.Amperes(i))
	if err != nil {
		return math.Inf(1)
	}
	t := float64(longest)
	if t > 0.3 && g.trips > 0 && i >= g.trips {
		t = min(t, s.supply.rcdTime)
	}
	return t
}

// nearEnergy returns what the device lets through at its own terminals:
// tabulated, or I² × 0.1 s where it operates within that time.
func (s *site) nearEnergy(g *guard, fault float64) float64 {
	if e, _, err := s.rules.LetThrough(g.device, quantity.Amperes(fault), quantity.Amperes(g.row.Capacity)); err == nil {
		return float64(e)
	}
	if _, longest, _, err := s.rules.OperatingTime(g.device, quantity.Amperes(fault)); err == nil && longest <= 0.1 {
		return fault * fault * 0.1
	}
	return math.Inf(1)
}

// ownElectrode reports whether the job earths the point by an electrode of its own.
func ownElectrode(p *model.Point) bool {
	return p != nil && p.Record.Earthing.Measure.Or("") == trade.SeparateElectrode
}
