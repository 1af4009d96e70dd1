package choose

// How each point is earthed: the measures the rules allow on this site, side by
// side, each with what it needs and costs.

import (
	"fmt"
	"math"

	"chargewright/finding"
	"chargewright/model"
	"chargewright/quantity"
	"chargewright/trade"
	"chargewright/works"
)

// Measure is one way of earthing the points whose measure is open.
type Measure struct {
	Measure   string  `json:"measure"`
	Permitted bool    `json:"permitted"`
	Chosen    int     `json:"chosen"` // for how many points
	Cost      float64 `json:"cost"`   // for every point whose measure is open
	Needs     string  `json:"needs"`
	Why       string  `json:"why"`
}

// mode is one way to earth a point, as the search tries it.
type mode struct {
	measure *measureRow // nil when the job settled it or none is engaged
	own     bool        // the point stands on an electrode of its own
	ra      float64     // its resistance
	cost    float64
}

// measureOpen reports whether the point's measure against a lost PEN is to be
// chosen (BS 7671 722.411.4.1).
func (s *site) measureOpen(c *circuit) bool {
	p := c.model.Point
	return p != nil && s.job.Supply.Earthing.Or("") == trade.TNCS && p.Record.Outdoors.Or(false) && !p.Record.Earthing.Measure.IsKnown()
}

// target is the greatest resistance an electrode is chosen for: the guidance
// for one that lasts the seasons, which is far below the limit of the RCD.
func (s *site) target() quantity.Ohms { return quantity.Ohms(s.limit("electrode stability")) }

// offer is the electrode that points may be earthed by, if there can be one.
type offer struct {
	record *works.Electrode
	chosen *Electrode // nil where the record already describes it
	ra     float64
	cost   float64
	lacks  finding.Lacks // what keeps it from being offered
}

// electrodeOffer works out the electrode that the points may share.
func (s *site) electrodeOffer() offer {
	if len(s.job.Electrodes) == 0 {
		return offer{lacks: finding.Lacks{{Path: "electrodes", Of: "an electrode's place", What: "resistivity of the soil there, and distance to buried " +
			"metalwork on the PME terminal"}}}
	}
	e := &s.job.Electrodes[0]
	for i := range s.job.Electrodes {
		if s.job.Electrodes[i].Name != s.job.Supply.Electrode {
			e = &s.job.Electrodes[i]
		}
	}
	o := offer{record: e}
	if d, ok := e.FromPME.Get(); !ok {
		o.lacks = noDistance(e)
		return o
	} else if float64(d) < s.limit("separation buried") {
		o.lacks = e.Thing().Lack("from buried PME metalwork", fmt.Sprintf("a place further than %v from buried PME metalwork; it is %v",
			quantity.Metres(s.limit("separation buried")), d))
		return o
	}
	if r, known := s.model.ElectrodeResistance(e).Get(); known {
		o.ra = float64(r)
		if o.ra > float64(s.target()) {
			o.lacks = e.Thing().Lack("resistance", fmt.Sprintf("a lower resistance; %v is above the %v that lasts", r, s.target()))
		}
		return o
	}
	soil, ok := e.Soil.Get()
	if !ok {
		o.lacks = e.Thing().Lack("soil", "resistivity of the soil")
		return o
	}
	best, found := cheapest(s.fitting(e, soil), s.target())
	if !found {
		o.lacks = e.Thing().Lack("soil", fmt.Sprintf("one of the catalogue that reaches %v in %v", s.target(), soil))
		return o
	}
	o.chosen, o.ra, o.cost = &best, best.Resistance, best.Cost
	return o
}

// noDistance is the lack of an electrode's distance to the supply's earth.
func noDistance(e *works.Electrode) finding.Lacks {
	return e.Thing().Lack("from buried PME metalwork", "distance to buried metalwork on the PME terminal")
}

// fitting returns the electrodes of the catalogue that agree with what is
// entered of an electrode.
func (s *site) fitting(e *works.Electrode, soil quantity.OhmMetres) []Electrode {
	var out []Electrode
	for _, x := range s.catalogue.all(s.rules, soil) {
		if fits(e.Kind, x.Kind) && fits(e.Length, quantity.Metres(x.Length)) && (x.Kind == trade.Plate || fits(e.Diameter, quantity.Metres(x.Row.Wide))) &&
			fits(e.Number, x.Number) {
			out = append(out, x)
		}
	}
	return out
}

