package paper

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"chargewright/document"
	"chargewright/finding"
)

func pack(t testing.TB, p packed) map[string][]byte {
	t.Helper()
	files, err := Pack(p.m, p.fs, p.es, nil, made)
	if err != nil {
		t.Fatal(err)
	}
	out := map[string][]byte{}
	for _, f := range files {
		if _, twice := out[f.Name]; twice {
			t.Errorf("%s: two files are called %s", p.name, f.Name)
		}
		out[f.Name] = f.Content
	}
	return out
}

func TestPackHoldsEveryPaper(t *testing.T) {
	files := pack(t, byHand(t))
	for _, name := range []string{"design-sheet.pdf", "design-sheet.csv", "design-sheet.json", "test-sheet.pdf", "test-sheet.csv", "test-sheet.json",
		"settings-card.pdf", "settings-card.json", "index.pdf", "job-summary.json", "findings.json", "expectations.json", "line.svg", "elevation-cp1.svg"} {
		if len(files[name]) == 0 {
			t.Errorf("the pack has no %s", name)
		}
	}
	for name, content := range files {
		switch {
		case strings.HasSuffix(name, ".json") && !json.Valid(content):
			t.Errorf("%s is no JSON", name)
		case strings.HasSuffix(name, ".csv"):
			if _, err := csv.NewReader(bytes.NewReader(content)).ReadAll(); err != nil {
				t.Errorf("%s: %v", name, err)
			}
		}
	}
}

func TestTheSameJobMakesTheSameBytes(t *testing.T) {
	for _, p := range []packed{byHand(t), example(t, "pool job.yaml")} {
		first, second := pack(t, p), pack(t, p)
		for name, content := range first {
			if !bytes.Equal(content, second[name]) {
				t.Errorf("%s: %s differs when it is made again", p.name, name)
			}
		}
	}
}

func TestSummaryIsOnePage(t *testing.T) {
	for _, p := range append(examples(t), byHand(t), manyCircuits(t, 200)) {
		_, docs := documents(p)
		if n := len(docs[3].Pages()); n != 1 {
			t.Errorf("%s: the job summary has %d pages", p.name, n)
		}
	}
}

// tool returns a program of the system, and says how to install it where it
// is missing.
func tool(t *testing.T, name, from string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil {
		if testing.Short() {
			t.Skipf("%s is not installed", name)
		}
		t.Fatalf("%s is not installed: apt-get install %s (or go test -short)", name, from)
	}
	return path
}

func run(t *testing.T, name string, args ...string) string {
	t.Helper()
	out, err := exec.Command(name, args...).CombinedOutput()
	if err != nil {
		t.Errorf("%s %s: %v\n%s", filepath.Base(name), strings.Join(args, " "), err, out)
	}
	return string(out)
}

// TestPDFsHoldAgainstOtherPrograms: qpdf finds no fault in any PDF, and
// poppler reads back every clause, the signs of the trade, and the last page's
// number.
func TestPDFsHoldAgainstOtherPrograms(t *testing.T) {
	qpdf, pdftotext, pdffonts, pdfinfo := tool(t, "qpdf", "qpdf"), tool(t, "pdftotext", "poppler-utils"), tool(t, "pdffonts", "poppler-utils"), tool(t, "pdfinfo", "poppler-utils")
	dir := t.TempDir()
	for _, p := range []packed{example(t, "bakery complete.yaml"), byHand(t), strained(t)} {
		names, docs := documents(p)
		files := pack(t, p)
		for i, name := range names {
			if name == "certificate" {
				name = "certificate-draft"
			}
			if files[name+".pdf"] == nil {
				continue // minor works, where the job is none
			}
			file := filepath.Join(dir, name+".pdf")
			if err := os.WriteFile(file, files[name+".pdf"], 0o644); err != nil {
				t.Fatal(err)
			}
			if out := run(t, qpdf, "--check", file); strings.Contains(out, "WARNING") {
				t.Errorf("%s, %s: %s", p.name, name, out)
			}
			text := run(t, pdftotext, "-layout", file, "-")
			pages := len(docs[i].Pages())
			for _, want := range []string{docs[i].Title, orElse(docs[i].Mark, document.Draft), fmt.Sprintf("page %d of %d", pages, pages)} {
				if !strings.Contains(text, want) {
					t.Errorf("%s, %s: the text has no %q", p.name, name, want)
				}
			}
			if p.m.Job.Invented && !strings.Contains(text, "invented") {
				t.Errorf("%s, %s: the text does not say that the job is invented", p.name, name)
			}
			for _, line := range strings.Split(strings.TrimSpace(run(t, pdffonts, file)), "\n")[2:] {
				if f := strings.Fields(line); len(f) < 6 || f[len(f)-5] != "yes" || f[len(f)-3] != "yes" { // emb, sub, uni, object, generation
					t.Errorf("%s, %s: a font is not embedded with its characters: %s", p.name, name, line)
				}
			}
			if info := run(t, pdfinfo, file); !strings.Contains(info, "Title:") || !strings.Contains(info, fmt.Sprintf("Pages:           %d\n", pages)) {
				t.Errorf("%s, %s: %s", p.name, name, info)
			}
		}
		text := run(t, pdftotext, "-raw", filepath.Join(dir, "design-sheet.pdf"), "-")
		flat := strings.Join(strings.Fields(text), " ")
		for _, f := range p.fs {
			if clause := strings.Join(strings.Fields(f.Clause.Name), " "); !strings.Contains(flat, clause) {
				t.Errorf("%s: the design sheet does not print clause %q", p.name, clause)
			}
		}
		for _, sign := range []string{"Ω", "²", "≤", "√"} {
			if p.name == "by hand" && !strings.Contains(text, sign) {
				t.Errorf("%s: the design sheet's text has no %s", p.name, sign)
			}
		}
	}
}

