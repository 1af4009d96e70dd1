package finding

import "encoding/json"

// Report is the findings of a job, in the published shape of the check command.
//
//	{"job": …, "edition": …, "findings": [{"clause", "subject", "what", "value",
//	 "unit", "limit", "margin", "verdict", "why", "next", "source", "path",
//	 "lacks", "rests"}]}
//
// Path is where what was looked at stands in the job record; it is left out
// for the job as a whole. Lacks is there where something is not known: of each
// input its words, and the paths at which it may be entered. Rests is there
// where the verdict holds only if it is as assumed: the paths of those facts.
//
// Value, limit and margin are numbers in the unit beside them, or null. Where
// the margin has a unit of its own, "marginUnit" names it.
type Report struct {
	Job      string    `json:"job"`
	Edition  string    `json:"edition"`
	Findings []Finding `json:"findings"`
}

// MarshalJSON writes the published shape; no findings are an empty list.
func (r Report) MarshalJSON() ([]byte, error) {
	type shape Report // without this method
	out := shape(r)
	if out.Findings == nil {
		out.Findings = []Finding{}
	}
	return json.Marshal(out)
}

// published is a finding as the report publishes it.
type published struct {
	Clause     string          `json:"clause"`
	Subject    string          `json:"subject"`
	What       string          `json:"what"`
	Value      *float64        `json:"value"`
	Unit       string          `json:"unit"`
	Limit      *float64        `json:"limit"`
	Margin     *float64        `json:"margin"`
	MarginUnit string          `json:"marginUnit,omitempty"`
	Verdict    Verdict         `json:"verdict"`
	Why        string          `json:"why"`
	Next       string          `json:"next"`
	Source     string          `json:"source"`
	Path       string          `json:"path,omitempty"`
	Lacks      []publishedLack `json:"lacks,omitempty"`
	Rests      []string        `json:"rests,omitempty"`
}

type publishedLack struct {
	Words string   `json:"words"`
	Paths []string `json:"paths,omitempty"`
}

// Published returns the finding in the shape of the report.
func (f Finding) Published() published {
	unit := f.Value.Unit
	if f.Value.IsZero() {
		unit = f.Limit.Unit
	}
	marginUnit := ""
	if !f.Margin.IsZero() && f.Margin.Unit != unit {
		marginUnit = f.Margin.Unit
	}
	var lacks []publishedLack
	for _, l := range f.Lacks {
		lacks = append(lacks, publishedLack{l.String(), l.Paths()})
	}
	var rests []string
	if f.Rests != nil {
		rests = f.Rests()
	}
	return published{f.Clause.Name, f.Subject, f.What, f.Value.Pointer(), unit, f.Limit.Pointer(), f.Margin.Pointer(), marginUnit,
		f.Verdict, f.Why.String(), f.Next, f.Source.String(), f.Path, lacks, rests}
}

// MarshalJSON writes the finding as the report publishes it.
func (f Finding) MarshalJSON() ([]byte, error) { return json.Marshal(f.Published()) }

// Pointer returns the number, or nil where there is no amount or it is no finite
// number: JSON has null for both.
func (a Amount) Pointer() *float64 {
	if a.IsZero() || a.Number != a.Number || a.Number-a.Number != 0 {
		return nil
	}
	n := a.Number
	return &n
}
