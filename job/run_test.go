package job

import (
	"reflect"
	"slices"
	"testing"

	"chargewright/trade"
	"chargewright/works"
)

// TestOldRunsAreRead takes the readings of three runs of an older record apart: two of
// one point, entered in one minute by the command line, whose step comes
// again, and one of another day; with a serial number read off the label
// between them.
func TestOldRunsAreRead(t *testing.T) {
	at := func(when, who, reading, value, note string) works.Reading {
		return works.Reading{At: "CP1", Reading: reading, Value: value, Function: "OCPP 1.6", Who: who, When: when, Note: note}
	}
	const monday, tuesday = "2026-11-23 09:00", "2026-11-24T10:15:00.000Z"
	readings := []works.Reading{
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
	j := &Job{Readings: readings}
	j.takeOldRuns()
	if len(j.Readings) != 2 || j.Readings[0].Value != "on the label" || j.Readings[1].Reading != "Zs" {
		t.Errorf("the readings left are %+v, want what was read off the label and Zs", j.Readings)
	}
	runs := j.RunsOf("CP1", trade.Commissioning)
	if len(runs) != 3 {
		t.Fatalf("%d runs, want 3: %+v", len(runs), runs)
	}
	first := runs[0]
	if first.Ended != "ended at its last step" || first.Link != "plain" || first.Note != "begun then" || first.Serial != "A1" || first.Protocol != "OCPP 1.6" || first.Trained() {
		t.Errorf("the first run is %+v", first)
	}
	if want := (works.RunStep{Key: "limit 16 A", What: "holds 16 A", Verdict: "meets", Value: "15.9 A", Limit: "16 A", Seen: "it fell in 3 s"}); first.Steps[0] != want {
		t.Errorf("its step is %+v, want %+v", first.Steps[0], want)
	}
	if want := (works.RunSetting{Name: "ConnectorPhaseRotation", Before: "RST", After: "STR", Why: "the point stands on L2 in the design"}); len(first.Settings) != 1 || first.Settings[0] != want {
		t.Errorf("its settings are %+v, want %+v", first.Settings, want)
	}
	if again := runs[1].Steps[0]; again.Verdict != "fails" || again.Next != "look at its load setting" || runs[2].Who != "Bert" || runs[2].When != tuesday || runs[2].Steps[0].Verdict != trade.NotSupported {
		t.Errorf("the later runs are %+v", runs[1:])
	}
	if len(j.RunsOf("CP2", trade.Commissioning)) != 1 || len(j.RunsOf("CP3", trade.Commissioning)) != 0 {
		t.Error("a run is of another point, or of none")
	}
}

// An older file with runs among its readings says the same once it was written
// again, and a training run stays one.
func TestOldRunsAreWrittenAsRuns(t *testing.T) {
	old := `job: yard
boards: [{name: board, fed from: supply}]
circuits: [{name: c, from: board, to: CP1}]
points: [{name: CP1}]
readings:
- { at: CP1, reading: commissioning run, value: "ended, with steps left out", function: "OCPP 2.0.1, training run, not a true one", when: 2026-11-25 10:00, note: "begun 2026-11-25 09:50 UTC; link: none; left out: clock, reboot" }
- { at: CP1, reading: "commissioning, start", value: "fails: 12.0 s, limit 8.0 s", function: "OCPP 2.0.1, training run, not a true one", when: 2026-11-25 10:00, note: "starts on a known card: late; next: see its relay" }
- { at: CP1, reading: "control pilot, level", value: "meets: 6.02 V", function: "IEC 61851-1 Annex A", when: 2026-11-25 10:05, note: "level of the state: 6.02 V is state C" }
- { at: CP1, reading: Zs, value: 0.34 Ω }
`
	j := mustRead(t, old)
	again := mustRead(t, string(Write(j)))
	if !reflect.DeepEqual(j, again) || len(j.Runs) != 2 || len(j.Readings) != 1 {
		t.Fatalf("written again it says\n%s\nwant two runs and one reading", Write(again))
	}
	run, pilot := again.Runs[0], again.Runs[1]
	if !run.Trained() || run.Protocol != "OCPP 2.0.1" || run.Began != "2026-11-25 09:50" || !slices.Equal(run.LeftOut, []string{"clock", "reboot"}) || run.Steps[0].Limit != "8.0 s" {
		t.Errorf("the run is %+v", run)
	}
	if pilot.Program != trade.ControlPilot || pilot.Steps[0] != (works.RunStep{Key: "level", What: "level of the state", Verdict: "meets", Value: "6.02 V", Seen: "6.02 V is state C", Rule: "IEC 61851-1 Annex A"}) {
		t.Errorf("the pilot is %+v", pilot)
	}
}

// A run goes into a file and into a record, and comes out the same; two people
// each add one of their own.
func TestRunsAreAddedAndMerged(t *testing.T) {
	text := "job: yard\nboards: [{name: board, fed from: supply}]\ncircuits: [{name: c, from: board, to: CP1}]\npoints: [{name: CP1}]\n"
	run := works.Run{Point: "CP1", Program: trade.Commissioning, Protocol: "OCPP 1.6", Who: "Jo", When: "2026-11-25 10:00", LeftOut: []string{"reboot"}, Steps: []works.RunStep{{Key: "start", Verdict: "meets", Value: "2.0 s", Limit: "8.0 s"}, {Key: "stop", Verdict: "fails"}},
		Settings: []works.RunSetting{{Name: "HeartbeatInterval", After: "60"}}}
	f, err := ReadRecord("x.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	if err := f.Add("runs", run); err != nil {
		t.Fatal(err)
	}
	if j, err := f.Job(); err != nil || len(j.Runs) != 1 || !reflect.DeepEqual(j.Runs[0], run) {
		t.Errorf("the file says %+v, %v, want %+v\n%s", j.Runs, err, run, f.Bytes())
	}
	base := record(t, text)
	other := run
	other.Who, other.When = "Sam", "2026-11-26 11:00"
	both := Merge(Merge(base, NewRecord(Added("runs", "act-1", 1, run)...)), NewRecord(Added("runs", "act-2", 1, other)...))
	j, err := both.Job("both")
	if err != nil || len(j.Runs) != 2 || len(both.Conflicts()) != 0 || !reflect.DeepEqual(j.Runs, []works.Run{run, other}) {
		t.Errorf("merged they say %+v, %v, %v to settle", j.Runs, err, both.Conflicts())
	}
}
