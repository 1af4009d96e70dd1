package model

import (
	"fmt"
	"strings"
	"testing"

	"chargewright/job"
	"chargewright/standard"
)

// TestAModelGrowsWithItsPoints: behind a limiter each point once asked each other
// one what every third took, in words. Work is counted in allocations, which no
// other load on the machine changes.
func TestAModelGrowsWithItsPoints(t *testing.T) {
	work := func(n int) float64 {
		var b strings.Builder
		b.WriteString("job: rows of bays\ninvented: yes\nsupply: {earthing: TN-S, phases: 3, voltage: 230 V, Ze: 0.05 Ω (measured), Ipf: 9.5 kA (measured), " +
			"maximum demand: 40 A (measured)}\nboards: [{name: main, fed from: supply, phases: 3}]\n" +
			"limiters: [{name: all, at: supply, limit: 300 A, clamp phases: L1 L2 L3}]\ncircuits:\n")
		for i := range n {
			fmt.Fprintf(&b, "  - {name: way %d, from: main, to: CP%d, phases: L%d, cable: {construction: armoured, insulation: 90 °C thermosetting, material: copper, "+
				"csa: 10 mm², cores: 3, cpc: core}, legs: [{name: to bay %d, length: 20 m, method: E}]}\n", i, i, i%3+1, i)
		}
		b.WriteString("points:\n")
		for i := range n {
			fmt.Fprintf(&b, "  - {name: CP%d, power: 7.36 kW, phases: 1, limiter: all}\n", i)
		}
		j, err := job.Read("job", []byte(b.String()))
		if problems, ok := err.(job.Problems); err != nil && (!ok || !problems[0].Unfinished()) {
			t.Fatal(err)
		}
		rules, err := standard.Open(j.Edition)
		if err != nil {
			t.Fatal(err)
		}
		if m := New(j, rules); len(m.Flow.At) != n || m.Shares()[m.Points[0]] >= 1 {
			t.Fatalf("%d of %d circuits laid out, points held to %.2f: not the job that was meant", len(m.Flow.At), n, m.Shares()[m.Points[0]])
		}
		return testing.AllocsPerRun(1, func() { New(j, rules) })
	}
	few, many := work(60), work(120)
	if many > 2.6*few {
		t.Errorf("%.0f allocations for 60 points and %.0f for twice as many: more than in proportion", few, many)
	}
	t.Logf("%.0f and %.0f allocations", few, many)
}
