package prove

import (
	"slices"

	"chargewright/model"
	"chargewright/works"
)

// What is seen to work once an installation is live.

// sequence asks for the phase sequence at every three-phase board.
func (x *expecter) sequence() {
	for _, b := range x.m.Boards {
		if b.Record.Phases.Or(0) != 3 {
			continue
		}
		e := x.start("phase sequence", b.Record.Name, "live", "phase sequence")
		e.How = "phase rotation indicator at the board's incoming terminals"
		e.Caution = "live working: shrouded probes, one trained person in control"
		e.Means = "L1 L2 L3 as at the origin: there is no number"
		x.add(e)
	}
}

// button asks for the test button of the RCD that a circuit has to itself or
// shares with others.
func (x *expecter) button(c *model.Circuit) {
	if _, fitted := c.BoardRCD(); !fitted {
		return
	}
	e := x.start("RCD test button", farEnd(c), "live", "functional")
	e.How = "press it with the circuit live and unloaded, after the RCD is timed"
	e.Caution = "people warned: the circuit goes dead"
	e.Means = "it works, or it does not: there is no number"
	x.add(e)
}

// surge asks for the window of every surge protective device.
func (x *expecter) surge() {
	for _, b := range x.m.Boards {
		fitted := slices.ContainsFunc(b.Record.Surge, func(s works.Surge) bool { return !s.Declined.Or(false) })
		if !fitted {
			continue
		}
		e := x.start("SPD indicator", b.Record.Name, "live", "functional")
		e.How = "look at the window of each device, from outside"
		e.Means = "good, or spent: there is no number"
		x.add(e)
	}
}
