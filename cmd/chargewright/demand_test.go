package main

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// said runs a command and returns its exit code, what it printed with every
// break a plain space, and its complaints.
func said(args ...string) (code int, out, talk string) {
	var o, e bytes.Buffer
	code = run(args, &o, &e)
	return code, strings.Join(strings.Fields(o.String()), " "), e.String()
}

const bakery = "../../examples/bakery/"

func TestLimitCommand(t *testing.T) {
	dir := t.TempDir()
	picture := filepath.Join(dir, "limit.svg")
	code, out, talk := said("limit", bakery+"job.yaml", "--runs", "2", "-o", picture)
	if code != exitMet || !strings.Contains(out, "proved for every step up to 71 A") || !strings.Contains(out, "0 failed") {
		t.Errorf("the bakery's limiter: exit %d\n%s%s", code, out, talk)
	}
	if svg, err := os.ReadFile(picture); err != nil || !bytes.Contains(svg, []byte("the longest found")) {
		t.Errorf("picture: %v", err)
	}
	code, out, _ = said("limit", bakery+"slow-limiter.yaml", "--runs", "0", "-o", picture)
	if code != exitFails || !strings.Contains(out, "counter-example") {
		t.Errorf("the slow limiter: exit %d\n%s", code, out)
	}
	if svg, err := os.ReadFile(picture); err != nil || !bytes.Contains(svg, []byte("counter-example")) {
		t.Errorf("picture of the counter-example: %v", err)
	}
	code, out, _ = said("limit", bakery+"job.yaml", "--log", bakery+"logger.csv", "--runs", "1", "--years", "0.1", "--rates", "00:00=9,07:00=28.5")
	for _, want := range []string{"05:20 to 05:30 others 69.5 to 71 A: vehicle held to 24 to 25.5 A, pilot down to 40 %", "06:30 to 00:00", "At power-up", "dies", "cost of that energy"} {
		if code != exitMet || !strings.Contains(out, want) {
			t.Errorf("the day in words: exit %d, no %q in\n%s", code, want, out)
		}
	}
}

// TestLimitOnSite: cases D18 and D22, by the command.
func TestLimitOnSite(t *testing.T) {
	if code, out, talk := said("limit", bakery+"job.yaml", "--now", "40 80.5 30 / 0 8.1 0"); code != exitMet || !strings.Contains(out, "22.6 A for the vehicle") || !strings.Contains(out, "CP1 set in whole amperes: 22 A") {
		t.Errorf("--now: exit %d, %s%s", code, out, talk)
	}
	if _, out, _ := said("limit", bakery+"job.yaml", "--watts", "2300"); !strings.Contains(out, "on 1: 10 A for each line; 10 A is a limit") || !strings.Contains(out, "on 3: 3.33 A for each line; pause") {
		t.Errorf("--watts: %s", out)
	}
	if _, out, _ := said("limit", bakery+"job.yaml", "--watts", "22080"); !strings.Contains(out, "was amperes meant?") {
		t.Errorf("--watts 22080: %s", out)
	}
}

func TestLimitJSON(t *testing.T) {
	for _, job := range []string{"job.yaml", "slow-limiter.yaml"} {
		_, out, _ := said("limit", bakery+job, "--runs", "1", "--years", "0.1", "--json")
		var r struct {
			Proofs []struct {
				Limiter       string
				WithinSeconds *float64
			}
			Findings []struct{ Verdict string }
			Study    struct{ Runs int }
		}
		if err := json.Unmarshal([]byte(out), &r); err != nil || len(r.Proofs) != 1 || r.Proofs[0].WithinSeconds == nil || len(r.Findings) < 9 || r.Study.Runs != 1 {
			t.Errorf("%s: %v, %+v", job, err, r)
		}
	}
}

