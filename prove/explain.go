package prove

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"chargewright/finding"
	"chargewright/model"
	"chargewright/quantity"
)

// Explanation says how the readings of a job agree, what most probably is the
// matter where they do not, and which measurement would tell.
type Explanation struct {
	Job      string
	Readings []Residual
	Causes   []Cause // likelier first; that no fault shows is one of them. What the readings do not touch is left out
	Rest     float64 // chance of what these readings cannot show, and of all that is too unlikely to be listed
	NextTest *Test   // nil where none would tell more
	Excluded []Exclusion
	Flags    []string
}

// Sound reports whether it is likeliest that no fault shows.
func (e Explanation) Sound() bool { return len(e.Causes) > 0 && e.Causes[0].Key == "" }

// Cause is one explanation that the readings speak for, with what it would make of others.
type Cause struct {
	Key         string // of the table of causes; empty where no fault shows, None where it is on no list
	Cause       string
	Where       string
	Probability float64
	Size        string   // how large it would be
	Alike       []string // causes no measurement here can tell from it
	Predicts    []Predicted
	Plan        []Step  // the tests that would single it out, if it is the case
	Then        float64 // and the chance it would have after them
	Danger      string
	Acts        []string // who must act
	Next        string
	Faults      []string // of the rulebook's table of faults
	Source      string   // where its rate and size are from
}

// Likely prints the probability. Nothing is ever certain.
func (c Cause) Likely() string {
	switch {
	case c.Probability > 0.995:
		return "> 99 %"
	case c.Probability < 0.005:
		return "< 1 %"
	}
	return fmt.Sprintf("%.0f %%", 100*c.Probability)
}

// Predicted is what a reading would be, were a cause the case.
type Predicted struct {
	Reading, At    string
	Low, Mid, High finding.Amount
	Shows          string
	Taken          string // what was read; empty where nothing was yet
}

// Explain weighs what may be the matter with the readings of a job.
//
// The inference is Bayes' rule. What is not exactly known (lengths,
// conductors, temperature, Ze, joints, instruments) is normally distributed
// and integrated in closed form, the readings being nearly straight lines in
// it; the size of a fault is cut into narrow ranges and integrated over each.
// Probabilities are as good as the rates put in, which are engineering
// judgement. What was seen in use, by the names of Symptoms, is weighed with them.
func Explain(m *model.Model, p Priors, seen ...string) (Explanation, error) {
	b, err := newBench(m, p)
	if err != nil {
		return Explanation{}, err
	}
	if b.seen, err = symptomsOf(seen); err != nil {
		return Explanation{}, err
	}
	out := Explanation{Job: m.Job.Name, Flags: slices.Concat(b.order(), m.Outside.Assumed, b.flags, b.spikesNear(), p.said())}
	if len(b.asked) == 0 && len(seen) == 0 {
		out.Readings = b.residuals()
		out.Flags = append(b.putRight(out.Readings), out.Flags...)
		return out, nil
	}
	all := b.suppose()
	if err := m.Left(); err != nil {
		return Explanation{}, fmt.Errorf("explain the readings: %w", err)
	}
	groups := b.groupUp(all)
	out.Readings = b.residuals()
	next, survey, at := b.firstTest(groups)
	for i := range groups {
		g := &groups[i]
		const most = 6 // and whatever is a danger: it stays in sight until a test has excluded it
		if g.other {
			out.Rest += g.chance
		}
		if h := g.members; !g.other && (len(out.Causes) < most || g.dangerous()) && (len(h[0].parts) == 0 || b.explains(h[0])) {
			c := b.tell(g)
			c.Plan, c.Then = b.plan(survey, at, i)
			out.Causes = append(out.Causes, c)
		}
	}
	if out.Sound() { // where something is wrong the causes say more
		out.Flags = append(out.Flags, b.differences()...)
	}
	out.Flags = slices.Concat(out.inSight(), b.putRight(out.Readings), out.Flags)
	out.NextTest, out.Excluded = next, b.excluded(all)
	if err := m.Left(); err != nil {
		return Explanation{}, fmt.Errorf("explain the readings: %w", err)
	}
	return out, nil
}

// said says whose rates are used, where they are not the program's own.
func (p Priors) said() []string {
	other, own := 0, UsualPriors().causes
	for _, c := range p.causes {
		if i := slices.IndexFunc(own, func(o *cause) bool { return o.key == c.key }); i < 0 || own[i].rate != c.rate {
			other++
		}
	}
	if other == 0 && len(p.causes) == len(own) {
		return nil
	}
	return []string{fmt.Sprintf("rates are not the program's own: of the table given, %d of %d are others", other, len(p.causes))}
}

// None is the key of the cause that is on no list.
const None = "none"

// NetworkOperator acts where no electrician may.
const NetworkOperator = "network operator"

// inSight says what to leave alone while a danger is not the likeliest cause
// and no test has excluded it.
func (e Explanation) inSight() []string {
	for i, c := range e.Causes {
		if c.Danger == "" {
			continue
		}
		if i == 0 {
			return nil
		}
		return []string{fmt.Sprintf("not excluded yet, %s: %s: %s", c.Likely(), c.Cause, c.Danger)}
	}
	return nil
}

// dangerous reports whether a cause of a group is a danger.
func (g *group) dangerous() bool {
	for _, h := range g.members {
		for _, p := range h.parts {
			if p.cause.danger != "" {
				return true
			}
		}
	}
	return false
}

