package ledger

import (
	"fmt"
	"io"
)

// ReadCards reads a table of who holds which card: card, person, vehicle, cost
// centre. What a record says itself goes before it.
func ReadCards(file string, r io.Reader) (map[string]Holder, error) {
	s, err := readSheet(file, r, "card", "person", "vehicle", "cost centre")
	if err != nil {
		return nil, err
	}
	out := map[string]Holder{}
	lines := map[string]int{}
	for _, row := range s.rows {
		card := row.get("card")
		switch {
		case card == "":
			row.problem("card", "", "the number of the card is wanted, as the records write it")
		case lines[card] > 0:
			row.problem("card", card, fmt.Sprintf("line %d gives it to somebody already", lines[card]))
		default:
			lines[card] = row.line
			out[card] = Holder{row.get("person"), row.get("vehicle"), row.get("cost centre")}
		}
	}
	return out, s.err()
}
