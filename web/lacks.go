package web

// Where an input that a rule lacks is entered. The model names it in the
// trade's words, "circuit van point, leg 2 (buried): length"; a form wants its
// path in the job record.

import (
	"slices"
	"strings"

	"chargewright/job"
)

// factsFor returns the paths of what is lacked, fit for one form: the facts
// themselves where the words tell them, else the part they belong to.
func (o *opened) factsFor(lacks []string) []string {
	var out []string
	for _, lack := range lacks {
		about, what, ok := strings.Cut(lack, ": ")
		if !ok {
			continue
		}
		paths := o.partsNamed(about)
		if facts := matching(paths, what); len(facts) > 0 {
			paths = facts
		}
		for _, path := range paths {
			if !slices.Contains(out, path) {
				out = append(out, path)
			}
		}
	}
	return out
}

// enterURL is the address at which facts or parts are entered: a form of them
// all, or of a new item where a list is what is lacked.
func (o *opened) enterURL(paths []string, next string) string {
	for _, path := range paths {
		if f := job.FieldAt(path); f != nil && f.List() {
			return addURL(o.ID, path, next)
		}
	}
	return fillURL(o.ID, next, paths...)
}

// partsNamed returns the sheets of what a gap is about.
func (o *opened) partsNamed(about string) []string {
	if about == "supply" {
		var all []string
		for _, p := range supplyParts {
			all = append(all, p.of)
		}
		return all
	}
	best, length := "", 0
	for _, e := range o.elements() {
		for _, name := range e.Subjects {
			if strings.HasPrefix(about, name) && len(name) > length {
				best, length = e.Of, len(name)
			}
		}
	}
	if length == 0 {
		return nil
	}
	return []string{best}
}

// plainWords are the words of a text that can name a field.
func plainWords(text string) map[string]bool {
	words := map[string]bool{}
	for _, w := range strings.FieldsFunc(text, func(r rune) bool { return strings.ContainsRune(" ,;()/'", r) }) {
		words[w], words[strings.ToLower(w)] = true, true
	}
	return words
}

// matching returns the facts of parts whose whole name is in the words, the
// longest names alone: "csa of the meter tails" is tails, csa. A list of items
// and a part within a part go by their names too.
func matching(parts []string, what string) []string {
	words := plainWords(what)
	var out []string
	most := 0
	take := func(at string, named int) {
		if named > most {
			out, most = nil, named
		}
		if named == most && named > 0 {
			out = append(out, at)
		}
	}
	var look func(path string, named int, s *job.Part)
	look = func(path string, named int, s *job.Part) {
		for _, f := range s.Fields {
			in, all := 0, 0
			for w := range plainWords(strings.ToLower(f.Name)) {
				if all++; words[w] {
					in++
				}
			}
			at := job.Under(path, f.Name)
			if !f.Single() && !f.List() {
				look(at, named+in, f.Of)
			}
			if in == all && !(f.List() && f.Of == nil) && (f.Single() || most < named+in) {
				take(at, named+in)
			}
		}
	}
	for _, of := range parts {
		path, s := shapeOfSheet(of)
		look(path, 0, s)
	}
	return out
}
