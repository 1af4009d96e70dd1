package prove_test

import (
	"fmt"
	"testing"

	"chargewright/invent"
	"chargewright/model"
	"chargewright/prove"
	"chargewright/reading"
	"chargewright/standard"
	"chargewright/works"
)

// TestALackIsNoCrash reads every kind of reading on jobs with any one fact
// taken out: what is not said is a lack, and whoever asks is told of it.
func TestALackIsNoCrash(t *testing.T) {
	seeds, removals := 20, 20
	if testing.Short() {
		seeds, removals = 6, 6
	}
	values := []string{"1", "0.2", "> 500", "< 1", "open", "no trip", "correct", "not correct", "not done", "?"}
	for seed := range uint64(seeds) {
		r := invent.Rand(seed)
		all := invent.Job(r, invent.Options{Boards: 2, Points: 2, Missing: 0.1})
		for range removals {
			entries := invent.Without(all, r.IntN(len(all)))
			j, text, err := invent.Read(entries)
			if err != nil {
				continue // a name that others lean on
			}
			rules, err := standard.Open(j.Edition)
			if err != nil {
				t.Fatal(err)
			}
			places := prove.Places(model.New(j, rules))
			for _, k := range reading.Kinds() {
				j.Readings = append(j.Readings, works.Reading{At: places[r.IntN(len(places))], Reading: k.Name, Value: values[r.IntN(len(values))]})
			}
			func() {
				defer func() {
					if p := recover(); p != nil {
						t.Fatalf("seed %d: %v\n%s\n%s", seed, p, fmt.Sprint(j.Readings), text)
					}
				}()
				m := model.New(j, rules)
				e, err := prove.Explain(m, prove.UsualPriors())
				if err != nil || len(e.Readings) != len(j.Readings) {
					t.Fatalf("seed %d: %d readings explained of %d, %v", seed, len(e.Readings), len(j.Readings), err)
				}
			}()
		}
	}
}
