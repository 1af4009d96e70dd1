package prove

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"chargewright/finding"
	"chargewright/model"
	"chargewright/reading"
	"chargewright/works"
)

// bench is the readings of a job laid out beside its wiring.
type bench struct {
	model    *model.Model // of the job as it stands; the wiring knows nothing of what was read of its supply
	wiring   *wiring
	priors   Priors
	seen     []*symptom // in use
	flags    []string   // what stands in for the record
	classes  map[string]accuracy
	meters   map[string][2]int // by instrument and class: unknowns of gain and null
	leakages map[string]int    // by circuit and pair
	sound    *state
	before   *state      // the same before an electrode was read
	soil     float64     // Ω, an electrode whose resistance only its readings tell; 0 for none
	readings []taken     // every reading of the job, in the order it was taken
	asked    []*question // those that can be compared with a prediction
	values   []measured
	reading  []int // which of readings each asked one is
	exact    []int // of asked: those with a number
	beyond   []int // of asked: those off the end of a range
	joint    *joint
	listed   []candidate // measurements that may be suggested

	firstSize int              // unknown of the first cause's size; the second follows it
	resting   [][]int          // of each stretch: which of asked rest on it
	ofClass   map[string][]int // which of asked are of a class
	ofRun     map[*run][]int   // and of a run
	slot      []int            // of each of asked: where in exact it stands; −1 and below where in beyond
	mark      []int            // memory to gather them in
	marks     int
	spare     fit // memory for likelihoods nobody looks further into

	judged      []reading.Judged // every reading held against its limit, once it was asked for
	soundRows   []row
	soundChance float64
	every       []int       // of grounds: all
	stirred     []bool      // of exact: those that some state makes something else of
	steady      bool        // no state alters the chance of a reading off the end of a range
	likely      []int       // and those that the readings leave open in a sound place
	fits        []groundFit // of each of grounds, with nothing wrong
	grounds     []ground    // states that a sound place may be in, the first being the usual one
	apart       []float64   // of each exact reading from what all the others make of it, nothing being wrong
	soundLog    float64     // log likelihood of the sound job
}

// taken is one reading and why it could not be compared, if so.
type taken struct {
	record works.Reading
	kind   *kind
	value  measured
	gap    finding.Lacks // why it is not compared
	index  int           // in asked, or −1
	again  int           // the reading that stands in its place, or −1
	asked  *question     // nil where it has no prediction
}

// newBench places every reading of the job.
func newBench(m *model.Model, p Priors) (*bench, error) {
	classes, err := accuracies()
	if err != nil {
		return nil, err
	}
	own := func(r *works.Reading) bool { // what is read of the supply is held against it
		k := r.Kind()
		return k != nil && (k.Name == "Ze" && r.At == "supply" || k.Name == "RA" && r.At == m.Job.Supply.Electrode)
	}
	record, guessed, flags := standIn(m)
	if slices.ContainsFunc(m.Job.Readings, func(r works.Reading) bool { return own(&r) }) {
		record = record.Unread(own)
	}
	b := &bench{model: m, flags: flags, wiring: newWiringOf(record, guessed), priors: p, classes: classes, meters: map[string][2]int{}, leakages: map[string]int{}}
	replaced := Replaced(m)
	for i, r := range m.Job.Readings {
		b.take(r, replaced[i])
	}
	b.before = b.wiring.believed()
	b.readSoil()
	b.firstSize = b.wiring.unknown()
	for range mostParts - 1 {
		b.wiring.unknown()
	}
	b.settle()
	return b, nil
}

// take places one reading; again is the later one that stands in its place.
func (b *bench) take(r works.Reading, again int) {
	t := taken{record: r, kind: kindOf(r.Reading), index: -1, again: again}
	if t.kind == nil {
		t.gap = finding.Cannot(fmt.Sprintf("no prediction is made of %q", r.Reading))
		b.readings = append(b.readings, t)
		return
	}
	shown, err := r.Shown()
	ways, wrong := r.Ways()
	if t.kind.Class == "low ohm" && shown.Is == reading.Number && shown.Amount < 0 { // no resistance, but what leads nulled wrongly show
		err = nil
	}
	if err = cmp.Or(err, wrong); err != nil || shown.Is == reading.NotDone {
		t.gap = finding.Cannot("it was not taken")
		if err != nil {
			t.gap = finding.Cannot(err.Error())
		}
		b.readings = append(b.readings, t)
		return
	}
	q := b.ask(t.kind, r.At, ways, r.Instrument)
	if c, ok := r.Temperature.Get(); ok {
		q.warmer = float64(c - b.wiring.model.TestTemperature())
	}
	q.nulled = r.LeadsNulled.Or(b.instrumentNulled(r.Instrument)) && !ways.Has("leads not nulled")
	t.gap = q.gap
	v, compared := measured{}, false
	if len(t.gap) == 0 {
		v, compared = b.wiring.measured(q, shown)
		t.value = v
		if _, ok := t.kind.predict(b.wiring.sound(), q); !ok || !compared {
			t.gap = finding.Cannot("the record does not say enough to predict it")
		}
	}
	if len(t.gap) == 0 {
		t.asked = q
	}
	if again >= 0 && len(t.gap) == 0 {
		t.gap = finding.Cannot(fmt.Sprintf("it was taken again: %s stands in its place", b.model.Job.Readings[again].Value))
	}
	if len(t.gap) == 0 {
		t.index = len(b.asked)
		b.asked = append(b.asked, q)
		b.values = append(b.values, v)
		b.reading = append(b.reading, len(b.readings))
	}
	b.readings = append(b.readings, t)
}