// tell puts a group into words.
func (b *bench) tell(g *group) Cause {
	h := g.members[0]
	c := Cause{Cause: g.words(), Probability: g.chance}
	if g.none { // what to do when the list has failed
		c.Key, c.Acts, c.Source = None, []string{"tester"}, judgement
		c.Cause += ": " + b.oddWords(h)
		c.Next = "take the readings named again, with another instrument where there is one; see that the record is of this very place; " +
			"then part the circuit and read each part; energise nothing that they leave in doubt"
		c.Predicts = b.predicts(h, b.solved(h, h.best()))
		return c
	}
	for _, o := range g.members[1:] {
		c.Alike = append(c.Alike, (&group{members: []*hypothesis{o}}).words())
	}
	var where, danger, acts, next, keys, faults, sources []string
	add := func(to *[]string, s string) {
		if s == "" {
			return
		}
		for _, have := range *to {
			if have == s {
				return
			}
		}
		*to = append(*to, s)
	}
	for _, o := range g.members {
		for _, p := range o.parts {
			add(&danger, p.cause.danger)
			add(&acts, p.cause.acts)
			add(&next, p.cause.next)
		}
	}
	for _, p := range h.parts {
		keys = append(keys, p.cause.key)
		add(&where, p.where.name)
		add(&sources, p.cause.source)
		for _, f := range p.cause.faults {
			add(&faults, f)
		}
	}
	if weak := b.weakly(h); weak != nil {
		c.Cause = "no fault, but " + weak.words
		keys, acts, next, sources = []string{weak.key}, []string{weak.acts}, []string{weak.next}, []string{weak.source}
	}
	c.Key, c.Where = strings.Join(keys, " + "), strings.Join(where, ", ")
	c.Danger, c.Acts, c.Next = strings.Join(danger, "; "), acts, strings.Join(next, "; ")
	c.Faults, c.Source = faults, strings.Join(sources, "; ")
	best := h.best()
	f, _ := b.fitOf(h, best)
	c.Size = b.sizeText(h, best, f)
	c.Predicts = b.predicts(h, b.solved(h, best))
	return c
}

// sizeText says how large a cause would be.
func (b *bench) sizeText(h *hypothesis, piece int, f *fit) string {
	var out []string
	for n, p := range h.parts {
		z := h.pieces[piece].sizes[n]
		if p.cause.unit == "" || p.cause.key == "slip" {
			continue
		}
		mean, deviation := z.x, 0.0
		if z.deviation > 0 {
			m, d := f.posterior([]drift{{b.sizeUnknown(n), z.deviation}})
			mean, deviation = max(z.x+m, 0), d
		}
		show := func(v float64) string { return fmt.Sprintf("%.3g %s", v, p.cause.unit) }
		switch p.cause.unit {
		case "Ω":
			show = quantity.Ohms(0).Measure().Show
		case "A":
			show = quantity.Amperes(0).Measure().Show
		}
		switch {
		case z.x >= 1e6 && p.cause.unit == "Ω" && z.deviation == 0:
			out = append(out, "open")
		case deviation > 0:
			out = append(out, fmt.Sprintf("about %s (%s to %s)", show(mean), show(max(mean-2*deviation, 0)), show(mean+2*deviation)))
		default:
			out = append(out, show(mean))
		}
	}
	return strings.Join(out, "; ")
}

// predicts lists what the readings that matter would be: those taken, then
// those that could be.
func (b *bench) predicts(h *hypothesis, s *solved) []Predicted {
	var out []Predicted
	put := func(q *question, taken string) {
		mean, deviation, ok := b.expect(s, q)
		if !ok {
			return
		}
		out = append(out, predicted(q, mean, deviation, taken))
	}
	for i, q := range b.asked {
		put(q, b.readings[b.reading[i]].record.Value)
	}
	var places []where
	for _, p := range h.parts {
		places = append(places, b.placeOf(p))
	}
	for _, c := range b.candidates(places) {
		if !b.has(c.question) {
			put(c.question, "")
		}
	}
	return out
}

// has reports whether a reading of that name was taken there.
func (b *bench) has(q *question) bool {
	for _, a := range b.asked {
		if a.kind == q.kind && a.at == q.at && a.volts == q.volts {
			return true
		}
	}
	return false
}

func predicted(q *question, mean, deviation float64, taken string) Predicted {
	p := Predicted{Reading: q.kind.Name, At: q.at, Taken: taken}
	if q.kind.Seen() {
		p.Shows = q.kind.show(mean)
		return p
	}
	low, mid, high := q.kind.unscale(mean-2*deviation), q.kind.unscale(mean), q.kind.unscale(mean+2*deviation)
	if q.kind.Measure.Unit() == "Ω" {
		low = max(0, low)
	}
	p.Low, p.Mid, p.High = finding.Of(low, q.kind.Measure), finding.Of(mid, q.kind.Measure), finding.Of(high, q.kind.Measure)
	p.Shows = fmt.Sprintf("%s (%s to %s)", q.kind.show(mid), q.kind.show(low), q.kind.show(high))
	if q.kind.Measure.Unit() == "Ω" && mid >= q.acc.top*0.99 {
		p.Shows = "open, or more than the meter can show"
	}
	return p
}

// finite keeps a number fit to be printed.
func finite(v float64) float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return 0
	}
	return v
}
