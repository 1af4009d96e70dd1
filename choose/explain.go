package choose

// Why a choice is what it is: the rule that binds it, the room every rule
// leaves, and what change of the site would flip it.

import (
	"fmt"
	"math"
	"slices"

	"chargewright/quantity"
	"chargewright/works"
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
			if why, bad := s.belowFails(child, s.beyond(p.circuit, smaller, p.at)); bad {
				return fmt.Sprintf("%s because of %s; %s fails there", has, why, less)
			}
		}
		return fmt.Sprintf("%s costs least with all it feeds; %s would serve alone", has, less)
	}
	return fmt.Sprintf("%s because of %s; %s fails by %s", has, m.Rule, less, m.Show(-m.Room))
}

// belowFails reports the rule that a circuit below would then miss with every
// pair and every way of earthing: the one the best of them misses by least.
func (s *site) belowFails(c *circuit, at *place) (string, bool) {
	nearest, share := Margin{}, math.Inf(-1)
	for _, x := range c.pairs {
		for i := range c.modes {
			worst, bad := short(s.margins(c, x, at, &c.modes[i]))
			if !bad {
				return "", false
			}
			if worst.share() > share {
				nearest, share = worst, worst.share()
			}
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

// flips finds how far the facts of the last leg may move before a rule gives
// way, in this circuit or, as chosen, in what it feeds: its length, the circuits
// beside it, the heat around it.
func (s *site) flips(p pick) []Flip {
	legs := p.circuit.model.Legs
	if len(legs) == 0 || p.pair.run.row == nil {
		return nil
	}
	last := legs[len(legs)-1]
	out := []Flip{s.longer(p, last.ShortName(), float64(last.Record.Length.Or(0)))}
	if n, ok := last.Record.Together.Get(); ok && last.Record.Arrangement.IsKnown() {
		out = append(out, s.stepUp(p, "circuits together in "+last.ShortName(), float64(n), 100, "circuits",
			func(l *works.Leg, v float64) { l.Together = quantity.Known(int(v)) }))
	}
	if t, ok := last.Record.Ambient.Get(); ok {
		out = append(out, s.stepUp(p, "surroundings of "+last.ShortName(), float64(t), 80, "°C",
			func(l *works.Leg, v float64) { l.Ambient = quantity.Known(quantity.Celsius(v)) }))
	}
	return out
}

// changed returns the rule that gives way with the last leg of a pick changed.
func (s *site) changed(p pick, change func(*works.Leg)) (string, bool) {
	c, m := *p.circuit, *p.circuit.model
	m.Legs = slices.Clone(m.Legs)
	leg := *m.Legs[len(m.Legs)-1]
	record := *leg.Record
	change(&record)
	leg.Record = &record
	m.Legs[len(m.Legs)-1] = &leg
	c.model = &m
	r, ok := s.tryCable(&c, p.pair.run.cable, nil)
	if !ok {
		return "the table", true
	}
	rule, in := s.givesWay(&c, &pair{run: r, guard: p.pair.guard}, p.at, p.mode)
	if in != nil && in != &c {
		rule += " at " + in.name()
	}
	return rule, in != nil
}

// givesWay returns the rule that fails in circuit c, or in those below it as
// they were chosen, and the circuit; nil where none fails.
func (s *site) givesWay(c *circuit, x *pair, at *place, m *mode) (string, *circuit) {
	if worst, bad := short(s.margins(c, x, at, m)); bad {
		return worst.Rule, c
	}
	for _, child := range c.children {
		if child.chosen == nil {
			continue
		}
		if rule, in := s.givesWay(child, child.chosen.pair, s.beyond(c, x, at), child.chosen.mode); in != nil {
			return rule, in
		}
	}
	return "", nil
}

// longest is where a flip of length stops looking, in m.
const longest = 5000

// longer finds how long the last leg may be, to 0.1 m.
func (s *site) longer(p pick, leg string, now float64) Flip {
	f := Flip{Fact: "length of " + leg, Now: now, Unit: "m"}
	fails := func(l float64) (string, bool) {
		return s.changed(p, func(r *works.Leg) { r.Length = quantity.Known(quantity.Metres(l)) })
	}
	low, high := now, now+1
	for high < longest {
		if _, bad := fails(high); bad {
			break
		}
		low, high = high, high*2
	}
	if high >= longest {
		f.Until = longest
		return f
	}
	for high-low > 0.01 {
		mid := (low + high) / 2
		if _, bad := fails(mid); bad {
			high = mid
		} else {
			low = mid
		}
	}
	f.Until = math.Floor(low*10+1e-9) / 10
	f.Then, _ = fails(high)
	return f
}

// stepUp finds how far a fact may rise, one at a time.
func (s *site) stepUp(p pick, fact string, now, most float64, unit string, set func(*works.Leg, float64)) Flip {
	f := Flip{Fact: fact, Now: now, Until: now, Unit: unit}
	for v := now + 1; v <= most; v++ {
		if rule, bad := s.changed(p, func(l *works.Leg) { set(l, v) }); bad {
			f.Then = rule
			return f
		}
		f.Until = v
	}
	return f
}
