// Package examples holds the example jobs, each an invented scenario, with a
// twin that has faults planted in it.
package examples

import "embed"

// Files is every example: "pool/job.yaml", "pool/faulty.yaml".
//
//go:embed */*.yaml
var Files embed.FS
