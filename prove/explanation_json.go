package prove

import (
	"encoding/json"
	"strings"

	"chargewright/finding"
)

// MarshalJSON writes the explanation in the published shape of the explain
// command. Numbers are in the unit beside them, or null.
//
//	{"job": …,
//	 "readings": [{"reading", "at", "taken", "low", "mid", "high", "unit", "off",
//	   "apart", "verdict", "margin", "clause", "why", "notCompared", "takenAgain", "putRight", …}],
//	 "causes": [{"cause", "probability", "where", "size", "alike", "danger",
//	   "acts", "next", "faults", "source", "predicts": [{"reading", "at", "low", "mid",
//	   "high", "unit", "shows", "taken"}], "plan": [{"reading", "at", "function",
//	   "minutes", "shows"}], "then"}],
//	 "rest": …,
//	 "nextTest": {"reading", "at", "function", "how", "caution", "minutes", "risk", "basis",
//	   "bits", "proof", "again", "first", "outcomes": [{"shows", "means", "chance", "low", "high", "unit"}]},
//	 "excluded": [{"cause", "danger", "reading", "at", "taken", "was"}],
//	 "flags": […]}
func (e Explanation) MarshalJSON() ([]byte, error) {
	type prediction struct {
		Reading string   `json:"reading"`
		At      string   `json:"at"`
		Low     *float64 `json:"low"`
		Mid     *float64 `json:"mid"`
		High    *float64 `json:"high"`
		Unit    string   `json:"unit"`
		Shows   string   `json:"shows"`
		Taken   string   `json:"taken"`
	}
	type step struct {
		Reading  string  `json:"reading"`
		At       string  `json:"at"`
		Function string  `json:"function"`
		Minutes  float64 `json:"minutes"`
		Shows    string  `json:"shows"`
	}
	type exclusion struct {
		Cause   string  `json:"cause"`
		Danger  string  `json:"danger"`
		Reading string  `json:"reading"`
		At      string  `json:"at"`
		Taken   string  `json:"taken"`
		Was     float64 `json:"was"`
	}
	type cause struct {
		Key         string       `json:"key"`
		Cause       string       `json:"cause"`
		Probability float64      `json:"probability"`
		Where       string       `json:"where"`
		Size        string       `json:"size"`
		Alike       []string     `json:"alike"`
		Danger      string       `json:"danger"`
		Acts        string       `json:"acts"`
		Next        string       `json:"next"`
		Faults      []string     `json:"faults"`
		Source      string       `json:"source"`
		Predicts    []prediction `json:"predicts"`
		Plan        []step       `json:"plan"`
		Then        float64      `json:"then"`
	}
	type outcome struct {
		Shows  string   `json:"shows"`
		Means  string   `json:"means"`
		Chance float64  `json:"chance"`
		Low    *float64 `json:"low"`
		High   *float64 `json:"high"`
		Unit   string   `json:"unit"`
	}
	type test struct {
		Reading  string    `json:"reading"`
		At       string    `json:"at"`
		Function string    `json:"function"`
		How      string    `json:"how"`
		Caution  string    `json:"caution"`
		Minutes  float64   `json:"minutes"`
		Risk     float64   `json:"risk"`
		Basis    string    `json:"basis"`
		Bits     float64   `json:"bits"`
		Proof    bool      `json:"proof"`
		Again    string    `json:"again"`
		First    string    `json:"first"`
		Outcomes []outcome `json:"outcomes"`
	}
	causes := make([]cause, len(e.Causes))
	for i, c := range e.Causes {
		causes[i] = cause{c.Key, c.Cause, c.Probability, c.Where, c.Size, filled(c.Alike), c.Danger, strings.Join(c.Acts, ", "), c.Next, filled(c.Faults),
			c.Source, []prediction{}, []step{}, c.Then}
		for _, p := range c.Plan {
			causes[i].Plan = append(causes[i].Plan, step(p))
		}
		for _, p := range c.Predicts {
			causes[i].Predicts = append(causes[i].Predicts, prediction{p.Reading, p.At, p.Low.Pointer(), p.Mid.Pointer(), p.High.Pointer(), p.Mid.Unit, p.Shows,
				p.Taken})
		}
	}
	var next *test
	if t := e.NextTest; t != nil {
		next = &test{t.Reading, t.At, t.Function, t.How, t.Caution, t.Minutes, t.Risk, t.Basis, t.Bits, t.Proof, t.Again, t.First, []outcome{}}
		for _, o := range t.Outcomes {
			next.Outcomes = append(next.Outcomes, outcome{o.Shows, o.Means, o.Chance, o.Low.Pointer(), o.High.Pointer(), o.Low.Unit})
		}
	}
	excluded := make([]exclusion, len(e.Excluded))
	for i, x := range e.Excluded {
		excluded[i] = exclusion(x)
	}
	readings := e.Readings
	if readings == nil {
		readings = []Residual{}
	}
	return json.Marshal(struct {
		Job      string      `json:"job"`
		Readings []Residual  `json:"readings"`
		Causes   []cause     `json:"causes"`
		Rest     float64     `json:"rest"`
		NextTest *test       `json:"nextTest"`
		Excluded []exclusion `json:"excluded"`
		Flags    []string    `json:"flags"`
	}{e.Job, readings, causes, e.Rest, next, excluded, filled(e.Flags)})
}

// filled is never null in JSON.
func filled(s []string) []string {
	if s == nil {
		return []string{}
	}
	return s
}

// MarshalJSON writes a reading beside what was expected of it.
func (r Residual) MarshalJSON() ([]byte, error) {
	return json.Marshal(struct {
		Reading     string          `json:"reading"`
		At          string          `json:"at"`
		Taken       string          `json:"taken"`
		Function    string          `json:"function"`
		Instrument  string          `json:"instrument"`
		Who         string          `json:"who"`
		When        string          `json:"when"`
		Low         *float64        `json:"low"`
		Mid         *float64        `json:"mid"`
		High        *float64        `json:"high"`
		Unit        string          `json:"unit"`
		Off         float64         `json:"off"`
		Apart       float64         `json:"apart"`
		Verdict     finding.Verdict `json:"verdict"`
		Margin      *float64        `json:"margin"`
		Clause      string          `json:"clause"`
		Why         string          `json:"why"`
		Next        string          `json:"next"`
		NotCompared string          `json:"notCompared"`
		TakenAgain  string          `json:"takenAgain,omitempty"`
		PutRight    string          `json:"putRight,omitempty"`
	}{r.Reading, r.At, r.Taken, r.Function, r.Instrument, r.Who, r.When, r.Low.Pointer(), r.Mid.Pointer(), r.High.Pointer(), r.Mid.Unit, r.Off, r.Apart,
		r.Verdict.Verdict, r.Verdict.Margin.Pointer(), r.Verdict.Clause.Name, r.Verdict.Why.String(), r.Verdict.Next, r.NotCompared, r.TakenAgain, r.PutRight})
}
