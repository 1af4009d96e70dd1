package choose

import "chargewright/design"

// outcome checks the job as chosen and hands everything over.
func (s *site) outcome() *Outcome {
	s.remake()
	s.out.Job, s.out.Model = s.job, s.model
	s.out.Findings = design.Check(s.model)
	s.out.Assumed = append(s.out.Assumed, s.model.Assumptions...)
	return s.out
}
