package prove

import (
	"strings"
	"testing"

	"chargewright/works"
)

func TestAdmit(t *testing.T) {
	m := modelOf(t, example(t, "bakery/job.yaml"))
	for _, tt := range []struct {
		at, reading, value string
		name, written      string // as it is written down; empty where it is refused
		says               string
	}{
		{"CP1", "r1+r2", "0.13", "R1+R2", "0.13 Ω", ""},
		{"CP1", "R1 + R2", "130 mΩ", "R1+R2", "130 mΩ", ""},
		{"CP1", "ir", "> 200", "insulation live to earth", "> 200 MΩ", ""},
		{"CP1", "rcd time", "24", "RCD time at IΔn", "24 ms", ""},
		{"CP1", "rcd time", "no trip", "RCD time at IΔn", "no trip", ""},
		{"main board", "pfc", "2.6", "Ipf", "2.6 kA", ""},
		{"van point", "R1+R2", "open", "R1+R2", "open", ""},
		{"yard board", "Zs", "0.3", "Zs", "0.3 Ω", ""},
		{"CP1", "polarity", "Correct", "polarity", "Correct", ""},
		{"CP1", "Zss", "0.3", "", "", "the nearest is Zs"},
		{"CP1", "pilot voltage in state D", "3 V", "", "", "the nearest is pilot voltage in state"},
		{"yard bored", "Zs", "0.3", "", "", "the nearest is yard board"},
		{"supply", "R1+R2", "0.3", "", "", "not read at supply"},
		{"main board", "RCD ramp", "22", "", "", "name a point"},
		{"CP1", "Zs", "0.3 A", "", "", "a resistance in ohms is wanted"},
		{"CP1", "Zs", "-0.3", "", "", "below zero"},
		{"CP1", "pilot voltage in state B", "900 V", "", "", "more than any such instrument shows"},
	} {
		r, err := Admit(m, works.Reading{At: tt.at, Reading: tt.reading, Value: tt.value})
		switch {
		case tt.name == "" && (err == nil || !strings.Contains(err.Error(), tt.says)):
			t.Errorf("Admit(%s, %s, %s) says %v, want %q in it", tt.at, tt.reading, tt.value, err, tt.says)
		case tt.name != "" && (err != nil || r.Reading != tt.name || r.Value != tt.written):
			t.Errorf("Admit(%s, %s, %s) = %s, %s, %v, want %s, %s", tt.at, tt.reading, tt.value, r.Reading, r.Value, err, tt.name, tt.written)
		}
	}
}

func TestReadPriors(t *testing.T) {
	if n := len(UsualPriors().causes); n < 40 {
		t.Errorf("%d causes", n)
	}
	head := causeColumns + "\n"
	for _, tt := range []struct{ text, says string }{
		{"key\n", "first row must be"},
		{head + "gremlins,fault,x,F01,circuit,0.1,1,1,,,,,judgement\n", "no cause is called"},
		{head + "leads,instrument,x,F06,instrument,2,1,1,,,,,judgement\n", "below 1"},
		{head + "leads,instrument,x,F06,instrument,-1,1,1,,,,,judgement\n", "above zero"},
		{head + "leads,instrument,x,F06,instrument,0.1,1,1,,,,,\n", "causes.csv:2: source: where the row is from"},
		{head + "leads,instrument,x,F06,instrument,0.1,1,1,,,,,judgement\nleads,instrument,x,F06,instrument,0.1,1,1,,,,,judgement\n", "twice"},
	} {
		if _, err := ReadPriors(tt.text); err == nil || !strings.Contains(err.Error(), tt.says) {
			t.Errorf("ReadPriors(%q) says %v, want %q in it", tt.text, err, tt.says)
		}
	}
	// A user's own rates are used: without a loose neutral there can be none. That
	// it is something on no list is always an answer.
	only, err := ReadPriors(head + "longer,fault,the run is longer than recorded,F10,circuit,0.1,1.1,3,times,,designer,measure it,judgement\n")
	if err != nil {
		t.Fatal(err)
	}
	e, err := Explain(modelOf(t, example(t, "bakery/loose-neutral.yaml")), only)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range e.Causes {
		if c.Key != "" && c.Key != None && c.Key != "longer" {
			t.Errorf("%s, which the table leaves out", c.Key)
		}
	}
}
