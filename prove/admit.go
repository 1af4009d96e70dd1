package prove

import (
	"fmt"
	"slices"

	"chargewright/model"
	"chargewright/reading"
	"chargewright/works"
)

// Admit returns a reading as it is to be written down: its name as the program
// knows it and its value with a unit. It refuses, with the nearest right name,
// a reading, a place or a way of taking it that it does not know, and a value
// that cannot be one.
func Admit(m *model.Model, r works.Reading) (works.Reading, error) {
	k := kindOf(r.Reading)
	if k == nil {
		return r, fmt.Errorf("reading is %q: no reading has that name; %s", r.Reading, reading.Nearest(r.Reading, reading.Names()))
	}
	places := Places(m)
	if !slices.Contains(places, r.At) {
		return r, fmt.Errorf("place is %q: nothing has that name; %s", r.At, reading.Nearest(r.At, places))
	}
	ways, err := r.Ways()
	if err != nil {
		return r, fmt.Errorf("function is %w", err)
	}
	q := newWiring(m).ask(k, r.At, ways)
	if len(q.gap) > 0 && !fits(k, q) {
		return r, fmt.Errorf("%s is not read at %s: %s", k.Name, r.At, placeWords[k.Place])
	}
	v, err := k.Parse(r.Value)
	if err != nil {
		return r, fmt.Errorf("%s is %w", k.Name, err)
	}
	r.Reading, r.Value = k.Name, k.Written(r.Value)
	if classes, err := accuracies(); err == nil && v.HasAmount() && v.Is != reading.More && v.Amount > classes[k.Class].top*5 {
		return r, fmt.Errorf("%s is %q: more than any such instrument shows; write > and the end of its range, like > %s", k.Name, r.Value,
			k.show(classes[k.Class].top))
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
