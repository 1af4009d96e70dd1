package prove

import (
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"testing"

	"chargewright/model"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/works"
)

var writeDialogues = flag.Bool("dialogues", false, "write the dialogues of testdata anew, to be read before they are kept")

// Twelve faults, each at a place of another kind, all invented: what is the
// matter and how large it is.
var dialogues = []struct {
	file, cause string
	seed        uint64
	size        float64
}{
	{"poor-earth", "cpc joint", 1, 0.45},
	{"poor-line", "line joint", 2, 0.6},
	{"poor-neutral", "neutral joint", 3, 0.5},
	{"loose-earthing-terminal", "main earth", 4, 0.8},
	{"supply-sheath", "sheath", 5, 1.4},
	{"dry-electrode", "electrode open", 6, 6000},
	{"damp-gland", "moisture", 7, 4e5},
	{"surge-device-left-in", "surge left", 8, 2e7},
	{"leads-not-nulled", "leads", 9, 0.25},
	{"smaller-cable", "small cable", 10, 1},
	{"neutral-on-earth", "neutral to earth", 11, 0.05},
	{"slow-device", "RCD slow", 12, 14},
}

// begun are the readings that each dialogue starts from: one of each kind of
// test, and no more.
var begun = []string{"R1+R2", "R1+Rn", "insulation live to earth", "polarity", "Ze", "Zs", "RCD time at IΔn", "pilot voltage in state B"}

// enoughChance is how likely a cause is when a dialogue ends.
const enoughChance = 0.95

