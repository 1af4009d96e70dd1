package job

// The nearest right spelling of a word.

import (
	"slices"
	"strings"
)

// nearest returns the one of words that s was most likely meant to be, or
// nothing when none is near.
func nearest(s string, words []string) string {
	s = plain(s)
	if s == "" || len(s) > 80 {
		return ""
	}
	best, least := "", len([]rune(s))/3+2
	for _, w := range words {
		p := plain(w)
		d := steps(s, p)
		if len(s) >= 3 && len(p) > len(s) && strings.HasPrefix(p, s) {
			d = 1 // the beginning of a longer word
		}
		if d < least && d < len([]rune(p)) {
			best, least = w, d
		}
	}
	return best
}

// plain takes out what does not tell two words apart: case, spaces, hyphens, commas.
func plain(s string) string {
	return strings.ToLower(strings.Map(func(r rune) rune {
		switch r {
		case ' ', '-', '_', ',', '.', '\u00a0', '\u2011', '\u2013':
			return -1
		}
		return r
	}, s))
}

// steps counts the letters to add, drop, change or swap to make a into b.
func steps(a, b string) int {
	s, t := []rune(a), []rune(b)
	before := make([]int, len(t)+1)
	last := make([]int, len(t)+1)
	next := make([]int, len(t)+1)
	for j := range last {
		last[j] = j
	}
	for i := range s {
		next[0] = i + 1
		for j := range t {
			change := last[j]
			if s[i] != t[j] {
				change++
			}
			next[j+1] = min(change, last[j+1]+1, next[j]+1)
			if i > 0 && j > 0 && s[i] == t[j-1] && s[i-1] == t[j] {
				next[j+1] = min(next[j+1], before[j-1]+1)
			}
		}
		before, last, next = last, next, before
	}
	return last[len(t)]
}

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
