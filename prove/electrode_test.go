package prove

import (
	"math"
	"slices"
	"strings"
	"testing"

	"chargewright/job"
	"chargewright/quantity"
	"chargewright/reading"
	"chargewright/trade"
	"chargewright/works"
)

// rodJob is a place earthed by one rod.
func rodJob(system trade.EarthingSystem, rod quantity.Ohms, readings ...works.Reading) *job.Job {
	return oneCircuit(flat(6), 25, 0.2, func(j *job.Job) {
		j.Supply.Earthing = quantity.Known(system)
		e := works.Electrode{Name: "rod", Kind: quantity.Known(trade.Rod), Length: quantity.Known(quantity.Metres(1.2)), Diameter: quantity.Known(quantity.Metres(0.016))}
		if rod > 0 {
			e.Resistance.Value, e.Resistance.KnownBy = quantity.Known(rod), quantity.Known(trade.Measured)
		}
		j.Electrodes = []works.Electrode{e}
		j.Supply.Electrode = "rod"
		if system == trade.TT {
			j.Supply.Ze.Value = quantity.Maybe[quantity.Ohms]{}
		}
		j.Readings = readings
	})
}

// TestSpikesByPieces holds the field of a rod to one summed up piece by piece:
// a line of small sources in the ground, each with its image above it.
//
//	source  superposition in uniform soil; BS 7430 for the resistance of the rod
func TestSpikesByPieces(t *testing.T) {
	const l, d, n = 1.2, 0.016, 20000
	at := func(x float64) (sum float64) { // of a current of 1 A spread along the rod, ρ = 2π
		for k := range n {
			z := (float64(k) + 0.5) * l / n
			sum += 1 / math.Hypot(x, z) / n
		}
		return sum
	}
	r := (math.Log(8*l/d) - 1) / l
	b := modelOf(t, rodJob(trade.TT, 80)).Rules
	for _, c := range []float64{3, 6, 12, 30} {
		for _, p := range []float64{0.3, 0.5, 0.618, 0.75, 0.9} {
			want := 1 - (at(p*c)+at(c)-1/((1-p)*c))/r
			got, _, err := b.FallOfPotential(l, d, quantity.Metres(c), quantity.Metres(p*c))
			if err != nil || math.Abs(got-want) > 1e-4 {
				t.Errorf("spikes at %.1f m and %.1f m read %.4f of the rod, %v; piece by piece %.4f", p*c, c, got, err, want)
			}
		}
	}
	// The place where a small electrode reads itself: p² + p = 1, 0.618 (BS 7430).
	low, high := 0.3, 0.9
	for range 60 {
		p := (low + high) / 2
		if f, _, _ := b.FallOfPotential(0.05, 0.004, 1000, quantity.Metres(1000*p)); f < 1 {
			low = p
		} else {
			high = p
		}
	}
	if math.Abs(low-0.618) > 5e-4 {
		t.Errorf("a small electrode reads itself at %.4f of the way, 0.618 by BS 7430", low)
	}
}

// TestElectrodePredicted: what each way of testing an electrode shows.
func TestElectrodePredicted(t *testing.T) {
	predicted := func(pipes float64, function string) float64 {
		b := benchOf(t, rodJob(trade.TT, 80))
		on := b.wiring.sound()
		if pipes > 0 { // beside the electrode, on the main earthing terminal
			changes["bonded services"](on, where{}, pipes)
		}
		ways, err := kindOf("RA").Ways(function)
		if err != nil {
			t.Fatal(err)
		}
		v, ok := predictElectrode(on, b.wiring.ask(kindOf("RA"), "rod", ways))
		if !ok {
			t.Fatalf("%s is not predicted", function)
		}
		return v.amount
	}
	for _, c := range []struct {
		what      string
		got       float64
		low, high float64
	}{
		{"alone, by spikes", predicted(0, "fall of potential"), 79, 81},
		{"by spikes at 62 % of ten lengths", predicted(0, "fall of potential, current spike 12 m, potential spike 7.4 m"), 77, 82},
		{"spike in the field of the rod", predicted(0, "current spike 5 m, potential spike 1 m"), 40, 70},
		{"spike in the field of the current spike", predicted(0, "current spike 5 m, potential spike 4.5 m"), 85, 140},
		{"by a clamp, nothing else in the ground: no way back", predicted(0, "electrode clamp"), openOhms / 2, 2 * openOhms},
		{"by a clamp beside pipes of 5 Ω: itself and the rest in series", predicted(5, "electrode clamp"), 84.5, 85.5},
		{"left joined to the pipes: 80 Ω beside 5 Ω", predicted(5, "fall of potential, with parallel paths"), 4.6, 4.8},
		{"by a loop tester: with the line", predicted(0, "loop tester"), 80, 82},
	} {
		if !(c.got >= c.low && c.got <= c.high) {
			t.Errorf("%s: %.3g Ω, want %.3g to %.3g", c.what, c.got, c.low, c.high)
		}
	}
}

// TestElectrodeMisfits: a reading of an electrode that the loop does not bear
// out is explained by how it was taken, and no longer once three agreed.
func TestElectrodeMisfits(t *testing.T) {
	keys := func(readings ...works.Reading) (out []string) {
		e, err := Explain(modelOf(t, rodJob(trade.TT, 0, readings...)), UsualPriors())
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range e.Causes[:min(4, len(e.Causes))] {
			out = append(append(out, c.Key), c.Alike...)
		}
		return append(out, e.Flags...)
	}
	loop := take("supply", "Ze", "95 Ω", "high current")
	spoken := func(of []string, keys ...string) bool {
		return slices.ContainsFunc(of, func(one string) bool {
			return slices.ContainsFunc(keys, func(k string) bool { return strings.Contains(one, k) })
		})
	}
	if got := keys(take("rod", "RA", "42 Ω", "fall of potential"), loop); !spoken(got, "spike near", "electrode joined") {
		t.Errorf("42 Ω by spikes and 95 Ω by the loop: %q", got)
	}
	if got := keys(take("rod", "RA", "42 Ω", "fall of potential, three readings agree"), loop); spoken(got, "spike near", "electrode joined") {
		t.Errorf("three readings agreed, and still %q", got)
	}
	if got := keys(take("rod", "RA", "230 Ω", "fall of potential"), loop); !spoken(got, "spike far") {
		t.Errorf("230 Ω by spikes and 95 Ω by the loop: %q", got)
	}
	if got := keys(take("rod", "RA", "60 Ω", "current spike 5 m, potential spike 1 m"), loop); !spoken(got, "% of the electrode") {
		t.Errorf("spikes at 1 m and 5 m: nothing is said of them: %q", got)
	}
	if got := keys(take("rod", "RA", "91 Ω", "fall of potential"), loop); got[0] != "" {
		t.Errorf("91 Ω and 95 Ω: %q", got)
	}
}

// TestSpikesRead: where the spikes stood is part of how it was taken.
func TestSpikesRead(t *testing.T) {
	k := reading.Of("RA")
	w, err := k.Ways("fall of potential, current spike at 30 m, potential spike at 18.5 m")
	if err != nil || w.CurrentSpike != 30 || w.PotentialSpike != 18.5 || !w.Has("fall of potential") {
		t.Errorf("%+v, %v", w, err)
	}
	for _, text := range []string{"current spike 10 m, potential spike 12 m", "current spike 10 A", "potential spike 0 m"} {
		if w, err := k.Ways(text); err == nil {
			t.Errorf("%q is read as %+v", text, w)
		}
	}
	if _, err := reading.Of("Zs").Ways("current spike 30 m"); err == nil {
		t.Error("Zs is read with a spike")
	}
}
