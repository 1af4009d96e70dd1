package reading

// The nearest right spelling of a word.

import "strings"

// Near returns the one of words that s was most likely meant to be, or
// nothing when none is near.
func Near(s string, words []string) string {
	s = Plain(s)
	if s == "" || len(s) > 80 {
		return ""
	}
	best, least := "", len([]rune(s))/3+2
	for _, w := range words {
		p := Plain(w)
		d := steps(s, p)
		if len(s) >= 3 && len(p) > len(s) && (strings.HasPrefix(p, s) || strings.HasSuffix(p, s)) {
			d = 1 // the beginning or the end of a longer word
		}
		if d < least && d < len([]rune(p)) {
			best, least = w, d
		}
	}
	return best
}

// Nearest names the word most like s, or lists them.
func Nearest(s string, words []string) string {
	if near := Near(s, words); near != "" {
		return "the nearest is " + near
	}
	return "there is " + strings.Join(words, ", ")
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
