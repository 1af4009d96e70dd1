package web

// What a station is asked: what the rules, the predictions and the certificate
// want of it and do not have, in the order of the eye, at most six at once.

import (
	"slices"
	"strings"
	"time"

	"chargewright/finding"
	"chargewright/job"
	"chargewright/paper"
	"chargewright/prove"
	"chargewright/works"
)

// mostQuestions is how many are asked at once.
const mostQuestions = 6

// eye is the order in which a station is looked at. What stands in it is asked
// of every job; what follows "only" where something wants it in this one.
var eye = map[string][]string{
	"street":    {"supply/earthing", "supply/phases", "supply/voltage", "supply/Ze", "supply/Ipf", "supply/looped"},
	"fuse":      {"supply/cut-out/type", "supply/cut-out/rating", "supply/service equipment", "supply/cut-out/breaking capacity"},
	"meter":     {"supply/tails/csa", "supply/tails/length", "supply/maximum demand"},
	"earth":     {"supply/earthing conductor/csa", "supply/earthing conductor/length", "supply/earthing conductor/connected"},
	"board":     {"place", "phases", "ways free", "short-circuit rating", "main switch/rating", "main switch/poles"},
	"device":    {"way", "device/type", "device/rating", "RCD/type", "RCD/IΔn", "device/breaking capacity"},
	"cable":     {"cable/construction", "cable/csa", "cable/insulation", "cable/material", "terminals rated"},
	"leg":       {"length", "method", "in insulation", "circuits together", "ambient"},
	"electrode": {"kind", "place"},
	"point":     {"power", "phases", "outlet", "outdoors", "6 mA d.c. detection", "serial"},
}

// wanted is the facts that something in the job wants and does not have, in the
// order they are asked for.
func (o *opened) wanted(now time.Time) []string {
	if o.wants != nil {
		return *o.wants
	}
	var out []string
	seen := map[string]bool{}
	want := func(path string) {
		if path != "" && !seen[path] {
			seen[path] = true
			out = append(out, path)
		}
	}
	lacks := func(ls finding.Lacks) {
		for _, l := range ls {
			want(l.Path)
		}
	}
	for _, f := range o.Found {
		if f.Verdict == finding.NotKnown {
			lacks(f.Lacks)
		}
	}
	for _, e := range o.Expected {
		lacks(e.Missing)
	}
	for _, g := range paper.Missing(o.Model, o.Found, o.Expected, now) {
		lacks(g.Lacks)
		want(g.Of)
	}
	o.wants = &out
	return out
}

// questions is what a station is asked now, in order.
func (o *opened) questions(s *station, now time.Time) []*blank {
	var asked []string
	ask := func(path string) {
		f := job.FieldAt(path)
		if f == nil || !f.Single() || slices.Contains(asked, path) || above(path) != "" && !holdsPart(o.Record, path) {
			return
		}
		if o.Record.Now(path).Value == "" || f.Stated() && o.Job.IsAssumed(path) { // such a fact is measured, not seen
			asked = append(asked, path)
		}
	}
	under := func(base string, names []string) {
		for _, n := range names {
			ask(base + n)
		}
	}
	for _, base := range s.each() {
		switch kind := s.Symbol; kind {
		case "breaker", "rcbo":
			under(base+"/", eye["device"])
		case "cable":
			circuit := above(base)
			under(circuit+"/", eye["cable"])
			for _, leg := range o.Record.Items(circuit + "/legs") {
				under(works.Under(circuit+"/legs", leg)+"/", eye["leg"])
			}
		case "street", "fuse", "meter", "earth":
			under("", eye[kind])
		case "board", "point", "electrode":
			under(base+"/", eye[kind])
		}
	}
	for _, path := range o.wanted(now) {
		if o.asks(s, path) {
			ask(path)
		}
	}
	var out []*blank
	for _, path := range asked {
		b := o.question(path)
		if s.Count > 1 { // of several alike each says whose it is
			b.Name = works.NamesOf(path)[1] + ": " + b.Name
		}
		out = append(out, b)
	}
	return out
}

