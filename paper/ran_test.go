package paper

import (
	"strings"
	"testing"

	"chargewright/job"
	"chargewright/model"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/trade"
	"chargewright/works"
)

// TestTrainingIsSaid: a run against a pretended point never stands on the paper
// as a run of the point, and never in place of a true one.
func TestTrainingIsSaid(t *testing.T) {
	trained := works.Run{Point: "CP1", Program: trade.Commissioning, Protocol: "OCPP 1.6", Pretended: quantity.Known(true), When: "2026-11-26 10:00", Serial: "PRETEND-1",
		Steps: []works.RunStep{{Key: "limit 16 A", What: "holds 16 A", Verdict: "meets", Value: "15.9 A", Limit: "16 A", Seen: "it fell in 3 s"}}}
	real := trained
	real.Pretended, real.When, real.Serial = quantity.Maybe[bool]{}, "2026-11-25 10:00", "A1"
	rules, err := standard.Open(standard.DefaultEdition())
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		runs     []works.Run
		training bool
		serial   string
	}{{[]works.Run{trained}, true, "PRETEND-1"}, {[]works.Run{real}, false, "A1"}, {[]works.Run{real, trained}, false, "A1"}, {[]works.Run{trained, real}, false, "A1"}} {
		j, _ := job.Read("x", []byte("job: yard\nboards: [{name: board, fed from: supply}]\ncircuits: [{name: c, from: board, to: CP1}]\npoints: [{name: CP1}]\n"))
		j.Runs = tt.runs
		said := text(commissioning(model.New(j, rules), made))
		if strings.Contains(said, "against a pretended point") != tt.training || !strings.Contains(said, tt.serial) || !strings.Contains(said, "15.9 A, limit 16 A") {
			t.Errorf("the paper says\n%s\nwant training %v, serial number %s and what was seen", said, tt.training, tt.serial)
		}
	}
}
