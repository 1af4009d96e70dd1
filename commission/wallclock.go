package commission

import (
	"maps"
	"slices"
	"time"
	_ "time/tzdata" // the clock on the wall is known on every machine
)

// britain is the time on the wall where the smart charge point regulations
// count their hours.
var britain = func() *time.Location {
	l, err := time.LoadLocation("Europe/London")
	if err != nil {
		return time.UTC
	}
	return l
}()

func sortedKeys[V any](m map[string]V) []string { return slices.Sorted(maps.Keys(m)) }

// sortBy sorts a list by a time of its items; what has the same time keeps its
// order.
func sortBy[E any](list []E, at func(E) time.Time) {
	slices.SortStableFunc(list, func(a, b E) int { return at(a).Compare(at(b)) })
}
