package design

import (
	"math/rand/v2"
	"os"
	"path/filepath"
	"reflect"
	"testing"

	"chargewright/finding"
	"chargewright/job"
	"chargewright/model"
	"chargewright/standard"
)

// TestWithoutAnyFact takes facts out of the example jobs, one at a time and
// many at once. Whatever is missing, nothing breaks, every finding keeps its
// clause, and what is not known says what to find out.
func TestWithoutAnyFact(t *testing.T) {
	files, err := filepath.Glob("../examples/*/*.yaml")
	if err != nil || len(files) == 0 {
		t.Fatal(files, err)
	}
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		read := func() *job.Job {
			j, err := job.Read(file, text)
			if err != nil {
				t.Fatal(err)
			}
			return j
		}
		facts := countFacts(reflect.ValueOf(read()).Elem())
		seed := rand.New(rand.NewPCG(7671, uint64(facts)))
		for i := range 60 {
			j := read()
			take := 1 + i%8
			if i%10 == 9 {
				take = facts / 2
			}
			for range take {
				n := seed.IntN(facts)
				blank(reflect.ValueOf(j).Elem(), &n)
			}
			holds(t, file, j)
		}
	}
}

func holds(t *testing.T, file string, j *job.Job) {
	t.Helper()
	rules, err := standard.Open(standard.DefaultEdition())
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range Check(model.New(j, rules)) {
		if f.Clause.Name == "" || f.Subject == "" || f.What == "" {
			t.Errorf("%s: a finding without clause, subject or requirement: %+v", file, f)
		}
		if f.Verdict == finding.NotKnown && (f.Next == "" || f.Why.String() == "not known: ") {
			t.Errorf("%s: %s, %s is not known and does not say what to find out (%s)", file, f.Subject, f.Key, f.Why)
		}
		_ = f.Source.String() // words are put together late: they must not break either
	}
}

// countFacts counts the leaves of a record that can be taken out.
func countFacts(v reflect.Value) int {
	switch v.Kind() {
	case reflect.Struct:
		if isFact(v) {
			return 1
		}
		sum := 0
		for i := range v.NumField() {
			sum += countFacts(v.Field(i))
		}
		return sum
	case reflect.Slice:
		sum := 1 // the list itself
		for i := range v.Len() {
			sum += countFacts(v.Index(i))
		}
		return sum
	}
	return 1
}

// isFact reports whether v is a quantity.Maybe, whose fields are its own.
func isFact(v reflect.Value) bool { return v.NumField() > 0 && !v.Type().Field(0).IsExported() }

// blank sets the n-th leaf to its zero value.
func blank(v reflect.Value, n *int) bool {
	switch v.Kind() {
	case reflect.Struct:
		if isFact(v) {
			break
		}
		for i := range v.NumField() {
			if blank(v.Field(i), n) {
				return true
			}
		}
		return false
	case reflect.Slice:
		for i := range v.Len() {
			if blank(v.Index(i), n) {
				return true
			}
		}
	}
	if *n == 0 {
		v.SetZero()
		return true
	}
	*n--
	return false
}
