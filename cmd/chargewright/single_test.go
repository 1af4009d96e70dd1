package main

import (
	"bytes"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"chargewright/reading"
)

var update = flag.Bool("update", false, "rewrite the recorded answers")

// singles is one reading of each kind as somebody types it, who has typed
// nothing else: where, and what was shown.
var singles = map[string][2]string{
	"R1+R2": {"CP1", "2.9"}, "R2": {"CP1", "open"}, "R1+Rn": {"CP1", "3.4"}, "earthing conductor": {"supply", "0.9"},
	"continuity": {"earthing conductor", "0.9"}, "leads together": {"supply", "0.25"},
	"insulation live to earth": {"CP1", "0.3"}, "insulation between live": {"CP1", "0.02"}, "insulation line to earth": {"CP1", "0.3"},
	"insulation neutral to earth": {"CP1", "0.3"}, "polarity": {"CP1", "not correct"}, "RA": {"rod", "1900"},
	"voltage line to neutral": {"supply", "187"}, "voltage line to earth": {"supply", "110"}, "voltage neutral to earth": {"supply", "120"},
	"voltage earth to remote spike": {"supply", "60"}, "phase sequence": {"supply", "L1 L3 L2"}, "Ze": {"supply", "21"}, "line-neutral loop": {"supply", "1.9"},
	"Zs": {"CP1", "9"}, "Ipf": {"supply", "0.2"}, "voltage fall under load": {"CP1", "14"}, "RCD time at IΔn": {"CP1", "did not trip"},
	"RCD time at 5 IΔn": {"CP1", "190"}, "RCD at half IΔn": {"CP1", "trips"}, "RCD ramp": {"CP1", "8"}, "6 mA d.c.": {"CP1", "no trip"},
	"protective conductor current": {"CP1", "14"}, "RCD test button": {"CP1", "does not work"}, "SPD indicator": {"board", "spent"},
	"pilot voltage in state A": {"CP1", "9"}, "pilot voltage in state B": {"CP1", "12"}, "pilot voltage in state C": {"CP1", "9"},
	"pilot negative peak": {"CP1", "-6"}, "pilot duty": {"CP1", "90"}, "clamp step": {"supply", "-10"},
}

// TestASingleReading: a reading that is far from right, in a job that holds
// nothing else, has an answer: a verdict, what it may come from, or what must be
// known to hold it to something. What is printed stands in testdata/single.txt.
func TestASingleReading(t *testing.T) {
	dir := t.TempDir()
	var all strings.Builder
	for _, name := range reading.Names() {
		one, there := singles[name]
		if !there {
			t.Errorf("%s is not tried", name)
			continue
		}
		text := fmt.Sprintf("job: nothing yet\ninvented: yes\nsupply:\n  earthing conductor: {csa: 16 mm²}\nelectrodes:\n  - {name: rod}\nboards:\n  - {name: board, fed from: supply}\n"+
			"circuits:\n  - {name: point circuit, from: board, to: CP1}\npoints:\n  - {name: CP1}\nreadings:\n  - {at: %s, reading: %s, value: %q}\n", one[0], name, one[1])
		file := filepath.Join(dir, "job.yaml")
		if err := os.WriteFile(file, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		var out, talk bytes.Buffer
		code := run([]string{"explain", file}, &out, &talk)
		fmt.Fprintf(&all, "== %s at %s: %s, exit %d\n%s%s\n", name, one[0], one[1], code, &out, &talk)
		if code == exitUnusable || talk.Len() > 0 {
			t.Errorf("%s alone cannot be explained: %s", name, &talk)
		}
		said := out.String()
		if !strings.Contains(said, name) || !strings.Contains(said, "what explains them") && !strings.Contains(said, "not compared") && !strings.Contains(said, "next:") {
			t.Errorf("%s alone has no answer:\n%s", name, said)
		}
	}
	const golden = "testdata/single.txt"
	got := strings.ReplaceAll(all.String(), dir, "")
	if *update {
		os.MkdirAll("testdata", 0o755)
		if err := os.WriteFile(golden, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(golden)
	if err != nil || string(want) != got {
		t.Errorf("%s is not what is printed (%v): read the difference, then record it with -update", golden, err)
	}
}
