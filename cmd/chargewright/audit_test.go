package main

import (
	"database/sql"
	"os"
	"path/filepath"
	"strings"
	"testing"

	_ "modernc.org/sqlite"
)

// TestAuditAndCopyOfAServedJournal serves a journal, copies and audits it while
// it is served, and changes the copy.
func TestAuditAndCopyOfAServedJournal(t *testing.T) {
	h, keys := served(t, serveCmd{})
	brought(t, h, "../../examples/terrace/job.yaml")
	journal := filepath.Join(filepath.Dir(keys.Keys), "jobs.sqlite")
	to := filepath.Join(t.TempDir(), "copy.sqlite")
	code, copied := typed(t, "copy", journal, to)
	if code != exitMet || !strings.Contains(copied, "read back, it is whole") {
		t.Fatalf("copy exits %d: %s", code, copied)
	}
	if code, says := typed(t, "copy", journal, to); code != exitUnusable {
		t.Errorf("copied over what was there: %d, %s", code, says)
	}
	for _, file := range []string{journal, to} {
		code, says := typed(t, "audit", file)
		if code != exitMet || !strings.Contains(copied, between(says, "end of the chain: ", "\n")) {
			t.Errorf("audit exits %d: %s", code, says)
		}
	}
	db, err := sql.Open("sqlite", "file:"+to)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := db.Exec("DROP TRIGGER entry_stays; UPDATE entry SET value = value || ' ' WHERE nth = 1"); err != nil {
		t.Fatal(err)
	}
	db.Close()
	if code, says := typed(t, "audit", to); code != exitFails || !strings.Contains(says, "is not as it was kept") {
		t.Errorf("a changed journal exits %d: %s", code, says)
	}
	foreign := filepath.Join(t.TempDir(), "letter")
	if err := os.WriteFile(foreign, []byte("Dear client"), 0o600); err != nil {
		t.Fatal(err)
	}
	if code, says := typed(t, "audit", foreign); code != exitUnusable || !strings.Contains(says, "no journal") {
		t.Errorf("a letter exits %d: %s", code, says)
	}
}
