package prove

import (
	"flag"
	"fmt"
	"math"
	"slices"
	"strings"
	"sync"
	"testing"

	"chargewright/job"
	"chargewright/model"
	outside "chargewright/prove/bench"
	"chargewright/standard"
)

var (
	outsideCases = flag.Int("outside", 120, "how many places of the bench the diagnosis is held to; 3000 for the record in bench")
	outsideSeed  = flag.Uint64("outsideseed", 1, "seed of the places of the bench")
	unlisted     = flag.Bool("unlisted", false, "only places with a fault that is on no list")
)

// seen is what the diagnosis made of one case of the bench.
type seen struct {
	of            *outside.Case
	before, after int // place of a right cause in the list, -1 for none; before and after the suggested tests
	called        string
	hidden        bool // a dangerous fault stands behind a harmless first cause
	listed        bool // and is not on the list at all
	none          bool // first of all: none of these
	tests         int
	raised, asked bool // the first suggested test made the truth likelier; there was one
	chances       []float64
	right         []bool
	list          []string // what was said, with its chance
	err           error
}

// TestOutside holds diagnosis to places that share no line with its own model:
// another circuit, meters out in other ways, records as people keep them. The
// aims are the project's own; no published source.
func TestOutside(t *testing.T) {
	n := *outsideCases
	if testing.Short() {
		n = min(n, 40)
	}
	rules, err := standard.Open(standard.DefaultEdition())
	if err != nil {
		t.Fatal(err)
	}
	all := make([]seen, n)
	var wait sync.WaitGroup
	for worker := range 2 {
		wait.Add(1)
		go func() {
			defer wait.Done()
			for i := worker; i < n; i += 2 {
				draw := outside.New
				if *unlisted {
					draw = outside.NewUnlisted
				}
				all[i] = diagnose(draw(*outsideSeed, i), rules)
			}
		}()
	}
	wait.Wait()
	for i, s := range all {
		if s.err != nil {
			t.Fatalf("case %d (%s): %v\n%s", i, s.of.Names(), s.err, s.of.Record)
		}
	}
	outsideReport(t, all)
}

// diagnose explains one case and takes the tests suggested, four at most.
func diagnose(c *outside.Case, rules *standard.Rulebook) seen {
	s := seen{of: c, before: -1, after: -1}
	var truth float64
	for step := 0; ; step++ {
		j, err := job.Read("bench.yaml", []byte(c.Record))
		if err != nil {
			s.err = err
			return s
		}
		b, err := newBench(model.New(j, rules), UsualPriors())
		if err != nil {
			s.err = err
			return s
		}
		groups := b.groupUp(b.suppose())
		rank, chance := named(c, groups)
		next := b.nextTest(groups)
		if step == 0 {
			s.before = rank
		}
		if step == 1 {
			s.raised = chance > truth+1e-6 || chance > 0.95
		}
		truth = chance
		const most = 4
		if step < most && next != nil && !next.Proof && groups[0].chance < 0.98 && c.Add(next.Reading, next.At, next.Function) {
			s.asked = s.asked || step == 0
			s.tests++
			continue
		}
		s.after, s.called = rank, groups[0].words()
		s.none = groups[0].none
		s.hidden = c.Danger() && !groups[0].none && rank != 0 && !groups[0].dangerous()
		s.listed = c.Danger() && rank < 0
		for i := range groups {
			s.chances = append(s.chances, groups[i].chance)
			s.list = append(s.list, fmt.Sprintf("%.3f %s", groups[i].chance, groups[i].words()))
			s.right = append(s.right, groups[i].none && c.Outside() || !groups[i].other && !groups[i].none && names(c, &groups[i]) || groups[i].other && rank < 0 && !c.Outside())
		}
		return s
	}
}

// names reports whether a cause on the list is what is wrong.
func names(c *outside.Case, g *group) bool {
	return slices.ContainsFunc(g.members, func(h *hypothesis) bool {
		if len(h.parts) != len(c.Faults) {
			return false
		}
		for _, f := range c.Faults {
			if !slices.ContainsFunc(h.parts, func(p supposed) bool { return slices.Contains(f.Is, p.cause.key) }) {
				return false
			}
		}
		return true
	})
}

// named returns where the truth stands in the list, and its chance in all.
func named(c *outside.Case, groups []group) (int, float64) {
	rank, at, chance := -1, 0, 0.0
	for i := range groups {
		g := &groups[i]
		if g.other {
			continue
		}
		if !g.none && names(c, g) {
			chance += g.chance
			if rank < 0 {
				rank = at
			}
		}
		at++
	}
	return rank, chance
}

