package store

// What a new entry follows.

import (
	"slices"
	"strings"

	"chargewright/job"
)

// Shown returns what an entry made by someone who sees the record now follows:
// the IDs of the entries at a path that no other names. A form carries it from
// the time it was shown, so that what was entered elsewhere meanwhile is not
// overwritten unseen.
func Shown(r *job.Record, path string) string {
	followed := map[string]bool{}
	var here []string
	for _, e := range r.Entries() {
		if e.Path != path {
			continue
		}
		here = append(here, e.ID)
		for _, id := range strings.Fields(e.Follows) {
			followed[id] = true
		}
	}
	return strings.Join(slices.DeleteFunc(here, func(id string) bool { return followed[id] }), " ")
}
