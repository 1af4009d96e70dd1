package main

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// inLedger runs the verb in a folder of its own and returns what it printed.
func inLedger(t *testing.T, want int, args ...string) (out, talk string) {
	t.Helper()
	root, err := filepath.Abs("../../examples")
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	if err := os.Symlink(root, filepath.Join(dir, "examples")); err != nil {
		t.Fatal(err)
	}
	t.Chdir(dir)
	var o, e bytes.Buffer
	if code := run(append([]string{"ledger"}, args...), &o, &e); code != want {
		t.Fatalf("chargewright ledger %s exits %d, want %d\n%s%s", strings.Join(args, " "), code, want, &o, &e)
	}
	return o.String(), e.String()
}

// TestLedgerShows is the bakery's records under a night tariff: the statement
// is printed and written, and every line of dirt is reported by its line.
func TestLedgerShows(t *testing.T) {
	out, _ := inLedger(t, exitOpen, "examples/bakery/sessions.csv", "--tariff", "examples/tariffs/night.csv", "--date", "2026-11-25")
	for _, file := range []string{"statement.pdf", "statement.csv", "statement.json", "sessions.csv", "notes.csv", "week.svg"} {
		if info, err := os.Stat(filepath.Join("out", file)); err != nil || info.Size() == 0 {
			t.Errorf("%s is not written: %v", file, err)
		}
		if !strings.Contains(out, filepath.Join("out", file)) {
			t.Errorf("%s is not said to be written", file)
		}
	}
	records, err := os.ReadFile("examples/bakery/sessions.csv")
	if err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile("out/notes.csv")
	if err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(bytes.NewReader(text)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	noted := map[string]bool{}
	for _, r := range rows[1:] {
		noted[r[1]] = true
	}
	dirt := 0
	for i, line := range strings.Split(string(records), "\n") {
		if strings.Contains(line, "dirt:") && !strings.Contains(line, "formula") {
			dirt++
			if n := itoa(i + 1); !noted[n] || !strings.Contains(strings.Join(strings.Fields(out), " "), "sessions.csv:"+n+":") {
				t.Errorf("line %s is not reported: %s", n, line)
			}
		}
	}
	if dirt < 18 {
		t.Errorf("%d kinds of dirt in the example", dirt)
	}
	sessions, err := os.ReadFile("out/sessions.csv")
	if err != nil {
		t.Fatal(err)
	}
	if strings.Contains(string(sessions), ",=HYPERLINK") || !strings.Contains(string(sessions), "'=HYPERLINK") {
		t.Error("a card that is a formula is not guarded in sessions.csv")
	}
}

func itoa(n int) string { b, _ := json.Marshal(n); return string(b) }

// TestLedgerJSON holds the published shape, and that lines and energies add up.
func TestLedgerJSON(t *testing.T) {
	out, _ := inLedger(t, exitFails, "examples/bakery/sessions.csv", "--tariff", "examples/tariffs/night.csv", "--date", "2026-11-25", "--json", "--by", "month,person",
		"--then", "examples/tariffs/night-utc.csv", "--schedule", "00:30-05:30", "--co2", "examples/tariffs/co2.csv", "--journeys", "examples/bakery/journeys.csv", "--mileage", "examples/bakery/mileage.csv", "--inspections", "examples/bakery/inspections.csv")
	var r struct {
		Made    string
		Records []struct {
			Lines, Blank, Head, Counted, Doubted, SaidTwice, Faulty int
			EnergyCounted                                           float64
		}
		Statement struct {
			By    []string
			Lines []struct {
				Keys      []string
				Sessions  int
				EnergyKWh float64
				Cost      float64
			}
			Total struct {
				Sessions  int
				EnergyKWh float64
				Cost      float64
			}
		}
		WhatIf       struct{ Now, Then, Saving, SavingAtLeast, SavingAtMost float64 }
		MileageClaim struct {
			Total    float64
			NotKnown []string
		}
		Notes    []struct{ Line int }
		Findings []struct{ Verdict string }
	}
	if err := json.Unmarshal([]byte(out), &r); err != nil {
		t.Fatal(err)
	}
	rec := r.Records[0]
	if rec.Lines != rec.Blank+rec.Head+rec.Counted+rec.Doubted+rec.SaidTwice+rec.Faulty || rec.Counted != r.Statement.Total.Sessions {
		t.Errorf("records %+v, total %+v", rec, r.Statement.Total)
	}
	cost := 0.0
	for _, l := range r.Statement.Lines {
		cost += l.Cost
	}
	if d := cost - r.Statement.Total.Cost; d > 1e-6 || d < -1e-6 {
		t.Errorf("lines come to %v, total %v", cost, r.Statement.Total.Cost)
	}
	if w := r.WhatIf; w.SavingAtLeast > w.Saving || w.Saving > w.SavingAtMost {
		t.Errorf("what if: %+v", w)
	}
	// 192.3 miles at 7 p and 24.9 at 7.5 p: £13.461 + £1.8675 = £15.3285.
	if r.MileageClaim.Total != 15.3285 || len(r.MileageClaim.NotKnown) != 1 {
		t.Errorf("claim %+v, want £15.3285 and one journey not known", r.MileageClaim)
	}
	if _, err := os.Stat("out"); err == nil {
		t.Error("--json wrote a folder")
	}
}

// TestLedgerRefusals: what cannot be used is said by file, line and field, and
// nothing is written.
func TestLedgerRefusals(t *testing.T) {
	bad := filepath.Join(t.TempDir(), "bad.csv")
	if err := os.WriteFile(bad, []byte("when,how much\n2026-01-01,3\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	nounit := filepath.Join(t.TempDir(), "nounit.csv")
	if err := os.WriteFile(nounit, []byte("start,stop,energy\n2026-01-01 08:00,2026-01-01 09:00,3\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		want string
		args []string
	}{
		{"bad.csv:1: head of the table: no column says when a session started", []string{bad}},
		{"does not say its unit", []string{nounit}},
		{"no such", []string{"no such file.csv"}},
		{"not by \"colour\"", []string{nounit, "--by", "colour"}},
		{"--column says which column is which", []string{bad}},
		{"--unit says the unit", []string{nounit}},
		{"--zone", []string{nounit, "--zone", "Mars/Olympus"}},
		{"--column", []string{nounit, "--column", "colour=red"}},
		{"--rating", []string{nounit, "--rating", "7 bananas"}},
		{"takes both", []string{nounit, "--unit", "kWh", "--journeys", "examples/bakery/journeys.csv"}},
		{"bad.csv:1", []string{nounit, "--unit", "kWh", "--tariff", bad}},
		{"--date", []string{nounit, "--date", "yesterday"}},
	} {
		_, talk := inLedger(t, exitUnusable, tt.args...)
		if !strings.Contains(talk, tt.want) {
			t.Errorf("%v: %q, want it to say %q", tt.args, talk, tt.want)
		}
		if _, err := os.Stat("out"); err == nil {
			t.Errorf("%v wrote a folder", tt.args)
		}
	}
}

// TestLedgerKeeps: one command on a date makes last month's statement and keeps
// it; what is kept is never changed, and what says otherwise comes beside it.
func TestLedgerKeeps(t *testing.T) {
	record := filepath.Join(t.TempDir(), "sessions.csv")
	write := func(rows string) {
		if err := os.WriteFile(record, []byte("start,stop,energy kWh\n"+rows), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	const october, november = "2026-10-31 08:00,2026-10-31 09:00,3\n", "2026-11-02 08:00,2026-11-02 10:00,12.5\n"
	write(october + november)
	out, _ := inLedger(t, exitOpen, record, "--keep", "kept", "--date", "2026-12-01")
	first, err := os.ReadFile("kept/2026-11/statement.csv")
	if err != nil || !strings.Contains(string(first), "2026-11,1,12.5,") || strings.Contains(string(first), "2026-10") {
		t.Fatalf("%v\n%s\n%s", err, first, out)
	}
	keep := func(want string) {
		t.Helper()
		var o, e bytes.Buffer
		if run([]string{"ledger", record, "--keep", "kept", "--date", "2026-12-05"}, &o, &e); !strings.Contains(o.String(), want) {
			t.Errorf("%s%s; want it to say %q", &o, &e, want)
		}
	}
	keep("kept already, and the same")
	write(october + november + "2026-11-20 08:00,2026-11-20 09:00,2\n")
	keep("kept already, and not the same")
	again, _ := os.ReadFile("kept/2026-11/statement.csv")
	second, _ := os.ReadFile("kept/2026-11-2/statement.csv")
	if !bytes.Equal(again, first) || !strings.Contains(string(second), "2026-11,2,14.5,") {
		t.Errorf("kept %s and beside it %s", again, second)
	}
	keep("kept already, and the same: kept/2026-11-2")
}
