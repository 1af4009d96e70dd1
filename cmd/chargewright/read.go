package main

import (
	"fmt"
	"io"
	"math"
	"os"
	"slices"
	"time"

	"chargewright/finding"
	"chargewright/job"
	"chargewright/model"
	"chargewright/prove"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/works"
)

type readCmd struct {
	Job         string `arg:"" help:"Job file."`
	At          string `arg:"" help:"Where: supply, or the name of a board, circuit, point or electrode."`
	Reading     string `arg:"" help:"Which reading, like R1+R2, Zs or \"insulation live to earth\"."`
	Value       string `arg:"" help:"What the instrument showed, like 0.13, \"> 200 MΩ\" or \"no trip\"."`
	Function    string `help:"How it was measured, like \"two-wire high current\", no-trip or 250 V."`
	Instrument  string `help:"Instrument, by its name in the job."`
	Nulled      bool   `help:"The leads were nulled before it."`
	NotNulled   bool   `name:"not-nulled" help:"The leads were not nulled."`
	Temperature string `help:"Temperature of the conductors, like 12 °C."`
	Who         string `help:"Who measured."`
	When        string `help:"When, like 2026-11-25 14:05; now where it is left out."`
	Note        string `help:"Anything unusual."`
	Beside      bool   `name:"earlier-stands" help:"Nothing was altered since it was read before: both readings count. Else this one takes the earlier one's place."`
	JSON        bool   `name:"json" help:"Print what the readings mean as JSON."`
}

// Run writes one reading into the job and says what it means. A reading that
// cannot be one is refused and the file left as it was.
func (c *readCmd) Run(out io.Writer) error {
	r := works.Reading{At: c.At, Reading: c.Reading, Value: c.Value, Function: c.Function, Instrument: c.Instrument, Who: c.Who, When: c.When, Note: c.Note}
	switch {
	case c.Nulled && c.NotNulled:
		return fmt.Errorf("the leads were nulled or they were not: give one of --nulled and --not-nulled")
	case c.Nulled || c.NotNulled:
		r.LeadsNulled = quantity.Known(c.Nulled)
	}
	if c.Beside {
		r.Beside = quantity.Known(true)
	}
	if c.Temperature != "" {
		t, err := quantity.ParseCelsius(c.Temperature)
		if err != nil {
			return fmt.Errorf("temperature is %w", err)
		}
		r.Temperature = quantity.Known(t)
	}
	if r.When == "" {
		r.When = time.Now().Format("2006-01-02 15:04")
	}
	m, err := addReadings(c.Job, r)
	if err != nil {
		return err
	}
	e, err := prove.Explain(m, prove.UsualPriors())
	if err != nil {
		return err
	}
	if c.JSON {
		if err := writeJSON(out, e); err != nil {
			return err
		}
	} else {
		printOne(out, e)
	}
	switch v := e.Readings[len(e.Readings)-1].Verdict.Verdict; {
	case v == finding.Fails:
		return outcome{exitFails}
	case v == finding.NotKnown:
		return outcome{exitOpen}
	}
	return nil
}

// addReadings writes readings at the end of a job file, all or none, and
// returns the model of the job with them.
func addReadings(file string, rs ...works.Reading) (*model.Model, error) {
	text, err := os.ReadFile(file)
	if err != nil {
		return nil, fmt.Errorf("cannot read the job file: %w", err)
	}
	record, err := job.ReadRecord(file, text)
	if err != nil {
		return nil, err
	}
	j, err := record.Job()
	if err != nil {
		return nil, err
	}
	rules, err := standard.Open(j.Edition)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", file, err)
	}
	m := model.New(j, rules)
	var faults error
	for _, r := range rs {
		r, err := prove.Admit(m, r)
		if err == nil {
			err = record.Append("readings", readingFields(r)...)
		}
		if err != nil {
			faults = joinLines(faults, err)
		}
	}
	if faults != nil {
		return nil, fmt.Errorf("%w\n%s is as it was", faults, file)
	}
	if j, err = record.Job(); err != nil {
		return nil, err
	}
	if err := replace(file, record.Bytes()); err != nil {
		return nil, err
	}
	return model.New(j, rules), nil
}

// readingFields lists a reading's fields as the job file has them.
func readingFields(r works.Reading) []job.Given {
	out := []job.Given{{Name: "at", Value: r.At}, {Name: "reading", Value: r.Reading}, {Name: "value", Value: r.Value}, {Name: "function", Value: r.Function},
		{Name: "instrument", Value: r.Instrument}, {Name: "who", Value: r.Who}, {Name: "when", Value: r.When}, {Name: "note", Value: r.Note}}
	if n, said := r.LeadsNulled.Get(); said {
		out = append(out, job.Given{Name: "leads nulled", Value: map[bool]string{true: "yes", false: "no"}[n]})
	}
	if t, said := r.Temperature.Get(); said {
		out = append(out, job.Given{Name: "temperature", Value: t.String()})
	}
	if yes, said := r.Beside.Get(); said {
		out = append(out, job.Given{Name: "earlier stands", Value: map[bool]string{true: "yes", false: "no"}[yes]})
	}
	return out
}

// printOne says what the last reading means: verdict, band, and the causes
// where it does not fit.
func printOne(out io.Writer, e prove.Explanation) {
	r := e.Readings[len(e.Readings)-1]
	fmt.Fprintf(out, "%s at %s: %s\n", r.Reading, r.At, r.Taken)
	v := r.Verdict
	text := marks[v.Verdict] + " " + v.Words()
	if !v.Limit.IsZero() {
		text += fmt.Sprintf(", limit %s, margin %s", v.Limit, v.Margin)
	}
	fmt.Fprintln(out, wrap("  ", text+" ("+v.Clause.Name+")", 4))
	if v.Next != "" {
		fmt.Fprintln(out, wrap("  → ", v.Next, 4))
	}
	switch {
	case r.NotCompared != "":
		fmt.Fprintln(out, wrap("  not compared: ", r.NotCompared, 4))
	case !r.Mid.IsZero():
		fmt.Fprintf(out, "  expected %s (%s to %s): %s\n", r.Mid, r.Low, r.High, offText(r.Off))
	default:
		fmt.Fprintf(out, "  expected: correct; %s\n", offText(r.Off))
	}
	if math.Abs(r.Off) > 3 || !e.Sound() {
		e.Causes = e.Causes[:min(3, len(e.Causes))]
		e.Excluded = slices.DeleteFunc(e.Excluded, func(x prove.Exclusion) bool { return x.Reading != r.Reading || x.At != r.At || x.Taken != r.Taken })
		printCauses(out, e, false)
		return
	}
	for _, f := range e.Flags {
		fmt.Fprintln(out, wrap("  flag: ", f, 8))
	}
}
