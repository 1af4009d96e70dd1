package prove

import (
	"encoding/json"

	"chargewright/finding"
)

// Report is the expectations of a job, in the published shape of the expect
// command.
//
//	{"job": …, "expectations": [{"reading", "at", "low", "mid", "high", "unit",
//	 "limit", "parts": [{"what", "value", "unit", "source"}]}]}
//
// Low, mid, high and limit are numbers in the unit beside them, or null. The
// fields stage, clause, limitIs, means, how, caution, missing and taken come on
// top.
type Report struct {
	Job          string        `json:"job"`
	Expectations []Expectation `json:"expectations"`
}

// MarshalJSON writes the published shape; no expectations are an empty list.
func (r Report) MarshalJSON() ([]byte, error) {
	type shape Report // without this method
	out := shape(r)
	if out.Expectations == nil {
		out.Expectations = []Expectation{}
	}
	return json.Marshal(out)
}

// Unit returns the unit of the reading, its band and its limit; nothing for
// what is seen and has no number.
func (e Expectation) Unit() string {
	for _, a := range []finding.Amount{e.Mid, e.High, e.Low, e.Limit} {
		if !a.IsZero() {
			return a.Unit
		}
	}
	if k := e.Kind(); k != nil && !k.Seen() {
		return k.Measure.Unit()
	}
	return ""
}

// published is an expectation as the report publishes it.
type published struct {
	Reading string          `json:"reading"`
	At      string          `json:"at"`
	Low     *float64        `json:"low"`
	Mid     *float64        `json:"mid"`
	High    *float64        `json:"high"`
	Unit    string          `json:"unit"`
	Limit   *float64        `json:"limit"`
	Parts   []publishedPart `json:"parts"`
	LimitIs string          `json:"limitIs"`
	Stage   string          `json:"stage"`
	Clause  finding.Clause  `json:"clause"`
	Means   string          `json:"means"`
	How     string          `json:"how"`
	Caution string          `json:"caution"`
	Missing finding.Lacks   `json:"missing"`
	Taken   string          `json:"taken"`
}

type publishedPart struct {
	What   string   `json:"what"`
	Value  *float64 `json:"value"`
	Unit   string   `json:"unit"`
	Source string   `json:"source"`
}

// Published returns the expectation in the shape of the report.
func (e Expectation) Published() published {
	parts := make([]publishedPart, len(e.Parts))
	for i, p := range e.Parts {
		parts[i] = publishedPart{p.What, p.Value.Pointer(), p.Value.Unit, p.Source}
	}
	missing := e.Missing
	if missing == nil {
		missing = finding.Lacks{}
	}
	return published{e.Reading, e.At, e.Low.Pointer(), e.Mid.Pointer(), e.High.Pointer(), e.Unit(), e.Limit.Pointer(), parts,
		e.LimitIs, e.Stage, e.Clause, e.Means, e.How, e.Caution, missing, e.Taken}
}

// MarshalJSON writes the expectation as the report publishes it.
func (e Expectation) MarshalJSON() ([]byte, error) { return json.Marshal(e.Published()) }