// modesOf returns the ways a final circuit's point may be earthed.
func (s *site) modesOf(c *circuit, o offer) []mode {
	p := c.model.Point
	if p == nil {
		return []mode{{}}
	}
	if !s.measureOpen(c) {
		if !ownElectrode(p) {
			if s.supply.system == trade.TNCS && !p.Record.Outdoors.IsKnown() {
				c.lacks = append(c.lacks, p.Record.Thing().Lack("outdoors", "whether it, or a vehicle on charge, stands outdoors")...)
			}
			return []mode{{}}
		}
		e, _ := s.model.OwnElectrode(p)
		r := s.model.PointElectrode(p, e)
		if !r.Known() && o.chosen != nil && e == o.record {
			return []mode{{own: true, ra: o.ra}}
		}
		c.lacks = append(c.lacks, r.Lacks...)
		return []mode{{own: true, ra: float64(r.Value)}}
	}
	var out []mode
	for i := range s.catalogue.Measures {
		row := &s.catalogue.Measures[i]
		if row.Phases != c.phases {
			continue
		}
		m := mode{measure: row, cost: s.catalogue.Cost(row.outlay)}
		switch row.Measure {
		case trade.OpenPENDetection:
			if !s.deviceAllowed(row.Device) || !fits(p.Record.OpenPEN, row.Device) {
				continue
			}
			if p.Record.OpenPEN.IsKnown() { // it is there already
				m.cost = 0
			}
		case trade.SeparateElectrode:
			if len(o.lacks) > 0 || !s.clearOfPME(p) {
				continue
			}
			m.own, m.ra = true, o.ra
		default:
			continue // left to a person: see the measures side by side
		}
		out = append(out, m)
	}
	if len(out) == 0 {
		c.lacks = append(c.lacks, p.Record.Thing().Lack("earthing/measure", "a measure against a lost PEN that the catalogue has and the site allows")...)
	}
	return out
}

// deviceAllowed reports whether a device of that principle serves the supply.
func (s *site) deviceAllowed(d trade.OpenPENDevice) bool {
	switch d {
	case trade.MeasuresEarth:
		return true
	case trade.MeasuresLines:
		return s.supply.phases == 3
	case trade.MeasuresWindow:
		return s.supply.phases == 1
	}
	return false
}

// clearOfPME reports whether nobody can touch the vehicle and the supply's
// earth at once.
func (s *site) clearOfPME(p *model.Point) bool {
	d, ok := p.Record.Earthing.FromPME.Get()
	return ok && float64(d) >= s.limit("separation")
}

// compareMeasures sets the measures side by side for the points whose measure
// was open, chosen or not.
func (s *site) compareMeasures(o offer) {
	var open []*circuit
	for _, c := range s.circuits {
		if s.measureOpen(c) {
			open = append(open, c)
		}
	}
	if len(open) == 0 {
		return
	}
	n := len(open)
	sum := func(m trade.EarthingMeasure, d trade.OpenPENDevice) (cost float64, all bool) {
		for _, c := range open {
			found := false
			for i := range s.catalogue.Measures {
				row := &s.catalogue.Measures[i]
				if row.Measure == m && row.Device == d && row.Phases == c.phases {
					cost, found = cost+s.catalogue.Cost(row.outlay), true
				}
			}
			if !found {
				return 0, false
			}
		}
		return cost, true
	}
	put := func(m Measure) { s.out.Earthing = append(s.out.Earthing, m) }
	for _, d := range []trade.OpenPENDevice{trade.MeasuresWindow, trade.MeasuresEarth, trade.MeasuresLines} {
		cost, all := sum(trade.OpenPENDetection, d)
		m := Measure{Measure: string(trade.OpenPENDetection) + ", " + string(d), Permitted: all && s.deviceAllowed(d), Cost: cost,
			Needs: fmt.Sprintf("a device that opens lines, neutral and protective conductor, %d in all", n), Why: "722.411.4.1(iii) or (iv)"}
		switch {
		case !s.deviceAllowed(d) && d == trade.MeasuresWindow:
			m.Why = "for single-phase supplies only: on three phases a vehicle can stand above 70 V with its own line inside the window"
		case !s.deviceAllowed(d):
			m.Why = "takes its reference from three lines, which this supply does not have"
		case !all:
			m.Why = "the catalogue has none for every point; by itself the rules allow it"
		}
		put(m)
	}
	cost, all := sum(trade.SeparateElectrode, "")
	m := Measure{Measure: string(trade.SeparateElectrode), Permitted: all && len(o.lacks) == 0, Cost: cost + o.cost,
		Why: "the points form a TT installation: 411.5, RCD for fault protection"}
	if o.chosen != nil {
		m.Needs = fmt.Sprintf("%s for %v or less, predicted %v and then measured", o.chosen, s.target(), quantity.Ohms(o.ra))
	} else {
		m.Needs = fmt.Sprintf("the electrode at %v", quantity.Ohms(o.ra))
	}
	if len(o.lacks) > 0 {
		m.Needs, m.Why = o.lacks.String(), "not known"
	}
	for _, c := range open {
		if !s.clearOfPME(c.model.Point) {
			m.Permitted = false
			m.Why = fmt.Sprintf("point %s: metalwork on the PME terminal within reach, or its distance not known (%v is wanted)", c.model.Point.Record.Name,
				quantity.Metres(s.limit("separation")))
		}
	}
	put(m)
	put(s.lowElectrode(o))
	put(s.balancedLoad())
	cost, all = sum(trade.Separation, "")
	put(Measure{Measure: string(trade.Separation), Permitted: all, Cost: cost, Needs: "an isolating transformer for each vehicle alone",
		Why: "722.413.1.2; left to a person to judge"})
}

