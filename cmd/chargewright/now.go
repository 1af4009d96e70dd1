package main

import (
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"chargewright/demand"
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

// onSite answers what is asked with the meter in hand.
func (c *limitCmd) onSite(out io.Writer, s *demand.Studied) error {
	said, err := s.InAmperes(quantity.Watts(c.Watts))
	if c.Now != "" {
		var v []float64
		if v, err = readings("now", c.Now, 6); err != nil {
			return err
		}
		var supply, point demand.Lines
		for k := range supply {
			supply[k], point[k] = quantity.Amperes(v[k]), quantity.Amperes(v[3+k])
		}
		said, err = s.Advice(supply, point)
	}
	var asked *demand.AskedError
	if errors.As(err, &asked) && asked.Field == "limit" { // no flag, but what the job lacks
		return fmt.Errorf("%s: %s", c.Job, asked.Reason)
	}
	for _, line := range said {
		fmt.Fprintln(out, line)
	}
	return flagged(err)
}
