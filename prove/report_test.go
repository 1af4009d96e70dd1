package prove_test

import (
	"encoding/json"
	"testing"

	"chargewright/finding"
	"chargewright/prove"
)

// TestReportShape holds the published shape: names, order, numbers or null.
func TestReportShape(t *testing.T) {
	for _, tt := range []struct {
		report prove.Report
		want   string
	}{
		{prove.Report{Job: "j"}, `{"job":"j","expectations":[]}`},
		{prove.Report{Job: "j", Expectations: []prove.Expectation{{Reading: "ways", At: "board", Stage: "dead", Order: 1, Low: finding.Count(1, "ways"), Mid: finding.Count(2, "ways"), High: finding.Count(3, "ways"),
			Limit: finding.Count(4, "ways"), LimitIs: "at most", Parts: []prove.Part{{What: "p", Value: finding.Count(2, "ways"), Source: "book"}}}}},
			`{"job":"j","expectations":[{"reading":"ways","at":"board","low":1,"mid":2,"high":3,"unit":"ways","limit":4,"parts":[{"what":"p","value":2,"unit":"ways","source":"book"}],` +
				`"limitIs":"at most","stage":"dead","clause":"","means":"","how":"","caution":"","missing":[],"taken":""}]}`},
		{prove.Report{Expectations: []prove.Expectation{{Reading: "Zs", Missing: finding.Cannot("Ze")}}},
			`{"job":"","expectations":[{"reading":"Zs","at":"","low":null,"mid":null,"high":null,"unit":"Ω","limit":null,"parts":[],` +
				`"limitIs":"","stage":"","clause":"","means":"","how":"","caution":"","missing":["Ze"],"taken":""}]}`},
	} {
		got, err := json.Marshal(tt.report)
		if err != nil || string(got) != tt.want {
			t.Errorf("Marshal = %s, %v, want %s", got, err, tt.want)
		}
	}
}
