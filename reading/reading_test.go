package reading

import (
	"encoding/csv"
	"math"
	"strings"
	"testing"

	"chargewright/finding"
	"chargewright/quantity"
)

// TestTables walks both tables: every row has a source, every name is of one
// reading only, and what a way is called reads as that way.
func TestTables(t *testing.T) {
	for _, text := range []string{kindTable, wayTable} {
		in := csv.NewReader(strings.NewReader(text))
		in.Comment = '#'
		all, err := in.ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		for _, row := range all[1:] {
			if row[len(row)-1] == "" {
				t.Errorf("%s has no source", row[0])
			}
		}
	}
	names := map[string]string{}
	for _, k := range Kinds() {
		for _, name := range append([]string{k.Name}, k.Also...) {
			if other, twice := names[Plain(name)]; twice {
				t.Errorf("%s is called %q, and so is %s", k.Name, name, other)
			}
			names[Plain(name)] = k.Name
			if Of(name) != k {
				t.Errorf("Of(%q) is not %s", name, k.Name)
			}
		}
		if (k.Measure == nil) != k.Seen() {
			t.Errorf("%s has a number and words, or neither", k.Name)
		}
		if !k.Seen() {
			if v, err := k.Parse("1"); err != nil || k.Written("1") != "1 "+k.Bare {
				t.Errorf("%s of a bare 1 is %v, %v, written %q", k.Name, v, err, k.Written("1"))
			}
		}
		for _, word := range k.WayWords() {
			if w, err := k.Ways(word); err != nil || len(w.Words) != 1 || w.Words[0] != word {
				t.Errorf("%s taken %q reads as %v, %v", k.Name, word, w, err)
			}
		}
	}
}

func TestParse(t *testing.T) {
	for _, tt := range []struct {
		kind, text string
		is         Is
		amount     float64
		says       string // of the fault; empty where it is read
	}{
		{"rcd time", "19", Number, 0.019, ""},
		{"rcd time", "0.019 s", Number, 0.019, ""},
		{"rcd time", "> 300 ms", More, 0.3, ""},
		{"rcd time", "Did not trip", NoTrip, 0, ""},
		{"rcd time", "OL", 0, 0, "write no trip"},
		{"rcd x5", "no trip", NoTrip, 0, ""},
		{"rdc-dd", "5.2", Number, 0.0052, ""},
		{"rdc-dd", "no trip", NoTrip, 0, ""},
		{"ramp", "-20 mA", 0, 0, "below zero"},
		{"pfc", "2.6", Number, 2600, ""},
		{"pfc", "-2.6", 0, 0, "below zero"},
		{"r1+r2", "open", Open, 0, ""},
		{"r1+r2", "OL", Open, 0, ""},
		{"r1+r2", "not done", NotDone, 0, ""},
		{"zs", "—", NotDone, 0, ""},
		{"zs", "LIM", NotDone, 0, ""},
		{"zs", "0.35", Number, 0.35, ""},
		{"zs", "", 0, 0, "is empty"},
		{"ir", "200", Number, 200e6, ""},
		{"ir", ">999", More, 999e6, ""},
		{"ir", ">= 999 MΩ", More, 999e6, ""},
		{"ir", "more than 500 MΩ", More, 500e6, ""},
		{"ir", "<0.01", Less, 1e4, ""},
		{"ir", "0.00 MΩ", Less, 1e4, ""},
		{"ir", "OL", Open, 0, ""},
		{"ir", "∞", Open, 0, ""},
		{"u l-n", "OL", 0, 0, "end of its range"},
		{"u l-n", "20 V", Number, 20, ""},
		{"clamp step", "-13 A", Number, -13, ""},
		{"polarity", "Reversed", Wrong, 0, ""},
		{"polarity", "OK", Right, 0, ""},
		{"polarity", "0.2", 0, 0, "correct or not correct"},
		{"rcd half", "no trip", Right, 0, ""},
		{"rcd half", "trips", Wrong, 0, ""},
	} {
		v, err := Of(tt.kind).Parse(tt.text)
		switch {
		case tt.says != "" && (err == nil || !strings.Contains(err.Error(), tt.says)):
			t.Errorf("%s %q says %v, want %q in it", tt.kind, tt.text, err, tt.says)
		case tt.says == "" && (err != nil || v.Is != tt.is || math.Abs(v.Amount-tt.amount) > 1e-9*math.Abs(tt.amount)):
			t.Errorf("%s %q = %v, %v, want %v %v", tt.kind, tt.text, v, err, tt.is, tt.amount)
		}
	}
}

