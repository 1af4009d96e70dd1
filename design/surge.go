package design

// Surge protection: whether there must be one, its leads and what backs it up
// (BS 7671 443.4, 534.4).

import (
	"fmt"

	"chargewright/finding"
	"chargewright/model"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/trade"
	"chargewright/works"
)

// surge checks the surge protection of the job as a whole, then each device.
func (k *checker) surge() {
	k.surgeNeeded()
	for _, b := range k.m.Boards {
		for i := range b.Record.Surge {
			if s := &b.Record.Surge[i]; !s.Declined.Or(false) {
				k.surgeType(b, s)
				k.surgeConnection(b, s)
				k.surgeLeads(b, s)
				k.surgeConductors(b, s)
				k.surgeBackup(b, s)
				k.surgeBreaking(b, s)
			}
		}
	}
}

// surgeNeeded checks that there is a device of Type 1 or 2 at or near the origin
// (534.4.1), or the owner's refusal. A name alone is no device, and one at a far
// board leaves what lies before it bare.
func (k *checker) surgeNeeded() {
	f := k.start("surge protection", "surge needed", works.TheInstallation, "surge protective device at or near the origin, or the owner's refusal on record")
	near := limit[quantity.Metres](k, "spd distance")
	var at, typeless, refused, far string
	var lacks finding.Lacks
	for _, b := range k.m.Boards {
		for i := range b.Record.Surge {
			s := &b.Record.Surge[i]
			name := b.Record.SurgeThing(s).Name
			away := k.fromOrigin(b)
			kind, known := s.Type.Get()
			switch {
			case s.Declined.Or(false):
				refused = name
			case away.Known() && away.Value > near.Value:
				far = fmt.Sprintf("%s is %v of cable from the origin", name, away.Value)
			case !known || !away.Known() || !s.Connection.IsKnown():
				typeless = name
				lacks = finding.Gather(lacks, b.Record.SurgeThing(s).Unless(known, "type", "type"),
					b.Record.SurgeThing(s).Unless(s.Connection.IsKnown(), "connection", "connection"), away.Lacks)
			case kind != "3":
				at = name
			}
		}
	}
	switch {
	case at != "":
		k.add(meets(f, say("%s", at)))
	case typeless != "":
		k.add(notKnown(f, lacks, near.Lacks))
	case far != "":
		k.add(judge(f, say("%s; what lies between is not protected", far), "put a device at the origin, or show that what lies before it needs none"))
	case refused != "":
		k.add(judge(f, say("the owner declines surge protection"),
			"confirm that no loss of life, of a safety service, or great financial or data loss can follow, and keep the owner's signed refusal"))
	default:
		f.Next = "choose a device at the origin, or enter that the owner declines it"
		at, list := works.TheSupply, "boards"
		if b := k.m.OriginBoard(); b != nil {
			at, list = b.Record.Thing(), b.Record.Thing().Path+"/surge protection"
		}
		k.add(notKnown(f, finding.Lacks{{Path: list, Of: at.Name, What: "surge protection, or the owner's refusal"}}))
	}
}

// fromOrigin returns the length of cable from the origin to a board.
func (k *checker) fromOrigin(b *model.Board) (out model.Answer[quantity.Metres]) {
	for ; b.Feed != nil && b.Feed.From != nil; b = b.Feed.From {
		l := b.Feed.Length()
		out.Value += l.Value
		out.Lacks = append(out.Lacks, l.Lacks...)
	}
	if b.Record.FedFrom == "" {
		out.Lacks = append(out.Lacks, k.m.Unfed(b)...)
	}
	return out
}

// surgeConnection checks how the device is connected: ahead of the RCD of a TT
// supply only line to neutral, and neutral to earth by a gap (CT2); behind an
// RCD it asks for one that stands surges (534.4.3, 534.4.6).
func (k *checker) surgeConnection(b *model.Board, s *works.Surge) {
	at := b.Record.SurgeThing(s)
	f := k.start("surge connection", "surge connection", at, "connection suits the earthing and where it stands")
	how, ok := s.Connection.Get()
	system, known := k.m.Job.Supply.Earthing.Get()
	behind, is := residualBefore(b)
	delayed := behind.RCD.Delayed.Or(false)
	switch {
	case !ok || !known:
		k.add(notKnown(f, at.Unless(ok, "connection", "connection, CT1 or CT2"), k.m.NoEarthing()))
	case !is && system == trade.TT && how != "CT2":
		k.add(fails(f,
			say("%s ahead of the RCD of a TT supply: a worn-out device puts the line on the earth, and no fuse clears it", how),
			"connect it as CT2, or put it behind the RCD"))
	case is && !delayed:
		f.Clause = k.rules.Clause("surge rcd").Cited()
		k.add(judge(f, say("%s, behind %s", how, behind.Name), "put it ahead of that RCD, or show that the RCD stands surges of 3 kA; a time-delayed one does"))
	default:
		if lacks := k.m.NoWay(b); !is && len(lacks) > 0 {
			k.add(notKnown(f, lacks))
			return
		}
		k.add(meets(f, say("%s on a %s supply", how, string(system))))
	}
}

