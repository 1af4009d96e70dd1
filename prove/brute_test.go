package prove

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"chargewright/job"
	"chargewright/works"
)

// TestAgainstBruteForce works the posterior out again without any algebra: it
// draws every unknown and every size from its prior, puts them through the
// circuit laws in full, and averages the likelihood of the readings. Reference:
// the law of large numbers; nothing of the inference is used but the noise.
func TestAgainstBruteForce(t *testing.T) {
	if testing.Short() {
		t.Skip("60,000 draws a cause")
	}
	j := oneCircuit(flat(6), 25, 0.2, func(j *job.Job) {
		j.Readings = []works.Reading{take("CP1", "R1+R2", "0.33 Ω", ""), take("CP1", "R1+Rn", "0.17 Ω", ""), take("supply", "Ze", "0.21 Ω", "high current"), take("CP1", "Zs", "0.50 Ω", "high current")}
	})
	wanted := []string{"cpc joint", "small cpc", "longer", "parallel path", "main earth"}
	priors := UsualPriors()
	priors.causes = slices.DeleteFunc(priors.causes, func(c *cause) bool { return !slices.Contains(wanted, c.key) })
	b, err := newBench(modelOf(t, j), priors)
	if err != nil {
		t.Fatal(err)
	}
	r := rand.New(rand.NewPCG(1, 2))
	const draws = 60000
	logs := map[string]float64{"": math.Log(b.evidence(r, nil, draws))}
	for _, c := range priors.causes {
		at := b.placesOf(c)[0]
		logs[c.key] = math.Log(b.evidence(r, &supposed{c, at}, draws)) + b.odds(c, at)
	}
	total := math.Inf(-1)
	for _, l := range logs {
		total = logSum(total, l)
	}
	for _, h := range b.suppose() {
		key := ""
		if len(h.parts) > 1 || h.none {
			continue
		}
		if len(h.parts) == 1 {
			key = h.parts[0].cause.key
		}
		want := math.Exp(logs[key] - total)
		t.Logf("%-14s %.4f, by brute force %.4f", key, h.chance, want)
		closeTo(t, "probability of "+key, h.chance, want, 0.04)
	}
}

// evidence is the mean likelihood of the readings over draws from the prior.
func (b *bench) evidence(r *rand.Rand, p *supposed, draws int) float64 {
	var sum float64
	unknown := make([]float64, b.wiring.unknowns)
	for range draws {
		for i := range unknown {
			unknown[i] = r.NormFloat64()
		}
		s := b.wiring.believed()
		for i := range b.wiring.stretches {
			for _, d := range b.wiring.stretches[i].drift {
				s.ohms[i] += d.by * unknown[d.unknown]
			}
			s.ohms[i] = max(s.ohms[i], 0)
		}
		if p != nil {
			x := p.cause.low * math.Pow(p.cause.high/p.cause.low, r.Float64())
			if p.cause.unit == "sizes" {
				x = 1
				if r.Float64() < 1.0/6 {
					x = 2
				}
			}
			p.cause.change(s, p.where, x)
		}
		likelihood := 1.0
		for k, i := range b.exact {
			row, _ := s.row(b.asked[i])
			mean := row.mean
			for n, u := range row.unknown { // the instrument's own; the conductors' are in already
				if int(u) == b.asked[i].gain || int(u) == b.asked[i].null || int(u) == b.asked[i].uplift {
					mean += row.by[n] * unknown[u]
				}
			}
			z := (b.joint.y[k] - mean) / row.noise
			likelihood *= math.Exp(-0.5*z*z) / (row.noise * math.Sqrt(2*math.Pi))
		}
		sum += likelihood
	}
	return sum / float64(draws)
}