func TestWays(t *testing.T) {
	for _, tt := range []struct {
		kind, text string
		want       []string
		says       string
	}{
		{"zs", "no-trip in state C", []string{"no-trip", "state C"}, ""},
		{"zs", "No trip, L2", []string{"no-trip", "L2"}, ""},
		{"ze", "two-wire high current", []string{"two-wire", "high current"}, ""},
		{"ir", "500 V d.c.", []string{"500 V"}, ""},
		{"ir", "250V, points disconnected", []string{"250 V", "point disconnected"}, ""},
		{"ir", "500 V cable alone", []string{"500 V", "cable alone"}, ""},
		{"r1+r2", "leads nulled and link checked at supply terminals", []string{"leads nulled", "link checked", "supply terminals"}, ""},
		{"r1+r2", "no parallel paths", []string{"no parallel paths"}, ""},
		{"zs", "parallel paths present", []string{"with parallel paths"}, ""},
		{"zs", "", nil, ""},
		{"zs", "no-tripp", nil, "the nearest is no-trip"},
		{"ir", "no-trip", nil, "is not taken that way"},
		{"zs", "no-trip, high current", nil, "says both"},
		{"rcd time", "not in state C", nil, "not taken that way"},
	} {
		w, err := Of(tt.kind).Ways(tt.text)
		switch {
		case tt.says != "" && (err == nil || !strings.Contains(err.Error(), tt.says)):
			t.Errorf("%s taken %q says %v, want %q in it", tt.kind, tt.text, err, tt.says)
		case tt.says == "" && (err != nil || strings.Join(w.Words, "; ") != strings.Join(tt.want, "; ")):
			t.Errorf("%s taken %q = %q, %v, want %q", tt.kind, tt.text, w.Words, err, tt.want)
		}
	}
	if w, err := Of("clamp step").Ways("2.3 kW L2"); err != nil || w.Power != 2300 || w.Line() != 1 {
		t.Errorf("a known load of 2.3 kW on L2 = %v, %v", w, err)
	}
	if w, err := Of("volt fall").Ways("10 A in state C"); err != nil || w.Load != 10 || !w.Has("state C") {
		t.Errorf("a known load of 10 A = %v, %v", w, err)
	}
}

// TestNoted: only a note that says it and nothing else says how a reading was
// taken. A note that no parallel paths were there is no note that they were.
func TestNoted(t *testing.T) {
	zs := Of("Zs")
	for note, want := range map[string]string{
		"with parallel paths": "with parallel paths", "Parallel paths present.": "with parallel paths", "no parallel paths": "no parallel paths",
		"checked for parallel paths, none": "", "parallel circuit next door was live": "", "no-trip": "", "": "", "500 V": "",
	} {
		if got := zs.Noted(note); got != want {
			t.Errorf("a note %q says it was taken %q, want %q", note, got, want)
		}
	}
	if got := Of("polarity").Noted("with parallel paths"); got != "" {
		t.Errorf("polarity was taken %q", got)
	}
}

