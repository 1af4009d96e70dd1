package design

// The chain from the origin to the outlet: what the current passes on its way
// carries it, and nothing in it is overloaded (BS 7671 433.1, 512.1.2, 524.2,
// 536.4.202, 551.7.2).

import (
	"fmt"

	"chargewright/finding"
	"chargewright/model"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/trade"
	"chargewright/works"
)

// deviceOver returns the rated current of the overcurrent device ahead of a
// board: that of the circuit that feeds it, or the fuse of the cut-out.
func (k *checker) deviceOver(b *model.Board) model.Answer[quantity.Amperes] {
	switch {
	case b == nil:
		return model.Answer[quantity.Amperes]{Lacks: finding.Lacks{{Path: "boards", What: "the board it stands at"}}}
	case b.Feed != nil:
		in := b.Feed.Rated()
		in.Why = fmt.Sprintf("device of %s, %v", b.Feed.Name(), in.Value)
		return in
	case b.Record.FedFrom == "":
		return model.Answer[quantity.Amperes]{Lacks: k.m.Unfed(b)}
	}
	in := k.m.Job.Supply.CutOut.Rating.Or(0)
	return model.Answer[quantity.Amperes]{Value: in, Why: "cut-out fuse of " + in.String(), Lacks: k.m.NoFuse()}
}

// protected settles whether what has no overload part of its own, at board b, is
// protected by the device ahead; or by the devices of the circuits behind it,
// added up, where there are no others. What the load is expected to be is no
// protection.
func (k *checker) protected(f finding.Finding, rating quantity.Amperes, b *model.Board, behind []*model.Circuit) finding.Finding {
	ahead := k.deviceOver(b)
	if !ahead.Known() {
		return notKnown(f, ahead.Lacks)
	}
	f = atLeast(f, rating, ahead.Value)
	f.Why = say("%s", ahead.Why)
	if f.Verdict != finding.Fails {
		return f
	}
	if sum, known := devices(behind); known && sum <= rating && (b.Loads == nil || len(behind) < len(b.Circuits)) {
		return judge(f, f.Why.Then(say("the %d devices it feeds add up to %v in a line", len(behind), sum)),
			"confirm that nothing else is fed through it, and that nothing is added later")
	}
	f.Next = "replace it by one of at least " + ahead.Value.String() + ", or have a smaller device ahead; a load expected to stay low is no protection"
	return f
}

// devices adds up the devices of circuits, in the line where they are most.
func devices(cs []*model.Circuit) (quantity.Amperes, bool) {
	var sum [3]quantity.Amperes
	for _, c := range cs {
		in := c.Rated()
		if !in.Known() || c.PhaseCount() == 0 {
			return 0, false
		}
		for line := range sum {
			if c.PhaseCount() == 3 || model.LineNumber(c.Lines()) == line {
				sum[line] += in.Value
			}
		}
	}
	return max(sum[0], sum[1], sum[2]), len(cs) > 0
}

// carries settles whether a rating covers the current of a point.
func (k *checker) carries(f finding.Finding, rating quantity.Amperes, i model.Currents) finding.Finding {
	if !i.Known() {
		return notKnown(f, i.Lacks)
	}
	f = atLeast(f, rating, i.Greatest())
	f.Why = i.Says
	if f.Verdict == finding.Fails {
		f.Next = "replace it by one of at least " + i.Greatest().String() + ", or set the point to less"
	}
	return f
}

// mainSwitch checks the switch at the origin, and that of another board where it
// has one.
func (k *checker) mainSwitch(b *model.Board) {
	w := &b.Record.MainSwitch
	if b.Feed != nil && *w == (works.MainSwitch{}) {
		return
	}
	at := b.Record.MainSwitchThing()
	f := k.start("main switch rating", "switch rating", at, "its rated current covers what passes through it")
	rating, ok := w.Rating.Get()
	fuse, fused := w.Fuse.Get()
	switch {
	case !ok:
		k.add(notKnown(f, at.Lack("rating", "rated current")))
	case fused && fuse <= rating:
		f = atLeast(f, rating, fuse)
		f.Why = say("its own fuses or setting of %v", fuse)
		k.add(f)
	default:
		k.add(k.protected(f, rating, b, b.Circuits))
	}
	k.mainSwitchPoles(b, at)
}

