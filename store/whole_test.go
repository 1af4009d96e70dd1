//go:build !js

package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"chargewright/job"
)

// told returns an act that says one thing.
func told(n int) Act {
	return Act{ID: fmt.Sprintf("act-%d", n), Job: fmt.Sprintf("job-%d", n%3), What: "entered", Who: "Ann", When: "2026-11-25T09:00:00Z", Arrived: "2026-11-25T09:00:01Z",
		Entries: []job.Entry{{Path: "job", Value: fmt.Sprintf("Barn %d", n)}}}.Stamped()
}

// filled makes a journal of some acts and a photo, and closes it.
func filled(t *testing.T, acts int) string {
	t.Helper()
	file := filepath.Join(t.TempDir(), "journal.sqlite")
	s, err := Open(t.Context(), file)
	if err != nil {
		t.Fatal(err)
	}
	for n := range acts {
		a := told(n)
		if n == acts/2 {
			a.Photo = &Photo{Element: "cut-out", Type: "image/png", Content: []byte("picture")}
		}
		deliver(t, s, []Act{a})
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	return file
}

// by opens a journal past this package, as somebody with the file would.
func by(t *testing.T, file string, commands ...string) {
	t.Helper()
	db, err := sql.Open("sqlite", "file:"+file)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	for _, c := range commands {
		if _, err := db.Exec(c); err != nil {
			t.Fatalf("%s: %v", c, err)
		}
	}
}

func audited(t *testing.T, file string) Audited {
	t.Helper()
	s, err := Open(t.Context(), file)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	found, err := s.Audit(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	return found
}

// TestEveryChangeIsTold: whoever has the file changes one thing in it. The chain
// tells, and names the act.
func TestEveryChangeIsTold(t *testing.T) {
	const acts = 12
	file := filled(t, acts)
	whole := audited(t, file)
	if whole.Wrong != nil || whole.Acts != acts || whole.Photos != 1 || whole.Entries != acts {
		t.Fatalf("untouched it is found %+v", whole)
	}
	untouched, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	open := []string{"DROP TRIGGER act_stays", "DROP TRIGGER act_is_kept", "DROP TRIGGER entry_stays", "DROP TRIGGER entry_is_kept", "DROP TRIGGER photo_stays"}
	for _, change := range []string{
		"UPDATE entry SET value = 'Barn 9 m' WHERE id = 'act-4-1'", "UPDATE entry SET who = 'Sue' WHERE id = 'act-4-1'", "UPDATE entry SET follows = 'x' WHERE id = 'act-4-1'",
		"UPDATE entry SET instrument = 'M2' WHERE id = 'act-4-1'", "UPDATE entry SET path = 'stage' WHERE id = 'act-4-1'", "UPDATE entry SET made_at = '' WHERE id = 'act-4-1'",
		"UPDATE act SET who = 'Sue' WHERE place = 5", "UPDATE act SET made_at = '2026-11-24T09:00:00Z' WHERE place = 5", "UPDATE act SET arrived = '' WHERE place = 5",
		"UPDATE act SET brought = 'Sue' WHERE place = 5", "UPDATE act SET chain = '' WHERE place = 5", "UPDATE act SET place = 500 WHERE place = 12", "UPDATE photo SET content = x'00'",
		"DELETE FROM entry WHERE act = 5", "PRAGMA foreign_keys=0; DELETE FROM entry WHERE act = 5; DELETE FROM act WHERE place = 5",
	} {
		if err := os.WriteFile(file, untouched, 0o600); err != nil {
			t.Fatal(err)
		}
		by(t, file, append(open[:len(open):len(open)], change)...)
		found := audited(t, file)
		if change == "UPDATE act SET place = 500 WHERE place = 12" { // its entry stays behind
			if found.Wrong == nil && found.Chain == whole.Chain {
				t.Errorf("%s is not told", change)
			}
			continue
		}
		if found.Wrong == nil {
			t.Errorf("%s is not told", change)
		}
	}
	// What was taken off the end leaves no mark behind it: the chain's end tells.
	if err := os.WriteFile(file, untouched, 0o600); err != nil {
		t.Fatal(err)
	}
	by(t, file, append(open, "DELETE FROM entry WHERE act = 12", "DELETE FROM act WHERE place = 12")...)
	if found := audited(t, file); found.Chain == whole.Chain || found.Acts != acts-1 {
		t.Error("an act cut off the end leaves the chain's end as it was")
	}
}

// TestOlderJournalsAreChainedFromTheirBeginning: acts kept before there was a
// chain are vouched for by the next one.
func TestOlderJournalsAreChainedFromTheirBeginning(t *testing.T) {
	file := filled(t, 5)
	by(t, file, "DROP TRIGGER act_stays", "UPDATE act SET chain = ''")
	s, err := Open(t.Context(), file)
	if err != nil {
		t.Fatal(err)
	}
	deliver(t, s, []Act{told(90), told(91)})
	s.Close()
	if found := audited(t, file); found.Wrong != nil || found.Unchained != 5 {
		t.Fatalf("found %+v", found)
	}
	by(t, file, "DROP TRIGGER entry_stays", "UPDATE entry SET value = 'x' WHERE act = 2")
	if found := audited(t, file); found.Wrong == nil {
		t.Error("a change before the chain began is not told once it has")
	}
}

// TestWhatIsNoJournalIsLeftAsItIs.
func TestWhatIsNoJournalIsLeftAsItIs(t *testing.T) {
	dir := t.TempDir()
	for name, text := range map[string]string{"empty": "", "short": "SQLite", "letter": "Dear client, the work at the barn will begin on Monday."} {
		file := filepath.Join(dir, name)
		if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		if s, err := Open(t.Context(), file); err == nil {
			s.Close()
			t.Errorf("%s is opened as a journal", name)
		}
		if now, err := os.ReadFile(file); err != nil || string(now) != text {
			t.Errorf("%s was changed to %q, %v", name, now, err)
		}
	}
	foreign := filepath.Join(dir, "foreign.sqlite")
	db, err := sql.Open("sqlite", "file:"+foreign)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := db.Exec("CREATE TABLE invoice (x TEXT)"); err != nil {
		t.Fatal(err)
	}
	db.Close()
	before, _ := os.ReadFile(foreign)
	if s, err := Open(t.Context(), foreign); err == nil || !strings.Contains(err.Error(), "another program") {
		if err == nil {
			s.Close()
		}
		t.Errorf("another program's database: %v", err)
	}
	if after, _ := os.ReadFile(foreign); string(after) != string(before) {
		t.Error("another program's database was written into")
	}
}

// TestTheFileIsItsOwnersAlone: a new one, and one that was not.
func TestTheFileIsItsOwnersAlone(t *testing.T) {
	file := filled(t, 1)
	mode := func() os.FileMode {
		info, err := os.Stat(file)
		if err != nil {
			t.Fatal(err)
		}
		return info.Mode().Perm()
	}
	if got := mode(); got != 0o600 {
		t.Errorf("made with mode %o", got)
	}
	if err := os.Chmod(file, 0o644); err != nil {
		t.Fatal(err)
	}
	audited(t, file)
	if got := mode(); got != 0o600 {
		t.Errorf("opened, it has mode %o", got)
	}
}

// TestADiskThatIsOnlyRead: nothing is made beside the file, reading goes on, and
// adding is refused in words.
func TestADiskThatIsOnlyRead(t *testing.T) {
	file := filled(t, 6)
	s, err := open(t.Context(), file, "the disk cannot be written")
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	if acts, err := s.Acts(t.Context(), "job-0", 0); err != nil || len(acts) != 2 {
		t.Errorf("%d acts are read, %v", len(acts), err)
	}
	if _, err := s.Keep(t.Context(), told(900)); !errors.Is(err, ErrOnlyRead) {
		t.Errorf("adding is answered %v", err)
	}
	if beside, _ := filepath.Glob(file + "-*"); beside != nil {
		t.Errorf("made beside it: %v", beside)
	}
}

// TestADamagedJournalIsReadOnly: bytes in the middle of the file are lost.
func TestADamagedJournalIsReadOnly(t *testing.T) {
	file := filled(t, 400)
	by(t, file, "PRAGMA wal_checkpoint(TRUNCATE)")
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	// The page of the index of acts by job (SQLite's own description of its file,
	// 1.6): what it indexes stands elsewhere, and can still be read.
	db, err := sql.Open("sqlite", "file:"+file)
	if err != nil {
		t.Fatal(err)
	}
	var page, size int
	if err := db.QueryRow("SELECT rootpage FROM sqlite_master WHERE name = 'act_of_job'").Scan(&page); err != nil {
		t.Fatal(err)
	}
	if err := db.QueryRow("PRAGMA page_size").Scan(&size); err != nil {
		t.Fatal(err)
	}
	db.Close()
	copy(text[(page-1)*size+200:page*size], make([]byte, size))
	if err := os.WriteFile(file, text, 0o600); err != nil {
		t.Fatal(err)
	}
	s, err := Open(t.Context(), file)
	if err != nil {
		t.Fatalf("it is not opened at all: %v", err)
	}
	defer s.Close()
	if s.OnlyRead() == "" {
		t.Fatal("it is not said to be damaged")
	}
	if _, err := s.Keep(context.Background(), told(900)); !errors.Is(err, ErrOnlyRead) {
		t.Errorf("adding to it is answered %v", err)
	}
	if p, err := s.Photo(t.Context(), "act-200"); err != nil || string(p.Content) != "picture" {
		t.Errorf("what is whole in it is not read: %v", err)
	}
	if found, err := s.Audit(t.Context()); err != nil || found.Wrong == nil {
		t.Errorf("the audit finds %+v, %v", found, err)
	}
}

// TestAFullDisk: at a hundred moments drawn at random the file may grow no further. What was
// kept stays, what was not is said not to be, all of it or none, and reading
// goes on.
func TestAFullDisk(t *testing.T) {
	moments := 100
	if testing.Short() {
		moments = 12
	}
	if os.Getenv("CHARGEWRIGHT_FULL") != "" {
		moments = 200
	}
	draw := rand.New(rand.NewPCG(2, 200))
	s := opened(t)
	kept := map[string]bool{}
	refused := 0
	for n := range moments {
		if _, err := s.db.Exec("PRAGMA wal_checkpoint(TRUNCATE)"); err != nil {
			t.Fatal(err)
		}
		var pages int
		if err := s.db.QueryRow("PRAGMA page_count").Scan(&pages); err != nil {
			t.Fatal(err)
		}
		s.db.SetMaxOpenConns(1) // the bound is one of a connection
		if _, err := s.db.Exec(fmt.Sprintf("PRAGMA max_page_count = %d", pages+draw.IntN(8))); err != nil {
			t.Fatal(err)
		}
		for k := range 6 {
			a := told(n*10 + k)
			a.Photo = &Photo{Element: "cut-out", Type: "image/png", Content: []byte(strings.Repeat("picture", 300*(k+1)))}
			_, err := s.Keep(t.Context(), a)
			switch {
			case err == nil:
				kept[a.ID] = true
			case errors.Is(err, ErrNoRoom):
				refused++
			default:
				t.Fatalf("moment %d: %v", n, err)
			}
			if acts, err := s.Acts(t.Context(), a.Job, 0); err != nil || len(acts) == 0 && len(kept) > 3 {
				t.Fatalf("moment %d: reading gives %d acts, %v", n, len(acts), err)
			}
		}
		if _, err := s.db.Exec("PRAGMA max_page_count = 1000000"); err != nil {
			t.Fatal(err)
		}
	}
	found, err := s.Audit(t.Context())
	if err != nil || found.Wrong != nil || found.Acts != len(kept) || found.Photos != len(kept) {
		t.Errorf("%d were kept, and %+v is found, %v", len(kept), found, err)
	}
	if refused == 0 || len(kept) == 0 {
		t.Errorf("%d kept, %d refused: the disk was never full, or always", len(kept), refused)
	}
}

// TestACopyWhileOthersAdd: the copy is one state of the journal, whole, and
// nothing is written over.
func TestACopyWhileOthersAdd(t *testing.T) {
	s := opened(t)
	stop := make(chan struct{})
	done := make(chan error)
	go func() {
		for n := 0; ; n++ {
			select {
			case <-stop:
				done <- nil
				return
			default:
			}
			if _, err := s.Keep(context.Background(), told(n), told(n+1_000_000)); err != nil {
				done <- err
				return
			}
		}
	}()
	dir := t.TempDir()
	for i := range 4 {
		to := filepath.Join(dir, fmt.Sprint("copy-", i))
		found, err := s.Copy(t.Context(), to)
		if err != nil {
			t.Fatal(err)
		}
		again := audited(t, to)
		if again.Acts%2 != 0 || again.Chain != found.Chain || again.Wrong != nil {
			t.Errorf("copy %d holds %d acts of pairs that were kept together: %v", i, again.Acts, again.Wrong)
		}
		if _, err := s.Copy(t.Context(), to); err == nil {
			t.Error("a copy was written over")
		}
		if info, err := os.Stat(to); err != nil || info.Mode().Perm() != 0o600 {
			t.Errorf("the copy has mode %v, %v", info.Mode(), err)
		}
	}
	close(stop)
	if err := <-done; err != nil {
		t.Fatal(err)
	}
	left, _ := filepath.Glob(filepath.Join(dir, "*.part*"))
	if left != nil {
		t.Errorf("left behind: %v", left)
	}
}
