package design

// The place of the work: heights, enclosures, boards, and what only a person
// on site can judge.

import (
	"strconv"
	"strings"

	"chargewright/finding"
	"chargewright/model"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/trade"
	"chargewright/works"
)

// board checks a board as an assembly and its room for the work.
func (k *checker) board(b *model.Board) {
	at := b.Record.Thing()
	f := k.start("assembly short-circuit rating", "board fault rating", at, "assembly stands the fault current where it is")
	rating := b.Record.ShortCircuitRating
	f = k.stands(f, rating, k.m.GreatestFault(b), at.Unless(rating.IsKnown(), "short-circuit rating", "short-circuit rating"))
	if f.Verdict == finding.Fails {
		f.Next = "ask the assembly's maker for a conditional rating with the device ahead, or replace it"
	}
	k.add(f)
	k.ways(b)
}

// ways checks that a board has room for the circuits of the work.
func (k *checker) ways(b *model.Board) {
	at := b.Record.Thing()
	f := k.start("ways", "board loading", at, "ways for the new circuits")
	free, ok := b.Record.WaysFree.Get()
	needed := 0
	lacks := at.Unless(ok, "ways free", "how many ways are free before this work")
	for _, c := range k.m.Circuits {
		switch {
		case c.Record.Existing:
		case c.Record.From == "":
			lacks = append(lacks, c.Thing().Lack("from", "board it starts at")...)
		case c.From == b:
			lacks = append(lacks, c.Thing().Unless(c.PhaseCount() > 0, "phases", "phases")...)
			needed += max(1, c.PhaseCount())
		}
	}
	if ok && needed > free {
		lacks = nil // too few, whatever else starts here
	}
	switch f.Value = finding.Count(needed, "ways"); {
	case needed == 0 && len(lacks) == 0, needed == 0 && !ok && len(lacks) == 1:
		k.add(meets(f, say("not engaged: no circuit of this work starts here")))
		return
	case len(lacks) > 0:
		k.add(notKnown(f, lacks))
		return
	}
	f.Limit, f.Margin = finding.Count(free, "ways"), finding.Count(free-needed, "ways")
	if needed <= free {
		k.add(meets(f, say("%d needed, one for each line conductor of a new circuit", needed)))
	} else {
		k.add(fails(f, say("too few free ways"), "free some ways, or feed the points from a board of their own"))
	}
}

// mounting checks the heights of a point.
//
// The heights of the trade are common practice; Approved Document M and PAS
// 1899 have ranges of their own, for what is operated and for public points.
func (k *checker) mounting(p *model.Point) {
	m := &p.Record.Mounting
	at := p.Record.Thing()
	k.height(at, "height underside", "height trade", "underside of the enclosure is high enough", m.Underside, "underside", "underside", "height lowest", "")
	screen, said := m.Screen.Get()
	top := "height highest without screen"
	if screen {
		top = "height highest with screen"
	}
	f := k.start("height controls", "height trade", at, "highest control is within reach")
	switch h, ok := m.Controls.Get(); {
	case !ok || !said:
		k.add(notKnown(f, at.Unless(ok, "mounting/highest control", "height of its highest control"),
			at.Unless(said, "mounting/screen", "whether it has a screen to use")))
	default:
		most := limit[quantity.Metres](k, top)
		if !most.Known() {
			k.add(notKnown(f, most.Lacks))
			break
		}
		f.Source = standard.Sources(k.rules.Clause("height trade"), most.Cite)
		f = atMost(f, h, most.Value)
		f.Why = say("without a screen")
		if screen {
			f.Why = say("with a screen to use")
		}
		if f.Verdict == finding.Fails {
			f = judge(f, f.Why.Then(say("higher than the trade fixes them")), "fix it lower, or record why those who use it can reach it")
		}
		k.add(f)
	}
	k.controls(at, m.Controls)
	k.height(at, "height outlet", "height", "outlet is where a person standing or seated can use it", m.OutletAt, "outlet", "outlet height",
		"height controls low", "height controls high")
	if public, said := p.Record.Public.Get(); !said {
		k.add(notKnown(k.start("height outlet public", "height public", at, "outlet of a public point"), at.Lack("public", "whether it is open to the public")))
		k.add(notKnown(k.start("height controls public", "height public", at, "highest control of a public point"),
			at.Lack("public", "whether it is open to the public")))
	} else if public {
		k.height(at, "height outlet public", "height public", "outlet of a public point", m.OutletAt, "outlet", "outlet height", "pas 1899 socket low",
			"pas 1899 socket high")
		k.height(at, "height controls public", "height public", "highest control of a public point", m.Controls, "highest control", "highest control",
			"pas 1899 controls low", "pas 1899 controls high")
	}
}

// controls compares the highest control with the range of the code of
// practice, which is narrower than the trade's where there is no screen.
func (k *checker) controls(at works.Thing, h quantity.Maybe[quantity.Metres]) {
	height, ok := h.Get()
	high := limit[quantity.Metres](k, "height controls high")
	most := high.Value
	if !ok || !high.Known() || height <= most {
		return
	}
	f := k.start("height controls code", "height", at, "highest control is within the range of the code of practice")
	f.Source = standard.Sources(k.rules.Clause("height"), high.Cite)
	f = atMost(f, height, most)
	k.add(judge(f, say("the code of practice gives controls at most %v; the trade goes higher where there is no screen", most),
		"fix it lower, or record why a person standing or seated can still use it"))
}

