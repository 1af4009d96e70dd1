package chargewright

import (
	"crypto/sha256"
	"flag"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "write the list of licences anew")

// licences are how the texts of the licences begin to say what they are.
var licences = []struct{ name, says string }{
	{"Apache-2.0", "Apache License"},
	{"MPL-2.0", "Mozilla Public License"},
	{"MIT", "Permission is hereby granted, free of charge"},
	{"BSD-3-Clause", "Neither the name"},
	{"BSD-2-Clause", "Redistribution and use in source and binary forms"},
	{"ISC", "Permission to use, copy, modify, and/or distribute"},
	{"ISC", "Permission to use, copy, modify, and distribute this software for any purpose with or without fee"},
	{"Unlicense", "This is free and unencumbered software"},
}

// TestLicencesAreListed holds docs/licences.md to the modules that are built
// into the program, on a computer and in the browser, and to the licence that
// each brings. One that asks for more than its text to be passed on, or has no
// licence at all, is named here before it is used.
func TestLicencesAreListed(t *testing.T) {
	var lines []string
	for _, target := range [][]string{{"GOOS=linux", "GOARCH=amd64", "./cmd/chargewright"}, {"GOOS=js", "GOARCH=wasm", "./web/worker"}} {
		c := exec.Command("go", "list", "-deps", "-f", "{{with .Module}}{{.Path}} {{.Version}} {{.Dir}}{{end}}", target[2])
		c.Env = append(os.Environ(), target[:2]...)
		out, err := c.Output()
		if err != nil {
			t.Fatal(err)
		}
		for _, line := range strings.Split(string(out), "\n") {
			if fields := strings.Fields(line); len(fields) == 3 {
				lines = append(lines, fmt.Sprintf("| %s | %s | %s |", fields[0], fields[1], licenceIn(fields[2])))
			}
		}
	}
	slices.Sort(lines)
	lines = slices.Compact(lines)
	text := "# Licences of what is built in\n\nGenerated: `go test . -run Licences -update`.\n\n| module | version | licence |\n|---|---|---|\n" + strings.Join(lines, "\n") + "\n"
	if strings.Contains(text, "none found") {
		t.Errorf("a module brings no licence that is known here:\n%s", text)
	}
	file := filepath.Join("docs", "licences.md")
	if *update {
		if err := os.WriteFile(file, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if kept, err := os.ReadFile(file); err != nil || string(kept) != text {
		t.Errorf("%s is not the list of what is built in, %v: go test . -run Licences -update", file, err)
	}
}

func licenceIn(folder string) string {
	files, _ := filepath.Glob(filepath.Join(folder, "*"))
	for _, file := range files {
		if name := strings.ToUpper(filepath.Base(file)); !strings.Contains(name, "LICEN") && !strings.HasPrefix(name, "COPYING") {
			continue
		}
		text, err := os.ReadFile(file)
		if err != nil {
			continue
		}
		words := strings.Join(strings.Fields(string(text)), " ")
		for _, l := range licences {
			if strings.Contains(words, l.says) {
				return l.name
			}
		}
	}
	return "none found"
}

// TestThreatsNameTestsThereAre: a line of the note that names a test which is
// gone shows nothing.
func TestThreatsNameTestsThereAre(t *testing.T) {
	note, err := os.ReadFile(filepath.Join("docs", "threats.md"))
	if err != nil {
		t.Fatal(err)
	}
	there, fuzzed := map[string]bool{}, map[string]bool{}
	declared := regexp.MustCompile(`(?m)^func (Test\w+|Fuzz\w+)\(`)
	err = filepath.WalkDir(".", func(file string, _ fs.DirEntry, err error) error {
		if err != nil || !strings.HasSuffix(file, "_test.go") {
			return err
		}
		text, err := os.ReadFile(file)
		for _, m := range declared.FindAllStringSubmatch(string(text), -1) {
			if there[m[1]] = true; strings.HasPrefix(m[1], "Fuzz") {
				fuzzed[filepath.ToSlash(filepath.Dir(file))+" "+m[1]] = true
			}
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	named := regexp.MustCompile("`(Test\\w+)`").FindAllStringSubmatch(string(note), -1)
	if len(named) < 20 {
		t.Errorf("only %d tests are named", len(named))
	}
	for _, m := range named {
		if !there[m[1]] {
			t.Errorf("%s is named, and is not there", m[1])
		}
	}
	for _, m := range regexp.MustCompile("`([a-z/]+ Fuzz\\w+)`").FindAllStringSubmatch(string(note), -1) {
		if !fuzzed[m[1]] {
			t.Errorf("%s is named, and is not there", m[1])
		}
		delete(fuzzed, m[1])
	}
	for target := range fuzzed {
		t.Errorf("%s stands in no line of the note", target)
	}
}

// TestTheProgramIsBuiltAlike: from the same source in two folders comes the same
// program, byte for byte, so that anyone can tell whether one is of this source.
func TestTheProgramIsBuiltAlike(t *testing.T) {
	if os.Getenv("CHARGEWRIGHT_FULL") == "" {
		t.Skip("builds the program twice, without what other builds have left: CHARGEWRIGHT_FULL=1 asks for it")
	}
	elsewhere := t.TempDir()
	err := filepath.WalkDir(".", func(file string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case d.IsDir() && slices.Contains([]string{".git", "node_modules", "testdata", "bench"}, d.Name()):
			return filepath.SkipDir
		case d.IsDir():
			return os.MkdirAll(filepath.Join(elsewhere, file), 0o755)
		}
		text, err := os.ReadFile(file)
		if err != nil {
			return err
		}
		return os.WriteFile(filepath.Join(elsewhere, file), text, 0o644)
	})
	if err != nil {
		t.Fatal(err)
	}
	var sums []string
	for _, folder := range []string{".", elsewhere} {
		to := filepath.Join(t.TempDir(), "chargewright")
		c := exec.Command("go", "build", "-trimpath", "-buildvcs=false", "-ldflags=-s -w", "-o", to, "./cmd/chargewright")
		c.Dir = folder
		if out, err := c.CombinedOutput(); err != nil {
			t.Fatalf("build in %s: %v\n%s", folder, err, out)
		}
		program, err := os.ReadFile(to)
		if err != nil {
			t.Fatal(err)
		}
		sums = append(sums, fmt.Sprintf("%x", sha256.Sum256(program)))
	}
	if sums[0] != sums[1] {
		t.Errorf("built here it is %s, built elsewhere %s", sums[0], sums[1])
	}
}
