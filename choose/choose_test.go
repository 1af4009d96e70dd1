package choose

import (
	"os"
	"reflect"
	"strings"
	"testing"
	"testing/fstest"

	"chargewright/design"
	"chargewright/finding"
	"chargewright/job"
	"chargewright/model"
	"chargewright/standard"
)

// openJob reads a job file of the examples.
func openJob(t testing.TB, name string) (*job.Job, *standard.Rulebook, *Catalogue) {
	t.Helper()
	text, err := os.ReadFile("../examples/" + name)
	if err != nil {
		t.Fatal(err)
	}
	return parse(t, name, text)
}

func parse(t testing.TB, name string, text []byte) (*job.Job, *standard.Rulebook, *Catalogue) {
	t.Helper()
	j, err := job.Read(name, text)
	if err != nil {
		t.Fatal(err)
	}
	rules, err := standard.Open(j.Edition)
	if err != nil {
		t.Fatal(err)
	}
	c, err := BuiltIn()
	if err != nil {
		t.Fatal(err)
	}
	return j, rules, c
}

// TestSettingsSayTheSame writes the settings into the job file and holds what
// is read back to what the search held to the rules.
func TestSettingsSayTheSame(t *testing.T) {
	for _, name := range []string{"pool/open.yaml", "bakery/open.yaml", "terrace/open.yaml"} {
		for _, purpose := range []Purpose{FirstCost, Materials} {
			t.Run(name+", "+string(purpose), func(t *testing.T) {
				if testing.Short() && name == "pool/open.yaml" && purpose == Materials {
					t.Skip("twelve points against every set of materials")
				}
				text, err := os.ReadFile("../examples/" + name)
				if err != nil {
					t.Fatal(err)
				}
				j, rules, c := parse(t, name, text)
				untouched, _, _ := parse(t, name, text)
				o := Choose(j, rules, c, Aim{Purpose: purpose})
				if !reflect.DeepEqual(j, untouched) {
					t.Error("Choose changed the job it was given")
				}
				if len(o.Lacks) > 0 || len(o.Settings) == 0 || !o.Proof.Complete {
					t.Fatalf("not known %v, %d settings, proof %+v", o.Lacks, len(o.Settings), o.Proof)
				}
				file, err := job.ReadRecord(name, text)
				if err != nil {
					t.Fatal(err)
				}
				for _, s := range o.Settings {
					if err := file.Set(s.Path, s.Value); err != nil {
						t.Fatal(err)
					}
				}
				written, err := file.Job()
				if err != nil {
					t.Fatal(err)
				}
				if !reflect.DeepEqual(written, o.Job) {
					t.Errorf("what was written reads as another job:\n%+v\nwant\n%+v", written, o.Job)
				}
				m := model.New(written, rules)
				for _, f := range design.Check(m) {
					if f.Verdict == finding.Fails || f.Verdict == finding.NotKnown {
						t.Errorf("%s: %s %s: %v", f.Subject, f.What, f.Verdict, f.Why)
					}
				}
				if again := Choose(written, rules, c, Aim{Purpose: purpose}); len(again.Settings) > 0 {
					t.Errorf("choosing again finds %d things open: %v", len(again.Settings), again.Settings[0])
				}
			})
		}
	}
}

// TestSameAnswerTwice: a search that depended on chance could not be defended.
func TestSameAnswerTwice(t *testing.T) {
	j, rules, c := openJob(t, "pool/open.yaml")
	a := Choose(j, rules, c, Aim{Purpose: FirstCost})
	for range 5 {
		if b := Choose(j, rules, c, Aim{Purpose: FirstCost}); !reflect.DeepEqual(a.Settings, b.Settings) {
			t.Fatal("two searches of one job give different settings")
		}
	}
}

