package prove

import (
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"chargewright/job"
	"chargewright/model"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/works"
)

var walkAll = flag.Bool("walk", false, "print every walk of TestEveryFaultIsSingledOut")

// sufferer draws places until one can have a cause that some measurement shows,
// at its middle size or else at an end of its sizes.
func sufferer(c *cause, rules *standard.Rulebook, priors Priors) *truth {
	for seed := range uint64(60) {
		t, _ := newTruth(rand.New(rand.NewPCG(7, seed)), 0, rules, priors)
		t.usual = nil
		for _, want := range append(slices.Clone(usualReadings), wanted{"RCD test button", "CP1", "", 1}, wanted{"6 mA d.c.", "CP1", "", 1}) { // all that people take
			q := t.bench.ask(kindOf(want.reading), want.at, how(want.function), "tester")
			if _, ok := q.kind.predict(t.bench.wiring.sound(), q); ok && len(q.gap) == 0 {
				t.usual = append(t.usual, want)
			}
		}
		t.firstReadings() // where a cause can be depends on them
		t.bench, _ = newBench(model.New(t.job, rules), priors)
		t.job.Readings = nil
		places := t.bench.placesOf(c)
		if len(places) == 0 {
			continue
		}
		middle := math.Sqrt(c.low * c.high)
		if c.unit == "sizes" {
			middle = c.low
		}
		for _, x := range []float64{middle, c.high, c.low} {
			t.state = t.bench.sound.clone()
			at := places[len(places)-1]
			if t.parts, t.sizes = []supposed{{c, at}}, []float64{x}; c.change(t.state, at, x) && t.identifiable() {
				return t
			}
		}
	}
	return nil
}

// TestEveryFaultIsSingledOut walks every cause of the table: the usual readings,
// then what is suggested, four tests at most. In the end the cause stands first,
// or in the group that no meter can part. Never the same test twice without a
// reason, and no proof of a repair before a cause has nine in ten. Aims of our
// own; no published source.
func TestEveryFaultIsSingledOut(t *testing.T) {
	rules, err := standard.Open(standard.DefaultEdition())
	if err != nil {
		t.Fatal(err)
	}
	const most = 4
	var nowhere []string
	walked, tests, priors := 0, 0, UsualPriors()
	for n, c := range priors.causes {
		if c.key == "warm" || c.key == "cold" { // some degrees more or less fail no limit, and only a thermometer tells
			continue
		}
		if c.is == "state" || c.is == "use" || c.key == "slip" || c.key == "other place" || testing.Short() && n%4 != 0 {
			continue
		}
		truth := sufferer(c, rules, priors)
		if truth == nil {
			nowhere = append(nowhere, c.key) // no such place is drawn, or no test of it is among the usual
			continue
		}
		walked++
		truth.firstReadings()
		var steps []string
		for taken := 0; ; taken++ {
			b, err := newBench(truth.model, priors)
			if err != nil {
				t.Fatal(err)
			}
			groups := b.groupUp(b.suppose())
			next := b.nextTest(groups)
			if next != nil && next.Proof && groups[0].chance < sure {
				t.Errorf("%s: a repair is to be proved at %.2f", c.key, groups[0].chance)
			}
			last := taken == most || next == nil || next.Proof || groups[0].chance > 0.95
			if last {
				switch {
				case !slices.ContainsFunc(groups[0].members, truth.is):
					t.Errorf("%s at %s, %.3g: %s (%.2f) stands first in its place after %s", c.key, truth.parts[0].where.name, truth.sizes[0], groups[0].words(), groups[0].chance, steps)
				case groups[0].chance < 0.5:
					t.Errorf("%s at %s: first with no more than %.2f after %s", c.key, truth.parts[0].where.name, groups[0].chance, steps)
				}
				tests += taken
				if *walkAll {
					t.Logf("%-24s %d tests, %.2f %v", c.key, taken, groups[0].chance, steps)
				}
				break
			}
			again := slices.ContainsFunc(b.readings, func(r reading_) bool {
				return r.asked != nil && r.record.At == next.At && r.asked.kind.Name == next.Reading && r.record.Function == next.Function
			})
			if again && next.Again == "" {
				t.Errorf("%s: %s at %s is suggested once more without a reason", c.key, next.Reading, next.At)
			}
			r, ok := truth.read(wanted{next.Reading, next.At, next.Function, 1})
			if !ok {
				t.Errorf("%s: %s at %s is suggested and cannot be taken", c.key, next.Reading, next.At)
				break
			}
			r.Beside = quantity.Known(true)
			truth.job.Readings = append(truth.job.Readings, r)
			steps = append(steps, next.Reading+" at "+next.At+": "+r.Value)
		}
	}
	t.Logf("%d causes walked, %.1f tests each; not walked: %v", walked, float64(tests)/float64(walked), nowhere)
	if least := map[bool]int{true: 17, false: 70}[testing.Short()]; walked < least {
		t.Errorf("%d causes walked, want %d at least", walked, least)
	}
}

