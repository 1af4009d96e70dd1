package laws

import (
	"encoding/csv"
	"flag"
	"maps"
	"os"
	"slices"
	"strings"
	"testing"

	"chargewright/job"
)

var update = flag.Bool("update", false, "write down what breaks a law today, each with the smallest job that shows it")

// breach is a way in which a law is broken: what is asked, and what comes of it.
type breach struct{ what, change string }

// breaches is what breaks one law, each with where it was seen.
type breaches map[breach]*seen

// seen is a breach as it was met.
type seen struct {
	facts   map[string]bool // that it was seen with
	sample  string
	entries []job.Entry
	again   func([]job.Entry) bool // whether other entries break the law the same way
}

// add notes a breach; the first job that shows it is kept.
func (b breaches) add(at breach, fact string, s sample, again func([]job.Entry) bool) {
	if b[at] == nil {
		b[at] = &seen{map[string]bool{}, s.name, s.entries, again}
	}
	b[at].facts[fact] = true
}

const knownFile = "testdata/known.csv"

var knownHead = []string{"law", "what", "change", "facts", "smallest job"}

func known(t *testing.T) [][]string {
	t.Helper()
	f, err := os.Open(knownFile)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil || len(rows) == 0 || !slices.Equal(rows[0], knownHead) {
		t.Fatalf("%s: heads %v wanted: %v", knownFile, knownHead, err)
	}
	return rows[1:]
}

// hold compares what breaks a law with what is known to. Only where every job is
// tried can it say that a breach is mended.
func hold(t *testing.T, law string, b breaches) {
	t.Helper()
	rows := known(t)
	if *update && *wholly {
		write(t, law, rows, b)
		return
	}
	listed := breaches{}
	for _, row := range rows {
		if row[0] == law {
			listed[breach{row[1], row[2]}] = &seen{}
		}
	}
	for _, at := range b.sorted() {
		if listed[at] == nil {
			t.Errorf("%s: %s: %s, by %s; first seen in %s", law, at.what, at.change, strings.Join(slices.Sorted(maps.Keys(b[at].facts)), "; "), b[at].sample)
		}
	}
	for _, at := range listed.sorted() {
		if b[at] == nil && *wholly {
			t.Errorf("%s: %s: %s: this no longer happens; delete its row of %s", law, at.what, at.change, knownFile)
		}
	}
}

func (b breaches) sorted() []breach {
	return slices.SortedFunc(maps.Keys(b), func(a, b breach) int { return strings.Compare(a.what+a.change, b.what+b.change) })
}

// write puts down what breaks a law today. A smallest job once found is kept.
func write(t *testing.T, law string, rows [][]string, b breaches) {
	smallestOf := map[breach]string{}
	for _, row := range rows {
		if row[0] == law {
			smallestOf[breach{row[1], row[2]}] = row[4]
		}
	}
	rows = slices.DeleteFunc(rows, func(row []string) bool { return row[0] == law })
	for _, at := range b.sorted() {
		s := b[at]
		if smallestOf[at] == "" {
			var facts []string
			for _, e := range smallest(s.entries, s.again) {
				facts = append(facts, e.Path+": "+e.Value)
			}
			smallestOf[at] = strings.Join(facts, " · ")
		}
		rows = append(rows, []string{law, at.what, at.change, strings.Join(slices.Sorted(maps.Keys(s.facts)), "; "), smallestOf[at]})
	}
	slices.SortFunc(rows, func(a, b []string) int { return slices.Compare(a[:3], b[:3]) })
	f, err := os.Create(knownFile)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if err := csv.NewWriter(f).WriteAll(append([][]string{knownHead}, rows...)); err != nil {
		t.Fatal(err)
	}
}

// smallest takes out of a job all that a breach does not need: halves first,
// then quarters, down to single entries.
func smallest(entries []job.Entry, again func([]job.Entry) bool) []job.Entry {
	for size := len(entries) / 2; size > 0; size /= 2 {
		for i := 0; i < len(entries); {
			less := slices.Delete(slices.Clone(entries), i, min(i+size, len(entries)))
			if again(less) {
				entries = less
			} else {
				i += size
			}
		}
	}
	return entries
}
