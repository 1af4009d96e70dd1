//go:build !js

package store

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"chargewright/bounds"
	"chargewright/job"
)

// TestEveryBoundOfAnAct: what just keeps a bound is kept, what just passes it is
// refused, with the bound named; through the check that every door asks.
func TestEveryBoundOfAnAct(t *testing.T) {
	act := func(change func(*Act)) []Act {
		a := told(1)
		change(&a)
		return []Act{a}
	}
	entries := func(n int, path func(i int) string) []Act {
		return act(func(a *Act) {
			a.Entries = make([]job.Entry, n)
			for i := range a.Entries {
				a.Entries[i] = job.Entry{ID: "e", Path: path(i), Value: "1"}
			}
		})
	}
	for _, tt := range []struct {
		bound bounds.Bound
		of    func(n int) []Act
	}{
		{bounds.Entries, func(n int) []Act { return entries(n, func(int) string { return "job" }) }},
		{bounds.Things, func(n int) []Act {
			return entries(n, func(i int) string { return fmt.Sprintf("loads/l%d/current", i) })
		}},
		{bounds.Photos, func(n int) []Act { return entries(n, func(i int) string { return fmt.Sprintf("photos/p%d.jpg", i) }) }},
		{bounds.Text, func(n int) []Act { return act(func(a *Act) { a.Entries[0].Value = strings.Repeat("é", n) }) }},
		{bounds.Text, func(n int) []Act { return act(func(a *Act) { a.Entries[0].Instrument = strings.Repeat("é", n) }) }},
		{bounds.Text, func(n int) []Act { return act(func(a *Act) { a.What = strings.Repeat("é", n) }) }},
		{bounds.Name, func(n int) []Act { return act(func(a *Act) { a.Who = strings.Repeat("é", n) }) }},
		{bounds.Name, func(n int) []Act { return act(func(a *Act) { a.Entries[0].Who = strings.Repeat("é", n) }) }},
		{bounds.Name, func(n int) []Act {
			return act(func(a *Act) { a.Entries[0].Path = "points/" + strings.Repeat("é", n) })
		}},
		{bounds.Nesting, func(n int) []Act { return act(func(a *Act) { a.Entries[0].Path = strings.Repeat("a/", n-1) + "a" }) }},
		{bounds.Photo, func(n int) []Act {
			return act(func(a *Act) { a.Photo = &Photo{Element: "cut-out", Type: "image/png", Content: make([]byte, n)} })
		}},
	} {
		if err := Within(nil, tt.of(tt.bound.Most())); err != nil {
			t.Errorf("%v: %d are refused: %v", tt.bound, tt.bound.Most(), err)
		}
		err := Within(nil, tt.of(tt.bound.Most()+1))
		var passed *bounds.Passed
		if !errors.As(err, &passed) || passed.Bound != tt.bound || !strings.Contains(err.Error(), tt.bound.String()) {
			t.Errorf("%v: %d: %v", tt.bound, tt.bound.Most()+1, err)
		}
	}
	// What a job holds counts too, and a job that was larger before there was a
	// bound may be worked on.
	there := entries(bounds.Things.Most(), func(i int) string { return fmt.Sprintf("loads/l%d", i) })
	if err := Within(there, entries(1, func(int) string { return "loads/one more" })); err == nil {
		t.Error("one thing more than there may be is let in beside those that are there")
	}
	if err := Within(there, entries(1, func(int) string { return "loads/l7/current" })); err != nil {
		t.Errorf("a fact of a thing that is there: %v", err)
	}
	there = append(there, entries(9, func(i int) string { return fmt.Sprintf("points/p%d", i) })...)
	if err := Within(there, entries(1, func(int) string { return "points/p3/power" })); err != nil {
		t.Errorf("a fact of a thing in a job that is too large already: %v", err)
	}
}
