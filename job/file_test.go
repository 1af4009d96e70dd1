package job

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"chargewright/works"
)

func open(t testing.TB, text string) *File {
	t.Helper()
	f, err := ReadRecord("x.yaml", []byte(text))
	if f == nil {
		t.Fatal(err)
	}
	return f
}

// paths returns every path of a tree at which one value stands, items by number.
func paths(n *node, s *Part, path string) []string {
	var out []string
	for _, p := range n.fields {
		f := s.byName[p.key]
		if f == nil {
			continue
		}
		at := works.Under(path, f.Name)
		switch {
		case f.form == listForm:
			for i, item := range p.value.items {
				out = append(out, paths(item, f.Of, fmt.Sprintf("%s/%d", at, i+1))...)
			}
		case f.form == textsForm:
			for i := range p.value.items {
				out = append(out, fmt.Sprintf("%s/%d", at, i+1))
			}
		case f.Of != nil && p.value.kind == mapping:
			out = append(out, paths(p.value, f.Of, at)...)
		case p.value.kind == scalar:
			out = append(out, at)
		}
	}
	return out
}

// Writing what already stands there changes no letter of the file.
func TestSetTheSame(t *testing.T) {
	text := sample(t)
	f := open(t, string(text))
	all := paths(f.root, jobShape, "")
	if len(all) < 120 {
		t.Fatalf("%d paths, want every value of the sample", len(all))
	}
	for _, path := range all {
		value, ok := f.Get(path)
		if !ok {
			t.Errorf("Get(%q) finds nothing", path)
		}
		if err := f.Set(path, value); err != nil || !bytes.Equal(f.Bytes(), text) {
			t.Fatalf("Set(%q, %q) = %v and changed the file", path, value, err)
		}
	}
}

// Every single value can be written anew and put back, and only its own lines
// change.
func TestSetTouchesItsOwnLineOnly(t *testing.T) {
	for _, text := range []string{string(sample(t)), strings.ReplaceAll(string(sample(t)), "\n", "\r\n"), "\ufeff" + string(sample(t))} {
		before := open(t, text)
		for _, path := range paths(before.root, jobShape, "") {
			old, _ := before.Get(path)
			leaf, err := before.fieldOf(path, false)
			if err != nil {
				t.Fatal(err)
			}
			value := other(leaf, old)
			if value == "" {
				continue
			}
			f := open(t, text)
			if err := f.Set(path, value); err != nil {
				if !strings.Contains(err.Error(), "of that name") && !strings.Contains(err.Error(), "fed") && !strings.Contains(err.Error(), "ring") {
					t.Errorf("Set(%q, %q) = %v", path, value, err)
				}
				continue
			}
			if n := differing(text, string(f.Bytes())); n != 1 && !strings.Contains(old, "\n") {
				t.Errorf("Set(%q, %q) changed %d lines, want 1", path, value, n)
			}
			if now, _ := f.Get(path); now != value && !strings.HasSuffix(path, "/name") && !strings.HasSuffix(path, "/to") {
				t.Errorf("Set(%q, %q) reads back as %q", path, value, now)
			}
		}
	}
}

// other returns another value that the field may hold.
func other(f *Field, old string) string {
	c, l, _ := f.scalar()
	switch {
	case l.date != "":
		return "2026-12-01"
	case l.code == "photo":
		return "elsewhere-1.jpg"
	case l.code == "SHA-256":
		return strings.Repeat("0f", 32)
	case l.code != "":
		return l.code + "10"
	case c.sort == textSort:
		return "something else, with: a colon # and a sign"
	case c.words != nil:
		for _, w := range c.words() {
			if w != old {
				return w
			}
		}
	case c.sort == yesNoSort:
		if old == "yes" {
			return "no"
		}
		return "yes"
	case l.allowed != nil:
		return l.allowed[len(l.allowed)-1]
	case l.sizes:
		return "50 mm²"
	case old == "0.8":
		return "0.7"
	case strings.HasPrefix(old, "7"), strings.HasPrefix(old, "2"):
		return "4" + old[1:]
	case strings.HasPrefix(old, "1"):
		return "2" + old[1:]
	}
	return "1" + strings.TrimLeft(old, "0123456789")
}

