package choose

import (
	"slices"

	"chargewright/design"
	"chargewright/finding"
)

// outcome checks the job as chosen and hands everything over.
func (s *site) outcome() *Outcome {
	s.remake()
	s.out.Job, s.out.Model = s.job, s.model
	s.out.Findings = design.Check(s.model)
	s.out.Assumed = append(s.out.Assumed, s.model.Assumptions...)
	return s.out
}

// found reports that there is a design: something was chosen, or nothing was
// left to choose and no rule fails.
func (o *Outcome) found() bool {
	fails := func(f finding.Finding) bool { return f.Verdict == finding.Fails }
	return len(o.Circuits) > 0 || len(o.Lacks) == 0 && !slices.ContainsFunc(o.Findings, fails)
}
