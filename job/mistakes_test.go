package job

import (
	"flag"
	"fmt"
	"os"
	"strings"
	"testing"

	"chargewright/bounds"
)

var update = flag.Bool("update", false, "write the files under testdata anew")

// TestMistakes reads small job files with slips of the pen, and compares every
// message with the one that is to be shown.
func TestMistakes(t *testing.T) {
	pairs := mistakes(t)
	out := pairs[0].in + "\n"
	for _, m := range pairs[1:] {
		_, err := Read(m.name+".yaml", []byte(m.in))
		got := ""
		if err != nil {
			got = err.Error() + "\n"
		}
		if got != m.says && !*update {
			t.Errorf("%s\nsays\n%swant\n%s", m.name, got, m.says)
		}
		out += fmt.Sprintf("-- %s.yaml --\n%s-- %s.says --\n%s", m.name, m.in, m.name, got)
	}
	if *update {
		if err := os.WriteFile(mistakesFile, []byte(out), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

const mistakesFile = "testdata/mistakes.txtar"

type mistake struct{ name, in, says string }

// mistakes returns the small files and what is said of them; the first is the
// heading.
func mistakes(t testing.TB) []mistake {
	t.Helper()
	text, err := os.ReadFile(mistakesFile)
	if err != nil {
		t.Fatal(err)
	}
	parts := strings.Split(strings.TrimSuffix(string(text), "\n"), "\n-- ")
	out := []mistake{{in: parts[0]}}
	for i := 1; i+1 < len(parts); i += 2 {
		in, yaml, _ := strings.Cut(parts[i]+"\n", " --\n")
		says, want, _ := strings.Cut(parts[i+1]+"\n", " --\n")
		name, ok := strings.CutSuffix(in, ".yaml")
		if !ok || says != name+".says" {
			t.Fatalf("%s and %s are no pair", in, says)
		}
		out = append(out, mistake{name, yaml, want})
	}
	return out
}

// seeds returns every file of the tests, to start fuzzing from.
func seeds(t testing.TB) [][]byte {
	out := [][]byte{sample(t), Starter("x"), nil, []byte("a: &x [*x]"), []byte("? a\n: b"), []byte("\xff\xfe")}
	for _, m := range mistakes(t) {
		out = append(out, []byte(m.in))
	}
	return out
}

// TestTenMistakes is the promise made to a reader: ten mistakes, ten messages,
// each with its line, in one run.
func TestTenMistakes(t *testing.T) {
	text, err := os.ReadFile("testdata/ten.yaml")
	if err != nil {
		t.Fatal(err)
	}
	want, err := os.ReadFile("testdata/ten.says")
	if err != nil {
		t.Fatal(err)
	}
	j, err := Read("ten.yaml", text)
	if err == nil || err.Error()+"\n" != string(want) {
		t.Errorf("says\n%v\nwant\n%s", err, want)
	}
	if n := strings.Count(fmt.Sprint(err), "\n") + 1; n != 10 {
		t.Errorf("%d messages, want 10", n)
	}
	if j == nil || j.Points[0].Power.String() != "7.4 kW" {
		t.Errorf("what was right is lost: %+v", j)
	}
}

// Files that are no job files at all, and what is said of them.
func TestRefused(t *testing.T) {
	for _, tt := range []struct{ what, text, says string }{
		{"empty", "", "x.yaml:1: nothing is written here; a job file starts with job: and what the job is called"},
		{"comments only", "# to do\n", "x.yaml:1: nothing is written here; a job file starts with job: and what the job is called"},
		{"prose", "two points on the yard wall\n", "x.yaml:1: this is no job file; field: value is wanted, starting with job: and what the job is called"},
		{"a list", "- a\n- b\n", "x.yaml:1: this is no job file; field: value is wanted, starting with job: and what the job is called"},
		{"binary", "job: a\n\x00\x01", "x.yaml:2: this is not a text file: a job file is plain UTF-8 text"},
		{"UTF-16", "\xff\xfej\x00o\x00", "x.yaml:1: the file was saved as UTF-16: save it as UTF-8 text"},
		{"Latin-1", "job: a\nsite:\n  client: Caf\xe9\n", "x.yaml:3: a letter on this line was not saved as UTF-8: save the file as UTF-8 text"},
		{"a long line", "job: a\nnotes:\n- text: " + strings.Repeat("x", mostLineBytes), "x.yaml:3: the line is longer than 10000 letters: break it into fields of their own"},
		{"many brackets", strings.Repeat("[[[[\n", mostBrackets/4+1), "x.yaml: the file has more than 20000 brackets: write each field on its own line, without brackets"},
		{"many dashes", strings.Repeat("- ", 2000), "x.yaml:1: too many dashes open this line: a list needs one"},
		{"too large", strings.Repeat("# x\n", bounds.JobFile.Most()/4+1), "x.yaml: size of one job file: the file is larger than 8 MiB: a job file is a few kilobytes of text"},
		{"two jobs", "job: a\n---\njob: b\n", "x.yaml:2: a second job starts here: a file holds one job"},
		{"directive", "%YAML 1.2\n---\njob: a\n", "x.yaml:1: a line that starts with % has no place in a job file"},
	} {
		_, err := Read("x.yaml", []byte(tt.text))
		if fmt.Sprint(err) != tt.says {
			t.Errorf("%s: says\n%v\nwant\n%s", tt.what, err, tt.says)
		}
	}
}

// A file of nonsense must not drown its reader, or keep the program busy.
func TestNonsenseIsCutShort(t *testing.T) {
	for _, text := range []string{
		strings.Repeat("nonsense: x\n", 1<<16),
		strings.Repeat("nonsense: x\n", mostFields),
		strings.Repeat("- nonsense\n", 1<<16),
		strings.Repeat("nonsense words ", 600) + "\nmore\n",
		strings.Repeat("boards:\n- x\n", mostFields),
		"points:\n" + strings.Repeat("- name: x\n  watts: 8 kW\n", 1<<13),
		"a: [" + strings.Repeat("x, ", mostCommas) + "]",
		strings.Repeat("[", mostLineBytes-1) + "\n" + strings.Repeat("]", mostLineBytes-1),
		strings.Repeat("{a: ", mostLineBytes/5) + "\n" + strings.Repeat("}", mostLineBytes/5),
	} {
		_, err := Read("x.yaml", []byte(text))
		if n := strings.Count(fmt.Sprint(err), "\n") + 1; err == nil || n > mostProblems+1 {
			t.Errorf("%.20q…: %d messages, want 1 to %d", text, n, mostProblems+1)
		}
	}
}

// The same file, saved by another editor, reads the same.
func TestReadForgivesEditors(t *testing.T) {
	text := string(sample(t))
	want := string(Write(mustRead(t, text)))
	for what, other := range map[string]string{
		"CRLF":            strings.ReplaceAll(text, "\n", "\r\n"),
		"CR":              strings.ReplaceAll(text, "\n", "\r"),
		"byte order mark": "\ufeff" + text,
		"dashes first":    "---\n" + text,
		"no last newline": strings.TrimRight(text, "\n"),
	} {
		if got := string(Write(mustRead(t, other))); got != want {
			t.Errorf("%s: reads as\n%s", what, got)
		}
	}
}

func mustRead(t testing.TB, text string) *Job {
	t.Helper()
	j, err := Read("x.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	return j
}

// What electricians write is read as what it means.
func TestSpokenWords(t *testing.T) {
	j := mustRead(t, `job: a
supply: {earthing: earth rod}
circuits:
- name: b
  phases: 3 phase
  device: {type: B curve RCBO, rating: 40 A, poles: 4 pole}
  RCD: {type: Type A, poles: DP}
  cable: {construction: "6242Y", csa: 6}
  legs: [{name: wall, method: clipped direct}]
points: [{name: CP1, outlet: untethered}]
site: {premises: house}
`)
	c := j.Circuits[0]
	for _, tt := range []struct{ got, want string }{
		{string(j.Supply.Earthing.Or("")), "TT"},
		{string(c.Phases.Or("")), "L1 L2 L3"},
		{string(c.Device.Type.Or("")), "BS EN 61009 type B"},
		{string(c.Device.Poles.Or("")), "all live"},
		{string(c.RCD.Type.Or("")), "A"},
		{string(c.RCD.Poles.Or("")), "all live"},
		{string(c.Cable.Construction.Or("")), "flat twin and cpc"},
		{string(c.Legs[0].Method.Or("")), "C"},
		{string(j.Points[0].Outlet.Or("")), "socket"},
		{string(j.Site.Premises.Or("")), "dwelling"},
	} {
		if tt.got != tt.want {
			t.Errorf("read as %q, want %q", tt.got, tt.want)
		}
	}
}
