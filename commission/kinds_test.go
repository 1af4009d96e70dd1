package commission

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"chargewright/finding"
	"chargewright/ocpp"
	"chargewright/trainer"
	"chargewright/works"
)

// A check that only a sound point can pass is tried with every other kind of
// point: one that does nothing, one that refuses, one that does the opposite, one
// that vanishes, and none at all. Each step is led up to by a sound point.

// sixKinds are, for each step, the steps it needs before it, the fault that is its
// opposite, and how it must end with each kind.
var sixKinds = []struct {
	step     string
	before   string // keys, besides those every step needs
	opposite trainer.Misfit
	ends     map[string]string // by kind; where it is not "not known"
}{
	{"identity", "", trainer.OtherSerial, map[string]string{"opposite": "fails", "refuses": "meets"}}, // it introduces itself unasked
	{"settings", "", trainer.FewSettings, map[string]string{"refuses": "fails", "opposite": "fails"}},
	{"design", "", trainer.ForgetsSettings, map[string]string{"refuses": "fails", "opposite": "fails"}},
	{"clock", "", trainer.WrongClock, map[string]string{"nothing": "meets", "refuses": "meets", "opposite": "fails", "vanishes": "meets"}}, // it told its time when it joined
	{"card list", "", trainer.OldList, map[string]string{"refuses": "fails", "opposite": "fails"}},
	{"default hours", "", trainer.NoDefaultHours, map[string]string{"refuses": "judge on site", "nothing": "judge on site", "opposite": "judge on site"}},
	{"vehicle", "", trainer.Unplugged, map[string]string{"nothing": "meets", "refuses": "meets", "vanishes": "meets"}}, // it told its status when it joined
	{"unknown card", "vehicle", trainer.AcceptsAnyCard, map[string]string{"opposite": "fails"}},
	{"start", "vehicle", trainer.NeverStarts, map[string]string{"refuses": "fails", "opposite": "fails"}},
	{"samples", "vehicle,start", trainer.NegativePower, map[string]string{"refuses": "meets", "opposite": "fails"}},                 // nothing is asked of it
	{"phases", "vehicle,start", trainer.WrongPhase, map[string]string{"nothing": "meets", "refuses": "meets", "opposite": "fails"}}, // the meter beside it sees it
	{"limit 16 A", "vehicle,start", trainer.IgnoresLimit, map[string]string{"refuses": "fails", "opposite": "fails"}},
	{"back", "vehicle,start,limit 10 A", trainer.StaysDown, map[string]string{"refuses": "fails", "opposite": "fails"}},
	{"fail-safe", "vehicle,start", trainer.NoFailSafe, map[string]string{"refuses": "meets", "opposite": "fails"}}, // nothing is asked of it
	{"stop", "vehicle,start", trainer.NeverStops, map[string]string{"refuses": "fails", "opposite": "fails"}},
	{"energy", "vehicle,start,samples,stop", trainer.WrongEnergy, map[string]string{"nothing": "meets", "refuses": "meets", "opposite": "fails"}},             // it has told it
	{"link", "vehicle,start,samples", trainer.DropsLink, map[string]string{"nothing": "meets", "refuses": "meets", "opposite": "fails", "vanishes": "fails"}}, // it is over what went before
	{"reboot", "", trainer.ForgetsAtBoot, map[string]string{"refuses": "fails", "opposite": "fails"}},
	{"delay", "reboot", trainer.NoDelay, map[string]string{"refuses": "meets", "opposite": "fails"}}, // nothing is asked of it
	{"restore", "", trainer.ForgetsSettings, map[string]string{"refuses": "fails", "opposite": "fails"}},
}

// always are the steps that lead up to every other.
var always = []string{"identity", "settings", "design"}

// late are the opposites that show only from the step on: the steps before it
// need a sound point.
var late = []string{"restore", "back", "stop"}