func TestDemandCommand(t *testing.T) {
	code, out, talk := said("demand", bakery+"job.yaml", "--log", bakery+"logger.csv", "--runs", "2")
	for _, want := range []string{"61.6", "71 A on L2, 2026-11-07 05:20", "12 of 4032 intervals are missing", "simulation", "notification: tell the network operator after installing"} {
		if code != exitMet || !strings.Contains(out, want) {
			t.Errorf("exit %d, no %q in\n%s%s", code, want, out, talk)
		}
	}
	picture := filepath.Join(t.TempDir(), "demand.svg")
	if code, _, talk := said("demand", bakery+"job.yaml", "--runs", "1", "--json", "-o", picture); code != exitMet {
		t.Errorf("exit %d: %s", code, talk)
	}
	if _, err := os.Stat(picture); err != nil {
		t.Error(err)
	}
}

func TestClampCommand(t *testing.T) {
	for file, want := range map[string]string{"right": "right", "reversed": "reversed", "other-phase": "other phase", "wrong-ratio": "wrong ratio", "not-seen": "not seen", "paired": "paired with another line's voltage"} {
		code, out, talk := said("clamp", bakery+"clamp/"+file+".csv", bakery+"clamp/point.csv", "--json")
		var r struct{ Verdict string }
		err := json.Unmarshal([]byte(out), &r)
		if met := code == exitMet; err != nil || r.Verdict != want || met != (file == "right") || code == exitUnusable {
			t.Errorf("%s: exit %d, %q, %v %s", file, code, r.Verdict, err, talk)
		}
	}
	for read, want := range map[string]string{"20 31 28 20 63 28": "right", "20,31,28,20,-1,28": "reversed"} {
		if _, out, _ := said("clamp", "--read", read, "--takes", "32 A"); !strings.Contains(out, want+" (") {
			t.Errorf("--read %q: no %q in %s", read, want, out)
		}
	}
	if code, out, _ := said("clamp", "--steps"); code != exitMet || !strings.Contains(out, "nothing live is touched") {
		t.Errorf("--steps: exit %d\n%s", code, out)
	}
}

