package choose

import (
	"fmt"
	"strings"
	"testing"

	"chargewright/job"
	"chargewright/standard"
)

// carPark is an invented car park of n points on several pillars.
func carPark(n, pillars int) string {
	var b strings.Builder
	fmt.Fprintf(&b, `job: car park of %d points
invented: yes
edition: BS 7671:2018+A4:2026
site: {premises: car park}
supply:
  earthing: TN-C-S
  phases: 3
  voltage: 230 V
  cut-out: {type: BS 88-2 gG, rating: 400 A, breaking capacity: 80 kA}
  Ze: {value: 0.03 Ω, known by: declared}
  Ipf: {value: 9.5 kA, known by: declared}
  supply neutral: 185 mm²
  maximum demand: {value: 20 A, known by: declared}
  tails: {csa: 120 mm², length: 3 m}
  earthing conductor: {csa: 70 mm², length: 3 m}
electrodes:
  - {name: rods, soil: 80 Ω·m, from buried PME metalwork: 6 m}
boards:
  - {name: main, fed from: supply, phases: 3, short-circuit rating: 25 kA, rated diversity factor: 0.9}
`, n)
	for p := range pillars {
		fmt.Fprintf(&b, "  - {name: pillar %d, phases: 3, all loads entered: yes}\n", p)
	}
	b.WriteString("limiters:\n")
	for p := range pillars {
		fmt.Fprintf(&b, "  - {name: limiter %d, at: pillar %d, limit: %d A, fail-safe current: 20 A, clamp place: pillar, clamp phases: L1 L2 L3}\n", p, p, 360/pillars)
	}
	b.WriteString("circuits:\n")
	for p := range pillars {
		fmt.Fprintf(&b, "  - {name: feeder %d, from: main, to: pillar %d, terminals rated: 70 °C, legs: [{name: trench to %d, length: %d m, method: D buried, ambient: 15 °C, circuits together: 1, depth: 0.6 m, soil: 2.5 K·m/W}]}\n", p, p, p, 30+12*p)
	}
	var points strings.Builder
	for i := range n {
		phases, power := 1, "7.4 kW"
		if i%10 == 0 {
			phases, power = 3, "22 kW"
		}
		fmt.Fprintf(&b, "  - {name: bay %d, from: pillar %d, to: CP%d, terminals rated: 70 °C, legs: [{name: duct, length: %d m, method: D duct, ambient: 15 °C, circuits together: 3, arrangement: ducts touching, depth: 0.5 m, soil: 2.5 K·m/W}]}\n", i, i%pillars, i, 5+i%23)
		fmt.Fprintf(&points, "  - {name: CP%d, power: %s, phases: %d, outdoors: yes, 6 mA d.c. detection: yes, standing leakage: 3.5 mA, greatest upstream device: 40 A, earthing: {from PME metalwork: 4 m}, limiter: limiter %d}\n", i, power, phases, i%pillars)
	}
	return b.String() + "points:\n" + points.String()
}

// TestHundredPoints chooses a car park of 100 points, proven, without trying everything.
func TestHundredPoints(t *testing.T) {
	j, rules, c := parse(t, "car park", []byte(carPark(100, 4)))
	o := Choose(j, rules, c, Aim{Purpose: FirstCost})
	if o.Proof.Tried > 10_000 || len(o.Circuits) != 104 || !o.Proof.Complete || len(o.Lacks) > 0 {
		t.Errorf("100 points: %d circuits chosen, proof %+v, not known %v", len(o.Circuits), o.Proof, o.Lacks)
	}
}

// TestFewestIsBounded: many circuits of several pillars ask for more sets than
// can be tried. The search ends after the work it may do, also where the whole
// model refuses winner after winner, and says what it has shown: a design no
// worse than that of least cost, and how many materials nothing can do with.
func TestFewestIsBounded(t *testing.T) {
	for _, n := range [][2]int{{12, 3}, {24, 3}} {
		j, rules, c := parse(t, "car park", []byte(carPark(n[0], n[1])))
		o, cheap := Choose(j, rules, c, Aim{Purpose: Materials}), Choose(j, rules, c, Aim{Purpose: FirstCost})
		if len(o.Lacks) > 0 || len(o.Circuits) != n[0]+n[1] {
			t.Fatalf("%v: %d circuits chosen, not known %v", n, len(o.Circuits), o.Lacks)
		}
		if p := o.Proof; o.Different > cheap.Different || p.AtLeast > o.Different || p.AtLeast < 2 || p.Tried > 5_000_000 {
			t.Errorf("%v: %d different, %d by least cost, proof %+v", n, o.Different, cheap.Different, p)
		}
	}
}

func BenchmarkChoosePool(b *testing.B) {
	j, rules, c := openJob(b, "pool/open.yaml")
	for _, purpose := range []Purpose{FirstCost, LifeCost, Materials} {
		b.Run(strings.ReplaceAll(string(purpose), " ", "-"), func(b *testing.B) {
			for b.Loop() {
				Choose(j, rules, c, Aim{Purpose: purpose, Years: 20, Tariff: 0.25, Hours: 1000})
			}
		})
	}
}

func BenchmarkChooseHundredPoints(b *testing.B) {
	j, rules, c := parse(b, "car park", []byte(carPark(100, 4)))
	for b.Loop() {
		Choose(j, rules, c, Aim{Purpose: FirstCost})
	}
}

// BenchmarkCandidates holds pairs of a bay of the pool to the rules: every pair
// there is, most of which carry too little; and those alone that carry enough,
// which go through every rule.
func BenchmarkCandidates(b *testing.B) {
	j, rules, c := openJob(b, "pool/open.yaml")
	s := prepared(j, rules, c)
	bay := s.circuits[5]
	var all []*pair
	for _, cable := range bay.cables {
		for _, device := range bay.devices {
			all = append(all, &pair{run: cable, guard: device})
		}
	}
	feeder := s.circuits[0]
	at := s.beyond(feeder, feeder.pairs[0], s.origin())
	for _, tt := range []struct {
		name  string
		pairs []*pair
	}{{"every-pair", all}, {"pairs-that-carry-enough", bay.pairs}} {
		b.Run(tt.name, func(b *testing.B) {
			met := 0
			for b.Loop() {
				for _, x := range tt.pairs {
					if bay.suits(x) && s.holds(bay, x, at, &bay.modes[0]) {
						met++
					}
				}
			}
			b.ReportMetric(float64(len(tt.pairs)*b.N)/b.Elapsed().Seconds(), "candidates/s")
			b.ReportMetric(float64(met)/float64(b.N)/float64(len(tt.pairs))*100, "%-met")
		})
	}
}

// prepared returns a site with all its pairs, before the search.
func prepared(j *job.Job, rules *standard.Rulebook, c *Catalogue) *site {
	s := newSite(j, rules, c, Aim{Purpose: FirstCost})
	s.choosePhases()
	s.chooseLimiter()
	s.chooseBoards(nil)
	s.read()
	s.prepare(s.electrodeOffer())
	return s
}

func BenchmarkAllocate24(b *testing.B) {
	var currents []float64
	for i := range 24 {
		currents = append(currents, []float64{6, 10, 13, 16, 20, 32}[i%6])
	}
	for b.Loop() {
		allocate(currents, [3]float64{12, 0, 7})
	}
}
