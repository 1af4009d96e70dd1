package model

import (
	"slices"
	"sync"

	"chargewright/finding"
)

// Rest says of each finding which assumed facts of the job it rests on: those
// without which it would not be found so. ask is what found them.
//
// Whether a finding rests on any is known at once, from the job with none of
// them; on which, by taking each away in turn, once somebody asks.
func (m *Model) Rest(found []finding.Finding, ask func(*Model) []finding.Finding) {
	var all []string
	for _, a := range m.Job.Assumed() {
		all = append(all, a.Path)
	}
	if len(all) == 0 {
		return
	}
	without := func(paths []string) map[outcome]bool {
		out := map[outcome]bool{}
		less := New(m.Job.Without(paths...), m.Rules)
		less.While = m.While
		for _, f := range ask(less) {
			out[outcomeOf(f)] = true
		}
		return out
	}
	bare := without(all)
	var rest []int
	for i, f := range found {
		if f.Verdict != finding.NotKnown && !bare[outcomeOf(f)] {
			rest = append(rest, i)
		}
	}
	outcomes := make([]outcome, len(found))
	for _, i := range rest {
		outcomes[i] = outcomeOf(found[i])
	}
	on := sync.OnceValue(func() map[int][]string {
		on := map[int][]string{}
		for _, path := range all {
			less := without([]string{path})
			for _, i := range rest {
				if !less[outcomes[i]] {
					on[i] = append(on[i], path)
				}
			}
		}
		for _, i := range rest {
			if on[i] == nil { // any of several would do: it rests on the last that are left
				on[i] = least(all, func(paths []string) bool { return !without(paths)[outcomes[i]] })
			}
		}
		return on
	})
	for _, i := range rest {
		found[i].Rests = func() []string { return on()[i] }
	}
}

// least returns the fewest of some paths, taken off one by one, without which
// something changes.
func least(all []string, changes func([]string) bool) []string {
	out := slices.Clone(all)
	for _, path := range all {
		if less := slices.DeleteFunc(slices.Clone(out), func(p string) bool { return p == path }); changes(less) {
			out = less
		}
	}
	return out
}

// outcome is what a finding comes to as a person reads it: a change in digits
// that are not shown is none. Where there is no number, the reason is what it
// comes to.
type outcome struct {
	key, path, against   string
	verdict              finding.Verdict
	value, limit, margin string
}

func outcomeOf(f finding.Finding) outcome {
	o := outcome{f.Key, f.Path, f.Against, f.Verdict, f.Value.String(), f.Limit.String(), f.Margin.String()}
	if f.Value.IsZero() {
		o.value = f.Why.String()
	}
	return o
}