// mainSwitchPoles checks that the switch opens what it must: both live
// conductors of a single-phase supply, the lines of a three-phase TN one, and
// the neutral too where the earthing is TT.
func (k *checker) mainSwitchPoles(b *model.Board, at works.Thing) {
	f := k.start("main switch poles", "main switch poles", at, "it opens every live conductor that must be opened")
	phases, ok := b.Record.Phases.Get()
	if b.Feed == nil {
		phases, ok = k.m.Job.Supply.Phases.Get()
	}
	poles, said := b.Record.MainSwitch.Poles.Get()
	system, known := k.m.Job.Supply.Earthing.Get()
	if !ok || !said || !known {
		k.add(notKnown(f, at.Unless(said, "poles", "number of poles"), k.m.NoEarthing(), works.TheSupply.Unless(ok || b.Feed != nil, "phases", "phases"),
			b.Record.Thing().Unless(ok || b.Feed == nil, "phases", "phases")))
		return
	}
	need, why := 2, "line and neutral of a single-phase supply"
	switch {
	case phases == 3 && system.IsTN():
		need, why = 3, "the lines of a three-phase TN supply"
	case phases == 3:
		need, why = 4, "the lines and the neutral of a three-phase supply that is not TN"
	}
	f.Value, f.Limit, f.Margin = finding.Count(poles, "poles"), finding.Count(need, "poles"), finding.Count(poles-need, "poles")
	if poles >= need {
		k.add(meets(f, say("%s", why)))
		return
	}
	k.add(fails(f, say("%s", why), fmt.Sprintf("replace it by a switch of %d poles", need)))
}

// assemblyRating checks the rated current of a board.
//
//	formula  InA ≥ In of the device ahead + Ig of the sources at it and beyond
//	clause   BS 7671 536.4.202, 551.7.2
func (k *checker) assemblyRating(b *model.Board) {
	at := b.Record.Thing()
	f := k.start("assembly rating", "switch rating", at, "its rated current covers what can be fed into it: InA ≥ In")
	rated, ok := b.Record.Rated.Get()
	if !ok {
		k.add(notKnown(f, at.Lack("rated current", "rated current of the assembly")))
		return
	}
	f = k.protected(f, rated, b, b.Circuits)
	given := k.m.FedInto(b)
	if f.Verdict != finding.Meets && f.Verdict != finding.JudgeOnSite || given.Known() && given.Greatest() == 0 {
		k.add(f)
		return
	}
	ahead := k.deviceOver(b)
	f = k.start("assembly rating", "assembly sources", at, "its rated current covers what is fed into it from both sides: InA ≥ In + Ig")
	if lacks := finding.Gather(ahead.Lacks, given.Unplaced()); len(lacks) > 0 {
		k.add(notKnown(f, lacks))
		return
	}
	f = atLeast(f, rated, ahead.Value+given.Greatest())
	f.Why = say("%s; %s", ahead.Why, given.Says())
	if f.Verdict == finding.Fails {
		f.Next = fmt.Sprintf("have a device of at most %v ahead of it, connect the source to a board of its own, or replace the board", rated-given.Greatest())
		if rated <= given.Greatest() {
			f.Next = "connect the source to a board of its own, or replace the board"
		}
	}
	k.add(f)
}

// isolator checks the isolator of a point's circuit.
func (k *checker) isolator(c *model.Circuit) {
	if c.Point == nil && c.Record.To != "" {
		return
	}
	f := k.start("isolator rating", "switch rating", c.Thing(), "rated current of its isolator covers its device")
	rating, ok := c.Record.Isolator.Get()
	in := c.Rated()
	switch {
	case !ok:
		k.add(notKnown(f, c.Thing().Lack("isolator rating", "rated current of its isolator, 0 A where there is none")))
	case rating == 0:
		k.add(meets(f, say("not engaged: there is none in it")))
	case !in.Known():
		k.add(notKnown(f, in.Lacks))
	default:
		f = atLeast(f, rating, in.Value)
		if f.Verdict == finding.Fails {
			f.Next = "replace it by one of at least " + in.Value.String()
		}
		k.add(f)
	}
}