// differing counts the lines of a that are not in b at their place.
func differing(a, b string) int {
	as, bs := strings.SplitAfter(a, "\n"), strings.SplitAfter(b, "\n")
	if len(as) != len(bs) {
		return -1
	}
	n := 0
	for i := range as {
		if as[i] != bs[i] {
			n++
		}
	}
	return n
}

// TestSet shows what a file looks like after a value is written into it.
func TestSet(t *testing.T) {
	const fed = "boards:\n  - name: main board\n    fed from: supply\n"
	for _, tt := range []struct{ what, before, path, value, after string }{
		{"a comment stays", "job: a\nsupply:\n  Ze:   0.18 Ω  # at the cut-out\n", "supply/Ze", "0.2 Ω",
			"job: a\nsupply:\n  Ze:   0.2 Ω  # at the cut-out\n"},
		{"an empty field", "job: a\nsupply:\n  Ze: # not yet\n", "supply/Ze", "0.2 Ω",
			"job: a\nsupply:\n  Ze: 0.2 Ω # not yet\n"},
		{"a null", "job: a\nsupply:\n  phases: ~ # not yet\n", "supply/phases", "3",
			"job: a\nsupply:\n  phases: 3 # not yet\n"},
		{"double quotes stay", "job: \"a\" # x\n", "job", "b", "job: \"b\" # x\n"},
		{"single quotes stay", "job: 'it''s a' # x\n", "job", "b", "job: 'b' # x\n"},
		{"quotes come where needed", "job: a\n", "job", "a: b # c", "job: \"a: b # c\"\n"},
		{"several lines", "job: a\nsite:\n  address: one\n  premises: flats\n", "site/address", "1 Yard\nTown",
			"job: a\nsite:\n  address: |\n    1 Yard\n    Town\n  premises: flats\n"},
		{"several lines become one", "job: a\nsite:\n  address: |\n    1 Yard\n\n    Town\n\n  premises: flats\n", "site/address", "2 Yard",
			"job: a\nsite:\n  address: 2 Yard\n\n  premises: flats\n"},
		{"a value run over two lines", "job: two\n  lines # x\nsite:\n", "job", "one", "job: one # x\nsite:\n"},
		{"more than", "job: a\nreadings:\n  - value: > 200 MΩ # 500 V\n", "readings/1/value", "> 999 MΩ",
			"job: a\nreadings:\n  - value: \"> 999 MΩ\" # 500 V\n"},
		{"no longer known", "job: a\nsupply:\n  Ze: 0.18 Ω\n  phases: 1 # x\n", "supply/Ze", "",
			"job: a\nsupply:\n  Ze:\n  phases: 1 # x\n"},
		{"a field in its place", "job: a\nsupply:\n  earthing: TT # so far\n\n  # below\n  Ze: 21 Ω\n", "supply/cut-out/rating", "100 A",
			"job: a\nsupply:\n  earthing: TT # so far\n  cut-out:\n    rating: 100 A\n\n  # below\n  Ze: 21 Ω\n"},
		{"a field before the first", "job: a\nsupply:\n    # indented by four\n    Ze: 21 Ω\n", "supply/earthing", "TT",
			"job: a\nsupply:\n    # indented by four\n    earthing: TT\n    Ze: 21 Ω\n"},
		{"a part that is not there", "job: a\n# end\n", "site/client", "B", "job: a\nsite:\n  client: B\n# end\n"},
		{"the first line of all", "# nothing yet\n", "job", "a", "# nothing yet\njob: a\n"},
		{"into nothing", "", "supply/phases", "1", "supply:\n  phases: 1\n"},
		{"no newline at the end", "job: a", "stage", "survey", "job: a\nstage: survey"},
		{"an empty part", "job: a\nsupply: # the street\nboards:\n", "supply/tails/csa", "25 mm²",
			"job: a\nsupply: # the street\n  tails:\n    csa: 25 mm²\nboards:\n"},
		{"inside brackets", "job: a\nsupply: { phases: 1 } # x\n", "supply/Ze", "0.2 Ω (measured)",
			"job: a\nsupply: { phases: 1, Ze: 0.2 Ω (measured) } # x\n"},
		{"inside brackets, quoted", "job: a\nsite: {client: B}\n", "site/client", "B, C", "job: a\nsite: {client: \"B, C\"}\n"},
		{"inside empty brackets", "job: a\nsupply: {}\n", "supply/tails/csa", "25 mm²", "job: a\nsupply: { tails: { csa: 25 mm² } }\n"},
		{"how a value is known", "job: a\nsupply:\n  Ze: 0.18 Ω # x\n", "supply/Ze/known by", "measured",
			"job: a\nsupply:\n  Ze: { value: 0.18 Ω, known by: measured } # x\n"},
		{"how a value is known, once more", "job: a\nsupply:\n  Ze: 0.18 Ω (assumed, typical)\n", "supply/Ze/reason", "told, by the client",
			"job: a\nsupply:\n  Ze: { value: 0.18 Ω, known by: assumed, reason: \"told, by the client\" }\n"},
		{"the value of a fact in full", "job: a\nsupply:\n  Ze:\n    value: 0.18 Ω\n    who: Jo\n", "supply/Ze", "0.2 Ω",
			"job: a\nsupply:\n  Ze:\n    value: 0.2 Ω\n    who: Jo\n"},
		{"a fact in full, its part", "job: a\nsupply:\n  Ze:\n    value: 0.18 Ω\n    who: Jo\n", "supply/Ze/known by", "measured",
			"job: a\nsupply:\n  Ze:\n    value: 0.18 Ω\n    known by: measured\n    who: Jo\n"},
		{"a new item", "job: a\n" + fed + "# points to come\n", "boards/garage board/place", "garage",
			"job: a\n" + fed + "  - name: garage board\n    place: garage\n# points to come\n"},
		{"a new item, deep", "job: a\n" + fed + "circuits:\n- name: b\n  from: main board\n  legs:\n  - name: wall\n    length: 4 m\n", "circuits/b/legs/trench/length", "9 m",
			"job: a\n" + fed + "circuits:\n- name: b\n  from: main board\n  legs:\n  - name: wall\n    length: 4 m\n  - name: trench\n    length: 9 m\n"},
		{"the first item", "job: a\nboards: []\n", "boards/main board/fed from", "supply", "job: a\nboards: [ { name: main board, fed from: supply } ]\n"},
		{"the first item of a list", "job: a\npoints:\n", "points/CP1/power", "7.4 kW", "job: a\npoints:\n  - name: CP1\n    power: 7.4 kW\n"},
		{"a field of an item", "job: a\n" + fed, "boards/main board/ways", "12", "job: a\n" + fed + "    ways: 12\n"},
		{"a field of an item by number", "job: a\n" + fed, "boards/1/place", "loft", "job: a\n" + fed + "    place: loft\n"},
		{"a slash in a name", "job: a\nloads:\n  - name: cooker/hob\n", "loads/cooker~1hob/current", "20 A",
			"job: a\nloads:\n  - name: cooker/hob\n    current: 20 A\n"},
		{"a word in a list", "job: a\nsite:\n  hazards:\n    - pit\n", "site/hazards/2", "- fuel", "job: a\nsite:\n  hazards:\n    - pit\n    - \"- fuel\"\n"},
		{"another name", "job: a\n" + fed, "boards/main board/name", "old board", "job: a\n" + strings.Replace(fed, "main", "old", 1)},
	} {
		t.Run(tt.what, func(t *testing.T) {
			for _, newline := range []string{"\n", "\r\n"} {
				f := open(t, strings.ReplaceAll(tt.before, "\n", newline))
				err := f.Set(tt.path, tt.value)
				if got := strings.ReplaceAll(string(f.Bytes()), "\r\n", "\n"); err != nil || got != tt.after {
					t.Errorf("Set(%q, %q) = %v, file is\n%s\nwant\n%s", tt.path, tt.value, err, got, tt.after)
				}
				if n := strings.Count(string(f.Bytes()), "\n"); newline != "\n" && strings.Count(string(f.Bytes()), newline) != n && strings.Contains(tt.before, "\n") {
					t.Errorf("Set(%q, %q) mixed the ends of lines: %q", tt.path, tt.value, f.Bytes())
				}
			}
		})
	}
}

