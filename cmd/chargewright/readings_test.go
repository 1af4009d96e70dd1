package main

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// explained is what explain --json prints, as its readers know it.
type explained struct {
	Readings []map[string]any
	Causes   []struct {
		Key, Cause, Where, Danger, Acts, Next string
		Probability                           float64
		Alike                                 []string
		Predicts                              []map[string]any
	}
	NextTest *struct{ Reading, At, How, Caution string }
}

func explainFile(t *testing.T, file string) explained {
	t.Helper()
	var out, talk bytes.Buffer
	run([]string{"explain", "--json", file}, &out, &talk)
	var e explained
	if err := json.Unmarshal(out.Bytes(), &e); err != nil {
		t.Fatalf("%s: %v\n%s", file, err, &talk)
	}
	return e
}

// TestExamplesAreExplained holds every example to the cause its first lines
// say it was made with.
func TestExamplesAreExplained(t *testing.T) {
	files, _ := filepath.Glob("../../examples/*/*.yaml")
	found := 0
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		_, after, ok := strings.Cut(string(text), "# cause: ")
		if !ok {
			continue
		}
		found++
		want, _, _ := strings.Cut(after, "\n")
		if want == "none" {
			want = ""
		}
		if !strings.Contains(string(text), "invented: yes") {
			t.Errorf("%s does not say that it is invented", file)
		}
		e := explainFile(t, file)
		if len(e.Causes) == 0 || e.Causes[0].Key != want {
			t.Errorf("%s: explained by %+v, made with %q", file, e.Causes, want)
			continue
		}
		if e.Causes[0].Probability < 0.6 {
			t.Errorf("%s: %q is given no more than %.2f", file, want, e.Causes[0].Probability)
		}
		if want != "" && (e.Causes[0].Next == "" || e.Causes[0].Acts == "" || len(e.Causes[0].Predicts) < len(e.Readings)) {
			t.Errorf("%s: %q lacks what to do, who acts, or what it predicts", file, want)
		}
	}
	if found < 18 {
		t.Errorf("only %d examples say their cause", found)
	}
}

// TestSupplyFaultsAreLeftAlone wants every cause in the supply to be handed to
// the network operator, with the words that keep hands off the cut-out.
func TestSupplyFaultsAreLeftAlone(t *testing.T) {
	for _, name := range []string{"high-ze", "high-earth-tn-s", "weak-service"} {
		c := explainFile(t, "../../examples/bakery/"+name+".yaml").Causes[0]
		if c.Acts != "network operator" || !strings.Contains(c.Next, "leave the cut-out alone") || !strings.Contains(c.Next, "person in charge") || !strings.Contains(c.Danger, "not energise") {
			t.Errorf("%s: acts %q, next %q, danger %q", name, c.Acts, c.Next, c.Danger)
		}
	}
	e := explainFile(t, "../../examples/bakery/high-ze.yaml")
	if e.NextTest == nil || e.NextTest.At != "supply" || !strings.Contains(e.NextTest.Caution, "live test") {
		t.Errorf("high-ze: next test %+v, want one at the supply with its caution", e.NextTest)
	}
}

func TestReadWritesAndExplains(t *testing.T) {
	file := filepath.Join(t.TempDir(), "job.yaml")
	text, err := os.ReadFile("../../examples/bakery/job.yaml")
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(file, text, 0o644); err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		args []string
		code int
		says []string
	}{
		{[]string{"CP1", "R1+R2", "0.08", "--nulled", "--instrument", "tester 1", "--when", "2026-11-25 09:00"}, exitOpen, []string{"0.08 Ω", "expected", "fits"}},
		{[]string{"CP1", "insulation live to earth", "> 200", "--when", "2026-11-25 09:05"}, exitMet, []string{"meets", "> 200 MΩ"}},
		{[]string{"CP1", "Zs", "1.9", "--function", "no-trip", "--when", "2026-11-25 09:10"}, exitFails, []string{"fails", "what explains them", "next test"}},
	} {
		var out, talk bytes.Buffer
		if code := run(append([]string{"read", file}, tt.args...), &out, &talk); code != tt.code {
			t.Errorf("read %v exits %d, want %d\n%s%s", tt.args, code, tt.code, &out, &talk)
		}
		for _, want := range tt.says {
			if !strings.Contains(out.String(), want) {
				t.Errorf("read %v does not say %q:\n%s", tt.args, want, &out)
			}
		}
	}
	after, _ := os.ReadFile(file)
	rest := string(after)
	for _, line := range strings.SplitAfter(string(text), "\n") { // all of it, in order
		_, tail, kept := strings.Cut(rest, line)
		if !kept {
			t.Fatalf("%q was in the file and is not", line)
		}
		rest = tail
	}
	m, err := open(file)
	if err != nil || len(m.Job.Readings) != 3 || m.Job.Readings[0].When != "2026-11-25 09:00" {
		t.Errorf("readings in the file: %v, %v", m, err)
	}
}

