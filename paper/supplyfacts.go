package paper

import (
	"strings"

	"chargewright/document"
	"chargewright/drawing"
	"chargewright/model"
)

// supplyFacts is what is known of the supply, and how.
func supplyFacts(m *model.Model) document.Facts {
	s := &m.Job.Supply
	facts := document.Facts{
		{What: "Earthing system", Value: say(s.Earthing)},
		{What: "Phases", Value: say(s.Phases)},
		{What: "Nominal voltage to neutral", Value: say(s.Voltage)},
		{What: "Cut-out fuse", Value: orNotKnown(join(ifKnown("%s", s.CutOut.Type), ifKnown("%v", s.CutOut.Rating))),
			Note: ifKnown("breaks %v", s.CutOut.BreakingCapacity)},
		statedFact("Ze", s.Ze),
		statedFact("Prospective fault current Ipf", s.Ipf),
		statedFact("Maximum demand before this work", s.Demand),
		{What: "Agreed capacity, each phase", Value: say(s.Capacity)},
		{What: "Tails", Value: orNotKnown(join(ifKnown("%v", s.Tails.CSA), ifKnown("%v", s.Tails.Length))), Note: ifKnown("%s", s.Tails.Insulation)},
		{What: "Earthing conductor", Value: say(s.EarthingConductor.CSA), Note: ifKnown("%v long", s.EarthingConductor.Length)},
	}
	if s.LineNeutralLoop.Value.IsKnown() {
		facts = append(facts, statedFact("Line to neutral loop", s.LineNeutralLoop))
	}
	for i := range s.Bonding {
		b := &s.Bonding[i]
		facts = append(facts, document.Fact{What: "Bonding to " + b.To, Value: say(b.CSA), Note: "seen connected: " + yesNo(b.Connected)})
	}
	if len(s.Bonding) == 0 {
		facts = append(facts, document.Fact{What: "Main bonding", Value: notKnown})
	}
	facts = append(facts,
		document.Fact{What: "Looped service", Value: yesNo(s.Looped)},
		document.Fact{What: "Service equipment", Value: say(s.ServiceCondition)})
	if words := m.SourceWords(); len(words) > 0 {
		facts = append(facts, document.Fact{What: "Other sources on site", Value: strings.Join(words, "; ")})
	}
	for i := range m.Job.Electrodes {
		e := &m.Job.Electrodes[i]
		f := statedFact("Electrode "+e.Name+", RA", e.Resistance)
		f.Note = join(f.Note, ifKnown("%s", e.Kind), ifKnown("%v", e.Length), ifKnown("%v across", e.Diameter), ifKnown("soil %v", e.Soil))
		facts = append(facts, f)
	}
	for i := range m.Job.Limiters {
		l := &m.Job.Limiters[i]
		facts = append(facts, document.Fact{What: drawing.Named("Limiter", l.Name), Value: orNotKnown(ifKnown("%v each phase", l.Limit)),
			Note: join("at "+orNotKnown(l.At), "fail-safe "+say(l.FailSafe), "responds in "+say(l.ResponseTime))})
	}
	return facts
}

// circuitFacts is what is known of circuits that are alike.
func circuitFacts(group []*part) document.Facts {
	r := group[0].circuit.Record
	state := "new"
	if r.Existing {
		state = "existing before this work"
	}
	rcd := rcdText(&r.RCD)
	switch {
	case rcd != "":
		rcd = "its own: " + rcd
	case r.SharedRCD == "none":
		rcd = "none of its own, ahead of the shared ones"
	case r.SharedRCD != "":
		rcd = "shared: " + r.SharedRCD
	}
	var ways, to, phases []string
	for _, p := range group {
		c := p.circuit.Record
		to = append(to, orNotKnown(c.To))
		if c.Way != "" {
			ways = append(ways, c.Way)
		}
		phases = append(phases, ifKnown("%s", c.Phases))
	}
	return document.Facts{
		{What: "From, to", Value: join(orNotKnown(r.From), before("way ", drawing.Names(ways))) + " → " + drawing.Names(to),
			Note: join(state, strings.Join(unique(phases), ", "))},
		{What: "Device", Value: deviceText(&r.Device)},
		{What: "RCD", Value: orNotKnown(rcd)},
		{What: "Cable", Value: cableText(&r.Cable), Note: ifKnown("terminals rated %v", r.Terminals)},
	}
}

// legTable is the legs of circuits that are alike and what surrounds them.
func legTable(group []*part) document.Table {
	t := document.Table{Small: true, Columns: []document.Column{{Head: "Leg", Share: 46}, {Head: "Length", Share: 20, Right: true}, {Head: "Known by", Share: 24},
		{Head: "Method", Share: 22}, {Head: "Surroundings", Share: 27}, {Head: "Together", Share: 30}, {Head: "Else", Share: 38}}}
	for _, p := range group {
		for _, l := range p.circuit.Legs {
			r := l.Record
			cable := ""
			if l.Cable != &p.circuit.Record.Cable {
				cable = "in " + cableText(l.Cable)
			}
			surrounded := ifKnown("%v in insulation", r.Surrounded)
			if of, ok := r.Surrounded.Get(); ok && of == 0 {
				surrounded = "no insulation"
			}
			name := capital(l.ShortName())
			if len(group) > 1 {
				name = p.record() + ", " + l.ShortName()
			}
			t.Rows = append(t.Rows, document.Row{Cells: document.Cells(name, say(r.Length), say(r.LengthKnown), say(r.Method), say(r.Ambient),
				join(say(r.Together), ifKnown("%s", r.Arrangement)),
				join(surrounded, ifKnown("%v deep", r.Depth), ifKnown("soil %v", r.Soil), cable))})
		}
	}
	return t
}
