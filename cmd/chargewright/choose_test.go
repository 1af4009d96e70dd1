package main

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// copyTo copies an example into a folder of the test's own.
func copyTo(t *testing.T, file string) string {
	t.Helper()
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	to := filepath.Join(t.TempDir(), "job.yaml")
	if err := os.WriteFile(to, text, 0o644); err != nil {
		t.Fatal(err)
	}
	return to
}

// TestChooseWritesAJobThatPasses writes the choices of every open example, keeps
// everything else of the file, and checks what was written.
func TestChooseWritesAJobThatPasses(t *testing.T) {
	for _, example := range examples(t, "open.yaml") {
		t.Run(example, func(t *testing.T) {
			file := copyTo(t, example)
			before, _ := os.ReadFile(file)
			var out, talk bytes.Buffer
			if code := run([]string{"choose", file}, &out, &talk); code != exitMet && code != exitOpen || !strings.Contains(out.String(), "because of") {
				t.Fatalf("choose exits %d: %s%s", code, talk.String(), out.String())
			}
			if after, _ := os.ReadFile(file); !bytes.Equal(before, after) {
				t.Fatal("choose without --write changed the file")
			}
			out.Reset()
			if code := run([]string{"choose", file, "--write"}, &out, &talk); code != exitMet && code != exitOpen {
				t.Fatalf("choose --write exits %d: %s%s", code, talk.String(), out.String())
			}
			after, _ := os.ReadFile(file)
			for _, line := range strings.Split(string(before), "\n") {
				if strings.HasPrefix(strings.TrimSpace(line), "#") && !strings.Contains(string(after), line) {
					t.Errorf("the comment %q is gone", line)
				}
			}
			out.Reset()
			if code := run([]string{"check", file}, &out, &talk); code != exitMet && code != exitOpen || !strings.Contains(out.String(), " 0 failed, 0 not known") {
				t.Errorf("check of what was written exits %d: %s", code, out.String())
			}
			if left, _ := filepath.Glob(file + ".*"); len(left) > 0 {
				t.Errorf("left on disk: %v", left)
			}
		})
	}
}

// TestChooseJSON reads the published shape.
func TestChooseJSON(t *testing.T) {
	var out, talk bytes.Buffer
	run([]string{"choose", "../../examples/bakery/open.yaml", "--json", "--aim", "life"}, &out, &talk)
	var got struct {
		Circuits []struct {
			Circuit, Cable, Binding string
			Margins                 []struct{ Rule string }
			Flips                   []struct{ Fact string }
		}
		Settings []struct{ Path, Value string }
		Proof    struct{ Complete bool }
		NotKnown []string
	}
	if err := json.Unmarshal(out.Bytes(), &got); err != nil {
		t.Fatalf("%v: %s%s", err, talk.String(), out.String())
	}
	if len(got.Circuits) != 1 || got.Circuits[0].Circuit != "van point" || got.Circuits[0].Binding == "" || len(got.Circuits[0].Margins) < 6 || len(got.Circuits[0].Flips) == 0 ||
		len(got.Settings) == 0 || !got.Proof.Complete || got.NotKnown == nil {
		t.Errorf("choose --json: %+v", got)
	}
}

// TestOwnCatalogue: prices of one's own change the answer, and a wrong row is
// named with its line.
func TestOwnCatalogue(t *testing.T) {
	folder := t.TempDir()
	devices := "family,rated_a,ir_a,im_a,capacity_a,phases,poles,residual_type,residual_ma,delayed,ways,price,hours\nBS EN 61009 type C,40,,,10000,1,all live,A,30,no,1,20,0.2\n"
	if err := os.WriteFile(filepath.Join(folder, "devices.csv"), []byte(devices), 0o644); err != nil {
		t.Fatal(err)
	}
	var out, talk bytes.Buffer
	run([]string{"choose", "../../examples/bakery/open.yaml", "--catalogue", folder}, &out, &talk)
	if !strings.Contains(out.String(), "BS EN 61009 type C 40 A, 10 kA") {
		t.Errorf("with one device in the catalogue: %s%s", talk.String(), out.String())
	}
	if err := os.WriteFile(filepath.Join(folder, "devices.csv"), []byte(strings.Replace(devices, ",40,", ",forty,", 1)), 0o644); err != nil {
		t.Fatal(err)
	}
	talk.Reset()
	if code := run([]string{"choose", "../../examples/bakery/open.yaml", "--catalogue", folder}, &out, &talk); code != exitUnusable || !strings.Contains(talk.String(), `devices.csv:2: rated_a: "forty"`) {
		t.Errorf("a wrong row exits %d: %s", code, talk.String())
	}
}

// TestDesignVerbs runs the verbs beside choose on every example.
func TestDesignVerbs(t *testing.T) {
	for _, file := range examples(t, "job.yaml") {
		for _, tt := range []struct{ verb, want string }{
			{"curves", "<svg"}, {"surge", "<svg"}, {"route", "cut "}, {"options", "as drawn"}, {"earth", "side by side"},
		} {
			var out, talk bytes.Buffer
			code := run([]string{tt.verb, file}, &out, &talk)
			if tt.verb == "earth" && !strings.Contains(file, "terrace") {
				tt.want = "measured before it is relied on" // every measure is chosen already
			}
			if code != exitMet || !strings.Contains(out.String(), tt.want) {
				t.Errorf("%s %s exits %d without %q: %s", tt.verb, file, code, tt.want, talk.String())
			}
		}
	}
}
