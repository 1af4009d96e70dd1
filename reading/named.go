package reading

// A reading told from words that say which one it is and how it was taken, in
// one: "IR L-E 500 V", "Zs no trip", "RCD x1 180°".

import (
	"regexp"
	"slices"
	"strings"
	"unicode"
)

// idle are words that stand in names of readings and tell none from another;
// beside are those that say again what the name has said.
var (
	idle = []string{"test", "tests", "tested", "resistance", "impedance", "of", "the", "a", "measured", "measurement", "reading", "value", "result", "actual",
		"check", "checked", "confirmed"}
	again = []string{"continuity", "conductor", "conductors", "iδn", "and", "insulation", "loop", "rcd", "circuit", "time", "earth"}
)

var (
	between  = regexp.MustCompile(`\b(l[123]?|n|live|line|neutral)\s*/\s*(pe|e|earth|n|l[123]?|live|neutral)\b`)
	earthed  = regexp.MustCompile(`\bpe\b`)
	multiple = regexp.MustCompile(`\b([0-9./]+)\s*(?:[x×*]\s*(?:iδn)?|iδn)(?:\s|$)|(?:^|\s)[x×]\s*([0-9./]+)\s*(?:iδn)?(?:\s|$)`)
)

// tidied is a name in small letters, its pairs of conductors and multiples
// written one way.
func tidied(text string) string {
	text = strings.ToLower(strings.Join(strings.Fields(text), " "))
	text = strings.NewReplacer("‑", "-", "–", "-", "i∆n", "iδn", "idn", "iδn", "i△n", "iδn", "½", "1/2").Replace(text)
	text = between.ReplaceAllString(text, "$1-$2")
	text = earthed.ReplaceAllString(text, "e")
	return strings.TrimSpace(multiple.ReplaceAllString(text, " x$1$2 "))
}

// Told tells a reading from its name with how it was taken beside it; nil where
// the words are of no reading, or of several.
func Told(text string) (k *Kind, ways string) {
	if k = Of(text); k != nil {
		return k, ""
	}
	words := strings.FieldsFunc(tidied(text), func(r rune) bool { return unicode.IsSpace(r) || strings.ContainsRune(",;:()[]", r) })
	const most = 12
	if len(words) > most {
		return nil, ""
	}
	if k, ways = told(words); k == nil {
		k, ways = told(slices.DeleteFunc(slices.Clone(words), func(w string) bool { return slices.Contains(idle, w) }))
	}
	return k, ways
}

// told finds the longest name in words of which the others are how it was taken.
func told(words []string) (k *Kind, ways string) {
	length, several := 0, false
	for i := range words {
		for j := i + 1; j <= len(words); j++ {
			name := strings.Join(words[i:j], " ")
			one := Of(name)
			if n := len(Plain(name)); one == nil || n < length {
				continue
			} else if left, fits := one.beside(slices.Concat(words[:i], words[j:])); fits {
				several = n == length && k != nil && one != k
				k, ways, length = one, left, n
			}
		}
	}
	if several {
		return nil, ""
	}
	return k, ways
}

// beside reads the words beside the name of a reading: how it was taken, the
// name in other words, and words that say nothing.
func (k *Kind) beside(words []string) (ways string, fits bool) {
	if Of(strings.Join(words, " ")) == k {
		return "", true
	}
	var left []string
	for _, w := range words {
		if Of(w) == k || slices.Contains(idle, w) || slices.Contains(again, w) {
			continue
		}
		if Of(w) != nil || strings.Trim(w, "-/+.") == "" {
			return "", false
		}
		left = append(left, w)
	}
	ways = strings.Join(left, " ")
	_, err := k.Ways(ways)
	return ways, err == nil
}

// Wanted says which reading a name was most likely meant to be, or which there
// are.
func Wanted(name string) string {
	if k := Of(Near(name, Names())); k != nil {
		return "the nearest is " + k.Name
	}
	var all []string
	for _, k := range tables().kinds {
		all = append(all, k.Also...)
	}
	if k := Of(Near(name, all)); k != nil {
		return "the nearest is " + k.Name
	}
	return Nearest(name, Names())
}