type reading_ = taken // in the walk "taken" counts

// TestPlanIsWalked: each cause on a list has a plan of four tests at most, and
// where they show what the plan says the cause is as likely as it says.
func TestPlanIsWalked(t *testing.T) {
	j := example(t, "bakery/loose-earth.yaml")
	j.Readings = slices.DeleteFunc(j.Readings, func(r works.Reading) bool { return r.Reading != "R1+R2" && r.Reading != "Ze" })
	e := explain(t, j)
	planned := 0
	for _, c := range e.Causes {
		if len(c.Plan) > 4 {
			t.Errorf("%s: a plan of %d tests", c.Cause, len(c.Plan))
		}
		if len(c.Plan) > 0 {
			planned++
		}
		if c.Key == "cpc joint" && (len(c.Plan) == 0 || c.Then < 0.8) {
			t.Errorf("a poor protective conductor: plan %v, then %.2f", c.Plan, c.Then)
		}
	}
	if planned < 3 {
		t.Errorf("%d causes of %d have a plan", planned, len(e.Causes))
	}
}

// TestExclusionsNameTheirReading: a good R1+Rn after a bad R1+R2 leaves the line
// and the leads out, since both would have raised it too (arithmetic).
func TestExclusionsNameTheirReading(t *testing.T) {
	j := oneCircuit(cores(6, 6), 25, 0.2, func(j *job.Job) {
		j.Readings = []works.Reading{take("CP1", "R1+R2", "0.55 Ω", ""), take("CP1", "R1+Rn", "0.16 Ω", "")}
	})
	e := explain(t, j)
	for _, words := range []string{"poor connection in the line conductor", "test leads not nulled"} {
		i := slices.IndexFunc(e.Excluded, func(x Exclusion) bool { return strings.HasPrefix(x.Cause, words) })
		if i < 0 || e.Excluded[i].Reading != "R1+Rn" {
			t.Errorf("%s: excluded are %+v, want it by R1+Rn", words, e.Excluded)
		}
	}
	j.Readings = j.Readings[:1]
	for _, x := range explain(t, j).Excluded {
		if x.Reading != "R1+R2" {
			t.Errorf("excluded by %s, which was not taken", x.Reading)
		}
	}
}

// TestNextTestKnowsTheRecord: what no instrument of the job reads, and what is
// live before the dead tests are in, is suggested after all else and says so.
func TestNextTestKnowsTheRecord(t *testing.T) {
	with := func(kinds ...string) *Test {
		return explain(t, oneCircuit(cores(6, 6), 25, 0.2, func(j *job.Job) {
			j.Readings = []works.Reading{take("supply", "Ze", "0.9 Ω", "high current")}
			for i, k := range kinds {
				j.Instruments = append(j.Instruments, works.Instrument{Name: fmt.Sprint("instrument ", i), Kind: k})
			}
		})).NextTest
	}
	for _, kinds := range [][]string{{"voltage"}, {"loop"}, {"loop", "voltage"}, {"multifunction"}} {
		next := with(kinds...)
		if next == nil {
			continue
		}
		k := kindOf(next.Reading)
		reads := k.Class == "seen" || k.Class == "loop" || slices.ContainsFunc(kinds, func(kind string) bool { return slices.Contains(held[kind], k.Class) })
		if !reads && next.First == "" {
			t.Errorf("%v: %s is suggested, which none of them reads", kinds, next.Reading)
		}
		if !k.Dead && next.At == "CP1" && next.First == "" {
			t.Errorf("%v: %s at CP1 is suggested before any dead test", kinds, next.Reading)
		}
	}
	if next := with("multifunction"); next == nil || next.First != "" {
		t.Errorf("a multifunction tester is there: %+v", next)
	}
}

// TestMinutesAndDanger walks the table of tests: what they rest on is said, and
// a dead test is the least dangerous.
func TestMinutesAndDanger(t *testing.T) {
	for _, s := range suggestable() {
		if s.basis == "" || !(s.minutes > 0) || s.risk < 1 || s.kind.Dead && s.kind.Class != "electrode" && s.risk != 1 || !s.kind.Dead && s.risk <= 1 {
			t.Errorf("%s, %s: %g minutes, risk %g, resting on %q", s.kind.Name, s.function, s.minutes, s.risk, s.basis)
		}
	}
}
