package works

// Commissioning runs: what was asked of a charge point, and how it answered.

import "chargewright/quantity"

// Run is one run of a program of steps against a charge point.
type Run struct {
	Point     string               `field:"point" help:"charge point it was run against"`
	Program   string               `field:"program" words:"commissioning|control pilot" help:"program of steps: commissioning over the point's link, or its control pilot measured"`
	Protocol  string               `field:"protocol" help:"protocol it was run over, like OCPP 1.6"`
	Pretended quantity.Maybe[bool] `field:"pretended" help:"yes where the point was a pretended one, for training: it says nothing of a real point"`
	Who       string               `field:"who" help:"who ran it"`
	When      string               `field:"when" date:"time" help:"when it ended"`
	Began     string               `field:"began" date:"time" help:"when it began"`
	Ended     string               `field:"ended" words:"ended at its last step|ended, with steps left out|stopped before its last step" help:"how it ended"`
	Link      string               `field:"link" help:"how the link was secured"`
	LeftOut   []string             `field:"left out" help:"steps that were left out on purpose"`
	Serial    string               `field:"serial" help:"serial number, as the point says"`
	Firmware  string               `field:"firmware" help:"firmware, as the point says"`
	Note      string               `field:"note" help:"anything unusual"`
	Steps     []RunStep            `field:"steps" help:"its steps as they went"`
	Settings  []RunSetting         `field:"settings" help:"settings that it changed, but the secret ones"`
}

// RunStep is one step of a run.
type RunStep struct {
	Key     string `field:"step" key:"yes" help:"the step's key in its program"`
	What    string `field:"what" help:"what was asked"`
	Verdict string `field:"verdict" words:"meets|fails|not known|judge on site|not supported" help:"how it went; not supported where the point does not have what was asked"`
	Value   string `field:"value" help:"what was measured, unit included"`
	Limit   string `field:"limit" help:"what it was held to, unit included"`
	Seen    string `field:"observation" help:"what was seen, and the reason for the verdict"`
	Next    string `field:"next" help:"what to do now"`
	Rule    string `field:"rule" help:"clause the step is asked for"`
}

// RunSetting is one setting before a run and after it.
type RunSetting struct {
	Name   string `field:"name" key:"yes" help:"the setting"`
	Before string `field:"before" help:"what it was"`
	After  string `field:"after" help:"what it is"`
	Why    string `field:"why" help:"what it is set for"`
}

// Trained reports that the run was against a pretended point.
func (r Run) Trained() bool { return r.Pretended.Or(false) }
