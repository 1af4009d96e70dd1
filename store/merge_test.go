//go:build !js

package store

import (
	"context"
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"chargewright/job"
)

// history is what two devices did to one job apart from each other.
type history struct{ a, b []Act }

// values are what a person might enter at each path.
var values = map[string][]string{
	"job":                                 {"Barn", "Old barn", "Barn, one point"},
	"supply/earthing":                     {"TN-S", "TN-C-S", "TT", ""},
	"supply/Ze":                           {"0.18 Ω (measured)", "0.2 Ω", "0.35 Ω (declared)", ""},
	"boards/main board":                   {"1", ""},
	"boards/main board/ways":              {"12", "8"},
	"circuits/van point/from":             {"main board"},
	"circuits/van point/legs/yard":        {"1", ""},
	"circuits/van point/legs/yard/length": {"25 m", "26 m", "24.5 m (measured)"},
	"site/hazards/asbestos":               {"1", ""},
	"photos/cut-out-1.jpg":                {"1", ""},
	"photos/cut-out-1.jpg/on papers":      {"yes", "no", ""},
	"photos/cut-out-1.jpg/caption":        {"seal of the cut-out", "cut-out, seal broken"},
}

var paths = slices.Sorted(maps.Keys(values))

// random makes a history: each device's acts follow what that device knows,
// now and then taking an act back.
func random(r *rand.Rand) history {
	var h history
	n := 0
	act := func(mine []Act, device string) Act {
		n++
		who := []string{"Ann", "Bert", ""}[r.IntN(3)]
		a := Act{ID: fmt.Sprintf("%s-%d", device, n), Job: "j", What: "entered", Who: who, Device: device,
			When: fmt.Sprintf("2026-11-25T%02d:%02d:00Z", 8+r.IntN(8), r.IntN(60))}
		for range 1 + r.IntN(3) {
			path := paths[r.IntN(len(paths))]
			of := values[path]
			e := job.Entry{Path: path, Value: of[r.IntN(len(of))]}
			if r.IntN(3) > 0 { // saw what the device showed
				e.Follows = Record(mine).Shown(path)
			}
			a.Entries = append(a.Entries, e)
		}
		return a.Stamped()
	}
	var common []Act
	for range r.IntN(4) {
		common = append(common, act(common, "c"))
	}
	h.a, h.b = slices.Clone(common), slices.Clone(common)
	for range r.IntN(5) {
		h.a = append(h.a, act(h.a, "a"))
	}
	for range r.IntN(5) {
		h.b = append(h.b, act(h.b, "b"))
	}
	return h
}

// said is everything a journal says: the entries, the job, the conflicts.
func said(t *testing.T, s Store) string {
	t.Helper()
	acts, err := s.Acts(context.Background(), "j", 0)
	if err != nil {
		t.Fatal(err)
	}
	r := Record(acts)
	j, _ := r.Job("")
	return fmt.Sprint(r.Entries(), string(job.Write(j)), r.Conflicts())
}

func deliver(t *testing.T, s Store, acts []Act) {
	t.Helper()
	if _, err := s.Keep(context.Background(), acts...); err != nil {
		t.Fatal(err)
	}
}