// What cannot stand there is refused, and the file is left as it was.
func TestSetRefuses(t *testing.T) {
	text := string(sample(t))
	for _, tt := range []struct{ path, value, says string }{
		{"supply/Ze", "25 m", `x.yaml:43: supply, Ze, value is "25 m": a resistance in ohms is wanted, like 0.13 Ω`},
		{"supply/Ipf", "low", `x.yaml:48: supply, Ipf is "low": write a current in amperes, like 32 A`},
		{"supply/phases", "2", `x.yaml:36: supply, phases is "2": 1 or 3 is wanted`},
		{"supply/voltage/unit", "V", `x.yaml: supply/voltage/unit: the path leads on beyond a value`},
		{"supply/voltge", "230 V", `x.yaml: supply/voltge: no field of that name; the nearest is voltage`},
		{"supply", "TT", `x.yaml: supply: the path leads to several fields; one is wanted: earthing, phases, voltage, private, cut-out, Ze, line-neutral loop, Ipf, looped, unmetered, service equipment, supply neutral and more`},
		{"boards/main board", "x", `x.yaml: boards/main board: the path leads to several fields; one is wanted: name, fed from, place, phases, ways, ways free, ambient, rated current, short-circuit rating, rated diversity factor, RCDs, surge protection and more`},
		{"boards", "x", `x.yaml: boards: the path leads to several fields; one is wanted: name, fed from, place, phases, ways, ways free, ambient, rated current, short-circuit rating, rated diversity factor, RCDs, surge protection and more`},
		{"site/hazards", "x", `x.yaml: site/hazards: the path leads to a list; an item's number is wanted`},
		{"readings/9/value", "1 Ω", `x.yaml: readings/9/value: the list has 2 items; the next is number 3`},
		{"circuits/van point/from", "main bord", `x.yaml:138: circuit "van point", from is "main bord": no board of that name; the nearest is main board`},
		{"circuits/spare/from", "nowhere", `x.yaml: circuit "spare", from is "nowhere": no board of that name; there is main board and garage board`},
		{"boards/main board/name", "first board", `x.yaml:105: load "shower", board is "main board": no board of that name; there is first board and garage board`},
		{"points/CP1/name", "CP2", `x.yaml:140: circuit "van point", to is "CP1": no board, point, load or source of that name; the nearest is CP2`},
		{"", "x", `x.yaml: no field of that name`},
	} {
		f := open(t, text)
		err := f.Set(tt.path, tt.value)
		if got := firstLine(fmt.Errorf("%w", err)); !strings.HasPrefix(got, tt.says) {
			t.Errorf("Set(%q, %q) says\n%s\nwant\n%s", tt.path, tt.value, got, tt.says)
		}
		var p Problem
		if !errors.As(err, &p) {
			t.Errorf("Set(%q, %q) = %T, want a Problem", tt.path, tt.value, err)
		}
		if string(f.Bytes()) != text {
			t.Errorf("Set(%q, %q) changed the file though it was refused", tt.path, tt.value)
		}
	}
}

