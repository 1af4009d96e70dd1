package prove

import (
	"fmt"
	"math"
	"testing"

	"chargewright/invent"
	"chargewright/model"
	"chargewright/standard"
)

// TestCheckAndExpectAgree: what is expected of a reading stands on the
// resistances the design was checked with. Two answers to one question would
// have an electrician look for a fault that is ours. On random jobs, of every
// resistance both state.
func TestCheckAndExpectAgree(t *testing.T) {
	rules, err := standard.Open(standard.DefaultEdition())
	if err != nil {
		t.Fatal(err)
	}
	jobs := 400
	if testing.Short() {
		jobs = 80
	}
	compared := map[string]int{}
	for seed := range jobs {
		j, _, err := invent.Read(invent.Job(invent.Rand(uint64(5000+seed)), invent.Options{Missing: 0.02 * float64(seed%3)}))
		if err != nil {
			t.Fatal(err)
		}
		m := model.New(j, rules)
		before := fmt.Sprint(m.Assumptions)
		all := Expect(m)
		circuits := map[string]*model.Circuit{}
		for _, c := range m.Circuits {
			circuits[farEnd(c)] = c
		}
		for _, e := range all {
			if !e.Known() || e.Mid.IsZero() {
				continue
			}
			c := circuits[e.At]
			var want, within float64
			switch e.Reading {
			case "R1+R2", "R2", "R1+Rn":
				loop := map[string]model.Loop{"R1+R2": c.R1R2(model.AtTest), "R2": c.R2(model.AtTest), "R1+Rn": c.R1Rn(model.AtTest)}[e.Reading]
				within = 1e-4                                                               // a tenth of a milliohm is below what any meter tells
				at50Hz := real(complex128(loop.Parts[0].Impedance))                         // there reactances share the current of core and armour a little otherwise
				if want = direct(m, c, e.Reading); math.Abs(at50Hz-want) > 0.01*want+1e-4 { // a tenth of a milliohm is below what any meter tells
					t.Errorf("job %d: %s of %s is %.6f at 50 Hz and %.6f by direct current", seed, e.Reading, c.Name(), at50Hz, want)
				}
			case "Zs":
				z, ok := c.Zs(model.AtTest)
				if !ok {
					continue
				}
				want = float64(z)
				for _, p := range m.EarthLoop(c, model.AtTest).Parts { // a meter that loads the loop with a resistance sees no reactance
					within += math.Abs(imag(complex128(p.Impedance)))
				}
				want, within = math.Sqrt(max(0, want*want-within*within)), 0.002*want
			case "Ze":
				want = float64(j.Supply.Ze.Value.Or(0))
				o := &m.Outside
				if sum := float64(o.Line.Ohms + o.Earth.Ohms); math.Abs(sum-want) > 1e-9*want {
					t.Errorf("job %d: the supply's line and earth make %v, and Ze is %v", seed, sum, want)
				}
			case "RA":
				for i := range j.Electrodes {
					if j.Electrodes[i].Name == e.At {
						want = float64(m.ElectrodeResistance(&j.Electrodes[i]).Value)
					}
				}
			default:
				continue
			}
			compared[e.Reading]++
			if math.Abs(e.Mid.Number-want) > within+1e-9*want {
				t.Errorf("job %d: %s at %s is expected to read %.6f, the model has %.6f", seed, e.Reading, e.At, e.Mid.Number, want)
			}
		}
		if after := fmt.Sprint(m.Assumptions); after != before {
			t.Errorf("job %d: the model's assumptions changed when it was asked", seed)
		}
	}
	t.Log(compared)
	for reading, least := range map[string]int{"R1+R2": 4, "R2": 4, "R1+Rn": 4, "Zs": 3} {
		if compared[reading] < least*jobs {
			t.Errorf("%s compared %d times", reading, compared[reading])
		}
	}
	if compared["Ze"] == 0 || compared["RA"] == 0 {
		t.Errorf("compared %v", compared)
	}
}

// direct is what an ohmmeter reads along a circuit, leg by leg by Ohm's law.
func direct(m *model.Model, c *model.Circuit, reading string) float64 {
	var sum float64
	for _, leg := range c.Legs {
		ohms := func(c model.Conductor) float64 {
			c.Beside = nil
			return real(complex128(c.Impedance(leg.Record.Length.Or(0), model.AtTest, m.TestTemperature())))
		}
		cpc := ohms(leg.CPC)
		if beside := leg.CPC.Beside; beside != nil {
			cpc = cpc * ohms(*beside) / (cpc + ohms(*beside))
		}
		switch reading {
		case "R1+R2":
			sum += ohms(leg.Line) + cpc
		case "R2":
			sum += cpc
		default:
			sum += ohms(leg.Line) + ohms(leg.Neutral)
		}
	}
	return sum
}
