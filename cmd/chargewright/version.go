package main

import (
	"fmt"
	"io"
	"runtime/debug"

	"chargewright/standard"
)

type versionCmd struct{}

// Run prints which build this is and which editions it knows.
func (versionCmd) Run(out io.Writer) error {
	revision := "not built from a checkout"
	if info, ok := debug.ReadBuildInfo(); ok {
		for _, s := range info.Settings {
			if s.Key == "vcs.revision" {
				revision = s.Value
			}
		}
	}
	fmt.Fprintf(out, "chargewright %s\n", revision)
	for _, e := range standard.Editions() {
		note := ""
		if e == standard.DefaultEdition() {
			note = "   default for new work"
		}
		fmt.Fprintf(out, "  %s%s\n", e, note)
	}
	return nil
}