// A job grows field by field, as on a phone: what is still missing beside a
// value does not stop it being written.
func TestFileGrows(t *testing.T) {
	f := open(t, string(Starter("van point")))
	for _, in := range []Given{
		{"boards/main board/ways", "12"},
		{"points/CP2/power", "7.4 kW"},
		{"circuits/second point/from", "main board"},
		{"circuits/second point/to", "CP2"},
		{"circuits/second point/legs/hall/length", "12 m"},
		{"supply/Ze", "0.18 Ω (measured)"},
		{"supply/main bonding/water/csa", "10 mm²"},
		{"site/hazards/1", "dog in the garden"},
	} {
		if err := f.Set(in.Name, in.Value); err != nil {
			t.Errorf("Set(%q, %q) = %v", in.Name, in.Value, err)
		}
	}
	if err := f.Append("readings", Given{"value", "> 200 MΩ"}, Given{"at", "second point"}, Given{"reading", "insulation"}, Given{"note", ""}); err != nil {
		t.Error(err)
	}
	if err := f.Append("site/hazards", Given{"", "low beam: mind your head"}); err != nil {
		t.Error(err)
	}
	if _, err := f.Job(); err != nil {
		t.Error(err)
	}
	const file = "testdata/grown.yaml"
	if *update {
		if err := os.WriteFile(file, f.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(file)
	if err != nil || !bytes.Equal(f.Bytes(), want) {
		t.Errorf("the file grew into\n%s\nwant %s (%v)", f.Bytes(), file, err)
	}
}

func TestAppendRefuses(t *testing.T) {
	for _, tt := range []struct {
		path   string
		fields []Given
		says   string
	}{
		{"readings", nil, "x.yaml: readings: nothing was given to append"},
		{"readings", []Given{{"vlue", "1 Ω"}}, "x.yaml: readings/vlue: no field of that name; the nearest is value"},
		{"readings", []Given{{"value", "1 Ω"}, {"value", "2 Ω"}}, "x.yaml: readings/value: it is given twice; once is wanted"},
		{"readings", []Given{{"at", "CP9"}}, `x.yaml: reading 3, at is "CP9": no board, circuit or point of that name; the nearest is CP1`},
		{"supply/Ze", []Given{{"value", "1 Ω"}}, "x.yaml: supply/Ze: the path leads to no list"},
		{"points", []Given{{"name", "CP3"}, {"mounting", "wall"}}, "x.yaml: points/mounting: it is no single value; set it once the item is there"},
		{"points", []Given{{"power", "7.4 kW"}}, `x.yaml: point 3: a line with name: is wanted, to tell it from the others`},
		{"site/hazards", []Given{{"name", "pit"}}, "x.yaml: site/hazards: one value without a name is wanted"},
	} {
		f := open(t, string(sample(t)))
		err := f.Append(tt.path, tt.fields...)
		if got := fmt.Sprint(err); !strings.HasPrefix(got, tt.says) {
			t.Errorf("Append(%q, %v) says\n%s\nwant\n%s", tt.path, tt.fields, got, tt.says)
		}
		if !bytes.Equal(f.Bytes(), sample(t)) {
			t.Errorf("Append(%q, %v) changed the file though it was refused", tt.path, tt.fields)
		}
	}
}

// A file with faults can be put right one by one.
func TestSetPutsRight(t *testing.T) {
	f := open(t, "job: a\nsupply:\n  Ze: 25 m\n  phases: 2\n  earting: TT\n")
	if err := f.Set("supply/Ze", "0.2 Ω"); err != nil {
		t.Error(err)
	}
	if err := f.Set("supply/phases", "3"); err != nil {
		t.Error(err)
	}
	_, err := f.Job()
	if want := `x.yaml:5: supply, "earting": no field of that name; the nearest is earthing`; fmt.Sprint(err) != want {
		t.Errorf("says %v, want %s", err, want)
	}
}

func TestSameFileMergesToItself(t *testing.T) {
	a, b := open(t, string(sample(t))).Record(), open(t, string(sample(t))).Record()
	if both := Merge(a, b); !slices.Equal(both.Entries(), a.Entries()) || len(both.Conflicts()) != 0 {
		t.Errorf("the same file read twice gives %d entries and %d conflicts, want %d and none", len(both.Entries()), len(both.Conflicts()), len(a.Entries()))
	}
}
