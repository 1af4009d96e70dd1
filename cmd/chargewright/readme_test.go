package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestReadmeCommands runs every command the README shows.
func TestReadmeCommands(t *testing.T) {
	text, err := os.ReadFile("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	root, err := filepath.Abs("../..")
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	if err := os.Symlink(filepath.Join(root, "examples"), filepath.Join(dir, "examples")); err != nil {
		t.Fatal(err)
	}
	t.Chdir(dir)
	shown := 0
	for _, line := range strings.Split(string(text), "\n") {
		command, ok := strings.CutPrefix(line, "go run ./cmd/chargewright ")
		if !ok {
			continue
		}
		shown++
		args := strings.Fields(strings.ReplaceAll(command, `"`, ""))
		var out, talk bytes.Buffer
		if code := run(args, &out, &talk); code != exitMet && code != exitOpen {
			t.Errorf("%s exits %d: %s", line, code, &talk)
		}
		if out.Len() == 0 {
			t.Errorf("%s prints nothing", line)
		}
	}
	if shown < 5 {
		t.Errorf("the README shows %d commands", shown)
	}
}
