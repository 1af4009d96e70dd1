package choose

// Whether the points need a limiter, and how high it may be set.

import (
	"fmt"
	"math"

	"chargewright/finding"
	"chargewright/model"
	"chargewright/quantity"
	"chargewright/trade"
	"chargewright/works"
)

// LimiterChoice says what was found about load limiting.
type LimiterChoice struct {
	Name     string  `json:"name,omitempty"`
	Needed   bool    `json:"needed"`
	Limit    float64 `json:"limit,omitempty"`
	FailSafe float64 `json:"failSafe"`
	Why      string  `json:"why"`
}

// chooseLimiter settles the limiters: the limit of each that has none, and one
// at the supply where the points in full are more than the supply carries and
// no limiter is there.
func (s *site) chooseLimiter() {
	carries, what := s.supplyCarries()
	d := s.model.SupplyDemand()
	if carries == 0 {
		return // the check names what is missing
	}
	if !d.Existing.Known() || !d.Points.Known() {
		s.lack(finding.Gather(d.Existing.Lacks, d.Points.Lacks))
		return
	}
	choice := &LimiterChoice{}
	for i := range s.job.Limiters {
		if l := &s.job.Limiters[i]; !l.Limit.IsKnown() || !l.FailSafe.IsKnown() {
			s.setLimiter(l, carries, what, d, choice)
		}
	}
	choice.Needed = d.Unlimited > carries*(1+1e-9)
	full := fmt.Sprintf("every point in full makes %v in the most loaded line; %s carries %v", d.Unlimited, what, carries)
	switch {
	case len(s.job.Limiters) > 0 && choice.Why == "":
		return // nothing of them was open
	case len(s.job.Limiters) > 0:
		choice.Why = full + "; " + choice.Why
	case !choice.Needed:
		choice.Why = full + ": no limiter is needed"
	case d.Existing.Greatest() > carries:
		choice.Why = full + "; the other loads alone are more, which no limiter cures"
		s.lack(works.TheSupply.Lack("cut-out/rating", "room for any point; the other loads alone exceed it", "agreed capacity", "maximum demand"))
	default:
		l := works.Limiter{Name: "supply limiter", At: "supply", Clamp: "supply tails, after the meter"}
		s.put("supply", "limiters", l.Name, "at")
		phases := trade.ThreePhase
		if s.job.Supply.Phases.Or(1) == 1 {
			phases = trade.L1
		}
		l.ClampPhases = quantity.Known(phases)
		s.put(l.Clamp, "limiters", l.Name, "clamp place")
		s.put(string(phases), "limiters", l.Name, "clamp phases")
		s.job.Limiters = append(s.job.Limiters, l)
		for i := range s.job.Points {
			if p := &s.job.Points[i]; p.Limiter == "" {
				p.Limiter = l.Name
				s.put(l.Name, "points", p.Name, "limiter")
			}
		}
		s.setLimiter(&s.job.Limiters[0], carries, what, d, choice)
		choice.Why = full + "; " + choice.Why
	}
	s.out.Limiter = choice
}

// supplyCarries returns the current per line the supply may be loaded with.
func (s *site) supplyCarries() (quantity.Amperes, string) {
	rating, ok := s.job.Supply.CutOut.Rating.Get()
	capacity, agreed := s.job.Supply.Capacity.Get()
	switch {
	case agreed && (!ok || capacity < rating):
		return capacity, "the agreed capacity"
	case ok:
		return rating, "the cut-out fuse"
	}
	return 0, ""
}

// setLimiter sets a limiter as high as what stands before it allows: at the
// supply what the supply carries; at a board what the other loads leave of it,
// and no more than a device already chosen for its feeder.
func (s *site) setLimiter(l *works.Limiter, carries quantity.Amperes, what string, d model.SupplyDemand, choice *LimiterChoice) {
	limit, others := carries, s.model.AtLimiter(l).Without(l).Greatest()
	why := fmt.Sprintf("limit of %s: %s", l.Name, what)
	for _, b := range s.model.Boards {
		if b.Record.Name != l.At || b.Feed == nil {
			continue
		}
		limit -= d.Existing.Greatest()
		others = s.model.AtLimiter(l).Without(l).Greatest()
		why = fmt.Sprintf("limit of %s: %s less the %v of the other loads", l.Name, what, d.Existing.Greatest())
		if in, ok := b.Feed.Record.Device.Rating.Get(); ok && in < limit {
			limit, why = in, fmt.Sprintf("limit of %s: the %v device of the feeder", l.Name, in)
		}
	}
	limit = quantity.Amperes(math.Floor(float64(limit) + 1e-9))
	if limit <= 0 {
		s.lack(l.Thing().Lack("limit", "a limit; the other loads leave nothing"))
		return
	}
	fill(s, &l.Limit, limit, exact(limit), "limiters", l.Name, "limit")
	limit, _ = l.Limit.Get()
	safe := quantity.Amperes(math.Max(0, math.Floor(float64(limit-others)+1e-9)))
	if safe < quantity.Amperes(s.limit("pilot least")) {
		safe = 0
	}
	fill(s, &l.FailSafe, safe, exact(safe), "limiters", l.Name, "fail-safe current")
	safe, _ = l.FailSafe.Get()
	choice.Name, choice.Limit, choice.FailSafe, choice.Why = l.Name, float64(limit), float64(safe), why
}
