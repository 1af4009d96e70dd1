package network_test

import (
	"fmt"
	"maps"
	"os"
	"slices"
	"sync"
	"testing"
)

// matched counts, by source, the values from outside this project that were
// compared and found equal within the stated tolerance.
var matched = struct {
	sync.Mutex
	by map[string]int
}{by: map[string]int{}}

func match(source string, n int) {
	matched.Lock()
	defer matched.Unlock()
	matched.by[source] += n
}

func TestMain(m *testing.M) {
	code := m.Run()
	total := 0
	for _, source := range slices.Sorted(maps.Keys(matched.by)) {
		fmt.Printf("network: %7d values matched: %s\n", matched.by[source], source)
		total += matched.by[source]
	}
	if total > 0 {
		fmt.Printf("network: %7d external values matched in all\n", total)
	}
	os.Exit(code)
}
