package prove

import (
	"math"
	"math/rand/v2"
	"testing"

	"chargewright/standard"
)

// TestUntouchedReadingsAreTheSame: a reading that a change is said to leave
// alone is as the sound job has it when worked out in full.
func TestUntouchedReadingsAreTheSame(t *testing.T) {
	rules, err := standard.Open(standard.DefaultEdition())
	if err != nil {
		t.Fatal(err)
	}
	spared := 0
	for i := range 40 {
		truth, _ := newTruth(rand.New(rand.NewPCG(11, uint64(i))), 2, rules, UsualPriors())
		truth.firstReadings()
		b, err := newBench(truth.model, UsualPriors())
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range b.priors.causes {
			for _, at := range b.placesOf(c) {
				s := b.sound.clone()
				if !c.change(s, at, c.low) {
					continue
				}
				for _, q := range b.asked {
					if !s.untouched(q, b.supportOf(q)) {
						continue
					}
					full, _ := s.row(q)
					sound, _ := b.sound.row(q)
					if math.Abs(full.mean-sound.mean) > 5e-5*math.Abs(sound.mean)+1e-9 || math.Abs(full.deviation()-sound.deviation()) > 1e-5*sound.deviation() {
						t.Errorf("site %d: %s at %s is said to leave %s at %s alone, and takes it from %.6g to %.6g", i, c.key, at.name, q.kind.Name, q.at, sound.mean, full.mean)
					}
					spared++
				}
			}
		}
	}
	if spared < 5000 {
		t.Errorf("only %d readings spared", spared)
	}
}