// TestDialogues follows twelve dialogues to their end: what was read, what is
// likely, what to read next, what that excluded; in the end the cause stands
// first, with two tests at most more than the best order found by search. The
// search is of every single test that may be suggested: where none ends it, the
// best order has two at least.
func TestDialogues(t *testing.T) {
	rules, err := standard.Open(standard.DefaultEdition())
	if err != nil {
		t.Fatal(err)
	}
	priors := UsualPriors()
	for n, d := range dialogues {
		if testing.Short() && n%4 != 0 {
			continue
		}
		c := priors.causes[slices.IndexFunc(priors.causes, func(c *cause) bool { return c.key == d.cause })]
		truth := sufferAt(c, d.size, d.seed, rules, priors)
		if truth == nil {
			t.Errorf("%s: no place can have it", d.file)
			continue
		}
		text, tests := truth.dialogue(t, priors)
		if best := truth.shortest(t, priors); tests > best+2 {
			t.Errorf("%s: %d tests, and the best order has %d or so", d.file, tests, best)
		}
		file := "testdata/dialogues/" + d.file + ".txt"
		if *writeDialogues {
			if err := os.MkdirAll("testdata/dialogues", 0o755); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(file, []byte(text), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		kept, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if string(kept) != text {
			t.Errorf("%s: the dialogue goes otherwise:\n%s", file, text)
		}
	}
}

// sufferAt draws a place, from a seed on, that can have a cause of a size.
func sufferAt(c *cause, size float64, seed uint64, rules *standard.Rulebook, priors Priors) *truth {
	for more := range uint64(40) {
		t, _ := newTruth(rand.New(rand.NewPCG(100+seed, more)), 0, rules, priors)
		t.usual = nil
		for _, want := range usualReadings {
			q := t.bench.ask(kindOf(want.reading), want.at, how(want.function), "tester")
			if _, ok := q.kind.predict(t.bench.wiring.sound(), q); ok && len(q.gap) == 0 && slices.Contains(begun, want.reading) {
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
		at := places[len(places)-1]
		t.state = t.bench.sound.clone()
		if t.parts, t.sizes = []supposed{{c, at}}, []float64{size}; !c.change(t.state, at, size) {
			continue
		}
		t.firstReadings()
		b, err := newBench(t.model, priors)
		if err != nil {
			return nil
		}
		if groups := b.groupUp(b.suppose()); !t.ended(groups) && slices.ContainsFunc(b.residuals(), func(r Residual) bool { return !r.Fits() }) {
			return t
		}
	}
	return nil
}

// ended reports that what is the matter stands first and is sure.
func (t *truth) ended(groups []group) bool {
	return groups[0].chance >= enoughChance && slices.ContainsFunc(groups[0].members, t.is)
}

// dialogue follows what is suggested to the end, and tells it.
func (t *truth) dialogue(test *testing.T, priors Priors) (string, int) {
	started := slices.Clone(t.job.Readings)
	defer func() { t.job.Readings = started }()
	var out strings.Builder
	say := func(head, text string) {
		const wide = 92
		line := head
		for i, word := range strings.Fields(text) {
			if i > 0 && len([]rune(line))+1+len([]rune(word)) > wide {
				fmt.Fprintln(&out, line)
				line = strings.Repeat(" ", len([]rune(head)))
			}
			if line != head && strings.TrimSpace(line) != "" || i > 0 && strings.TrimSpace(line) != "" {
				line += " "
			}
			line += word
		}
		fmt.Fprintln(&out, line)
	}
	j := t.job
	phases := map[bool]string{true: "three phases", false: "one phase"}[j.Supply.Phases.Or(1) == 3]
	last := j.Circuits[len(j.Circuits)-1]
	say("place:    ", fmt.Sprintf("invented; %v, %s, a point fed from the %s, %v of %v", j.Supply.Earthing.Or(""), phases, last.From, last.Legs[0].Length.Or(0), last.Cable.CSA.Or(0)))
	say("truth:    ", t.parts[0].words()+" (nobody knows it yet)")
	for _, r := range j.Readings {
		say("read:     ", r.Reading+" at "+r.At+" "+r.Function+": "+shown(r))
	}
	tests := 0
	for ; ; tests++ {
		e, err := Explain(t.model, priors)
		if err != nil {
			test.Fatal(err)
		}
		fmt.Fprintln(&out)
		if tests > 0 {
			for _, x := range e.Excluded {
				if r := j.Readings[len(j.Readings)-1]; x.Reading == r.Reading && x.At == r.At && x.Taken == r.Value {
					say("excluded: ", x.Cause+", "+(Cause{Probability: x.Was}).Likely()+" without it")
				}
			}
		}
		for i, c := range e.Causes[:min(3, len(e.Causes))] {
			if i == 0 || c.Probability > 0.02 {
				say("likely:   ", c.Likely()+" "+c.Cause)
			}
		}
		for _, c := range e.Causes {
			if c.Danger != "" {
				say("danger:   ", c.Danger)
				break
			}
		}
		b, err := newBench(t.model, priors)
		if err != nil {
			test.Fatal(err)
		}
		groups := b.groupUp(b.suppose())
		if next := e.NextTest; !t.ended(groups) && next != nil && !next.Proof && tests < 6 {
			say("next:     ", fmt.Sprintf("%s at %s %s (%g min): %s", next.Reading, next.At, next.Function, next.Minutes, next.How))
			if next.Again != "" {
				say("          ", "once more, since "+next.Again)
			}
			r, ok := t.read(wanted{next.Reading, next.At, next.Function, 1})
			if !ok {
				test.Fatalf("%s at %s cannot be read", next.Reading, next.At)
			}
			r.Beside = quantity.Known(true)
			j.Readings = append(j.Readings, r)
			fmt.Fprintln(&out)
			say("read:     ", r.Reading+" at "+r.At+": "+shown(r))
			continue
		}
		if !slices.ContainsFunc(groups[0].members, t.is) {
			test.Errorf("%s: %s stands first at the end\n%s", t.words(), groups[0].words(), out.String())
		}
		say("found:    ", fmt.Sprintf("with %d tests more: %s", tests, e.Causes[0].Next))
		if len(e.Causes[0].Alike) > 0 {
			say("          ", "no meter reading tells it from: "+strings.Join(e.Causes[0].Alike, "; "))
		}
		if p := e.NextTest; p != nil && p.Proof {
			say("proof:    ", fmt.Sprintf("%s at %s, taken again after the repair: %s", p.Reading, p.At, p.Outcomes[0].Shows))
		}
		return out.String(), tests
	}
}

// shown is what was read, as a person says it.
func shown(r works.Reading) string {
	k := kindOf(r.Reading)
	if v, err := k.Parse(r.Value); err == nil && v.HasAmount() && !k.Seen() {
		less := strings.TrimRight(r.Value[:1], "-0123456789.")
		return strings.TrimSpace(less + " " + k.show(v.Amount))
	}
	return r.Value
}

// shortest is how few tests of those that may be suggested end it: one where
// some test alone does, else two at least.
func (t *truth) shortest(test *testing.T, priors Priors) int {
	b, err := newBench(t.model, priors)
	if err != nil {
		test.Fatal(err)
	}
	b.groupUp(b.suppose())
	started := slices.Clone(t.job.Readings)
	defer func() { t.job.Readings = started }()
	for _, c := range b.listed {
		r, ok := t.read(wanted{c.question.kind.Name, c.question.at, c.function, 1})
		if !ok {
			continue
		}
		r.Beside = quantity.Known(true)
		t.job.Readings = append(slices.Clone(started), r)
		if after, err := newBench(t.model, priors); err == nil && t.ended(after.groupUp(after.suppose())) {
			return 1
		}
	}
	return 2
}