// TestDemandCommandsRefuse: what cannot be used is named, with what is wanted.
func TestDemandCommandsRefuse(t *testing.T) {
	bad := filepath.Join(t.TempDir(), "bad.csv")
	if err := os.WriteFile(bad, []byte("time,L1 A\n2026-01-01 00:00,1\nsoon,2\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		args []string
		want string
	}{
		{[]string{"demand", bakery + "job.yaml", "--log", bad}, `bad.csv:3: time: "soon" is no time`},
		{[]string{"demand", bakery + "job.yaml", "--log", bad, "--amps", "L9"}, `"L9": no column is headed so for the current of each line; the headings are`},
		{[]string{"demand", bakery + "job.yaml", "--zone", "Mars"}, `--zone: "Mars" is no time zone`},
		{[]string{"limit", bakery + "job.yaml", "--step", "1h"}, "--step: 1h0m0s"},
		{[]string{"limit", bakery + "job.yaml", "--years", "11"}, "--years: 11"},
		{[]string{"limit", bakery + "job.yaml", "--rates", "05:00"}, `--rates: "05:00"`},
		{[]string{"clamp"}, "two recordings are wanted"},
		{[]string{"clamp", "--read", "1 2 3"}, "6 are wanted"},
		{[]string{"clamp", "--read", "1 2 3 4 5 x"}, `"x" is no reading`},
		{[]string{"clamp", bad, bakery + "clamp/point.csv"}, "bad.csv:3"},
	} {
		if code, _, talk := said(tt.args...); code != exitUnusable || !strings.Contains(talk, tt.want) {
			t.Errorf("%v: exit %d, %q, want %q", tt.args, code, talk, tt.want)
		}
	}
}

// TestDemandEntersARecording: what the invented logger recorded becomes the
// record's measured demand by one command, with its date; a greater one that was
// measured before stays, and what is no half-hour of each line is refused.
func TestDemandEntersARecording(t *testing.T) {
	text, err := os.ReadFile(bakery + "job.yaml")
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	file := filepath.Join(dir, "job.yaml")
	write := func(from, to string) {
		if err := os.WriteFile(file, []byte(strings.Replace(string(text), from, to, 1)), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	const had = "{value: 71 A, known by: measured, who: A. Spark, when: 2026-11-18}"
	write(had, "{value: 71 A, known by: assumed, reason: like the shop beside it}")
	if code, out, talk := said("demand", file, "--log", bakery+"logger.csv", "--enter", "--who", "A. Spark", "--runs", "0"); code == exitUnusable || !strings.Contains(out, "entered as the maximum demand") {
		t.Fatalf("exit %d\n%s%s", code, out, talk)
	}
	now, _ := os.ReadFile(file)
	for _, want := range []string{"known by: measured", "who: A. Spark", "2026-11-18 00:00", "recording", "logger.csv"} {
		if !strings.Contains(string(now), want) {
			t.Errorf("the record does not hold %q:\n%.2500s", want, now)
		}
	}
	if strings.Contains(string(now), "like the shop beside it") {
		t.Error("the reason of the assumption still stands beside the measurement")
	}
	write(had, "{value: 90 A, known by: measured, who: A. Spark, when: 2026-01-18}")
	if code, _, talk := said("demand", file, "--log", bakery+"logger.csv", "--enter", "--runs", "0"); code != exitUnusable || !strings.Contains(talk, "a greater demand, 90 A, was measured before") {
		t.Errorf("a smaller demand over a greater: exit %d, %s", code, talk)
	}
	hourly := filepath.Join(dir, "hourly.csv")
	rows := "time,L1 A,L2 A,L3 A\n"
	for d := range 8 {
		for h := range 24 {
			rows += strings.Join([]string{"2026-11-0" + itoa(d+1) + " " + itoa(h) + ":00", "20", "30", "25"}, ",") + "\n"
		}
	}
	if err := os.WriteFile(hourly, []byte(rows), 0o644); err != nil {
		t.Fatal(err)
	}
	if code, _, talk := said("demand", file, "--log", hourly, "--enter", "--runs", "0"); code != exitUnusable || !strings.Contains(talk, "means of 1 h are no half-hours") {
		t.Errorf("hourly means: exit %d, %s", code, talk)
	}
	if code, _, talk := said("demand", file, "--enter", "--runs", "0"); code != exitUnusable || !strings.Contains(talk, "--log") {
		t.Errorf("no recording: exit %d, %s", code, talk)
	}
}

// TestDemandInAColdSpell: the terrace has a heat pump of 16 A on L1 and 46 A
// measured: 62 A before the points in the scenario (arithmetic), to be judged where
// it is too much. The bakery has no electric heat, and is told so.
func TestDemandInAColdSpell(t *testing.T) {
	_, out, _ := said("demand", "../../examples/terrace/job.yaml", "--cold", "--runs", "0")
	if !strings.Contains(out, "a cold spell, a scenario 62.0") || !strings.Contains(out, "the electric heat in full and at once, 16 A") {
		t.Errorf("%s", out)
	}
	if _, out, _ := said("demand", "../../examples/terrace/job.yaml", "--runs", "0"); strings.Contains(out, "cold spell") {
		t.Error("a scenario nobody asked for")
	}
	if _, out, _ := said("demand", bakery+"job.yaml", "--cold", "--runs", "0"); !strings.Contains(out, "electric heat: a heat pump") {
		t.Errorf("no electric heat: %s", out)
	}
}

// TestImpossibleReadingsOnSite: six readings that cannot be set no point.
func TestImpossibleReadingsOnSite(t *testing.T) {
	for now, want := range map[string]string{
		"40 -20 30 / 0 8 0":  "cannot carry -20 A in L2",
		"40 5 30 / 0 16 0":   "less in L2",
		"40 60 30 / 0 -16 0": "the point cannot take -16 A",
	} {
		if _, out, talk := said("limit", bakery+"complete.yaml", "--now", now); !strings.Contains(strings.ReplaceAll(out, "−", "-"), want) || !strings.Contains(out, "the fail-safe current") {
			t.Errorf("%s: %s%s, want %q", now, out, talk, want)
		}
	}
}