// TestMergeLosesNothing holds, over 10,000 random histories, that two devices'
// journals put together say the same in either order (commutative), grouped in
// any way (associative) and however often they are sent (idempotent), and that
// every entry of either is in the result.
func TestMergeLosesNothing(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 11))
	histories := 10_000
	if os.Getenv("CHARGEWRIGHT_FULL") != "" {
		histories = 34_000 // three merges of each are held against one more
	}
	if testing.Short() {
		histories = 500
	}
	for i := range histories {
		h := random(r)
		c := []Act{Act{ID: "third", Job: "j", What: "entered", Who: "Cy", When: "2026-11-25T09:00:00Z",
			Entries: []job.Entry{{Path: "job", Value: "Third"}}}.Stamped()}
		ab, ba, again, grouped := NewMemory(), NewMemory(), NewMemory(), NewMemory()
		deliver(t, ab, h.a)
		deliver(t, ab, h.b)
		deliver(t, ab, c)
		deliver(t, ba, c)
		deliver(t, ba, h.b)
		deliver(t, ba, h.a)
		deliver(t, grouped, append(slices.Clone(h.b), c...))
		deliver(t, grouped, h.a)
		for range 3 {
			all := append(append(slices.Clone(h.a), h.b...), c...)
			r.Shuffle(len(all), func(i, j int) { all[i], all[j] = all[j], all[i] })
			deliver(t, again, all)
		}
		want := said(t, ab)
		for name, s := range map[string]Store{"b before a": ba, "grouped": grouped, "shuffled, three times": again} {
			if got := said(t, s); got != want {
				t.Fatalf("history %d, %s:\n%s\nwant\n%s", i, name, got, want)
			}
		}
		acts, _ := ab.Acts(context.Background(), "j", 0)
		entries := Record(acts).Entries()
		for _, a := range append(slices.Clone(h.a), h.b...) {
			for _, e := range a.Entries {
				if !slices.Contains(entries, e) {
					t.Fatalf("history %d: entry %v is lost", i, e)
				}
			}
		}
	}
}

// TestDifferentValuesAreBothKept is the case a person must settle.
func TestDifferentValuesAreBothKept(t *testing.T) {
	m := NewMemory()
	enter := func(id, who, when, value, follows string) {
		deliver(t, m, []Act{Act{ID: id, Job: "j", What: "entered", Who: who, When: when,
			Entries: []job.Entry{{Path: "supply/Ze", Value: value, Follows: follows}}}.Stamped()})
	}
	enter("one", "Ann", "2026-11-25T09:00:00Z", "0.18 Ω", "")
	enter("two", "Bert", "2026-11-25T09:05:00Z", "0.21 Ω", "")
	acts, _ := m.Acts(context.Background(), "j", 0)
	conflicts := Record(acts).Conflicts()
	if len(conflicts) != 1 || len(conflicts[0].Entries) != 2 {
		t.Fatalf("conflicts = %v, want both values of Ze", conflicts)
	}
	enter("three", "Ann", "2026-11-25T10:00:00Z", "0.18 Ω", Record(acts).Shown("supply/Ze"))
	acts, _ = m.Acts(context.Background(), "j", 0)
	if conflicts := Record(acts).Conflicts(); len(conflicts) != 0 {
		t.Errorf("settled by Ann, yet conflicts = %v", conflicts)
	}
}

// TestDoorsAgree puts the same histories through memory and through a file,
// closed and opened again.
func TestDoorsAgree(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 5))
	for i := range 20 {
		file := filepath.Join(t.TempDir(), "a journal #1.sqlite")
		s, err := Open(context.Background(), file)
		if err != nil {
			t.Fatal(err)
		}
		m := NewMemory()
		h := random(r)
		for _, s := range []Store{m, s} {
			deliver(t, s, h.b)
			deliver(t, s, h.a)
			deliver(t, s, h.b)
		}
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
		s, err = Open(context.Background(), file)
		if err != nil {
			t.Fatal(err)
		}
		inMemory, _ := m.Acts(context.Background(), "j", 0)
		inFile, err := s.Acts(context.Background(), "j", 0)
		if err != nil || fmt.Sprint(inFile) != fmt.Sprint(inMemory) {
			t.Errorf("history %d: file says %v (%v), memory %v", i, inFile, err, inMemory)
		}
		if n := len(inMemory); n > 2 {
			after, err := s.Acts(context.Background(), "j", inFile[1].Place)
			if err != nil || len(after) != n-2 || len(after[0].Entries) != len(inFile[2].Entries) {
				t.Errorf("history %d: after the second act there are %v (%v), want %d acts", i, after, err, n-2)
			}
		}
		s.Close()
	}
}
