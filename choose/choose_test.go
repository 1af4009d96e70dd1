package choose

import (
	"os"
	"testing"

	"chargewright/job"
	"chargewright/standard"
)

// openJob reads a job file of the examples.
func openJob(t testing.TB, name string) (*job.Job, *standard.Rulebook, *Catalogue) {
	t.Helper()
	text, err := os.ReadFile("../examples/" + name)
	if err != nil {
		t.Fatal(err)
	}
	return parse(t, name, text)
}

func parse(t testing.TB, name string, text []byte) (*job.Job, *standard.Rulebook, *Catalogue) {
	t.Helper()
	j, err := job.Read(name, text)
	if err != nil {
		t.Fatal(err)
	}
	rules, err := standard.Open(j.Edition)
	if err != nil {
		t.Fatal(err)
	}
	c, err := BuiltIn()
	if err != nil {
		t.Fatal(err)
	}
	return j, rules, c
}