// TestJudge holds values to both sides of a limit, a hair within and without.
func TestJudge(t *testing.T) {
	mA := quantity.Amperes(0).Measure()
	both := []Bound{{Limit: finding.Of(0.006, mA), Is: AtMost}, {Limit: finding.Of(0.003, mA), Is: AtLeast, Judge: "early"}}
	ms := []Bound{{Limit: finding.Of(0.5, quantity.Seconds(0).Measure()), Is: AtMost}, {Limit: finding.Of(0.13, quantity.Seconds(0).Measure()), Is: AtLeast}}
	ir := []Bound{{Limit: finding.Of(1e6, quantity.Ohms(0).Measure()), Is: AtLeast}}
	zs := []Bound{{Limit: finding.Of(1.09, quantity.Ohms(0).Measure()), Is: AtMost}}
	for _, tt := range []struct {
		source, kind, value string
		bounds              []Bound
		want                finding.Verdict
	}{
		{"IEC 62955: opens at 6 mA or before", "rdc-dd", "6 mA", both, finding.Meets},
		{"same, 6.01 mA", "rdc-dd", "6.01 mA", both, finding.Fails},
		{"same, no trip", "rdc-dd", "no trip", both, finding.Fails},
		{"same, more than 6 mA", "rdc-dd", "> 6 mA", both, finding.Fails},
		{"IEC 62955: holds at 3 mA (from memory)", "rdc-dd", "3 mA", both, finding.Meets},
		{"same, 2.9 mA", "rdc-dd", "2.9 mA", both, finding.JudgeOnSite},
		{"same, less than 5 mA says nothing of 3", "rdc-dd", "< 5 mA", both, finding.NotKnown},
		{"BS EN 61008-1 type S: 130 to 500 ms", "rcd time", "129 ms", ms, finding.Fails},
		{"same, 130 ms", "rcd time", "130 ms", ms, finding.Meets},
		{"same, 501 ms", "rcd time", "501 ms", ms, finding.Fails},
		{"no trip fails whatever the limit", "rcd time", "no trip", nil, finding.Fails},
		{"BS 7671 Table 64: 1 MΩ", "ir", "1", ir, finding.Meets},
		{"same, 0.99", "ir", "0.99", ir, finding.Fails},
		{"same, over range", "ir", "OL", ir, finding.Meets},
		{"same, more than half a megohm does not reach it", "ir", "> 0.5 MΩ", ir, finding.NotKnown},
		{"same, less than two megohms may be either", "ir", "< 2 MΩ", ir, finding.NotKnown},
		{"same, nothing on the display", "ir", "0.00 MΩ", ir, finding.Fails},
		{"BS 7671 643.2.1: continuity is there or not", "r1+r2", "open", nil, finding.Fails},
		{"same, off the top of an ohmmeter", "r1+r2", "> 1999 Ω", nil, finding.Fails},
		{"a number without a limit", "r1+r2", "0.2", nil, finding.NotKnown},
		{"BS 7671 Appendix 3: 1.09 Ω", "zs", "1.09", zs, finding.Meets},
		{"same, 1.1", "zs", "1.1", zs, finding.Fails},
		{"same, open", "zs", "open", zs, finding.Fails},
		{"same, more than 1 may be either", "zs", "> 1 Ω", zs, finding.NotKnown},
		{"what was not done is not known", "zs", "not done", zs, finding.NotKnown},
	} {
		k := Of(tt.kind)
		v, err := k.Parse(tt.value)
		if err != nil {
			t.Fatal(err)
		}
		got := k.Judge(finding.Finding{}, v, tt.value, tt.bounds, Tolerance{0.1, "a standard"}, "stop")
		if got.Verdict != tt.want {
			t.Errorf("%s: %s %s is %v, want %v (%s)", tt.source, k.Name, tt.value, got.Verdict, tt.want, got.Why)
		}
		if got.Verdict == finding.Fails && got.Next != "stop" {
			t.Errorf("%s: fails, and next is %q", tt.source, got.Next)
		}
	}
}

// FuzzParse: what is accepted is a finite number of the kind's unit or a word,
// it can be written down and read back, and judging it never fails by itself.
func FuzzParse(f *testing.F) {
	for _, s := range []string{"0.35", "350 mΩ", "", "-1", "> 1999", "<0.01 MΩ", "NaN", "1e309", "open", "no trip", "correct", "0.00 MΩ", "12 V", "53 %", "∞", "—", "LIM", "> 5"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		for _, k := range Kinds() {
			v, err := k.Parse(s)
			if err != nil {
				continue // refusing is fine; panicking or inventing is not
			}
			if math.IsNaN(v.Amount) || math.IsInf(v.Amount, 0) || !v.HasAmount() && v.Amount != 0 {
				t.Fatalf("%s of %q is %v", k.Name, s, v)
			}
			if again, err := k.Parse(k.Written(s)); err != nil || again != v {
				t.Fatalf("%s of %q is %v, written %q and read back %v, %v", k.Name, s, v, k.Written(s), again, err)
			}
			k.Judge(finding.Finding{}, v, s, nil, Tolerance{}, "")
			_, _ = k.Ways(s)
			k.Noted(s)
		}
	})
}
