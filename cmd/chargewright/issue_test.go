package main

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// did runs a command and wants an exit code.
func did(t *testing.T, want int, args ...string) string {
	t.Helper()
	var out, talk bytes.Buffer
	if got := run(args, &out, &talk); got != want {
		t.Fatalf("chargewright %s exits %d, want %d\n%s%s", strings.Join(args, " "), got, want, &out, &talk)
	}
	return out.String() + talk.String()
}

// TestIssueAndVerify is a firm's whole way with its certificates: a key, a
// refusal, an issue, a later one, and what verify says of each.
func TestIssueAndVerify(t *testing.T) {
	dir := t.TempDir()
	keys, out := "--keys="+filepath.Join(dir, "keys"), filepath.Join(dir, "out")
	finished, unfinished := "../../examples/terrace/complete.yaml", "../../examples/terrace/job.yaml"
	t.Setenv(passphraseVariable, "four plain words here")

	if says := did(t, exitOpen, "issue", unfinished, keys, "-o", out); !strings.Contains(says, "not issued") || !strings.Contains(says, "→") {
		t.Errorf("a refusal does not say what to do: %s", says)
	}
	var refusal struct {
		Issued bool
		Gaps   []map[string]any
	}
	if err := json.Unmarshal([]byte(did(t, exitOpen, "issue", "--json", unfinished, keys)), &refusal); err != nil || refusal.Issued || len(refusal.Gaps) < 20 {
		t.Errorf("the refusal as JSON: %v, %v", refusal, err)
	}
	did(t, exitFails, "issue", "../../examples/terrace/faulty.yaml", keys)
	if _, err := os.Stat(out); err == nil {
		t.Error("a refused certificate leaves something behind")
	}
	if says := did(t, exitUnusable, "issue", finished, keys, "-o", out); !strings.Contains(says, "chargewright key --firm") {
		t.Errorf("without a key: %s", says)
	}

	t.Setenv(passphraseVariable, "short")
	did(t, exitUnusable, "key", "--firm", "Sparks and Daughter (invented)", keys)
	t.Setenv(passphraseVariable, "four plain words here")
	did(t, exitMet, "key", "--firm", "Sparks and Daughter (invented)", keys)
	did(t, exitUnusable, "key", "--firm", "Another (invented)", keys)
	keyFile := filepath.Join(dir, "keys", keyName)
	if info, err := os.Stat(keyFile); err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("the key file: %v, %v", info.Mode(), err)
	}

	did(t, exitMet, "issue", finished, keys, "-o", out)
	one := filepath.Join(out, "certificate-2026-0001-issue-1.pdf")
	var number string
	if entries, _ := os.ReadDir(out); len(entries) == 1 {
		number = entries[0].Name() // the year is that of the day
		one = filepath.Join(out, number)
	}
	if says := did(t, exitMet, "verify", one, keys); !strings.Contains(says, "unchanged  yes") || !strings.Contains(says, "no later issue") {
		t.Errorf("verify of a good file: %s", says)
	}
	if says := did(t, exitOpen, "verify", one, "--keys", filepath.Join(dir, "none")); !strings.Contains(says, "for you to check") {
		t.Errorf("verify without a key: %s", says)
	}
	content, err := os.ReadFile(one)
	if err != nil {
		t.Fatal(err)
	}
	content[len(content)/4] ^= 1
	changed := filepath.Join(dir, "changed.pdf")
	if err := os.WriteFile(changed, content, 0o644); err != nil {
		t.Fatal(err)
	}
	if says := did(t, exitFails, "verify", changed, keys); !strings.Contains(says, "changed since it was signed") {
		t.Errorf("verify of a changed file: %s", says)
	}
	did(t, exitMet, "issue", finished, keys, "-o", out)
	two := strings.Replace(one, "issue-1", "issue-2", 1)
	if says := did(t, exitFails, "verify", one, keys); !strings.Contains(says, "superseded by issue 2") {
		t.Errorf("verify of a superseded file: %s", says)
	}
	if says := did(t, exitFails, "verify", one, two, "--keys", filepath.Join(dir, "none")); !strings.Contains(says, "superseded by issue 2") {
		t.Errorf("verify of both issues together: %s", says)
	}
	old, err := os.ReadFile(keyFile)
	if err != nil {
		t.Fatal(err)
	}
	did(t, exitMet, "key", "--rotate", keys)
	if says := did(t, exitMet, "verify", two, keys); !strings.Contains(says, "former key") || !strings.Contains(says, two+"\n  register   yes") {
		t.Errorf("verify after the key was replaced: %s", says)
	}
	fresh, err := os.ReadFile(keyFile)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(keyFile, old, 0o600); err != nil { // somebody puts the old key back
		t.Fatal(err)
	}
	if says := did(t, exitUnusable, "issue", finished, keys, "-o", out); !strings.Contains(says, "it signs nothing more") {
		t.Errorf("issue with a replaced key: %s", says)
	}
	if err := os.WriteFile(keyFile, fresh, 0o600); err != nil {
		t.Fatal(err)
	}
	var former struct{ Former []struct{ Old string } }
	if err := json.Unmarshal(fresh, &former); err != nil {
		t.Fatal(err)
	}
	did(t, exitUnusable, "key", "--revoke", former.Former[0].Old, keys)
	did(t, exitUnusable, "key", "--revoke", "0123456789abcdef", "--why", "lost with the laptop", keys)
	did(t, exitMet, "key", "--revoke", former.Former[0].Old[:16], "--why", "lost with the laptop", keys)
	if says := did(t, exitMet, "verify", two, keys); !strings.Contains(says, "key revoked") {
		t.Errorf("what the register has stands after its key was revoked: %s", says)
	}
	foreign := filepath.Join(dir, "foreign.pdf")
	if err := os.WriteFile(foreign, []byte("%PDF-1.4\n%%EOF\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	if says := did(t, exitOpen, "verify", foreign, keys); !strings.Contains(says, "not known") {
		t.Errorf("verify of a foreign file: %s", says)
	}
	did(t, exitUnusable, "verify", filepath.Join(dir, "no such.pdf"), keys)

	lock := filepath.Join(dir, "keys", "register.lock")
	if err := os.WriteFile(lock, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	did(t, exitUnusable, "issue", finished, keys, "-o", out)
	if err := os.Chtimes(lock, time.Time{}, time.Now().Add(-2*abandoned)); err != nil {
		t.Fatal(err)
	}
	did(t, exitMet, "issue", finished, keys, "-o", out) // the hold was left behind

	t.Setenv(passphraseVariable, "four other words here")
	did(t, exitUnusable, "issue", finished, keys, "-o", out)
	for _, folder := range []string{out, filepath.Join(dir, "keys")} {
		entries, _ := os.ReadDir(folder)
		for _, e := range entries {
			if strings.HasPrefix(e.Name(), ".writing") || strings.HasSuffix(e.Name(), ".lock") {
				t.Errorf("%s is left in %s", e.Name(), folder)
			}
		}
	}
}

// TestPackByName: one paper, all of them in a ZIP with the certificate, and a
// name there is not.
func TestPackByName(t *testing.T) {
	dir := t.TempDir()
	job := "../../examples/bakery/job.yaml"
	did(t, exitMet, "pack", job, "-o", dir, "--only", "owner", "--date", "2026-11-25")
	if entries, _ := os.ReadDir(dir); len(entries) != 2 || entries[1].Name() != "owner.pdf" {
		t.Errorf("only owner leaves %v", entries)
	}
	if says := did(t, exitUnusable, "pack", job, "-o", dir, "--only", "diary"); !strings.Contains(says, "certificate") {
		t.Errorf("a paper there is not: %s", says)
	}
	certificate := filepath.Join(dir, "certificate-x.pdf")
	if err := os.WriteFile(certificate, []byte("%PDF-1.4"), 0o644); err != nil {
		t.Fatal(err)
	}
	did(t, exitMet, "pack", job, "-o", dir, "--zip", "--with", certificate)
	whole, err := os.ReadFile(filepath.Join(dir, "hand-over.zip"))
	if err != nil || !bytes.Contains(whole, []byte("certificate-x.pdf")) || !bytes.Contains(whole, []byte("owner.pdf")) {
		t.Errorf("the ZIP lacks a paper: %v", err)
	}
}
