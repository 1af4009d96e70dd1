package main

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"chargewright/demand"
	"chargewright/model"
	"chargewright/quantity"
)

// readings reads numbers as they were typed, with commas, blanks or slashes
// between.
func readings(flag, text string, want int) ([]float64, error) {
	fields := strings.FieldsFunc(text, func(r rune) bool { return strings.ContainsRune(", /;", r) })
	if len(fields) != want {
		return nil, fmt.Errorf("--%s: %d readings: %d are wanted", flag, len(fields), want)
	}
	out := make([]float64, want)
	for i, f := range fields {
		x, err := strconv.ParseFloat(strings.TrimSuffix(f, "A"), 64)
		if err != nil || math.IsNaN(x) || math.Abs(x) > 1e6 {
			return nil, fmt.Errorf("--%s: %q is no reading: a current in A is wanted", flag, f)
		}
		out[i] = x
	}
	return out, nil
}

// now says what a point should be set to, from what the supply and the point
// carry at this moment.
func (c *limitCmd) now(out io.Writer, control demand.Control, bay demand.Bay) error {
	v, err := readings("now", c.Now, 6)
	if err != nil {
		return err
	}
	var supply, point demand.Lines
	for k := range supply {
		supply[k], point[k] = quantity.Amperes(v[k]), quantity.Amperes(v[3+k])
	}
	others := demand.Others(supply, point)
	o := demand.OfferAt(control.Limit, others, bay.On, bay.Most, bay.Least)
	fmt.Fprintf(out, "other loads %s A, limit %v: %v\n", threeLines(others), control.Limit, o)
	if whole := o.Whole(bay.Least); whole.Given > 0 {
		fmt.Fprintf(out, "%s set in whole amperes: %v\n", bay.Name, whole.Given)
	}
	return nil
}

// watts says what a limit in watts is for the points: one sent in the wrong
// unit limits nothing, or everything.
func (c *limitCmd) watts(out io.Writer, m *model.Model, bay demand.Bay) error {
	u0, gap := m.U0()
	if gap != "" {
		return fmt.Errorf("--watts: %s is wanted first", gap)
	}
	if !(c.Watts > 0) || c.Watts > 1e7 {
		return fmt.Errorf("--watts: %v: a power in W is wanted", c.Watts)
	}
	for _, phases := range []int{1, 3} {
		each, given := demand.FromWatts(quantity.Watts(c.Watts), phases, u0, bay.Least)
		text := "pause, less than can be signalled"
		if given > 0 {
			text = fmt.Sprintf("%v is a limit the pilot can signal", given)
		}
		if each > bay.Most {
			text = fmt.Sprintf("more than the %v of %s: was amperes meant?", bay.Most, bay.Name)
		}
		fmt.Fprintf(out, "%v on %d: %v for each line; %s\n", quantity.Watts(c.Watts), phases, each, text)
	}
	return nil
}
