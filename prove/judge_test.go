package prove

import (
	"strings"
	"testing"

	"chargewright/finding"
	"chargewright/job"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/trade"
	"chargewright/works"
)

// TestLimits holds verdicts to the limits as printed.
func TestLimits(t *testing.T) {
	site := func(r works.Reading, change ...func(*job.Job)) finding.Finding {
		j := oneCircuit(flat(6), 20, 0.2, append(change, func(j *job.Job) {
			j.Circuits[0].Device.Type = quantity.Known(standard.Family("BS EN 60898 type B"))
			j.Readings = []works.Reading{r}
		})...)
		found, err := Judge(modelOf(t, j))
		if err != nil {
			t.Fatal(err)
		}
		return found[0]
	}
	tns := func(j *job.Job) { j.Supply.Earthing = quantity.Known(trade.TNS) }
	tt := func(j *job.Job) { j.Supply.Earthing = quantity.Known(trade.TT) }
	for _, c := range []struct {
		source string
		got    finding.Finding
		want   finding.Verdict
		limit  float64
	}{
		{"BS 7671 Table 41.3 × 0.8, type B 32 A: 1.09 Ω; 1.05 meets", site(take("CP1", "Zs", "1.05 Ω", "no-trip")), finding.Meets, 1.09},
		{"same, 1.20 fails: a no-trip reading shown as it is (trade press)", site(take("CP1", "Zs", "1.2 Ω", "no-trip")), finding.Fails, 1.09},
		{"ENA EREC P23, TN-C-S: 0.35 Ω; 0.34 meets", site(take("supply", "Ze", "0.34 Ω", "high current")), finding.Meets, 0.35},
		{"same, 0.36 fails", site(take("supply", "Ze", "0.36 Ω", "high current")), finding.Fails, 0.35},
		{"ENA EREC P23, TN-S: 0.80 Ω; 0.79 meets", site(take("supply", "Ze", "0.79 Ω", "high current"), tns), finding.Meets, 0.80},
		{"first principles: 20 m of 6 mm² has 0.06 Ω in its line alone, and half of a Ze of 0.2 Ω is in the supply's", site(take("CP1", "Zs", "0.10 Ω", "no-trip")), finding.JudgeOnSite, 0.1131},
		{"same, 0.12 Ω can be: other paths bring the return to little", site(take("CP1", "Zs", "0.12 Ω", "no-trip")), finding.Meets, 1.09},
		{"engineering judgement: no loop of 4 mΩ", site(take("CP1", "Zs", "0.004 Ω", "no-trip")), finding.JudgeOnSite, 0.1131},
		{"engineering judgement: no Ze of 4 mΩ", site(take("supply", "Ze", "0.004 Ω", "high current")), finding.JudgeOnSite, 0.005},
		{"same, 5 mΩ can be", site(take("supply", "Ze", "0.005 Ω", "high current")), finding.Meets, 0.35},
		{"engineering judgement: no contact parts in 0.9 ms", site(take("CP1", "RCD time at IΔn", "0.9 ms", "")), finding.JudgeOnSite, 0},
		{"BS 7671 Table 41.5, TT 30 mA: 1667 Ω; 1600 meets", site(take("CP1", "Zs", "1600 Ω", "no-trip"), tt), finding.Meets, 1666.67},
		{"same, 1700 fails", site(take("CP1", "Zs", "1700 Ω", "no-trip"), tt), finding.Fails, 1666.67},
		{"BS 7671 Table 64: 1 MΩ; 1.08 meets", site(take("CP1", "insulation live to earth", "1.08 MΩ", "500 V")), finding.Meets, 1e6},
		{"same, 0.99 fails", site(take("CP1", "insulation live to earth", "0.99 MΩ", "500 V")), finding.Fails, 1e6},
		{"same, off the scale meets", site(take("CP1", "insulation between live", "> 999 MΩ", "500 V")), finding.Meets, 1e6},
		{"BS EN 61008-1 general type: 300 ms; 290 meets", site(take("CP1", "RCD time at IΔn", "290 ms", "")), finding.Meets, 0.3},
		{"same, no trip fails", site(take("CP1", "RCD time at IΔn", "310 ms", "")), finding.Fails, 0.3},
		{"a reading that has no limit of its own is not known to meet one", site(take("CP1", "R1+R2", "0.2 Ω", "")), finding.NotKnown, 0},
		{"polarity not correct fails (643.6)", site(take("CP1", "polarity", "not correct", "")), finding.Fails, 0},
	} {
		if c.got.Verdict != c.want {
			t.Errorf("%s: %v (limit %v, margin %v)", c.source, c.got.Verdict, c.got.Limit, c.got.Margin)
		}
		if c.limit > 0 {
			closeTo(t, c.source+": limit", c.got.Limit.Number, c.limit, 0.005*c.limit)
		}
	}
	// A margin smaller than the instrument may be out by is said to be so.
	if f := site(take("CP1", "Zs", "1.05 Ω", "no-trip")); !strings.Contains(f.Next, "less than the instrument may be out by") {
		t.Errorf("1.05 Ω against 1.09: next is %q", f.Next)
	}
}

