package standard

import (
	"fmt"
	"slices"
	"strings"
	"testing"
)

func TestParseWords(t *testing.T) {
	for _, tt := range []struct {
		parse func(string) (string, error)
		text  string
		want  string
	}{
		{word(ParseFamily), "type B", "BS EN 60898 type B"},
		{word(ParseFamily), "bs en 60898 Type c", "BS EN 60898 type C"},
		{word(ParseFamily), "RCBO type B", "BS EN 61009 type B"},
		{word(ParseFamily), "BS88-2", "BS 88-2 gG"},
		{word(ParseFamily), "BS 88-3", "BS 88-3"},
		{word(ParseFamily), "3036", "BS 3036"},
		{word(ParseFamily), "MCCB", "BS EN 60947-2"},
		{word(ParseInsulation), "90°C thermosetting", "90 °C thermosetting"},
		{word(ParseInsulation), "XLPE", "90 °C thermosetting"},
		{word(ParseInsulation), "pvc", "70 °C thermoplastic"},
		{word(ParseConstruction), "SWA", "armoured"},
		{word(ParseConstruction), "twin and earth", "flat twin and cpc"},
		{word(ParseConstruction), "T&E", "flat twin and cpc"},
		{word(ParseMethod), "clipped direct", "C"},
		{word(ParseFamily), "B curve RCBO", "BS EN 61009 type B"},
		{word(ParseMethod), "c", "C"},
		{word(ParseMethod), "Method 102", "102"},
		{word(ParseMethod), "D-buried", "D buried"},
		{word(ParseMaterial), "Cu", "copper"},
		{word(ParseArrangement), "Bunched", "bunched"},
		{word(ParseArrangement), "ducts 250mm apart", "ducts 250 mm apart"},
	} {
		if got, err := tt.parse(tt.text); err != nil || got != tt.want {
			t.Errorf("parse %q = %q, %v, want %q", tt.text, got, err, tt.want)
		}
	}
	for _, tt := range []struct {
		parse func(string) (string, error)
		text  string
		says  string
	}{
		{word(ParseFamily), "BS EN 60898 type F", `is "BS EN 60898 type F": it is one of BS EN 60898 type B`}, // no device is guessed
		{word(ParseFamily), "BS 1631", `is "BS 1631": it is one of`},
		{word(ParseFamily), "RCBO", "an RCBO is BS EN 61009 type B, C or D"},
		{word(ParseFamily), "Type A", "goes under RCD, type"},
		{word(ParseFamily), "type B RCBO", "type B may be its curve or what its RCD sees"},
		{word(ParseMethod), "D", "D duct for a cable in a duct"},
		{word(ParseConstruction), "armourd", `did you mean "armoured"?`},
		{word(ParseArrangement), "bunchd", `did you mean "bunched"?`},
		{word(ParseInsulation), "", "is empty: it is one of 70 °C thermoplastic"},
		{word(ParseMethod), "somewhere else entirely", "it is one of A, B, C"},
		{word(ParseMaterial), "wood", "it is one of copper"},
	} {
		if got, err := tt.parse(tt.text); err == nil || !strings.Contains(err.Error(), tt.says) {
			t.Errorf("parse %q = %q, %v, want an error saying %q", tt.text, got, err, tt.says)
		}
	}
}

func word[T ~string](parse func(string) (T, error)) func(string) (string, error) {
	return func(s string) (string, error) { w, err := parse(s); return string(w), err }
}

