package commission

import (
	"encoding/json"
	"time"

	"chargewright/finding"
	"chargewright/ocpp"
)

// Evidence is what a run leaves behind: every step with its verdict and the
// messages that back it, and every setting before and after.
type Evidence struct {
	Job       string
	Edition   string
	Invented  bool
	Point     string
	OCPP      ocpp.Version
	Address   string // what the point was told to join
	Secured   string // how the link was secured
	Pace      float64
	Pretended bool // the point was a pretended one, for training
	Began     time.Time
	Ended     time.Time
	Identity  ocpp.Identity
	Steps     []StepResult
	Settings  []Change
	LeftOut   []string       // steps that were left out on purpose
	Stopped   bool           // before its last step
	Refused   []ocpp.Message // who was turned away at the door
	Unclean   map[string]int // what was not as the schema has it, and in how many messages
}

// StepResult is one step as it went.
type StepResult struct {
	finding.Finding
	Unsupported bool     // the point does not have what was asked
	Sent        []string // what was asked of the point, in trade words
	Began       time.Time
	Took        time.Duration
	Messages    []ocpp.Message
	LeftOut     int // messages not kept here; the journal file has them
}

// Change is one setting before the run and after it.
type Change struct {
	Name   string `json:"name"`
	Before string `json:"before"`
	After  string `json:"after"`
	Why    string `json:"why"`
	Kept   bool   `json:"kept"` // it read back as set
}

// Outcome is the verdict in words; a step that the point does not support has
// a word of its own.
func (r StepResult) Outcome() string {
	if r.Unsupported {
		return "not supported"
	}
	return r.Verdict.String()
}

// Findings are the steps as findings.
func (e *Evidence) Findings() []finding.Finding {
	var out []finding.Finding
	for _, s := range e.Steps {
		out = append(out, s.Finding)
	}
	return out
}

// ExitCode is 0 where every step is met, 1 where one fails, 3 where none fails
// but something is not supported, not known or left to judge.
func (e *Evidence) ExitCode() int { return finding.Summarise(e.Findings()).ExitCode() }

// MarshalJSON writes the published shape of the evidence:
//
//	{"job", "edition", "invented", "point", "ocpp", "address", "link", "pace",
//	 "began", "ended", "identity": {…}, "steps": [{"key", "step", "outcome",
//	 "value", "limit", "margin", "unit", "why", "next", "source", "sent",
//	 "began", "took_s", "messages", "messagesLeftOut"}], "settings": [{"name",
//	 "before", "after", "why", "kept"}], "leftOut": […], "stopped", "refused": […], "unclean": {…}}
func (e *Evidence) MarshalJSON() ([]byte, error) {
	type step struct {
		Key      string         `json:"key"`
		Step     string         `json:"step"`
		Outcome  string         `json:"outcome"`
		Value    *float64       `json:"value"`
		Limit    *float64       `json:"limit"`
		Margin   *float64       `json:"margin"`
		Unit     string         `json:"unit"`
		Why      string         `json:"why"`
		Next     string         `json:"next"`
		Source   string         `json:"source"`
		Sent     []string       `json:"sent"`
		Began    time.Time      `json:"began"`
		Took     float64        `json:"took_s"`
		Messages []ocpp.Message `json:"messages"`
		LeftOut  int            `json:"messagesLeftOut"`
	}
	steps := []step{}
	for _, s := range e.Steps {
		unit := s.Value.Unit
		if unit == "" {
			unit = s.Limit.Unit
		}
		steps = append(steps, step{s.Key, s.What, s.Outcome(), s.Value.Pointer(), s.Limit.Pointer(), s.Margin.Pointer(), unit,
			s.Why.String(), s.Next, s.Source.String(), orNone(s.Sent), s.Began.UTC(), s.Took.Seconds(), orNone(s.Messages), s.LeftOut})
	}
	return json.Marshal(struct {
		Job      string         `json:"job"`
		Edition  string         `json:"edition"`
		Invented bool           `json:"invented"`
		Point    string         `json:"point"`
		OCPP     ocpp.Version   `json:"ocpp"`
		Address  string         `json:"address"`
		Link     string         `json:"link"`
		Pace     float64        `json:"pace"`
		Began    time.Time      `json:"began"`
		Ended    time.Time      `json:"ended"`
		Identity ocpp.Identity  `json:"identity"`
		Steps    []step         `json:"steps"`
		Settings []Change       `json:"settings"`
		LeftOut  []string       `json:"leftOut"`
		Stopped  bool           `json:"stopped"`
		Refused  []ocpp.Message `json:"refused"`
		Unclean  map[string]int `json:"unclean,omitempty"`
	}{e.Job, e.Edition, e.Invented, e.Point, e.OCPP, e.Address, e.Secured, e.Pace, e.Began.UTC(), e.Ended.UTC(), e.Identity, steps, orNone(e.Settings),
		orNone(e.LeftOut), e.Stopped, orNone(e.Refused), e.Unclean})
}

// orNone is an empty list for none.
func orNone[E any](list []E) []E {
	if list == nil {
		return []E{}
	}
	return list
}
