package prove

import (
	"cmp"
	_ "embed"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"chargewright/finding"
)

//go:embed tests.csv
var testTable string

// Test is a measurement worth making next.
type Test struct {
	Reading  string
	At       string
	Function string
	How      string
	Caution  string
	Minutes  float64
	Risk     float64 // a dead test is 1
	Bits     float64 // what it is expected to tell
	Outcomes []Outcome
}

// Outcome is what one result of a test would mean.
type Outcome struct {
	Low, High finding.Amount
	Shows     string // the band in words
	Means     string
	Chance    float64
}

// candidate is a measurement that could be made.
type candidate struct {
	question      *question
	function, how string
	minutes, risk float64
}

// candidates lists the measurements that may tell the hypotheses apart: at the
// supply, and where any of them supposes something.
func (b *bench) candidates(at []where) []candidate {
	rows, err := table(testTable, "reading,function,at,minutes,risk,how")
	if err != nil {
		panic("prove: " + err.Error()) // a test reads the table
	}
	var runs []*run
	for _, p := range at {
		for r := p.run; r != nil; r = r.feed {
			if !slices.Contains(runs, r) {
				runs = append(runs, r)
			}
		}
	}
	if len(runs) == 0 {
		for _, r := range b.wiring.runs {
			if r.gap == "" && r.circuit.Point != nil && len(runs) < 1 {
				runs = append(runs, r)
			}
		}
	}
	var out []candidate
	put := func(row []string, place string) {
		k := kindOf(row[0])
		q := b.ask(k, place, row[1], b.meterOf(k.class))
		q.nulled = b.instrumentNulled(q.instrument)
		if q.gap != "" {
			return
		}
		if _, ok := k.predict(b.sound, q); !ok {
			return
		}
		minutes, _ := strconv.ParseFloat(row[3], 64)
		risk, _ := strconv.ParseFloat(row[4], 64)
		out = append(out, candidate{q, row[1], row[5], minutes, risk})
	}
	for _, row := range rows {
		switch row[2] {
		case "supply":
			if row[0] != "clamp step" || b.hasClamp() {
				put(row, "supply")
			}
		case "electrode":
			for e := range b.wiring.electrodes {
				put(row, e.Name)
			}
		default:
			for _, r := range runs {
				c := r.circuit
				switch {
				case row[2] == "point" && c.Point == nil, row[2] == "board" && c.Board == nil:
				case strings.Contains(row[1], "surge device out") && (c.From == nil || len(c.From.Record.Surge) == 0):
				case strings.Contains(row[1], "point disconnected") && c.Point == nil:
				default:
					put(row, farEnd(c))
				}
			}
		}
	}
	slices.SortStableFunc(out, func(x, y candidate) int { return strings.Compare(x.question.at, y.question.at) })
	return out
}

// meterOf returns the instrument that readings of this class were taken with.
func (b *bench) meterOf(class string) string {
	for _, q := range b.asked {
		if q.kind.class == class {
			return q.instrument
		}
	}
	return ""
}

// component is one narrow range of one group of hypotheses, as it would show
// in a measurement.
type component struct {
	group           int
	weight          float64
	mean, deviation float64
}

// Gauss-Hermite nodes and weights for seven points, for the mean over a normal
// distribution (Abramowitz and Stegun, Table 25.10).
var hermite = [7][2]float64{{0, 0.457142857142857}, {1.154405394739968, 0.240123178605013}, {-1.154405394739968, 0.240123178605013},
	{2.366759410734541, 0.030757123967586}, {-2.366759410734541, 0.030757123967586}, {3.750439717725742, 0.000548268855972}, {-3.750439717725742, 0.000548268855972}}

// information returns how much a measurement is expected to tell which group is
// the case, in bits:
//
//	formula  I = Σ P(h) ∫ p(y|h) log2( p(y|h) / p(y) ) dy
func information(cs []component, groups int) float64 {
	of := make([]float64, groups)
	var total float64
	for _, c := range cs {
		of[c.group] += c.weight
		total += c.weight
	}
	within := make([]float64, groups)
	var sum float64
	for _, c := range cs {
		for _, node := range hermite {
			y := c.mean + node[0]*c.deviation
			clear(within)
			var all float64
			for _, o := range cs {
				z := (y - o.mean) / o.deviation
				if z > 9 || z < -9 {
					continue
				}
				p := o.weight * math.Exp(-0.5*z*z) / o.deviation
				within[o.group] += p
				all += p
			}
			if all > 0 && within[c.group] > 0 {
				sum += c.weight * node[1] * math.Log2(within[c.group]*total/of[c.group]/all)
			}
		}
	}
	return max(0, sum)
}

// solved is a piece of a hypothesis with its fit, ready to predict from.
type solved struct {
	group  int
	weight float64
	state  *state
	sides  [][2]*state // one deviation of each size above and below; nil where it has none
	fit    *fit
}

// solved fits one piece of a hypothesis.
func (b *bench) solved(h *hypothesis, piece int) *solved {
	parts, sizes := h.parts, h.pieces[piece].sizes
	if n := len(parts); n > 0 && parts[n-1].cause.key == "slip" {
		parts, sizes = parts[:n-1], sizes[:n-1]
	}
	out := &solved{sides: make([][2]*state, len(sizes))}
	out.fit, _ = b.fitOf(h, piece)
	out.state, _ = b.state(parts, sizes)
	for n, z := range sizes {
		if z.deviation == 0 {
			continue
		}
		high, ok1 := b.state(parts, shifted(sizes, n, 1))
		low, ok2 := b.state(parts, shifted(sizes, n, -1))
		if ok1 && ok2 {
			out.sides[n] = [2]*state{high, low}
		}
	}
	return out
}

