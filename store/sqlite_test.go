//go:build !js

package store

import (
	"context"
	"database/sql"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"

	"chargewright/job"
)

func opened(t *testing.T) *SQLite {
	t.Helper()
	s, err := Open(context.Background(), filepath.Join(t.TempDir(), "journal.sqlite"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	return s
}

func TestJournalIsOnlyAddedTo(t *testing.T) {
	s := opened(t)
	deliver(t, s, []Act{Act{ID: "one", Job: "j", When: "2026-11-25T09:00:00Z", Entries: []job.Entry{{Path: "job", Value: "Barn"}}}.Stamped()})
	for _, command := range []string{"UPDATE act SET who = 'x'", "DELETE FROM act", "UPDATE entry SET value = 'x'", "DELETE FROM entry"} {
		if _, err := s.db.Exec(command); err == nil || !strings.Contains(err.Error(), "only added to") {
			t.Errorf("%s = %v, want it refused", command, err)
		}
	}
}

func TestKeepIsAllOrNone(t *testing.T) {
	s := opened(t)
	good := Act{ID: "one", Job: "j", When: "2026-11-25T09:00:00Z", Entries: []job.Entry{{Path: "job", Value: "Barn"}}}.Stamped()
	bad := good
	bad.ID, bad.When = "two", ""
	if _, err := s.Keep(context.Background(), good, bad); err == nil {
		t.Error("an act without a time was kept")
	}
	if jobs, _ := s.Jobs(context.Background()); len(jobs) != 0 {
		t.Errorf("jobs = %v after a refused list, want none", jobs)
	}
}

func TestPhotosComeBack(t *testing.T) {
	for name, s := range map[string]Store{"memory": NewMemory(), "file": opened(t)} {
		deliver(t, s, []Act{{ID: "one", Job: "j", When: "2026-11-25T09:00:00Z", Photo: &Photo{Element: "cut-out", Type: "image/png", Content: []byte("picture")}}})
		acts, err := s.Acts(context.Background(), "j", 0)
		if err != nil || len(acts) != 1 || acts[0].Photo == nil || acts[0].Photo.Element != "cut-out" || len(acts[0].Photo.Content) != 0 || acts[0].Photo.Bytes != len("picture") {
			t.Errorf("%s: acts = %+v (%v), want one photo without its content, and how large it is", name, acts, err)
		}
		if p, err := s.Photo(context.Background(), "one"); err != nil || string(p.Content) != "picture" {
			t.Errorf("%s: photo = %+v, %v", name, p, err)
		}
		if _, err := s.Photo(context.Background(), "two"); err != ErrNotFound {
			t.Errorf("%s: a photo nobody took: %v, want ErrNotFound", name, err)
		}
	}
}

// TestAPhotoWithoutEntriesStandsInItsJob: a program may send one so.
func TestAPhotoWithoutEntriesStandsInItsJob(t *testing.T) {
	a := Act{ID: "one", Job: "j", Who: "Ann", When: "2026-11-25T09:00:00Z", Photo: &Photo{Element: "cut-out", Type: "image/png", Content: []byte("picture")}}
	j, err := Record([]Act{a}).Job("")
	if err != nil || len(j.Photos) != 1 {
		t.Fatalf("photos = %v, %v, want one", j.Photos, err)
	}
	if p := j.Photos[0]; p.Name != a.PhotoName() || p.Name != "one.png" || p.Of != "cut-out" || p.By != "Ann" || p.Taken != a.When || p.OnPapers.Or(false) {
		t.Errorf("it stands as %+v", p)
	}
	a.Entries = []job.Entry{{ID: "x", Path: "photos/meter.png/of", Value: "meter and tails"}}
	if a.PhotoName() != "meter.png" {
		t.Errorf("a photo with entries goes by %q, want meter.png", a.PhotoName())
	}
}

func TestMigrations(t *testing.T) {
	ctx := context.Background()
	db, err := sql.Open("sqlite", "file:"+filepath.Join(t.TempDir(), "m.sqlite"))
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	file := func(text string) *fstest.MapFile { return &fstest.MapFile{Data: []byte(text)} }
	files := fstest.MapFS{"migrations/0001_a.sql": file("CREATE TABLE a (x TEXT) STRICT")}
	for range 2 { // the second time there is nothing to do
		if err := migrate(ctx, db, files); err != nil {
			t.Fatal(err)
		}
	}
	files["migrations/0002_b.sql"] = file("CREATE TABLE b (x TEXT) STRICT; CREATE TABLE a (x TEXT)")
	if err := migrate(ctx, db, files); err == nil {
		t.Error("a migration that cannot be done was done")
	}
	if _, err := db.Exec("SELECT * FROM b"); err == nil {
		t.Error("half of a migration stayed")
	}
	files["migrations/0002_b.sql"] = file("CREATE TABLE b (x TEXT) STRICT")
	if err := migrate(ctx, db, files); err != nil {
		t.Error(err)
	}
	if err := migrate(ctx, db, fstest.MapFS{"migrations/0001_a.sql": file("")}); err == nil {
		t.Error("a database of a newer version was opened")
	}
	if err := migrate(ctx, db, fstest.MapFS{"migrations/0001_a.sql": file(""), "migrations/0003_c.sql": file("")}); err == nil {
		t.Error("a gap in the numbers was passed over")
	}
}