// height checks one height against a lowest and, where named, a highest.
func (k *checker) height(at works.Thing, key, clause, what string, h quantity.Maybe[quantity.Metres], part, field, lowKey, highKey string) {
	f := k.start(key, clause, at, what)
	height, ok := h.Get()
	lowest := limit[quantity.Metres](k, lowKey)
	if !ok || !lowest.Known() {
		k.add(notKnown(f, lowest.Lacks, at.Unless(ok, "mounting/"+field, "height of its "+part)))
		return
	}
	low := lowest.Value
	f.Source = standard.Sources(k.rules.Clause(clause), lowest.Cite)
	f = atLeast(f, height, low)
	if highKey != "" {
		highest := limit[quantity.Metres](k, highKey)
		if !highest.Known() {
			k.add(notKnown(f, highest.Lacks))
			return
		}
		high := highest.Value
		f.Source = standard.Sources(k.rules.Clause(clause), lowest.Cite, highest.Cite)
		f.Why = say("between %v and %v", low, high)
		if f.Verdict == finding.Meets && high-height < height-low {
			f = atMost(f, height, high)
		}
	}
	if f.Verdict == finding.Fails {
		f.Next = "fix it higher"
		if height > low {
			f.Next = "fix it lower"
		}
		if clause != "height public" { // what the trade does and a code of practice advises is no rule
			f = judge(f, f.Why, f.Next+", or record why those who use it can still reach it")
		}
	}
	k.add(f)
}

// enclosure checks the degree of protection of a point.
func (k *checker) enclosure(p *model.Point) {
	at := p.Record.Thing()
	outdoors, said := p.Record.Outdoors.Get()
	if !said || outdoors {
		f := k.start("IP", "ip", at, "enclosure keeps out splashes and small objects: at least IP44")
		switch solids, water, ok := digits(p.Record.IP); {
		case !said:
			k.add(notKnown(f, at.Lack("outdoors", "whether it stands outdoors")))
		case !ok:
			k.add(notKnown(f, at.Lack("IP", "degree of protection (IP)")))
		case solids >= 4 && water >= 4:
			k.add(meets(f, say("%s", p.Record.IP)))
		default:
			k.add(fails(f, say("%s is below IP44", p.Record.IP), "take an enclosure of at least IP44, or shelter the point"))
		}
	}
	premises, known := k.m.Job.Site.Premises.Get()
	public, open := p.Record.Public.Get()
	asked := public || premises == trade.CarPark || premises == trade.Workplace
	if asked || !known || !open {
		f := k.start("IK", "ik", at, "protected against impact: position, barrier or an enclosure of at least IK07")
		value, err := strconv.Atoi(strings.TrimPrefix(strings.ToUpper(p.Record.IK), "IK"))
		switch {
		case !asked:
			k.add(notKnown(f, at.Unless(open, "public", "whether it is open to the public"), works.TheSite.Unless(known, "premises", "kind of premises")))
		case p.Record.IK == "" || err != nil:
			k.add(notKnown(f, at.Lack("IK", "degree of protection against impact (IK)")))
		case value >= 7:
			k.add(meets(f, say("%s", p.Record.IK)))
		default:
			k.add(judge(f, say("%s is below IK07", p.Record.IK), "protect the point by its position, a bollard or a barrier"))
		}
	}
}

// digits reads the two numerals of an IP code. An X is no numeral: what it
// hides is not known, so it counts as none.
func digits(code string) (solids, water int, ok bool) {
	code = strings.ToUpper(strings.ReplaceAll(strings.TrimSpace(code), " ", ""))
	code = strings.TrimPrefix(code, "IP")
	if len(code) < 2 {
		return 0, 0, false
	}
	solids, water = int(code[0]-'0'), int(code[1]-'0')
	return solids, water, solids >= 0 && solids <= 6 && water >= 0 && water <= 9
}

// place lists what no number settles: a competent person decides on site.
func (k *checker) place() {
	if len(k.m.Points) == 0 {
		return
	}
	f := k.start("isolation", "isolation", works.TheInstallation, "every point can be isolated for work and locked off")
	k.add(judge(f, say("a matter of position and access"),
		"see that each point has lockable isolation of all live conductors within reach of the one who works on it"))
	f = k.start("emergency switching", "emergency switching", works.TheInstallation, "need for emergency switching is assessed")
	k.add(judge(f, say("rests on a risk assessment"), "assess it, and record the outcome"))
	f = k.start("hazards", "hazardous area", works.TheSite, "hazards of the place are dealt with")
	if len(k.m.Job.Site.Hazards) > 0 {
		k.add(judge(f, say("recorded: %v", strings.Join(k.m.Job.Site.Hazards, "; ")), "keep the points clear of each, and say how in the method statement"))
	} else {
		k.add(judge(f, say("none is recorded"), "look for fuel, gas, pits, buried services, asbestos and traffic; enter each"))
	}
	f = k.start("building control", "part p", works.TheSite, "building control is told of a new circuit in a dwelling")
	if premises, ok := k.m.Job.Site.Premises.Get(); !ok {
		k.add(notKnown(f, works.TheSite.Lack("premises", "kind of premises")))
	} else if premises.Residential() {
		k.add(judge(f, say("a new circuit in or on the land of a dwelling is notifiable in England; other nations have rules of their own"),
			"self-certify through a scheme, or notify building control before the work"))
	}
}
