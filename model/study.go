package model

// Studies of the solved network in the shape in which they are published.

import (
	"encoding/json"
	"fmt"
	"maps"
	"slices"

	"chargewright/finding"
	"chargewright/quantity"
)

// FlowRow is the state at the end of a circuit.
type FlowRow struct {
	At           string      `json:"at"`
	Volts        [3]*float64 `json:"volts"` // line to neutral in L1, L2, L3; null where there is no such line
	Lines        [3]float64  `json:"amperes"`
	Neutral      float64     `json:"neutral"`
	NeutralThird float64     `json:"neutralThirdHarmonic"`
	LossWatts    float64     `json:"lossWatts"`
}

// FlowStudy is the load flow with every point on.
type FlowStudy struct {
	Job         string        `json:"job"`
	OriginVolts []float64     `json:"originVolts"`
	At          []FlowRow     `json:"at"`
	LossWatts   float64       `json:"lossWatts"`
	Lacks       finding.Lacks `json:"notKnown"`
}

// StudyFlow returns the load flow.
func (m *Model) StudyFlow() FlowStudy {
	s := FlowStudy{Job: m.Job.Name, LossWatts: float64(m.Flow.Losses), Lacks: m.Flow.Lacks}
	for _, v := range m.Flow.Origin {
		if v > 0 {
			s.OriginVolts = append(s.OriginVolts, float64(v))
		}
	}
	for _, f := range m.Flow.At {
		row := FlowRow{At: f.Circuit.Record.To, Neutral: float64(f.Neutral), NeutralThird: float64(f.NeutralThird), LossWatts: float64(f.Loss)}
		for k, v := range f.Volts {
			row.Lines[k] = float64(f.Lines[k])
			if v > 0 {
				volts := float64(v)
				row.Volts[k] = &volts
			}
		}
		s.At = append(s.At, row)
	}
	return s
}

// LostPENCaution goes with every showing of a lost PEN conductor.
const LostPENCaution = "metalwork that looks dead may stand at these voltages: isolate and prove dead at the point of work, and leave the supply to the " +
	"network operator"

// LostPENStudy is the loss of the PEN conductor with the points off and on.
type LostPENStudy struct {
	Job   string         `json:"job"`
	Most  quantity.Volts `json:"limitVolts"`
	Off   LostPEN        `json:"pointsOff"`
	On    LostPEN        `json:"pointsOn"`
	Lacks finding.Lacks  `json:"notKnown"`
}

// StudyLostPEN studies the loss at the highest lawful voltage.
func (m *Model) StudyLostPEN() (LostPENStudy, error) {
	most, _, err := m.Rules.Limit("pen touch voltage")
	if err != nil {
		return LostPENStudy{}, err
	}
	factor, _, err := m.Rules.Limit("cmax")
	if err != nil {
		return LostPENStudy{}, err
	}
	s := LostPENStudy{Job: m.Job.Name, Most: quantity.Volts(most)}
	s.Off, s.On = m.LosePEN(factor, false, s.Most), m.LosePEN(factor, true, s.Most)
	s.Lacks = s.On.Lacks
	if s.On.Known() {
		s.Lacks = s.Off.Lacks
	}
	return s, nil
}

// Says tells what an electrode would do, and what each point stands at.
func (l LostPEN) Says() []string {
	var out []string
	switch r, would := l.Electrode.Get(); {
	case would:
		out = append(out, fmt.Sprintf("an electrode of at most %v would hold it", r))
	case !l.Needed:
		out = append(out, "no electrode is needed for this load pattern")
	}
	for _, name := range slices.Sorted(maps.Keys(l.Points)) {
		out = append(out, fmt.Sprintf("%s %v to true earth, unless its own device has opened", name, l.Points[name]))
	}
	return out
}

// MarshalJSON writes the outcome in its published shape.
func (l LostPEN) MarshalJSON() ([]byte, error) {
	out := struct {
		Terminal    float64                   `json:"terminalVolts"`
		LineNeutral []float64                 `json:"lineNeutralVolts"`
		Points      map[string]quantity.Volts `json:"pointVolts"`
		Needed      bool                      `json:"electrodeNeeded"`
		Electrode   *float64                  `json:"electrodeOhms"`
	}{Terminal: float64(l.Terminal), Points: l.Points, Needed: l.Needed}
	for _, v := range l.LineNeutral {
		if v > 0 {
			out.LineNeutral = append(out.LineNeutral, float64(v))
		}
	}
	if r, ok := l.Electrode.Get(); ok {
		ohms := float64(r)
		out.Electrode = &ohms
	}
	return json.Marshal(out)
}
