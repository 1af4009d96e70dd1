package finding_test

import (
	"encoding/json"
	"fmt"
	"math"
	"testing"

	"chargewright/finding"
)

type metres struct{}

func (metres) Show(n float64) string { return fmt.Sprint(n, " m") }
func (metres) Unit() string          { return "m" }

// TestReportShape holds the published shape: names, order, numbers or null.
func TestReportShape(t *testing.T) {
	for _, tt := range []struct {
		report finding.Report
		want   string
	}{
		{finding.Report{Job: "j", Edition: "e"}, `{"job":"j","edition":"e","findings":[]}`},
		{finding.Report{Job: "j", Edition: "e", Findings: []finding.Finding{{Clause: finding.Clause{Name: "534.4.8"}, Path: "boards/b", Subject: "s", What: "w", Value: finding.Of(0.8, metres{}), Limit: finding.Of(1, metres{}),
			Margin: finding.Of(0.2, metres{}), Verdict: finding.Meets, Why: finding.Say("because"), Next: "n", Source: finding.From("book", ""), Lacks: finding.Lacks{{Path: "boards/b/ways", Or: []string{"boards/b/ways free"}, Of: "board b", What: "ways"}}}}},
			`{"job":"j","edition":"e","findings":[{"clause":"534.4.8","subject":"s","what":"w","value":0.8,"unit":"m","limit":1,"margin":0.2,"verdict":"meets","why":"because","next":"n","source":"book","path":"boards/b","lacks":[{"words":"board b: ways","paths":["boards/b/ways","boards/b/ways free"]}]}]}`},
		{finding.Report{Findings: []finding.Finding{{}}},
			`{"job":"","edition":"","findings":[{"clause":"","subject":"","what":"","value":null,"unit":"","limit":null,"margin":null,"verdict":"not known","why":"","next":"","source":""}]}`},
		{finding.Report{Findings: []finding.Finding{{Value: finding.Of(math.Inf(1), metres{}), Margin: finding.Count(2, "ways")}}},
			`{"job":"","edition":"","findings":[{"clause":"","subject":"","what":"","value":null,"unit":"m","limit":null,"margin":2,"marginUnit":"ways","verdict":"not known","why":"","next":"","source":""}]}`},
	} {
		got, err := json.Marshal(tt.report)
		if err != nil || string(got) != tt.want {
			t.Errorf("Marshal(%v) = %s, %v, want %s", tt.report, got, err, tt.want)
		}
	}
}

func TestWorst(t *testing.T) {
	v := func(vs ...finding.Verdict) (fs []finding.Finding) {
		for _, v := range vs {
			fs = append(fs, finding.Finding{Verdict: v})
		}
		return fs
	}
	for _, tt := range []struct {
		fs      []finding.Finding
		want    finding.Verdict
		checked bool
	}{
		{nil, finding.NotKnown, false},
		{v(finding.Meets, finding.JudgeOnSite, finding.Meets), finding.JudgeOnSite, true},
		{v(finding.JudgeOnSite, finding.NotKnown), finding.NotKnown, true},
		{v(finding.Meets, finding.NotKnown, finding.Fails), finding.Fails, true},
	} {
		if got, checked := finding.Worst(tt.fs); got != tt.want || checked != tt.checked {
			t.Errorf("Worst(%v) = %v, %v, want %v, %v", tt.fs, got, checked, tt.want, tt.checked)
		}
	}
}
