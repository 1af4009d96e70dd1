package prove

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"

	"chargewright/job"
	"chargewright/model"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/trade"
	"chargewright/works"
)

// Simulated jobs: random sites, instruments and faults. The truth is made with
// the circuit laws in full; the inference sees only what a meter shows.

// randomSite makes a job with one point, on the main board or on a board of
// its own. All of it is invented.
func randomSite(r *rand.Rand) *job.Job {
	j := &job.Job{Name: "simulated", Invented: true, Edition: standard.DefaultEdition()}
	system := pick(r, trade.TNCS, trade.TNCS, trade.TNCS, trade.TNS, trade.TNS, trade.TT)
	phases := pick(r, 1, 1, 3)
	j.Supply.Earthing = quantity.Known(system)
	j.Supply.Phases = quantity.Known(phases)
	j.Supply.Voltage = quantity.Known(quantity.Volts(230))
	how := pick(r, trade.Measured, trade.Measured, trade.Declared)
	switch system {
	case trade.TNCS:
		j.Supply.Ze = stated(quantity.Ohms(uniform(r, 0.06, 0.34)), how)
	case trade.TNS:
		j.Supply.Ze = stated(quantity.Ohms(uniform(r, 0.15, 0.7)), how)
		j.Supply.LineNeutralLoop = stated(quantity.Ohms(uniform(r, 0.1, 0.3)), how)
	case trade.TT:
		j.Supply.Ze = stated(quantity.Ohms(uniform(r, 15, 180)), trade.Measured)
		j.Supply.LineNeutralLoop = stated(quantity.Ohms(uniform(r, 0.1, 0.4)), how)
	}
	j.Supply.Tails = works.Tails{CSA: quantity.Known(quantity.SquareMillimetres(25)), Length: quantity.Known(quantity.Metres(uniform(r, 1, 4)))}
	j.Supply.EarthingConductor = works.ProtectiveRun{CSA: quantity.Known(quantity.SquareMillimetres(16)), Length: quantity.Known(quantity.Metres(uniform(r, 1, 8)))}
	j.Site.Temperature = quantity.Known(quantity.Celsius(math.Round(uniform(r, 2, 28))))
	main := works.Board{Name: "main board", FedFrom: "supply", Phases: quantity.Known(phases)}
	if r.Float64() < 0.5 {
		main.Surge = []works.Surge{{Name: "SPD 1"}}
	}
	j.Boards = []works.Board{main}
	from := "main board"
	if r.Float64() < 0.3 {
		j.Boards = append(j.Boards, works.Board{Name: "sub-board", Phases: quantity.Known(phases)})
		j.Circuits = append(j.Circuits, works.Circuit{Name: "sub-main", From: from, To: "sub-board", Phases: phaseSet(phases),
			Device: breaker(63), Cable: armoured(pick(r, 16.0, 25.0), 3+phases/3*1, trade.CPCArmour), Legs: []works.Leg{randomLeg(r, 8, 50)}})
		from = "sub-board"
	}
	pointPhases := 1
	if phases == 3 && r.Float64() < 0.5 {
		pointPhases = 3
	}
	c := works.Circuit{Name: "point circuit", From: from, To: "CP1", Phases: phaseSet(pointPhases), Device: breaker(40),
		RCD: works.RCD{Type: quantity.Known(trade.TypeA), Residual: quantity.Known(quantity.Amperes(0.03))}, Legs: []works.Leg{randomLeg(r, 4, 45)}}
	switch {
	case pointPhases == 1 && r.Float64() < 0.5:
		c.Cable = works.Cable{Construction: quantity.Known(standard.FlatTwin), Insulation: quantity.Known(standard.Thermoplastic70), Material: quantity.Known(standard.Copper), CSA: quantity.Known(quantity.SquareMillimetres(pick(r, 6.0, 10.0)))}
	default:
		c.Cable = armoured(pick(r, 4.0, 6.0, 10.0), pointPhases+2, pick(r, trade.CPCCore, trade.CPCCoreAndArmour))
	}
	j.Circuits = append(j.Circuits, c)
	p := works.Point{Name: "CP1", Power: quantity.Known(quantity.Watts(7400 * float64(pointPhases))), Phases: quantity.Known(pointPhases), Leakage: quantity.Known(quantity.Amperes(0.002))}
	p.Earthing.Opens = quantity.Known(r.Float64() < 0.4)
	j.Points = []works.Point{p}
	return j
}

func stated[Q any](q Q, how trade.HowKnown) works.Stated[Q] {
	return works.Stated[Q]{Value: quantity.Known(q), KnownBy: quantity.Known(how)}
}

func phaseSet(n int) quantity.Maybe[trade.PhaseSet] {
	if n == 3 {
		return quantity.Known(trade.ThreePhase)
	}
	return quantity.Known(trade.L1)
}

