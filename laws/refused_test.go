package laws

import (
	"encoding/csv"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"chargewright/design"
	"chargewright/examples"
	"chargewright/finding"
	"chargewright/job"
	"chargewright/model"
	"chargewright/prove"
	"chargewright/standard"
)

// complete are jobs that nobody would refuse, made of the finished examples: what
// is changed in each, several changes told apart by a bar.
var complete = map[string]struct{ file, from, to string }{
	"terrace":      {"terrace/complete.yaml", "", ""},
	"bakery":       {"bakery/complete.yaml", "", ""},
	"pool":         {"pool/complete.yaml", "", ""},
	"terrace TN-S": {"terrace/complete.yaml", "earthing: TN-C-S", "earthing: TN-S"},
	"terrace TT": {"terrace/complete.yaml", "earthing: TN-C-S|Ze: {value: 0.24 Ω|reading: Ze, value: 0.24 Ω|reading: Zs, value: 0.31 Ω",
		"earthing: TT|Ze: {value: 60 Ω|reading: Ze, value: 60 Ω|reading: Zs, value: 60.1 Ω"},
	"bakery TN-S": {"bakery/complete.yaml", "earthing: TN-C-S", "earthing: TN-S"},
	"bakery three boards": {"bakery/complete.yaml", "\nloads:\n|  - name: van point\n    from: yard board|  - {at: CP1, reading: Zs", `
  - name: shed board
    place: shed behind the yard
    phases: 3
    ways: 12
    ways free: 9
    rated current: 64 A
    short-circuit rating: 6 kA
    rated diversity factor: 0.9
loads:
|  - name: shed sub-main
    from: yard board
    way: 6
    to: shed board
    phases: L1 L2 L3
    existing: yes
    device: {type: BS 88-2 gG, rating: 40 A, breaking capacity: 80 kA, poles: lines only}
    cable: {construction: armoured, insulation: 90 °C thermosetting, material: copper, csa: 25 mm², neutral csa: 25 mm², cores: 4, cpc: armour}
    terminals rated: 70 °C
    legs:
      - {name: along the wall, length: 12 m, length known by: measured, method: C, ambient: 30 °C, circuits together: 1, in insulation: 0 m}

  - name: van point
    from: shed board|  - {at: shed board, reading: Zs, value: 0.30 Ω, function: no-trip, instrument: tester 1, who: A. Spark, when: 2026-11-23 10:20}
  - {at: CP1, reading: Zs`},
}

const refusedFile = "testdata/refused.csv"

// TestWhatAnElectricianRefusesIsNeverSilent changes one line of a finished job to
// what a working electrician would not energise, and asks that something is said.
func TestWhatAnElectricianRefusesIsNeverSilent(t *testing.T) {
	f, err := os.Open(refusedFile)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil || len(rows) < 2 {
		t.Fatalf("%s: %v", refusedFile, err)
	}
	before := map[string]map[asked]finding.Verdict{}
	for name, c := range complete {
		found, says := looked(t, changedText(t, name, c.file, c.from, c.to))
		if says != "" {
			t.Fatalf("%s: %s", name, says)
		}
		for _, f := range found {
			if f.Verdict == finding.Fails || f.Verdict == finding.NotKnown {
				t.Errorf("%s is not complete: %s of %s: %v", name, f.Key, f.Subject, f.Why)
			}
		}
		before[name] = worst(found)
	}
	for _, row := range rows[1:] {
		name, from, to, why, wants := row[0], row[1], row[2], row[3], row[4]
		c := complete[name]
		text := changedText(t, name, c.file, c.from, c.to)
		found, says := looked(t, replaced(t, name, text, from, to))
		if says != "" {
			if wants != "the reader" {
				t.Errorf("%s: %q: %s: the reader says %s", name, to, why, says)
			}
			continue
		}
		var said []string
		for at, is := range worst(found) {
			was, asked := before[name][at]
			if is != finding.Meets && (!asked || was == finding.Meets || is != was && was != finding.Fails) {
				said = append(said, at.key)
			}
		}
		slices.Sort(said)
		said = slices.Compact(said)
		if !slices.Contains(said, wants) {
			t.Errorf("%s: %q: %s: said by %q, want %q", name, to, why, said, wants)
		}
	}
}

// looked judges a job as it is written.
func looked(t *testing.T, text string) ([]finding.Finding, string) {
	t.Helper()
	j, err := job.Read("job", []byte(text))
	if problems, _ := err.(job.Problems); err != nil {
		for _, p := range problems {
			if !p.Unfinished() {
				return nil, fmt.Sprint(p)
			}
		}
	}
	rules, err := standard.Open(j.Edition)
	if err != nil {
		t.Fatal(err)
	}
	m := model.New(j, rules)
	amiss, err := prove.Amiss(m)
	if err != nil {
		t.Fatal(err)
	}
	return append(design.Check(m), amiss...), ""
}

func changedText(t *testing.T, name, file, from, to string) string {
	t.Helper()
	text, err := examples.Files.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	return replaced(t, name, string(text), from, to)
}

// replaced changes what stands first in a text; several changes are told apart by a bar.
func replaced(t *testing.T, name, text, from, to string) string {
	t.Helper()
	if from == "" {
		return text
	}
	into := strings.Split(to, "|")
	for i, f := range strings.Split(from, "|") {
		if !strings.Contains(text, f) {
			t.Errorf("%s does not say %q", name, f)
		}
		text = strings.Replace(text, f, into[i], 1)
	}
	return text
}
