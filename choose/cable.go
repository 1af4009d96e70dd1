package choose

// A cable tried in a circuit: what it carries, drops and withstands there.

import (
	"math"
	"slices"

	"chargewright/design"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/trade"
	"chargewright/works"
)

// run is a cable along all legs of a circuit.
type run struct {
	cable   works.Cable
	name    string
	row     *cableRow // nil when the job settled the cable
	metres  float64
	cost    float64
	carries float64 // In at most: the least Iz × Cc over the legs
	semi    float64 // the same behind a semi-enclosed fuse
	perAmp  float64 // tabulated volt drop line to neutral, V for each A
	// Line, neutral and cpc at operating temperature, and at 20 °C.
	line, neutral, cpc       complex128
	line20, neutral20, cpc20 complex128
	withstands               float64 // least k²S² of line and cpc, A²s
	held                     int     // the call of the search in which a device with it met the rules
}

// conductor is one conductor of a cable per metre.
type conductor struct {
	r20, x    float64
	perDegree float64
	operating quantity.Celsius
	ks        float64 // k × S
}

func (c conductor) at(t quantity.Celsius, l float64) complex128 {
	return complex(float64(quantity.OhmsAt20(c.r20*l).By(t, c.perDegree)), c.x*l)
}

// tryCable works out a cable in a circuit; false where the tables have nothing
// for it there.
func (s *site) tryCable(c *circuit, cable works.Cable, row *cableRow) (*run, bool) {
	out := &run{cable: cable, row: row, name: cableName(&cable), carries: math.Inf(1), semi: math.Inf(1), withstands: math.Inf(1)}
	for _, l := range c.model.Legs {
		in := &out.cable
		if l.Cable != &c.model.Record.Cable {
			in = l.Cable // joined on in another cable
		}
		length := float64(l.Record.Length.Or(0))
		leg := l.In(in)
		rating := design.RateLeg(s.model, c.model, leg)
		if len(rating.Lacks) > 0 {
			return nil, false
		}
		buried := l.Record.Method.Or("").Buried()
		for _, d := range []struct {
			semi bool
			into *float64
		}{{false, &out.carries}, {true, &out.semi}} {
			cc, _ := s.rules.OverloadFactor(d.semi, buried)
			*d.into = min(*d.into, float64(rating.Capacity)*cc)
		}
		method := l.Record.Method.Or(standard.MethodC)
		construction, insulation, csa := in.Construction.Or(""), in.Insulation.Or(""), in.CSA.Or(0)
		column, _, err := s.rules.VoltDrop(in.Material.Or(""), construction, insulation, method, c.phases, csa)
		if err != nil {
			return nil, false
		}
		perAmp := column.Z / 1000 * length
		if c.phases == 3 {
			perAmp /= math.Sqrt(3)
		}
		out.perAmp += perAmp
		line, ok1 := s.conductor(in, csa, standard.LineConductor, method)
		neutral := line
		if n, ok := in.NeutralCSA.Get(); ok {
			neutral, ok1 = s.conductor(in, n, standard.LineConductor, method)
		}
		cpc, cpc20, withstands, ok2 := s.cpc(in, method, length)
		if !ok1 || !ok2 {
			return nil, false
		}
		out.line += line.at(line.operating, length)
		out.line20 += line.at(20, length)
		out.neutral += neutral.at(neutral.operating, length)
		out.neutral20 += neutral.at(20, length)
		out.cpc += cpc
		out.cpc20 += cpc20
		out.withstands = min(out.withstands, line.ks*line.ks, withstands)
		out.metres += length
	}
	if row != nil {
		s.price(c, out)
	}
	return out, true
}

// conductor returns a conductor of a cable.
func (s *site) conductor(cable *works.Cable, csa quantity.SquareMillimetres, role standard.Role, method standard.Method) (conductor, bool) {
	material, insulation := cable.Material.Or(""), cable.Insulation.Or("")
	if role == standard.CPCSeparate {
		material = cable.CPCMaterial.Or("")
	}
	r, _, err := s.rules.Resistance(material, standard.Stranded, csa)
	if err != nil {
		return conductor{}, false
	}
	x, _, err := s.rules.Reactance(cable.Construction.Or(""), insulation, method, csa)
	if err != nil {
		x = 0
	}
	return s.heated(conductor{r20: float64(r), x: float64(x)}, material, insulation, role, csa)
}

// heated adds the temperature and the withstand of a conductor.
func (s *site) heated(c conductor, material standard.Material, insulation standard.Insulation, role standard.Role,
	csa quantity.SquareMillimetres) (conductor, bool) {
	initial, _, _, err := s.rules.PrincipalTemperatures(insulation, role)
	if err != nil {
		return c, false
	}
	c.perDegree, _, err = s.rules.TemperatureCoefficient(material)
	if err != nil {
		return c, false
	}
	k, _, err := s.rules.K(material, insulation, role)
	c.operating, c.ks = initial, k*float64(csa)
	return c, err == nil
}

