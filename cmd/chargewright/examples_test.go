package main

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"chargewright/design"
	"chargewright/finding"
	"chargewright/model"
)

// examples returns the example jobs of a file name.
func examples(t testing.TB, name string) []string {
	t.Helper()
	files, err := filepath.Glob("../../examples/*/" + name)
	if err != nil || len(files) < 3 {
		t.Fatalf("examples/*/%s: %v, %v", name, files, err)
	}
	return files
}

func checkFile(t testing.TB, file string) (*model.Model, []finding.Finding) {
	t.Helper()
	m, err := open(file)
	if err != nil {
		t.Fatal(err)
	}
	return m, design.Check(m)
}

func TestExamplesFailNothing(t *testing.T) {
	for _, file := range examples(t, "job.yaml") {
		m, found := checkFile(t, file)
		if !m.Job.Invented {
			t.Errorf("%s does not say that it is invented", file)
		}
		for _, f := range found {
			if f.Verdict == finding.Fails {
				t.Errorf("%s: %s, %s: fails: %s", file, f.Subject, f.What, f.Why)
			}
			if f.Clause.Name == "" || strings.Contains(f.Why.String(), "rulebook:") {
				t.Errorf("%s: %s, %s: clause %q, %s", file, f.Subject, f.Key, f.Clause, f.Why)
			}
		}
	}
}

// TestPlantedFaultsAreFound reads what each faulty example says was planted
// and wants every one of them not met.
func TestPlantedFaultsAreFound(t *testing.T) {
	for _, file := range examples(t, "faulty.yaml") {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		_, found := checkFile(t, file)
		planted := 0
		for _, line := range strings.Split(string(text), "\n") {
			_, fault, ok := strings.Cut(line, "# planted: ")
			if !ok {
				continue
			}
			planted++
			key, about, _ := strings.Cut(strings.TrimSpace(fault), ", ")
			if !fails(found, key, about) {
				t.Errorf("%s: %q about %q was planted and not found", file, key, about)
			}
		}
		if planted < 8 {
			t.Errorf("%s: only %d faults planted", file, planted)
		}
	}
}

func fails(found []finding.Finding, key, about string) bool {
	for _, f := range found {
		if f.Key == key && strings.Contains(f.Subject, about) && f.Verdict == finding.Fails {
			return true
		}
	}
	return false
}

func TestExitCodes(t *testing.T) {
	for _, tt := range []struct {
		args []string
		want int
	}{
		{append([]string{"check"}, examples(t, "job.yaml")...), exitOpen},
		{append([]string{"check"}, examples(t, "faulty.yaml")...), exitFails},
		{[]string{"check", "no such file.yaml"}, exitUnusable},
		{[]string{"chek"}, exitUnusable},
		{[]string{"version"}, exitMet},
		{[]string{"--help"}, exitMet},
		{[]string{"expect", "../../examples/bakery/job.yaml"}, exitMet},
		{[]string{"expect", "../../examples/bakery/job.yaml", "--at", "nowhere"}, exitUnusable},
	} {
		var out, talk bytes.Buffer
		if got := run(tt.args, &out, &talk); got != tt.want {
			t.Errorf("chargewright %s exits %d, want %d\n%s%s", strings.Join(tt.args, " "), got, tt.want, &out, &talk)
		}
	}
}

// TestCheckJSON holds the published shape of check --json.
func TestCheckJSON(t *testing.T) {
	var out, talk bytes.Buffer
	run([]string{"check", "--json", "../../examples/bakery/job.yaml"}, &out, &talk)
	var report struct {
		Job, Edition string
		Findings     []map[string]any
	}
	if err := json.Unmarshal(out.Bytes(), &report); err != nil {
		t.Fatal(err)
	}
	if report.Job == "" || report.Edition != "BS 7671:2018+A4:2026" || len(report.Findings) < 30 {
		t.Errorf("job %q, edition %q, %d findings", report.Job, report.Edition, len(report.Findings))
	}
	verdicts := map[string]bool{"meets": true, "fails": true, "not known": true, "judge on site": true}
	for _, f := range report.Findings {
		for _, field := range []string{"clause", "subject", "what", "value", "unit", "limit", "margin", "verdict", "why", "next", "source"} {
			if _, ok := f[field]; !ok {
				t.Errorf("%v lacks %q", f["what"], field)
			}
		}
		if v, _ := f["verdict"].(string); !verdicts[v] {
			t.Errorf("verdict %q", f["verdict"])
		}
	}
}

// TestExpectJSON holds the published shape of expect --json.
func TestExpectJSON(t *testing.T) {
	var out, talk bytes.Buffer
	run([]string{"expect", "--json", "../../examples/bakery/job.yaml"}, &out, &talk)
	var report struct {
		Job          string
		Expectations []map[string]any
	}
	if err := json.Unmarshal(out.Bytes(), &report); err != nil {
		t.Fatal(err)
	}
	for _, e := range report.Expectations {
		for _, field := range []string{"reading", "at", "low", "mid", "high", "unit", "limit", "parts"} {
			if _, ok := e[field]; !ok {
				t.Errorf("%v at %v lacks %q", e["reading"], e["at"], field)
			}
		}
	}
}

func TestNewJobIsReadAndNeverOverwritten(t *testing.T) {
	file := filepath.Join(t.TempDir(), "barn.yaml")
	var out, talk bytes.Buffer
	if code := run([]string{"new", file, "--name", "Barn"}, &out, &talk); code != exitMet {
		t.Fatalf("new exits %d: %s", code, &talk)
	}
	if m, err := open(file); err != nil || m.Job.Name != "Barn" {
		t.Errorf("the starter job is not read back: %v", err)
	}
	before, _ := os.ReadFile(file)
	if code := run([]string{"new", file}, &out, &talk); code != exitUnusable {
		t.Errorf("new over a job exits %d, want %d", code, exitUnusable)
	}
	if after, _ := os.ReadFile(file); !bytes.Equal(before, after) {
		t.Error("new changed a job that was there")
	}
}
