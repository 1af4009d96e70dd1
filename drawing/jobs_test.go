package drawing_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"chargewright/design"
	"chargewright/finding"
	"chargewright/job"
	"chargewright/model"
	"chargewright/prove"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/trade"
	"chargewright/works"
)

// drawn is a job with all that is drawn of it.
type drawn struct {
	name string
	m    *model.Model
	fs   []finding.Finding
	es   []prove.Expectation
}

// jobs is every example, sound and faulty, and two invented to strain the
// drawings: long names with many legs, and a record that says nothing.
func jobs(t *testing.T) []drawn {
	t.Helper()
	files, err := filepath.Glob("../examples/*/*.yaml")
	if err != nil || len(files) == 0 {
		t.Fatalf("no example jobs under ../examples: %v", err)
	}
	var out []drawn
	for _, f := range append(files, "../job/testdata/yard.yaml") {
		text, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		j, _ := job.Read(f, text) // a faulty file still holds what could be read
		if j != nil {
			out = append(out, modelled(t, filepath.Base(filepath.Dir(f))+" "+filepath.Base(f), j))
		}
	}
	return append(out, modelled(t, "long names and many legs", strained()), modelled(t, "nothing said", &job.Job{Name: "nothing", Points: []works.Point{{Name: "P"}}}))
}

func modelled(t *testing.T, name string, j *job.Job) drawn {
	t.Helper()
	rules, err := standard.Open(j.Edition)
	if err != nil {
		t.Fatal(err)
	}
	m := model.New(j, rules)
	return drawn{name, m, design.Check(m), prove.Expect(m)}
}

// strained is a job whose names are long, with and without spaces, in other
// scripts, and whose circuits have many legs.
func strained() *job.Job {
	long := "the charging point by the far corner of the lower staff car park beyond the delivery gate"
	word := strings.Repeat("Llanfairpwllgwyngyll", 5)
	j := &job.Job{Name: long, Supply: works.Supply{Earthing: quantity.Known(trade.TNCS), Phases: quantity.Known(3), Voltage: quantity.Known(quantity.Volts(230)),
		Bonding: []works.Bonding{{To: word}, {To: "structural steel of the canopy over the loading bay"}}, OtherSources: []string{word, "battery"}}}
	j.Boards = []works.Board{{Name: long + " board", FedFrom: "supply", Place: word}, {Name: word}}
	legs := make([]works.Leg, 14)
	for i := range legs {
		legs[i] = works.Leg{Name: fmt.Sprintf("%s %d", long, i), Length: quantity.Known(quantity.Metres(i) + 0.125), Method: quantity.Known(standard.MethodDDuct),
			Together: quantity.Known(9), Arrangement: quantity.Known(standard.Buried250mm), Surrounded: quantity.Known(quantity.Metres(0.4)), Depth: quantity.Known(quantity.Metres(0.7))}
	}
	j.Circuits = []works.Circuit{
		{Name: "sub-main to " + word, From: long + " board", To: word, Legs: legs},
		{Name: "final " + long, From: word, To: "点 充電 " + long, Legs: legs, SharedRCD: word},
	}
	j.Points = []works.Point{{Name: "点 充電 " + long, Mounting: works.Mounting{Place: word, Underside: quantity.Known(quantity.Metres(0.9)), OutletAt: quantity.Known(quantity.Metres(0.91)),
		Controls: quantity.Known(quantity.Metres(0.92)), Top: quantity.Known(quantity.Metres(0.93))}}}
	return j
}
