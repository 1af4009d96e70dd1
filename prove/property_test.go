package prove

import (
	"bytes"
	"encoding/json"
	"math"
	"math/rand/v2"
	"path/filepath"
	"testing"

	"chargewright/job"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/trade"
	"chargewright/works"
)

// TestPosteriorIsOneWhole wants the probabilities of all hypotheses to add up
// to one, and the same answer every time.
func TestPosteriorIsOneWhole(t *testing.T) {
	files, _ := filepath.Glob("../examples/bakery/*.yaml")
	for _, file := range files {
		name := "bakery/" + filepath.Base(file)
		j := example(t, name)
		if len(j.Readings) == 0 {
			continue
		}
		var sum float64
		for _, h := range benchOf(t, j).suppose() {
			if h.chance < 0 || math.IsNaN(h.chance) {
				t.Errorf("%s: a chance of %v", name, h.chance)
			}
			sum += h.chance
		}
		closeTo(t, name+": sum of all chances", sum, 1, 1e-9)
		one, err1 := json.Marshal(explain(t, j))
		two, err2 := json.Marshal(explain(t, j))
		if err1 != nil || err2 != nil || !bytes.Equal(one, two) {
			t.Errorf("%s: two answers differ (%v, %v)", name, err1, err2)
		}
	}
}

// TestPhysicsOfChanges wants what physics demands of any site: resistance put
// in never lowers a loop, a path laid beside never raises one.
func TestPhysicsOfChanges(t *testing.T) {
	rules, err := standard.Open(standard.DefaultEdition())
	if err != nil {
		t.Fatal(err)
	}
	loops := []struct{ name, at string }{{"Zs", "CP1"}, {"line-neutral loop", "CP1"}, {"Ze", "supply"}, {"R1+R2", "CP1"}, {"R1+Rn", "CP1"}}
	for i := range 60 {
		truth, _ := newTruth(rand.New(rand.NewPCG(9, uint64(i))), 0, rules, UsualPriors())
		b := truth.bench
		for _, c := range b.priors.causes {
			raises := map[string]bool{"line joint": true, "neutral joint": true, "cpc joint": true, "main earth": true, "pen": true, "service line": true, "longer": true, "warm": true, "dry electrode": true}[c.key]
			lowers := map[string]bool{"parallel path": true, "neutral to earth": true, "shorter": true, "cold": true, "hidden path": true}[c.key]
			if !raises && !lowers {
				continue
			}
			for _, at := range b.placesOf(c) {
				s := b.wiring.sound()
				if !c.change(s, at, c.low) {
					continue
				}
				for _, l := range loops {
					q := b.ask(kindOf(l.name), l.at, how("high current"), "")
					was, ok1 := q.kind.predict(b.wiring.sound(), q)
					is, ok2 := q.kind.predict(s, q)
					if !ok1 || !ok2 || len(q.gap) > 0 {
						continue
					}
					if raises && is.amount < was.amount-1e-9 || lowers && is.amount > was.amount+1e-9 {
						t.Errorf("site %d: %s at %s takes %s from %.5f to %.5f", i, c.key, at.name, l.name, was.amount, is.amount)
					}
				}
			}
		}
	}
}

// TestOnePhaseTellsOnTheOthers: three phases are each other's control; the one
// that reads high has the poor joint (loop model).
func TestOnePhaseTellsOnTheOthers(t *testing.T) {
	j := oneCircuit(armoured(10, 5, trade.CPCCore), 20, 0.2, func(j *job.Job) {
		j.Supply.Phases = quantity.Known(3)
		j.Boards[0].Phases = quantity.Known(3)
		j.Circuits[0].Phases = quantity.Known(trade.ThreePhase)
		j.Points[0].Phases = quantity.Known(3)
		j.Readings = []works.Reading{take("CP1", "Zs", "0.28 Ω", "high current L1"), take("CP1", "Zs", "0.49 Ω", "high current L2"), take("CP1", "Zs", "0.27 Ω", "high current L3"),
			take("CP1", "line-neutral loop", "0.48 Ω", "high current L2")}
	})
	e := explain(t, j)
	first(t, e, "line joint")
	if want := "poor connection in the line conductor, CP1 L2"; e.Causes[0].Cause != want {
		t.Errorf("the cause is %q, want %q", e.Causes[0].Cause, want)
	}
}

// TestNothingSaid: a job that says nothing is not explained, and breaks nothing.
func TestNothingSaid(t *testing.T) {
	for _, j := range []*job.Job{
		{Edition: standard.DefaultEdition()},
		{Edition: standard.DefaultEdition(), Readings: []works.Reading{take("supply", "Ze", "0.2 Ω", "")}},
		{Edition: standard.DefaultEdition(), Readings: []works.Reading{take("CP1", "R1+R2", "0.2 Ω", ""), take("", "", "", "")}, Points: []works.Point{{Name: "CP1"}}},
	} {
		e := explain(t, j)
		if len(e.Readings) != len(j.Readings) {
			t.Errorf("%d readings told of %d", len(e.Readings), len(j.Readings))
		}
		if len(j.Readings) == 1 && len(e.Flags) == 0 {
			t.Error("a Ze that nobody recorded is taken without a word")
		}
	}
}
