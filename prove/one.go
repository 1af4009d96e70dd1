package prove

import (
	"fmt"
	"slices"

	"chargewright/finding"
	"chargewright/model"
	"chargewright/reading"
)

// ExpectOne predicts one reading by its name and place: one of the test
// sequence, or any other the program knows, such as one that is suggested to
// tell causes apart. It refuses what no instrument reads there.
func ExpectOne(m *model.Model, name, at string) (Expectation, error) {
	x := &expecter{m: m, rules: m.Rules, sound: newWiring(m).sound()}
	k := kindOf(name)
	for _, e := range Expect(m) {
		if e.At == at && (e.Reading == name || k != nil && kindOf(e.Reading) == k) {
			return e, nil
		}
	}
	if k == nil {
		return Expectation{}, fmt.Errorf("no reading is called %q; %s", name, reading.Wanted(name))
	}
	if places := Places(m); !slices.Contains(places, at) {
		return Expectation{}, fmt.Errorf("nothing is called %q; %s", at, reading.Nearest(at, places))
	}
	if q := x.sound.wiring.ask(k, at, reading.Ways{}); len(q.gap) > 0 && !fits(k, q) {
		return Expectation{}, fmt.Errorf("%s is not read at %s: %s", k.Name, at, placeWords[k.Place])
	}
	e := x.other(k.Kind, at)
	if v, known := x.reads(k.Name, at); known && !k.Seen() {
		e.Mid = finding.Of(v, k.Measure)
	}
	for _, row := range suggestable() {
		if row.kind == k && e.How == "" {
			e.How = row.words
		}
	}
	x.add(e)
	x.taken()
	return x.out[0], nil
}
