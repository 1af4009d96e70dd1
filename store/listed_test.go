package store

import (
	"path/filepath"
	"strconv"
	"testing"

	"chargewright/job"
)

// TestList: a page of the list holds the jobs added to last that are asked for,
// the next page goes on where it ends, and what was found of a job is shown
// until the job is added to. The list of a database made anew is the same.
func TestList(t *testing.T) {
	sqlite, err := Open(t.Context(), filepath.Join(t.TempDir(), "journal.sqlite"))
	if err != nil {
		t.Fatal(err)
	}
	defer sqlite.Close()
	for name, s := range map[string]interface {
		Store
		Lister
	}{"sqlite": sqlite, "memory": NewMemory()} {
		act := func(job_ string, n int, who string, entries ...job.Entry) {
			id := job_ + "-" + strconv.Itoa(n)
			if _, err := s.Keep(t.Context(), Act{ID: id, Job: job_, What: "entered", Who: who, When: "2026-11-25T10:00:00.000Z", Entries: entries}.Stamped()); err != nil {
				t.Fatal(err)
			}
		}
		for i := range 9 {
			act("job"+strconv.Itoa(i), 1, []string{"Ann", "Ben"}[i%2], job.Entry{Path: "job", Value: "Elm Row " + strconv.Itoa(i)}, job.Entry{Path: "stage", Value: "survey"})
		}
		act("job3", 2, "Ben", job.Entry{Path: "site/address", Value: "1 Mill Lane"}, job.Entry{Path: "stage", Value: "live"})
		list := func(w Wanted) (out string) {
			rows, err := s.List(t.Context(), w)
			if err != nil {
				t.Fatal(err)
			}
			for _, l := range rows {
				out += l.Job[3:]
			}
			return out
		}
		page, _ := s.List(t.Context(), Wanted{Rank: -1, Most: 4})
		before := page[3].Last
		for want, w := range map[string]Wanted{"3876": {Rank: -1, Most: 4}, "5421": {Rank: -1, Most: 4, Before: before}, "3": {Rank: -1, Most: 4, Words: "LANE mill"},
			"": {Rank: 0, Most: 4}, "375": {Rank: -1, Most: 3, Who: "Ben"}, "87": {Rank: NotNoted, Most: 2, Stage: "survey"}} {
			if got := list(w); got != want {
				t.Errorf("%s: %+v lists %q, want %q", name, w, got, want)
			}
		}
		found := page[0]
		found.Waits, found.Rank, found.Noted = "Fails at the cable", 0, found.Last
		if err := s.Opened(t.Context(), found); err != nil {
			t.Fatal(err)
		}
		if got := list(Wanted{Rank: 0, Most: 4}); got != "3" {
			t.Errorf("%s: %q fails, want 3", name, got)
		}
		old := found
		old.Noted, old.Waits = found.Last-1, "an older finding"
		s.Opened(t.Context(), old)
		if rows, _ := s.List(t.Context(), Wanted{Rank: 0, Most: 4}); rows[0].Waits != found.Waits {
			t.Errorf("%s: what was found before an act is kept after it: %q", name, rows[0].Waits)
		}
		if count, err := s.Count(t.Context()); err != nil || count[0] != 1 || count[NotNoted] != 8 {
			t.Errorf("%s: counted %v, %v", name, count, err)
		}
	}
}
