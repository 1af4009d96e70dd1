package choose

// Why a choice is what it is: the rule that binds it, the room every rule
// leaves, and what change of the site would flip it.

import (
	"fmt"
	"math"
	"slices"

	"chargewright/design"
	"chargewright/model"
	"chargewright/quantity"
)

// CircuitChoice is what was chosen for one circuit.
type CircuitChoice struct {
	Circuit string   `json:"circuit"`
	Cable   string   `json:"cable"`
	Device  string   `json:"device"`
	RCD     string   `json:"rcd,omitempty"`
	Cost    float64  `json:"cost"`
	Binding string   `json:"binding"` // "10 mm² because of volt drop; 6 mm² fails by 0.7 V"
	Margins []Margin `json:"margins"`
	Flips   []Flip   `json:"flips"`
}

// Flip is a change of the site that would make the choice fail.
type Flip struct {
	Fact  string  `json:"fact"`
	Now   float64 `json:"now"`
	Until float64 `json:"until"` // the choice still holds there
	Unit  string  `json:"unit"`
	Then  string  `json:"then"` // the rule that gives way
}

// String says it as a sentence.
func (f Flip) String() string {
	if f.Then == "" {
		return fmt.Sprintf("%s: %.4g %s, and nothing gives way up to %.4g", f.Fact, f.Now, f.Unit, f.Until)
	}
	return fmt.Sprintf("%s: %.4g %s, holds to %.4g; beyond that %s gives way", f.Fact, f.Now, f.Unit, f.Until, f.Then)
}

// explain gives the reasons for a pick.
func (s *site) explain(p pick) CircuitChoice {
	c, x := p.circuit, p.pair
	out := CircuitChoice{Circuit: c.name(), Cable: x.run.name, Device: x.guard.name, Cost: x.cost + p.mode.cost, Margins: s.margins(c, x, p.at, p.mode)}
	if x.residual != nil {
		out.RCD = fmt.Sprintf("type %s, %v", x.residual.Type, quantity.Amperes(x.residual.Trips))
	}
	out.Binding = s.binding(p)
	out.Flips = s.flips(p)
	return out
}

// binding says what rule keeps the next smaller cable, and the next smaller
// device, from serving.
func (s *site) binding(p pick) string {
	c, x := p.circuit, p.pair
	text := ""
	if x.run.row != nil {
		if smaller := nextSmaller(c, x.run); smaller != nil {
			text = s.whyNot(p, &pair{run: smaller, guard: x.guard, id: -1}, fmt.Sprintf("%v", x.run.cable.CSA), fmt.Sprintf("%v", smaller.cable.CSA))
		} else {
			text = fmt.Sprintf("%v is the smallest of its kind that the tables hold here", x.run.cable.CSA)
		}
	}
	if smaller := smallerDevice(c, x.guard); x.bought && smaller != nil {
		text += "; " + s.whyNot(p, &pair{run: x.run, guard: smaller, id: -1}, quantity.Amperes(x.rated).String(), quantity.Amperes(smaller.rated).String())
	}
	return text
}

// whyNot says what keeps a smaller pair from serving in the same place.
func (s *site) whyNot(p pick, smaller *pair, has, less string) string {
	m, fails := short(s.margins(p.circuit, smaller, p.at, p.mode))
	if !fails {
		for _, child := range p.circuit.children {
			if why, bad := s.belowFails(child, s.beyond(p.circuit, smaller, p.at), p.mode); bad {
				return fmt.Sprintf("%s because of %s; %s fails there", has, why, less)
			}
		}
		return fmt.Sprintf("%s costs least with all it feeds; %s would serve alone", has, less)
	}
	return fmt.Sprintf("%s because of %s; %s fails by %.3g %s", has, m.Rule, less, -m.Room, m.Unit)
}

// belowFails reports the rule that a circuit below would then miss with every pair.
func (s *site) belowFails(c *circuit, at *place, m *mode) (string, bool) {
	nearest := Margin{Room: math.Inf(-1)}
	share := math.Inf(-1)
	for _, x := range c.pairs {
		worst, bad := short(s.margins(c, x, at, m))
		if !bad {
			return "", false
		}
		if worst.share() > share {
			nearest, share = worst, worst.share()
		}
	}
	return nearest.Rule + " at " + c.name(), true
}

