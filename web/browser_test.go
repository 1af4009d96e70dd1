package web

import (
	"bufio"
	"encoding/json"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// chromium returns the browser that the tests drive.
func chromium(t *testing.T) string {
	t.Helper()
	for _, name := range []string{os.Getenv("CHROMIUM"), "chromium", "chromium-browser"} {
		if name == "" {
			continue
		}
		if file, err := exec.LookPath(name); err == nil {
			return file
		}
	}
	t.Fatal("the browser tests need Chromium: apt-get install chromium, or set CHROMIUM to its file; go test -short leaves them out")
	return ""
}

func run(t *testing.T, folder string, env []string, name string, args ...string) {
	t.Helper()
	c := exec.Command(name, args...)
	c.Dir, c.Env = folder, append(os.Environ(), env...)
	if out, err := c.CombinedOutput(); err != nil {
		t.Fatalf("%s %s: %v\n%s", name, strings.Join(args, " "), err, out)
	}
}

// buildNewer builds the program as a later version would be: the same but for
// one page, in the server and in its part for the browser.
func buildNewer(t *testing.T) string {
	t.Helper()
	folder := t.TempDir()
	web, err := filepath.Abs(".")
	if err != nil {
		t.Fatal(err)
	}
	page, err := os.ReadFile("away.html")
	if err != nil {
		t.Fatal(err)
	}
	changed := filepath.Join(folder, "away.html")
	write := func(file string, text []byte) {
		if err := os.WriteFile(file, text, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	write(changed, []byte(strings.Replace(string(page), `{{define "main"}}`, `{{define "main"}}<p>A newer version.</p>`, 1)))
	// An overlay puts files in the place of others while it is built.
	overlay := func(name string, replace map[string]string) string {
		text, err := json.Marshal(map[string]any{"Replace": replace})
		if err != nil {
			t.Fatal(err)
		}
		write(filepath.Join(folder, name), text)
		return "-overlay=" + filepath.Join(folder, name)
	}
	replace := map[string]string{filepath.Join(web, "away.html"): changed}
	run(t, ".", []string{"GOFLAGS=" + overlay("page.json", replace)}, "go", "run", "./makebundle", "-quick", folder)
	replace[filepath.Join(web, "bundle", wasmFile)] = filepath.Join(folder, wasmFile)
	server := filepath.Join(folder, "chargewright")
	run(t, ".", nil, "go", "build", overlay("all.json", replace), "-o", server, "chargewright/cmd/chargewright")
	return server
}

// TestInBrowser builds the program with its part for the browser, and drives
// it in Chromium as an electrician would. Each test is named in
// testdata/browser/suite.mjs.
func TestInBrowser(t *testing.T) {
	if testing.Short() {
		t.Skip("needs Chromium and Node.js")
	}
	browser := chromium(t)
	for _, tool := range []string{"node", "npm"} {
		if _, err := exec.LookPath(tool); err != nil {
			t.Fatalf("the browser tests need %s: apt-get install nodejs npm (20 or later); go test -short leaves them out", tool)
		}
	}
	folder := filepath.Join("testdata", "browser")
	if _, err := os.Stat(filepath.Join(folder, "node_modules", "playwright-core")); err != nil {
		run(t, folder, nil, "npm", "install", "--no-audit", "--no-fund", "--no-package-lock", "--ignore-scripts")
	}
	run(t, ".", nil, "go", "run", "./makebundle", "-quick")
	server := filepath.Join(t.TempDir(), "chargewright")
	run(t, ".", nil, "go", "build", "-o", server, "chargewright/cmd/chargewright")
	newer := buildNewer(t)
	examples, err := filepath.Abs("../examples")
	if err != nil {
		t.Fatal(err)
	}

	c := exec.Command("node", "suite.mjs")
	c.Dir, c.Env, c.Stderr = folder, append(os.Environ(), "CHROMIUM="+browser, "SERVER="+server, "NEWER="+newer, "EXAMPLES="+examples), t.Output()
	c.WaitDelay = 10 * time.Second // what a browser leaves running may hold on to our pipes
	out, err := c.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	tests := 0
	for lines := bufio.NewScanner(out); lines.Scan(); {
		var r struct {
			Name, Failed string
			Notes        []string
			MS           int
		}
		if err := json.Unmarshal(lines.Bytes(), &r); err != nil {
			t.Fatalf("the suite says %q: %v", lines.Text(), err)
		}
		tests++
		t.Run(r.Name, func(t *testing.T) {
			t.Logf("%v; %s", time.Duration(r.MS)*time.Millisecond, strings.Join(r.Notes, "; "))
			if r.Failed != "" {
				t.Error(r.Failed)
			}
		})
	}
	if err := c.Wait(); err != nil && !errors.Is(err, exec.ErrWaitDelay) {
		t.Errorf("the suite ends with %v", err)
	}
	if tests < 9 && os.Getenv("ONLY") == "" {
		t.Errorf("only %d tests ran", tests)
	}
}
