package demand

import (
	"math"
	"testing"

	"chargewright/invent"
	"chargewright/model"
	"chargewright/quantity"
	"chargewright/standard"
)

// TestCheckFlowAndLimitAgree: one job has one voltage at a point and one
// current in a line, whoever is asked. On random jobs the voltages that a run of
// the limiter follows are those of the load flow for the same currents; the
// demand it starts from is the one that is checked; and a point draws in the
// flow no more than its design current.
func TestCheckFlowAndLimitAgree(t *testing.T) {
	rules, err := standard.Open(standard.DefaultEdition())
	if err != nil {
		t.Fatal(err)
	}
	jobs := 300
	if testing.Short() {
		jobs = 80
	}
	volts, atBoards, worst := 0, 0, 0.0
	for seed := range jobs {
		j, _, err := invent.Read(invent.Job(invent.Rand(uint64(9000+seed)), invent.Options{Missing: 0.02 * float64(seed%3)}))
		if err != nil {
			t.Fatal(err)
		}
		m := model.New(j, rules)
		existing := m.ExistingDemand()
		if d := m.SupplyDemand(); d.Existing.Phase != existing.Phase {
			t.Errorf("job %d: the demand checked is %v, the model's %v", seed, d.Existing.Phase, existing.Phase)
		}
		if s := Prepare(m, Plan{}); len(s.Lacks) == 0 && s.existing != Lines(existing.Phase) {
			t.Errorf("job %d: a run starts from %v, the model has %v", seed, s.existing, existing.Phase)
		}
		var others Lines
		for _, l := range m.OtherLoads() {
			for k, i := range l.Phase {
				others[k] += i
			}
			if l.At != m.Layout.Origin && l.Phase != [3]quantity.Amperes{} {
				atBoards++
			}
		}
		for k := range others {
			if existing.Known() && math.Abs(float64(others[k]-existing.Phase[k])) > 1e-9*float64(existing.Phase[k]) {
				t.Errorf("job %d, L%d: other loads of %v are laid out, and the demand is %v", seed, k+1, others[k], existing.Phase[k])
			}
		}
		drops, gaps, _ := dropsOf(m)
		if len(gaps) > 0 || drops == nil {
			continue
		}
		flow := map[string]model.FlowAt{}
		for _, f := range m.Flow.At {
			if p := f.Circuit.Point; p != nil {
				flow[p.Record.Name] = f
			}
		}
		bays := make([]quantity.Amperes, len(m.Points))
		for i, p := range m.Points {
			for k, drawn := range flow[p.Record.Name].Lines {
				bays[i] = max(bays[i], drawn)
				if most := m.PointCurrents(p).Greatest(); float64(drawn-most) > 1e-6 {
					t.Errorf("job %d: %s draws %v in L%d by the flow, and %v by design", seed, p.Record.Name, drawn, k+1, most)
				}
			}
		}
		for i, v := range drops.Volts(others, bays) {
			place := drops.Places[i]
			want := flow[place.Name].Volts[place.Line]
			if want == 0 {
				continue
			}
			// A current keeps its angle to the voltage at no load in a run, and to
			// the voltage there in the flow: a second-order difference.
			fall := float64(m.Outside.Volts - want)
			worst = max(worst, math.Abs(float64(v-want)))
			if volts++; math.Abs(float64(v-want)) > 0.2+0.02*math.Abs(fall) {
				t.Errorf("job %d: %s, L%d stands at %v in a run and at %v in the flow", seed, place.Name, place.Line+1, v, want)
			}
		}
	}
	t.Logf("%d voltages compared, the worst %.3f V apart; %d loads away from the origin", volts, worst, atBoards)
	if volts < 2*jobs || atBoards < jobs/4 {
		t.Errorf("only %d voltages compared, %d loads away from the origin", volts, atBoards)
	}
}