// cpc returns the protective conductor over a length, hot and at 20 °C, and
// the least k²S² of what it is made of.
func (s *site) cpc(cable *works.Cable, method standard.Method, length float64) (hot, cold complex128, withstands float64, ok bool) {
	kind := cable.CPC.Or(trade.CPCCore)
	csa := cable.CSA.Or(0)
	size := cable.CPCCSA.Or(csa)
	role := standard.CPCInCable
	switch {
	case kind == trade.CPCSeparate:
		role = standard.CPCSeparate
	case !cable.CPCCSA.IsKnown() && cable.Construction.Or("") == standard.FlatTwin:
		s, _, err := s.rules.FlatTwinCPC(csa)
		if err != nil {
			return 0, 0, 0, false
		}
		size = s
	}
	withstands = math.Inf(1)
	if kind != trade.CPCArmour {
		core, ok := s.conductor(cable, size, role, method)
		if !ok {
			return 0, 0, 0, false
		}
		hot, cold, withstands = core.at(core.operating, length), core.at(20, length), core.ks*core.ks
	}
	if kind == trade.CPCArmour || kind == trade.CPCCoreAndArmour {
		a, _, err := s.rules.Armour(cable.Material.Or(""), cable.Insulation.Or(""), cable.Cores.Or(0), csa)
		if err != nil {
			return 0, 0, 0, false
		}
		armour, ok := s.heated(conductor{r20: float64(a.Resistance)}, standard.Steel, cable.Insulation.Or(""), standard.ArmourAsCPC, a.Area)
		if !ok {
			return 0, 0, 0, false
		}
		withstands = min(withstands, armour.ks*armour.ks)
		h, c := armour.at(armour.operating, length), armour.at(20, length)
		if kind == trade.CPCArmour {
			hot, cold = h, c
		} else if length > 0 {
			hot, cold = hot*h/(hot+h), cold*c/(cold+c)
		}
	}
	return hot, cold, withstands, true
}

// price adds what the cable costs to buy, to fit, and, by life, to lose.
func (s *site) price(c *circuit, r *run) {
	own := 0.0
	for _, l := range c.model.Legs {
		if l.Cable == &c.model.Record.Cable {
			own += float64(l.Record.Length.Or(0))
		}
	}
	strands := 1.0
	if r.row.Construction == standard.Singles {
		strands = float64(c.phases) + 2 // lines, neutral and cpc
	}
	r.cost = strands * (own*s.catalogue.Cost(r.row.PerMetre) + 2*s.catalogue.Cost(r.row.PerEnd))
	if per := s.aim.perWatt(); per > 0 {
		r.cost += per * s.watts(c, r)
	}
}

// watts returns what the cable loses at its design currents.
//
//	formula  Σ I² × Rline + IN² × Rneutral
func (s *site) watts(c *circuit, r *run) float64 {
	var sum float64
	in := c.ib
	if c.phases == 3 {
		in = neutralOf(c.current)
		for _, i := range c.current {
			sum += i * i * real(r.line)
		}
	} else {
		sum = c.ib * c.ib * real(r.line)
	}
	return sum + in*in*real(r.neutral)
}

// cablesOf returns every cable of the catalogue that the job allows in circuit
// c, or the one that the job settles.
func (s *site) cablesOf(c *circuit) []*run {
	entered := &c.model.Record.Cable
	if cableSettled(entered) || c.model.Record.Existing {
		if r, ok := s.tryCable(c, *entered, nil); ok {
			return []*run{r}
		}
		return nil
	}
	var out []*run
	for i := range s.catalogue.Cables {
		row := &s.catalogue.Cables[i]
		if !row.runs(c.phases) || !fits(entered.Construction, row.Construction) || !fits(entered.Insulation, row.Insulation) ||
			!fits(entered.Material, row.Material) ||
			!fits(entered.CSA, quantity.SquareMillimetres(row.CSA)) || !fits(entered.CPC, row.CPC) || row.Cores > 1 && !fits(entered.Cores, row.Cores) ||
			!suited(row, c) {
			continue
		}
		if r, ok := s.tryCable(c, row.cable(), row); ok {
			out = append(out, r)
		}
	}
	return out
}

// cableSettled reports whether the job says which cable it is.
func cableSettled(c *works.Cable) bool {
	construction, ok := c.Construction.Get()
	cpc := c.CPC.IsKnown() || construction == standard.FlatTwin || construction == standard.Multicore
	return ok && c.CSA.IsKnown() && c.Insulation.IsKnown() && cpc
}

// runs reports whether the cable has the cores for a circuit.
func (r *cableRow) runs(phases int) bool {
	switch r.Construction {
	case standard.FlatTwin:
		return phases == 1
	case standard.Singles:
		return true
	}
	cores := 2 // line and neutral, the armour as cpc
	if phases == 3 {
		cores = 4
	}
	if r.CPC != trade.CPCArmour {
		cores++
	}
	return r.Cores == cores
}

// suited reports whether the cable suits the method of every leg run in it.
func suited(row *cableRow, c *circuit) bool {
	for _, l := range c.model.Legs {
		if l.Cable == &c.model.Record.Cable && !slices.Contains(row.Methods, l.Record.Method.Or("")) {
			return false
		}
	}
	return true
}

// cable returns the row as a job has it.
func (r *cableRow) cable() works.Cable {
	c := works.Cable{Construction: quantity.Known(r.Construction), Insulation: quantity.Known(r.Insulation), Material: quantity.Known(r.Material),
		CSA: quantity.Known(quantity.SquareMillimetres(r.CSA)), CPC: quantity.Known(r.CPC)}
	if r.Cores > 1 {
		c.Cores = quantity.Known(r.Cores)
	}
	if r.CPCCSA > 0 {
		c.CPCCSA = quantity.Known(quantity.SquareMillimetres(r.CPCCSA))
	}
	return c
}
