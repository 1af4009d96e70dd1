// Package job is the record of one visit's worth of work at one site: what was
// seen, chosen and measured, by whom, when, and with which instrument.
//
// The record is a set of entries, each one fact at one path. The job file is
// one way to write them down; Job is what they say when read together. A fact
// nobody entered is not known; one nobody has seen is marked: see Assumption.
//
// What a job is made of, and the words of it, have rooms of their own below:
// works and trade.
package job

import (
	"chargewright/standard"
	"chargewright/trade"
	"chargewright/works"
)

// Job is everything known about one job.
type Job struct {
	Name          string             `field:"job" help:"what the job is called"`
	Invented      bool               `field:"invented" help:"yes for a scenario made up for training or show"`
	Edition       standard.Edition   `field:"edition" help:"edition of the wiring regulations the work is designed to"`
	EditionStated bool               // whether the file names the edition; when not, Edition is the one in force for new work
	Marked        []Assumption       // facts marked as assumed behind their value, in the order of the file; see Assumed
	Stage         trade.Stage        `field:"stage" help:"how far the job has come"`
	Site          works.Site         `field:"site" help:"where the work is"`
	People        []works.Person     `field:"people" one:"person" help:"who takes part, and as what"`
	Instruments   []works.Instrument `field:"instruments" help:"test instruments used"`
	Supply        works.Supply       `field:"supply" help:"from the street to the meter"`
	Electrodes    []works.Electrode  `field:"electrodes" help:"earth electrodes of the installation"`
	Boards        []works.Board      `field:"boards" help:"distribution boards and consumer units"`
	Loads         []works.Load       `field:"loads" help:"what is already connected and draws current"`
	Sources       []works.Source     `field:"sources" help:"what feeds the installation beside the street: solar, battery, vehicle, generator"`
	Circuits      []works.Circuit    `field:"circuits" help:"circuits, from a board to a board, a point, a load or a source"`
	Points        []works.Point      `field:"points" help:"charge points"`
	Limiters      []works.Limiter    `field:"limiters" help:"load limiting: what keeps the supply within its limit"`
	Readings      []works.Reading    `field:"readings" help:"what was measured, in the order it was measured"`
	Runs          []works.Run        `field:"runs" help:"commissioning runs of charge points, in the order they were run"`
	Inspections   []works.Inspection `field:"inspections" help:"what was inspected, and how it was found"`
	Judgements    []works.Judgement  `field:"judgements" help:"what a rule leaves to a person, and how it was decided"`
	Departures    []works.Departure  `field:"departures" help:"departures from the standard, each with its reason"`
	Limitations   []works.Limitation `field:"limitations" help:"what could not be inspected or tested, each with its reason"`
	Isolations    []works.Isolation  `field:"isolations" help:"what is made dead for the work, and when"`
	Precautions   []works.Precaution `field:"precautions" help:"what is done about each hazard of the place"`
	Certificate   works.Certificate  `field:"certificate" help:"what the certificate states beyond the rest of the record"`
	Notification  works.Notification `field:"notification" help:"what the network operator and building control are told"`
	Handover      works.Handover     `field:"handover" help:"what the owner is told and given"`
	Quotation     works.Quotation    `field:"quotation" help:"what the work costs"`
	Notes         []works.Note       `field:"notes" help:"anything to remember, and where it belongs"`
	Photos        []works.Photo      `field:"photos" help:"photos of the parts of the job; what they show is kept beside the record"`
}

// Chosen returns the photos that are to be printed, in order.
func (j *Job) Chosen() []works.Photo {
	var out []works.Photo
	for _, p := range j.Photos {
		if p.OnPapers.Or(false) {
			out = append(out, p)
		}
	}
	return out
}
