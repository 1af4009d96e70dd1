package design

// The edition the job is designed to, and what its amendments of 2024 and 2026
// ask about: devices supplied from either side, and storage.

import (
	"fmt"
	"slices"
	"strings"

	"chargewright/finding"
	"chargewright/quantity"
	"chargewright/trade"
	"chargewright/works"
)

// edition checks that the job is designed to an edition that was to be had, and
// not yet withdrawn, between the survey and the day the designer signs.
func (k *checker) edition() {
	j := k.m.Job
	f := k.start("edition", "edition", works.TheInstallation, "designed to an edition that stands on the day of design")
	early, late := j.Site.Visited, j.Site.Visited
	for _, s := range j.Certificate.Sign {
		if duty := s.For.Or(""); s.Date > late && (duty == trade.Designing || duty == trade.AllThree) {
			late = s.Date
		}
	}
	if !j.EditionStated || early == "" {
		k.add(notKnown(f, works.TheInstallation.Unless(j.EditionStated, "edition", "edition it is designed to"),
			works.TheSite.Unless(early != "", "visited", "date of the survey")))
		return
	}
	published, withdrawn := k.rules.Span()
	name := string(k.rules.Edition())
	switch {
	case late < published:
		k.add(fails(f, say("%s came out on %s, after the design", name, published), "name the edition the work was designed to"))
	case withdrawn == "":
		k.add(meets(f, say("%s, surveyed on %s", name, early)))
	case early >= withdrawn:
		k.add(fails(f, say("surveyed on %s; %s was withdrawn on %s", early, name, withdrawn), "design it to the edition in force"))
	case late >= withdrawn:
		k.add(judge(f, say("surveyed on %s and signed on %s; %s was withdrawn on %s between the two", early, late, name,
			withdrawn), "say on which day it was designed: from that day on the work is designed to the edition in force"))
	default:
		k.add(meets(f, say("surveyed on %s; %s is withdrawn on %s", early, name, withdrawn)))
	}
}

// otherSources returns what on site can feed the installation beside the street,
// and whether that is known.
func (k *checker) otherSources() (list []string, known bool) {
	s := &k.m.Job.Supply
	list = slices.Clone(s.OtherSources)
	if s.OnSite.Or(false) && len(list) == 0 {
		list = append(list, "generation or storage")
	}
	back, said := k.m.Job.Notification.ToSupply.Get()
	if back {
		list = append(list, "a vehicle that feeds back")
	}
	return list, s.OnSite.IsKnown() && said || len(list) > 0
}

// noSources is the lack of what else feeds the installation, or that nothing does.
func (k *checker) noSources() finding.Lacks {
	return finding.Gather(works.TheSupply.Unless(k.m.Job.Supply.OnSite.IsKnown(), "generation or storage",
		"generation or storage on site, or that there is none", "other sources"),
		works.Thing{Path: "notification", Name: "network operator"}.Unless(k.m.Job.Notification.ToSupply.IsKnown(), "feeds back",
			"whether a point can feed the supply"))
}

// directions checks that what may be fed from either side is made for it: a
// device marked in and out burns its coil, or fails to open, fed the wrong way.
// Sources are not placed in the record, so every device on the way to a point,
// and the main switch's RCD, counts.
func (k *checker) directions() {
	if len(k.m.Points) == 0 {
		return
	}
	others, known := k.otherSources()
	if len(others) == 0 {
		f := k.start("device direction", "bidirectional", works.TheInstallation, "devices suit a supply from either side where there may be one")
		if known {
			k.add(meets(f, say("not engaged: nothing on site feeds back")))
			return
		}
		k.add(notKnown(f, k.noSources()))
		return
	}
	what := strings.Join(others, ", ")
	seen := map[string]bool{}
	ask := func(at works.Thing, field string, sides quantity.Maybe[trade.Sides]) {
		if seen[at.Path+field] {
			return
		}
		seen[at.Path+field] = true
		f := k.start("device direction", "bidirectional", at, "it may be supplied from either side")
		switch is, ok := sides.Get(); {
		case !ok:
			f.Next = "look for in and out, line and load, or arrows on it; ask its maker where it has no marks"
			k.add(notKnown(f, at.Lack(field+"supply side", "sides it may be supplied from")))
		case is == trade.OneSide:
			k.add(fails(f, say("marked for one direction, and there is %s on site", what),
				"replace it by a bidirectional one, or move it to where only the street feeds it"))
		default:
			k.add(meets(f, say("made for either side; there is %s on site", what)))
		}
	}
	for _, p := range k.m.Points {
		for c := p.Circuit; c != nil; c = c.Feed() {
			ask(c.Thing(), "device/", c.Record.Device.Sides)
		}
		for _, r := range p.RCDs() {
			own := len(r.Feeds) == 1 && r.Feeds[0].Record.RCDThing().Path == r.Path
			if r.BuiltIn || own && r.Feeds[0].Record.Device.Type.Or("").Residual() {
				continue // the maker's own, or one device with the circuit's
			}
			ask(r.Thing, "", r.RCD.Sides)
		}
	}
}

// storage points at the chapter on batteries, whose text was not read.
func (k *checker) storage() {
	others, _ := k.otherSources()
	for _, s := range others {
		low := strings.ToLower(s)
		if strings.Contains(low, "batter") || strings.Contains(low, "storage") {
			f := k.start("storage", "storage", works.TheInstallation, "storage on site is where and as its chapter asks")
			k.add(judge(f, say("recorded: %s; what Chapter 57 asks was not read and is not checked", s),
				fmt.Sprintf("hold %s against Chapter 57 of the current edition: place, ventilation, fire, isolation", s)))
			return
		}
	}
}