func TestReadRefuses(t *testing.T) {
	file := filepath.Join(t.TempDir(), "job.yaml")
	text, _ := os.ReadFile("../../examples/bakery/job.yaml")
	if err := os.WriteFile(file, text, 0o644); err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		args []string
		says string
	}{
		{[]string{"CP1", "R1+R3", "0.13"}, "the nearest is R1+R2"},
		{[]string{"CP2", "R1+R2", "0.13"}, "the nearest is CP1"},
		{[]string{"CP1", "R1+R2", "0.13 V"}, "a resistance in ohms is wanted"},
		{[]string{"CP1", "R1+R2", "minus"}, "has no number"},
		{[]string{"CP1", "Ze", "0.2"}, "read at the supply"},
		{[]string{"supply", "R1+R2", "0.2"}, "name a circuit"},
		{[]string{"CP1", "polarity", "0.2"}, "correct or not correct"},
		{[]string{"CP1", "Zs", "0.2", "--instrument", "tester 9"}, "tester 1"},
		{[]string{"CP1", "Zs", "0.2", "--when", "yesterday"}, "a date is wanted"},
		{[]string{"CP1", "Zs", "0.2", "--temperature", "warm"}, "temperature"},
	} {
		var out, talk bytes.Buffer
		if code := run(append([]string{"read", file}, tt.args...), &out, &talk); code != exitUnusable {
			t.Errorf("read %v exits %d, want %d", tt.args, code, exitUnusable)
		}
		if !strings.Contains(talk.String(), tt.says) {
			t.Errorf("read %v says %q, want %q in it", tt.args, talk.String(), tt.says)
		}
		if after, _ := os.ReadFile(file); !bytes.Equal(after, text) {
			t.Fatalf("read %v changed the file", tt.args)
		}
	}
}

func TestReadingsFromATable(t *testing.T) {
	file := filepath.Join(t.TempDir(), "job.yaml")
	text, _ := os.ReadFile("../../examples/bakery/all-well.yaml")
	head, _, _ := strings.Cut(string(text), "readings:\n")
	if err := os.WriteFile(file, []byte(head), 0o644); err != nil {
		t.Fatal(err)
	}
	columns := []string{"--column", "at=Location", "--column", "reading=Test", "--column", "value=Result", "--column", "function=Method",
		"--column", "instrument=Meter", "--column", "leads nulled=Nulled", "--column", "who=Tester", "--column", "when=Time"}
	var out, talk bytes.Buffer
	if code := run(append([]string{"readings", file, "../../examples/bakery/readings.csv"}, columns...), &out, &talk); code != exitMet {
		t.Fatalf("readings exits %d\n%s%s", code, &out, &talk)
	}
	if m, err := open(file); err != nil || len(m.Job.Readings) != 7 {
		t.Errorf("the readings of the table: %v", err)
	}
	before, _ := os.ReadFile(file)
	for text, says := range map[string]string{"Locality,Test,Result\nCP1,Zs,0.37\n": "--column", "Circuit,Test,Result\nCP1,Zs,0.37\nCP1,Zss,0.3\n": `3: Test is "Zss"`} {
		table := filepath.Join(t.TempDir(), "t.csv")
		os.WriteFile(table, []byte(text), 0o644)
		if code := run([]string{"readings", file, table}, &out, &talk); code != exitUnusable || !strings.Contains(talk.String(), says) {
			t.Errorf("%q exits %d, and does not say %q: %s", text, code, says, &talk)
		}
		if after, _ := os.ReadFile(file); !bytes.Equal(before, after) {
			t.Error("a refused table changed the job")
		}
	}
	os.WriteFile(file, []byte(head), 0o644) // its headings are words of the trade: nothing need be named
	if code := run([]string{"readings", file, "../../examples/bakery/readings.csv"}, &out, &talk); code != exitMet {
		t.Errorf("without its columns named the table exits %d: %s", code, &talk)
	}
	if after, _ := os.ReadFile(file); !bytes.Equal(before, after) {
		t.Error("the same readings are taken otherwise where their columns are named")
	}
}

// TestPriorsCanBeEdited writes the table of causes out, gives it back, and
// wants the same answer; then one that makes every loose neutral impossible.
func TestPriorsCanBeEdited(t *testing.T) {
	dir := t.TempDir()
	table, picture := filepath.Join(dir, "causes.csv"), filepath.Join(dir, "readings.svg")
	var out, own, talk bytes.Buffer
	if code := run([]string{"explain", "--write-priors", table}, &out, &talk); code != exitMet {
		t.Fatalf("write-priors exits %d: %s", code, &talk)
	}
	job := "../../examples/bakery/loose-neutral.yaml"
	run([]string{"explain", job}, &own, &talk)
	if run([]string{"explain", job, "--priors", table, "--picture", picture}, &out, &talk); out.String() != own.String() {
		t.Errorf("with the program's own table given back:\n%s%s", &out, &talk)
	}
	if svg, err := os.ReadFile(picture); err != nil || !bytes.Contains(svg, []byte("poor connection in the neutral")) {
		t.Errorf("the picture does not say what is wrong: %v", err)
	}
	if code := run([]string{"explain", job, "--picture", picture}, &out, &talk); code != exitUnusable {
		t.Errorf("a picture over another exits %d, want %d", code, exitUnusable)
	}
	text, _ := os.ReadFile(table)
	var kept []string
	for _, line := range strings.Split(string(text), "\n") {
		if !strings.HasPrefix(line, "neutral joint,") {
			kept = append(kept, line)
		}
	}
	os.WriteFile(table, []byte(strings.Join(kept, "\n")), 0o644)
	out.Reset()
	run([]string{"explain", job, "--priors", table}, &out, &talk)
	if strings.Contains(out.String(), "poor connection in the neutral") {
		t.Errorf("a cause the table leaves out is named:\n%s", &out)
	}
}
