package design

// Surge protection: whether there must be one, its leads and what backs it up
// (BS 7671 443.4, 534.4).

import (
	"chargewright/finding"
	"chargewright/job"
	"chargewright/model"
	"chargewright/quantity"
)

// surge checks the surge protection of the job as a whole, then each device.
func (k *checker) surge() {
	f := k.start("surge protection", "surge needed", "installation", "surge protective device, or the owner's refusal on record")
	var devices, declined int
	for _, b := range k.m.Boards {
		for i := range b.Record.Surge {
			if b.Record.Surge[i].Declined.Or(false) {
				declined++
			} else {
				devices++
			}
		}
	}
	switch {
	case devices > 0:
		k.add(meets(f, say("surge protection is part of the job")))
	case declined > 0:
		k.add(judge(f, say("the owner declines surge protection"),
			"confirm that no loss of life, of a safety service, or great financial or data loss can follow, and keep the owner's signed refusal"))
	default:
		f.Next = "choose a device at the origin, or enter that the owner declines it"
		at := "supply"
		if b := k.m.OriginBoard(); b != nil {
			at = "board " + b.Record.Name
		}
		k.add(notKnown(f, at+": surge protection, or the owner's refusal"))
	}
	for _, b := range k.m.Boards {
		for i := range b.Record.Surge {
			if s := &b.Record.Surge[i]; !s.Declined.Or(false) {
				k.surgeType(b, s)
				k.surgeLeads(b, s)
				k.surgeConductors(b, s)
				k.surgeBackup(b, s)
			}
		}
	}
}

// surgeType checks the test class: a Type 3 device stands only behind a Type 2.
func (k *checker) surgeType(b *model.Board, s *job.Surge) {
	name := "surge device " + s.Name + " at " + b.Record.Name
	f := k.start("surge type", "surge needed", name, "type suits where it stands")
	kind, ok := s.Type.Get()
	switch {
	case !ok:
		k.add(notKnown(f, name+": type"))
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

// surgeConductors checks the csa of the leads where it is entered.
func (k *checker) surgeConductors(b *model.Board, s *job.Surge) {
	kind, ok := s.Type.Get()
	if !ok {
		return
	}
	class := "type 2"
	if kind == "1" || kind == "1+2" {
		class = "type 1"
	}
	for _, lead := range []struct {
		what, key string
		csa       quantity.Maybe[quantity.SquareMillimetres]
	}{{"live lead", "spd live lead " + class, s.LiveCSA}, {"earth lead", "spd earth lead " + class, s.EarthCSA}} {
		csa, entered := lead.csa.Get()
		if !entered {
			continue
		}
		f := k.start("surge "+lead.what, "surge conductors", "surge device "+s.Name+" at "+b.Record.Name, "csa of its "+lead.what)
		least, cite, gap := limit[quantity.SquareMillimetres](k, lead.key)
		if gap != "" {
			k.add(notKnown(f, gap))
			continue
		}
		f.Source = sources(k.rules.Clause("surge conductors"), cite)
		f = atLeast(f, csa, least)
		f.Why = say("for a Type %s device", kind)
		if f.Verdict == finding.Fails {
			f.Next = "replace the lead by " + least.String()
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
	f := k.start("surge distance", "surge distance", "point "+p.Record.Name, "surge device is within 10 m of cable, or the point stands the surge")
	most, cite, gap := limit[quantity.Metres](k, "spd distance")
	if gap != "" {
		k.add(notKnown(f, gap))
		return
	}
	var far quantity.Metres
	for c := p.Circuit; c != nil; c = c.Feed() {
		l, gap := c.Length()
		if gap != "" {
			k.add(notKnown(f, gap))
			return
		}
		far += l
		if c.From != nil && hasSurge(c.From) {
			break
		}
		if c.Feed() == nil {
			return // no device at all: said once for the installation
		}
	}
	f.Source = sources(k.rules.Clause("surge distance"), cite)
	f = atMost(f, far, most)
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
func (k *checker) surgeLeads(b *model.Board, s *job.Surge) {
	name := "surge device " + s.Name + " at " + b.Record.Name
	f := k.start("surge leads", "surge leads", name, "length of its leads, live and earth together")
	live, ok1 := s.LiveLead.Get()
	earth, ok2 := s.EarthLead.Get()
	most, citeMost, gap := limit[quantity.Metres](k, "spd lead greatest")
	preferred, citePreferred, gap2 := limit[quantity.Metres](k, "spd lead preferred")
	gaps := []string{gap, gap2}
	if !ok1 {
		gaps = append(gaps, name+": length of its live lead")
	}
	if !ok2 {
		gaps = append(gaps, name+": length of its earth lead")
	}
	if anyGap(gaps) {
		k.add(notKnown(f, gaps...))
		return
	}
	total := live + earth
	f.Source = sources(k.rules.Clause("surge leads"), citeMost, citePreferred)
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

	f = k.start("surge level", "surge level", name, "protection level with what its leads add")
	up, ok := s.ProtectionLevel.Get()
	perMetre, cite, gap := limit[float64](k, "spd lead volts per metre")
	highest, citeHighest, gap2 := limit[quantity.Volts](k, "spd protection level")
	if !ok || gap != "" || gap2 != "" {
		if !ok {
			gap = name + ": protection level Up"
		}
		k.add(notKnown(f, gap, gap2))
		return
	}
	added := quantity.Volts(perMetre * float64(total))
	f.Source = sources(k.rules.Clause("surge level"), cite, citeHighest)
	f = atMost(f, up+added, highest)
	f.Why = say("Up %v + %v of leads at 1 kV per metre adds %v", up, total, added)
	if f.Verdict == finding.Fails {
		f.Next = "shorten the leads, or take a device with a lower Up"
	}
	k.add(f)
}

// surgeBackup checks that the overcurrent device ahead of the surge device is
// no larger than its maker allows.
func (k *checker) surgeBackup(b *model.Board, s *job.Surge) {
	name := "surge device " + s.Name + " at " + b.Record.Name
	f := k.start("surge backup", "surge backup", name, "overcurrent device ahead is no larger than its maker allows")
	most, ok := s.GreatestBackup.Get()
	ahead, what, gap := k.deviceAhead(b, s)
	if !ok || gap != "" {
		if !ok {
			f.Next = "read the device's instructions: greatest backup fuse"
			gap = name + ": greatest backup fuse its maker allows"
		}
		k.add(notKnown(f, gap))
		return
	}
	f = atMost(f, ahead, most)
	f.Why = say("%s", what)
	if f.Verdict == finding.Fails {
		f.Next = "add an overcurrent device of at most " + most.String() + " for the surge device"
	}
	k.add(f)
}

func (k *checker) deviceAhead(b *model.Board, s *job.Surge) (quantity.Amperes, string, string) {
	if in, ok := s.Device.Rating.Get(); ok {
		return in, "its own device of " + in.String(), ""
	}
	if b.Feed != nil {
		in, gap := b.Feed.Rated()
		return in, "device of " + b.Feed.Name(), gap
	}
	if in, ok := k.m.Job.Supply.CutOut.Rating.Get(); ok {
		return in, "cut-out fuse of " + in.String(), ""
	}
	return 0, "", "supply: rating of the cut-out fuse"
}