// TestEachStepOnSixKindsOfPoint: a step is met by a point that does it, and not
// known where nothing was observed.
func TestEachStepOnSixKindsOfPoint(t *testing.T) {
	t.Parallel()
	kinds := []string{"does", "nothing", "refuses", "opposite", "vanishes", "none"}
	faults := map[string]trainer.Misfit{"nothing": trainer.Silent, "refuses": trainer.Refuses, "vanishes": trainer.Vanishes}
	var all []attempt
	seen := map[string]bool{}
	for i, row := range sixKinds {
		seen[row.step] = true
		keys := slices.Clone(always)
		for _, key := range strings.Split(row.before, ",") {
			if key != "" {
				keys = append(keys, key)
			}
		}
		if !slices.Contains(keys, row.step) {
			keys = append(keys, row.step)
		} else {
			keys = keys[:slices.Index(keys, row.step)+1]
		}
		for _, kind := range kinds {
			a := attempt{keys: keys, suffers: map[string][]trainer.Misfit{}, change: func(in *Intent) { in.Serial = "PRETEND-1" }}
			a.Version = []ocpp.Version{ocpp.V16, ocpp.V201, ocpp.V21}[i%3]
			switch kind {
			case "none":
				a.nobody = true
			case "opposite":
				if slices.Contains(late, row.step) {
					a.suffers[row.step] = []trainer.Misfit{row.opposite}
				} else {
					a.Faults = []trainer.Misfit{row.opposite}
				}
			case "does":
			default:
				a.suffers[row.step] = []trainer.Misfit{faults[kind]}
			}
			all = append(all, a)
		}
	}
	for _, s := range Steps() {
		if !seen[s.Key] && s.Key != "limit 10 A" && s.Key != "limit 6 A" {
			t.Errorf("the step %q is not tried", s.Key)
		}
	}
	ran := attempts(all)
	var table strings.Builder
	fmt.Fprintf(&table, "%-14s", "step")
	for _, kind := range kinds {
		fmt.Fprintf(&table, " %-14s", kind)
	}
	for i, row := range sixKinds {
		fmt.Fprintf(&table, "\n%-14s", row.step)
		for k, kind := range kinds {
			e := ran[i*len(kinds)+k]
			last := e.Steps[len(e.Steps)-1]
			fmt.Fprintf(&table, " %-14s", last.Outcome())
			want := row.ends[kind]
			if kind == "does" {
				want = "meets"
			} else if want == "" {
				want = "not known"
			}
			if last.Key != row.step || last.Outcome() != want {
				t.Errorf("%s, with a point that %s: %s: %s; want %s", row.step, kind, last.Outcome(), last.Why, want)
				for _, s := range e.Steps[:len(e.Steps)-1] {
					if s.Verdict != finding.Meets {
						t.Logf("  before it %s: %s: %s", s.Key, s.Outcome(), s.Why)
					}
				}
			}
			if last.Verdict != finding.Meets && last.Next == "" && !strings.Contains(last.Why.String(), "waits for") {
				t.Errorf("%s, with a point that %s: it does not say what to do next: %s", row.step, kind, last.Why)
			}
		}
	}
	t.Log("\n" + table.String())
}

