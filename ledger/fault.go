package ledger

import "chargewright/finding"

// pointEvent is a fault a point reported.
type pointEvent struct {
	Point string `json:"point"`
	At    int64  `json:"at"` // seconds since 1970 UTC
	Code  string `json:"code"`
	File  string `json:"file"`
	Line  int    `json:"line"`
}

// linkBroken is the code of a link that broke off without a goodbye.
const linkBroken = "link broken off"

// faultNext is what to look at for a fault a point reported.
// Source of the codes: OCPP 1.6 section 7.6, from memory.
var faultNext = map[string]string{
	"GroundFailure": deadFirst + "test insulation resistance of the circuit and the vehicle lead; test the RCD; look for water in the enclosure and " +
		"connector; try another vehicle",
	"OverCurrentFailure":   "compare the current limit the point is set to with the vehicle's current and the device ahead",
	"OverVoltage":          "record the supply voltage over some days; a high or wandering voltage can be a lost neutral: tell the network operator",
	"UnderVoltage":         "measure the supply voltage under load; " + deadFirst + "tighten terminals back to the origin",
	"HighTemperature":      "see that the enclosure can shed its heat; " + deadFirst + "tighten terminals, look for browning",
	"PowerMeterFailure":    "energies since then are in doubt: compare the point's meter with another",
	"PowerSwitchFailure":   "treat the outlet as live; " + deadFirst + "test the contactor; take the point out of use until it opens",
	"ConnectorLockFailure": "look at the lock and what stops it",
	"EVCommunicationError": "test the control pilot with a simulator; look at the connector's pins",
	"ReaderFailure":        "look at the card reader",
	"ResetFailure":         "read the point's log",
	"WeakSignal":           "measure the signal where the point hangs; move the aerial or run a cable",
	linkBroken: "measure the signal where the point hangs, or look at the cable and its plugs; see what else shares the network at these times; " +
		"sessions of that time may lack their stop",
	"Faulted":       "read the point's log at these times",
	"InternalError": "read the point's log at these times",
	"OtherError":    "read the point's log at these times",
}

// faults is a finding for every kind of fault a point reported.
func (l *Ledger) faults() []finding.Finding {
	type kind struct{ point, code string }
	first, last, count := map[kind]int64{}, map[kind]int64{}, map[kind]int{}
	var order []kind
	for _, e := range l.Events {
		k := kind{e.Point, e.Code}
		if count[k] == 0 {
			order = append(order, k)
			first[k] = e.At
		}
		first[k], last[k] = min(first[k], e.At), max(last[k], e.At)
		count[k]++
	}
	var out []finding.Finding
	for _, k := range order {
		f := finding.Finding{Clause: finding.Practice, Subject: "point " + k.point, What: "reports no fault", Key: "fault " + k.code, Verdict: finding.JudgeOnSite,
			Value: finding.Count(count[k], "times"), Limit: finding.Count(0, "times"), Source: finding.From("the point's own report, "+k.code, "")}
		from, to := l.when(first[k]), l.when(last[k])
		f.Why = finding.Say("%s, first %s, last %s", k.code, from, to)
		f.Next = faultNext[k.code]
		if f.Next == "" {
			f.Next = "read the point's log at these times"
		}
		out = append(out, f)
	}
	return out
}
