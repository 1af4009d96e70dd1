package prove

// Readings of a place that the record does not describe still speak to each
// other, and each by itself has the trade's answer: a usual run stands in, of a
// length that nobody claims to know.

import (
	"fmt"
	"slices"
	"sync"

	"chargewright/job"
	"chargewright/model"
	"chargewright/quantity"
	"chargewright/trade"
	"chargewright/works"
)

// usualPlace is what stands in: a point of 7.4 kW on 6 mm² (common practice, no
// source). Nothing of it is said of the place.
const usualPlace = `
job: Stand-in
invented: yes
edition: %s
supply: {earthing: TN-C-S, phases: 1, voltage: 230 V}
boards: [{name: board, fed from: supply, phases: 1}]
circuits:
  - name: stand-in
    from: board
    to: point
    phases: L1
    device: {type: BS EN 61009 type B, rating: 40 A}
    RCD: {type: A, IΔn: 30 mA}
    cable: {construction: armoured, insulation: 90 °C thermosetting, material: copper, csa: 6 mm², cores: 3, cpc: core}
    legs: [{name: run, length: 20 m, length known by: assumed, method: C}]
points: [{name: point, power: 7.4 kW, phases: 1, outlet: socket}]
`

// guessedShare is one deviation of a length that nobody knows, as a share of the
// one that stands in.
const guessedShare = 0.75

var usual = sync.OnceValue(func() *job.Job {
	j, err := job.Read("stand-in", fmt.Appendf(nil, usualPlace, "BS 7671:2018+A4:2026"))
	if err != nil {
		panic("prove: " + err.Error()) // a test reads it
	}
	return j
})

// standIn returns the model with what its readings need and its record lacks,
// the circuits that were filled in, and what to say of it. Where nothing lacks
// it is the model itself.
func standIn(m *model.Model) (*model.Model, map[string]bool, []string) {
	u := usual()
	j := *m.Job
	j.Boards, j.Circuits, j.Points = slices.Clone(j.Boards), slices.Clone(j.Circuits), slices.Clone(j.Points)
	guessed := map[string]bool{}
	var flags []string
	known := Places(m)
	for i := range j.Readings {
		r := &j.Readings[i]
		k := kindOf(r.Reading)
		if k == nil || r.At == "" || r.At == "supply" || k.Place == "supply" || k.Place == "electrode" || k.Place == "conductor" {
			continue
		}
		c := slices.IndexFunc(j.Circuits, func(c works.Circuit) bool { return c.To == r.At || c.Name == r.At })
		if c < 0 {
			if slices.Contains(known, r.At) && !slices.ContainsFunc(j.Points, func(p works.Point) bool { return p.Name == r.At }) {
				continue // a board, which no circuit need feed
			}
			c = len(j.Circuits)
			run := u.Circuits[0]
			run.Name, run.To, run.From = "circuit of "+r.At, r.At, feeding(&j, u)
			j.Circuits = append(j.Circuits, run)
			if !slices.ContainsFunc(j.Points, func(p works.Point) bool { return p.Name == r.At }) {
				point := u.Points[0]
				point.Name = r.At
				j.Points = append(j.Points, point)
			}
			guessed[run.Name] = true
			flags = append(flags, fmt.Sprintf("assumed: the record has no circuit of %s; a usual one of a length nobody knows stands in for it", r.At))
		}
		if fillRun(&j.Circuits[c], u) {
			guessed[j.Circuits[c].Name] = true
			flags = append(flags, fmt.Sprintf("assumed: the run of %s is not recorded in full; a usual one of a length nobody knows stands in for it",
				j.Circuits[c].Name))
		}
		if rcd := &j.Circuits[c].RCD; k.Place == "rcd" && !rcd.Residual.IsKnown() && guessed[j.Circuits[c].Name] {
			*rcd = u.Circuits[0].RCD
		}
	}
	if len(guessed) == 0 {
		return m, nil, nil
	}
	s := &j.Supply
	if !s.Earthing.IsKnown() {
		s.Earthing = u.Supply.Earthing
	}
	if !s.Phases.IsKnown() {
		s.Phases = u.Supply.Phases
	}
	return model.New(&j, m.Rules), guessed, flags
}

// feeding names the board that a run from nowhere starts at.
func feeding(j, u *job.Job) string {
	if len(j.Boards) == 0 {
		j.Boards = append(j.Boards, u.Boards[0])
	}
	return j.Boards[0].Name
}

// fillRun fills in what is lacking of a run, and reports whether anything was.
func fillRun(c *works.Circuit, u *job.Job) bool {
	filled := false
	if !c.Cable.CSA.IsKnown() && !slices.ContainsFunc(c.Legs, func(l works.Leg) bool { return l.Cable.CSA.IsKnown() }) {
		c.Cable, filled = u.Circuits[0].Cable, true
	}
	if len(c.Legs) == 0 {
		c.Legs = slices.Clone(u.Circuits[0].Legs)
		return true
	}
	c.Legs = slices.Clone(c.Legs)
	for i := range c.Legs {
		if l := &c.Legs[i]; !l.Length.IsKnown() {
			l.Length, l.LengthKnown, filled = u.Circuits[0].Legs[0].Length, quantity.Known(trade.Assumed), true
		}
	}
	return filled
}