func TestTwoHundredCircuitsArePrinted(t *testing.T) {
	p := manyCircuits(t, 200)
	d := designSheet(p.m, p.fs, made)
	printed := map[string]bool{}
	for i, page := range d.Pages() {
		for _, text := range page.Scene.Texts() {
			printed[text.Text] = true
			if strings.HasPrefix(text.Text, "page ") && !strings.HasPrefix(text.Text, fmt.Sprintf("page %d of ", i+1)) {
				t.Errorf("page %d says %q", i+1, text.Text)
			}
		}
	}
	for i := range 200 {
		if leg := fmt.Sprintf("row %d, leg 1", i+1); !printed[leg] {
			t.Errorf("%q is not printed", leg)
		}
	}
}

// TestFindingsKeepTheirPublishedShape: other programs read these names.
func TestFindingsKeepTheirPublishedShape(t *testing.T) {
	files := pack(t, byHand(t))
	var findings struct {
		Job, Edition string
		Findings     []map[string]any
	}
	if err := json.Unmarshal(files["findings.json"], &findings); err != nil {
		t.Fatal(err)
	}
	want := []string{"clause", "limit", "margin", "next", "path", "source", "subject", "unit", "value", "verdict", "what", "why"}
	if got := keysOf(findings.Findings[0]); !slices.Equal(got, want) {
		t.Errorf("fields of a finding = %q, want %q", got, want)
	}
	if f := findings.Findings[3]; f["verdict"] != finding.Fails.String() || f["value"] != 32.0 || f["margin"] != -5.0 || f["unit"] != "A" {
		t.Errorf("finding = %v", f)
	}
	if f := findings.Findings[5]; f["value"] != nil || f["limit"] != nil {
		t.Errorf("a finding without value or limit has %v and %v", f["value"], f["limit"])
	}
	var expectations struct {
		Job          string
		Expectations []map[string]any
	}
	if err := json.Unmarshal(files["expectations.json"], &expectations); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"reading", "at", "low", "mid", "high", "unit", "limit", "parts"} {
		if _, ok := expectations.Expectations[0][name]; !ok {
			t.Errorf("an expectation has no %q", name)
		}
	}
	if e := expectations.Expectations[1]; e["mid"] != nil || e["low"] != 100e6 || e["unit"] != "Ω" {
		t.Errorf("expectation = %v", e)
	}
}

func keysOf(m map[string]any) []string {
	var keys []string
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}

func BenchmarkPack(b *testing.B) {
	p := example(b, "bakery job.yaml")
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Pack(p.m, p.fs, p.es, nil, made); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkPackTwelvePoints(b *testing.B) {
	p := example(b, "pool job.yaml")
	for b.Loop() {
		if _, err := Pack(p.m, p.fs, p.es, nil, made); err != nil {
			b.Fatal(err)
		}
	}
}

// TestSettingsNameTheirSources: a clause or limit that the rulebook no longer
// has under its key would print as "no source", or leave the setting out.
func TestSettingsNameTheirSources(t *testing.T) {
	p := example(t, "bakery job.yaml")
	for _, of := range settings(p.m, p.fs) {
		for _, s := range of.Settings {
			if s.Source.String() == "no source" || !s.Known {
				t.Errorf("%s is set to %q, source %q", s.What, s.To, s.Source)
			}
		}
	}
}

func save(t testing.TB, name string, content []byte) {
	t.Helper()
	if err := os.WriteFile(name, content, 0o644); err != nil {
		t.Fatal(err)
	}
}

func content(files []document.File, name string) []byte {
	for _, f := range files {
		if f.Name == name {
			return f.Content
		}
	}
	return nil
}

// TestOnlyWhatIsAskedFor: one paper by name, and a wrong name said.
func TestOnlyWhatIsAskedFor(t *testing.T) {
	p, photos := photographed(t, "board.jpg")
	for _, name := range Names() {
		files, err := Pack(p.m, p.fs, p.es, photos, made, name)
		if err != nil || len(files) == 0 || len(files) > 20 {
			t.Errorf("only %s: %d files, %v", name, len(files), err)
		}
	}
	if _, err := Pack(p.m, p.fs, p.es, nil, made, "diary"); err == nil {
		t.Error("a paper that does not exist is made")
	}
}