// solve fits the likeliest pieces of each hypothesis of each group.
func (b *bench) solve(groups []group) []*solved {
	const pieces = 3
	var out []*solved
	for g := range groups {
		for _, h := range groups[g].members {
			order := make([]int, len(h.pieces))
			for i := range order {
				order[i] = i
			}
			slices.SortStableFunc(order, func(i, j int) int { return cmp.Compare(h.pieces[j].log, h.pieces[i].log) })
			order = order[:min(pieces, len(order))]
			total := math.Inf(-1)
			for _, i := range order {
				total = logSum(total, h.pieces[i].log)
			}
			for _, i := range order {
				w := h.chance * math.Exp(h.pieces[i].log-total)
				if w < 1e-3 {
					continue
				}
				s := b.solved(h, i)
				s.group, s.weight = g, w
				out = append(out, s)
			}
		}
	}
	return out
}

// expect predicts a measurement under a solved piece.
func (b *bench) expect(s *solved, q *question) (mean, deviation float64, ok bool) {
	r, ok := s.state.row(q)
	if !ok {
		return 0, 0, false
	}
	for n, side := range s.sides {
		if side[0] == nil || s.state.untouched(b.supportOf(q)) {
			continue
		}
		h, _ := side[0].row(q)
		l, _ := side[1].row(q)
		r.give(b.sizeUnknown(n), (h.mean-l.mean)/2)
	}
	mean, deviation = b.joint.predict(s.fit, &r)
	top := q.kind.scale(q.acc.top)
	if q.acc.top > 0 && mean > top { // off the end of the range
		mean, deviation = top, max(0.02*top, 0.01)
	}
	return mean, deviation, true
}

// nextTest chooses the measurement that tells most for its minutes and risk.
func (b *bench) nextTest(groups []group) *Test {
	all := b.solve(groups)
	grave := energisingIsGrave(groups)
	var best *Test
	var bestScore float64
	for _, c := range b.listed {
		cs := make([]component, 0, len(all))
		for i := range all {
			mean, deviation, ok := b.expect(all[i], c.question)
			if !ok {
				continue
			}
			cs = append(cs, component{all[i].group, all[i].weight, mean, deviation})
		}
		bits := information(cs, len(groups))
		const worth = 0.02             // bits: below this a test is not worth making
		if c.question.beyondOrigin() { // it needs the installation energised
			c.risk *= 1 + 4*grave
		}
		if score := bits / (c.minutes * c.risk); bits > worth && score > bestScore {
			bestScore = score
			best = &Test{Reading: c.question.kind.name, At: c.question.at, Function: c.function, How: c.how, Minutes: c.minutes, Risk: c.risk, Bits: bits,
				Outcomes: outcomes(c.question, cs, groups)}
			if c.question.kind.dead {
				best.Caution = "isolate, lock off, prove the tester, prove dead, prove the tester again"
			} else {
				best.Caution = "live test: the dead tests come first; one trained person in control, shrouded probes, the standard and local rules at hand"
			}
		}
	}
	return best
}

// energisingIsGrave is the chance of a cause under which nothing is to be
// energised.
func energisingIsGrave(groups []group) float64 {
	var chance float64
	for _, g := range groups {
		for _, h := range g.members {
			if slices.ContainsFunc(h.parts, func(p supposed) bool { return strings.Contains(p.cause.danger, "not energise") }) {
				chance += h.chance
			}
		}
	}
	return chance
}

// beyondOrigin reports whether a measurement needs more than the supply to be
// live.
func (q *question) beyondOrigin() bool { return !q.kind.dead && !q.atSupply }

// placeOf is where a cause is; a slip is where its reading was taken.
func (b *bench) placeOf(p supposed) where {
	if p.cause.key == "slip" {
		return where{name: p.where.name, run: b.asked[p.where.reading].run}
	}
	return p.where
}

// outcomes says what each result would mean, the likelier ones first; groups
// that would show the same stand together.
func outcomes(q *question, cs []component, groups []group) []Outcome {
	type band struct{ mean, deviation float64 }
	var out []Outcome
	var bands []band
	alike := map[int]int{}
	for g := range groups {
		var weight, mean, square float64
		for _, c := range cs {
			if c.group == g {
				weight += c.weight
				mean += c.weight * c.mean
				square += c.weight * (c.deviation*c.deviation + c.mean*c.mean)
			}
		}
		if weight < 0.02 {
			continue
		}
		mean /= weight
		deviation := math.Sqrt(max(0, square/weight-mean*mean))
		same := slices.IndexFunc(bands, func(o band) bool { return math.Abs(o.mean-mean) < min(o.deviation, deviation) })
		if same >= 0 {
			out[same].Chance += weight
			if alike[same]++; alike[same] < 3 {
				out[same].Means += "; or " + groups[g].words()
			} else if alike[same] == 3 {
				out[same].Means += "; or another"
			}
			continue
		}
		bands = append(bands, band{mean, deviation})
		o := Outcome{Means: groups[g].words(), Chance: weight}
		low, high := q.kind.unscale(mean-2*deviation), q.kind.unscale(mean+2*deviation)
		if q.kind.words {
			o.Shows = q.kind.show(mean)
		} else {
			if q.kind.measure.Unit() == "Ω" {
				low = max(0, low)
			}
			o.Low, o.High = finding.Of(low, q.kind.measure), finding.Of(high, q.kind.measure)
			o.Shows = fmt.Sprintf("%s to %s", q.kind.show(low), q.kind.show(high))
			if q.acc.top > 0 && q.kind.unscale(mean) >= q.acc.top*0.99 {
				o.Shows = "more than the meter can show"
			}
		}
		out = append(out, o)
	}
	return out[:min(len(out), 4)]
}