func TestLiveBeforeDeadIsFlagged(t *testing.T) {
	site := func(rs ...works.Reading) []string {
		return explain(t, oneCircuit(flat(6), 20, 0.2, func(j *job.Job) { j.Readings = rs })).Flags
	}
	zs := take("CP1", "Zs", "0.41 Ω", "no-trip")
	r1r2 := take("CP1", "R1+R2", "0.21 Ω", "")
	ir := take("CP1", "insulation live to earth", "> 200 MΩ", "500 V")
	if flags := site(zs); len(flags) != 1 || !strings.Contains(flags[0], "R1+R2 and insulation live to earth") {
		t.Errorf("a live test alone: %q", flags)
	}
	if flags := site(r1r2, zs, ir); len(flags) != 1 || strings.Contains(flags[0], "R1+R2") {
		t.Errorf("insulation afterwards: %q", flags)
	}
	if flags := site(r1r2, take("CP1", "insulation live to earth", "0.2 MΩ", "500 V"), zs); len(flags) != 2 || !strings.Contains(flags[0], "not excluded yet") || !strings.Contains(flags[1], "prove dead") {
		t.Errorf("a live test on bad insulation: %q", flags)
	}
	if flags := site(r1r2, ir, zs); len(flags) != 0 {
		t.Errorf("in order: %q", flags)
	}
}

func TestReconcile(t *testing.T) {
	// 25 m recorded; every reading is of 30 m and a good Ze of 0.25.
	j := oneCircuit(flat(6), 25, 0.2, func(j *job.Job) {
		j.Circuits[0].Legs[0].LengthKnown = quantity.Known(trade.Assumed)
		j.Supply.Ze = stated(quantity.Ohms(0.2), trade.Declared)
		j.Readings = []works.Reading{take("CP1", "R1+R2", "0.315 Ω", ""), take("CP1", "R1+Rn", "0.185 Ω", ""), take("CP1", "R2", "0.222 Ω", ""),
			take("supply", "Ze", "0.25 Ω", "high current"), take("CP1", "Zs", "0.565 Ω", "high current"), take("CP1", "R1+R2", "0.318 Ω", "")}
	})
	r, err := Reconcile(modelOf(t, j))
	if err != nil {
		t.Fatal(err)
	}
	if r.Odd != "" {
		t.Errorf("%s stands apart, but all agree", r.Odd)
	}
	closeTo(t, "length by R1+R2 = 10.49 mΩ/m (IET On-Site Guide Table I1)", r.Estimates[0].Value.Number, 30, 1)
	closeTo(t, "Ze", r.Estimates[len(r.Estimates)-1].Value.Number, 0.25, 0.02)
	if len(r.Readings) != 6 {
		t.Errorf("%d readings: repeats are kept", len(r.Readings))
	}
	j.Readings[4].Value = "1.5 Ω"
	r, err = Reconcile(modelOf(t, j))
	if err != nil || !strings.Contains(r.Odd, "Zs at CP1") {
		t.Errorf("odd one out is %q, want Zs at CP1", r.Odd)
	}
}

func TestNextTestIsDeadWhereItCanBe(t *testing.T) {
	// R1+R2 high by itself: a joint, a small cpc, a slip. A dead test tells.
	j := oneCircuit(flat(6), 25, 0.2, func(j *job.Job) { j.Readings = []works.Reading{take("CP1", "R1+R2", "0.38 Ω", "")} })
	e, err := Explain(modelOf(t, j), UsualPriors())
	next := e.NextTest
	if err != nil || next == nil {
		t.Fatalf("no next test: %v", err)
	}
	if !kindOf(next.Reading).Dead || !strings.Contains(next.Caution, "prove dead") || len(next.Outcomes) < 2 {
		t.Errorf("next test %s at %s, caution %q, %d outcomes; want a dead one that tells causes apart", next.Reading, next.At, next.Caution, len(next.Outcomes))
	}
}

func TestSuggestedTestsAreKnown(t *testing.T) {
	rows, err := table("tests.csv", testTable, testColumns)
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range rows {
		if kindOf(r[0]) == nil || r[5] == "" {
			t.Errorf("%v is no reading the program predicts, or lacks how", r)
		}
		if k := kindOf(r[0]); k != nil && !k.Dead && strings.HasPrefix(r[4], "1") && !strings.HasPrefix(r[4], "1.5") {
			t.Errorf("%s is live and must not count as a dead test", r[0])
		}
	}
	if _, err := accuracies(); err != nil {
		t.Error(err)
	}
}

// TestExpectIsTheSoundCase wants the expected value of every reading to be the
// explanation's forward model with no fault in it.
func TestExpectIsTheSoundCase(t *testing.T) {
	for _, name := range []string{"bakery/job.yaml", "terrace/job.yaml", "pool/job.yaml", "bakery/swapped-link.yaml"} {
		m := modelOf(t, example(t, name))
		sound := newWiring(m).sound()
		compared := 0
		for _, e := range Expect(m) {
			k := kindOf(e.Reading)
			if k == nil || k.predict == nil || !e.Known() || e.Mid.IsZero() || k.Name == "Ipf" || k.Class == "voltage" || k.Class == "electrode" {
				continue // bands of other making: Ipf by the network at its greatest, the rest by their limits
			}
			q := sound.wiring.ask(k, e.At, how(""))
			v, ok := k.predict(sound, q)
			if !ok || len(q.gap) > 0 {
				continue
			}
			closeTo(t, name+": "+e.Reading+" at "+e.At, e.Mid.Number, v.amount, 1e-9+0.005*v.amount)
			compared++
		}
		if compared < 4 {
			t.Errorf("%s: only %d readings compared", name, compared)
		}
	}
}
