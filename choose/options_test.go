package choose

import (
	"strings"
	"testing"
)

// TestOptions sets the pool's options side by side.
func TestOptions(t *testing.T) {
	j, rules, c := openJob(t, "pool/open.yaml")
	all := Options(j, rules, c, Aim{Purpose: FirstCost})
	byName := map[string]Option{}
	for _, o := range all {
		byName[o.Name] = o
	}
	drawn := byName["as drawn"]
	if !drawn.Known || drawn.Against != 0 {
		t.Fatalf("as drawn: %+v", drawn)
	}
	if o := byName["limit of 100 A"]; !o.Known || o.Cost >= drawn.Cost || !strings.Contains(o.Leaves, "14.3 A") { // 32 × 100/224
		t.Errorf("half the limit: %+v, want less cost and 14.3 A a point", o)
	}
	if o := byName["earthing: open-PEN device, measures to earth electrode"]; !o.Known || o.Against <= 0 {
		t.Errorf("the measure that was not chosen costs %+.0f against the one that was, want more", o.Against)
	}
	if o := byName["board bay pillar at plant room board: no board of its own"]; o.Known || !strings.Contains(o.Leaves, "12 circuits") {
		t.Errorf("without the pillar: %+v, want no design, for 12 circuits together are not tabulated", o)
	}
}

// TestBoardAtAJoint: with two points far off, a board where their route parts is
// cheaper or dearer by what the search finds, and the route's length is kept.
func TestBoardAtAJoint(t *testing.T) {
	text := strings.Replace(oneCircuit(3, `to: A, phases: L1, legs: [{name: yard, length: 60 m, method: D duct, ambient: 15 °C, circuits together: 2, arrangement: ducts touching, depth: 0.7 m, soil: 2.5 K·m/W}, {name: post A, length: 5 m, method: C, ambient: 30 °C, circuits together: 1, in insulation: 0 m}]}
  - {name: d, from: main, to: B, phases: L2, legs: [{name: yard, length: 60 m, method: D duct, ambient: 15 °C, circuits together: 2, arrangement: ducts touching, depth: 0.7 m, soil: 2.5 K·m/W}, {name: post B, length: 9 m, method: C, ambient: 30 °C, circuits together: 1, in insulation: 0 m}]`,
		`points:
  - {name: A, power: 7.4 kW, phases: 1, outdoors: no, 6 mA d.c. detection: yes, standing leakage: 3.5 mA, greatest upstream device: 40 A}
  - {name: B, power: 7.4 kW, phases: 1, outdoors: no, 6 mA d.c. detection: yes, standing leakage: 3.5 mA, greatest upstream device: 40 A}`), "Ze: {value: 0.1 Ω", "Ze: {value: 0.15 Ω", 1)
	j, rules, c := parse(t, "yard.yaml", []byte(text))
	for _, o := range Options(j, rules, c, Aim{Purpose: FirstCost}) {
		if o.Name == "a board of its own at the end of yard" {
			if !o.Known || o.Against == 0 {
				t.Errorf("%+v, want a design with a cost of its own", o)
			}
			return
		}
	}
	t.Error("two circuits share 60 m of yard, and no board at its end is tried")
}

// TestOptionsOfAFinishedJob: a job that leaves nothing open is a design.
func TestOptionsOfAFinishedJob(t *testing.T) {
	for name, known := range map[string]bool{"pool/job.yaml": true, "terrace/job.yaml": true, "bakery/faulty.yaml": false} {
		j, rules, c := openJob(t, name)
		if drawn := Options(j, rules, c, Aim{Purpose: FirstCost})[0]; drawn.Known != known {
			t.Errorf("%s as drawn: %+v, want known %v", name, drawn, known)
		}
	}
}
