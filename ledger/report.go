package ledger

// A statement with all that goes with it, as it is handed to a program.

import (
	"bufio"
	"errors"
	"fmt"
	"io"

	"chargewright/finding"
)

// Report is the published shape of a statement in JSON.
type Report struct {
	Made      string            `json:"made"`
	Invented  bool              `json:"invented"`
	Records   []Tally           `json:"records"`
	Statement *Statement        `json:"statement"`
	Compared  *Comparison       `json:"whatIf,omitempty"`
	Claim     *MileageClaim     `json:"mileageClaim,omitempty"`
	AtHome    *AtHome           `json:"milesAtTheTariff,omitempty"`
	Billing   *billed           `json:"billing,omitempty"`
	Driven    []driven          `json:"odometers,omitempty"`
	Notes     []Note            `json:"notes"`
	Faults    []pointEvent      `json:"faultsReported"`
	Findings  []finding.Finding `json:"findings"`
}

// Take takes from the ledger where every line went and what was noted.
func (r *Report) Take(l *Ledger) {
	r.Records, r.Notes, r.Faults = orNone(l.Tallies), orNone(l.Notes), orNone(l.Events)
}

func orNone[E any](list []E) []E {
	if list == nil {
		return []E{}
	}
	return list
}

// ReadRecord reads a charging record of either kind: a table of sessions, or
// messages between points and their central system.
func (l *Ledger) ReadRecord(file string, r io.Reader) error {
	in := bufio.NewReaderSize(r, 1<<16)
	opening, err := in.Peek(512)
	if err != nil && !errors.Is(err, io.EOF) {
		return fmt.Errorf("cannot read the charging record %s: %w", file, err)
	}
	if areMessages(opening) {
		return l.ReadMessages(file, in)
	}
	return l.ReadTable(file, in)
}