// residualBefore returns the RCD that the whole of a board is behind, if any.
func residualBefore(b *model.Board) (model.Protecting, bool) {
	for ; b != nil; b = b.Feed.From {
		if w := &b.Record.MainSwitch; w.RCD != (works.RCD{}) {
			return model.Protecting{Thing: b.Record.MainRCDThing(), RCD: w.RCD}, true
		}
		if b.Feed == nil {
			break
		}
		if r := b.Feed.Record.RCD; r != (works.RCD{}) {
			return model.Protecting{Thing: b.Feed.Record.RCDThing(), RCD: r}, true
		}
		if shared, ok := b.Feed.SharedRCD(); ok {
			return model.Protecting{Thing: b.Feed.From.Record.RCDThing(shared), RCD: shared.RCD}, true
		}
	}
	return model.Protecting{}, false
}

// surgeBreaking checks that a device of its own ahead of the surge device breaks
// the fault current there.
func (k *checker) surgeBreaking(b *model.Board, s *works.Surge) {
	if s.Device == (works.Device{}) {
		return
	}
	at := b.Record.SurgeThing(s)
	f := k.start("surge device breaking", "breaking capacity", at, "overcurrent device of its own breaks the fault current there: Icn ≥ Ipf")
	icn, fault := s.Device.BreakingCapacity, k.m.GreatestFault(b)
	f = k.stands(f, icn, fault, at.Unless(icn.IsKnown(), "device/breaking capacity", "breaking capacity of its own device"))
	if f.Verdict == finding.Fails {
		f.Next = "take a device of at least " + fault.Current.String() + " breaking capacity"
	}
	k.add(f)
}

// surgeType checks the test class: a Type 3 device stands only behind a Type 2.
func (k *checker) surgeType(b *model.Board, s *works.Surge) {
	at := b.Record.SurgeThing(s)
	f := k.start("surge type", "surge needed", at, "type suits where it stands")
	kind, ok := s.Type.Get()
	switch {
	case !ok:
		k.add(notKnown(f, at.Lack("type", "type")))
	case kind != "3":
		k.add(meets(f, say("Type %s at a board; Type 1 or 1+2 where the structure has lightning protection or an overhead line is exposed", kind)))
	case k.surgeAhead(b):
		k.add(meets(f, say("Type 3, with another type ahead of it")))
	default:
		k.add(fails(f, say("Type 3 and no other type ahead of it"), "put a Type 2 device at or near the origin"))
	}
}

// surgeAhead reports whether board b or one ahead of it has a device that is
// not Type 3.
func (k *checker) surgeAhead(b *model.Board) bool {
	for b != nil {
		for i := range b.Record.Surge {
			s := &b.Record.Surge[i]
			if kind, ok := s.Type.Get(); ok && kind != "3" && !s.Declined.Or(false) {
				return true
			}
		}
		if b.Feed == nil {
			return false
		}
		b = b.Feed.From
	}
	return false
}

// surgeConductors checks the csa of the leads.
func (k *checker) surgeConductors(b *model.Board, s *works.Surge) {
	kind, typed := s.Type.Get()
	class := "type 2"
	if kind == "1" || kind == "1+2" {
		class = "type 1"
	}
	for _, lead := range []struct {
		what, key string
		csa       quantity.Maybe[quantity.SquareMillimetres]
	}{{"live lead", "spd live lead " + class, s.LiveCSA}, {"earth lead", "spd earth lead " + class, s.EarthCSA}} {
		at := b.Record.SurgeThing(s)
		f := k.start("surge "+lead.what, "surge conductors", at, "csa of its "+lead.what)
		least := limit[quantity.SquareMillimetres](k, lead.key)
		csa, sized := lead.csa.Get()
		if !sized || !typed || !least.Known() {
			k.add(notKnown(f, least.Lacks, at.Unless(sized, lead.what+" csa", "csa of its "+lead.what), at.Unless(typed, "type", "type")))
			continue
		}
		f.Source = standard.Sources(k.rules.Clause("surge conductors"), least.Cite)
		f = atLeast(f, csa, least.Value)
		f.Why = say("for a Type %s device", kind)
		if f.Verdict == finding.Fails {
			f.Next = "replace the lead by " + least.Value.String()
		}
		k.add(f)
	}
}

// surgeReach checks how far a point stands from the surge device that
// protects it: beyond 10 m of cable one of its own may be needed.
func (k *checker) surgeReach(p *model.Point) {
	if p.Circuit == nil {
		return
	}
	f := k.start("surge distance", "surge distance", p.Record.Thing(), "surge device is within 10 m of cable, or the point stands the surge")
	most := limit[quantity.Metres](k, "spd distance")
	if !most.Known() {
		k.add(notKnown(f, most.Lacks))
		return
	}
	var far quantity.Metres
	for c := p.Circuit; c != nil; c = c.Feed() {
		l := c.Length()
		if !l.Known() {
			k.add(notKnown(f, l.Lacks))
			return
		}
		far += l.Value
		if c.From != nil && hasSurge(c.From) {
			break
		}
		if c.Feed() == nil {
			return // no device at all: said once for the installation
		}
	}
	f.Source = standard.Sources(k.rules.Clause("surge distance"), most.Cite)
	f = atMost(f, far, most.Value)
	f.Why = say("%v of cable from the nearest device ahead", far)
	if f.Verdict == finding.Fails {
		f.Verdict = finding.JudgeOnSite
		f.Next = "ask the point's maker for its impulse withstand, or add a device at its board or in the point"
		if withstand, ok := p.Record.Impulse.Get(); ok {
			f.Why = f.Why.Then(say("the point stands an impulse of %v", withstand))
			f.Next = "decide whether the point's impulse withstand is enough there, or add a device at its board"
		}
	}
	k.add(f)
}

