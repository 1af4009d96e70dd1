// Package choose finds what a job leaves open: cable, device, RCD, phase,
// earthing, surge protection, limiter and board, for every circuit at once.
//
// It searches everything the catalogue holds and the rules permit, and returns
// the best by a stated aim together with a proof: the search is exhaustive,
// less what a bound shows cannot win. Each choice comes with the rule that
// binds it and with what would change it.
//
// The search leans on closed forms of one circuit, each of them never stricter
// than the rule it stands for. The winner is then laid out as a real job and
// held to every requirement by package design; what fails there is struck out
// and the search goes on, so nothing is returned that only a formula has seen.
package choose

import (
	"context"

	"chargewright/finding"
	"chargewright/job"
	"chargewright/model"
	"chargewright/standard"
)

// Purpose is what a design is best by.
type Purpose string

// Purposes.
const (
	FirstCost Purpose = "least first cost"
	LifeCost  Purpose = "least life cost"
	Materials Purpose = "fewest different materials"
)

// Values returns the purposes.
func (Purpose) Values() []string {
	return []string{string(FirstCost), string(LifeCost), string(Materials)}
}

// PurposeNamed returns the purpose of a short name: first, life or fewest.
func PurposeNamed(name string) (Purpose, bool) {
	p, known := map[string]Purpose{"first": FirstCost, "life": LifeCost, "fewest": Materials}[name]
	return p, known
}

// Aim is a purpose with the figures that life cost needs.
type Aim struct {
	Purpose Purpose
	Years   float64 // over which losses count
	Tariff  float64 // price of 1 kWh
	Hours   float64 // hours a year at full load that lose as much as the real use

	While context.Context `json:"-"` // for how long somebody waits for it; nil for to the end
}

// left reports that nobody waits for the choice any more.
func (a Aim) left() bool { return a.While != nil && a.While.Err() != nil }

// perWatt returns what one watt of loss at full load costs over the life, in
// the money of the catalogue.
//
//	formula  hours a year × years × tariff / 1000
func (a Aim) perWatt() float64 {
	if a.Purpose != LifeCost {
		return 0
	}
	return a.Hours * a.Years * a.Tariff / 1000
}

// Setting is one fact the choice puts into the job: the path of a field, and
// its value as a person writes it.
type Setting struct {
	Path  string `json:"path"`
	Value string `json:"value"`
}

// Outcome is a design and the proof that goes with it.
type Outcome struct {
	Job      *job.Job          `json:"-"` // the job with the choices in it
	Model    *model.Model      `json:"-"`
	Findings []finding.Finding `json:"-"` // every requirement, on the job as chosen

	Aim       Aim             `json:"aim"`
	Circuits  []CircuitChoice `json:"circuits"`
	Phases    []PhaseChoice   `json:"phases"`
	Limiter   *LimiterChoice  `json:"limiter,omitempty"`
	Boards    []BoardChoice   `json:"boards"`
	Surge     []SurgeChoice   `json:"surge"`
	Earthing  []Measure       `json:"earthing"`
	Lacks     finding.Lacks   `json:"notKnown"` // site facts without which a choice is not known
	Assumed   []string        `json:"assumed"`
	Settings  []Setting       `json:"settings"`
	Cost      float64         `json:"cost"`      // by the aim, of what is chosen
	Bound     float64         `json:"bound"`     // nothing permitted costs less
	Different int             `json:"different"` // materials, cables and devices counted once
	Proof     proof           `json:"proof"`
}

// proof is how far the search went.
type proof struct {
	Complete   bool `json:"complete"`          // the bound equals the cost
	Candidates int  `json:"candidates"`        // cables with devices, over all circuits
	Tried      int  `json:"tried"`             // candidates held to the rules
	Cut        int  `json:"cut"`               // branches a bound ruled out
	StruckOut  int  `json:"struckOut"`         // winners the whole model refused
	AtLeast    int  `json:"atLeast,omitempty"` // of the aim of fewest materials: no design has fewer
}

// Choose returns the best design of what job j leaves open. The job itself is
// not changed.
//
// Order of the aims: the phases of single-phase points come first, by least
// current in the most loaded line and then least neutral current; the limiter
// is set as high as the supply allows; a board that is open is the cheapest with
// ways enough; cables, devices and earthing are then best by aim together; surge
// devices come last, since what stands ahead of them must be known. What is
// chosen meets its rules outright: a conditional rating of an assembly, or an RCD
// alone in place of the overcurrent device, is left to a person.
func Choose(j *job.Job, rules *standard.Rulebook, c *Catalogue, aim Aim) *Outcome {
	ways := map[string]int{}
	for {
		s := newSite(j, rules, c, aim)
		s.choosePhases()
		s.chooseLimiter()
		s.chooseBoards(ways)
		s.read()
		s.search()
		if aim.left() {
			return s.brokenOff()
		}
		if s.shortOfWays(ways) { // a board of the catalogue was too small: take a larger one
			continue
		}
		s.chooseSurge()
		if aim.left() {
			return s.brokenOff()
		}
		return s.outcome()
	}
}

// brokenOff is what is chosen where nobody waits for it: nothing, and why.
func (s *site) brokenOff() *Outcome {
	out := empty(s.aim)
	out.Job, out.Model = s.job, s.model
	out.Lacks = finding.Lacks{{Of: "a design", What: "the search was broken off, since nobody waited for it"}}
	return out
}
