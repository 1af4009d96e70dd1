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
		{word(Parse[Family]), "type B", "BS EN 60898 type B"},
		{word(Parse[Family]), "bs en 60898 Type c", "BS EN 60898 type C"},
		{word(Parse[Family]), "RCBO type B", "BS EN 61009 type B"},
		{word(Parse[Family]), "BS88-2", "BS 88-2 gG"},
		{word(Parse[Family]), "BS 88-3", "BS 88-3"},
		{word(Parse[Family]), "3036", "BS 3036"},
		{word(Parse[Family]), "MCCB", "BS EN 60947-2"},
		{word(Parse[Insulation]), "90°C thermosetting", "90 °C thermosetting"},
		{word(Parse[Insulation]), "XLPE", "90 °C thermosetting"},
		{word(Parse[Insulation]), "pvc", "70 °C thermoplastic"},
		{word(Parse[Construction]), "SWA", "armoured"},
		{word(Parse[Construction]), "twin and earth", "flat twin and cpc"},
		{word(Parse[Construction]), "T&E", "flat twin and cpc"},
		{word(Parse[Method]), "clipped direct", "C"},
		{word(Parse[Family]), "B curve RCBO", "BS EN 61009 type B"},
		{word(Parse[Method]), "c", "C"},
		{word(Parse[Method]), "Method 102", "102"},
		{word(Parse[Method]), "D-buried", "D buried"},
		{word(Parse[Material]), "Cu", "copper"},
		{word(Parse[Arrangement]), "Bunched", "bunched"},
		{word(Parse[Arrangement]), "ducts 250mm apart", "ducts 250 mm apart"},
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
		{word(Parse[Family]), "BS EN 60898 type F", `is "BS EN 60898 type F": it is one of BS EN 60898 type B`}, // no device is guessed
		{word(Parse[Family]), "BS 1631", `is "BS 1631": it is one of`},
		{word(Parse[Family]), "RCBO", "an RCBO is BS EN 61009 type B, C or D"},
		{word(Parse[Family]), "Type A", "goes under RCD, type"},
		{word(Parse[Family]), "type B RCBO", "type B may be its curve or what its RCD sees"},
		{word(Parse[Method]), "D", "D duct for a cable in a duct"},
		{word(Parse[Construction]), "armourd", `did you mean "armoured"?`},
		{word(Parse[Arrangement]), "bunchd", `did you mean "bunched"?`},
		{word(Parse[Insulation]), "", "is empty: it is one of 70 °C thermoplastic"},
		{word(Parse[Method]), "somewhere else entirely", "it is one of A, B, C"},
		{word(Parse[Material]), "wood", "it is one of copper"},
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
		if got, err := Parse[Family](string(name)); err != nil || got != name {
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
		if _, err := Parse[Construction](string(k.construction)); err != nil {
			t.Error(err)
		}
		if _, err := Parse[Insulation](string(k.insulation)); err != nil {
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
	parsers := []func(string) (string, error){word(Parse[Family]), word(Parse[Insulation]), word(Parse[Construction]), word(Parse[Method]), word(Parse[Material]), word(Parse[Arrangement])}
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
	kinds := map[string]func(string) (string, error){"type of device": word(Parse[Family]), "insulation": word(Parse[Insulation]),
		"construction": word(Parse[Construction]), "method": word(Parse[Method]), "material": word(Parse[Material]), "arrangement": word(Parse[Arrangement])}
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
