package prove

import (
	"math"
	"slices"

	"chargewright/finding"
	"chargewright/model"
	"chargewright/reading"
	"chargewright/works"
)

// law is how a reading follows from the wiring.
type law func(s *state, q *question) (value, bool)

// kind is a reading of the test sequence and its law; one without a law is
// judged and not predicted.
type kind struct {
	*reading.Kind
	predict law
}

// value is a reading as the circuit laws give it, in its own unit, with what
// is not exactly known about it.
type value struct {
	amount  float64
	weights []weight // stretches it is made of, and what each counts for
	times   float64  // of the weights
	drifts  []drift  // besides those of the stretches
	extra   float64  // a deviation on top of the instrument's
}

// laws is the law of every reading that follows from the wiring.
func laws() map[string]law {
	return map[string]law{
		"R1+R2":                         predictR1R2,
		"R2":                            predictR2,
		"R1+Rn":                         predictR1Rn,
		"earthing conductor":            predictEarthing,
		"leads together":                predictLeads,
		"insulation live to earth":      predictInsulation(liveToEarth),
		"insulation between live":       predictInsulation(betweenLive),
		"insulation line to earth":      predictInsulation(lineToEarth),
		"insulation neutral to earth":   predictInsulation(neutralToEarth),
		"polarity":                      predictPolarity,
		"RA":                            predictElectrode,
		"voltage line to neutral":       predictVoltage("LN"),
		"voltage line to earth":         predictVoltage("LE"),
		"voltage neutral to earth":      predictVoltage("NE"),
		"voltage earth to remote spike": predictSpike,
		"phase sequence":                predictSequence,
		"Ze":                            predictZe,
		"line-neutral loop":             predictNeutralLoop,
		"Zs":                            predictZs,
		"Ipf":                           predictIpf,
		"voltage fall under load":       predictFall,
		"RCD time at IΔn":               predictRCDTime,
		"RCD at half IΔn":               predictHalf,
		"RCD ramp":                      predictRamp,
		"6 mA d.c.":                     predictDirect,
		"protective conductor current":  predictLeakage,
		"RCD test button":               predictButton,
		"SPD indicator":                 predictInOrder,
		"pilot voltage in state A":      predictPilot("A"),
		"pilot voltage in state B":      predictPilot("B"),
		"pilot voltage in state C":      predictPilot("C"),
		"pilot negative peak":           predictPilot("negative"),
		"pilot duty":                    predictDuty,
		"clamp step":                    predictClamp,
	}
}

// byKind is every reading, with what is worked out of it.
var byKind = func() map[*reading.Kind]*kind {
	by := map[*reading.Kind]*kind{}
	known := laws()
	for _, r := range reading.Kinds() {
		by[r] = &kind{r, known[r.Name]}
	}
	return by
}()

// kindOf returns the reading of that name, or nil.
func kindOf(name string) *kind { return byKind[reading.Of(name)] }

// question is one reading asked for at one place: taken already, or not yet.
type question struct {
	kind        *kind
	at          string
	run         *run         // of a circuit's or point's reading
	board       *model.Board // of a board's
	atSupply    bool
	electrode   bool
	conductor   bool
	phase       int // 0, 1 or 2
	instrument  string
	nulled      bool // it is written that its leads were nulled
	renulled    bool // they were, as part of the test
	linkSeen    bool // the link at the board was looked at again
	atTerminals bool // read on the supply side of what opens in the point
	closed      bool // the contactor was seen to close
	noTrip      bool
	how         reading.Ways
	volts       float64 // of an insulation test
	pointOff    bool
	cableAlone  bool
	surgeOut    bool
	known       float64       // step or load put on, A
	gain, null  int           // unknowns of the instrument; −1 for none
	uplift      int           // unknown of a no-trip reading
	leakage     int           // unknown of the insulation
	acc         accuracy      // of its instrument
	u0          float64       // V
	warmer      float64       // K, the conductors above the temperature of the day
	gap         finding.Lacks // why it has no place, or what keeps it from being predicted
	support     []int         // stretches the sound reading rests on
	supported   bool          // that has been worked out
}

// ask places a reading in the wiring.
func (w *wiring) ask(k *kind, at string, how reading.Ways) *question {
	q := &question{kind: k, at: at, volts: 500, gain: -1, null: -1, uplift: -1, leakage: -1, u0: 230}
	if u0, known := w.model.U0().Get(); known {
		q.u0 = float64(u0)
	}
	q.how, q.noTrip = how, how.Has("no-trip")
	if how.Has("250 V") {
		q.volts = 250
	}
	q.renulled = how.Has("leads nulled")
	q.linkSeen = how.Has("link checked")
	q.atTerminals = how.Has("supply terminals")
	q.closed = how.Has("state C")
	alone, off := how.Has("cable alone"), how.Has("electronics off")
	q.cableAlone = alone
	q.pointOff = alone || off || how.Has("point disconnected")
	q.surgeOut = alone || off || how.Has("surge device out")
	q.known = float64(how.Load)
	if how.Power != 0 {
		q.known = float64(how.Power) / q.u0
	}
	q.phase = how.Line()
	w.put(q)
	if k.Name == "Zs" && q.run != nil && len(how.Words) == 0 {
		_, q.noTrip = q.run.circuit.RCD() // a two-wire high-current test would trip it
	}
	return q
}

