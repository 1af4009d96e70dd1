package prove

import (
	"fmt"
	"slices"

	"chargewright/model"
	"chargewright/reading"
	"chargewright/works"
)

// Refused is why a reading is not one that can be written down.
type Refused struct {
	Field string // reading, at, function or value
	Want  string // what would be right, where the cell is told beside it
	says  string
}

func (e *Refused) Error() string { return e.says }

// Admit returns a reading as it is to be written down: its name as the program
// knows it and its value with a unit. It refuses, with the nearest right name,
// a reading, a place or a way of taking it that it does not know, and a value
// that cannot be one: that error is a Refused.
func Admit(m *model.Model, r works.Reading) (works.Reading, error) {
	k := kindOf(r.Reading)
	refuse := func(field, says, want string) (works.Reading, error) { return r, &Refused{field, want, says + want} }
	if k == nil {
		return refuse("reading", fmt.Sprintf("reading is %q: ", r.Reading), "no reading has that name; "+reading.Wanted(r.Reading))
	}
	places := Places(m)
	if !slices.Contains(places, r.At) {
		return refuse("at", fmt.Sprintf("place is %q: ", r.At), "nothing has that name; "+reading.Nearest(r.At, places))
	}
	ways, err := r.Ways()
	if err != nil {
		return refuse("function", "function is ", err.Error())
	}
	q := newWiring(m).ask(k, r.At, ways)
	if len(q.gap) > 0 && !fits(k, q) {
		return refuse("reading", "", fmt.Sprintf("%s is not read at %s: %s", k.Name, r.At, placeWords[k.Place]))
	}
	v, err := k.Parse(r.Value)
	if err != nil {
		return refuse("value", k.Name+" is ", err.Error())
	}
	r.Reading, r.Value = k.Name, k.Written(r.Value)
	if classes, err := accuracies(); err == nil && v.HasAmount() && v.Is != reading.More && v.Amount > classes[k.Class].top*5 {
		return refuse("value", fmt.Sprintf("%s is %q: ", k.Name, r.Value),
			"more than any such instrument shows; write > and the end of its range, like > "+k.show(classes[k.Class].top))
	}
	return r, nil
}

var placeWords = map[string]string{"circuit": "name a circuit, or what it ends at", "point": "name a point", "electrode": "name an electrode",
	"supply": "it is read at the supply", "rcd": "name a point, or what else has an RCD", "conductor": "name the earthing conductor or a bonding conductor"}

// fits reports whether a kind may be read at such a place at all, whatever the
// record still lacks.
func fits(k *kind, q *question) bool {
	switch k.Place {
	case "supply":
		return q.atSupply
	case "circuit":
		return q.run != nil
	case "point":
		return q.run != nil && q.run.circuit.Point != nil
	case "rcd":
		return q.run != nil || q.board != nil && q.board.Record.MainSwitch.RCD.Residual.IsKnown()
	case "electrode":
		return q.electrode
	case "conductor":
		return q.conductor
	}
	return true
}

// Places returns where readings are taken: the supply, boards, circuits, points,
// electrodes, and the conductors of earthing and bonding.
func Places(m *model.Model) []string {
	out := []string{"supply"}
	j := m.Job
	for _, b := range j.Boards {
		out = append(out, b.Name)
	}
	for _, c := range j.Circuits {
		out = append(out, c.Name)
	}
	for _, p := range j.Points {
		out = append(out, p.Name)
	}
	for _, e := range j.Electrodes {
		out = append(out, e.Name)
	}
	return append(out, j.Supply.Conductors()...)
}
