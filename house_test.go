// Package chargewright holds the test of the house itself: which room may
// import which.
package chargewright

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"
)

// floors is the house: data goes from a lower floor to a higher one and never
// back. Rooms on one floor do not know each other.
var floors = map[string]int{
	"quantity": 1, "finding": 1, "photo": 1, "sheet": 1, "trade": 1, "bounds": 1, "examples": 1,
	"standard": 2, "network": 2, "reading": 2,
	"works": 3, "job": 3,
	"model":  4,
	"begin":  4,
	"invent": 4,
	"demand": 5,
	"design": 6, "prove": 6, "choose": 6,
	"drawing": 7, "document": 7, "ocpp": 7, "meter": 7, "pilot": 7, "reckon": 7,
	"paper": 8, "seal": 8, "commission": 8, "hear": 8, "trainer": 8, "ledger": 8,
	"store":       9,
	"prove/bench": 10, // for tests alone
	"web":         10, "web/door": 10, "web/makebundle": 10, "cmd/chargewright": 10,
	"laws": 10, "evidence": 10, // for tests alone
}

// sameFloor lists the arrows between rooms of one floor that are meant, and why.
var sameFloor = map[[2]string]string{
	{"job", "works"}:                 "a job is made of its parts",
	{"document", "drawing"}:          "a page holds drawings",
	{"paper", "seal"}:                "an issued paper is signed",
	{"choose", "design"}:             "what is chosen is held to what must hold",
	{"cmd/chargewright", "web/door"}: "serve lets people in",
	{"web/door", "web"}:              "the door shows its pages in the frame of the others",
	{"ledger", "paper"}:              "a statement is a paper",
	{"cmd/chargewright", "web"}:      "serve brings the pages",
}

// noRoom are packages that hold up a room and are none themselves.
var noRoom = []string{"examples", "evidence", "invent", "laws", "prove/bench", "web/makebundle"}

// core is the highest floor that only answers questions.
const core = 6

// forbidden is what the core never touches, and why.
var forbidden = map[string]string{
	"os":            "the core opens no files",
	"os/exec":       "the core starts nothing",
	"net":           "the core has no network",
	"net/http":      "the core has no network",
	"syscall":       "the core asks nothing of the system",
	"time/tzdata":   "the core has no clock",
	"math/rand":     "randomness comes in as a seeded source",
	"path/filepath": "the core knows no files",
	"log":           "the core answers its caller and nobody else",
}

type pkg struct {
	ImportPath string
	Imports    []string
}

func rooms(t *testing.T) []pkg {
	t.Helper()
	out, err := exec.Command("go", "list", "-json=ImportPath,Imports", "./...").Output()
	if err != nil {
		t.Fatalf("go list: %v", err)
	}
	var all []pkg
	for dec := json.NewDecoder(strings.NewReader(string(out))); ; {
		var p pkg
		if err := dec.Decode(&p); errors.Is(err, io.EOF) {
			return all
		} else if err != nil {
			t.Fatal(err)
		}
		all = append(all, p)
	}
}

func room(path string) string { return strings.TrimPrefix(path, "chargewright/") }

func TestNoArrowRunsUp(t *testing.T) {
	for _, p := range rooms(t) {
		from := room(p.ImportPath)
		if from == "chargewright" {
			continue
		}
		floor, known := floors[from]
		if !known {
			t.Errorf("%s is on no floor of the house: say in this test where it belongs", from)
			continue
		}
		for _, imp := range p.Imports {
			to := room(imp)
			above, ours := floors[to]
			if ours && (above > floor || above == floor && sameFloor[[2]string{from, to}] == "") {
				t.Errorf("%s (floor %d) imports %s (floor %d): data goes up the floors and never down", from, floor, to, above)
			}
		}
	}
}

// TestTheReadmeDrawsTheHouse holds the table of rooms that a newcomer reads
// against the floors that are kept here.
func TestTheReadmeDrawsTheHouse(t *testing.T) {
	readme, err := os.ReadFile("README.md")
	if err != nil {
		t.Fatal(err)
	}
	drawn := map[string]int{}
	named := regexp.MustCompile("`([a-z/]+)`")
	for _, row := range regexp.MustCompile(`(?m)^\| (\d+) \| (.*?) \|`).FindAllStringSubmatch(string(readme), -1) {
		for _, name := range named.FindAllStringSubmatch(row[2], -1) {
			drawn[name[1]], _ = strconv.Atoi(row[1])
		}
	}
	for _, none := range noRoom {
		drawn[none] = floors[none]
	}
	if !maps.Equal(drawn, floors) {
		t.Errorf("README draws the rooms as %v, and they are %v", drawn, floors)
	}
}

func TestCoreDoesNoIO(t *testing.T) {
	for _, p := range rooms(t) {
		if floor, known := floors[room(p.ImportPath)]; !known || floor > core {
			continue
		}
		for _, imp := range p.Imports {
			if why, bad := forbidden[imp]; bad {
				t.Errorf("%s imports %s: %s", p.ImportPath, imp, why)
			}
		}
	}
}

// TestLinesCanBeRead: a line that runs off the screen hides what it says, and
// two people cannot change it at once. What is long is a row of a table. A tag
// of a field is one text to Go and cannot be broken.
func TestLinesCanBeRead(t *testing.T) {
	const most = 160
	var long []string
	err := filepath.WalkDir(".", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return err
		}
		text, err := os.ReadFile(path)
		for n, line := range strings.Split(string(text), "\n") {
			if columns := utf8.RuneCountInString(line); columns > most && !strings.Contains(line, "help:\"") {
				long = append(long, fmt.Sprintf("%s:%d has %d columns, %d at most", path, n+1, columns, most))
			}
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	if len(long) > 0 {
		t.Errorf("%d lines are too long to read:\n%s", len(long), strings.Join(long, "\n"))
	}
}

// TestARoomFitsOneScreen: what a room offers the others is read before it is
// used, and what does not fit a screen is not read.
func TestARoomFitsOneScreen(t *testing.T) {
	const screen = 60 // lines
	for room := range floors {
		if slices.Contains(noRoom, room) {
			continue
		}
		out, err := exec.Command("go", "doc", "./"+room).Output()
		if err != nil {
			t.Fatalf("go doc ./%s: %v", room, err)
		}
		if n := strings.Count(string(out), "\n"); n > screen {
			t.Errorf("go doc ./%s has %d lines, %d at most: unexport what no other room uses, or part the room", room, n, screen)
		}
	}
}
