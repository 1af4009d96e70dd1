package prove

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"chargewright/finding"
	"chargewright/model"
	"chargewright/quantity"
)

// kind is one reading of the test sequence: what it is called, where it is
// taken, in which unit, and how it follows from the wiring.
type kind struct {
	name    string
	also    []string // other ways people write it
	class   string   // of instrument
	dead    bool
	log     bool   // known to a share, over decades: compared by its logarithm
	inverse bool   // compared by its inverse, as the loop it was worked out from
	right   string // for what is seen and not measured, what is written where it is as it must be
	wrong   string // and where it is not; both empty for what has a number
	measure finding.Measure
	bare    string // unit meant where only a number is written
	places  string // supply, board, circuit, point, electrode, any
	predict func(s *state, q *question) (value, bool)
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

var kinds = []*kind{
	{name: "R1+R2", also: []string{"r1r2", "continuity r1+r2"}, class: "low ohm", dead: true, measure: quantity.Ohms(0).Measure(), bare: "Ω", places: "circuit", predict: predictR1R2},
	{name: "R2", also: []string{"wandering lead"}, class: "low ohm", dead: true, measure: quantity.Ohms(0).Measure(), bare: "Ω", places: "circuit", predict: predictR2},
	{name: "R1+Rn", also: []string{"r1rn"}, class: "low ohm", dead: true, measure: quantity.Ohms(0).Measure(), bare: "Ω", places: "circuit", predict: predictR1Rn},
	{name: "earthing conductor", also: []string{"continuity of earthing conductor"}, class: "low ohm", dead: true, measure: quantity.Ohms(0).Measure(), bare: "Ω", places: "supply", predict: predictEarthing},
	{name: "leads together", also: []string{"leads", "probes together"}, class: "low ohm", dead: true, measure: quantity.Ohms(0).Measure(), bare: "Ω", places: "any", predict: predictLeads},
	{name: "insulation live to earth", also: []string{"ir l-e", "insulation l-e", "insulation resistance live to earth", "ir"}, class: "insulation", dead: true, log: true, measure: quantity.Ohms(0).Measure(), bare: "MΩ", places: "circuit", predict: predictInsulation(liveToEarth)},
	{name: "insulation between live", also: []string{"ir l-n", "insulation l-n", "insulation between live conductors"}, class: "insulation", dead: true, log: true, measure: quantity.Ohms(0).Measure(), bare: "MΩ", places: "circuit", predict: predictInsulation(betweenLive)},
	{name: "insulation line to earth", also: []string{"ir line-earth"}, class: "insulation", dead: true, log: true, measure: quantity.Ohms(0).Measure(), bare: "MΩ", places: "circuit", predict: predictInsulation(lineToEarth)},
	{name: "insulation neutral to earth", also: []string{"ir n-e", "insulation n-e"}, class: "insulation", dead: true, log: true, measure: quantity.Ohms(0).Measure(), bare: "MΩ", places: "circuit", predict: predictInsulation(neutralToEarth)},
	{name: "polarity", class: "seen", dead: true, right: "correct", wrong: "not correct", places: "circuit", predict: predictPolarity},
	{name: "RA", also: []string{"electrode", "earth electrode"}, class: "electrode", dead: true, log: true, measure: quantity.Ohms(0).Measure(), bare: "Ω", places: "electrode", predict: predictElectrode},
	{name: "voltage line to neutral", also: []string{"u l-n", "l-n voltage"}, class: "voltage", measure: quantity.Volts(0).Measure(), bare: "V", places: "any", predict: predictVoltage("LN")},
	{name: "voltage line to earth", also: []string{"u l-e", "l-e voltage"}, class: "voltage", measure: quantity.Volts(0).Measure(), bare: "V", places: "any", predict: predictVoltage("LE")},
	{name: "voltage neutral to earth", also: []string{"u n-e", "n-e voltage"}, class: "voltage", measure: quantity.Volts(0).Measure(), bare: "V", places: "any", predict: predictVoltage("NE")},
	{name: "voltage earth to remote spike", also: []string{"earth to spike"}, class: "voltage", measure: quantity.Volts(0).Measure(), bare: "V", places: "supply", predict: predictSpike},
	{name: "phase sequence", also: []string{"phase rotation"}, class: "seen", right: "L1 L2 L3", wrong: "L1 L3 L2", places: "any", predict: predictSequence},
	{name: "Ze", also: []string{"external loop"}, class: "loop", measure: quantity.Ohms(0).Measure(), bare: "Ω", places: "supply", predict: predictZe},
	{name: "line-neutral loop", also: []string{"l-n loop", "ln loop", "loop l-n"}, class: "loop", measure: quantity.Ohms(0).Measure(), bare: "Ω", places: "any", predict: predictNeutralLoop},
	{name: "Zs", also: []string{"earth loop", "loop l-e"}, class: "loop", measure: quantity.Ohms(0).Measure(), bare: "Ω", places: "any", predict: predictZs},
	{name: "Ipf", also: []string{"pfc", "prospective fault current", "pefc", "pscc"}, class: "fault current", inverse: true, measure: quantity.Amperes(0).Measure(), bare: "kA", places: "any", predict: predictIpf},
	{name: "voltage fall under load", also: []string{"volt fall", "fall under load"}, class: "voltage", measure: quantity.Volts(0).Measure(), bare: "V", places: "any", predict: predictFall},
	{name: "RCD time at IΔn", also: []string{"rcd time", "rcd x1", "rcd 1x"}, class: "rcd time", log: true, measure: quantity.Seconds(0).Measure(), bare: "ms", places: "point", predict: predictRCDTime},
	{name: "RCD at half IΔn", also: []string{"rcd half", "rcd x1/2"}, class: "seen", right: "does not trip", wrong: "trips", places: "point", predict: predictHalf},
	{name: "RCD ramp", also: []string{"ramp", "rcd ramp current"}, class: "rcd current", measure: quantity.Amperes(0).Measure(), bare: "mA", places: "point", predict: predictRamp},
	{name: "6 mA d.c.", also: []string{"dc detection", "rdc-dd"}, class: "rcd current", measure: quantity.Amperes(0).Measure(), bare: "mA", places: "point", predict: predictDirect},
	{name: "protective conductor current", also: []string{"leakage", "clamp on cpc"}, class: "leakage clamp", measure: quantity.Amperes(0).Measure(), bare: "mA", places: "point", predict: predictLeakage},
	{name: "RCD test button", also: []string{"rcd button"}, class: "seen", right: "works", wrong: "does not work", places: "circuit", predict: predictInOrder},
	{name: "SPD indicator", also: []string{"surge indicator", "spd status"}, class: "seen", right: "good", wrong: "spent", places: "any", predict: predictInOrder},
	{name: "pilot voltage in state A", class: "pilot", measure: quantity.Volts(0).Measure(), bare: "V", places: "point", predict: predictPilot("A")},
	{name: "pilot voltage in state B", class: "pilot", measure: quantity.Volts(0).Measure(), bare: "V", places: "point", predict: predictPilot("B")},
	{name: "pilot voltage in state C", class: "pilot", measure: quantity.Volts(0).Measure(), bare: "V", places: "point", predict: predictPilot("C")},
	{name: "pilot negative peak", class: "pilot", measure: quantity.Volts(0).Measure(), bare: "V", places: "point", predict: predictPilot("negative")},
	{name: "pilot duty", also: []string{"duty"}, class: "duty", measure: quantity.Percent(0).Measure(), bare: "%", places: "point", predict: predictDuty},
	{name: "clamp step", also: []string{"clamp reading", "clamp change"}, class: "clamp", measure: quantity.Amperes(0).Measure(), bare: "A", places: "any", predict: predictClamp},
}

// kindNames finds a kind by any of its names.
var kindNames = func() map[string]*kind {
	m := map[string]*kind{}
	for _, k := range kinds {
		m[plainName(k.name)] = k
		for _, a := range k.also {
			m[plainName(a)] = k
		}
	}
	return m
}()

// kindOf returns the reading of that name, or nil.
func kindOf(name string) *kind { return kindNames[plainName(name)] }

// plainName takes out what does not tell two names apart.
func plainName(s string) string {
	return strings.Map(func(r rune) rune {
		switch r {
		case ' ', '.', '-', '_', '(', ')', '\u00a0', '\u2011':
			return -1
		}
		return r
	}, strings.ToLower(s))
}

// question is one reading asked for at one place: taken already, or not yet.
type question struct {
	kind        *kind
	at          string
	run         *run         // of a circuit's or point's reading
	board       *model.Board // of a board's
	atSupply    bool
	phase       int // 0, 1 or 2
	instrument  string
	nulled      bool // it is written that its leads were nulled
	renulled    bool // they were, as part of the test
	linkSeen    bool // the link at the board was looked at again
	atTerminals bool // read on the supply side of what opens in the point
	closed      bool // the contactor was seen to close
	noTrip      bool
	volts       float64 // of an insulation test
	pointOff    bool
	surgeOut    bool
	known       float64  // step or load put on, A
	gain, null  int      // unknowns of the instrument; −1 for none
	uplift      int      // unknown of a no-trip reading
	leakage     int      // unknown of the insulation
	acc         accuracy // of its instrument
	u0          float64  // V
	warmer      float64  // K, the conductors above the temperature of the day
	gap         string
	support     []int // stretches the sound reading rests on
	supported   bool  // that has been worked out
}

// ask places a reading in the wiring.
func (w *wiring) ask(k *kind, at, function string) *question {
	q := &question{kind: k, at: at, volts: 500, gain: -1, null: -1, uplift: -1, leakage: -1, u0: 230}
	if u0, known := w.model.U0().Get(); known {
		q.u0 = float64(u0)
	}
	f := strings.ToLower(function)
	q.noTrip = strings.Contains(f, "no-trip") || strings.Contains(f, "no trip")
	if strings.Contains(f, "250 v") || strings.Contains(f, "250v") {
		q.volts = 250
	}
	q.renulled = strings.Contains(f, "leads nulled")
	q.linkSeen = strings.Contains(f, "link checked")
	q.atTerminals = strings.Contains(f, "supply terminals")
	q.closed = strings.Contains(f, "state c")
	alone := strings.Contains(f, "cable alone")
	q.pointOff = alone || strings.Contains(f, "point disconnected") || strings.Contains(f, "electronics off")
	q.surgeOut = alone || strings.Contains(f, "surge device out") || strings.Contains(f, "electronics off")
	q.known = knownStep(function, q.u0)
	for i, line := range []string{"l1", "l2", "l3"} {
		for _, word := range strings.FieldsFunc(f, func(r rune) bool { return r == ' ' || r == ',' || r == ';' }) {
			if word == line {
				q.phase = i
			}
		}
	}
	switch {
	case at == "supply" || at == "":
		q.atSupply, q.gap = true, ""
		if k.places == "circuit" || k.places == "point" || k.places == "electrode" {
			q.gap = k.name + " is not read at the supply"
		}
	case k.places == "electrode":
		q.gap = "electrode " + at
		for e := range w.electrodes {
			if e.Name == at {
				q.gap = ""
			}
		}
	case k.places == "supply":
		q.gap = k.name + " is read at the supply"
	default:
		q.run = w.byEnd[at]
		q.board = w.boards[at]
		switch {
		case q.run != nil && q.run.gap != "":
			q.gap = q.run.gap
		case q.run != nil && !k.dead && k.class != "pilot" && k.class != "duty":
			q.gap = q.run.upstream
		case q.board != nil && q.run == nil:
			if _, _, ok := w.board(q.board); !ok || k.places == "circuit" || k.places == "point" {
				q.gap = "board " + at + ": what feeds it"
			}
		case q.run == nil:
			q.gap = at + ": no circuit ends there"
		}
		if q.run != nil && k.places == "point" && q.run.circuit.Point == nil {
			q.gap = k.name + " is read at a point"
		}
	}
	if k.name == "Zs" && q.run != nil && function == "" {
		_, q.noTrip = q.run.circuit.RCD() // a two-wire high-current test would trip it
	}
	return q
}

// knownStep reads the current put on for a test from words such as "3 kW",
// "20 A load".
func knownStep(function string, u0 float64) float64 {
	words := strings.Fields(function)
	for i, word := range words {
		for _, text := range []string{word, strings.Join(words[i:min(i+2, len(words))], " ")} {
			if p, err := quantity.ParseWatts(text); err == nil && strings.HasSuffix(text, "W") {
				return float64(p) / u0
			}
			if a, err := quantity.ParseAmperes(text); err == nil && strings.HasSuffix(text, "A") {
				return float64(a)
			}
		}
	}
	return 0
}

// seen reports that a reading is seen and has no number.
func (k *kind) seen() bool { return k.right != "" }

// Reading values that are words, besides those the kind itself has.
var rightWords = []string{"correct", "right", "ok", "yes", "pass", "good", "works", "confirmed", "in order", "held", "holds", "no trip", "does not trip", "l1-l2-l3", "l1 l2 l3", "clockwise"}
var wrongWords = []string{"not correct", "incorrect", "wrong", "reversed", "no", "fail", "not good", "does not work", "trips", "tripped", "l1-l3-l2", "l3 l2 l1", "anticlockwise"}

// measured is the value of a reading taken: a number in the kind's unit, or
// beyond what the instrument can show.
type measured struct {
	amount       float64
	above, below bool
}

// parseValue reads what an instrument showed.
func (k *kind) parseValue(text string) (measured, error) {
	text = strings.TrimSpace(text)
	if k.seen() {
		return k.parseWord(text)
	}
	var m measured
	lower := strings.ToLower(text)
	for _, open := range []string{"open", "open circuit", "ol", "∞"} {
		if lower == open {
			return measured{amount: 2000, above: true}, nil
		}
	}
	if k.name == "RCD time at IΔn" && (lower == "no trip" || lower == "did not trip") {
		return measured{amount: 0.3, above: true}, nil
	}
	if rest, ok := strings.CutPrefix(text, ">"); ok {
		m.above, text = true, strings.TrimSpace(strings.TrimPrefix(rest, "="))
	} else if rest, ok := strings.CutPrefix(text, "<"); ok {
		m.below, text = true, strings.TrimSpace(strings.TrimPrefix(rest, "="))
	}
	if _, err := strconv.ParseFloat(text, 64); err == nil {
		text += " " + k.bare
	}
	var err error
	switch k.measure.Unit() {
	case "Ω":
		m.amount, err = number(quantity.ParseOhms(text))
	case "A":
		m.amount, err = number(quantity.ParseAmperes(text))
	case "V":
		m.amount, err = number(quantity.ParseVolts(text))
	case "s":
		m.amount, err = number(quantity.ParseSeconds(text))
	default:
		m.amount, err = number(quantity.ParsePercent(text))
	}
	if err == nil && k.class == "insulation" && m.amount < leastInsulation { // 0.00 MΩ on the display
		m.amount, m.below = leastInsulation, true
	}
	return m, err
}

// leastInsulation is the least an insulation tester shows besides nothing.
const leastInsulation = 1e4

func number[Q ~float64](q Q, err error) (float64, error) { return float64(q), err }

func (k *kind) parseWord(text string) (measured, error) {
	lower := strings.ToLower(text)
	if lower == strings.ToLower(k.wrong) || slices.Contains(wrongWords, lower) {
		return measured{amount: 1}, nil
	}
	if lower == strings.ToLower(k.right) || slices.Contains(rightWords, lower) {
		return measured{amount: 0}, nil
	}
	return measured{}, &quantity.Error{Found: text, Why: "says neither right nor wrong: write " + k.right + " or " + k.wrong}
}

// SeenRight reports that what was seen, as it is written down, is as it must
// be.
func SeenRight(reading, value string) bool {
	k := kindOf(reading)
	if k == nil {
		k = &kind{}
	}
	v, err := k.parseWord(strings.TrimSpace(value))
	return err == nil && v.amount == 0
}

// scale turns an amount into what is compared: itself, or its logarithm.
func (k *kind) scale(v float64) float64 {
	switch {
	case k.log:
		return math.Log10(max(v, 1e-9))
	case k.inverse:
		return 1000 / max(v, 1e-3)
	}
	return v
}

// slope is how the scale moves with the amount.
func (k *kind) slope(v float64) float64 {
	switch {
	case k.log:
		return 1 / (math.Ln10 * max(v, 1e-9))
	case k.inverse:
		return -1000 / (max(v, 1e-3) * max(v, 1e-3))
	}
	return 1
}

// unscale is the way back.
func (k *kind) unscale(y float64) float64 {
	switch {
	case k.log:
		return math.Pow(10, y)
	case k.inverse:
		return 1000 / max(y, 1e-3)
	}
	return y
}

// show prints an amount as a person reads it.
func (k *kind) show(v float64) string {
	if k.seen() {
		if v > 0.5 {
			return k.wrong
		}
		return k.right
	}
	if k.measure.Unit() == "Ω" && v >= openOhms/2 && !k.log {
		return "open"
	}
	return k.measure.Show(v)
}
