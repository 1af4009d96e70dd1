package paper

import (
	"chargewright/finding"
	"chargewright/job"
	"chargewright/trade"
	"chargewright/works"
)

// settled is what the record says of findings that a certificate cannot leave
// open: departures, judgements, and what is left of the findings without them.
type settled struct {
	gaps       []Gap
	departures []works.Departure
	judgements []works.Judgement
}

// settle goes through the findings. A rule of the wiring standard that fails
// wants a departure, one that is left to a person wants a judgement, one that
// is not known wants its input. Rules that stand elsewhere do not keep a
// certificate back: the job summary and the notices name them.
func settle(j *job.Job, fs []finding.Finding) settled {
	s := settled{departures: j.Departures, judgements: j.Judgements}
	for _, f := range fs {
		if f.Verdict == finding.Meets || f.WaitsOn != "" || !f.Clause.Wiring {
			continue
		}
		g := Gap{About: f.Subject, What: f.What, Get: f.Next, Clause: f.Clause.Name, Finding: &f}
		switch f.Verdict {
		case finding.Fails:
			if j.Departed(f) {
				continue
			}
			g.Kind = failing
			g.What = join(g.What, before("has ", f.Value.String()), before("limit ", f.Limit.String()))
			if g.Get == "" {
				g.Get = "put it right, or enter the departure with its reason and who answers for it"
			}
		case finding.JudgeOnSite:
			judged, ok := j.JudgementOn(f)
			accepted := judged.Outcome.Or("") == trade.Accepted
			if ok && accepted {
				continue
			}
			g.Kind = toJudge
			g.Get = join(g.Get, "then write clause, outcome, reason and who under judgements")
			if ok && judged.Outcome.IsKnown() {
				g.Kind, g.Get = failing, "judged not accepted: "+judged.Reason
			}
		default:
			g.Kind, g.Lacks = open, f.Lacks
		}
		s.gaps = append(s.gaps, g)
	}
	for _, d := range j.Departures {
		if d.Clause == "" || d.Reason == "" || d.Who == "" || d.What == "" {
			s.gaps = append(s.gaps, Gap{Kind: wanting, About: "departure " + d.Clause, What: "clause, what is done instead, reason and who answers for it",
				Get: "complete it under departures", Field: "departures", Of: "departures"})
		}
	}
	if len(j.Departures) > 0 && j.Certificate.NoDepartures.Or(false) {
		s.gaps = append(s.gaps, Gap{Kind: failing, About: "certificate", What: "it says that there are no departures, and departures are listed",
			Get: "keep one of the two", Field: "departures", Of: "certificate/no departures"})
	}
	for _, l := range j.Limitations {
		if l.Reason == "" || l.Agreed == "" {
			s.gaps = append(s.gaps, Gap{Kind: wanting, About: "limitation " + l.What, What: "its reason and with whom it was agreed",
				Get: "complete it under limitations", Field: "work_extent", Of: "limitations"})
		}
	}
	if call := j.Handover.Call; call != "" && callLine(call) == "" {
		s.gaps = append(s.gaps, Gap{Kind: wanting, About: "owner", What: "a telephone number: whom to call says " + call,
			Get:   "enter name and number under handover, call",
			Field: "ho_warranty_service", Of: "handover/call"})
	}
	for _, text := range unprintable(j) {
		s.gaps = append(s.gaps, Gap{Kind: failing, About: "words of the record", What: "the papers' typeface lacks letters of: " + text,
			Get: "write it in letters that it has: a certificate is not signed with empty boxes on it"})
	}
	for _, d := range j.Judgements {
		if d.Reason == "" || d.Who == "" {
			s.gaps = append(s.gaps, Gap{Kind: wanting, About: "judgement " + d.Clause, What: "what it rests on and who judged", Get: "complete it under judgements",
				Of: "judgements"})
		}
	}
	return s
}
