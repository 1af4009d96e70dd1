package invent

// Jobs changed by machine: what a law holds to must hold of these too.

import (
	"math/rand/v2"
	"slices"
	"strings"

	"chargewright/job"
	"chargewright/works"
)

// Without returns the entries but one, and what goes with it: an item of a list
// goes with all that stands under it.
func Without(entries []job.Entry, i int) []job.Entry {
	out := slices.Delete(slices.Clone(entries), i, i+1)
	if gone := entries[i]; IsItem(entries, i) {
		out = slices.DeleteFunc(out, func(e job.Entry) bool { return strings.HasPrefix(e.Path, gone.Path+"/") })
	}
	return out
}

// IsItem reports that an entry holds the place of an item in its list.
func IsItem(entries []job.Entry, i int) bool {
	return strings.HasSuffix(Pattern(entries[i].Path), "/*")
}

// matches reports that a path is of a pattern.
func matches(pattern, path string) bool {
	p, at := strings.Split(pattern, "/"), strings.Split(path, "/")
	if len(p) != len(at) {
		return false
	}
	for i := range p {
		if p[i] != "*" && p[i] != at[i] {
			return false
		}
	}
	return true
}

// named is the fields that name another part of the record.
var named = []string{"supply/electrode", "loads/*/board", "sources/*/board", "sources/*/on circuit", "sources/*/through point", "sources/*/charged as",
	"sources/*/electrode", "circuits/*/from", "circuits/*/to", "circuits/*/shared RCD", "points/*/limiter",
	"points/*/earthing/electrode",
	"limiters/*/at", "readings/*/at", "limitations/*/at", "notes/*/about", "judgements/*/about", "departures/*/about", "certificate/circuits/*"}

// Renamed returns the entries with every part of the installation under another
// name, and what names it along with it. The name for each comes from rename.
func Renamed(entries []job.Entry, rename func(string) string) []job.Entry {
	out := slices.Clone(entries)
	kept := []string{"supply", "none", works.TheEarthingConductor.Name} // and what is called by what it bonds
	for i := range out {
		if names := works.NamesOf(out[i].Path); IsItem(out, i) && matches("supply/main bonding/*", out[i].Path) {
			kept = append(kept, (&works.Bonding{To: names[2]}).Thing().Name)
		}
	}
	for i, e := range out {
		names := works.NamesOf(e.Path)
		for k := 1; k < len(names); k += 2 {
			switch list := names[k-1]; {
			case k == 1 && slices.Contains([]string{"boards", "circuits", "points", "loads", "sources", "electrodes", "limiters"}, list),
				k == 3 && slices.Contains([]string{"legs", "RCDs", "surge protection"}, list):
				names[k] = rename(names[k])
			}
		}
		out[i].Path = ""
		for _, n := range names {
			out[i].Path = works.Under(out[i].Path, n)
		}
		if slices.ContainsFunc(named, func(p string) bool { return matches(p, e.Path) }) && !slices.Contains(kept, e.Value) {
			out[i].Value = rename(e.Value)
		}
	}
	return out
}

// Awkward returns names that hold each other, with signs a path or a sentence
// might stumble over. The same name gets the same.
func Awkward() func(string) string {
	given := map[string]string{}
	return func(name string) string {
		if given[name] == "" {
			n := len(given)
			given[name] = strings.Repeat("point", n/4+1) + []string{"", ": phases", "/leg 1", ", ~ a; board"}[n%4]
		}
		return given[name]
	}
}

// Shuffled returns the entries with the items of every list in another order.
// Readings keep theirs: they stand in the order they were made.
func Shuffled(r *rand.Rand, entries []job.Entry) []job.Entry {
	out := slices.Clone(entries)
	lists := map[string][]int{}
	for i, e := range out {
		if at := strings.LastIndex(e.Path, "/"); at > 0 && IsItem(entries, i) && !strings.HasPrefix(e.Path, "readings/") {
			lists[e.Path[:at]] = append(lists[e.Path[:at]], i)
		}
	}
	for _, at := range sortedKeys(lists) {
		of := lists[at]
		r.Shuffle(len(of), func(a, b int) { out[of[a]].Value, out[of[b]].Value = out[of[b]].Value, out[of[a]].Value })
	}
	return out
}

func sortedKeys[V any](m map[string]V) []string {
	var keys []string
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}
