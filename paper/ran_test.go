package paper

import (
	"testing"

	"chargewright/job"
)

// TestRunsArePutTogetherAgain takes the readings of three runs apart: two of
// one point, entered in one minute by the command line, whose step comes
// again, and one of another day; with a serial number read off the label
// between them.
func TestRunsArePutTogetherAgain(t *testing.T) {
	at := func(when, who, reading, value, note string) job.Reading {
		return job.Reading{At: "CP1", Reading: reading, Value: value, Function: "OCPP 1.6", Who: who, When: when, Note: note}
	}
	const monday, tuesday = "2026-11-23 09:00", "2026-11-24T10:15:00.000Z"
	readings := []job.Reading{
		{At: "CP1", Reading: "serial number", Value: "on the label", Who: "Ann", When: monday},
		at(monday, "Ann", "commissioning run", "ended at its last step", "begun then; link: plain"),
		at(monday, "Ann", "serial number", "A1", ""),
		at(monday, "Ann", "commissioning, limit 16 A", "meets: 15.9 A, limit 16 A", "holds 16 A: it fell in 3 s"),
		at(monday, "Ann", "setting, ConnectorPhaseRotation", "STR", "before: RST; the point stands on L2 in the design"),
		at(monday, "Ann", "commissioning run", "ended at its last step", ""),
		at(monday, "Ann", "commissioning, limit 16 A", "fails: 32 A, limit 16 A", "holds 16 A: it stayed; next: look at its load setting"),
		{At: "CP2", Reading: "commissioning, limit 16 A", Value: "meets", When: tuesday, Who: "Bert", Function: "OCPP 1.6"},
		at(tuesday, "Bert", "commissioning, card list", "not supported", "keeps a list of known cards: no"),
		{At: "CP1", Reading: "Zs", Value: "0.34 Ω", Who: "Bert", When: tuesday},
	}
	runs := Runs(readings, "CP1")
	if len(runs) != 3 {
		t.Fatalf("%d runs, want 3: %+v", len(runs), runs)
	}
	first := runs[0]
	if first.Ended != "ended at its last step" || len(first.Says) != 1 || first.Says[0].Value != "A1" || first.Steps[0].What != "holds 16 A" || first.Steps[0].Seen != "15.9 A, limit 16 A" || first.Steps[0].Why != "it fell in 3 s" {
		t.Errorf("the first run is %+v", first)
	}
	if want := (RanSetting{"ConnectorPhaseRotation", "RST", "STR", "the point stands on L2 in the design"}); len(first.Settings) != 1 || first.Settings[0] != want {
		t.Errorf("its settings are %+v, want %+v", first.Settings, want)
	}
	for i, want := range []string{"1 met, 0 failed, 0 not supported, 0 not known, 0 to judge on site", "0 met, 1 failed, 0 not supported, 0 not known, 0 to judge on site", "0 met, 0 failed, 1 not supported, 0 not known, 0 to judge on site"} {
		if got := runs[i].Sum(); got != want {
			t.Errorf("run %d: %s, want %s", i+1, got, want)
		}
	}
	if runs[2].Who != "Bert" || runs[2].When != tuesday || runs[2].Steps[0].Outcome != notSupported {
		t.Errorf("the last run is %+v", runs[2])
	}
	if Runs(readings, "CP3") != nil {
		t.Error("a point that never ran has runs")
	}
}