// TestWithoutAMeterBesideIt: which line of the supply a point of one phase stands
// on it cannot say itself; what it drew without a link it tells only if it kept it.
func TestWithoutAMeterBesideIt(t *testing.T) {
	t.Parallel()
	charge := []string{"identity", "settings", "design", "vehicle", "start"}
	with := func(more ...string) []string { return slices.Concat(charge, more) }
	tests := []struct {
		name    string
		a       attempt
		outcome string
		reason  string
	}{
		{"one phase calls its line L1", attempt{unseen: true, keys: with("phases")}, "judge on site", "whichever line it stands on"},
		{"on L3 it calls it L1 still", attempt{unseen: true, keys: with("phases"), Options: trainer.Options{Rotation: "TRS"}}, "judge on site", "whichever line"},
		{"on L3 the meter sees it", attempt{keys: with("phases"), Options: trainer.Options{Rotation: "TRS"}}, "fails", "on L3; the design has it on L2"},
		{"it kept what it drew", attempt{unseen: true, keys: with("fail-safe")}, "meets", "that it kept meanwhile"},
		{"it kept that it went on", attempt{unseen: true, keys: with("fail-safe"), Options: trainer.Options{Faults: []trainer.Misfit{trainer.NoFailSafe}}}, "fails", "that it kept meanwhile"},
		{"only its register tells", attempt{unseen: true, keys: with("fail-safe"), Options: trainer.Options{Faults: []trainer.Misfit{trainer.KeepsNothing}}}, "meets", "register went on by"},
		{"only its register tells that it went on", attempt{unseen: true, keys: with("fail-safe"), Options: trainer.Options{Faults: []trainer.Misfit{trainer.KeepsNothing, trainer.NoFailSafe}}}, "fails", "register went on by"},
		{"its own power against its register, over a lost link", attempt{unseen: true, keys: with("samples", "limit 10 A", "limit 6 A", "back", "fail-safe", "stop", "energy")}, "meets", "over the same samples"},
		{"its register counts more than its power", attempt{unseen: true, keys: with("samples", "limit 10 A", "stop", "energy"), Options: trainer.Options{Faults: []trainer.Misfit{trainer.WrongEnergy}}}, "fails", "over the same samples"},
	}
	var all []attempt
	for _, tt := range tests {
		all = append(all, tt.a)
	}
	for i, e := range attempts(all) {
		last := e.Steps[len(e.Steps)-1]
		if last.Outcome() != tests[i].outcome || !strings.Contains(last.Why.String(), tests[i].reason) {
			t.Errorf("%s: %s: %s: %s; want %s: …%s…", tests[i].name, last.Key, last.Outcome(), last.Why, tests[i].outcome, tests[i].reason)
		}
	}
}

// TestTheRunSpeaksThePointsLanguage: watts where it takes watts alone, its own
// sample interval, and messages that break the schema are read and told.
func TestTheRunSpeaksThePointsLanguage(t *testing.T) {
	t.Parallel()
	tests := []struct {
		fault trainer.Misfit
		says  map[string]string // by step
	}{
		{trainer.OnlyWatts, map[string]string{"limit 10 A": "down to 10 A", "design": "limited to 32 A"}},
		{trainer.LongInterval, map[string]string{"design": "limits are seen only as often", "samples": "apart", "limit 10 A": "down to 10 A"}},
		{trainer.Unclean, map[string]string{"start": "messages: StartTransaction: connectorId came as text|message: StartTransaction: connectorId came as text", "limit 10 A": "MeterValues: connectorId came as text"}},
	}
	var all []attempt
	for _, tt := range tests {
		all = append(all, attempt{Options: trainer.Options{Faults: []trainer.Misfit{tt.fault}}, keys: []string{"identity", "settings", "design", "vehicle", "start", "samples", "limit 10 A", "stop", "restore"}})
	}
	for i, e := range attempts(all) {
		for _, s := range e.Steps {
			if s.Verdict != finding.Meets {
				t.Errorf("%s: %s: %s: %s", tests[i].fault, s.Key, s.Outcome(), s.Why)
			}
			says, ok := tests[i].says[s.Key]
			if ok && !slices.ContainsFunc(strings.Split(says, "|"), func(one string) bool { return strings.Contains(s.Why.String(), one) }) {
				t.Errorf("%s: %s says %s; want %s in it", tests[i].fault, s.Key, s.Why, says)
			}
		}
	}
}

// TestNobodyJoins: the run ends with papers and evidence, and nothing is known.
func TestNobodyJoins(t *testing.T) {
	t.Parallel()
	e := attempt{nobody: true}.run()
	if len(e.Steps) != len(Steps()) || e.ExitCode() != 3 {
		t.Errorf("%d steps and exit code %d; want %d and 3", len(e.Steps), e.ExitCode(), len(Steps()))
	}
	for _, s := range e.Steps {
		if s.Verdict != finding.NotKnown {
			t.Errorf("%s: %s: %s", s.Key, s.Outcome(), s.Why)
		}
	}
	run := e.Kept("A. Invented")
	if run.Protocol != "" || run.Ended == "" || len(run.Steps) != len(e.Steps) || run.Steps[0].Verdict != "not known" {
		t.Errorf("kept: %+v", run)
	}
	if _, err := e.MarshalJSON(); err != nil {
		t.Error(err)
	}
	var _ works.Run = run
}
