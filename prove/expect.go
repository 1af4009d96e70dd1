package prove

import (
	"fmt"

	"chargewright/finding"
	"chargewright/model"
	"chargewright/quantity"
	"chargewright/reading"
	"chargewright/standard"
	"chargewright/works"
)

// Expect predicts every reading of the test sequence, in the order the tests
// are made: dead before live, the origin before the far ends.
//
// A band is the middle value with the root of the sum of the squares of its
// parts on either side. Where an input is missing the expectation names it and
// has no band; the limit is given all the same where it does not depend on it.
func Expect(m *model.Model) []Expectation {
	if m.Left() != nil {
		return nil
	}
	x := &expecter{m: m, rules: m.Rules, sound: newWiring(m).sound()}
	x.bonding()
	for _, c := range m.Circuits {
		x.continuity(c)
	}
	for _, c := range m.Circuits {
		x.insulation(c)
	}
	for _, c := range m.Circuits {
		x.polarity(c)
	}
	x.electrodes()
	x.origin()
	for _, c := range m.Circuits {
		if m.Left() != nil {
			return nil // nobody waits for it
		}
		x.loop(c)
	}
	x.faultCurrents()
	x.sequence()
	for _, b := range m.Boards {
		x.mainResidual(b)
	}
	for _, p := range m.Points {
		x.residual(p)
	}
	for _, c := range m.Circuits {
		x.button(c)
	}
	for _, p := range m.Points {
		x.pilot(p)
		x.pointVoltage(p)
	}
	x.surge()
	x.taken()
	return x.out
}

type expecter struct {
	m     *model.Model
	rules *standard.Rulebook
	sound *state // the wiring with nothing wrong
	out   []Expectation
}

func (x *expecter) add(e Expectation) {
	if k := kindOf(e.Reading); k != nil && k.Seen() {
		e.Seen = []string{k.Right, k.Wrong}
	}
	e.Order = len(x.out) + 1
	x.out = append(x.out, e)
}

// start fills in what the clause gives.
func (x *expecter) start(name, at, stage, clause string) Expectation {
	return Expectation{Reading: name, At: at, Stage: stage, Clause: x.rules.Clause(clause).Cited()}
}

func amount[Q quantity.Quantity](q Q) finding.Amount { return finding.Of(float64(q), q.Measure()) }

// reads returns what the sound wiring makes of a reading: the same circuit laws
// that explain the faulty one.
func (x *expecter) reads(name, at string) (float64, bool) {
	k := kindOf(name)
	q := x.sound.wiring.ask(k, at, reading.Ways{})
	if len(q.gap) > 0 {
		return 0, false
	}
	v, ok := k.predict(x.sound, q)
	return v.amount, ok && v.amount < openOhms
}

func (x *expecter) temperature() quantity.Celsius { return x.m.TestTemperature() }

// farEnd names where a circuit is tested: the board, point or load it ends at.
func farEnd(c *model.Circuit) string {
	if c.Record.To != "" {
		return c.Record.To
	}
	return c.Record.Name
}

// taken writes beside each expectation what has been read already, and what
// length a resistance stands for.
func (x *expecter) taken() {
	places := placesOf(x.m)
	by := map[[2]string][]*works.Reading{}
	for i := range x.m.Job.Readings {
		r := &x.m.Job.Readings[i]
		at := [2]string{reading.Called(r.Reading), places.of(r.At)}
		by[at] = append(by[at], r)
	}
	for i := range x.out {
		e := &x.out[i]
		for _, r := range by[[2]string{reading.Called(e.Reading), places.of(e.At)}] {
			v, err := r.Shown()
			if err == nil && v.Is == reading.NotDone {
				continue
			}
			e.Taken = r.Value
			if e.Stage == "dead" && e.Known() {
				x.readAsLength(e, v)
			}
		}
	}
}

// readAsLength says what length of this cable a reading stands for.
func (x *expecter) readAsLength(e *Expectation, v reading.Value) {
	if v.Is != reading.Number || e.Mid.IsZero() || e.Unit() != "Ω" {
		return
	}
	ohms := quantity.Ohms(v.Amount)
	for _, c := range x.m.Circuits {
		if l, known := c.Length().Get(); farEnd(c) == e.At && known && e.Mid.Number > 0 {
			e.Means += fmt.Sprintf("; %v is %v of it, and %v is recorded", ohms, quantity.Metres(float64(ohms)/e.Mid.Number*float64(l)), l)
		}
	}
}