func (b *bench) instrumentNulled(name string) bool {
	for _, i := range b.wiring.model.Job.Instruments {
		if i.Name == name {
			return i.LeadsNulled.Or(false)
		}
	}
	return false
}

// ask places a reading, with the unknowns of its instrument.
func (b *bench) ask(k *kind, at string, how reading.Ways, instrument string) *question {
	q := b.wiring.ask(k, at, how)
	q.instrument = instrument
	class := k.Class
	if q.noTrip && class == "loop" {
		class = "loop no-trip"
	}
	if k.Name == "6 mA d.c." {
		class = "direct current"
	}
	q.acc = b.classes[class]
	if k.Class == "low ohm" || k.Class == "loop" {
		key := instrument + "\x00" + class
		if _, known := b.meters[key]; !known {
			b.meters[key] = [2]int{b.wiring.unknown(), b.wiring.unknown()}
		}
		q.gain = b.meters[key][0]
		if k.Class == "low ohm" {
			q.null = b.meters[key][1]
		}
		if q.noTrip {
			q.uplift = b.meters[key][1]
		}
	}
	if k.Class == "insulation" && q.run != nil {
		key := farEnd(q.run.circuit) + "\x00" + k.Name
		if _, known := b.leakages[key]; !known {
			b.leakages[key] = b.wiring.unknown()
		}
		q.leakage = b.leakages[key]
	}
	return q
}

// settle makes the sound job's prediction of the readings.
func (b *bench) settle() {
	b.sound = b.wiring.believed()
	b.exact, b.beyond = nil, nil
	var y []float64
	for i, v := range b.values {
		if v.above || v.below {
			b.beyond = append(b.beyond, i)
			continue
		}
		b.exact = append(b.exact, i)
		y = append(y, b.asked[i].kind.scale(v.amount))
	}
	b.slot, b.soundRows, b.soundChance = make([]int, len(b.asked)), make([]row, len(b.exact)), 0
	for k, i := range b.exact {
		b.slot[i] = k
		b.soundRows[k], _ = b.sound.row(b.asked[i])
	}
	for n, i := range b.beyond {
		b.slot[i] = -1 - n
		r, _ := b.sound.row(b.asked[i])
		b.soundChance += logBeyond(b.asked[i], b.values[i], &r)
	}
	b.index()
	b.joint = newJoint(y, b.soundRows)
}

// meterGain is how far one instrument is out as a whole, one deviation.
const meterGain = 0.02

// row predicts one reading under a state.
func (s *state) row(q *question) (row, bool) {
	v, ok := q.kind.predict(s, q)
	if !ok {
		return row{}, false
	}
	if q.warmer != 0 {
		v.amount += s.warming(v.weights, q.warmer) * v.times
	}
	r := row{mean: q.kind.scale(v.amount), unknown: make([]int32, 0, 16), by: make([]float64, 0, 16)}
	slope := q.kind.slope(v.amount)
	if q.kind.Compare == "decades" && v.amount < q.acc.resolution { // below the last digit a decade is no decade
		slope = q.kind.slope(q.acc.resolution)
	}
	moving := 0.0
	for _, w := range v.weights {
		d, scale := s.drifts(w.stretch)
		for _, x := range d {
			r.put(x.unknown, x.by*scale*w.share*v.times*slope)
		}
		if slices.Contains(s.loose, w.stretch) {
			moving += 0.04 * (s.ohms[w.stretch] - s.wiring.belief[w.stretch]) * w.share * math.Abs(v.times)
		}
	}
	for _, x := range v.drifts {
		r.put(x.unknown, x.by*slope)
	}
	if q.gain >= 0 {
		r.put(q.gain, meterGain*v.amount*slope)
	}
	r.noise = math.Hypot(math.Hypot(q.acc.deviation(v.amount), v.extra), moving) * math.Abs(slope)
	if r.noise == 0 {
		r.noise = 1e-6
	}
	return r, true
}

// mean is the same without what is not known about it.
func (s *state) mean(q *question) float64 {
	v, _ := q.kind.predict(s, q)
	if q.warmer != 0 {
		v.amount += s.warming(v.weights, q.warmer) * v.times
	}
	return q.kind.scale(v.amount)
}

