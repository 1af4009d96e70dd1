package main

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// typed runs a command line and returns its exit code and results.
func typed(t *testing.T, args ...string) (int, string) {
	t.Helper()
	var out, talk bytes.Buffer
	code := run(args, &out, &talk)
	return code, out.String() + talk.String()
}

// TestCommissionThePretendedPoint runs the whole command on the bakery: a full
// pass in both versions, evidence, paper and job file written, and no secret of
// the point in any of them.
func TestCommissionThePretendedPoint(t *testing.T) {
	t.Parallel()
	folder := t.TempDir()
	text, err := os.ReadFile("../../examples/bakery/job.yaml")
	if err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(folder, "job.yaml")
	if err := os.WriteFile(file, text, 0o644); err != nil {
		t.Fatal(err)
	}
	in := func(name string) string { return filepath.Join(folder, name) }
	code, said := typed(t, "commission", file, "--pretend", "--pace", "30", "--write", "--who", "A. Spark", "-o", in("evidence.json"), "--paper", in("record.pdf"), "--journal", in("journal.jsonl"), "--code", in("address.svg"))
	if code != exitMet {
		t.Fatalf("exit %d, want 0:\n%s", code, said)
	}
	var evidence struct {
		Steps []struct {
			Key, Outcome string
			Messages     []any
		}
		Settings []any
	}
	text, err = os.ReadFile(in("evidence.json"))
	if err != nil || json.Unmarshal(text, &evidence) != nil || len(evidence.Steps) < 20 || len(evidence.Settings) < 5 {
		t.Errorf("evidence.json holds %d steps and %d settings (%v)", len(evidence.Steps), len(evidence.Settings), err)
	}
	for _, name := range []string{"job.yaml", "evidence.json", "record.pdf", "journal.jsonl", "address.svg"} {
		text, err := os.ReadFile(in(name))
		if err != nil || len(text) < 1000 {
			t.Errorf("%s: %d bytes, %v", name, len(text), err)
		}
		if bytes.Contains(text, []byte("not-to-be-told")) {
			t.Errorf("%s holds the point's Wi-Fi password", name)
		}
	}
	if code, said := typed(t, "check", file); code == exitUnusable {
		t.Errorf("the job file written cannot be read:\n%s", said)
	}
	if code, said := typed(t, "hear", in("journal.jsonl")); code != exitOpen || !strings.Contains(said, "A card was refused") {
		t.Errorf("hear: exit %d, want 3 and the refused card:\n%s", code, said)
	}
}

// TestCommissionExitCodes: 1 where a step fails, 3 where nothing fails but the
// point lacks something, 2 where the command cannot be used.
func TestCommissionExitCodes(t *testing.T) {
	t.Parallel()
	job := "../../examples/bakery/job.yaml"
	for _, tt := range []struct {
		want int
		say  string
		args []string
	}{
		{exitFails, "unknown card", []string{"commission", job, "--pretend", "--pace", "60", "--fault", "accepts-any-card", "--skip", "delay,fail-safe"}},
		{exitOpen, "not supported", []string{"commission", job, "--pretend", "--pace", "60", "--fault", "no-meter", "--ocpp", "2.0.1", "--skip", "delay,fail-safe"}},
		{exitUnusable, "there are ignores-limit", []string{"commission", job, "--pretend", "--fault", "sulks"}},
		{exitUnusable, "no charge point", []string{"commission", job, "--point", "CP9"}},
		{exitUnusable, "ending in .svg or .png", []string{"commission", job, "--code", "x.gif"}},
		{exitMet, "holds 16 A", []string{"commission", job, "--list-steps"}},
		{exitMet, "ignores-limit", []string{"pretend", "--help"}},
		{exitMet, "offers 31.98 A", []string{"pilot", job, "--state", "C", "--high", "6.02 V", "--low=-11.95 V", "--duty", "53.3 %", "--frequency", "1001"}},
		{exitFails, "more than the design", []string{"pilot", job, "--duty", "90 %"}},
		{exitMet, "offers 31.9", []string{"pilot", job, "--state", "C", "--trace", "../../examples/bakery/pilot.csv"}},
		{exitOpen, "begins at 22:00 on the wall", []string{"hear", "../../examples/bakery/ocpp.log"}},
		{exitUnusable, "rtuovertcp", []string{"meter", "udp://127.0.0.1:1"}},
	} {
		code, said := typed(t, tt.args...)
		if tt.args[0] == "pilot" && code == exitOpen {
			code = exitMet // the rise was not measured
		}
		if code != tt.want || !strings.Contains(said, tt.say) {
			t.Errorf("%v: exit %d, want %d with %q:\n%s", tt.args, code, tt.want, tt.say, said)
		}
	}
}

// TestNobodyJoinsAndThereArePapers: a run that no point came to ends like any
// other, with evidence, a paper and its entry in the job, and says who else
// knocked.
func TestNobodyJoinsAndThereArePapers(t *testing.T) {
	t.Parallel()
	folder := t.TempDir()
	in := func(name string) string { return filepath.Join(folder, name) }
	text, err := os.ReadFile("../../examples/bakery/job.yaml")
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(in("job.yaml"), text, 0o644); err != nil {
		t.Fatal(err)
	}
	code, said := typed(t, "commission", in("job.yaml"), "--pace", "200", "--write", "--who", "A. Spark", "-o", in("evidence.json"), "--paper", in("record.pdf"))
	if code != exitOpen || !strings.Contains(said, "no point of the name CP1 joined") || !strings.Contains(said, "0 met, 0 failed") {
		t.Errorf("exit %d, want %d:\n%s", code, exitOpen, said)
	}
	for _, name := range []string{"evidence.json", "record.pdf"} {
		if info, err := os.Stat(in(name)); err != nil || info.Size() < 1000 {
			t.Errorf("%s: %v", name, err)
		}
	}
	if after, err := os.ReadFile(in("job.yaml")); err != nil || !strings.Contains(string(after), "no point of the name CP1 joined") {
		t.Errorf("the job holds nothing of the run: %v", err)
	}
	if code, said := typed(t, "check", in("job.yaml")); code == exitUnusable {
		t.Errorf("the job can no longer be read: %s", said)
	}
}
