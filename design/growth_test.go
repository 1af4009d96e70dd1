package design

import (
	"fmt"
	"math"
	"runtime"
	"strings"
	"testing"

	"chargewright/job"
	"chargewright/model"
	"chargewright/standard"
)

// rows is an invented car park of so many points behind one limiter, each with a
// circuit of its own.
func rows(t testing.TB, n int) (*job.Job, *standard.Rulebook) {
	t.Helper()
	var b strings.Builder
	b.WriteString("job: rows of bays\ninvented: yes\nsupply: {earthing: TN-S, phases: 3, voltage: 230 V, Ze: 0.05 Ω (measured), Ipf: 9.5 kA (measured), " +
		"maximum demand: 40 A (measured)}\nboards: [{name: main, fed from: supply, phases: 3}]\n" +
		"limiters: [{name: all, at: supply, limit: 300 A, clamp phases: L1 L2 L3}]\ncircuits:\n")
	for i := range n {
		fmt.Fprintf(&b, "  - {name: way %d, from: main, to: CP%d, phases: L%d, device: {type: BS EN 61009 type B, rating: 40 A}, "+
			"cable: {construction: armoured, insulation: 90 °C thermosetting, material: copper, csa: 10 mm², cores: 3, cpc: core}, "+
			"legs: [{name: to bay %d, length: %d m, method: E, ambient: 30 °C, circuits together: 1, in insulation: 0 m}]}\n", i, i, i%3+1, i, 15+i%9)
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
	return j, rules
}

// TestACheckGrowsWithItsPoints: twice the points ask for twice the memory, no
// more. Work is counted in bytes, which no other load on the machine changes.
func TestACheckGrowsWithItsPoints(t *testing.T) {
	bytes := func(n int) float64 {
		j, rules := rows(t, n)
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		Check(model.New(j, rules))
		runtime.ReadMemStats(&after)
		return float64(after.TotalAlloc - before.TotalAlloc)
	}
	few, many := bytes(60), bytes(120)
	if many > 2.6*few {
		t.Errorf("%.1f MB for 60 points and %.1f MB for twice as many: more than in proportion", few/1e6, many/1e6)
	}
	t.Logf("%.1f MB and %.1f MB", few/1e6, many/1e6)
}

// BenchmarkGrowth makes the model of so many points and checks it.
func BenchmarkGrowth(b *testing.B) {
	var models, checks float64
	for i, n := range []int{125, 250, 500, 1000} {
		j, rules := rows(b, n)
		b.Run(fmt.Sprintf("model/points=%d", n), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				model.New(j, rules)
			}
			note(b, i, &models)
		})
		m := model.New(j, rules)
		b.Run(fmt.Sprintf("check/points=%d", n), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				Check(m)
			}
			note(b, i, &checks)
		})
	}
}

// note keeps the time of the smallest job, and reports by which power of its
// points that of another has grown.
func note(b *testing.B, doubled int, first *float64) {
	each := float64(b.Elapsed()) / float64(b.N)
	if doubled == 0 {
		*first = each
		return
	}
	b.ReportMetric(math.Log2(each / *first)/float64(doubled), "exponent")
}
