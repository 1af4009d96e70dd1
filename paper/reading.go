package paper

import (
	"math"
	"strings"

	"chargewright/finding"
	"chargewright/job"
	"chargewright/prove"
	"chargewright/quantity"
)

// readings is what was measured and what was expected, by place and name.
type readings struct {
	job *job.Job
	es  []prove.Expectation
}

// sameName reports whether a reading was written down under one of the names.
func sameName(reading string, names []string) bool {
	for _, n := range names {
		if strings.EqualFold(strings.Join(strings.Fields(reading), " "), n) {
			return true
		}
	}
	return false
}

// taken returns the last reading of one of the names at one of the places.
func (r *readings) taken(at []string, names ...string) (job.Reading, bool) {
	for i := len(r.job.Readings) - 1; i >= 0; i-- {
		one := r.job.Readings[i]
		if one.Value != "" && sameName(one.Reading, names) && contains(at, one.At) {
			return one, true
		}
	}
	return job.Reading{}, false
}

// expected returns what was expected of a reading.
func (r *readings) expected(at []string, names ...string) (prove.Expectation, bool) {
	for _, e := range r.es {
		if sameName(e.Reading, names) && contains(at, e.At) {
			return e, true
		}
	}
	return prove.Expectation{}, false
}

// limited returns the limitation that covers a reading not taken.
func (r *readings) limited(at []string, names ...string) (job.Limitation, bool) {
	for _, l := range r.job.Limitations {
		if sameName(l.What, names) && (l.At == "" || contains(at, l.At)) {
			return l, true
		}
	}
	return job.Limitation{}, false
}

func contains(list []string, s string) bool {
	for _, one := range list {
		if one == s && s != "" {
			return true
		}
	}
	return false
}

// number reads the value of a reading in the unit it is expected in. A reading
// off the end of a scale is a number and a side.
func number(value, unit string) (n float64, more, less, ok bool) {
	value = strings.TrimSpace(value)
	switch {
	case strings.HasPrefix(value, ">"):
		value, more = value[1:], true
	case strings.HasPrefix(value, "<"):
		value, less = value[1:], true
	case strings.HasPrefix(value, "more than "):
		value, more = value[len("more than "):], true
	}
	value = strings.TrimSpace(strings.TrimLeft(value, "≥≤="))
	var err error
	switch unit {
	case "Ω":
		var q quantity.Ohms
		q, err = quantity.ParseOhms(value)
		n = float64(q)
	case "A":
		var q quantity.Amperes
		q, err = quantity.ParseAmperes(value)
		n = float64(q)
	case "V":
		var q quantity.Volts
		q, err = quantity.ParseVolts(value)
		n = float64(q)
	case "s":
		var q quantity.Seconds
		q, err = quantity.ParseSeconds(value)
		n = float64(q)
	default:
		return 0, more, less, false
	}
	return n, more, less, err == nil
}

// isNumber reports that a value is a number of some unit.
func isNumber(value string) bool {
	for _, unit := range []string{"Ω", "A", "V", "s"} {
		if _, _, _, ok := number(value, unit); ok {
			return true
		}
	}
	return false
}

// held holds a reading against its limit and its band. It answers with the
// gap where the limit is not met, the reading cannot be read, or nobody says
// why it lies outside what was expected.
func held(r job.Reading, e prove.Expectation, about string) (Gap, bool) {
	where := about + ": " + r.Reading
	unit := e.Unit()
	if unit == "" {
		if prove.SeenRight(r.Reading, r.Value) || e.Reading == "" && isNumber(r.Value) {
			return Gap{}, false // seen and right, or a number that nothing was expected of
		}
		return Gap{Kind: failing, About: about, What: r.Reading + " is entered as " + r.Value, Clause: e.Clause.Name,
			Get: "find the cause, put it right, take the reading again; " + wantedOf(e) + " is wanted"}, true
	}
	n, more, less, ok := number(r.Value, unit)
	if !ok {
		return Gap{Kind: open, About: about, What: r.Reading + " is entered as " + r.Value + ", which is no reading in " + unit,
			Get: "write what the instrument showed, with its unit"}, true
	}
	if limit := e.Limit; !limit.IsZero() {
		over := e.LimitIs == "at most" && (n > limit.Number || more && n >= limit.Number)
		under := e.LimitIs == "at least" && (n < limit.Number || less && n <= limit.Number)
		if over || under {
			return Gap{Kind: failing, About: about, What: r.Reading + " is " + r.Value + ", and " + e.LimitIs + " " + limit.String() + " is allowed",
				Get: "isolate, find the cause, put it right, take the reading again", Clause: e.Clause.Name}, true
		}
	}
	if outside(n, more, less, e) && strings.TrimSpace(r.Note) == "" {
		return Gap{Kind: unexplained, About: about, What: where[len(about)+2:] + " is " + r.Value + ", outside what the design expects: " + expectedText(e),
			Get: "find out why, and say it in the note of the reading"}, true
	}
	return Gap{}, false
}

// wantedOf is what is written where a thing seen is as it must be.
func wantedOf(e prove.Expectation) string {
	if len(e.Seen) > 0 {
		return e.Seen[0]
	}
	return "correct"
}

// outside reports that a reading lies outside its band.
func outside(n float64, more, less bool, e prove.Expectation) bool {
	if !e.Known() {
		return false
	}
	side := func(a finding.Amount, otherwise float64) float64 {
		if a.IsZero() {
			return otherwise
		}
		return a.Number
	}
	low, high := side(e.Low, math.Inf(-1)), side(e.High, math.Inf(1))
	return n < low && !more || n > high && !less || more && n > high
}
