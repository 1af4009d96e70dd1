package web

// Where an input that a rule lacks is entered.

import (
	"slices"

	"chargewright/finding"
	"chargewright/job"
)

// factsFor returns the paths of what is lacked, fit for one form, each once:
// every fact that is lacking, and of those that would do instead the ones that
// are not there.
func (o *opened) factsFor(lacks finding.Lacks) []string {
	var out []string
	seen := map[string]bool{}
	for _, l := range lacks {
		for _, path := range l.Paths() {
			if !seen[path] && (path == l.Path || o.Record.Now(path).Value == "") {
				seen[path] = true
				out = append(out, path)
			}
		}
	}
	return out
}

// enterURL is the address at which facts or parts are entered: a form of them
// all, or of a new item where a list is all that is lacked.
func (o *opened) enterURL(paths []string, next string) string {
	isList := func(path string) bool { f := job.FieldAt(path); return f != nil && f.List() && f.Of != nil }
	if facts := slices.DeleteFunc(slices.Clone(paths), isList); len(facts) > 0 {
		return fillURL(o.ID, next, facts...)
	}
	return addURL(o.ID, paths[0], next)
}
