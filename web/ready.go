package web

// What is likely for a fact, to be tapped instead of typed. Nothing of it is
// entered until somebody taps it and sends the form.

import (
	"slices"
	"strings"
	"time"

	"chargewright/job"
	"chargewright/works"
)

// ready is an answer that is one tap away.
type ready struct{ Value, Label string }

// mostReady is how many answers stand beside a field.
const mostReady = 6

// oftenSaid is what is often said of a fact that is written in words, by the
// pattern of its path: common practice, no source.
var oftenSaid = map[string][]string{
	"boards/*/place":                     {"hall", "under the stairs", "garage", "kitchen", "utility room", "plant room"},
	"electrodes/*/place":                 {"beside the meter box", "below the board", "in the garden", "beside the point"},
	"points/*/mounting/place":            {"outside wall", "garage wall", "post", "car park"},
	"site/hazards":                       {"none", "public", "heights", "pits", "fuel", "asbestos"},
	"certificate/existing installation":  {"sound as seen", "not looked at beyond this work"},
	"certificate/earlier records":        {"none"},
	"certificate/nothing to bond":        {"water", "gas", "oil", "structural steel", "lightning protection"},
	"certificate/copies":                 {"to the client, as a file", "to the client, on paper"},
	"certificate/risk assessment":        {"none"},
	"certificate/arc-fault decision":     {"no socket-outlet circuit in this work"},
	"handover/network":                   {"the owner pays; without it the point charges on"},
	"notification/harmonics and flicker": {"BS EN 61000-3-2, BS EN 61000-3-3", "BS EN 61000-3-12, BS EN 61000-3-11"},
}

// aheadOfToday are days that lie in the future.
var aheadOfToday = []string{"calibrated until", "warranty ends", "updates end"}

// oneOfAKind are the texts that two things never share.
var oneOfAKind = []string{"serial", "supply number", "UPRN", "reference", "note", "reason", "text"}

// ready is what is likely for a fact: today, what the job says of the same
// elsewhere, what is often said.
func (o *opened) ready(path string, f *job.Field, now time.Time) []ready {
	var out []ready
	put := func(value, label string) {
		if value != "" && value != o.Record.Now(path).Value && len(out) < mostReady && !slices.ContainsFunc(out, func(r ready) bool { return r.Value == value }) {
			out = append(out, ready{value, label})
		}
	}
	switch {
	case f == nil || len(f.Words) > 0 || f.Kind == job.Quantity || f.Kind == job.Number:
		return nil
	case f.Kind == job.Day && !slices.Contains(aheadOfToday, f.Name):
		put(now.Format(time.DateOnly), "today")
		return out
	case f.Kind == job.Time:
		put(now.Format("2006-01-02 15:04"), "now")
		return out
	case f.Kind == job.Day:
		return nil
	}
	switch path {
	case "site/address":
		put(o.Job.Name, o.Job.Name)
		put(o.Job.Site.ClientAddress, o.Job.Site.ClientAddress)
	case "site/client address":
		put(o.Job.Site.Address, o.Job.Site.Address)
		put(o.Job.Name, o.Job.Name)
	}
	for _, value := range o.elsewhere(path, f) {
		put(value, value)
	}
	for _, value := range oftenSaid[f.Path] {
		if !(f.Path == "certificate/nothing to bond" && slices.Contains(o.Record.Items("supply/main bonding"), value)) {
			put(value, value)
		}
	}
	return out
}

// elsewhere is what the job says of the same fact of other things of a kind.
func (o *opened) elsewhere(path string, f *job.Field) []string {
	if f.Kind != job.Text || f.List() || slices.Contains(oneOfAKind, f.Name) {
		return nil
	}
	names := works.NamesOf(path)
	if len(names) < 3 || strings.Contains(f.Path, "*/*") {
		return nil
	}
	var out []string
	for _, other := range o.Record.Items(names[0]) {
		at := works.Under(names[0], other)
		for _, name := range names[2:] {
			at = works.Under(at, name)
		}
		if v := o.Record.Now(at).Value; at != path && v != "" && job.FieldAt(at) == f {
			out = append(out, v)
		}
	}
	return out
}