// The words a job may use are the words the tables use.
func TestWordsAreInTheTables(t *testing.T) {
	b := open(t)
	for _, f := range families {
		if b.devices[f] == nil {
			t.Errorf("no table knows %q", f)
		}
	}
	for name := range b.devices {
		if got, err := ParseFamily(string(name)); err != nil || got != name {
			t.Errorf("the tables' %q is not a word", name)
		}
	}
	for _, a := range arrangements {
		if !slices.ContainsFunc(methods, func(m Method) bool { return slices.Contains(b.Arrangements(m), a) }) {
			t.Errorf("no table knows %q", a)
		}
	}
	used := map[Method]bool{}
	for k := range b.ratings {
		used[k.method] = true
		if _, err := ParseConstruction(string(k.construction)); err != nil {
			t.Error(err)
		}
		if _, err := ParseInsulation(string(k.insulation)); err != nil {
			t.Error(err)
		}
	}
	for _, m := range methods {
		if !used[m] {
			t.Errorf("no rating has method %q", m)
		}
	}
	for k := range b.ks {
		if !strings.Contains(strings.Join(Role("").Values(), "|"), string(k.role)) {
			t.Errorf("role %q is not a word", k.role)
		}
	}
	if MethodC.Buried() || !MethodDDuct.Buried() {
		t.Error("Buried tells C and D apart")
	}
}

// FuzzParseEdition states what holds for any text: no panic, and what is
// accepted reads back as itself.
func FuzzParseEdition(f *testing.F) {
	for _, s := range []string{"BS 7671:2018+A4:2026", "A4", "a2:2022", "", "+", "²", "\xff"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		e, err := ParseEdition(s)
		if err != nil {
			return
		}
		if back, err := ParseEdition(string(e)); err != nil || back != e {
			t.Fatalf("ParseEdition(%q) = %q, which reads back as %q, %v", s, e, back, err)
		}
		if b, err := Open(Edition(s)); err != nil || b.Edition() != e {
			t.Fatalf("Open(%q) = %v", s, err)
		}
	})
}

// FuzzParseWords: no panic, and what is accepted reads back as itself.
func FuzzParseWords(f *testing.F) {
	for _, s := range []string{"SWA", "type B", "70", "C", "bunched", "copper", "", "\xff", strings.Repeat("long ", 100)} {
		f.Add(s)
	}
	parsers := []func(string) (string, error){word(ParseFamily), word(ParseInsulation), word(ParseConstruction), word(ParseMethod), word(ParseMaterial), word(ParseArrangement)}
	f.Fuzz(func(t *testing.T, s string) {
		for _, parse := range parsers {
			if w, err := parse(s); err == nil {
				if back, err := parse(w); err != nil || back != w {
					t.Fatalf("%q = %q, which reads back as %q, %v", s, w, back, err)
				}
			}
		}
	})
}

// TestTheTableOfWords holds every row: one meaning or one answer, and a meaning
// that is itself a word. The figures said of a soil are those of its table.
func TestTheTableOfWords(t *testing.T) {
	kinds := map[string]func(string) (string, error){"type of device": word(ParseFamily), "insulation": word(ParseInsulation),
		"construction": word(ParseConstruction), "method": word(ParseMethod), "material": word(ParseMaterial), "arrangement": word(ParseArrangement)}
	lines := strings.Split(strings.TrimSpace(wordTable), "\n")
	rows := 0
	for _, l := range lines {
		if !strings.HasPrefix(l, "#") {
			rows++
		}
	}
	if len(spoken) != rows-1 { // less the head
		t.Errorf("%d words of %d rows: one is written twice", len(spoken), rows-1)
	}
	for at, w := range spoken {
		if (w.means == "") == (w.answer == "") {
			t.Errorf("%v means %q and answers %q: one of the two is wanted", at, w.means, w.answer)
		}
		if parse := kinds[at[0]]; parse != nil && w.means != "" {
			if got, err := parse(w.means); err != nil || got != w.means {
				t.Errorf("%v means %q, which is no word of ours: %v", at, w.means, err)
			}
		}
	}
	for _, g := range open(t).Grounds() {
		kind, _, _ := strings.Cut(g.Kind, ",")
		if _, answer := Spoken("soil resistivity", kind); answer != "" && !strings.Contains(g.Kind, ", sand") {
			if want := fmt.Sprintf("%v to %v Ω·m", float64(g.Low), float64(g.High)); !strings.Contains(answer, want) {
				t.Errorf("%s: says %q, and the table %s", g.Kind, answer, want)
			}
		}
	}
}
