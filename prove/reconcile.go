package prove

import (
	"fmt"
	"math"

	"chargewright/finding"
	"chargewright/model"
	"chargewright/quantity"
	"chargewright/reading"
)

// Residual is one reading beside what the sound job and all the other readings
// make of it.
type Residual struct {
	Reading, At, Taken string
	Function           string
	Instrument, Who    string
	When               string
	Low, Mid, High     finding.Amount // expected of the sound job, before any reading
	Off                float64        // from that, in standard deviations
	Apart              float64        // from what all the other readings make of it, likewise
	Verdict            finding.Finding
	LimitIs            string // which side of its limit is allowed
	NotCompared        string // why there is no prediction; empty when there is
	TakenAgain         string // what was read later, which stands in its place; empty where it stands itself
	PutRight           string // what was read before, that did not fit and was put right
}

// Fits reports whether a reading lies within three deviations of the
// prediction.
func (r Residual) Fits() bool { return r.NotCompared != "" || math.Abs(r.Off) <= 3 }

// Estimate is a quantity that the readings together tell.
type Estimate struct {
	What      string
	Value     finding.Amount
	Deviation float64 // one standard deviation, in the unit of the value
	Recorded  finding.Amount
}

// Reconciled is all the readings of a job held against the model at once.
type Reconciled struct {
	Readings  []Residual
	Estimates []Estimate
	Odd       string // the reading that disagrees most with all the others; empty where none does
}

// Reconcile compares all readings of a job with the sound model at once: each
// reading's distance in its own uncertainty, which one stands apart from the
// others, and what they tell of lengths, joints and Ze.
func Reconcile(m *model.Model) (Reconciled, error) {
	b, err := newBench(m, Priors{})
	if err != nil {
		return Reconciled{}, err
	}
	out := Reconciled{Readings: b.residuals()}
	if len(b.asked) == 0 {
		return out, nil
	}
	worst := 3.0
	for _, r := range out.Readings {
		if a := math.Abs(r.Apart); r.NotCompared == "" && a > worst {
			worst = a
			out.Odd = fmt.Sprintf("%s at %s, read %s", r.Reading, r.At, r.Taken)
		}
	}
	out.Estimates = b.estimates(b.joint.fit(nil, nil))
	return out, nil
}

// estimates reads lengths, joints and Ze off a fit.
func (b *bench) estimates(f *fit) []Estimate {
	var out []Estimate
	ohm := kindOf("Zs").Measure
	read := map[*run]bool{}
	for _, i := range b.exact {
		if q := b.asked[i]; q.run != nil && q.kind.Class == "low ohm" {
			read[q.run] = true
		}
	}
	for _, r := range b.wiring.runs {
		if len(r.gap) > 0 || !read[r] {
			continue
		}
		share := b.wiring.lengthShare(r)
		mean, deviation := f.posterior([]drift{{r.lengthBy, share * r.length}})
		length := r.circuit.Length().Value
		out = append(out, Estimate{r.circuit.Name() + ": length", amount(quantity.Metres(r.length + mean)), deviation, amount(length)})
		joints := []drift{}
		for _, at := range []int{r.lines[0], r.neutral, r.joint} {
			if at < 0 {
				continue
			}
			d := b.wiring.stretches[at].drift
			joints = append(joints, d[len(d)-1])
		}
		mean, deviation = f.posterior(joints)
		out = append(out, Estimate{r.circuit.Name() + ": joints of line, neutral and protective conductor together", finding.Of(max(0, mean), ohm), deviation,
			finding.Of(0, ohm)})
	}
	var ze []drift
	total := 0.0
	for _, i := range []int{b.wiring.lineSource, b.wiring.pen, b.wiring.earthSource, b.wiring.earthTerminal} {
		if i >= 0 {
			total += b.wiring.belief[i]
			ze = append(ze, b.wiring.stretches[i].drift...)
		}
	}
	mean, deviation := f.posterior(ze)
	return append(out, Estimate{"Ze", finding.Of(max(0, total+mean), ohm), deviation, finding.Of(total, ohm)})
}

// verdicts holds every reading against its limit, once.
func (b *bench) verdicts() []reading.Judged {
	if b.judged == nil {
		b.judged, _ = JudgeBy(b.model, Expect(b.model)) // the table of instruments was read when the bench was laid
	}
	return b.judged
}

// residuals lists every reading of the job, in the order taken.
func (b *bench) residuals() []Residual {
	verdicts := b.verdicts()
	var apart []float64
	if len(b.exact) > 0 {
		apart, _ = b.joint.fit(nil, nil).apart()
	}
	place := map[int]int{}
	for k, i := range b.exact {
		place[i] = k
	}
	out := make([]Residual, len(b.readings))
	for n, t := range b.readings {
		r := t.record
		out[n] = Residual{Reading: r.Reading, At: r.At, Taken: r.Value, Function: r.Function, Instrument: r.Instrument, Who: r.Who, When: r.When,
			Verdict: verdicts[n].Finding, LimitIs: verdicts[n].Side, NotCompared: t.gap.String()}
		if t.again >= 0 {
			out[n].TakenAgain = b.readings[t.again].record.Value
		}
		if t.asked == nil {
			continue
		}
		q := t.asked
		out[n].Reading = q.kind.Name
		if q.run != nil && b.wiring.guessed[q.run.circuit.Record.Name] {
			out[n].NotCompared = "the record says too little of " + q.at + ": weighed beside the other readings, with a usual run in its place"
			continue
		}
		row, _ := b.before.row(q)
		deviation := row.deviation()
		if !q.kind.Seen() {
			p := predicted(q, row.mean, deviation, r.Value)
			out[n].Low, out[n].Mid, out[n].High = p.Low, p.Mid, p.High
		}
		off := (q.kind.scale(t.value.amount) - row.mean) / deviation
		if t.value.above && off < 0 || t.value.below && off > 0 {
			off = 0
		}
		out[n].Off = finite(off)
		out[n].Apart = out[n].Off
		if k, is := place[t.index]; is {
			out[n].Apart = finite(apart[k])
		}
	}
	return out
}
