package design

// The edition the job is designed to.

import (
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