func breaker(rated float64) works.Device {
	return works.Device{Rating: quantity.Known(quantity.Amperes(rated))}
}

func armoured(csa float64, cores int, cpc trade.CPC) works.Cable {
	return works.Cable{Construction: quantity.Known(standard.Armoured), Insulation: quantity.Known(standard.Thermosetting90), Material: quantity.Known(standard.Copper),
		CSA: quantity.Known(quantity.SquareMillimetres(csa)), Cores: quantity.Known(min(cores, 5)), CPC: quantity.Known(cpc)}
}

func randomLeg(r *rand.Rand, least, most float64) works.Leg {
	return works.Leg{Name: "run", Length: quantity.Known(quantity.Metres(math.Round(uniform(r, least, most)))), LengthKnown: quantity.Known(pick(r, trade.Measured, trade.Measured, trade.Declared, trade.Assumed))}
}

func pick[T any](r *rand.Rand, of ...T) T { return of[r.IntN(len(of))] }

func uniform(r *rand.Rand, a, b float64) float64 { return a + r.Float64()*(b-a) }

// truth is one simulated job as it really is.
type truth struct {
	rand    *rand.Rand
	job     *job.Job
	model   *model.Model
	bench   *bench // where it is laid out
	parts   []supposed
	sizes   []float64
	state   *state
	unknown []float64          // of the wiring
	meters  map[string]float64 // gain and null of each instrument
	cables  map[string]float64 // insulation, decades from the usual
	nulled  bool
	usual   []wanted
}

// deviate draws an unknown: mostly normal, sometimes flat, never what the
// inference takes it for exactly.
func deviate(r *rand.Rand) float64 {
	if r.Float64() < 0.3 {
		return uniform(r, -math.Sqrt(3), math.Sqrt(3))
	}
	return r.NormFloat64()
}

// newTruth makes a job with the given number of faults, drawn by their rates.
// It returns the log odds of all faults together as well.
func newTruth(r *rand.Rand, faults int, rules *standard.Rulebook, priors Priors) (*truth, float64) {
	t := &truth{rand: r, job: randomSite(r), meters: map[string]float64{}, cables: map[string]float64{}, nulled: r.Float64() < 0.5}
	t.model = model.New(t.job, rules)
	b, err := newBench(t.model, priors)
	if err != nil {
		panic(err)
	}
	// The places of causes depend on which readings are taken: each as often as
	// people do, and all of them where there are two faults to find.
	for _, want := range usualReadings {
		if r.Float64() > want.often && faults < 2 || want.reading == "phase sequence" && t.job.Supply.Phases.Or(1) == 1 {
			continue
		}
		q := b.ask(kindOf(want.reading), want.at, how(want.function), "tester")
		if _, ok := q.kind.predict(b.wiring.sound(), q); ok && len(q.gap) == 0 {
			b.asked = append(b.asked, q)
			t.usual = append(t.usual, want)
		}
	}
	b.sound = b.wiring.believed()
	var list []supposed
	var odds []float64
	var total float64
	for _, c := range priors.causes {
		if c.key == "slip" || c.key == "other place" || c.is == "state" {
			continue // of the readings, not of the place
		}
		for _, at := range b.placesOf(c) {
			o := c.rate / (1 - c.rate)
			if c.key == "leads" {
				at.nulled = t.nulled
				if t.nulled {
					o *= 0.15
				}
			}
			list, odds = append(list, supposed{c, at}), append(odds, o)
			total += o
		}
	}
	t.bench = b
	t.unknown = make([]float64, b.wiring.unknowns)
	for i := range t.unknown {
		t.unknown[i] = deviate(r)
	}
	t.state = b.sound
	for i := range b.wiring.stretches {
		e := &b.wiring.stretches[i]
		least := 0.2 * e.ohms
		for _, d := range e.drift {
			t.state.ohms[i] += d.by * t.unknown[d.unknown]
		}
		t.state.ohms[i] = max(t.state.ohms[i], least)
	}
	for len(t.parts) < faults {
		at := r.Float64() * total
		for i, o := range odds {
			if at -= o; at > 0 {
				continue
			}
			p := list[i]
			if len(t.parts) == 1 && (t.parts[0].cause == p.cause || t.parts[0].cause.key == p.cause.key) {
				break
			}
			x := p.cause.low * math.Pow(p.cause.high/p.cause.low, r.Float64())
			if p.cause.unit == "sizes" {
				x = 1
				if r.Float64() < 1.0/6 {
					x = 2
				}
			}
			next := t.state.clone()
			if p.cause.change(next, p.where, x) {
				t.state, t.parts, t.sizes = next, append(t.parts, p), append(t.sizes, x)
			}
			break
		}
	}
	return t, total
}