// outletRating checks a socket-outlet against what the point offers through it,
// and against the device ahead where no maker answers for the two.
func (k *checker) outletRating(p *model.Point) {
	at := p.Record.Thing()
	outlet, said := p.Record.Outlet.Get()
	if said && outlet != trade.Socket {
		return
	}
	f := k.start("outlet rating", "outlet rating", at, "its socket-outlet carries what the point offers and what its device lets through")
	rating, ok := p.Record.OutletRated.Get()
	if !said || !ok {
		k.add(notKnown(f, at.Unless(said, "outlet", "whether a vehicle is plugged into it or it has a lead"), at.Unless(ok,
			"outlet rating", "rated current of its socket-outlet")))
		return
	}
	f = k.carries(f, rating, k.m.PointCurrents(p))
	if f.Verdict == finding.Meets && p.Circuit == nil {
		f = notKnown(f, k.m.NoCircuit(p))
	}
	if f.Verdict != finding.Meets {
		k.add(f)
		return
	}
	in := p.Circuit.Rated()
	most, stated := p.Record.GreatestDevice.Get()
	switch {
	case !in.Known():
		f = notKnown(f, in.Lacks)
	case in.Value <= rating*(1+finding.Slack):
		f.Why = f.Why.Then(say("device of %v", in.Value))
	case !stated:
		f = notKnown(f, at.Lack("greatest upstream device", "greatest upstream device its maker allows"))
	case most >= in.Value:
		f.Why = f.Why.Then(say("device of %v; its maker allows %v ahead of it", in.Value, most))
	default:
		f = atLeast(f, rating, in.Value)
		f.Why = say("a device of %v lets more through than the socket-outlet is rated for, and its maker allows %v", in.Value, most)
		f.Next = "take a device of at most " + max(rating, most).String() + ", or a socket-outlet of at least " + in.Value.String()
	}
	k.add(f)
}

// tails checks the meter tails against the fuse ahead of them, and their length
// against what operators usually allow.
//
//	formula  In ≤ Iz
//	clause   BS 7671 433.1.1, Table 4D1A; length: the operator's own rule
func (k *checker) tails() {
	t, at := &k.m.Job.Supply.Tails, works.TheTails
	f := k.start("tails rating", "overload", at, "tails carry what the cut-out fuse lets through: In ≤ Iz")
	csa, ok1 := t.CSA.Get()
	method, ok2 := t.Method.Get()
	phases, ok3 := k.m.Job.Supply.Phases.Get()
	lacks := finding.Gather(at.Unless(ok1, "csa", "csa"), at.Unless(ok2, "method", "installation method"),
		works.TheSupply.Unless(ok3, "phases", "phases"), k.m.NoFuse())
	if len(lacks) > 0 {
		k.add(notKnown(f, lacks))
	} else if iz, cite, err := k.rules.Rating(standard.Copper, standard.Singles, standard.Thermoplastic70, method, max(2, phases), csa); err != nil {
		k.add(notKnown(f, at.Lack("method", err.Error(), "csa")))
	} else {
		in := k.m.Job.Supply.CutOut.Rating.Or(0)
		f.Source = standard.Sources(k.rules.Clause("overload"), cite)
		f = atMost(f, in, iz)
		f.Why = say("%v by method %v at 30 °C, terminals at 70 °C", csa, method)
		if f.Verdict == finding.Fails {
			f.Next = "fit larger tails, or ask the network operator for a smaller fuse"
		}
		k.add(f)
	}
	f = k.start("tails length", "tails length", at, "tails are no longer than operators allow")
	length, ok := t.Length.Get()
	most := limit[quantity.Metres](k, "tails length")
	if !ok || !most.Known() {
		k.add(notKnown(f, most.Lacks, at.Unless(ok, "length", "length")))
		return
	}
	f.Source = standard.Sources(k.rules.Clause("tails length"), most.Cite)
	f = atMost(f, length, most.Value)
	if f.Verdict == finding.Fails {
		f = judge(f, say("longer than operators usually allow; the standard leaves it to them"), "ask the network operator, or fit a switch-fuse beside the meter")
	}
	k.add(f)
}

// neutralSize checks that no neutral is smaller than its lines. In a three-phase
// circuit above 16 mm² a smaller one is allowed under conditions.
func (k *checker) neutralSize(c *model.Circuit) {
	f := k.start("neutral size", "neutral size", c.Thing(), "neutral no smaller than the lines")
	above := limit[quantity.SquareMillimetres](k, "neutral reduced above")
	lacks := finding.Gather(above.Lacks, c.Thing().Unless(len(c.Legs) > 0, "legs", "its legs"))
	for _, leg := range c.Legs {
		csa, ok := leg.Cable.CSA.Get()
		lacks = append(lacks, leg.UnlessCable(ok, "csa")...)
		lacks = append(lacks, leg.NoNeutral()...)
		if neutral := leg.Cable.NeutralCSA.Or(csa); ok && neutral < csa {
			f = onLeg(f, leg)
			f = atLeast(f, neutral, csa)
			f.Next = "take a neutral as large as the lines"
			if c.PhaseCount() == 3 && csa > above.Value {
				f = judge(f, say("allowed where what flows in it, harmonics included, stays within its rating and it is protected against overcurrent"),
					"show the greatest neutral current, and what protects the neutral")
			}
			k.add(f)
			return
		}
	}
	if len(lacks) > 0 {
		k.add(notKnown(f, lacks))
		return
	}
	k.add(meets(f, say("as large in every leg")))
}
