package ledger

import (
	"fmt"
	"io"

	"chargewright/sheet"
)

// readCards reads a table of who holds which card: card, person, vehicle, cost
// centre. What a record says itself goes before it.
func readCards(file string, r io.Reader) (map[string]holder, error) {
	s, err := sheet.Read(file, r, "card", "person", "vehicle", "cost centre")
	if err != nil {
		return nil, err
	}
	out := map[string]holder{}
	lines := map[string]int{}
	for _, row := range s.Rows {
		card := row.Get("card")
		switch {
		case card == "":
			row.Fault("card", "", "the number of the card is wanted, as the records write it")
		case lines[card] > 0:
			row.Fault("card", card, fmt.Sprintf("line %d gives it to somebody already", lines[card]))
		default:
			lines[card] = row.Line
			out[card] = holder{row.Get("person"), row.Get("vehicle"), row.Get("cost centre")}
		}
	}
	return out, s.Faults.Err()
}