// lowElectrode says what option (ii) would take here.
func (s *site) lowElectrode(o offer) Measure {
	m := Measure{Measure: string(trade.LowElectrode), Why: "722.411.4.1(ii)"}
	d := s.model.SupplyDemand()
	if !d.Existing.Known() || !d.Points.Known() {
		m.Needs, m.Why = "the demand of the whole installation", "not known"
		return m
	}
	var currents model.Currents
	for k := range currents.Phase {
		currents.Phase[k] = d.Existing.Phase[k] + d.Points.Phase[k]
	}
	most := quantity.Volts(s.limit("pen touch voltage"))
	needed := model.GreatestElectrode(quantity.Volts(s.supply.u0), s.limit("cmax"), currents, most)
	if math.IsInf(float64(needed), 1) {
		m.Needs, m.Why = "no electrode: the load as entered keeps the voltage down, which must hold through the day", "judge on site: rests on the load pattern"
		return m
	}
	m.Needs = fmt.Sprintf("an electrode of %v or less on the main earthing terminal", needed)
	if o.record == nil || !o.record.Soil.IsKnown() {
		m.Why = "not known: resistivity of the soil"
		return m
	}
	if e, ok := cheapest(s.catalogue.Reaching(s.rules, o.record.Soil.Or(0), needed), needed); ok {
		m.Permitted, m.Cost = true, e.Cost
		m.Needs += ": " + e.String()
		m.Why += "; left to a person to judge"
	} else {
		m.Why = "not practicable here: no electrode of the catalogue reaches it"
	}
	return m
}

// balancedLoad says whether option (i) is open.
func (s *site) balancedLoad() Measure {
	m := Measure{Measure: string(trade.BalancedLoad), Needs: "a three-phase installation whose load pattern keeps the terminal under 70 V through the day",
		Why: "722.411.4.1(i); left to a person to judge"}
	if s.supply.phases != 3 {
		m.Why = "the supply is single-phase"
		return m
	}
	d := s.model.SupplyDemand()
	if !d.Existing.Known() || !d.Points.Known() {
		m.Why = "not known: the demand in each line"
		return m
	}
	worst := quantity.Volts(0)
	for on := range 2 {
		var currents model.Currents
		for k := range currents.Phase {
			currents.Phase[k] = d.Existing.Phase[k] + quantity.Amperes(on)*d.Points.Phase[k]
		}
		worst = max(worst, model.LostPENVoltage(quantity.Volts(s.supply.u0), s.limit("cmax"), currents, quantity.Ohms(math.Inf(1))))
	}
	m.Permitted = float64(worst) <= s.limit("pen touch voltage")
	m.Needs += fmt.Sprintf("; as entered it would reach %v", worst)
	return m
}