func outsideReport(t *testing.T, all []seen) {
	var out strings.Builder
	line := func(format string, args ...any) { fmt.Fprintf(&out, format+"\n", args...) }
	type tally struct{ first, three, before, of, sure, sureRight, hidden, unlisted, danger, dangerThree int }
	var one, two, sound, odd tally
	perFault := map[string]*tally{}
	taken := map[string]int{}
	var weight, said, was [bins]float64
	raised, asked, tests, falsely := 0, 0, 0, 0
	for _, s := range all {
		k := &one
		switch {
		case len(s.of.Faults) == 0:
			k = &sound
		case s.of.Outside():
			k = &odd
			if s.none {
				k.first++
			}
		case len(s.of.Faults) == 2:
			k = &two
		}
		k.of++
		if s.none && !s.of.Outside() {
			falsely++
		}
		f := perFault[s.of.Names()]
		if f == nil {
			f = &tally{}
			perFault[s.of.Names()] = f
		}
		f.of++
		if k != &odd {
			if s.after == 0 {
				k.first++
				f.first++
			} else {
				taken[s.of.Names()+" → "+s.called]++
			}
		} else if s.none {
			f.first++
		} else {
			taken[s.of.Names()+" → "+s.called]++
		}
		if s.before == 0 {
			k.before++
		}
		if s.after >= 0 && s.after < 3 {
			k.three++
		}
		if s.of.Danger() && k == &one {
			k.danger++
			if s.after >= 0 && s.after < 3 {
				k.dangerThree++
			}
			if s.hidden {
				k.hidden++
				f.hidden++
			}
			if s.listed {
				k.unlisted++
			}
		}
		if k == &one && s.asked {
			asked++
			if s.raised {
				raised++
			}
		}
		tests += s.tests
		for i, p := range s.chances {
			b := min(int(p*bins), bins-1)
			weight[b]++
			said[b] += p
			if s.right[i] {
				was[b]++
			}
			if p >= 0.95 && i == 0 && k != &sound {
				k.sure++
				if s.right[i] {
					k.sureRight++
				}
			}
		}
	}
	share := func(a, b int) float64 { return 100 * float64(a) / max(float64(b), 1) }
	var off, sum float64
	for k := range bins {
		off += math.Abs(said[k] - was[k])
		sum += weight[k]
	}
	line("%d places, seed %d: %d sound, %d with one fault, %d with two, %d with one that is on no list; %.1f tests suggested a place", len(all), *outsideSeed, sound.of, one.of, two.of, odd.of, float64(tests)/float64(len(all)))
	line("one fault:  right first %.1f %% (before any suggested test %.1f %%), in three %.1f %%, dangerous in three %.1f %%", share(one.first, one.of), share(one.before, one.of), share(one.three, one.of), share(one.dangerThree, one.danger))
	line("            dangerous behind a harmless first cause %.1f %%; dangerous and not listed %.1f %%; sure (95 %%) and right %.1f %% of %d", share(one.hidden, one.danger), share(one.unlisted, one.danger), share(one.sureRight, one.sure), one.sure)
	line("            the first suggested test made the truth likelier in %.1f %% of %d", share(raised, asked), asked)
	line("two faults: both first %.1f %%, in three %.1f %%", share(two.first, two.of), share(two.three, two.of))
	line("sound:      called sound %.1f %% (before any suggested test %.1f %%)", share(sound.first, sound.of), share(sound.before, sound.of))
	line("on no list: named as such %.1f %% of %d; said of what is on the list %d times of %d", share(odd.first, odd.of), odd.of, falsely, len(all)-odd.of)
	line("expected calibration error %.3f", off/sum)
	for k := range bins {
		if weight[k] > 0 {
			line("  said %3.0f %%, was %5.1f %%, of %4.0f", 100*said[k]/weight[k], 100*was[k]/weight[k], weight[k])
		}
	}
	line("by fault, right first:")
	for _, name := range sortedKeys(perFault) {
		if f := perFault[name]; !strings.Contains(name, " + ") {
			line("  %-52s %3d of %3d  %s", name, f.first, f.of, strings.Repeat("!", f.hidden))
		}
	}
	line("taken for another most often:")
	names := sortedKeys(taken)
	slices.SortStableFunc(names, func(a, b string) int { return taken[b] - taken[a] })
	for _, name := range names[:min(40, len(names))] {
		line("  %3d  %s", taken[name], name)
	}
	t.Log("\n" + out.String())
	// A little below what was recorded, and two deviations of so few places.
	least := func(what string, got, of int, floor float64) {
		n := max(float64(of), 1)
		if share := float64(got) / n; of > 0 && share < floor-2*math.Sqrt(floor*(1-floor)/n) {
			t.Errorf("%s: %.3f of %d places, want %.2f", what, share, of, floor)
		}
	}
	least("right cause first, one fault", one.first, one.of, 0.87)
	least("right cause among the first three, one fault", one.three, one.of, 0.92)
	least("dangerous cause among the first three", one.dangerThree, one.danger, 0.96)
	least("no dangerous fault behind a harmless first cause", one.danger-one.hidden, one.danger, 0.95)
	least("right where it is sure", one.sureRight, one.sure, 0.96)
	least("sound place called sound", sound.first, sound.of, 0.95)
	if n := float64(one.of + sound.of); off/sum > 0.05+0.5/math.Sqrt(max(n, 1)) {
		t.Errorf("expected calibration error %.3f, want at most 0.05 and what chance does", off/sum)
	}
}

func sortedKeys[V any](m map[string]V) []string {
	var out []string
	for k := range m {
		out = append(out, k)
	}
	slices.Sort(out)
	return out
}
