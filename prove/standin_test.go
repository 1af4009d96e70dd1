package prove

import (
	"slices"
	"strings"
	"testing"

	"chargewright/job"
	"chargewright/quantity"
	"chargewright/reading"
	"chargewright/works"
)

// TestReadingAlone: a single reading that cannot be right, typed into an empty
// job, gets an answer: what may be the matter and what to read next. Whichever
// names of causes come first are the trade's (common practice, no source).
func TestReadingAlone(t *testing.T) {
	for _, tt := range []struct {
		at, reading, value string
		among              []string // one of them is the first cause that is no slip
	}{
		{"CP1", "R1+R2", "open", []string{"cpc broken", "line broken", "contactor", "earth contact"}},
		{"CP1", "R1+Rn", "open", []string{"neutral broken", "line broken", "contactor", "neutral earth exchanged"}},
		{"CP1", "R1+R2", "-0.30 Ω", []string{"wrong null"}},
		{"CP1", "insulation live to earth", "0.02 MΩ", []string{"damage", "moisture"}},
		{"CP1", "insulation between live", "0.001 MΩ", []string{"damage between live", "load left"}},
		{"CP1", "polarity", "not correct", []string{"reversed at point", "neutral earth exchanged"}},
		{"CP1", "Zs", "90 Ω", []string{"no supply earth", "cpc joint", "cpc broken"}},
		{"CP1", "RCD time at IΔn", "no trip", []string{"RCD dead", "RCD slow", "blinded", "neutral to earth", "contactor"}},
		{"CP1", "RCD test button", "does not work", []string{"button dead", "RCD dead"}},
		{"CP1", "6 mA d.c.", "no trip", []string{"direct dead", "direct late", "contactor"}},
		{"CP1", "pilot voltage in state B", "12 V", []string{"pilot open"}},
		{"CP1", "pilot voltage in state B", "0 V", []string{"pilot short"}},
		{"supply", "Ze", "21 Ω", []string{"no supply earth", "earth terminal", "pen"}},
		{"supply", "voltage line to neutral", "262 V", []string{"tap high", "pen", "service neutral"}},
		{"supply", "voltage line to earth", "2 V", []string{"reversed supply"}},
	} {
		m := modelOf(t, &job.Job{Readings: []works.Reading{{At: tt.at, Reading: tt.reading, Value: tt.value}}})
		e, err := Explain(m, UsualPriors())
		if err != nil {
			t.Fatal(err)
		}
		var keys []string
		first := ""
		for _, c := range e.Causes {
			keys = append(keys, c.Key)
			if first == "" && c.Key != "slip" && c.Key != None {
				first = c.Key
			}
		}
		if !slices.Contains(tt.among, first) || e.NextTest == nil {
			t.Errorf("%s %s at %s: first %q of %s, next %v; want one of %v", tt.reading, tt.value, tt.at, first, strings.Join(keys, ", "), e.NextTest, tt.among)
		}
	}
}

// TestWithoutLengths: where the record has no length, readings still speak to
// each other: a neutral that is poor beside a line and a cpc that are not.
func TestWithoutLengths(t *testing.T) {
	j := oneCircuit(flat(6), 25, 0.2, func(j *job.Job) {
		j.Readings = []works.Reading{take("CP1", "R1+R2", "0.33 Ω", ""), take("CP1", "R2", "0.21 Ω", ""), take("CP1", "R1+Rn", "0.74 Ω", ""),
			take("supply", "Ze", "0.20 Ω", "high current"), take("CP1", "Zs", "0.52 Ω", "high current")}
	})
	j.Circuits[0].Legs[0].Length = quantity.Maybe[quantity.Metres]{}
	e, err := Explain(modelOf(t, j), UsualPriors())
	if err != nil {
		t.Fatal(err)
	}
	if e.Causes[0].Key != "neutral joint" || e.Causes[0].Probability < 0.5 {
		t.Errorf("%s at %.2f first, want the poor neutral", e.Causes[0].Key, e.Causes[0].Probability)
	}
	if reading.Of(e.Readings[0].Reading) == nil || e.Readings[0].NotCompared == "" {
		t.Error("a reading of a run that stands in is said to have been expected")
	}
}
