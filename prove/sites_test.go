package prove

import (
	"math"
	"testing"

	"chargewright/job"
	"chargewright/model"
	"chargewright/quantity"
	"chargewright/reading"
	"chargewright/standard"
	"chargewright/trade"
	"chargewright/works"
)

// oneCircuit is a job with one circuit to one point, at 20 °C unless changed.
// All of it is invented, to hold figures that are not.
func oneCircuit(cable works.Cable, metres, ze float64, change ...func(*job.Job)) *job.Job {
	j := &job.Job{Name: "one circuit", Invented: true, Edition: standard.DefaultEdition()}
	j.Site.Temperature = quantity.Known(quantity.Celsius(20))
	j.Supply.Earthing = quantity.Known(trade.TNCS)
	j.Supply.Phases = quantity.Known(1)
	j.Supply.Voltage = quantity.Known(quantity.Volts(230))
	j.Supply.Ze = stated(quantity.Ohms(ze), trade.Measured)
	j.Boards = []works.Board{{Name: "board", FedFrom: "supply", Phases: quantity.Known(1)}}
	j.Circuits = []works.Circuit{{Name: "point circuit", From: "board", To: "CP1", Phases: quantity.Known(trade.L1), Cable: cable, Device: breaker(32),
		RCD:  works.RCD{Type: quantity.Known(trade.TypeA), Residual: quantity.Known(quantity.Amperes(0.03))},
		Legs: []works.Leg{{Name: "run", Length: quantity.Known(quantity.Metres(metres)), LengthKnown: quantity.Known(trade.Measured)}}}}
	p := works.Point{Name: "CP1", Power: quantity.Known(quantity.Watts(7400)), Phases: quantity.Known(1)}
	j.Points = []works.Point{p}
	for _, c := range change {
		c(j)
	}
	return j
}

// flat is flat twin and cpc; the rulebook knows its cpc.
func flat(csa float64) works.Cable {
	return works.Cable{Construction: quantity.Known(standard.FlatTwin), Insulation: quantity.Known(standard.Thermoplastic70), Material: quantity.Known(standard.Copper), CSA: quantity.Known(quantity.SquareMillimetres(csa))}
}

// cores is a cable with line, neutral and cpc of sizes of their own.
func cores(csa, cpc float64) works.Cable {
	c := flat(csa)
	c.Construction = quantity.Known(standard.Multicore)
	c.CPC, c.CPCCSA = quantity.Known(trade.CPCCore), quantity.Known(quantity.SquareMillimetres(cpc))
	return c
}

func modelOf(t testing.TB, j *job.Job) *model.Model {
	t.Helper()
	rules, err := standard.Open(j.Edition)
	if err != nil {
		t.Fatal(err)
	}
	return model.New(j, rules)
}

// benchOf lays a job out with its readings.
func benchOf(t testing.TB, j *job.Job) *bench {
	t.Helper()
	b, err := newBench(modelOf(t, j), UsualPriors())
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// reads is what a reading is under a state of the wiring.
func reads(t testing.TB, b *bench, s *state, reading, at, function string) float64 {
	t.Helper()
	q := b.ask(kindOf(reading), at, how(function), "")
	if len(q.gap) > 0 {
		t.Fatalf("%s at %s: %s", reading, at, q.gap)
	}
	v, ok := q.kind.predict(s, q)
	if !ok {
		t.Fatalf("%s at %s is not predicted", reading, at)
	}
	return v.amount
}

// with one cause of a size at the point.
func faulty(t testing.TB, b *bench, key string, x float64) *state {
	t.Helper()
	for _, c := range b.priors.causes {
		if c.key != key {
			continue
		}
		places := b.placesOf(c)
		if len(places) == 0 {
			t.Fatalf("%s can be nowhere in this job", key)
		}
		s := b.wiring.sound()
		if !c.change(s, places[len(places)-1], x) {
			t.Fatalf("%s cannot be", key)
		}
		return s
	}
	t.Fatalf("no cause %s", key)
	return nil
}

func closeTo(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if math.IsNaN(got) || math.Abs(got-want) > within {
		t.Errorf("%s = %.6g, want %.6g ± %g", what, got, want, within)
	}
}

func take(at, reading, value, function string) works.Reading {
	return works.Reading{At: at, Reading: reading, Value: value, Function: function, Instrument: "tester", LeadsNulled: quantity.Known(true)}
}

// how reads the words of a loop reading's function.
func how(function string) reading.Ways {
	for _, k := range reading.Kinds() {
		if w, err := k.Ways(function); err == nil {
			return w
		}
	}
	panic("no reading is taken " + function)
}
