package prove

import (
	"fmt"
	"slices"

	"chargewright/finding"
	"chargewright/model"
)

// ExpectOne predicts one reading by its name and place: one of the test
// sequence, or any other the program knows, such as one that is suggested to
// tell causes apart. It refuses what no instrument reads there.
func ExpectOne(m *model.Model, reading, at string) (Expectation, error) {
	x := &expecter{m: m, rules: m.Rules, sound: newWiring(m).sound()}
	k := kindOf(reading)
	for _, e := range Expect(m) {
		if e.At == at && (e.Reading == reading || k != nil && kindOf(e.Reading) == k) {
			return e, nil
		}
	}
	if k == nil {
		return Expectation{}, fmt.Errorf("no reading is called %q; %s", reading, nearestOf(reading, Names()))
	}
	if places := Places(m); !slices.Contains(places, at) {
		return Expectation{}, fmt.Errorf("nothing is called %q; %s", at, nearestOf(at, places))
	}
	if q := x.sound.wiring.ask(k, at, ""); q.gap != "" && !fits(k, q) {
		return Expectation{}, fmt.Errorf("%s is not read at %s: %s", k.name, at, placeWords[k.places])
	}
	e := Expectation{Reading: k.name, At: at, Stage: "live", Clause: finding.Practice, Caution: "live working: a trained person, shrouded probes"}
	if k.dead {
		e.Stage, e.Caution = "dead", "isolated, locked off, proved dead"
	}
	if v, known := x.reads(k.name, at); known && !k.seen() {
		e.Mid = finding.Of(v, k.measure)
	}
	for _, row := range suggestable() {
		if row[0] == k.name && e.How == "" {
			e.How = row[5]
		}
	}
	x.add(e)
	x.taken()
	return x.out[0], nil
}
