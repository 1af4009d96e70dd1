package reading

import (
	"fmt"
	"slices"
	"strings"
	"unicode"

	"chargewright/quantity"
)

// way is one way a reading may be taken.
type way struct {
	word      string
	classes   []string
	note      bool
	spellings [][]string
}

// fits reports that readings with that class of instrument are taken so.
func (w *way) fits(class string) bool {
	return slices.Contains(w.classes, class) || slices.Contains(w.classes, "any")
}

// Ways is how a reading was taken: words of the table, and the load that was
// switched for it.
type Ways struct {
	Words []string
	Load  quantity.Amperes // put on for the test; 0 for none
	Power quantity.Watts   // likewise, where it is known as a power

	CurrentSpike, PotentialSpike quantity.Metres // from an electrode; 0 for not said
}

// Has reports whether a reading was taken that way.
func (w Ways) Has(word string) bool { return slices.Contains(w.Words, word) }

// Line returns which line conductor was read, 0 for L1.
func (w Ways) Line() int {
	for i, line := range []string{"L1", "L2", "L3"} {
		if w.Has(line) {
			return i
		}
	}
	return 0
}

// joiners are words that join others and say nothing of their own.
var joiners = map[string]bool{"and": true, "in": true, "at": true, "on": true, "with": true, "the": true, "of": true, "d.c.": true, "dc": true, "d.c": true,
	"load": true, "range": true, "function": true, "setting": true, "through": true, "by": true, "test": true, "loop": true, "+": true, "for": true}

// tokens cuts a text into words that say something: small letters, a number
// apart from its unit.
func tokens(text string) []string {
	var out []string
	for _, word := range strings.FieldsFunc(strings.ToLower(text), func(r rune) bool { return unicode.IsSpace(r) || strings.ContainsRune(",;-()/‑–", r) }) {
		number := 0
		for number < len(word) && (word[number] >= '0' && word[number] <= '9' || word[number] == '.') {
			number++
		}
		if number > 0 && number < len(word) {
			out = append(out, word[:number])
			word = word[number:]
		}
		if !joiners[word] {
			out = append(out, word)
		}
	}
	return out
}

// Ways reads how a reading was taken: words of its kind in any order, with
// commas or small words between them. A word that is none is refused, and the
// nearest is named.
func (k *Kind) Ways(text string) (Ways, error) {
	var out Ways
	left := tokens(text)
	for len(left) > 0 {
		if n := out.load(k, left) + out.spike(k, left); n > 0 {
			left = left[n:]
			continue
		}
		best, length := "", 0
		for _, w := range tables().ways {
			for _, s := range w.spellings {
				if w.fits(k.Class) && len(s) > length && len(s) <= len(left) && slices.Equal(s, left[:len(s)]) {
					best, length = w.word, len(s)
				}
			}
		}
		if best == "" {
			return Ways{}, &quantity.Error{Found: text, Wrong: fmt.Sprintf("has %q, and %s is not taken that way", left[0], k.Name),
				Right: Nearest(strings.Join(left, " "), k.WayWords())}
		}
		if !out.Has(best) {
			out.Words = append(out.Words, best)
		}
		left = left[length:]
	}
	for _, pair := range [][2]string{{"no-trip", "high current"}, {"with parallel paths", "no parallel paths"}, {"leads nulled", "leads not nulled"},
		{"500 V", "250 V"}} {
		if out.Has(pair[0]) && out.Has(pair[1]) {
			return Ways{}, &quantity.Error{Found: text, Wrong: fmt.Sprintf("says both %s and %s", pair[0], pair[1]), Right: "write the one that was"}
		}
	}
	if c, p := out.CurrentSpike, out.PotentialSpike; c > 0 && p >= c {
		return Ways{}, &quantity.Error{Found: text, Wrong: "has the potential spike beyond the current spike",
			Right: "it stands between the electrode and the current spike, at 62 % of the way"}
	}
	return out, nil
}

// spike reads how far from an electrode a spike was.
func (w *Ways) spike(k *Kind, left []string) int {
	if k.Class != "electrode" || len(left) < 4 || left[1] != "spike" {
		return 0
	}
	m, err := quantity.ParseMetres(left[2] + " " + left[3])
	switch {
	case err != nil || m <= 0:
		return 0
	case left[0] == "current":
		w.CurrentSpike = m
	case left[0] == "potential":
		w.PotentialSpike = m
	default:
		return 0
	}
	return 4
}

// load reads the current or the power switched for a test.
func (w *Ways) load(k *Kind, left []string) int {
	if k.Class != "voltage" && k.Class != "clamp" || len(left) < 2 {
		return 0
	}
	text := left[0] + " " + left[1]
	if p, err := quantity.ParseWatts(text); err == nil {
		w.Power = p
		return 2
	}
	if a, err := quantity.ParseAmperes(text); err == nil {
		w.Load = a
		return 2
	}
	return 0
}

// WayWords lists how a kind may be taken.
func (k *Kind) WayWords() []string {
	var out []string
	for _, w := range tables().ways {
		if w.fits(k.Class) {
			out = append(out, w.word)
		}
	}
	return out
}

// Noted returns the way that the note of an older record says in so many words
// and no more; nothing where the note is a note.
func (k *Kind) Noted(note string) (word string) {
	said := strings.Fields(strings.ToLower(strings.TrimRight(strings.TrimSpace(note), ".")))
	for _, w := range tables().ways {
		for _, s := range w.spellings {
			if w.note && w.fits(k.Class) && len(said) > 1 && slices.Equal(s, tokens(strings.Join(said, " "))) {
				word = w.word
			}
		}
	}
	return word
}