// warming is what conductors some kelvin above the temperature of the day add
// to a loop they are part of:
//
//	formula  R × 0.004 ΔT / (1 + 0.004 (T − 20)), T being that of the day
//	clause   BS 7671 Appendix 4; IET On-Site Guide Table I2
func (s *state) warming(weights []weight, kelvin float64) float64 {
	day := 1 + perDegree*float64(s.wiring.model.TestTemperature()-20)
	var added float64
	for _, w := range weights {
		d, _ := s.drifts(w.stretch)
		for _, x := range d {
			if x.unknown == s.wiring.warmth { // it is a conductor
				added += s.ohms[w.stretch] * w.share * perDegree * kelvin / day
			}
		}
	}
	return added
}

// support lists the stretches a reading rests on. What is no resistance of
// stretches rests on those of its way back, since a path that should not be
// there changes it.
func (s *state) support(q *question) []int {
	v, _ := q.kind.predict(s, q)
	out := []int{}
	put := func(ws []weight) {
		for _, w := range ws {
			out = append(out, w.stretch)
		}
	}
	put(v.weights)
	switch q.kind.Class {
	case "low ohm", "loop", "pilot", "duty", "clamp", "leakage clamp":
		return out
	}
	at, line := s.place(q)
	out = append(out, line...)
	for _, end := range []node{at.n, at.e} {
		_, back := s.between(end, s.wiring.star.n)
		put(back)
	}
	return out
}

// supportOf is the support of a question, worked out once.
func (b *bench) supportOf(q *question) []int {
	if !q.supported {
		q.support, q.supported = b.sound.support(q), true
	}
	return q.support
}

// untouched reports whether a state leaves a reading of that support as the
// sound job has it.
func (s *state) untouched(q *question, support []int) bool {
	if s.whole {
		return false
	}
	for _, a := range s.alters {
		if (a.class == "" || a.class == q.kind.Class) && (a.run == nil || a.run == q.run) {
			return false
		}
	}
	for _, t := range s.touched {
		if slices.Contains(support, t) {
			return false
		}
	}
	return true
}

// index notes which readings each stretch, each class and each run has.
func (b *bench) index() {
	b.resting, b.ofClass, b.ofRun = make([][]int, len(b.wiring.stretches)), map[string][]int{}, map[*run][]int{}
	b.mark = make([]int, len(b.asked))
	for i, q := range b.asked {
		for _, t := range b.supportOf(q) {
			if t < len(b.resting) && (len(b.resting[t]) == 0 || b.resting[t][len(b.resting[t])-1] != i) {
				b.resting[t] = append(b.resting[t], i)
			}
		}
		b.ofClass[q.kind.Class] = append(b.ofClass[q.kind.Class], i)
		b.ofRun[q.run] = append(b.ofRun[q.run], i)
	}
}

// touchedBy lists the readings that a state may make something else of, in the
// order taken.
func (b *bench) touchedBy(s *state) []int {
	b.marks++
	var out []int
	put := func(of []int) {
		for _, i := range of {
			if b.mark[i] != b.marks {
				b.mark[i] = b.marks
				out = append(out, i)
			}
		}
	}
	if s.whole {
		for i := range b.asked {
			out = append(out, i)
		}
		return out
	}
	for _, t := range s.touched {
		if t < len(b.resting) {
			put(b.resting[t])
		}
	}
	for _, a := range s.alters {
		of := b.ofClass[a.class]
		if a.run != nil {
			of = b.ofRun[a.run]
		}
		for k, i := range of {
			if a.class == "" || b.asked[i].kind.Class == a.class {
				put(of[k : k+1])
			}
		}
	}
	slices.Sort(out)
	return out
}

func (r *row) same(o *row) bool {
	if len(r.by) > 0 && len(r.by) == len(o.by) && &r.by[0] == &o.by[0] {
		return true
	}
	return r.mean == o.mean && r.noise == o.noise && slices.Equal(r.by, o.by) && slices.Equal(r.unknown, o.unknown)
}

// logBeyond is the log of the chance of a reading off the end of a range.
func logBeyond(q *question, v measured, r *row) float64 {
	z := (r.mean - q.kind.scale(v.amount)) / r.deviation()
	if v.below {
		z = -z
	}
	const slip = 1e-4 // somebody writes the wrong sign
	return math.Log(slip + (1-slip)*0.5*math.Erfc(-z/math.Sqrt2))
}

func (b *bench) hasClamp() bool {
	return slices.ContainsFunc(b.readings, func(t taken) bool { return t.kind != nil && t.kind.Class == "clamp" })
}

// metersOf lists the instruments that readings of a class were taken with.
func (b *bench) metersOf(class string) []string {
	var out []string
	for _, q := range b.asked {
		if q.kind.Class == class && !slices.Contains(out, q.instrument) {
			out = append(out, q.instrument)
		}
	}
	return out
}

// nulledAll reports whether every low-ohm reading of an instrument says that
// its leads were nulled.
func (b *bench) nulledAll(instrument string) bool {
	for _, q := range b.asked {
		if q.kind.Class == "low ohm" && q.instrument == instrument && !q.nulled {
			return false
		}
	}
	return true
}
