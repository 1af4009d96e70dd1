package job

// Lists of words, for a person.

import (
	"slices"
	"strings"
)

// oneOf lists words for a person: "A, B or C".
func oneOf(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:len(words)-1], ", ") + " or " + words[len(words)-1]
}

// allOf lists words for a person: "A, B and C".
func allOf(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:len(words)-1], ", ") + " and " + words[len(words)-1]
}

// some is allOf for a list that may be long.
func some(words []string) string {
	const most = 12
	if len(words) > most {
		return strings.Join(words[:most], ", ") + " and more"
	}
	return allOf(slices.Clone(words))
}