// read takes a reading: what the instrument would show, as a person writes it.
func (t *truth) read(want wanted) (works.Reading, bool) {
	q := t.bench.ask(kindOf(want.reading), want.at, how(want.function), "tester")
	q.nulled = t.nulled
	if len(q.gap) > 0 {
		return works.Reading{}, false
	}
	v, ok := q.kind.predict(t.state, q)
	if !ok {
		return works.Reading{}, false
	}
	out := works.Reading{At: want.at, Reading: want.reading, Function: want.function, Instrument: "tester", LeadsNulled: quantity.Known(t.nulled || q.renulled)}
	amount := v.amount
	for _, d := range v.drifts {
		switch {
		case d.unknown == q.null, d.unknown == q.uplift:
			amount += d.by * t.meter("offset "+q.kind.Class)
		case d.unknown == q.leakage:
			amount *= math.Exp(d.by / v.amount * t.cable(q.kind.Name))
		case d.unknown < len(t.unknown):
			amount += d.by * t.unknown[d.unknown]
		}
	}
	class := q.kind.Class
	if q.noTrip {
		class += " no-trip"
	}
	if q.gain >= 0 {
		amount *= 1 + meterGain*t.meter("gain "+class)
	}
	r, _ := t.state.row(q)
	amount = q.kind.unscale(q.kind.scale(amount) + r.noise*deviate(t.rand))
	switch {
	case q.kind.Seen():
		out.Value = q.kind.show(amount)
		return out, true
	case q.kind.Measure.Unit() == "Ω" && q.kind.Class != "low ohm": // leads nulled wrongly show less than nothing
		amount = max(amount, 0)
	}
	step := q.acc.resolution
	amount = math.Round(amount/step) * step
	unit := q.kind.Measure.Unit()
	if amount > q.acc.top {
		out.Value = fmt.Sprintf("> %g %s", q.acc.top, unit)
	} else {
		out.Value = fmt.Sprintf("%.7g %s", amount, unit)
	}
	if q.kind.Name == "RCD time at IΔn" && amount > 0.3 {
		out.Value = "no trip"
	}
	return out, true
}

func (t *truth) meter(key string) float64 {
	if _, known := t.meters[key]; !known {
		t.meters[key] = deviate(t.rand)
	}
	return t.meters[key]
}

func (t *truth) cable(key string) float64 {
	if _, known := t.cables[key]; !known {
		t.cables[key] = deviate(t.rand)
	}
	return t.cables[key]
}

// wanted is a reading a person takes without being told, and how often.
type wanted struct {
	reading, at, function string
	often                 float64
}

var usualReadings = []wanted{
	{"R1+R2", "CP1", "", 0.95}, {"R1+Rn", "CP1", "", 0.5}, {"R2", "CP1", "", 0.2},
	{"insulation live to earth", "CP1", "500 V", 0.9}, {"insulation between live", "CP1", "500 V", 0.4}, {"polarity", "CP1", "", 0.9},
	{"Ze", "supply", "high current", 0.9}, {"line-neutral loop", "supply", "high current", 0.6}, {"Zs", "CP1", "no-trip", 0.8},
	{"Ipf", "main board", "", 0.5}, {"voltage line to neutral", "supply", "", 0.6}, {"voltage line to earth", "supply", "", 0.5},
	{"RCD time at IΔn", "CP1", "", 0.8}, {"RCD ramp", "CP1", "", 0.3}, {"pilot voltage in state B", "CP1", "", 0.6}, {"pilot voltage in state C", "CP1", "", 0.6},
	{"pilot duty", "CP1", "", 0.5}, {"clamp step", "supply", "2.3 kW", 0.4}, {"phase sequence", "supply", "", 0.5},
}

// firstReadings takes the readings a person takes without being told.
func (t *truth) firstReadings() {
	for _, want := range t.usual {
		if r, ok := t.read(want); ok {
			t.job.Readings = append(t.job.Readings, r)
		}
	}
}

// is reports whether a hypothesis is the truth.
func (t *truth) is(h *hypothesis) bool {
	if len(h.parts) != len(t.parts) {
		return false
	}
	for _, p := range t.parts {
		found := false
		for _, o := range h.parts {
			found = found || o.cause == p.cause && o.where.name == p.where.name && o.where.phase == p.where.phase
		}
		if !found {
			return false
		}
	}
	return true
}

// holds reports whether a hypothesis names a fault there is, and none there is
// not; that nothing is wrong holds where nothing is.
func (t *truth) holds(h *hypothesis) bool {
	if len(t.parts) == 0 || len(h.parts) == 0 {
		return len(t.parts) == len(h.parts)
	}
	for _, o := range h.parts {
		if !slices.ContainsFunc(t.parts, func(p supposed) bool { return o.cause == p.cause && o.where.name == p.where.name }) {
			return false
		}
	}
	return true
}

// words names what is really the matter.
func (t *truth) words() string {
	var out []string
	for _, p := range t.parts {
		out = append(out, p.cause.key)
	}
	return strings.Join(out, " + ")
}
