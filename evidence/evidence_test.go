package evidence

import (
	"encoding/csv"
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"sort"
	"strconv"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "write docs/evidence.md again")

// rooms is the tables, in the order the page lists them.
var rooms = []string{"standard", "model", "design", "prove", "demand"}

// value is one value printed outside.
type value struct {
	quantity, inputs              string
	published                     string
	unit                          string
	tolerance                     float64 // half of the last digit printed, or what the source rounds to
	source, edition, place, known string
}

var heads = []string{"quantity", "inputs", "published", "unit", "tolerance", "source", "edition", "place", "confidence"}

func read(t *testing.T, room string) []value {
	t.Helper()
	f, err := os.Open(filepath.Join("testdata", room+".csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil || len(rows) == 0 || !slices.Equal(rows[0], heads) {
		t.Fatalf("%s.csv: heads %q wanted: %v", room, heads, err)
	}
	var out []value
	for i, r := range rows[1:] {
		tolerance, err := strconv.ParseFloat(r[4], 64)
		if err != nil || r[5] == "" || r[8] == "" {
			t.Fatalf("%s.csv row %d: a tolerance, a source and how sure it is are wanted: %q", room, i+2, r)
		}
		out = append(out, value{r[0], r[1], r[2], r[3], tolerance, r[5], r[6], r[7], r[8]})
	}
	return out
}

// ours returns what we say to the inputs of a value.
func (v value) ours(t testing.TB) float64 {
	t.Helper()
	work := quantities[v.quantity]
	if work == nil {
		t.Fatalf("nothing here works out %q", v.quantity)
	}
	in := inputs{t: t, of: map[string]string{}}
	for pair := range strings.SplitSeq(v.inputs, "; ") {
		name, is, ok := strings.Cut(pair, "=")
		if !ok {
			t.Fatalf("%s: %q is no name=value", v.quantity, pair)
		}
		in.of[name] = is
	}
	got := work(in)
	for name := range in.of {
		t.Fatalf("%s: nothing reads the input %q", v.quantity, name)
	}
	return got
}

// TestValuesFromOutside: what we work out is what is printed, to the digit it is
// printed to.
func TestValuesFromOutside(t *testing.T) {
	total := 0
	for _, room := range rooms {
		t.Run(room, func(t *testing.T) {
			for _, v := range read(t, room) {
				total++
				want, err := strconv.ParseFloat(v.published, 64)
				if err != nil {
					t.Fatalf("%s of %s: %q is no number", v.quantity, v.inputs, v.published)
				}
				if got := v.ours(t); !(math.Abs(got-want) <= v.tolerance+1e-9*math.Abs(want)) {
					t.Errorf("%s of %s = %.5g %s, want %s: %s %s (%s)", v.quantity, v.inputs, got, v.unit, v.published, v.source, v.place, v.known)
				}
			}
		})
	}
	if total < 500 {
		t.Errorf("%d values from outside; 500 at least are wanted", total)
	}
}

const page = "../docs/evidence.md"

// TestPageIsCurrent: the page that lists the values says what the tables and the
// program say today.
func TestPageIsCurrent(t *testing.T) {
	made := made(t)
	if *update {
		if err := os.WriteFile(page, []byte(made), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if now, err := os.ReadFile(page); err != nil || string(now) != made {
		t.Errorf("%s is not what the tables say (%v): write it again with go test ./evidence -update", page, err)
	}
}

// made returns the page.
func made(t *testing.T) string {
	var b, list strings.Builder
	bySource := map[string]int{}
	total := 0
	fmt.Fprintf(&b, "# Values from outside\n\nMade by `go test ./evidence -update` from `evidence/testdata`; a test fails when it is out of date.\n"+
		"Each value is printed outside the project; none came out of it. *Confirmed* was read in a public copy or example; *computed-check* was\n"+
		"recalled and found again by an independent formula. The solver's values are counted apart: `go test -v ./network` says how many.\n\n"+
		"| room | values | looked up in a table of ours | worked out | greatest difference, share of the tolerance |\n|---|---|---|---|---|\n")
	for _, room := range rooms {
		var looked, worked int
		worst := 0.0
		fmt.Fprintf(&list, "\n## %s\n\n%s%s", room, "| quantity | inputs | published | ours | difference | source | edition | place | confidence | test |\n",
			"|---|---|---|---|---|---|---|---|---|---|\n")
		for _, v := range read(t, room) {
			want, _ := strconv.ParseFloat(v.published, 64)
			got := v.ours(t)
			if lookedUp[v.quantity] {
				looked++
			} else {
				worked++
			}
			if v.tolerance > 0 {
				worst = max(worst, math.Abs(got-want)/v.tolerance)
			}
			bySource[v.source]++
			total++
			fmt.Fprintf(&list, "| %s | %s | %s %s | %.5g | %.2g | %s | %s | %s | %s | evidence/%s |\n",
				v.quantity, strings.ReplaceAll(v.inputs, "; ", ", "), v.published, v.unit, got, math.Abs(tidy(got-want)), v.source, v.edition, v.place, v.known, room)
		}
		fmt.Fprintf(&b, "| %s | %d | %d | %d | %.0f %% |\n", room, looked+worked, looked, worked, 100*worst)
	}
	fmt.Fprintf(&b, "| **all** | **%d** | | | |\n\n## By source\n\n| source | values |\n|---|---|\n", total)
	sources := make([]string, 0, len(bySource))
	for s := range bySource {
		sources = append(sources, s)
	}
	sort.Slice(sources, func(i, k int) bool {
		return bySource[sources[i]] > bySource[sources[k]] || bySource[sources[i]] == bySource[sources[k]] && sources[i] < sources[k]
	})
	for _, s := range sources {
		fmt.Fprintf(&b, "| %s | %d |\n", s, bySource[s])
	}
	b.WriteString("\n## From memory and not checked\n\nRows of our own tables that say so themselves. Open the standard before one of them decides a design.\n\n")
	b.WriteString("| table | rows | from memory |\n|---|---|---|\n")
	b.WriteString(fromMemory(t))
	return b.String() + list.String()
}

// tidy takes out what only rounding put in.
func tidy(d float64) float64 {
	if math.Abs(d) < 1e-9 {
		return 0
	}
	return d
}

// fromMemory counts the rows of our tables that were recalled and never read in
// a copy.
func fromMemory(t *testing.T) string {
	files, err := filepath.Glob("../standard/tables/gb/*.csv")
	if err != nil || len(files) == 0 {
		t.Fatalf("the tables of the rules are not where they were: %v", err)
	}
	var b strings.Builder
	rowsOfAll, memoryOfAll := 0, 0
	for _, file := range files {
		f, err := os.Open(file)
		if err != nil {
			t.Fatal(err)
		}
		r := csv.NewReader(f)
		r.Comment = '#'
		rows, err := r.ReadAll()
		f.Close()
		if err != nil {
			t.Fatalf("%s: %v", file, err)
		}
		column := slices.Index(rows[0], "confidence")
		memory := 0
		for _, row := range rows[1:] {
			if column >= 0 && row[column] == "from memory" {
				memory++
			}
		}
		rowsOfAll, memoryOfAll = rowsOfAll+len(rows)-1, memoryOfAll+memory
		if memory > 0 {
			fmt.Fprintf(&b, "| %s | %d | %d |\n", strings.TrimSuffix(filepath.Base(file), ".csv"), len(rows)-1, memory)
		}
	}
	fmt.Fprintf(&b, "| **all tables** | **%d** | **%d** |\n", rowsOfAll, memoryOfAll)
	return b.String()
}