// TestNormalAlgebra holds the factored likelihood to the textbook formula for
// two readings that share one unknown.
func TestNormalAlgebra(t *testing.T) {
	rows := []row{{mean: 1, noise: 0.3, unknown: []int32{0}, by: []float64{0.5}}, {mean: 2, noise: 0.4, unknown: []int32{0}, by: []float64{-0.2}}}
	y := []float64{1.7, 1.9}
	g := newJoint(y, rows)
	// S = [[0.34, −0.10], [−0.10, 0.20]], det 0.058
	d0, d1 := y[0]-1, y[1]-2
	det := 0.34*0.20 - 0.01
	quad := (0.20*d0*d0 + 2*0.10*d0*d1 + 0.34*d1*d1) / det
	want := -0.5*quad - 0.5*math.Log(det) - math.Log(2*math.Pi)
	closeTo(t, "log likelihood", g.fit(nil, nil).logLikelihood, want, 1e-12)
	closeTo(t, "with both readings moved", g.fit([]int{0, 1}, rows).logLikelihood, want, 1e-12)
	closeTo(t, "with one reading moved", g.fit([]int{1}, rows[1:]).logLikelihood, want, 1e-12)
	deviations, chance := g.fit(nil, nil).apart()
	// p(y0 | y1) is normal about 1 + S01/S11 (y1 − 2), variance S00 − S01²/S11
	mean, variance := 1-0.10/0.20*d1, 0.34-0.01/0.20
	closeTo(t, "reading 1 from what reading 2 makes of it", deviations[0], (y[0]-mean)/math.Sqrt(variance), 1e-12)
	closeTo(t, "its log chance", chance[0], -0.5*(y[0]-mean)*(y[0]-mean)/variance-0.5*math.Log(2*math.Pi*variance), 1e-12)
}

// TestFitIsTheJoint: readings predicted otherwise in part are as if all had been
// solved anew, whichever they are. Reference: the same normal distribution with
// nothing taken from an earlier solution.
func TestFitIsTheJoint(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		const n, unknowns = 7, 5
		number := rapid.Float64Range(-2, 2)
		draw := func(name string) row {
			r := row{mean: number.Draw(t, name), noise: rapid.Float64Range(0.05, 1).Draw(t, "noise")}
			for u := range unknowns + 1 { // the last is of none but the changed rows
				if (u < unknowns || name == "changed") && rapid.Bool().Draw(t, "rests") {
					r.put(u, number.Draw(t, "by"))
				}
			}
			return r
		}
		rows, y := make([]row, n), make([]float64, n)
		for i := range rows {
			rows[i], y[i] = draw("row"), number.Draw(t, "read")
		}
		at := rapid.SliceOfNDistinct(rapid.IntRange(0, n-1), 0, n, rapid.ID[int]).Draw(t, "at")
		changed, anew := make([]row, len(at)), slices.Clone(rows)
		for k, i := range at {
			changed[k] = draw("changed")
			anew[i] = changed[k]
		}
		got, want := newJoint(y, rows).fit(at, changed), newJoint(y, anew).fit(nil, nil)
		same := func(what string, got, want float64) {
			if math.Abs(got-want) > 1e-7*(1+math.Abs(want)) {
				t.Fatalf("%s: %v, want %v", what, got, want)
			}
		}
		same("log likelihood", got.logLikelihood, want.logLikelihood)
		same("sum of squares", got.quad, want.quad)
		further := draw("changed")
		mean, deviation := got.predict(&further)
		wantMean, wantDeviation := want.predict(&further)
		same("mean of a further reading", mean, wantMean)
		same("its deviation", deviation, wantDeviation)
		apart, chance := got.apart()
		wantApart, wantChance := want.apart()
		for i := range rows {
			same("apart", apart[i], wantApart[i])
			same("chance", chance[i], wantChance[i])
		}
	})
}

// TestInformation holds the expected information to cases known exactly.
func TestInformation(t *testing.T) {
	apart := []component{{0, 0.5, 0, 0.01}, {1, 0.5, 1, 0.01}}
	closeTo(t, "two sure outcomes, bits", information(apart, 2), 1, 1e-6)
	same := []component{{0, 0.5, 0, 1}, {1, 0.5, 0, 1}}
	closeTo(t, "one outcome, bits", information(same, 2), 0, 1e-9)
	four := []component{{0, 0.25, 0, 0.01}, {1, 0.25, 1, 0.01}, {2, 0.25, 2, 0.01}, {3, 0.25, 3, 0.01}}
	closeTo(t, "four sure outcomes, bits", information(four, 4), 2, 1e-6)
}
