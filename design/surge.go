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
		k.add(notKnown(f, "surge protection: none is entered, and no refusal"))
	}
	for _, b := range k.m.Boards {
		for i := range b.Record.Surge {
			if s := &b.Record.Surge[i]; !s.Declined.Or(false) {
				k.surgeLeads(b, s)
				k.surgeBackup(b, s)
			}
		}
	}
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
	case total > preferred*(1+slack):
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