// nextSmaller returns the same kind of cable in the next smaller size.
func nextSmaller(c *circuit, x *run) *run {
	var best *run
	for _, r := range c.cables {
		if r.row != nil && r.row.Construction == x.row.Construction && r.row.Insulation == x.row.Insulation && r.row.Cores == x.row.Cores && r.row.CPC == x.row.CPC &&
			r.row.CSA < x.row.CSA && (best == nil || r.row.CSA > best.row.CSA) {
			best = r
		}
	}
	return best
}

// smallerDevice returns the same kind of device in the next smaller rating.
func smallerDevice(c *circuit, g *guard) *guard {
	var best *guard
	for _, d := range c.devices {
		if d.row.Family == g.row.Family && d.row.Capacity == g.row.Capacity && d.beside == g.beside && d.rated < g.rated && (best == nil || d.rated > best.rated) {
			best = d
		}
	}
	return best
}

// flips finds how far the facts of the site may move before the choice fails:
// the length of the last leg, the circuits beside it, the heat around it.
func (s *site) flips(p pick) []Flip {
	legs := p.circuit.model.Legs
	if len(legs) == 0 || p.pair.run.row == nil {
		return nil
	}
	last := len(legs) - 1
	l := legs[last].Record
	out := []Flip{s.longer(p, last)}
	if n, ok := l.Together.Get(); ok && l.Arrangement.IsKnown() {
		out = append(out, s.stepUp(p, fmt.Sprintf("circuits together in %s", legs[last].ShortName()), float64(n), 1, 100, "circuits", func(v float64) *model.Leg {
			leg := *l
			leg.Together = quantity.Known(int(v))
			return &model.Leg{Record: &leg, Cable: &p.pair.run.cable}
		}))
	}
	if t, ok := l.Ambient.Get(); ok {
		out = append(out, s.stepUp(p, fmt.Sprintf("surroundings of %s", legs[last].ShortName()), float64(t), 1, 80, "°C", func(v float64) *model.Leg {
			leg := *l
			leg.Ambient = quantity.Known(quantity.Celsius(v))
			return &model.Leg{Record: &leg, Cable: &p.pair.run.cable}
		}))
	}
	return out
}

// longer finds how long a leg may be, to 0.1 m.
func (s *site) longer(p pick, leg int) Flip {
	now := float64(p.circuit.model.Legs[leg].Record.Length.Or(0))
	f := Flip{Fact: "length of " + p.circuit.model.Legs[leg].ShortName(), Now: now, Unit: "m"}
	fails := func(l float64) (string, bool) {
		x := *p.pair
		r := *x.run
		grow := l - now
		perMetre := func(whole complex128) complex128 { return whole * complex(1+grow/p.pair.run.metres, 0) }
		// Legs run in one cable grow alike; a leg in a cable of its own is not the last here.
		r.line, r.neutral, r.cpc = perMetre(r.line), perMetre(r.neutral), perMetre(r.cpc)
		r.perAmp *= 1 + grow/r.metres
		x.run = &r
		m, bad := short(s.margins(p.circuit, &x, p.at, p.mode))
		if bad {
			return m.Rule, true
		}
		for _, child := range p.circuit.children {
			if why, bad := s.belowFails(child, s.beyond(p.circuit, &x, p.at), &child.modes[0]); bad {
				return why, true
			}
		}
		return "", false
	}
	low, high := now, now+1
	for high < 5000 {
		if _, bad := fails(high); bad {
			break
		}
		low, high = high, high*2
	}
	if high >= 5000 {
		f.Until = high
		return f
	}
	for high-low > 0.05 {
		mid := (low + high) / 2
		if _, bad := fails(mid); bad {
			high = mid
		} else {
			low = mid
		}
	}
	f.Until = math.Floor(low*10) / 10
	f.Then, _ = fails(high)
	return f
}

// stepUp finds how far a fact of a leg's rating may rise before In > Iz.
func (s *site) stepUp(p pick, fact string, now, step, most float64, unit string, with func(float64) *model.Leg) Flip {
	f := Flip{Fact: fact, Now: now, Until: now, Unit: unit}
	for v := now; v <= most; v += step {
		r := design.RateLeg(s.model, p.circuit.model, with(v))
		if slices.ContainsFunc(r.Gaps, func(g string) bool { return g != "" }) {
			f.Then = "the table"
			return f
		}
		buried := r.Leg.Record.Method.Or("").Buried()
		cc, _ := s.rules.OverloadFactor(p.pair.guard.semi, buried)
		if p.pair.rated > float64(r.Capacity)*cc*(1+slack) {
			f.Then = "cable rating"
			return f
		}
		f.Until = v
	}
	return f
}
