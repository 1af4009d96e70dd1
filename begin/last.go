package begin

// What is known from jobs before: who works, with which instruments, for which
// network operator, and what is usually fitted. It is what somebody entered and
// saw, never a guess.

import (
	"slices"
	"strings"

	"chargewright/job"
	"chargewright/works"
)

// Past is a job that was done before.
type Past struct {
	Name   string
	Record *job.Record
}

// Usual is what was fitted in a job before, and seen there.
type Usual struct{ Path, Value, In string }

// chosen are the facts that a firm chooses, and is likely to choose again:
// devices, cables and points, not the place they were fitted at.
func chosen(path string) bool {
	names := works.NamesOf(path)
	switch {
	case names[0] == "circuits" && len(names) > 2:
		return slices.Contains([]string{"device", "RCD", "cable", "terminals rated"}, names[2])
	case names[0] == "points" && len(names) > 2:
		return names[2] != "serial" && names[2] != "mounting" && names[2] != "current limit"
	}
	return false
}

// Remembered returns what was usual for a template's facts in the jobs before,
// the newest first: what somebody saw, in a job that has a fact at that path.
func (t Template) Remembered(past []Past) []Usual {
	var out []Usual
	seen := map[string]bool{}
	paths := []string{"points/CP1/make and model", "points/CP1/built-in RCD/type"} // no template knows these
	for _, f := range t.facts {
		paths = append(paths, f.path)
	}
	for n := 1; n <= max(t.Points, 1); n++ {
		for _, path := range paths {
			if path = numbered(path, n); !chosen(path) || seen[path] {
				continue
			}
			seen[path] = true
			for _, p := range past {
				field := job.FieldAt(path)
				if value, known, _ := field.Apart(p.Record.Now(path).Value); value != "" && known == "" && p.Record.Has(path) {
					out = append(out, Usual{path, value, p.Name})
					break
				}
			}
		}
	}
	return out
}

func usualAt(all []Usual, path string) (Usual, bool) {
	i := slices.IndexFunc(all, func(u Usual) bool { return u.Path == path })
	if i < 0 {
		return Usual{}, false
	}
	return all[i], true
}

// always are the parts of a record that are the firm's own, and the same on the
// next job.
var always = []string{"people", "instruments", "notification/network operator", "notification/scheme"}

// Firm returns who works, with what, and for whom, as the newest job says that
// says it.
func Firm(past []Past) []job.Entry {
	var out []job.Entry
	for _, part := range always {
		for _, p := range past {
			var own []job.Entry
			for _, path := range p.Record.Paths() {
				if e := p.Record.Now(path); works.Within(path, part) && e.Value != "" && (job.FieldAt(path) == nil || p.Record.Has(path)) {
					own = append(own, job.Entry{Path: path, Value: e.Value})
				}
			}
			if own = slices.DeleteFunc(own, func(e job.Entry) bool { return strings.HasSuffix(e.Value, ")") && assumed(e) }); len(own) > 0 {
				out = append(out, own...)
				break
			}
		}
	}
	return out
}

func assumed(e job.Entry) bool {
	f := job.FieldAt(e.Path)
	if f == nil {
		return false
	}
	_, known, _ := f.Apart(e.Value)
	return known != ""
}

// fixed are the parts that the last job is taken over from.
var fixed = []string{"supply", "electrodes", "boards", "circuits", "points", "limiters", "certificate/work", "certificate/extent",
	"certificate/arc-fault decision", "certificate/inspect again within months", "certificate/reason for interval", "certificate/no departures"}

// Began reports that a job was begun from the template: it assumes what the
// template assumes, for the template's reason.
func (t Template) Began(p Past) bool {
	for _, f := range t.facts {
		if slices.Contains([]string{"supply/earthing", "site/premises"}, f.path) &&
			slices.ContainsFunc(p.Record.Made(f.path), func(e job.Entry) bool { return e.Value == t.assumes(f) }) {
			return true
		}
	}
	return false
}

// AsLast is the template that another job makes: all that stands in it, but for
// what was measured there, what is marked on one thing alone, and where it was.
func AsLast(p Past) Template {
	t := Template{Name: "as " + p.Name, Says: "as the last job: " + p.Name}
	for _, path := range p.Record.Paths() {
		f := job.FieldAt(path)
		within := func(part string) bool { return works.Within(path, part) }
		if f == nil || !f.Assumable() || f.Stated() || !p.Record.Has(path) || !slices.ContainsFunc(fixed, within) {
			continue
		}
		switch f.Name {
		case "serial", "connected", "polarity confirmed":
			continue
		case "length":
			if works.Within(path, "circuits") && t.Ask == "" {
				t.Ask = path
			}
		}
		if value, _, _ := f.Apart(p.Record.Now(path).Value); value != "" {
			t.facts = append(t.facts, fact{path: path, value: value})
		}
	}
	return t
}