// each is the sheets of the things that a station stands for: one, or all that
// are alike.
func (s *station) each() []string {
	if s.Count <= 1 {
		return []string{s.Of}
	}
	var out []string
	for _, name := range s.likeOnes {
		switch s.Symbol {
		case "point":
			out = append(out, works.Under("points", name))
		case "cable":
			out = append(out, works.Under("circuits", name)+"/cable")
		default:
			out = append(out, works.Under("circuits", name))
		}
	}
	return out
}

// assumedAt is what nobody has seen yet at a station, and can be seen there.
func (o *opened) assumedAt(s *station) []job.Assumption {
	var out []job.Assumption
	for _, a := range o.assumedIn("") {
		if o.asks(s, a.Path) {
			out = append(out, a)
		}
	}
	return out
}

// holdsPart reports that what holds a fact is in the job.
func holdsPart(r *job.Record, path string) bool {
	for at := above(path); at != ""; at = above(at) {
		if list := job.FieldAt(above(at)); list != nil && list.List() {
			return r.Has(at)
		}
	}
	return true
}

// asks reports that a fact is asked for at a station.
func (o *opened) asks(s *station, path string) bool {
	return slices.ContainsFunc(s.each(), func(of string) bool { return asksOf(of, s.Symbol, path) })
}

// asksOf is the same of one sheet.
func asksOf(of, symbol, path string) bool {
	switch symbol {
	case "cable":
		circuit := above(of)
		return works.Within(path, circuit+"/cable") || works.Within(path, circuit+"/legs") || path == circuit+"/terminals rated"
	case "breaker", "rcbo":
		return works.Within(path, of) && !works.Within(path, of+"/cable") && !works.Within(path, of+"/legs") && path != of+"/terminals rated"
	}
	return of != "" && holds(of, path)
}

// question is one fact asked by itself, in one unit.
func (o *opened) question(path string) *blank {
	b := o.blank(path, job.FieldAt(path))
	b.Guess = b.Value // what is assumed of it is no answer
	if b.Field.Kind == job.Quantity && b.Unit == "" {
		b.Unit = unitOf(b.Field)
	}
	b.Name = questionOf(path)
	if asks, so := strings.CutPrefix(b.Field.Help, "whether "); so && b.Field.Kind == job.YesOrNo {
		b.Name = capital(asks) + "?"
	}
	return b
}

// unitOf is the one unit that a question is asked in.
func unitOf(f *job.Field) string {
	if _, unit, found := strings.Cut(f.Like, " "); found && slices.Contains(f.Units, unit) {
		return unit
	}
	if len(f.Units) == 0 {
		return ""
	}
	return f.Units[0]
}

// questionOf names a fact as it is asked at its station.
func questionOf(path string) string {
	names := works.NamesOf(path)
	if i := slices.Index(names, "legs"); i >= 0 && i+2 < len(names) {
		return strings.Join(names[i+1:], ", ")
	}
	if names[0] == "supply" {
		return strings.Join(names[1:], ", ")
	}
	if len(names) > 3 && names[2] == "cable" {
		return strings.Join(names[3:], ", ")
	}
	if len(names) > 2 {
		return strings.Join(names[2:], ", ")
	}
	return names[len(names)-1]
}

// readAnyway reports that a reading still to be taken answers a fact.
func (o *opened) readAnyway(path string) bool {
	return slices.ContainsFunc(o.Expected, func(e prove.Expectation) bool { return e.Taken == "" && o.factOf(e) == path })
}

// walk is the next station at which something is asked or not yet seen, from one
// on and round.
func (o *opened) walk(from *station, now time.Time) *station {
	var all []*station
	for _, r := range o.line() {
		all = append(all, r.Stations...)
	}
	at := slices.Index(all, from)
	for i := 1; i <= len(all); i++ {
		s := all[(at+i)%len(all)]
		asked := slices.ContainsFunc(o.questions(s, now), func(b *blank) bool { return !o.readAnyway(b.Path) })
		if s != from && (asked || len(o.assumedAt(s)) > 0) {
			return s
		}
	}
	return nil
}
