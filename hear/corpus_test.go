package hear

import (
	"bytes"
	"compress/gzip"
	"encoding/binary"
	"fmt"
	"os"
	"strings"
	"testing"
	"unicode/utf16"
)

// kept is one log of the corpus.
type kept struct {
	name, layout, rule, words string
	text                      []byte
}

// corpus reads logs that are kept in one file, each after a line of two dashes.
func corpus(t testing.TB, file string) []kept {
	t.Helper()
	text, err := os.ReadFile("testdata/" + file)
	if err != nil {
		t.Fatal(err)
	}
	var out []kept
	for _, one := range strings.Split("\n"+string(text), "\n-- ")[1:] {
		head, body, _ := strings.Cut(one, "\n")
		parts := append(strings.Split(head, "|"), "", "", "")
		for i := range parts {
			parts[i] = strings.TrimSpace(parts[i])
		}
		k := kept{parts[0], parts[1], parts[2], parts[3], []byte(body)}
		if strings.Contains(k.layout, "UTF-16") {
			wide := []byte{0xff, 0xfe}
			for _, unit := range utf16.Encode([]rune(body)) {
				wide = binary.LittleEndian.AppendUint16(wide, unit)
			}
			k.text = wide
		}
		if strings.Contains(k.layout, "gz") {
			var packed bytes.Buffer
			w := gzip.NewWriter(&packed)
			_, _ = w.Write(k.text)
			_ = w.Close()
			k.text = packed.Bytes()
		}
		out = append(out, k)
	}
	return out
}

// TestCorpus hears every log of the corpus: the cause is named, and nothing false
// is said of a log in which nothing is wrong.
func TestCorpus(t *testing.T) {
	var table strings.Builder
	healthy, faulty := corpus(t, "healthy.txt"), corpus(t, "faulty.txt")
	if len(healthy) < 15 || len(healthy)+len(faulty) < 60 {
		t.Fatalf("%d healthy and %d faulty logs, want 15 and 60 in all", len(healthy), len(faulty))
	}
	said := 0
	for _, k := range healthy {
		r, err := Hear(k.text)
		if err != nil {
			t.Fatal(err)
		}
		for _, h := range r.Heard {
			if h.Fault {
				said++
				t.Errorf("%s: %s (line %d): %s %s", k.name, h.Happened, h.Line, h.Detail, h.Because)
			}
		}
		if len(r.Well) == 0 || r.Messages == 0 {
			t.Errorf("%s: of %d messages it says nothing that is well", k.name, r.Messages)
		}
		fmt.Fprintf(&table, "healthy  %-48s %-36s %3d messages  %s\n", k.name, k.layout, r.Messages, strings.Join(r.Well, "; "))
	}
	named := 0
	for _, k := range faulty {
		r, err := Hear(k.text)
		if err != nil {
			t.Fatal(err)
		}
		found := "not named"
		var others []string
		for _, h := range r.Heard {
			switch {
			case h.Rule == k.rule && (k.words == "" || strings.Contains(h.Detail+" "+h.Because, k.words)):
				named++
				found = strings.TrimSpace(h.Detail + "; " + h.Because)
			case h.Fault:
				others = append(others, h.Rule)
			}
		}
		if found == "not named" {
			t.Logf("%s: not named: %+v", k.name, r.Heard)
		}
		fmt.Fprintf(&table, "faulty   %-48s %-36s %-20s %s  %v\n", k.name, k.layout, k.rule, found, others)
	}
	t.Logf("\n%sthe cause is named in %d of %d; %d false statements on %d healthy logs", &table, named, len(faulty), said, len(healthy))
	if named*100 < 85*len(faulty) {
		t.Errorf("the cause is named in %d of %d", named, len(faulty))
	}
}