// put finds the place of a question, or says why it has none.
func (w *wiring) put(q *question) {
	k := q.kind
	switch {
	case q.at == "supply" || q.at == "":
		q.atSupply = true
		if !fits(k, q) {
			q.gap = finding.Cannot(k.Name + " is not read at the supply")
		}
	case k.Place == "electrode":
		q.gap = finding.Lacks{{Path: (&works.Electrode{Name: q.at}).Thing().Path, What: "electrode " + q.at}}
		for e := range w.electrodes {
			if e.Name == q.at {
				q.gap = nil
			}
		}
		q.electrode = slices.ContainsFunc(w.model.Job.Electrodes, func(e works.Electrode) bool { return e.Name == q.at })
	case k.Place == "supply":
		q.gap = finding.Cannot(k.Name + " is read at the supply")
	case k.Place == "conductor":
		q.gap = finding.Cannot("no prediction is made of a conductor on its own")
		q.conductor = slices.Contains(w.model.Job.Supply.Conductors(), q.at)
	default:
		q.run, q.board = w.byEnd[q.at], w.boards[q.at]
		switch {
		case q.run != nil && len(q.run.gap) > 0:
			q.gap = q.run.gap
		case q.run != nil && !k.Dead && k.Class != "pilot" && k.Class != "duty":
			q.gap = q.run.upstream
		case q.board != nil && q.run == nil:
			if _, _, ok := w.board(q.board); !ok || k.Place != "any" {
				q.gap = q.board.Record.Thing().Lack("fed from", "what feeds it")
			}
		case q.run == nil:
			q.gap = finding.Lacks{{Path: "circuits", Of: q.at, What: "no circuit ends there"}}
		}
		if q.run != nil && (k.Place == "point" || k.Place == "rcd") && q.run.circuit.Point == nil {
			q.gap = finding.Cannot(k.Name + " is read at a point")
		}
	}
	if len(q.gap) == 0 && k.predict == nil {
		q.gap = finding.Cannot("no prediction is made of it")
	}
}

// measured is a reading taken, as the circuit laws compare it: a number, or
// one that it lies above or below.
type measured struct {
	amount       float64
	above, below bool
}

// untripped is how long a tester waits at the least before it says that a
// device did not trip: the longest time of the general type.
const untripped = 0.3 // s, BS EN 61008-1

// measured turns what was shown into what is compared. What went off the end
// of a range without a number lies above all that such an instrument shows.
func (w *wiring) measured(q *question, v reading.Value) (measured, bool) {
	switch v.Is {
	case reading.Number, reading.More, reading.Less:
		return measured{v.Amount, v.Is == reading.More, v.Is == reading.Less}, true
	case reading.Right:
		return measured{}, true
	case reading.Wrong:
		return measured{amount: 1}, true
	case reading.Open:
		return measured{amount: q.acc.top, above: true}, true
	case reading.NoTrip:
		if q.kind.Class == "rcd time" {
			return measured{amount: untripped, above: true}, true
		}
		if i, ok := residualOf(q); ok && q.kind.Name == "RCD ramp" {
			return measured{amount: i, above: true}, true
		}
		if i, _, err := w.model.Rules.Limit("dc detection"); err == nil && q.kind.Name == "6 mA d.c." {
			return measured{amount: i, above: true}, true
		}
	}
	return measured{}, false
}

// scale turns an amount into what is compared: itself, or its logarithm.
func (k *kind) scale(v float64) float64 {
	switch k.Compare {
	case "decades":
		return math.Log10(max(v, 1e-9))
	case "inverse":
		return 1000 / max(v, 1e-3)
	}
	return v
}

// slope is how the scale moves with the amount.
func (k *kind) slope(v float64) float64 {
	switch k.Compare {
	case "decades":
		return 1 / (math.Ln10 * max(v, 1e-9))
	case "inverse":
		return -1000 / (max(v, 1e-3) * max(v, 1e-3))
	}
	return 1
}

// unscale is the way back.
func (k *kind) unscale(y float64) float64 {
	switch k.Compare {
	case "decades":
		return math.Pow(10, y)
	case "inverse":
		return 1000 / max(y, 1e-3)
	}
	return y
}

// show prints an amount as a person reads it.
func (k *kind) show(v float64) string {
	if k.Seen() {
		if v > 0.5 {
			return k.Wrong
		}
		return k.Right
	}
	if k.Measure.Unit() == "Ω" && v >= openOhms/2 && k.Compare != "decades" {
		return "open"
	}
	return k.Measure.Show(v)
}
