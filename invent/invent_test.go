package invent

import (
	"bytes"
	"slices"
	"strings"
	"testing"

	"chargewright/job"
)

// draw folds the job of a seed, which must read without a fault.
func draw(t *testing.T, seed uint64, o Options) ([]job.Entry, *job.Job, []byte) {
	t.Helper()
	entries := Job(Rand(seed), o)
	j, text, err := Read(entries)
	if faults := faulty(err); faults != "" {
		t.Fatalf("job %d with %+v does not read: %s", seed, o, faults)
	}
	return entries, j, text
}

// faulty returns the faults of a job that are more than something still missing.
func faulty(err error) string {
	var out []string
	problems, _ := err.(job.Problems)
	for _, p := range problems {
		if !p.Unfinished() {
			out = append(out, p.Error())
		}
	}
	return strings.Join(out, "; ")
}

// TestRoundTrip: what a job says is the same written down and read back, and
// the same seed says the same.
func TestRoundTrip(t *testing.T) {
	n := uint64(400)
	if testing.Short() {
		n = 60
	}
	for seed := range n {
		for _, o := range []Options{Sound, Partial, Wild} {
			_, _, text := draw(t, seed, o)
			back, err := job.Read("job", text)
			if faults := faulty(err); faults != "" {
				t.Fatalf("job %d with %+v does not read back: %s\n%s", seed, o, faults, text)
			}
			if again := job.Write(back); !bytes.Equal(text, again) {
				t.Fatalf("job %d with %+v reads back as another:\n%s\n%s", seed, o, text, again)
			}
			if _, _, same := draw(t, seed, o); !bytes.Equal(text, same) {
				t.Fatalf("job %d with %+v is not the same twice", seed, o)
			}
		}
	}
}

// TestEveryWordIsDrawn: a word the record knows and no job says is a word no
// law was held to.
func TestEveryWordIsDrawn(t *testing.T) {
	type word struct{ pattern, value string }
	missing := map[word]bool{}
	paper := func(pattern string) bool { // lists that only papers read are not drawn
		return slices.ContainsFunc([]string{"inspections/", "judgements/", "departures/", "certificate/signing/", "quotation/",
			"instruments/", "runs/"}, func(p string) bool {
			return strings.HasPrefix(pattern, p)
		})
	}
	for pattern, s := range slots() {
		if s.words && !paper(pattern) && !slices.Contains(held, pattern) {
			for _, w := range s.choices {
				missing[word{pattern, w}] = true
			}
		}
	}
	total := len(missing)
	for seed := range uint64(2000) {
		for _, e := range Job(Rand(seed), Wild) {
			value, _, _ := strings.Cut(e.Value, " (")
			if s := slotAt(e.Path); s != nil {
				delete(missing, word{s.pattern, value})
			}
		}
		if len(missing) == 0 {
			t.Logf("%d words, each drawn within %d jobs", total, seed+1)
			return
		}
	}
	t.Errorf("never drawn in 2000 jobs: %v", missing)
}

// TestChangesKeepTheRecordReadable: a job renamed, shuffled or doubled is still
// a job, and one fact less leaves no fault but what is missing.
func TestChangesKeepTheRecordReadable(t *testing.T) {
	for seed := range uint64(20) {
		entries, _, _ := draw(t, seed, Options{Boards: 2, Points: 3, Readings: true})
		for name, changed := range map[string][]job.Entry{
			"renamed":  Renamed(entries, Awkward()),
			"shuffled": Shuffled(Rand(seed), entries),
		} {
			if _, _, err := Read(changed); faulty(err) != "" {
				t.Errorf("job %d %s: %s", seed, name, faulty(err))
			}
			if len(changed) != len(entries) {
				t.Errorf("job %d %s has %d entries, want %d", seed, name, len(changed), len(entries))
			}
		}
	}
}

// TestSlots: the fields are found, and each that is a quantity has values it takes.
func TestSlots(t *testing.T) {
	for pattern, want := range map[string]string{
		"circuits/*/legs/*/method": "D buried", "supply/Ze": "0.35 Ω", "supply/earthing": "TN-C-S", "points/*/outdoors": "yes",
		"supply/main bonding/*/csa":                 "10 mm²",
		"boards/*/surge protection/*/device/rating": "100 A", "boards/*/RCDs/*/type": "AC",
	} {
		if s := slots()[pattern]; s == nil || !slices.Contains(s.choices, want) {
			t.Errorf("slot %s = %+v, want one that can be %s", pattern, s, want)
		}
	}
	if s := slotAt("circuits/way to CP1/legs/leg 1/method"); s == nil || s.pattern != "circuits/*/legs/*/method" {
		t.Errorf("slotAt a leg's method = %v", s)
	}
}