func hasSurge(b *model.Board) bool {
	for i := range b.Record.Surge {
		if !b.Record.Surge[i].Declined.Or(false) {
			return true
		}
	}
	return false
}

// surgeLeads checks the length of the leads and what they add to the
// protection level.
//
//	formula  Up + 1 kV/m × (live lead + earth lead) ≤ 2.5 kV
//	clause   BS 7671 534.4.8 (length) and 534.4.4.2 (level)
func (k *checker) surgeLeads(b *model.Board, s *works.Surge) {
	at := b.Record.SurgeThing(s)
	f := k.start("surge leads", "surge leads", at, "length of its leads, live and earth together")
	live, ok1 := s.LiveLead.Get()
	earth, ok2 := s.EarthLead.Get()
	greatest, better := limit[quantity.Metres](k, "spd lead greatest"), limit[quantity.Metres](k, "spd lead preferred")
	lacks := finding.Gather(greatest.Lacks, better.Lacks, at.Unless(ok1, "live lead", "length of its live lead"),
		at.Unless(ok2, "earth lead", "length of its earth lead"))
	if len(lacks) > 0 {
		k.add(notKnown(f, lacks))
		f = notKnown(k.start("surge level", "surge level", at, "protection level with what its leads add"), lacks)
		f.WaitsOn = "surge leads"
		k.add(f)
		return
	}
	most, preferred, total := greatest.Value, better.Value, live+earth
	f.Source = standard.Sources(k.rules.Clause("surge leads"), greatest.Cite, better.Cite)
	f = atMost(f, total, most)
	f.Why = say("%v live and %v earth", live, earth)
	switch {
	case f.Verdict == finding.Fails:
		f.Next = "bring the device nearer the bars, or connect it in V form, until its leads are at most " + most.String()
	case total > preferred*(1+finding.Slack):
		f.Why = f.Why.Then(say("within %v, above the %v preferred", most, preferred))
		f.Next = "shorten the leads if the board allows"
	}
	k.add(f)

	f = k.start("surge level", "surge level", at, "protection level with what its leads add")
	up, ok := s.ProtectionLevel.Get()
	perMetre, highest := limit[float64](k, "spd lead volts per metre"), limit[quantity.Volts](k, "spd protection level")
	if lacks := finding.Gather(at.Unless(ok, "protection level", "protection level Up"), perMetre.Lacks, highest.Lacks); len(lacks) > 0 {
		k.add(notKnown(f, lacks))
		return
	}
	added := quantity.Volts(perMetre.Value * float64(total))
	f.Source = standard.Sources(k.rules.Clause("surge level"), perMetre.Cite, highest.Cite)
	f = atMost(f, up+added, highest.Value)
	f.Why = say("Up %v + %v of leads at 1 kV per metre adds %v", up, total, added)
	if f.Verdict == finding.Fails {
		f.Next = "shorten the leads, or take a device with a lower Up"
	}
	k.add(f)
}

// surgeBackup checks that the overcurrent device ahead of the surge device is
// no larger than its maker allows.
func (k *checker) surgeBackup(b *model.Board, s *works.Surge) {
	at := b.Record.SurgeThing(s)
	f := k.start("surge backup", "surge backup", at, "overcurrent device ahead is no larger than its maker allows")
	most, ok := s.GreatestBackup.Get()
	ahead := k.deviceAhead(b, s)
	if !ok || !ahead.Known() {
		if !ok {
			f.Next = "read the device's instructions: greatest backup fuse"
			ahead.Lacks = at.Lack("greatest backup fuse", "greatest backup fuse its maker allows")
		}
		k.add(notKnown(f, ahead.Lacks))
		return
	}
	f = atMost(f, ahead.Value, most)
	f.Why = say("%s", ahead.Why)
	if f.Verdict == finding.Fails {
		f.Next = "add an overcurrent device of at most " + most.String() + " for the surge device"
	}
	k.add(f)
}

func (k *checker) deviceAhead(b *model.Board, s *works.Surge) model.Answer[quantity.Amperes] {
	if s.Device == (works.Device{}) {
		return k.deviceOver(b)
	}
	in, ok := s.Device.Rating.Get()
	return model.Answer[quantity.Amperes]{Value: in, Why: "its own device of " + in.String(),
		Lacks: b.Record.SurgeThing(s).Unless(ok, "device/rating", "rating of its own device")}
}