// TestUnknownStaysUnknown: a fact of the site that is missing is named, and
// what rests on it is not chosen.
func TestUnknownStaysUnknown(t *testing.T) {
	text, err := os.ReadFile("../examples/pool/open.yaml")
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct{ from, to, want string }{
		{"bay duct, length: 8 m, ", "bay duct, ", "circuit bay 1, leg 1 (bay duct): length"},
		{"ambient: 35 °C, ", "", "circuit pillar feeder, leg 1 (plant room tray): temperature of the surroundings"},
		{"  Ipf: {value: 9.2 kA, known by: declared, who: C. Lido, when: 2026-11-12}\n", "", "supply: Ipf"},
		{"    greatest upstream device: 40 A\n", "", "point CP1: greatest upstream device its maker allows"},
	} {
		if !strings.Contains(string(text), tt.from) {
			t.Fatalf("the example has no %q", tt.from)
		}
		j, rules, c := parse(t, "pool", []byte(strings.Replace(string(text), tt.from, tt.to, 1)))
		o := Choose(j, rules, c, Aim{Purpose: FirstCost})
		found := false
		for _, g := range o.Lacks {
			found = found || g.String() == tt.want
		}
		if !found || len(o.Circuits) > 0 {
			t.Errorf("without %q: not known %v and %d circuits chosen, want %q and none", tt.from, o.Lacks, len(o.Circuits), tt.want)
		}
	}
}

// TestCatalogueLineErrors: every wrong row is named with its line, all at once.
func TestCatalogueLineErrors(t *testing.T) {
	own := fstest.MapFS{"boards.csv": {Data: []byte("# mine\nphases,ways,rated_a,capacity_a,diversity,price,hours\n2,12,100,6000,0.8,50,1\n1,12,100,6000,0.8,cheap,1\n1,12\n")},
		"surge.csv": {Data: []byte("type,phases\n")}}
	_, err := WithOwn(own)
	if err == nil {
		t.Fatal("a wrong catalogue is accepted")
	}
	for _, want := range []string{`boards.csv:3: phases: "2": 1 or 3 is wanted`, `boards.csv:4: price: "cheap": a figure of zero or more is wanted`,
		"boards.csv:5: it has 2 fields and the head has 7", "surge.csv:1: the first row must be type,phases,connection"} {
		if !strings.Contains(err.Error(), want) {
			t.Errorf("error %q does not say %q", err, want)
		}
	}
}

// TestFewestIsFewer: fewer materials are never cheaper than the least cost, and
// never more of them.
func TestFewestIsFewer(t *testing.T) {
	j, rules, c := openJob(t, "pool/open.yaml")
	cheap, few := Choose(j, rules, c, Aim{Purpose: FirstCost}), Choose(j, rules, c, Aim{Purpose: Materials})
	if few.Different > cheap.Different || few.Cost < cheap.Cost-1e-9 || !few.Proof.Complete {
		t.Errorf("fewest: %d materials for %.2f (proven %v); least cost: %d for %.2f", few.Different, few.Cost, few.Proof.Complete, cheap.Different, cheap.Cost)
	}
}

// TestBoardBehindBoard chooses a feeder, a second feeder behind it and a point
// behind that: the drop of all three is spent together.
func TestBoardBehindBoard(t *testing.T) {
	text := strings.Replace(oneCircuit(3, `to: near, phases: L1 L2 L3, legs: [{name: a, length: 40 m, method: E, ambient: 30 °C, circuits together: 1, in insulation: 0 m}]}
  - {name: d, from: near, to: far, phases: L1 L2 L3, legs: [{name: b, length: 35 m, method: E, ambient: 30 °C, circuits together: 1, in insulation: 0 m}]}
  - {name: e, from: far, to: CP1, phases: L1, legs: [{name: f, length: 60 m, method: C, ambient: 30 °C, circuits together: 1, in insulation: 0 m}]`,
		"points: [{name: CP1, power: 7.4 kW, phases: 1, outdoors: no, 6 mA d.c. detection: yes, standing leakage: 3.5 mA, greatest upstream device: 40 A}]"),
		"boards:\n", "boards:\n  - {name: near, phases: 3, all loads entered: yes}\n  - {name: far, phases: 3}\n", 1)
	j, rules, c := parse(t, "nested.yaml", []byte(text))
	o := Choose(j, rules, c, Aim{Purpose: FirstCost})
	if len(o.Circuits) != 3 || !o.Proof.Complete || len(o.Lacks) > 0 {
		t.Fatalf("%d circuits, proof %+v, not known %v", len(o.Circuits), o.Proof, o.Lacks)
	}
	for _, f := range o.Findings {
		if ofCircuit[f.Key] && f.Verdict != finding.Meets {
			t.Errorf("%s, %s: %s", f.Subject, f.What, f.Verdict)
		}
	}
	// The feeders' flips end where the point's drop does.
	if then := o.Circuits[0].Flips[0].Then; !strings.Contains(then, " at ") {
		t.Errorf("the first feeder may be longer until %q, want a rule at what it feeds", then)
	}
}
