package job

import (
	"reflect"
	"strings"
	"testing"
	"unicode/utf8"

	"chargewright/standard"
	"chargewright/works"

	"pgregory.net/rapid"
)

// A job written and read again is the same job.
func TestWriteReadsBack(t *testing.T) {
	want := mustRead(t, string(sample(t)))
	text := Write(want)
	if got := mustRead(t, string(text)); !reflect.DeepEqual(got, want) {
		t.Errorf("reads back as\n%s\nwant\n%s", Write(got), text)
	}
}

func TestWriteNothing(t *testing.T) {
	j := mustRead(t, string(Write(&Job{})))
	want := &Job{Edition: standard.DefaultEdition()}
	if !reflect.DeepEqual(j, want) {
		t.Errorf("an empty job reads back as %+v", j)
	}
}

// anyText draws what a person, or a mischief, might type.
func anyText(t *rapid.T) string {
	return rapid.OneOf(
		rapid.SampledFrom([]string{"main board", "yes", "null", "~", "1_000", "0x1F", "0755", "1e3", ".5", "- a", "a: b", "a #b", "#a", "'a'", `"a`, `a\n`, "[a]", "{a", "a,b", "> 1", ">1", "|", "*a", "&a", "!a", "%a", "@a", "?", "? a", ":", "a:", "-5 °C", "---", "...", "<<", "=", "Ω", "two\nlines", "two\n\n  lines", "tab\there", "a\u00a0b", "a\u2028b", "a\u0085b", "\ufeffa", "a/b~c", "(measured)", "1 (x)", "true", "2026-11-25", "\x00", "a\x7fb"}),
		rapid.StringN(0, 20, -1),
		rapid.StringOfN(rapid.RuneFrom([]rune(" -:#,[]{}'\"|>&*!%@?~\n\t.ab1Ω")), 0, 12, -1),
	).Draw(t, "text")
}

// Any text in any place reads back as it was, but for what a text file cannot
// hold: see tidy.
func TestAnyTextReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := anyText(t)
		want := tidy(text)
		j := &Job{Name: text, Site: works.Site{Client: text, Address: text}, Notes: []works.Note{{About: text, Text: text}, {Text: text}}}
		if want != "" {
			j.Site.Hazards = []string{text}
			j.Loads = []works.Load{{Name: text}}
		}
		file := Write(j)
		got, err := Read("x.yaml", file)
		if want == "supply" || want == "none" {
			return
		}
		if err != nil {
			t.Fatalf("%q is written as\n%s\nand not read back: %v", text, file, err)
		}
		if got.Name != want || got.Site.Address != want || want != "" && (got.Site.Hazards[0] != want || got.Loads[0].Name != want || got.Notes[1].Text != want) {
			t.Fatalf("%q is written as\n%s\nand read back as %q", text, file, got.Name)
		}
		f := open2(t, "job: a # x\nsite: { client: b }\n")
		for _, path := range []string{"job", "site/client", "site/address", "notes/1/text"} {
			if err := f.Set(path, text); err != nil {
				t.Fatalf("Set(%q, %q) = %v", path, text, err)
			}
			if now, _ := f.Get(path); now != want {
				t.Fatalf("Set(%q, %q) reads back as %q", path, text, now)
			}
			if want == "" {
				break
			}
		}
		if !strings.Contains(string(f.Bytes()), " # x\n") {
			t.Fatalf("Set lost a comment:\n%s", f.Bytes())
		}
	})
}

func open2(t *rapid.T, text string) *File {
	f, err := ReadRecord("x.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func TestStarter(t *testing.T) {
	for _, name := range []string{"van point", "a: b # c", "", "NAME", "two\nlines"} {
		text := Starter(name)
		j, err := Read("x.yaml", text)
		if err != nil {
			t.Fatalf("the starter of %q is not read: %v", name, err)
		}
		if want := strings.Join(strings.Fields(name), " "); j.Name != want {
			t.Errorf("the starter of %q is called %q", name, j.Name)
		}
		for line := range strings.Lines(string(text)) {
			if n := utf8.RuneCountInString(line); n > 90 {
				t.Errorf("line of %d letters: %s", n, line)
			}
		}
	}
	j := mustRead(t, string(Starter("x")))
	if len(j.Points) != 1 || len(j.Circuits) != 1 || len(j.Boards) != 1 || j.Supply.Ze.Value.IsKnown() {
		t.Errorf("the starter has more or less than one board, circuit and point, or takes something for granted: %+v", j)
	}
}
