package bounds

import (
	"flag"
	"fmt"
	"os"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "write the table anew")

// TestTheTableIsPrinted holds docs/bounds.md to the table, and every line of it
// to a name and an amount.
func TestTheTableIsPrinted(t *testing.T) {
	var b strings.Builder
	b.WriteString("# The most there may be\n\nOne set of bounds for every way in: pages, programming interface, what a device sends, job files, photos. What passes one is refused and " +
		"the bound is named.\n\nGenerated: `go test ./bounds -update`.\n\n| bound | most |\n|---|---|\n")
	for _, one := range All() {
		if one.String() == "" || one.Most() < 1 {
			t.Errorf("bound %d has no name or no amount", int(one))
		}
		if one.Hold(one.Most(), "") != nil || one.Hold(one.Most()+1, "here") == nil {
			t.Errorf("%v does not hold at its amount", one)
		}
		fmt.Fprintf(&b, "| %s | %s |\n", one, one.Amount())
	}
	if *update {
		if err := os.WriteFile("../docs/bounds.md", []byte(b.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if kept, err := os.ReadFile("../docs/bounds.md"); err != nil || string(kept) != b.String() {
		t.Errorf("docs/bounds.md is not the table, %v: go test ./bounds -update", err)
	}
}
